#include "refit/shared.h"

#include <algorithm>
#include <map>

namespace downfit::refit {

namespace {

/// Visits the bytes of an entry: its place in the body, and in its image.
template <class Visit>
void each_byte(const dump::Entry& entry, Visit visit) {
    std::size_t at = 0;
    for (const ByteSpan& piece : entry.cut->pieces) {
        for (std::size_t i = 0; i < piece.length && at < entry.body.size(); ++i) visit(at++, piece.offset + i);
    }
}

}  // namespace

void share_bytes(const dump::Dump& before, dump::Dump& next) {
    std::map<std::pair<std::size_t, std::size_t>, std::uint8_t> changed;  // by image and byte
    for (std::size_t i = 0; i < next.entries.size(); ++i) {
        const dump::Entry& entry = next.entries[i];
        const dump::Entry& was = before.entries[i];
        if (!entry.cut || entry.state == dump::SlotState::damaged || entry.body == was.body) continue;
        each_byte(entry, [&](std::size_t at, std::size_t byte) {
            if (at < was.body.size() && entry.body[at] != was.body[at])
                changed.try_emplace({entry.cut->image, byte}, entry.body[at]);
        });
    }
    if (changed.empty()) return;
    for (dump::Entry& entry : next.entries) {
        if (!entry.cut || entry.state == dump::SlotState::damaged) continue;
        each_byte(entry, [&](std::size_t at, std::size_t byte) {
            const auto found = changed.find({entry.cut->image, byte});
            if (found != changed.end()) entry.body[at] = found->second;
        });
    }
}

bool share(const dump::Dump& dump, std::size_t a, std::size_t b) {
    const auto& left = dump.entries[a].cut;
    const auto& right = dump.entries[b].cut;
    if (!left || !right || left->image != right->image) return false;
    return std::any_of(left->pieces.begin(), left->pieces.end(), [&](const ByteSpan& one) {
        return std::any_of(right->pieces.begin(), right->pieces.end(), [&](const ByteSpan& other) {
            return one.offset < other.offset + other.length && other.offset < one.offset + one.length;
        });
    });
}

}  // namespace downfit::refit
