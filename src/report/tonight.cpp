#include "report/tonight.h"

#include <algorithm>
#include <set>

#include "report/outline.h"
#include "report/standing.h"
#include "report/table.h"
#include "report/words.h"

namespace downfit::report {

namespace {

/// On which target a preset of tonight stands worst.
Standing worst_standing(const PresetReport& preset) {
    return standing_of(preset.check, preset.check.targets[worst_target(preset.check)]);
}

OutlineCell standing_cell(const PresetReport& preset, const compat::TargetCheck& target) {
    const Standing standing = standing_of(preset.check, target);
    const std::string caution = target.cautions.empty() ? "" : "!";
    return {std::string(standing_word(standing)) + caution, standing_letter(standing) + caution, tone_of(standing),
            standing_letter(standing)};
}

OutlineSection section_of(const CheckReport& report) {
    OutlineSection section{"Tonight, in playing order"};
    if (!report.tonight->title.empty()) section.heading += ": " + report.tonight->title;
    section.table.heads = {"song", "slot", "name"};
    for (const std::size_t target : report.targets) section.table.heads.push_back(report.release(target).name);
    const bool one = report.targets.size() == 1;
    if (one) section.table.heads.emplace_back("main reason");
    section.table.cut_last = one;
    for (const TonightPreset& wanted : report.tonight->presets) {
        auto& row = section.table.rows.emplace_back();
        row.push_back(
            {std::to_string(wanted.song) + ". " + brief(wanted.title) + (wanted.substitute ? " (substitute)" : "")});
        if (!wanted.preset) {
            row.push_back({wanted.slot ? std::to_string(*wanted.slot) : "-"});
            row.push_back({wanted.name.empty() ? "-" : brief(wanted.name)});
            for (std::size_t i = 0; i < report.targets.size(); ++i) row.push_back({"not seen", "-", Tone::unknown});
            if (one) row.push_back({"in " + brief(wanted.file) + ", not looked at"});
            continue;
        }
        const PresetReport& preset = report.presets[*wanted.preset];
        row.push_back({slot_label(preset)});
        row.push_back({preset.check.name.empty() ? "(no name)" : brief(preset.check.name)});
        for (const compat::TargetCheck& target : preset.check.targets) row.push_back(standing_cell(preset, target));
        if (one) row.push_back({main_reason(preset, preset.check.targets.front(), true)});
    }
    return section;
}

}  // namespace

void append_tonight_summary(std::string& out, const CheckReport& report, const Style& style) {
    if (!report.tonight) return;
    std::set<std::size_t> songs, safe, unsafe;
    std::size_t unseen = 0;
    std::string named;
    for (const TonightPreset& wanted : report.tonight->presets) {
        songs.insert(wanted.song);
        if (wanted.substitute) continue;
        if (!wanted.preset) ++unseen;
        if (!wanted.preset) continue;
        if (is_safe(worst_standing(report.presets[*wanted.preset]))) {
            safe.insert(*wanted.preset);
        } else if (unsafe.insert(*wanted.preset).second && unsafe.size() <= 3) {
            named += (named.empty() ? "" : ", ") + brief(wanted.title);
        }
    }
    std::string text = "Tonight, " + counted(songs.size(), "song", "songs") + ": " + presets(safe.size()) + " safe, " +
                       std::to_string(unsafe.size()) + " not";
    if (!unsafe.empty()) text += " (" + named + (unsafe.size() > 3 ? ", ..." : "") + ')';
    if (unseen > 0) text += ", " + std::to_string(unseen) + " not in these dumps";
    append_wrapped(out, text + '.', style.width, 0, 2);
}

void append_tonight_text(std::string& out, const CheckReport& report, const Style& style) {
    if (report.tonight) append_section_text(out, section_of(report), style);
}

void append_tonight_markdown(std::string& out, const CheckReport& report) {
    if (!report.tonight) return;
    out += '\n';
    append_section_markdown(out, section_of(report));
    out.pop_back();
}

void append_tonight_html(std::string& out, const CheckReport& report) {
    if (report.tonight) append_section_html(out, section_of(report));
}

}  // namespace downfit::report
