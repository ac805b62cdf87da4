// Fuzz target: the whole check. The first byte chooses the device, all releases or one, and whether the rest is a file
// or the body of a preset; the second the release. Promised: a verdict for every preset and target, findings that point
// into the file, and reports that are harmless whatever names the dump holds: JSON that parses, text without controls.
#include "compat/check.h"

#include <map>
#include <nlohmann/json.hpp>

#include "fuzz/devices.h"
#include "fuzz/target.h"
#include "report/check_json.h"
#include "report/check_text.h"
#include "report/escape.h"
#include "report/ruling.h"

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

void judge(const compat::PresetCheck& preset, const compat::CheckOptions& options, std::size_t file_size) {
    if (preset.state == dump::SlotState::empty) return;
    fuzz::require(preset.targets.size() == options.targets.size(), "every target is judged");
    for (const compat::TargetCheck& target : preset.targets) {
        fuzz::require(target.best <= target.worst, "best is not worse than worst");
        const bool has_reason = target.verdict != compat::Verdict::undecided || !target.reason.empty();
        fuzz::require(has_reason, "what is undecided has a reason");
        if (preset.state == dump::SlotState::damaged) {
            fuzz::require(target.verdict == compat::Verdict::undecided, "what is damaged is undecided");
        }
        for (const compat::Finding& finding : target.findings) {
            fuzz::require(!finding.parameter.empty() && finding.best <= finding.weight, "a finding makes sense");
            if (finding.cause) fuzz::require(*finding.cause < target.causes.size(), "a cause is told");
            for (const auto& offset : {finding.saved_offset, finding.loaded_offset}) {
                if (offset) fuzz::require(*offset < file_size, "findings point into the file");
            }
        }
    }
}

void look_at_text(std::string_view text) {
    while (!text.empty()) {
        const report::CodePoint point = report::first_code_point(text);
        fuzz::require(point.valid, "a text report is UTF-8");
        const bool control = (point.value < 0x20 && point.value != '\n') || (point.value >= 0x7F && point.value < 0xA0);
        const bool turns = (point.value >= 0x202A && point.value <= 0x202E) ||
                           (point.value >= 0x2066 && point.value <= 0x2069) || point.value == 0x200E ||
                           point.value == 0x200F || point.value == 0x61C;
        fuzz::require(!control && !turns, "a text report holds nothing that steers a terminal or turns a line");
        text.remove_prefix(point.length);
    }
}

void report_on(const schema::Device& device, const dump::Dump& dump, compat::DumpCheck check,
               const compat::CheckOptions& options) {
    report::CheckReport report;
    report.device = &device;
    report.version = "0";
    report.targets = options.targets;
    report.all_releases = options.floors;
    report.files.push_back({dump.file, dump.digest, {"presets"}, {}, check.absent, dump.problems, {}});
    for (compat::PresetCheck& preset : check.presets) {
        if (preset.state == dump::SlotState::empty) continue;
        Problems damage = dump.entries[preset.entry].damage;
        report.presets.push_back({0, std::move(preset), std::move(damage)});
    }
    report::rule(report, {}, "2026-03-02");
    // One report a run: which, the dump says, so that the fuzzer reaches all.
    const std::size_t choice = dump.entries.empty() || dump.entries.front().body.empty()
                                   ? dump.entries.size()
                                   : dump.entries.front().body.back();
    if (choice % 3 == 0) return look_at_text(report::check_text(report, report::Extent::details, {}));
    if (choice % 3 == 1) return look_at_text(report::check_text(report, report::Extent::presets, {60, false}));
    const std::string json = report::check_json(report);
    fuzz::require(nlohmann::json::accept(json), "a JSON report is JSON");
    fuzz::require(std::all_of(json.begin(), json.end(), [](char c) { return c == '\n' || (c >= ' ' && c <= '~'); }),
                  "a JSON report is plain ASCII");
}

void try_dump(compat::Checker& checker, const dump::Dump& dump, ByteView bytes) {
    compat::DumpCheck check = compat::check_dump(checker, dump, bytes);
    for (const compat::PresetCheck& preset : check.presets) judge(preset, checker.options(), bytes.size());
    report_on(*dump.device, dump, std::move(check), checker.options());
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
        judge(checker.check(entry), checker.options(), 0);
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
