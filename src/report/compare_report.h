// Two dumps held against each other, as text and as JSON. Whoever calls gathers what is told; reports only show it.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "compat/compare.h"
#include "report/check_report.h"
#include "report/layout.h"

namespace downfit::report {

/// One side: its files, in the order of DumpSet::parts, and how many presets it holds.
struct CompareSide {
    std::vector<InputFile> files;
    std::size_t presets = 0;  ///< filled ones
};

/// Everything that a report on `compare` tells.
struct CompareReport {
    const schema::Device* device = nullptr;  ///< must outlive it
    std::string version;                     ///< of the program
    CompareSide a, b;
    compat::ReadBack read_back = compat::ReadBack::none;
    std::optional<std::size_t> release;  ///< of the unit, with ReadBack::loaded
    bool match_asked = false;            ///< how presets are matched was asked for
    bool exact = false;
    std::string saved_on, variant;  ///< as asked, may be empty
    std::string slots, name;        ///< filters as asked, may be empty
    schema::Policy policy;
    bool settings_given = false;  ///< a dump holds unit settings or assets, which are not compared
    compat::Comparison comparison;

    [[nodiscard]] const CompareSide& side(bool second) const { return second ? b : a; }
    [[nodiscard]] bool loaded() const { return read_back == compat::ReadBack::loaded; }
};

/// How much of a text report.
enum class CompareExtent { summary, usual, all };

[[nodiscard]] std::string compare_text(const CompareReport& report, CompareExtent extent, const Style& style);

inline constexpr std::string_view compare_format = "downfit compare 1";
[[nodiscard]] std::string compare_json(const CompareReport& report);

/// Where a rule is to be written, and what, so that it says what the unit has shown.
struct RuleRemedy {
    std::string file;                 ///< of the schema
    std::optional<std::size_t> line;  ///< of what is there now; nothing: it is to be added
    std::string write;                ///< `"unknown-choice": "clamp"`, `"parameters": {"mode": {"rules": {…}}}`
    std::string why;                  ///< "it is stated there", "others show the general rule right", …
};

/// Nothing where no single possibility explains what the unit shows.
[[nodiscard]] std::optional<RuleRemedy> remedy_of(const CompareReport& report, const compat::RuleFault& fault);

/// Of a value that no rule explains: what in its description is the first to look at: "range", "default", "step",
/// "storage", "accepts".
[[nodiscard]] std::string_view suspect_of(const compat::ValueFault& fault);

/// The word for how two sides differ: "value", "only-in-a", "only-in-b", "revoiced", "unsure".
[[nodiscard]] std::string_view difference_word(compat::Outcome outcome);

}  // namespace downfit::report
