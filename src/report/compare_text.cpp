#include <algorithm>
#include <numeric>

#include "report/compare_report.h"
#include "report/escape.h"
#include "report/problems.h"
#include "report/standing.h"
#include "report/table.h"
#include "report/words.h"

namespace downfit::report {

namespace {

using compat::Alike;
using compat::ComparedPair;
using compat::Finding;
using compat::ReadBack;
using compat::TargetCheck;
using compat::Weight;

constexpr std::size_t few_findings = 8;
constexpr std::size_t few_examples = 3;
constexpr std::size_t number_columns = 6;
constexpr std::size_t weight_columns = 9;

std::string value_in(const std::optional<compat::Shown>& side) {
    return side ? brief(side->value) : "nothing";
}

/// "12 dB in A, 10 dB in B"; of a prediction "predicted 12 dB, the unit shows 10 dB".
std::string difference(const Finding& finding, bool predicted) {
    const std::string a = value_in(finding.saved);
    const std::string b = value_in(finding.loaded);
    switch (finding.outcome) {
        case compat::Outcome::lost:
            return predicted ? "predicted " + a + ", the unit shows none" : a + " in A, does not exist in B";
        case compat::Outcome::added:
            return predicted ? "predicted not to exist, the unit shows " + b : b + " in B, does not exist in A";
        case compat::Outcome::unfilled: return a + " in both, a slot that the release of B does not have";
        case compat::Outcome::revoiced: return a + " in both, which the maker has changed between the two releases";
        case compat::Outcome::unsure:
            return "cannot be decided (" + a + (predicted ? " predicted, " : " in A, ") + b +
                   (predicted ? " shown)" : " in B)");
        default: break;
    }
    return predicted ? "predicted " + a + ", the unit shows " + b : a + " in A, " + b + " in B";
}

std::string compared_preset_words(const compat::PresetIn& preset) {
    const std::string where =
        preset.slot >= 0 ? "slot " + std::to_string(preset.slot) : "entry #" + std::to_string(preset.entry + 1);
    return where + ' ' + quoted_name(preset.name);
}

/// "Slot 33 "Rope Lead"", with what it is called in B where that is another.
std::string pair_words(const ComparedPair& pair) {
    const compat::PresetIn& one = pair.first ? *pair.first : *pair.second;
    std::string text = compared_preset_words(one);
    if (pair.first && pair.second && pair.second->state == dump::SlotState::filled &&
        (pair.first->slot != pair.second->slot || pair.first->name != pair.second->name))
        text += " against " + compared_preset_words(*pair.second) + " of B";
    text.front() = static_cast<char>(text.front() - 'a' + 'A');
    return text;
}

std::string files_words(const CompareSide& side) {
    if (side.files.size() != 1) return counted(side.files.size(), "file", "files");
    return printable(side.files.front().file);
}

std::string release_words(const CompareReport& report) {
    return report.release ? brief(report.device->releases[*report.release].name) : std::string("the unit");
}

/// Builds the text piece by piece.
class CompareWriter {
public:
    CompareWriter(const CompareReport& report, CompareExtent extent, const Style& style)
        : report_(report), comparison_(report.comparison), extent_(extent), style_(style) {}

    std::string write() && {
        write_heading();
        write_counts();
        write_rules();
        if (extent_ != CompareExtent::summary) write_pairs();
        write_notes();
        return std::move(out_);
    }

private:
    void line(const std::string& text, std::size_t indent = 0) {
        append_wrapped(out_, text, style_.width, indent, indent + 2);
    }

    void write_heading() {
        const std::string device = brief(report_.device->title);
        line(paint("A: " + presets(report_.a.presets) + " of " + device + ", " + files_words(report_.a), Tone::strong,
                   style_));
        std::string b = "B: " + presets(report_.b.presets) + ", " + files_words(report_.b);
        if (report_.read_back == ReadBack::stored) b += ", read back out of a unit's memory";
        if (report_.loaded()) b += ", read back from " + release_words(report_) + " after each preset was called up";
        line(paint(b, Tone::strong, style_));
        line(matched_words());
        out_ += '\n';
    }

    [[nodiscard]] std::string matched_words() const {
        std::string text;
        switch (comparison_.by) {
            case compat::MatchBy::slot:
                text = report_.match_asked ? "Matched by slot." : "Matched by slot: both number all their slots.";
                break;
            case compat::MatchBy::file_and_slot:
                text = "Matched by file and slot: the same slot stands in several files.";
                break;
            case compat::MatchBy::name:
                text = report_.match_asked ? "Matched by name." : "Matched by name: not all slots are numbered.";
                break;
            case compat::MatchBy::alone: text = "One preset in each: these two are compared."; break;
        }
        if (comparison_.by != compat::MatchBy::name && comparison_.other_names > 0) {
            text += ' ' + presets(comparison_.other_names) +
                    (comparison_.other_names == 1 ? " has another name there" : " have other names there") +
                    "; --match name pairs by name.";
        }
        if (comparison_.shared_names > 0) {
            text += ' ' + counted(comparison_.shared_names, "name stands", "names stand") +
                    " for several presets: of these the slot or the order decided.";
        }
        return text;
    }

    void count_line(std::size_t number, const std::string& words, Tone tone) {
        if (number == 0) return;
        line(paint(right(std::to_string(number), number_columns) + ' ' + words, tone, style_));
    }

    template <class Is>
    [[nodiscard]] std::size_t count_if(const Is& is) const {
        return static_cast<std::size_t>(std::count_if(comparison_.pairs.begin(), comparison_.pairs.end(), is));
    }

    void write_counts() {
        const bool loaded = report_.loaded();
        const std::size_t same = comparison_.count(Alike::same);
        const std::size_t bytes =
            count_if([](const ComparedPair& pair) { return pair.alike == Alike::same && pair.likeness.same_bytes; });
        std::string words = loaded ? "as predicted" : "the same sound";
        if (!loaded && bytes > 0)
            words += bytes == same ? ", byte for byte" : ", " + std::to_string(bytes) + " of them byte for byte";
        count_line(same, words, Tone::good);
        count_line(comparison_.count(Alike::near),
                   loaded ? "as predicted, but for slight differences" : "the same but for slight differences",
                   Tone::mild);
        const std::size_t severe = count_if([](const ComparedPair& pair) {
            return pair.alike == Alike::otherwise && heaviest(pair.told()) == Weight::severe;
        });
        words = loaded ? "otherwise than predicted" : "audibly different";
        if (severe > 0) words += ", " + std::to_string(severe) + " of them severely";
        count_line(comparison_.count(Alike::otherwise), words, Tone::bad);
        write_only(Alike::only_first, "only in A", false);
        write_only(Alike::only_second, "only in B", true);
        count_line(comparison_.count(Alike::undecided), "cannot be decided", Tone::unknown);
        count_line(comparison_.count(Alike::damaged), "damaged in A or B: not compared", Tone::bad);
        const std::size_t louder = count_if(
            [](const ComparedPair& pair) { return pair.alike <= Alike::near && !pair.told().cautions.empty(); });
        if (louder > 0)
            line(paint("MONITORS DOWN before the first note: " + std::to_string(louder) +
                           " of those that differ may "
                           "come out louder in B, or at any level.",
                       Tone::caution, style_));
    }

    void write_only(Alike alike, const std::string& words, bool second) {
        std::vector<int> slots;
        std::size_t number = 0;
        for (const ComparedPair& pair : comparison_.pairs) {
            if (pair.alike != alike) continue;
            ++number;
            const compat::PresetIn& preset = second ? *pair.second : *pair.first;
            if (preset.slot >= 0) slots.push_back(preset.slot);
        }
        std::sort(slots.begin(), slots.end());
        slots.erase(std::unique(slots.begin(), slots.end()), slots.end());
        const std::string which = slots.empty() ? std::string() : ": slot " + ranges_text(slots);
        count_line(number, words + which, Tone::bad);
    }

    void write_rules() {
        for (const bool stated : {true, false}) {
            bool first = true;
            for (const compat::RuleFault& fault : comparison_.rule_faults) {
                if (fault.stated.has_value() != stated) continue;
                if (first) {
                    out_ += '\n';
                    const std::string release = release_words(report_);
                    line(paint(stated ? "Loading rules that " + release + " contradicts:"
                                      : "Loading rules that nobody states, and that " + release + " has shown:",
                               stated ? Tone::bad : Tone::strong, style_));
                }
                first = false;
                write_rule(fault);
            }
        }
        if (!comparison_.value_faults.empty()) {
            out_ += '\n';
            line(paint("Otherwise than predicted, and no loading rule explains it:", Tone::bad, style_));
            for (const compat::ValueFault& fault : comparison_.value_faults) write_value(fault);
        }
    }

    static std::string actions_words(const std::vector<schema::Action>& actions) {
        std::string text;
        for (const schema::Action action : actions) {
            text += (text.empty() ? "" : " or ") + std::string(schema::action_name(action));
        }
        return text.empty() ? "nothing that one possibility alone explains" : text;
    }

    void write_rule(const compat::RuleFault& fault) {
        const std::string name(schema::row_of(fault.rule).name);
        std::string text = name + ": ";
        if (fault.stated) text += "predicted " + std::string(schema::action_name(*fault.stated)) + ", ";
        text += "the unit shows " + actions_words(fault.fits);
        if (fault.stated) text += "; the release file's rule looks wrong";
        line(text, 2);
        std::string seen = counted(fault.values, "value", "values") + " in " + presets(fault.presets.size());
        if (!fault.parameters.empty()) {
            seen += " (";
            for (std::size_t i = 0; i < fault.parameters.size(); ++i)
                seen += (i == 0 ? "" : ", ") + brief(fault.parameters[i]);
            seen += ')';
        }
        if (fault.confirmed > 0)
            seen += "; " + counted(fault.confirmed, "other value shows", "other values show") + " the rule right";
        line(seen, 4);
        write_examples(fault.examples);
        if (fault.stated) {
            std::string place = "stated in " + place_text(fault.place);
            if (!fault.own_parameter.empty()) place += ", for " + brief(fault.own_parameter) + " itself";
            line(place, 4);
        }
        const auto remedy = remedy_of(report_, fault);
        if (!remedy) return;
        std::string write = "write " + brief(remedy->write);
        write += remedy->line ? " there" : " into " + printable(remedy->file) + ": " + remedy->why;
        line(write, 4);
        if (fault.fits.size() > 1)
            line("(or " + actions_words({fault.fits.begin() + 1, fault.fits.end()}) +
                     ": a preset for which they differ tells which)",
                 4);
    }

    void write_examples(const std::vector<compat::SeenIn>& examples) {
        for (std::size_t i = 0; i < std::min(examples.size(), few_examples); ++i) {
            const compat::SeenIn& example = examples[i];
            const ComparedPair& pair = comparison_.pairs[example.preset];
            std::string text = compared_preset_words(*pair.first) + ": ";
            if (!example.value.parameter.empty()) text += brief(example.value.parameter) + ' ';
            text += "predicted " + brief(example.value.predicted) + ", the unit shows " + brief(example.value.shown);
            line(text, 4);
        }
    }

    void write_value(const compat::ValueFault& fault) {
        const std::string what = fault.parameter.empty() ? std::string("whole presets") : brief(fault.parameter);
        line(what + ": " + counted(fault.values, "value", "values") + " in " + presets(fault.presets.size()), 2);
        write_examples(fault.examples);
        const std::string_view suspect = suspect_of(fault);
        std::string advice;
        if (fault.parameter.empty()) {
            advice = "see what " + release_words(report_) + " accepts";
        } else if (suspect == "storage") {
            advice = "nothing was predicted to happen to it: look at its place, scale and choices in " +
                     place_text(fault.place) + ", and whether it was moved after the preset was called up";
        } else {
            advice = "look at its " + std::string(suspect) + ", described in " + place_text(fault.place);
        }
        line(advice, 4);
    }

    [[nodiscard]] std::vector<std::size_t> order() const {
        std::vector<std::size_t> order(comparison_.pairs.size());
        std::iota(order.begin(), order.end(), std::size_t{0});
        std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
            const ComparedPair& left = comparison_.pairs[a];
            const ComparedPair& right = comparison_.pairs[b];
            if (left.alike != right.alike) return left.alike < right.alike;
            return heaviest(left.told()) > heaviest(right.told());
        });
        return order;
    }

    void write_pairs() {
        for (const std::size_t index : order()) {
            const ComparedPair& pair = comparison_.pairs[index];
            if (pair.alike == Alike::only_first || pair.alike == Alike::only_second) continue;
            if (pair.alike >= Alike::near && pair.alike != Alike::damaged && extent_ != CompareExtent::all) continue;
            if (pair.alike == Alike::same && pair.told().findings.empty()) continue;
            write_pair(pair);
        }
    }

    void write_pair(const ComparedPair& pair) {
        out_ += '\n';
        const TargetCheck& check = pair.told();
        std::string heading = pair_words(pair);
        if (pair.alike == Alike::damaged) heading += ": damaged in " + damaged_words(pair);
        if (!check.findings.empty())
            heading += ": " + std::to_string(check.findings.size()) + " of " +
                       counted(check.parameters, "parameter", "parameters") + ' ' +
                       (check.findings.size() == 1 ? "differs" : "differ");
        line(paint(heading, Tone::strong, style_));
        if (!check.reason.empty()) line(brief(check.reason), 2);
        for (const compat::Caution& caution : check.cautions) {
            line(paint("! monitors down: " + brief(caution.parameter) + ' ' + caution_words(caution), Tone::caution,
                       style_),
                 2);
        }
        const std::vector<std::size_t> findings = finding_order(check);
        const std::size_t most = extent_ == CompareExtent::all ? findings.size() : few_findings;
        for (std::size_t i = 0; i < std::min(findings.size(), most); ++i)
            write_finding(check, check.findings[findings[i]], pair.prediction.has_value());
        if (findings.size() > most) line("and " + std::to_string(findings.size() - most) + " more (--detail)", 2);
    }

    [[nodiscard]] std::string damaged_words(const ComparedPair& pair) const {
        const auto damaged = [](const std::optional<compat::PresetIn>& one) {
            return one && one->state == dump::SlotState::damaged;
        };
        if (damaged(pair.first) && damaged(pair.second)) return "both";
        return damaged(pair.first) ? "A" : "B";
    }

    void write_finding(const TargetCheck& check, const Finding& finding, bool predicted) {
        const std::string word(compat::weight_name(finding.weight));
        std::string text = brief(finding.parameter) + ": " + difference(finding, predicted);
        if (finding.cause) text += " (follows from " + brief(check.causes[*finding.cause].what) + ')';
        std::string lines;
        const std::size_t hang = 2 + weight_columns;
        append_wrapped(lines, text, style_.width, hang, hang + 2);
        out_ += "  " + paint(word, tone_of(finding.weight), style_) + std::string(weight_columns - word.size(), ' ') +
                lines.substr(hang);
        if (extent_ == CompareExtent::all) write_places(finding);
    }

    void write_places(const Finding& finding) {
        const auto place = [](const std::string& path, std::size_t line, const std::optional<std::size_t>& offset) {
            if (!path.empty()) return printable(path) + " in line " + std::to_string(line);
            return offset ? byte_text(*offset) : std::string();
        };
        const std::string a = place(finding.saved_path, finding.saved_line, finding.saved_offset);
        const std::string b = place(finding.loaded_path, finding.loaded_line, finding.loaded_offset);
        std::string text;
        if (!a.empty()) text += "A: " + a;
        if (!b.empty()) text += (text.empty() ? "B: " : "; B: ") + b;
        if (!text.empty()) line(text, 2 + weight_columns);
    }

    void write_notes() {
        std::string notes;
        const auto note = [&](const std::string& text) { append_wrapped(notes, text, style_.width, 0, 2); };
        const std::size_t unexplained = count_if(
            [](const ComparedPair& pair) { return pair.alike == Alike::same && pair.likeness.other_bytes > 0; });
        if (unexplained > 0 && !report_.loaded())
            note(presets(unexplained) + (unexplained == 1 ? " differs" : " differ") +
                 " in bytes that no parameter explains: what they do is not known.");
        for (const compat::NotInBoth& missing : comparison_.not_in_both) {
            std::string text = "Not compared, since one of the two ways to store presets has no place for ";
            text += missing.parameters.size() == 1 ? "it: " : "them: ";
            for (std::size_t i = 0; i < missing.parameters.size(); ++i)
                text += (i == 0 ? "" : ", ") + brief(missing.parameters[i]);
            note(text + '.');
        }
        if (report_.settings_given) note("Unit settings and assets are not compared.");
        for (const bool second : {false, true}) {
            for (const InputFile& file : report_.side(second).files) {
                for (const Problem& problem : file.problems)
                    note(printable(file.file) + ", " + problem_line(problem) + '.');
            }
        }
        if (report_.read_back == ReadBack::stored) {
            note(
                "A dump of stored memory proves only that the bytes arrived. That a unit loads them as predicted is "
                "proven by a dump of what plays once each preset was called up: --read-back loaded.");
        }
        if (report_.read_back == ReadBack::none)
            note(
                "The same sound means the same settings; no comparison of settings promises that two units sound "
                "alike.");
        if (!notes.empty()) out_ += '\n' + notes;
    }

    const CompareReport& report_;
    const compat::Comparison& comparison_;
    CompareExtent extent_;
    const Style& style_;
    std::string out_;
};

}  // namespace

std::string compare_text(const CompareReport& report, CompareExtent extent, const Style& style) {
    return CompareWriter(report, extent, style).write();
}

}  // namespace downfit::report
