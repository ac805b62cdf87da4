// Every byte changed, every length cut: what is damaged says so, and what is not comes out as it was.
#include <algorithm>
#include <map>

#include "dump/dump.h"
#include "dump/small_devices.h"
#include "support/catch.h"

namespace downfit {

namespace {

using dump::Dump;
using dump::Entry;
using dump::SlotState;
using testing::covers;

bool states_agree(const Dump& dump) {
    return std::ranges::all_of(
        dump.entries, [](const Entry& entry) { return entry.damage.empty() == (entry.state != SlotState::damaged); });
}

const Entry* filled(const Dump& dump, int slot) {
    for (const Entry& entry : dump.entries) {
        if (entry.slot == slot && entry.state != SlotState::damaged) return &entry;
    }
    return nullptr;
}

const Entry* damaged(const Dump& dump, int slot) {
    for (const Entry& entry : dump.entries) {
        if (entry.slot == slot && entry.state == SlotState::damaged) return &entry;
    }
    return nullptr;
}

std::map<int, Bytes> bodies(const schema::Device& device, const Bytes& bank) {
    std::map<int, Bytes> all;
    const auto dump = dump::read("bank.syx", bank, device);
    REQUIRE(dump.ok());
    for (const Entry& entry : dump.value().entries) all[entry.slot] = entry.body;
    return all;
}

}  // namespace

TEST_CASE("changing any one byte of a checked bank damages its preset and no other", "[dump]") {
    const schema::Device device = testing::siskin();
    const Bytes bank = testing::siskin_bank();
    const auto whole = bodies(device, bank);
    REQUIRE(whole.size() == 3);
    for (std::size_t at = 0; at < bank.size(); ++at) {
        const int slot = static_cast<int>(at / testing::siskin_size);
        // Nothing checks the unit number: another one there changes nothing.
        const bool is_unit = at >= 3 && bank[at - 1] == 0x06 && bank[at - 2] == 0x7D && bank[at - 3] == 0xF0;
        for (unsigned value = 0; value < 256; ++value) {
            if (value == bank[at]) continue;
            Bytes changed = bank;
            changed[at] = static_cast<std::uint8_t>(value);
            CAPTURE(at, value, slot);
            const auto result = dump::read("bank.syx", changed, device);
            REQUIRE(result.ok());
            const Dump& dump = result.value();
            REQUIRE(covers(dump, changed.size()));
            REQUIRE(states_agree(dump));
            for (const auto& [other, body] : whole) {
                if (other == slot) continue;
                REQUIRE(filled(dump, other));
                REQUIRE(filled(dump, other)->body == body);
                REQUIRE(!damaged(dump, other));
            }
            if (is_unit && value < 0x80) {
                REQUIRE(filled(dump, slot));
                REQUIRE(filled(dump, slot)->body == whole.at(slot));
            } else {
                REQUIRE(damaged(dump, slot));
                REQUIRE(!filled(dump, slot));
            }
            REQUIRE(dump.entries.size() == 3);
            const auto written = dump::write(dump, changed);
            REQUIRE(written.ok());
            REQUIRE(written.value() == changed);
        }
    }
}

TEST_CASE("cutting a bank at any length fills no slot with anything else", "[dump]") {
    const schema::Device device = testing::siskin();
    const Bytes bank = testing::siskin_bank();
    const auto whole = bodies(device, bank);
    for (std::size_t size = 0; size <= bank.size(); ++size) {
        const ByteView cut = ByteView(bank).first(size);
        CAPTURE(size);
        const auto result = dump::read("bank.syx", cut, device);
        if (!result) {
            CHECK(size < 7);
            continue;
        }
        const Dump& dump = result.value();
        REQUIRE(covers(dump, size));
        REQUIRE(states_agree(dump));
        for (const auto& [slot, body] : whole) {
            const bool complete = size >= (static_cast<std::size_t>(slot) + 1) * testing::siskin_size;
            REQUIRE((filled(dump, slot) != nullptr) == complete);
            if (complete) REQUIRE(filled(dump, slot)->body == body);
            const bool begun = size >= static_cast<std::size_t>(slot) * testing::siskin_size + 7;
            REQUIRE((damaged(dump, slot) != nullptr) == (begun && !complete));
        }
    }
}

TEST_CASE("leaving out any run of messages damages what it touches and fills nothing wrong", "[dump]") {
    const schema::Device device = testing::siskin();
    const Bytes bank = testing::siskin_bank();
    const auto whole = bodies(device, bank);
    for (std::size_t from = 0; from < bank.size(); ++from) {
        for (std::size_t to = from + 1; to <= bank.size(); to += 3) {
            Bytes cut(bank.begin(), bank.begin() + static_cast<std::ptrdiff_t>(from));
            cut.insert(cut.end(), bank.begin() + static_cast<std::ptrdiff_t>(to), bank.end());
            const auto result = dump::read("bank.syx", cut, device);
            if (!result) continue;
            CAPTURE(from, to);
            REQUIRE(covers(result.value(), cut.size()));
            for (const Entry& entry : result.value().entries) {
                if (entry.state == SlotState::damaged) continue;
                REQUIRE(entry.body == whole.at(entry.slot));
            }
        }
    }
}

}  // namespace downfit
