#include "report/about.h"

#include <algorithm>
#include <array>

#include "compat/outcome.h"

namespace downfit::report {

namespace {

struct Word {
    std::string_view name, text;
};

constexpr std::array<Word, 4> weights{{
    {"none",
     "Weight: a difference that is not above the just noticeable one, or in a block that nothing can bring in."},
    {"slight", "Weight: above the just noticeable difference, up to three times; most listeners miss it in a mix."},
    {"audible", "Weight: more than that, or a switch or choice that differs, in something that sounds."},
    {"severe",
     "Weight: another model, a lost model or impulse response, a level 6 dB or more above, feedback at unity."},
}};
constexpr std::array<Word, 3> activities{{
    {"sounding", "Activity: on in the scene that the preset starts in."},
    {"standby", "Activity: off, but a scene, a switch, a pedal or a message may bring it in."},
    {"dormant", "Activity: nothing can bring it in, so nothing in it is heard."},
}};
constexpr std::array<Word, 4> states{{
    {"filled", "Slot: holds a preset."},
    {"empty", "Slot: is in the dump and holds nothing."},
    {"absent", "Slot: is not in this dump; the unit may well hold a preset there."},
    {"damaged", "Slot: is in the dump, but a check fails or a part is missing. Read it out of the unit once more."},
}};
constexpr std::array<Word, 3> cautions{{
    {"louder", "Caution: a level may come out 6 dB or more above what was saved. Monitors down before the first note."},
    {"feedback", "Caution: a feedback reaches unity and may grow without end. Monitors down before the first note."},
    {"level unknown",
     "Caution: something sounding is another thing than was saved, or a cabinet or limiter is gone; nobody can "
     "say how loud that is. Monitors down before the first note."},
}};
constexpr std::array<compat::Verdict, compat::verdict_count> verdicts{
    compat::Verdict::intact, compat::Verdict::near, compat::Verdict::altered, compat::Verdict::refused,
    compat::Verdict::undecided};

std::string verdict_text(compat::Verdict verdict) {
    std::string text = "Verdict: " + std::string(compat::verdict_help(verdict)) + '.';
    if (verdict == compat::Verdict::intact) text += " It never promises that two releases sound alike.";
    return text;
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
    append_wrapped(lines, text, style.width, 18, 18);
    out += "  " + left(name, 14) + "  " + lines.substr(18);
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
    for (const compat::Verdict verdict : verdicts) words.push_back(compat::verdict_name(verdict));
    const auto add = [&](const auto& rows) {
        for (const Word& row : rows) words.push_back(row.name);
    };
    add(weights);
    add(activities);
    add(states);
    add(cautions);
    return words;
}

std::optional<std::string> about_word(std::string_view word, const Style& style) {
    std::string out;
    if (const auto outcome = compat::find_outcome(word)) append_outcome(out, compat::row_of(*outcome), style);
    for (const compat::Verdict verdict : verdicts) {
        if (compat::verdict_name(verdict) == word) append_word(out, word, verdict_text(verdict), style);
    }
    const auto tell = [&](const Word& row) { append_word(out, row.name, row.text, style); };
    each_named(weights, word, tell);
    each_named(activities, word, tell);
    each_named(states, word, tell);
    each_named(cautions, word, tell);
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
    for (const compat::Verdict verdict : verdicts)
        append_row(out, compat::verdict_name(verdict), compat::verdict_help(verdict), style);
    out += '\n' + paint("Other words", Tone::strong, style) + '\n';
    const auto add = [&](const auto& rows) {
        for (const Word& row : rows) append_row(out, row.name, row.text, style);
    };
    add(weights);
    add(activities);
    add(states);
    add(cautions);
    out += "\ndownfit about WORD says more.\n";
    return out;
}

}  // namespace downfit::report
