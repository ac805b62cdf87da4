#include "report/rig_ruling.h"

#include <algorithm>
#include <array>
#include <map>
#include <utility>

#include "files/input.h"
#include "report/policy_words.h"
#include "report/rig_words.h"
#include "report/words.h"

namespace downfit::report {

namespace {

using rig::Ruled;

constexpr std::size_t most_lapse_lines = 3;
constexpr std::size_t most_findings = 3;

/// Indices of the findings of a preset on a unit that an acceptance covers, and which.
std::vector<std::pair<std::size_t, std::size_t>> accepted_of(const rig::OnUnit& here) {
    std::vector<std::pair<std::size_t, std::size_t>> list;
    for (std::size_t i = 0; i < here.ruling.accepted.size(); ++i) {
        if (here.ruling.accepted[i]) list.emplace_back(i, *here.ruling.accepted[i]);
    }
    return list;
}

std::string songs_line(const RigReport& report) {
    std::array<std::vector<std::size_t>, rig::ruled_count> songs;
    for (std::size_t song = 0; song < report.check->songs.size(); ++song)
        songs[static_cast<std::size_t>(report.check->ruled(song))].push_back(song);
    const auto of = [&](Ruled ruled) -> const std::vector<std::size_t>& {
        return songs[static_cast<std::size_t>(ruled)];
    };
    std::string text = "Policy " + brief(files::last_part(report.material->policy->file)) + ": " +
                       std::to_string(of(Ruled::within).size()) + " of " +
                       counted(report.check->songs.size(), "song", "songs") + " within it on some unit";
    const auto add = [&](Ruled ruled, const std::string& words) {
        if (!of(ruled).empty())
            text += ", " + std::to_string(of(ruled).size()) + ' ' + words + " (" + song_list(report, of(ruled)) + ')';
    };
    add(Ruled::lacking, "once what is lacking is put in");
    add(Ruled::undecided, "undecided");
    add(Ruled::failing, "not");
    std::size_t findings = 0, on_units = 0;
    for (const std::vector<rig::OnUnit>& units : report.check->on) {
        for (const rig::OnUnit& here : units) {
            const std::size_t count = accepted_of(here).size();
            findings += count;
            on_units += count > 0 ? 1 : 0;
        }
    }
    if (findings > 0)
        text += "; " + counted(findings, "finding", "findings") + " accepted, of " +
                counted(on_units, "preset on a unit", "presets on units");
    return text + '.';
}

void add_lapsed(const RigReport& report, std::vector<OutlineLine>& lines) {
    std::size_t told = 0, more = 0;
    for (std::size_t i = 0; i < report.check->accepted.size(); ++i) {
        const auto& lapses = report.check->accepted[i].lapses;
        if (lapses.empty()) continue;
        if (told == most_lapse_lines) {
            ++more;
            continue;
        }
        ++told;
        const rig::UnitLapse& first = lapses.front();
        std::string text = "lapsed: " + acceptance_words(*report.material->policy, i) + ": " +
                           preset_words(report, first.preset) + " on " + brief(report.rig().units[first.unit].name) +
                           ", " + lapse_words(report.material->policy->accepted[i], first.lapse);
        if (lapses.size() > 1) text += ", and " + counted(lapses.size() - 1, "other finding", "other findings");
        lines.push_back({text + '.', Tone::bad, true});
    }
    if (more > 0) lines.push_back({counted(more, "more acceptance", "more acceptances") + " lapsed.", Tone::bad, true});
}

void add_stale(const RigReport& report, std::vector<OutlineLine>& lines) {
    std::string text;
    std::size_t told = 0, more = 0;
    for (std::size_t i = 0; i < report.check->accepted.size(); ++i) {
        if (!report.check->accepted[i].stale) continue;
        if (told == most_lapse_lines) {
            ++more;
            continue;
        }
        text += (told++ > 0 ? ", " : "") + acceptance_words(*report.material->policy, i);
    }
    if (told == 0) return;
    if (more > 0) text += " and " + std::to_string(more) + " more";
    lines.push_back({"stale: " + text + (told + more == 1 ? " means" : " mean") + " nothing on the units of this rig.",
                     Tone::plain, true});
}

/// "amp[1].drive clamped (audible), amp[1].bite lost (severe) and 4 more".
std::string findings_words(const rig::OnUnit& here, const std::vector<std::size_t>& findings) {
    std::string text;
    for (std::size_t i = 0; i < findings.size() && i < most_findings; ++i) {
        const compat::Finding& finding = here.now.findings[findings[i]];
        text += (i == 0 ? "" : ", ") + brief(finding.parameter) + ' ' +
                std::string(compat::row_of(finding.outcome).name) + " (" +
                std::string(compat::weight_name(finding.weight)) + ')';
    }
    if (findings.size() > most_findings) text += " and " + std::to_string(findings.size() - most_findings) + " more";
    return text;
}

Json lapse_json(const RigReport& report, const rig::UnitLapse& one) {
    const rig::Preset& preset = report.check->presets[one.preset];
    Json json;
    json["unit"] = report.rig().units[one.unit].name;
    json["file"] = preset.dump->file;
    json["slot"] = preset.slot >= 0 ? Json(preset.slot) : Json();
    json["name"] = preset.name;
    json["release"] = report.rig().units[one.unit].release;
    add_lapse(one.lapse, json);
    return json;
}

}  // namespace

std::vector<OutlineLine> rig_policy_lines(const RigReport& report) {
    std::vector<OutlineLine> lines;
    if (report.material->policy == nullptr) return lines;
    lines.push_back({songs_line(report), Tone::plain, true});
    add_lapsed(report, lines);
    add_stale(report, lines);
    return lines;
}

std::vector<OutlineLine> rig_accepted_lines(const RigReport& report) {
    std::vector<OutlineLine> lines;
    for (std::size_t preset = 0; preset < report.check->on.size(); ++preset) {
        std::vector<std::pair<std::string, std::string>> told;  // and on which units
        for (std::size_t unit = 0; unit < report.check->on[preset].size(); ++unit) {
            const rig::OnUnit& here = report.check->on[preset][unit];
            std::map<std::size_t, std::vector<std::size_t>> by_entry;
            for (const auto& [finding, entry] : accepted_of(here)) by_entry[entry].push_back(finding);
            for (const auto& [entry, findings] : by_entry) {
                std::string text =
                    findings_words(here, findings) + ": accepted by " + accepted_by(*report.material->policy, entry);
                const std::string name = brief(report.rig().units[unit].name);
                const auto at = std::ranges::find(told, text, &std::pair<std::string, std::string>::first);
                if (at == told.end()) {
                    told.emplace_back(std::move(text), name);
                } else {
                    at->second += ", " + name;
                }
            }
        }
        for (const auto& [text, on] : told) {
            std::string line = preset_words(report, preset);
            line.append(" on ").append(on).append(": ").append(text).append(".");
            lines.push_back({std::move(line), Tone::plain, true});
        }
    }
    return lines;
}

Json rig_policy_json(const RigReport& report) {
    if (report.material->policy == nullptr) return {};
    const schema::Policy& policy = *report.material->policy;
    Json json = policy_head_json(policy, report.material->today);
    json["accepted"] = Json::array();
    for (std::size_t i = 0; i < policy.accepted.size(); ++i) {
        const rig::EntryRuling& ruling = report.check->accepted[i];
        Json entry = acceptance_json(policy.accepted[i]);
        entry["state"] = acceptance_state(ruling.findings, !ruling.lapses.empty(), ruling.stale);
        entry["findings"] = ruling.findings;
        entry["lapses"] = Json::array();
        for (const rig::UnitLapse& lapse : ruling.lapses) entry["lapses"].push_back(lapse_json(report, lapse));
        json["accepted"].push_back(std::move(entry));
    }
    return json;
}

Json rig_accepted_json(const RigReport& report, std::size_t preset, std::size_t unit) {
    const rig::OnUnit& here = report.check->on[preset][unit];
    Json list = Json::array();
    for (const auto& [index, entry] : accepted_of(here)) {
        const compat::Finding& finding = here.now.findings[index];
        list.push_back(Json{{"parameter", finding.parameter},
                            {"outcome", compat::row_of(finding.outcome).name},
                            {"weight", compat::weight_name(finding.weight)},
                            {"fingerprint", finding.fingerprint},
                            {"accepted-by", entry}});
    }
    return list;
}

}  // namespace downfit::report
