#include "compat/outcome.h"

namespace downfit::compat {
namespace {

constexpr std::array<OutcomeRow, outcome_count> table{{
    {Outcome::kept, "kept", false, "arrives with the same value",
     "The other release reads the value that the preset was saved with.", "Drive 6.5 is still 6.5.", "Nothing to do."},
    {Outcome::rounded, "rounded", false, "lands on the nearest step of a coarser grid",
     "The other release knows the parameter in coarser steps and moves the value to the nearest one.",
     "Mix 33 % becomes 35 % where only steps of 5 % exist.", "Usually inaudible; listen where it is told as audible."},
    {Outcome::clamped, "clamped", false, "held at the end of a narrower range",
     "The value lies beyond what the other release allows and is held at the nearest end.",
     "A 2400 ms delay becomes 2000 ms.",
     "Set the value within the older range before going back, or refit the preset."},
    {Outcome::reset, "reset", false, "set to the other release's default",
     "The other release does not take the value and puts its own default.", "An unknown delay mode becomes Digital.",
     "Note the value; set it by hand afterwards to what comes nearest."},
    {Outcome::lost, "lost", false, "has nowhere to go", "The other release has no such parameter.",
     "The newer Bite control of an amp does not exist on the older release.",
     "Choose settings that do without it, or stay on a release that has it."},
    {Outcome::swapped, "swapped", true, "the same number names something else",
     "The stored number is valid on both releases but names a different choice, or a slot with other content.",
     "Number 14 is Crown 30 on one release and Crown 15 on the other.",
     "Check the model by name after loading; a refitted dump carries the right number."},
    {Outcome::rescaled, "rescaled", true, "the same number is a different amount",
     "Range, taper or unit differ, so the stored number stands for another physical value.",
     "Stored 64 is 650 Hz on one release and 1.2 kHz on the other.",
     "Set the value by ear or by its display, not by its number."},
    {Outcome::displaced, "displaced", true, "read from where something else was stored",
     "The other release reads this parameter from bytes in which the preset keeps something else.",
     "The older release takes the new Bite value for the reverb's decay.",
     "Do not load this preset there as it is; refit it, or restore an older copy."},
    {Outcome::woken, "woken", true, "off before, on now", "A block that was off comes up switched on.",
     "A bypassed pitch block is on after loading.", "Turn monitors down and switch the block off after loading."},
    {Outcome::out_of_range, "out-of-range", true, "kept beyond what the engine plays",
     "The other release keeps a number that its engine was never made to play. What it does is undefined.",
     "A gain of 14 on an engine that ends at 10.", "Monitors down; set the value within range before going back."},
    {Outcome::unfilled, "unfilled", true, "points at an empty slot",
     "The preset leans on a slot (an impulse response, a shared block) that is empty or does not exist there.",
     "The cabinet points at impulse response 97 on a release with 64 slots.",
     "Restore the impulse responses too, or point the preset at one that exists."},
    {Outcome::revoiced, "revoiced", true, "the same model sounds different",
     "Model and values arrive, but the maker changed how the model sounds between the two releases.",
     "Tide Clean got more treble in 2.10.", "Compare by ear at rehearsal level before the show."},
    {Outcome::cut, "cut", false, "text shortened or changed",
     "The other release stores fewer characters, or cannot show some of them.",
     "\"Ferry Crossing Chorus\" becomes \"Ferry Crossing C\".", "Rename if two presets would look alike."},
    {Outcome::added, "added", false, "exists only on the other release",
     "The preset says nothing about this parameter; the other release puts what it finds there or its default.",
     "The newer release adds Low Cut at its neutral end.", "Nothing to do where it weighs none."},
    {Outcome::unsure, "unsure", false, "cannot be decided",
     "The schema, or the set of dumps, does not say enough. Best and worst case are told.",
     "Nobody wrote down what the older release does with an unknown reverb type.",
     "State the missing loading rule, or try that one preset on a spare unit."},
}};

constexpr bool in_order() {
    for (std::size_t i = 0; i < table.size(); ++i) {
        if (static_cast<std::size_t>(table[i].outcome) != i) return false;
        for (std::size_t j = 0; j < i; ++j) {
            if (table[i].name == table[j].name) return false;
        }
    }
    return true;
}
static_assert(in_order(), "one row for each outcome, in the order of the enum, names unique");

constexpr std::array<std::string_view, 4> weights{"none", "slight", "audible", "severe"};
constexpr std::array<std::string_view, 4> activities{"dormant", "standby", "standby", "sounding"};
constexpr std::array<std::string_view, verdict_count> verdicts{"intact", "near", "altered", "undecided", "refused"};
constexpr std::array<std::string_view, verdict_count> verdict_texts{
    "every setting arrives, or what does not makes no difference",
    "only slight differences",
    "something audible changes",
    "cannot be decided: no schema, damaged data, or rules nobody stated",
    "will not load there",
};
constexpr std::array<std::string_view, 3> caution_words{"louder", "feedback", "level unknown"};

}  // namespace

const std::array<OutcomeRow, outcome_count>& outcome_table() {
    return table;
}

const OutcomeRow& row_of(Outcome outcome) {
    return table[static_cast<std::size_t>(outcome)];
}

std::optional<Outcome> find_outcome(std::string_view name) {
    for (const OutcomeRow& row : table) {
        if (row.name == name) return row.outcome;
    }
    return std::nullopt;
}

std::string_view weight_name(Weight weight) {
    return weights[static_cast<std::size_t>(weight)];
}

std::optional<Weight> find_weight(std::string_view name) {
    for (std::size_t i = 0; i < weights.size(); ++i) {
        if (weights[i] == name) return static_cast<Weight>(i);
    }
    return std::nullopt;
}

std::string_view activity_name(Activity activity) {
    return activities[static_cast<std::size_t>(activity)];
}

std::string_view verdict_name(Verdict verdict) {
    return verdicts[static_cast<std::size_t>(verdict)];
}

std::string_view verdict_help(Verdict verdict) {
    return verdict_texts[static_cast<std::size_t>(verdict)];
}

std::string_view caution_name(CautionKind kind) {
    return caution_words[static_cast<std::size_t>(kind)];
}

}  // namespace downfit::compat
