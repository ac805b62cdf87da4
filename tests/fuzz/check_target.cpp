// Fuzz target: the whole check. The first byte chooses the device, all releases or one, and whether the rest is a file
// or the body of a preset; the second the release. Promised: a verdict for every preset and target, findings that point
// into the file, and reports that are harmless whatever names the dump holds: JSON that parses, text without controls.
#include "compat/check.h"

#include <map>

#include "fuzz/devices.h"
#include "fuzz/promises.h"
#include "fuzz/target.h"

namespace {

using namespace downfit;

constexpr std::uint8_t as_body = 0x80;
constexpr std::uint8_t any_size = 0x40;
constexpr std::uint8_t all_releases = 0x20;

compat::Checker& checker_for(const schema::Device& device, bool all, std::size_t choice) {
    static std::map<std::pair<const schema::Device*, std::size_t>, std::unique_ptr<compat::Checker>> checkers;
    const std::size_t target = choice % device.releases.size();
    auto& checker = checkers[{&device, all ? device.releases.size() : target}];
    if (checker) return *checker;
    compat::CheckOptions options;
    options.floors = all;
    options.brought_by = !all;  // with all releases it only repeats what they show, and takes most of the time
    for (std::size_t release = 0; release < device.releases.size(); ++release) {
        if (all || release == target) options.targets.push_back(release);
    }
    options.saved_on = device.releases.size() - 1;
    checker = std::make_unique<compat::Checker>(device, options);
    return *checker;
}

void report_on(const dump::Dump& dump, compat::DumpCheck check, const compat::CheckOptions& options) {
    // One report a run: which, the dump says, so that the fuzzer reaches all.
    const std::size_t choice = dump.entries.empty() || dump.entries.front().body.empty()
                                   ? dump.entries.size()
                                   : dump.entries.front().body.back();
    fuzz::look_at_report(fuzz::report_on(dump, std::move(check), options), choice);
}

void try_dump(compat::Checker& checker, const dump::Dump& dump, ByteView bytes) {
    compat::DumpCheck check = compat::check_dump(checker, dump, bytes);
    for (const compat::PresetCheck& preset : check.presets)
        fuzz::look_at_preset(preset, checker.options(), bytes.size());
    report_on(dump, std::move(check), checker.options());
}

void try_body(compat::Checker& checker, const fuzz::Base& base, bool resized, std::uint8_t choice, ByteView body) {
    dump::Dump changed = base.dump;
    std::erase_if(changed.entries, [&](const dump::Entry& entry) {
        return changed.device->framings[entry.framing].holds != schema::Holds::presets;
    });
    if (changed.entries.empty()) return;
    changed.entries.resize(1);
    dump::Entry& entry = changed.entries.front();
    const std::size_t size = resized ? body.size() : entry.body.size();
    entry.body.assign(body.begin(), body.begin() + static_cast<std::ptrdiff_t>(std::min(size, body.size())));
    entry.body.resize(size);
    entry.state = dump::SlotState::filled;
    const auto& stamps = changed.device->releases[choice / 16u % changed.device->releases.size()].stamps;
    if (!stamps.empty()) entry.stamp = stamps.front();
    if (resized) {
        fuzz::look_at_preset(checker.check(entry), checker.options(), 0);
    } else {
        try_dump(checker, changed, base.bytes);
    }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    fuzz::Input input(data, size);
    const std::uint8_t control = input.byte();
    const std::uint8_t choice = input.byte();
    const schema::Device& device = fuzz::device_of(control & 0x03);
    compat::Checker& checker = checker_for(device, (control & all_releases) != 0, choice % 16);
    if (control & as_body) {
        const auto& bases = fuzz::bases_of(device);
        try_body(checker, bases[(control >> 2 & 0x07) % bases.size()], (control & any_size) != 0, choice, input.rest());
        return 0;
    }
    const auto dump = dump::read("fuzz.syx", input.rest(), device);
    if (dump) try_dump(checker, dump.value(), input.rest());
    return 0;
}
