#include <algorithm>
#include <array>

#include "report/escape.h"
#include "report/refit_report.h"
#include "report/standing.h"
#include "report/summary.h"
#include "report/words.h"

namespace downfit::report {

namespace {

using compat::Verdict;
using refit::Fate;

/// As many presets that were left are told one by one; `--detail` and JSON tell all.
constexpr std::size_t most_left = 8;

std::size_t count(const RefitReport& report, Fate fate) {
    return static_cast<std::size_t>(std::count_if(report.presets.begin(), report.presets.end(),
                                                  [&](const refit::Refitted& preset) { return preset.fate == fate; }));
}

const compat::TargetCheck& now(const RefitReport& report, std::size_t preset) {
    return report.check.presets[preset].check.targets.front();
}

void append_fates(std::string& out, const RefitReport& report, const Style& style) {
    std::size_t values = 0;
    for (const refit::Refitted& preset : report.presets) {
        values += preset.fate == Fate::written && preset.parameters > 0 ? 1U : 0U;
    }
    const std::size_t written = count(report, Fate::written);
    if (written > 0) {
        append_wrapped(out,
                       presets(written) + " written anew: " + std::to_string(values) + " with other values, " +
                           std::to_string(written - values) + " with the stamp alone.",
                       style.width, 2, 4);
    }
    if (const std::size_t kept = count(report, Fate::kept); kept > 0) {
        append_wrapped(out,
                       presets(kept) + (kept == 1 ? " has" : " have") + " that release's stamp already: unchanged.",
                       style.width, 2, 4);
    }
    if (const std::size_t left = count(report, Fate::left); left > 0) {
        append_wrapped(out, presets(left) + " left as before.", style.width, 2, 4);
    }
}

void append_refit_table(std::string& out, const RefitReport& report) {
    constexpr std::array verdicts{Verdict::intact, Verdict::near, Verdict::altered, Verdict::undecided,
                                  Verdict::refused};
    append_line(out, "             before   now");
    for (const Verdict verdict : verdicts) {
        std::size_t before = 0;
        std::size_t after = 0;
        for (std::size_t i = 0; i < report.presets.size(); ++i) {
            before += report.presets[i].before == verdict ? 1U : 0U;
            after += now(report, i).verdict == verdict ? 1U : 0U;
        }
        if (before + after == 0) continue;
        append_line(out, "  " + left(compat::verdict_name(verdict), 10) + right(std::to_string(before), 7) +
                             right(std::to_string(after), 6));
    }
}

void append_left(std::string& out, const RefitReport& report, bool all, const Style& style) {
    std::size_t told = 0;
    const std::size_t number = count(report, Fate::left);
    for (std::size_t i = 0; i < report.presets.size(); ++i) {
        if (report.presets[i].fate != Fate::left) continue;
        if (!all && ++told > most_left) break;
        const PresetReport& preset = report.check.presets[i];
        append_wrapped(out,
                       "Left as before: " + slot_words(preset) + ' ' + quoted_name(preset.check.name) + ": " +
                           printable(report.presets[i].reason) + '.',
                       style.width, 0, 2);
    }
    if (!all && number > most_left)
        append_wrapped(out, "... and " + std::to_string(number - most_left) + " more; --detail tells all.", style.width,
                       0, 2);
}

/// The substitutes, and in how many presets each was put.
void append_uses(std::string& out, const RefitReport& report, const Style& style) {
    if (!report.substitutes.empty() && report.uses.empty())
        append_wrapped(out, "No substitute in " + printable(report.substitutes) + " is meant for that release.",
                       style.width, 2, 4);
    for (const SubstituteUse& use : report.uses) {
        const std::string what =
            printable(use.parameter) + ": " + quoted_name(use.instead) + " instead of " + quoted_name(use.lost) + ": ";
        append_wrapped(out, what + (use.presets > 0 ? presets(use.presets) : "not used") + '.', style.width, 2, 4);
    }
}

/// How the older copies were found.
void append_copies(std::string& out, const RefitReport& report, const Style& style) {
    if (report.older.empty()) return;
    std::string text;
    std::size_t without = 0;
    const auto tell = [&](refit::FoundBy found_by, const std::string& how) {
        std::size_t found = 0;
        for (const refit::Refitted& preset : report.presets) {
            found += preset.fate == Fate::written && preset.older_found_by == found_by ? 1U : 0U;
        }
        if (found_by == refit::FoundBy::nothing) {
            without = found;
        } else if (found > 0) {
            text += (text.empty() ? "" : ", ") + std::to_string(found) + ' ' + how;
        }
    };
    tell(refit::FoundBy::name, "found by name");
    tell(refit::FoundBy::slot, "by slot, as there is no name to compare");
    tell(refit::FoundBy::only, "as the only preset of its dump");
    tell(refit::FoundBy::nothing, "");
    text = "Older copies: " + (text.empty() ? std::string("none found") : text);
    if (without > 0) text += "; " + presets(without) + (without == 1 ? " has" : " have") + " none of that name";
    append_wrapped(out, text + '.', style.width, 2, 4);
    for (const std::string& file : report.without)
        append_wrapped(out, printable(file) + " holds no preset of this kind: nothing can come from there.",
                       style.width, 2, 4);
}

void append_notes(std::string& out, const RefitReport& report, const Style& style) {
    const auto tell = [&](refit::Note::Kind kind, const std::string& what) {
        std::size_t parameters = 0;
        std::size_t touched = 0;
        for (const refit::Refitted& preset : report.presets) {
            if (preset.fate != Fate::written) continue;
            const auto here = std::count_if(preset.notes.begin(), preset.notes.end(),
                                            [&](const refit::Note& note) { return note.kind == kind; });
            parameters += static_cast<std::size_t>(here);
            touched += here > 0 ? 1U : 0U;
        }
        if (parameters == 0) return;
        append_wrapped(out, counted(parameters, "parameter", "parameters") + " of " + presets(touched) + ' ' + what,
                       style.width, 2, 4);
    };
    tell(refit::Note::Kind::substituted, "put by your substitutes, " + printable(report.substitutes) + '.');
    append_uses(out, report, style);
    std::string files;
    for (const std::string& file : report.older) files += (files.empty() ? "" : ", ") + printable(file);
    tell(refit::Note::Kind::filled, "filled from the older copies in " + files + '.');
    append_copies(out, report, style);
    tell(refit::Note::Kind::withheld, "left as stored: with what was meant, more would change there.");
}

/// The command that shows everything about the worst preset; empty for none.
std::string next_command(const RefitReport& report) {
    const CheckReport& check = report.check;
    if (check.presets.empty() || report.out.empty()) return {};
    const std::size_t worst = preset_order(check).front();
    const PresetReport& preset = check.presets[worst];
    const Standing standing = standing_of(preset.check, preset.check.targets.front());
    if (standing == Standing::damaged) return "read this dump out of the unit once more; it did not arrive whole.";
    if (standing == Standing::intact) return "keep the original, then load " + printable(report.out) + '.';
    // Another file changes nothing about that: which releases take it is the question.
    if (standing == Standing::refused)
        return printable("downfit check " + shell_word(report.source) + " --on all" + check.again);
    const std::string slot = preset.check.slot >= 0 ? " --slot " + std::to_string(preset.check.slot) : std::string();
    const std::string rest = slot + check.again + " --detail";
    // As it was: the release itself is asked. What was written arrives as it is: what differs is seen beside the old.
    if (report.presets[worst].fate != Fate::written)
        return printable("downfit check " + shell_word(report.out) + " --on " +
                         shell_word(check.release(check.targets.front()).name) + rest);
    if (!check.saved_on.empty()) return {};  // one release was named for all that carry no stamp
    return printable("downfit compare " + shell_word(report.source) + ' ' + shell_word(report.out) + rest);
}

/// Other releases that stamp as the target does: whoever reads the new file cannot tell which one it was made for.
void append_shared_stamp(std::string& out, const RefitReport& report, const Style& style) {
    const schema::Device& device = *report.check.device;
    const std::size_t target = report.check.targets.front();
    if (device.releases[target].stamps.empty()) return;
    std::string others;
    for (const std::size_t release : device.releases_with(device.releases[target].stamps.front())) {
        if (release != target) others += (others.empty() ? "" : ", ") + printable(device.releases[release].name);
    }
    if (others.empty()) return;
    const std::string name = printable(device.releases[target].name);
    append_wrapped(out,
                   "Its stamp is that of " + others +
                       " too: check and compare take the worst of these, unless --saved-on " + name + " says which.",
                   style.width, 0, 2);
}

}  // namespace

std::string refit_text(const RefitReport& report, Extent extent, const Style& style) {
    std::string out;
    const std::string release =
        report.check.device->title + " release " + report.check.release(report.check.targets.front()).name;
    const std::string head = report.out.empty() ? "No file was written: no preset of " + printable(report.source) +
                                                      " can be refitted for " + printable(release) + '.'
                                                : printable(report.out) + ": " + presets(report.presets.size()) +
                                                      " of " + printable(report.source) + " for " + printable(release) +
                                                      ", written and read back.";
    append_wrapped(out, head, style.width, 0, 2);
    append_fates(out, report, style);
    append_notes(out, report, style);
    if (!report.out.empty()) append_refit_table(out, report);
    append_left(out, report, extent == Extent::details, style);
    if (report.out.empty()) return out;
    append_shared_stamp(out, report, style);
    append_wrapped(out,
                   "Before you send it: keep the original, it is the only whole copy. Follow the maker's instructions. "
                   "Levels are computed, not heard: MONITORS DOWN before the first note.",
                   style.width, 0, 2);
    out += '\n';
    append_wrapped(out, "What still differs from the original:", style.width, 0, 2);
    out += check_text(report.check, extent, style, next_command(report));
    return out;
}

}  // namespace downfit::report
