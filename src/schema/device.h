// A device with all its releases, resolved: what the loader makes and every higher room reads. Immutable once loaded.
#pragma once

#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "schema/layout.h"
#include "schema/parameter.h"

namespace downfit::schema {

/// Slots as shown: stored slot s is shown as first + s.
struct Slots {
    int first = 1;
    int count = 128;
};

struct AssetKind {
    std::string name;  ///< "impulse-response"
    std::string title;
    int first = 1;
    int count = 0;
    std::map<int, std::string> contents;  ///< factory content by shown slot number, where known
};

struct Variant {
    std::string name;
    std::string title;
    std::string oldest_release;         ///< empty: any
    std::map<std::string, int> limits;  ///< group path -> instances that work at once
    std::optional<double> budget;       ///< of this variant; over the release's
    std::map<std::string, std::string> facts;
};

/// `accepts`: what the release insists on. Exactly one of the tests is set; `at_most` and friends as written.
struct Accept {
    std::optional<Condition> stamp;  ///< a comparison with Subject::stamp
    std::optional<BodyBytes> bytes;
    std::optional<Condition> slot;  ///< a comparison; the subject is the shown slot number
    Refuses refuses = Refuses::preset;
    std::string why;
    TextPlace place;
};

struct Repair {
    BodyBytes found;
    Bytes read_as;
    std::string why;
    TextPlace place;
};

struct Revoiced {
    std::string parameter;               ///< id
    std::string label;                   ///< of the model
    std::string weight = "slight";       ///< none, slight, audible, severe
    std::optional<double> level_change;  ///< dB, newer minus older
    std::string note;
};

/// One release, resolved.
struct Release {
    std::string device;
    std::string name;
    std::size_t order = 0;  ///< index into Device::releases; higher is newer
    std::vector<Stamp> stamps;
    std::optional<std::int64_t> stamp_from;  ///< and every higher number below the next known stamp
    std::optional<double> budget;            ///< processing budget, in the unit of the blocks' costs
    std::vector<Group> groups;               ///< parents before children
    std::vector<Parameter> parameters;
    std::vector<Layout> layouts;         ///< same order and names as every other release's of the device
    Rules rules;                         ///< release over device
    std::vector<RulePlace> rule_places;  ///< where each was last written: in the device file or a release file
    std::vector<Accept> accepts;
    std::vector<Repair> repairs;
    std::vector<Revoiced> revoiced;  ///< in this release alone
    std::string returns_to;
    std::vector<std::string> erases;
    Slots slots;
    std::vector<AssetKind> assets;
    std::vector<Variant> variants;
    std::string file;    ///< the release file's name
    std::string digest;  ///< SHA-256 of the release file's bytes, hex
    /// Where some layout stores things otherwise: for each layout this release with its groups and parameters as they
    /// stand there, null where they stand as here. Empty where all layouts are alike.
    std::vector<std::shared_ptr<const Release>> views;

    /// This release as one of its layouts (index) stores it.
    [[nodiscard]] const Release& in_layout(std::size_t layout) const {
        return layout < views.size() && views[layout] ? *views[layout] : *this;
    }
    [[nodiscard]] const Parameter* find(std::string_view id) const;
    [[nodiscard]] const AssetKind* asset(std::string_view kind) const;
};

/// What a number between two known stamps means.
enum class UnlistedStamps : std::uint8_t { neighbours, older, newer, unknown };

/// One row of the device's release list. `schema` is missing where no release file was given.
struct ReleaseEntry {
    std::string name;
    std::vector<Stamp> stamps;
    std::optional<std::int64_t> stamp_from;
    std::string date;
    std::optional<Release> schema;
};

struct Device {
    std::string name, title, maker;
    std::map<std::string, std::string> words;
    std::vector<ReleaseEntry> releases;  ///< oldest first
    std::vector<Framing> framings;       ///< all different ways in which a release frames a dump
    std::vector<Layout> layouts;         ///< as the device file has them
    UnlistedStamps unlisted_stamps = UnlistedStamps::neighbours;
    Slots slots;
    std::vector<AssetKind> assets;
    std::string file;
    std::string digest;

    /// Index of a release by name, or nullopt.
    [[nodiscard]] std::optional<std::size_t> find_release(std::string_view release) const;
    /// All releases that the stamp may mean, oldest first: those that stamp presets so; without any, by `stamp_from`;
    /// else by `unlisted_stamps`.
    [[nodiscard]] std::vector<std::size_t> releases_with(const Stamp& stamp) const;
};

}  // namespace downfit::schema
