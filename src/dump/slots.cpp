#include "dump/slots.h"

#include <map>
#include <set>
#include <string>
#include <utility>

#include "dump/find.h"

namespace downfit::dump {

void tell_slots(Dump& dump, const std::vector<ByteSpan>& places) {
    const schema::Device& device = *dump.device;
    const auto tell = [&](std::size_t entry, std::string what, std::string expected) {
        dump.problems.push_back(
            {BytePlace{dump.file, places[entry].offset, places[entry].length, dump.entries[entry].slot},
             std::move(what),
             std::move(expected),
             {}});
    };
    std::map<std::pair<std::string, int>, std::size_t> seen;
    for (std::size_t e = 0; e < dump.entries.size(); ++e) {
        const Entry& entry = dump.entries[e];
        const schema::Framing& framing = device.framings[entry.framing];
        // The slot of a damaged entry may itself be what is wrong.
        if (entry.slot < 0 || entry.state == SlotState::damaged) continue;
        if (framing.holds == schema::Holds::unit_settings) continue;
        const int count = slot_count(device, framing);
        if (count > 0 && entry.slot >= count) {
            tell(e, "slot " + std::to_string(shown_slot(device, entry)) + " is beyond the last one",
                 std::to_string(shown_slot(device, entry) - entry.slot) + " to " +
                     std::to_string(shown_slot(device, entry) - entry.slot + count - 1));
        }
        const std::string kind = framing.holds == schema::Holds::asset ? "asset " + framing.asset : "preset";
        const auto [place, fresh] = seen.emplace(std::pair{kind, entry.slot}, e);
        if (fresh) continue;
        tell(e,
             "slot " + std::to_string(shown_slot(device, entry)) +
                 " stands twice in this file; the other is at offset " + std::to_string(places[place->second].offset),
             {});
    }
}

std::vector<int> absent_slots(const Dump& dump) {
    const schema::Device& device = *dump.device;
    std::set<int> seen, due;
    for (const Entry& entry : dump.entries) {
        if (device.framings[entry.framing].holds != schema::Holds::presets || entry.slot < 0) continue;
        seen.insert(entry.slot);
    }
    if (!seen.empty()) {
        for (int slot = *seen.begin(); slot < *seen.rbegin(); ++slot) due.insert(slot);
    }
    for (const Image& image : dump.images) {
        const schema::Framing& framing = device.framings[image.framing];
        if (framing.holds != schema::Holds::presets || !framing.image || !framing.image->sparse) continue;
        for (const schema::PresetRun& run : framing.presets) {
            for (int i = 0; i < run.count; ++i) due.insert(run.first + i);
        }
    }
    std::vector<int> absent;
    for (const int slot : due) {
        if (!seen.contains(slot)) absent.push_back(device.slots.first + slot);
    }
    return absent;
}

}  // namespace downfit::dump
