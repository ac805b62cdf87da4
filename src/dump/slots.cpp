#include "dump/slots.h"

#include <map>
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
            tell(e, "slot " + std::to_string(entry.slot) + " is beyond the last one",
                 "0 to " + std::to_string(count - 1));
        }
        const std::string kind = framing.holds == schema::Holds::asset ? "asset " + framing.asset : "preset";
        const auto [place, fresh] = seen.emplace(std::pair{kind, entry.slot}, e);
        if (fresh) continue;
        tell(e,
             "slot " + std::to_string(entry.slot) + " stands twice in this file; the other is at offset " +
                 std::to_string(places[place->second].offset),
             {});
    }
}

}  // namespace downfit::dump
