#include "refit/verify.h"

#include <algorithm>
#include <set>
#include <variant>

#include "midi/checks.h"

namespace downfit::refit {

namespace {

/// Places of the body that writing makes anew: what checks and lengths after the last packing store.
std::set<std::size_t> made_anew(const schema::Framing& framing, std::size_t size) {
    std::set<std::size_t> places;
    for (const schema::Step& step : framing.steps) {
        std::int64_t at = 0;
        std::size_t width = 0;
        if (const auto* check = std::get_if<schema::CheckStep>(&step)) {
            at = check->at;
            width = (midi::width(check->check) + 7) / 8;
        } else if (const auto* length = std::get_if<schema::LengthStep>(&step)) {
            at = length->at;
            width = length->width;
        } else {
            places.clear();
            continue;
        }
        const auto from = static_cast<std::size_t>(at < 0 ? static_cast<std::int64_t>(size) + at : at);
        for (std::size_t i = from; i < from + width && i < size; ++i) places.insert(i);
    }
    return places;
}

bool same_body(const schema::Framing& framing, const Bytes& meant, const Bytes& read) {
    if (meant == read) return true;
    if (meant.size() != read.size()) return false;
    const std::set<std::size_t> anew = made_anew(framing, read.size());
    for (std::size_t i = 0; i < read.size(); ++i) {
        if (meant[i] != read[i] && !anew.contains(i)) return false;
    }
    return true;
}

}  // namespace

Result<dump::Dump> read_back(const dump::Dump& meant, ByteView bytes, const std::string& layout) {
    Result<dump::Dump> read = dump::read(meant.file, bytes, *meant.device, layout);
    if (!read) return read.problems();
    const dump::Dump& back = read.value();
    const auto differs = [&](int slot, const std::string& what) {
        return Problem{BytePlace{meant.file, 0, 0, slot}, "what was written does not read back: " + what, {}, {}};
    };
    if (back.entries.size() != meant.entries.size())
        return differs(
            -1, std::to_string(back.entries.size()) + " presets in place of " + std::to_string(meant.entries.size()));
    for (std::size_t i = 0; i < back.entries.size(); ++i) {
        const dump::Entry& wanted = meant.entries[i];
        const dump::Entry& got = back.entries[i];
        if (got.state != wanted.state || got.slot != wanted.slot) return differs(wanted.slot, "another slot");
        if (got.stamp != wanted.stamp && wanted.state == dump::SlotState::filled)
            return differs(wanted.slot, "another stamp");
        if (!same_body(meant.device->framings[wanted.framing], wanted.body, got.body))
            return differs(wanted.slot, "another body");
    }
    if (back.problems.size() > meant.problems.size()) return back.problems.back();
    return read;
}

}  // namespace downfit::refit
