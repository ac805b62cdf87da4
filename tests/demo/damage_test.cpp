// Damage to one preset among three: every byte flipped in turn, and the file cut at every length. Nothing crashes, what
// is under a check is reported with offset and slot, that preset is never intact, and the others keep their verdicts.
#include <map>
#include <string>
#include <vector>

#include "support/catch.h"
#include "support/demo_files.h"

using namespace downfit;
using namespace downfit::testing;

namespace {

/// Three presets in a row out of bank-a, and where the middle one stands.
struct Excerpt {
    Bytes bytes;
    std::size_t from = 0, to = 0;
    int slot = 0;
};

Excerpt excerpt(const schema::Device& device) {
    const Bytes bank = demo_dump("bank-a.syx");
    const dump::Dump dump = read_demo_dump("bank-a.syx", bank, device);
    const auto begin = [&](std::size_t entry) {
        return dump.messages[dump.entries[entry].messages.front()].span.offset;
    };
    constexpr std::size_t middle = 33;
    Excerpt cut;
    cut.bytes.assign(bank.begin() + static_cast<std::ptrdiff_t>(begin(middle - 1)),
                     bank.begin() + static_cast<std::ptrdiff_t>(begin(middle + 2)));
    cut.from = begin(middle) - begin(middle - 1);
    cut.to = begin(middle + 1) - begin(middle - 1);
    cut.slot = dump::shown_slot(device, dump.entries[middle]);
    return cut;
}

struct Seen {
    std::map<int, std::vector<std::string>> verdicts;  // by slot
    bool slot_damaged = false;                         // the middle preset's entry is damaged, and says where
    bool located = true;                               // every damage has an offset inside the file
    Bytes middle_body;
};

Seen look(compat::Checker& checker, const schema::Device& device, const Bytes& bytes, int slot) {
    Seen seen;
    const auto dump = dump::read("cut.syx", bytes, device);
    if (!dump) return seen;
    for (const dump::Entry& entry : dump.value().entries) {
        const bool middle = dump::shown_slot(device, entry) == slot;
        if (middle) seen.middle_body = entry.body;
        if (entry.state != dump::SlotState::damaged) continue;
        seen.slot_damaged = seen.slot_damaged || middle;
        for (const Problem& problem : entry.damage) {
            const auto* place = std::get_if<BytePlace>(&problem.place);
            seen.located =
                seen.located && place != nullptr && place->offset <= bytes.size() && place->slot == entry.slot;
        }
    }
    for (const compat::PresetCheck& preset : compat::check_dump(checker, dump.value(), bytes).presets) {
        for (const compat::TargetCheck& target : preset.targets) {
            seen.verdicts[preset.slot].emplace_back(compat::verdict_name(target.verdict));
        }
    }
    return seen;
}

}  // namespace

TEST_CASE("damage to one preset is told, and touches no other") {
    const schema::Device device = load_device_folder("dunlin-6");
    const Excerpt whole = excerpt(device);
    compat::CheckOptions options;
    options.targets = {device.find_release("2.10").value()};
    options.brought_by = false;
    compat::Checker checker(device, options);
    const Seen sound = look(checker, device, whole.bytes, whole.slot);
    REQUIRE(sound.verdicts.size() == 3);
    const int before = whole.slot - 1, after = whole.slot + 1;

    std::size_t reported = 0, outside_checks = 0;
    for (const std::uint8_t flip : {std::uint8_t{0x01}, std::uint8_t{0x80}}) {
        for (std::size_t at = whole.from; at < whole.to; ++at) {
            Bytes bytes = whole.bytes;
            bytes[at] = static_cast<std::uint8_t>(bytes[at] ^ flip);
            const Seen seen = look(checker, device, bytes, whole.slot);
            INFO("byte " << at << " flipped by " << int{flip});
            REQUIRE(seen.located);
            REQUIRE(seen.verdicts.at(before) == sound.verdicts.at(before));
            REQUIRE(seen.verdicts.at(after) == sound.verdicts.at(after));
            const auto middle = seen.verdicts.find(whole.slot);
            if (seen.slot_damaged) {
                ++reported;
                REQUIRE(middle->second == std::vector<std::string>{"undecided"});
            } else {
                // No check covers this byte: then it must not have touched what the preset holds.
                ++outside_checks;
                REQUIRE(middle != seen.verdicts.end());
                REQUIRE(seen.middle_body == sound.middle_body);
            }
        }
    }
    CHECK(reported > 5000);
    // The unit number of each message is under no check, and says nothing of the preset.
    CHECK(outside_checks < 60);

    for (std::size_t length = whole.from; length < whole.to; ++length) {
        const Bytes bytes(whole.bytes.begin(), whole.bytes.begin() + static_cast<std::ptrdiff_t>(length));
        const Seen seen = look(checker, device, bytes, whole.slot);
        INFO("cut after " << length << " bytes");
        REQUIRE(seen.located);
        REQUIRE(seen.verdicts.at(before) == sound.verdicts.at(before));
        const auto middle = seen.verdicts.find(whole.slot);
        REQUIRE((middle == seen.verdicts.end() || middle->second == std::vector<std::string>{"undecided"}));
        REQUIRE((length == whole.from || seen.slot_damaged || middle == seen.verdicts.end()));
    }
}
