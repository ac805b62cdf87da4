#include "dump/raw.h"

#include <algorithm>
#include <tuple>
#include <utility>

#include "base/digest.h"
#include "dump/cut_records.h"
#include "dump/entries.h"
#include "dump/image.h"
#include "dump/slots.h"

namespace downfit::dump {

namespace {

bool begins_with(ByteView bytes, ByteView start) {
    return bytes.size() >= start.size() && std::ranges::equal(bytes.first(start.size()), start);
}

auto score(const schema::Device& device, std::size_t framing, const CutImage& cut) {
    const bool has_entry = !cut.entries.empty();
    const auto damaged = std::ranges::count_if(cut.entries, &is_damaged);
    return std::make_tuple(device.framings[framing].begins_with.size(),
                           has_entry && stamp_supports(device, cut.entries.front()), damaged == 0,
                           std::ranges::ssize(cut.entries) - damaged, check_count(device.framings[framing]),
                           has_entry && is_known_size(device, framing, cut.entries.front().body.size()));
}

}  // namespace

std::vector<std::size_t> raw_framings(ByteView bytes, const schema::Device& device, std::string_view layout) {
    std::vector<std::size_t> found;
    if (bytes.empty()) return found;
    const std::vector<bool> wanted = framings_of(device, layout);
    for (std::size_t f = 0; f < device.framings.size(); ++f) {
        const schema::Framing& framing = device.framings[f];
        if (!framing.raw || !wanted[f] || !begins_with(bytes, framing.begins_with)) continue;
        if (!layout.empty() || !framing.begins_with.empty()) found.push_back(f);
    }
    return found;
}

Dump read_raw(std::string file, ByteView bytes, const schema::Device& device,
              const std::vector<std::size_t>& framings) {
    const auto cut_as = [&](std::size_t framing) {
        const ImageSource source{file,         device,       framing,
                                 std::nullopt, std::nullopt, [](std::size_t index) { return index; }};
        return cut_image(source, {Bytes(bytes.begin(), bytes.end()), {}, {}});
    };
    std::size_t best_framing = framings.front();
    CutImage best = cut_as(best_framing);
    for (std::size_t i = 1; i < framings.size(); ++i) {
        CutImage other = cut_as(framings[i]);
        if (score(device, framings[i], other) <= score(device, best_framing, best)) continue;
        best = std::move(other);
        best_framing = framings[i];
    }
    Dump dump;
    dump.device = &device;
    dump.images.push_back(std::move(best.image));
    dump.entries = std::move(best.entries);
    dump.spans.push_back({{0, bytes.size()}, Span::Kind::image, 0});
    dump.problems = std::move(best.problems);
    dump.digest = sha256_hex(bytes);
    dump.file = std::move(file);
    tell_cut_records(dump, bytes);
    std::vector<ByteSpan> places;
    for (const Entry& entry : dump.entries) {
        const bool is_plain = !packs(device.framings[best_framing].steps) && !entry.cut->pieces.empty();
        places.push_back(is_plain ? entry.cut->pieces.front() : ByteSpan{0, bytes.size()});
    }
    tell_slots(dump, places);
    return dump;
}

}  // namespace downfit::dump
