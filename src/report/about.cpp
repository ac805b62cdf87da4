#include "report/about.h"

#include <algorithm>
#include <array>

#include "compat/outcome.h"
#include "schema/rules.h"

namespace downfit::report {

namespace {

constexpr std::size_t row_indent = 21;

struct Word {
    std::string_view name, text;
};

constexpr std::array<Word, 5> weights{{
    {"weight", "How much of a difference anyone would hear, if at all: none, slight, audible, severe."},
    {"none",
     "Weight: a difference that is not above the just noticeable one, or in a block that nothing can bring in."},
    {"slight",
     "Weight: above the just noticeable difference, up to three times; most listeners miss it in a mix. Anything "
     "larger counts as slight too where it is on standby: switched off, with nothing known that brings it in."},
    {"audible", "Weight: more than that, or a switch or choice that differs, in something that sounds."},
    {"severe",
     "Weight: another model, a lost model or impulse response, a level 6 dB or more above, feedback at unity."},
}};
constexpr std::array<Word, 4> activities{{
    {"activity", "Whether a parameter's block can be heard: sounding, standby, dormant. The higher of both releases."},
    {"sounding", "Activity: on in the scene that the preset starts in."},
    {"standby",
     "Activity: off, but a scene, a switch, a pedal or a message may bring it in. A difference in it counts in full "
     "where the preset itself assigns what brings it in; elsewhere an audible or severe one counts as slight."},
    {"dormant", "Activity: nothing can bring it in, so nothing in it is heard."},
}};
constexpr std::array<Word, 4> states{{
    {"filled", "Slot: holds a preset."},
    {"empty", "Slot: is in the dump and holds nothing."},
    {"absent", "Slot: is not in this dump; the unit may well hold a preset there."},
    {"damaged", "Slot: is in the dump, but a check fails or a part is missing. Read it out of the unit once more."},
}};
constexpr std::array<Word, 5> caution_rows{{
    {"caution", "Something may come out too loud: louder, feedback, level unknown. No filter hides one."},
    {"monitors down",
     "A preset carries a caution: it may come out louder than it was saved, at any level, or feed back. Turn the "
     "monitors down before its first note."},
    {"louder", "Caution: a level may come out 6 dB or more above what was saved. Monitors down before the first note."},
    {"feedback", "Caution: a feedback reaches unity and may grow without end. Monitors down before the first note."},
    {"level unknown",
     "Caution: something that sounds, or can be brought in, is another thing than was saved, or a cabinet or limiter "
     "is gone; nobody can say how loud that is. Monitors down before the first note."},
}};
constexpr std::array<Word, 15> report_words{{
    {"outcome", "What happens to one parameter on loading; the first list of \"downfit about\"."},
    {"verdict", "What happens to a whole preset on loading: intact, near, altered, refused, undecided."},
    {"safe", "A preset that is intact or near on the release asked for."},
    {"safe from", "The oldest release from which on every one keeps the preset safe, without a gap."},
    {"silent", "The unit shows nothing wrong: the difference is only heard."},
    {"stored", "The number as it stands in the dump, before the release's scale or choices say what it means."},
    {"there", "On the release that loads the preset."},
    {"not stored", "The dump holds nothing for this parameter: its value is the release's own."},
    {"right from", "The first release on which this value loads as it was meant."},
    {"doubt", "A stored number without meaning on the release that saved it: the dump or the schema is not right."},
    {"risk", "What may go wrong beyond single parameters: records that are skipped, too many blocks at once."},
    {"repaired", "The release changes bytes of the preset while it loads, as its schema file says."},
    {"stamp", "The release that a preset says it was last saved on: a claim, not a proof."},
    {"not whole", "A file of which a message is missing, damaged or unexpected. What could be read is judged."},
    {"unexplained bytes", "Bytes of a preset that no parameter of its release covers. What they mean is not checked."},
}};
constexpr std::array<compat::Verdict, compat::verdict_count> told_verdicts{
    compat::Verdict::intact, compat::Verdict::near, compat::Verdict::altered, compat::Verdict::refused,
    compat::Verdict::undecided};

std::string verdict_text(compat::Verdict verdict) {
    std::string text = "Verdict: " + std::string(compat::verdict_help(verdict)) + '.';
    if (verdict == compat::Verdict::intact) text += " It never promises that two releases sound alike.";
    return text;
}

std::string actions_of(const schema::RuleRow& row) {
    std::string text;
    for (std::size_t i = 0; i < row.action_count; ++i) {
        text += (i > 0 ? ", " : "") + std::string(schema::action_name(row.actions[i]));
    }
    return text;
}

std::string rule_text(const schema::RuleRow& row) {
    return "Loading rule: " + actions_of(row) +
           ". Where no schema file states it, every possibility is tried, and best and worst are told.";
}

/// A word typed by hand: hyphens and spaces are the same.
std::string plain(std::string_view word) {
    std::string text(word);
    std::replace(text.begin(), text.end(), '-', ' ');
    return text;
}

void append_outcome(std::string& out, const compat::OutcomeRow& row, const Style& style) {
    out += paint(row.name, Tone::strong, style) + '\n';
    append_wrapped(
        out, "Outcome: " + std::string(row.title) + (row.silent ? ". Silent: the unit shows nothing wrong." : "."),
        style.width, 2, 2);
    append_wrapped(out, row.help, style.width, 2, 2);
    append_wrapped(out, "Example: " + std::string(row.example), style.width, 2, 4);
    append_wrapped(out, "What to do: " + std::string(row.advice), style.width, 2, 4);
}

void append_word(std::string& out, std::string_view name, std::string_view text, const Style& style) {
    out += paint(name, Tone::strong, style) + '\n';
    append_wrapped(out, text, style.width, 2, 2);
}

void append_row(std::string& out, std::string_view name, std::string_view text, const Style& style) {
    std::string lines;
    append_wrapped(lines, text, style.width, row_indent, row_indent);
    out += "  " + left(name, row_indent - 4) + "  " + lines.substr(row_indent);
}

template <class Words, class Visit>
void each_named(const Words& words, std::string_view word, const Visit& visit) {
    for (const Word& one : words) {
        if (plain(one.name) == plain(word)) visit(one);
    }
}

}  // namespace

std::vector<std::string_view> about_words() {
    std::vector<std::string_view> words;
    for (const compat::OutcomeRow& row : compat::outcome_table()) words.push_back(row.name);
    for (const compat::Verdict verdict : told_verdicts) words.push_back(compat::verdict_name(verdict));
    const auto add = [&](const auto& rows) {
        for (const Word& row : rows) words.push_back(row.name);
    };
    add(weights);
    add(activities);
    add(states);
    add(caution_rows);
    add(report_words);
    for (const schema::RuleRow& row : schema::rule_table) {
        if (!compat::find_outcome(row.name)) words.push_back(row.name);
    }
    return words;
}

std::optional<std::string> about_word(std::string_view word, const Style& style) {
    std::string out;
    if (const auto outcome = compat::find_outcome(word)) append_outcome(out, compat::row_of(*outcome), style);
    for (const compat::Verdict verdict : told_verdicts) {
        if (compat::verdict_name(verdict) == word) append_word(out, word, verdict_text(verdict), style);
    }
    const auto tell = [&](const Word& row) { append_word(out, row.name, row.text, style); };
    each_named(weights, word, tell);
    each_named(activities, word, tell);
    each_named(states, word, tell);
    each_named(caution_rows, word, tell);
    each_named(report_words, word, tell);
    for (const schema::RuleRow& row : schema::rule_table) {
        if (plain(row.name) == plain(word)) append_word(out, row.name, rule_text(row), style);
    }
    if (out.empty()) return std::nullopt;
    return out;
}

std::string about_all(const Style& style) {
    std::string out = paint("What may happen to a parameter (outcomes)", Tone::strong, style) + '\n';
    for (const compat::OutcomeRow& row : compat::outcome_table()) {
        append_row(out, row.name,
                   std::string(row.title) + (row.silent ? " (silent: the unit shows nothing wrong)" : ""), style);
    }
    out += '\n' + paint("What may happen to a preset (verdicts)", Tone::strong, style) + '\n';
    for (const compat::Verdict verdict : told_verdicts)
        append_row(out, compat::verdict_name(verdict), compat::verdict_help(verdict), style);
    out += '\n' + paint("Other words", Tone::strong, style) + '\n';
    const auto add = [&](const auto& rows) {
        for (const Word& row : rows) append_row(out, row.name, row.text, style);
    };
    add(weights);
    add(activities);
    add(states);
    add(caution_rows);
    add(report_words);
    out += '\n' + paint("Loading rules that schema files state", Tone::strong, style) + '\n';
    for (const schema::RuleRow& row : schema::rule_table) append_row(out, row.name, actions_of(row), style);
    out += "\ndownfit about WORD says more.\n";
    return out;
}

}  // namespace downfit::report
