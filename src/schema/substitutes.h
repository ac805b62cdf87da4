// Substitutes: what is to stand where another release lacks a model or another choice, kept in a file of its own
// (docs/formats.md, "Substitutes file"). Reading it; putting them is the business of refit/.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "schema/condition.h"
#include "schema/device.h"
#include "schema/load.h"
#include "schema/policy.h"

namespace downfit::schema {

/// What one choice of a parameter becomes where the target release does not have it.
struct Substitution {
    std::string parameter;         ///< an id; steps without brackets mean every instance
    Setting lost;                  ///< a label, or what a reference names: a text or a whole number
    Setting instead;               ///< the same, as the target release has it
    std::vector<NamedRelease> on;  ///< target releases for which it holds; empty: all
    std::string reason;            ///< or empty
    TextPlace parameter_place, lost_place, instead_place;

    /// Whether it holds for a target release.
    [[nodiscard]] bool holds_on(std::string_view release) const;
};

struct Substitutes {
    std::string title;
    std::string device;
    TextPlace device_place;
    std::vector<Substitution> list;  ///< in the order of the file: the first that fits is taken
    std::string file;
    std::string digest;  ///< SHA-256 of the file's bytes, hex
};

/// Reads a substitutes file. On failure every problem is returned, with file, line, column, JSON Pointer, what was
/// expected and, for a misspelt word, what may have been meant. What it lets through is then judged by
/// schemas/format/substitutes.schema.json as well. Never throws; reads no file itself.
[[nodiscard]] Result<Substitutes> read_substitutes(const SourceFile& file);

/// What in them does not fit the device: they are for another one, name releases, parameters or choices that it has
/// not, or put something that `target` (by its order), which lacks what is lost, does not have either.
[[nodiscard]] Problems check_substitutes(const Substitutes& substitutes, const Device& device, std::size_t target);

/// A setting as people write it: the label, or the number.
[[nodiscard]] std::string setting_text(const Setting& setting);

}  // namespace downfit::schema
