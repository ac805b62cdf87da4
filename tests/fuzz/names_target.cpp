// Fuzz target: dumps by name, JSON and XML, of Pipit. The first byte chooses whether the rest is a whole file, or a
// preset that is put in the place of one in a sound file. Promised: an unchanged dump is written byte by byte; a
// changed one can be read again; damage has a reason with its place; every preset is judged, findings point into the
// file.
#include "compat/check.h"

#include <array>
#include <map>
#include <memory>

#include "fuzz/devices.h"
#include "fuzz/promises.h"
#include "fuzz/target.h"
#include "support/file.h"
#include "support/paths.h"

namespace {

using namespace downfit;

constexpr std::uint8_t as_preset = 0x80;
constexpr std::size_t largest_preset = 20'000;

const schema::Device& pipit() {
    return fuzz::device_of(1);
}

const std::array<fuzz::Base, 2>& bases() {
    static const std::array<fuzz::Base, 2> all = [] {
        std::array<fuzz::Base, 2> read;
        for (const std::size_t i : {0u, 1u}) {
            const char* const name = i == 0 ? "named-pipit.json" : "named-pipit.xml";
            read[i].bytes = testing::read_bytes(testing::in_tests("fuzz/bases") / name);
            auto dump = dump::read(name, read[i].bytes, pipit());
            fuzz::require(dump.ok() && dump.value().entries.size() == 2, "a base dump can be read");
            read[i].dump = std::move(dump).value();
        }
        return read;
    }();
    return all;
}

compat::Checker& checker_for(std::size_t choice) {
    static std::map<std::size_t, std::unique_ptr<compat::Checker>> checkers;
    const std::size_t target = choice % pipit().releases.size();
    auto& checker = checkers[target];
    if (checker) return *checker;
    compat::CheckOptions options;
    options.targets = {target};
    options.saved_on = pipit().releases.size() - 1;
    options.brought_by = false;
    checker = std::make_unique<compat::Checker>(pipit(), options);
    return *checker;
}

void look_at_damage(const dump::Dump& dump, ByteView bytes) {
    if (!dump.problems.empty()) fuzz::look_at_problems(dump.problems, {dump.file});
    for (const dump::Entry& entry : dump.entries) {
        fuzz::require((entry.state == dump::SlotState::damaged) == !entry.damage.empty(), "damage has a reason");
        if (!entry.damage.empty()) fuzz::look_at_problems(entry.damage, {dump.file});
        fuzz::require(entry.text && entry.text->offset + entry.text->length <= bytes.size(), "presets lie in the file");
        if (entry.state != dump::SlotState::filled) continue;
        fuzz::require(fuzz::same(entry.body, bytes.subspan(entry.text->offset, entry.text->length)),
                      "a body is the preset's own text");
    }
}

void inspect(const dump::Dump& dump, ByteView bytes, std::size_t choice) {
    look_at_damage(dump, bytes);
    const auto written = dump::write(dump, bytes);
    fuzz::require(written.ok() && fuzz::same(written.value(), bytes), "an unchanged dump is written byte by byte");
    compat::Checker& checker = checker_for(choice);
    compat::DumpCheck check = compat::check_dump(checker, dump, bytes);
    for (const compat::PresetCheck& preset : check.presets)
        fuzz::look_at_preset(preset, checker.options(), bytes.size());
    fuzz::look_at_report(fuzz::report_on(dump, std::move(check), checker.options()), choice / 8);
}

void try_file(ByteView bytes, std::size_t choice) {
    const auto dump = dump::read("fuzz.json", bytes, pipit());
    if (!dump) return fuzz::look_at_problems(dump.problems(), {"fuzz.json"});
    // A System Exclusive dump is the business of other targets.
    if (!dump.value().entries.empty() && !dump.value().entries.front().text) return;
    inspect(dump.value(), bytes, choice);
}

void try_preset(const fuzz::Base& base, ByteView text, std::size_t choice) {
    if (text.size() > largest_preset) return;
    dump::Dump changed = base.dump;
    changed.entries[choice % 2].body.assign(text.begin(), text.end());
    const auto written = dump::write(changed, base.bytes);
    if (!written) return fuzz::look_at_problems(written.problems(), {base.dump.file});
    const auto again = dump::read(base.dump.file, written.value(), pipit());
    if (!again) return fuzz::look_at_problems(again.problems(), {base.dump.file});
    inspect(again.value(), written.value(), choice);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    fuzz::Input input(data, size);
    const std::uint8_t control = input.byte();
    if (control & as_preset) {
        try_preset(bases()[control >> 6 & 1], input.rest(), control & 0x3F);
    } else {
        try_file(input.rest(), control & 0x3F);
    }
    return 0;
}
