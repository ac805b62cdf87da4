// Two dumps held against each other: are two presets the same sound, parameter by parameter; and has a unit that was
// read back after loading made of a preset what was predicted.
#pragma once

#include <cstddef>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "compat/check.h"
#include "compat/contradiction.h"

namespace downfit::compat {

/// One preset of either dump. A view: refers to the dump and its bytes.
struct HeldPreset {
    const dump::Dump* dump = nullptr;
    const dump::Entry* entry = nullptr;
    ByteView file;                      ///< the dump's bytes
    std::vector<std::size_t> saved_on;  ///< releases that may have saved it, oldest first
    int slot = -1;                      ///< as shown, -1 without
    ByteView settings;                  ///< body of the unit settings dump of the same set; empty without
};

/// What came of two presets. In findings the first is `saved`, the second `loaded`; of outcomes only these mean
/// something: `lost` (only in the first), `added` (only in the second), `revoiced` (the same, but the maker changed
/// how it sounds between their releases), `unsure`; any other says that the values differ.
struct Likeness {
    TargetCheck sound;        ///< each as the release that saved it has it
    bool same_bytes = false;  ///< the bodies are equal, but for bytes that change by themselves; only within one layout
    std::size_t other_bytes =
        0;  ///< bytes that no parameter explains and that differ (of values by name, of their texts)
};

/// What a release was predicted to make of the first preset, against the second, which a unit saved that had loaded it.
struct PredictionCheck {
    TargetCheck check;  ///< `saved` is the prediction, `loaded` what the unit shows; undecided where it may be either
    LoadingEvidence evidence;
};

/// Compares presets of one device. Compiles releases once; so not for several threads at once. The device must outlive
/// it. Of the options `facts`, `hearing` and `settings` (not used) count.
class Comparer {
public:
    Comparer(const schema::Device& device, CheckOptions options);
    ~Comparer();

    /// Never fails: what cannot be compared is undecided, with the reason.
    [[nodiscard]] Likeness compare(const HeldPreset& first, const HeldPreset& second);

    /// The same of a prediction: `release` loads `first`; `second` is what a unit with that release saved then.
    [[nodiscard]] PredictionCheck predict(const HeldPreset& first, const HeldPreset& second, std::size_t release);

    /// Where the second slot is empty although something was sent to it.
    [[nodiscard]] PredictionCheck predict_refusal(const HeldPreset& first, std::size_t release);

    /// Parameters (ids of the release) for which one of the two layouts has no place, so that nothing is compared.
    [[nodiscard]] std::vector<std::string> not_in_both(std::size_t release, std::size_t first_layout,
                                                       std::size_t second_layout);

    [[nodiscard]] Checker& checker() { return checker_; }

private:
    struct Half;
    const ReleasePair& pair(const CompiledRelease& saved, const CompiledRelease& loading);
    [[nodiscard]] TargetCheck compare_as(const HeldPreset& first, std::size_t first_on, const HeldPreset& second,
                                         std::size_t second_on);
    void compare_bytes(const HeldPreset& first, const HeldPreset& second, Likeness& likeness);

    const schema::Device& device_;
    Checker checker_;
    std::map<std::pair<const CompiledRelease*, const CompiledRelease*>, std::unique_ptr<ReleasePair>> pairs_;
};

}  // namespace downfit::compat
