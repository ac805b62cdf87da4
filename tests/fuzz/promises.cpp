#include "fuzz/promises.h"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "fuzz/target.h"
#include "report/check_json.h"
#include "report/check_text.h"
#include "report/escape.h"
#include "report/problems.h"
#include "report/ruling.h"

namespace downfit::fuzz {

void look_at_problems(const Problems& problems, const std::vector<std::string>& files) {
    require(!problems.empty(), "a failure has a reason");
    for (const Problem& problem : problems) {
        require(!problem.what.empty(), "a problem says what is wrong");
        require(!problem.what.ends_with("failed"), "no exception of a library comes through");
        look_at_text(report::problem_text(problem));
        const auto* place = std::get_if<TextPlace>(&problem.place);
        if (!place) continue;
        const bool known = std::find(files.begin(), files.end(), place->file) != files.end();
        require(known && place->line > 0 && place->column > 0, "a problem has a place in one of the files");
    }
}

void look_at_text(std::string_view text) {
    while (!text.empty()) {
        const report::CodePoint point = report::first_code_point(text);
        require(point.valid, "a text report is UTF-8");
        const bool control = (point.value < 0x20 && point.value != '\n') || (point.value >= 0x7F && point.value < 0xA0);
        const bool turns = (point.value >= 0x202A && point.value <= 0x202E) ||
                           (point.value >= 0x2066 && point.value <= 0x2069) || point.value == 0x200E ||
                           point.value == 0x200F || point.value == 0x61C;
        require(!control && !turns, "a text report holds nothing that steers a terminal or turns a line");
        text.remove_prefix(point.length);
    }
}

void look_at_json(const std::string& json) {
    require(nlohmann::json::accept(json), "a JSON report is JSON");
    require(std::all_of(json.begin(), json.end(), [](char c) { return c == '\n' || (c >= ' ' && c <= '~'); }),
            "a JSON report is plain ASCII");
}

void look_at_preset(const compat::PresetCheck& preset, const compat::CheckOptions& options, std::size_t file_size) {
    if (preset.state == dump::SlotState::empty) return;
    require(preset.targets.size() == options.targets.size(), "every target is judged");
    for (const compat::TargetCheck& target : preset.targets) {
        require(target.best <= target.worst, "best is not worse than worst");
        const bool has_reason = target.verdict != compat::Verdict::undecided || !target.reason.empty();
        require(has_reason, "what is undecided has a reason");
        if (preset.state == dump::SlotState::damaged) {
            require(target.verdict == compat::Verdict::undecided, "what is damaged is undecided");
        }
        for (const compat::Finding& finding : target.findings) {
            require(!finding.parameter.empty() && finding.best <= finding.weight, "a finding makes sense");
            if (finding.cause) require(*finding.cause < target.causes.size(), "a cause is told");
            for (const auto& offset : {finding.saved_offset, finding.loaded_offset}) {
                if (offset) require(*offset < file_size, "findings point into the file");
            }
        }
    }
}

report::CheckReport report_on(const dump::Dump& dump, compat::DumpCheck check, const compat::CheckOptions& options) {
    report::CheckReport report;
    report.device = dump.device;
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
    return report;
}

void look_at_report(const report::CheckReport& report, std::size_t choice) {
    if (choice % 3 == 0) return look_at_text(report::check_text(report, report::Extent::details, {}));
    if (choice % 3 == 1) return look_at_text(report::check_text(report, report::Extent::presets, {60, false}));
    look_at_json(report::check_json(report));
}

}  // namespace downfit::fuzz
