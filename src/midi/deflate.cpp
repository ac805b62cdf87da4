#define ZLIB_CONST
#include "midi/deflate.h"

#include <zlib.h>

#include <algorithm>
#include <array>
#include <cstddef>
#include <optional>
#include <string>

#include "midi/byte_problem.h"

namespace downfit::midi {

namespace {

constexpr std::uint32_t largest_limit = 1u << 30;
constexpr int memory_level = 8;

/// zlib tells the wrappers apart by how it counts the bits of the window.
int window_bits(Deflate::Wrapper wrapper) {
    switch (wrapper) {
        case Deflate::Wrapper::raw: return -MAX_WBITS;
        case Deflate::Wrapper::gzip: return MAX_WBITS + 16;
        default: return MAX_WBITS;
    }
}

struct Deflater {
    explicit Deflater(const Deflate& packing)
        : status(deflateInit2(&stream, packing.level, Z_DEFLATED, window_bits(packing.wrapper), memory_level,
                              Z_DEFAULT_STRATEGY)) {}
    ~Deflater() {
        if (status == Z_OK) deflateEnd(&stream);
    }
    Deflater(const Deflater&) = delete;
    Deflater& operator=(const Deflater&) = delete;

    z_stream stream{};
    int status;
};

struct Inflater {
    explicit Inflater(const Deflate& packing) : status(inflateInit2(&stream, window_bits(packing.wrapper))) {}
    ~Inflater() {
        if (status == Z_OK) inflateEnd(&stream);
    }
    Inflater(const Inflater&) = delete;
    Inflater& operator=(const Inflater&) = delete;

    z_stream stream{};
    int status;
};

std::optional<Problem> check(const Deflate& packing) {
    if (packing.level < 0 || packing.level > 9) {
        return setting_problem("there is no deflate level " + std::to_string(packing.level), "0 to 9");
    }
    if (packing.size_limit > largest_limit) {
        return setting_problem("the size limit is too large", "at most " + std::to_string(largest_limit) + " bytes");
    }
    return std::nullopt;
}

Problem not_started() {
    return setting_problem("the compression library could not start", "enough memory");
}

std::string limit_text(const Deflate& packing) {
    return "at most " + std::to_string(packing.size_limit) + " bytes";
}

Problem broken(int status, const char* message, std::size_t at) {
    if (status == Z_MEM_ERROR) return setting_problem("there is no memory left to inflate the data", {});
    if (status == Z_NEED_DICT) {
        return byte_problem(at, 1, "the deflated data needs a preset dictionary", "data that stands alone");
    }
    std::string what = "the deflated data is broken";
    if (message) what += std::string(" (") + message + ")";
    return byte_problem(at, 1, std::move(what), "a whole deflate stream");
}

}  // namespace

Result<Bytes> encode(const Deflate& packing, ByteView plain) {
    if (auto problem = check(packing)) return *std::move(problem);
    if (plain.size() > packing.size_limit) {
        return byte_problem(packing.size_limit, plain.size() - packing.size_limit,
                            "there are too many bytes to deflate", limit_text(packing));
    }
    Deflater deflater(packing);
    if (deflater.status != Z_OK) return not_started();
    z_stream& stream = deflater.stream;
    Bytes out(deflateBound(&stream, static_cast<uLong>(plain.size())));
    stream.next_in = plain.data();
    stream.avail_in = static_cast<uInt>(plain.size());
    stream.next_out = out.data();
    stream.avail_out = static_cast<uInt>(out.size());
    if (deflate(&stream, Z_FINISH) != Z_STREAM_END) return not_started();
    out.resize(out.size() - stream.avail_out);
    return out;
}

Result<Bytes> decode(const Deflate& packing, ByteView packed, Origins* origins) {
    if (origins) origins->clear();
    if (auto problem = check(packing)) return *std::move(problem);
    Inflater inflater(packing);
    if (inflater.status != Z_OK) return not_started();
    z_stream& stream = inflater.stream;
    // Fed byte by byte, the library gives out after each one all that this byte completed.
    const std::size_t step = origins ? 1 : std::size_t{1} << 16;
    std::array<std::uint8_t, 16384> chunk;
    Bytes out;
    std::size_t fed = 0;
    for (int status = Z_OK; status != Z_STREAM_END;) {
        if (stream.avail_in == 0 && fed < packed.size()) {
            const std::size_t count = std::min(step, packed.size() - fed);
            stream.next_in = packed.data() + fed;
            stream.avail_in = static_cast<uInt>(count);
            fed += count;
        }
        stream.next_out = chunk.data();
        stream.avail_out = static_cast<uInt>(chunk.size());
        status = inflate(&stream, Z_NO_FLUSH);
        const std::size_t used = fed - stream.avail_in;
        const std::size_t at = used == 0 ? 0 : used - 1;
        const std::size_t produced = chunk.size() - stream.avail_out;
        if (produced > packing.size_limit - out.size()) {
            return byte_problem(at, 1, "the deflated data holds too many bytes", limit_text(packing));
        }
        out.insert(out.end(), chunk.begin(), chunk.begin() + static_cast<std::ptrdiff_t>(produced));
        if (origins) origins->insert(origins->end(), produced, static_cast<std::uint32_t>(at));
        if (status == Z_BUF_ERROR) {
            return byte_problem(packed.size(), 0, "the deflated data ends too early", "a whole deflate stream");
        }
        if (status != Z_OK && status != Z_STREAM_END) return broken(status, stream.msg, at);
    }
    const std::size_t left = packed.size() - fed + stream.avail_in;
    if (left > 0) {
        return byte_problem(packed.size() - left, left, "bytes follow the end of the deflated data", "nothing more");
    }
    return out;
}

}  // namespace downfit::midi
