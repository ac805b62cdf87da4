#include "midi/run_length.h"

#include <cstddef>
#include <string>

#include "midi/byte_problem.h"

namespace downfit::midi {

namespace {

constexpr std::size_t shortest_run = 4;
constexpr std::size_t sent_run = 3;

Problem no_count() {
    return setting_problem("no run can be counted", "a largest count of 01 to FF");
}

std::string limit_text(const RunLength& packing) {
    return "at most " + std::to_string(packing.size_limit) + " bytes";
}

}  // namespace

Result<Bytes> encode(const RunLength& packing, ByteView plain) {
    if (packing.max_count == 0) return no_count();
    if (plain.size() > packing.size_limit) {
        return byte_problem(packing.size_limit, plain.size() - packing.size_limit, "there are too many bytes to pack",
                            limit_text(packing));
    }
    Bytes out;
    for (std::size_t start = 0; start < plain.size();) {
        const std::uint8_t value = plain[start];
        std::size_t length = 1;
        while (length < packing.max_count && start + length < plain.size() && plain[start + length] == value) ++length;
        if (length >= shortest_run || value == packing.escape) {
            out.insert(out.end(), {packing.escape, static_cast<std::uint8_t>(length), value});
        } else {
            out.insert(out.end(), length, value);
        }
        start += length;
    }
    return out;
}

Result<Bytes> decode(const RunLength& packing, ByteView packed, Origins* origins) {
    if (origins) origins->clear();
    if (packing.max_count == 0) return no_count();
    Bytes out;
    for (std::size_t at = 0; at < packed.size();) {
        std::size_t count = 1;
        std::size_t value = at;
        if (packed[at] == packing.escape) {
            if (packed.size() - at < sent_run) {
                return byte_problem(at, packed.size() - at, "the input ends within a run",
                                    packed.size() - at == 1 ? "a count and a value" : "a value");
            }
            count = packed[at + 1];
            value = at + 2;
            if (count == 0 || count > packing.max_count) {
                return byte_problem(at + 1, 1, "byte " + hex_byte(packed[at + 1]) + " is no count",
                                    "01 to " + hex_byte(packing.max_count));
            }
        }
        if (count > packing.size_limit - out.size()) {
            return byte_problem(at, value - at + 1, "the runs hold too many bytes", limit_text(packing));
        }
        out.insert(out.end(), count, packed[value]);
        if (origins) origins->insert(origins->end(), count, static_cast<std::uint32_t>(value));
        at = value + 1;
    }
    return out;
}

}  // namespace downfit::midi
