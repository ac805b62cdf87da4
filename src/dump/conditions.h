// Conditions over one body as it stands: no loading rules, no facts of the unit.
//
// Internal to dump/.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "dump/locate.h"
#include "schema/instances.h"

namespace downfit::dump {

/// Whether a condition holds; what cannot be known counts as holding.
enum class Truth : std::uint8_t { no, unknown, yes };

/// Evaluates conditions and what depends on them. Keeps references; fields are read once.
class Conditions {
public:
    Conditions(const schema::Instances& instances, const Located& located, ByteView body,
               std::optional<std::size_t> stamp_release, const schema::Device* device);

    /// What stands where the release reads the field in this body: the first of its reads that holds, or its plain
    /// place.
    [[nodiscard]] const Stored& stored(std::size_t field);

    /// The meaning that holds for the field in this body.
    [[nodiscard]] const schema::Meaning& meaning(std::size_t field);

    /// Whether the field's own `when` and those of all its groups hold, its groups' records are there, and the counts
    /// of lists and groups reach it.
    [[nodiscard]] bool exists(std::size_t field);

private:
    Truth evaluate(const schema::Condition& condition, int from);
    Truth compare(const schema::Condition& condition, int from);
    Truth compare_parameter(const schema::Condition& condition, int from);
    Truth compare_stamp(const schema::Condition& condition) const;
    Truth compare_version(const schema::Condition& condition, int from) const;
    Truth compare_bytes(const schema::Condition& condition) const;
    void settle(std::size_t field);
    bool is_counted(const std::string& count_by, int from, int index);
    bool group_exists(int group);
    bool instance_exists(std::size_t index);

    enum class Progress : std::uint8_t { open, working, done };

    const schema::Instances& instances_;
    const Located& located_;
    ByteView body_;
    const schema::Device* device_;
    std::optional<std::size_t> stamp_release_;
    std::vector<Stored> stored_;
    std::vector<const schema::Meaning*> meanings_;
    std::vector<Progress> progress_;
    std::vector<std::optional<bool>> group_exists_;
};

}  // namespace downfit::dump
