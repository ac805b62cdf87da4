#include "report/sarif_rules.h"

#include <array>
#include <vector>

#include "report/about.h"
#include "report/escape.h"

namespace downfit::report {

namespace {

/// What concerns a preset as a whole, or carries a caution.
struct Other {
    std::string_view id, title, level, advice;
};

constexpr std::array<Other, 6> other_rules{{
    {"refused", "The preset will not load", "error",
     "Keep it on the release that saved it, or restore an older copy of it."},
    {"undecided", "What becomes of the preset cannot be decided", "warning",
     "State the loading rules that are asked for, give the missing schema file or dump, or read the preset out again."},
    {"damaged", "The preset is damaged in the file", "error", "Read it out of the unit once more."},
    {"louder", "May come out 6 dB or more above what was saved", "error", "Monitors down before the first note."},
    {"feedback", "A feedback reaches unity", "error", "Monitors down before the first note."},
    {"level-unknown", "Nobody can say how loud it is", "warning", "Monitors down before the first note."},
}};

/// The ids in the order of the rules.
const std::vector<std::string_view>& ids() {
    static const std::vector<std::string_view> all = [] {
        std::vector<std::string_view> made;
        for (const compat::OutcomeRow& row : compat::outcome_table()) {
            if (row.outcome != compat::Outcome::kept) made.push_back(row.name);
        }
        for (const Other& other : other_rules) made.push_back(other.id);
        return made;
    }();
    return all;
}

Json text_json(std::string_view text) {
    return Json{{"text", sarif_text(text)}};
}

Json rule_json(std::string_view id, std::string_view title, const std::string& full, const std::string& help,
               std::string_view level) {
    Json json;
    json["id"] = id;
    json["name"] = id;
    json["shortDescription"] = text_json(title);
    json["fullDescription"] = text_json(full);
    json["help"] = text_json(help);
    json["defaultConfiguration"] = Json{{"level", level}};
    return json;
}

Json outcome_json(const compat::OutcomeRow& row) {
    const std::string help =
        std::string(row.help) + "\nExample: " + std::string(row.example) + "\nWhat to do: " + std::string(row.advice);
    Json json = rule_json(row.name, row.title, std::string(row.help), help, "warning");
    json["properties"] = Json{{"silent", row.silent}};
    if (row.silent) json["properties"]["tags"] = Json::array({"silent"});
    return json;
}

/// The line of `downfit about` on a word.
std::string about(std::string_view word) {
    constexpr std::size_t one_line = 10'000;
    std::string text = about_word(word, {one_line, false}).value_or(std::string(word));
    const std::size_t first = text.find('\n');
    if (first == std::string::npos) return text;
    const std::size_t start = text.find_first_not_of(' ', first + 1);
    return text.substr(start, text.find('\n', start) - start);
}

}  // namespace

Json sarif_rules() {
    Json rules = Json::array();
    for (const compat::OutcomeRow& row : compat::outcome_table()) {
        if (row.outcome != compat::Outcome::kept) rules.push_back(outcome_json(row));
    }
    for (const Other& other : other_rules) {
        const std::string full = about(other.id);
        rules.push_back(
            rule_json(other.id, other.title, full, full + "\nWhat to do: " + std::string(other.advice), other.level));
    }
    return rules;
}

std::size_t sarif_rule(std::string_view id) {
    for (std::size_t i = 0; i < ids().size(); ++i) {
        if (ids()[i] == id) return i;
    }
    return ids().size();
}

std::string_view sarif_level(compat::Weight weight) {
    constexpr std::array<std::string_view, 4> levels{"none", "note", "warning", "error"};
    return levels[static_cast<std::size_t>(weight)];
}

std::string sarif_text(std::string_view text) {
    std::string safe;
    for (std::size_t start = 0; start <= text.size();) {
        const std::size_t end = std::min(text.find('\n', start), text.size());
        const std::string shown = printable(text.substr(start, end - start));
        if (start > 0) safe += '\n';
        for (std::size_t i = 0; i < shown.size(); ++i) {
            if (shown[i] == '{' || shown[i] == '}') safe += shown[i];
            if (shown[i] == ']' && i + 1 < shown.size() && shown[i + 1] == '(') safe += '\\';
            safe += shown[i];
        }
        start = end + 1;
    }
    return safe;
}

}  // namespace downfit::report
