// What a report on `changes` is made from. Whoever calls gathers it; reports only show it.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "report/layout.h"
#include "study/use.h"

namespace downfit::report {

/// A dump of --with.
struct UsedFile {
    std::string file;
    std::string digest;  ///< SHA-256, hex
};

/// Everything that a report on `changes` tells.
struct ChangesReport {
    const schema::Device* device = nullptr;  ///< must outlive it
    std::string version;                     ///< of the program
    std::size_t older = 0, newer = 0;        ///< orders of releases
    std::vector<study::Change> changes;
    std::vector<UsedFile> files;
    std::optional<study::Use> use;  ///< with dumps

    [[nodiscard]] const std::string& release(std::size_t order) const { return device->releases[order].name; }
};

/// One line of a report for people: changes that are told together, because they are the same but for their subject.
struct ChangeLine {
    std::vector<std::size_t> changes;  ///< indices into the report's
    std::string what;                  ///< "range of amp.voice, drive.voice and 8 more: 2 -> 4"
    std::string words;                 ///< what it does to presets this way
    std::string releases;              ///< "3.00 beta 2, 3.10"
    std::string presets;             ///< "37 of 412 presets change by it, 12 audibly; 375 unaffected"; empty: no dumps
    std::vector<std::string> notes;  ///< suggestions
};

/// All lines with one effect.
struct EffectLines {
    study::Effect effect = study::Effect::nothing;
    std::vector<ChangeLine> lines;
};

/// What a change is without what it does, this way round: "range of mod.alternate.rate: 0.05..20 Hz -> 0.05..12 Hz".
[[nodiscard]] std::string change_words(const study::Change& change, bool back);

/// The changes one way, worst first, those alike together. Not yet safe to show: texts from files are as written.
[[nodiscard]] std::vector<EffectLines> lines_of(const ChangesReport& report, bool back);

/// "124 presets of bank-a.syx: 100 intact, 2 with slight differences, ..."; empty without dumps.
[[nodiscard]] std::string use_words(const ChangesReport& report, bool back);

/// Presets that go neither way, a sentence for each sort.
[[nodiscard]] std::vector<std::string> apart_words(const ChangesReport& report);

/// Above what other_words gives.
inline constexpr std::string_view others_title =
    "from no change of the schemas: a limit of a variant, what the dumps lack, or a doubt about a dump";

/// What was not put down to any change, one text for each; empty without dumps.
[[nodiscard]] std::vector<std::string> other_words(const ChangesReport& report, bool back);

/// The three reports.
[[nodiscard]] std::string changes_text(const ChangesReport& report, const Style& style);
[[nodiscard]] std::string changes_markdown(const ChangesReport& report);
[[nodiscard]] std::string changes_json(const ChangesReport& report);

}  // namespace downfit::report
