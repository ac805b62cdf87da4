// Drafts: a first release file from dumps alone, of bytes or by name. It says what was seen and never more: parameters
// stand only where presets differ, and every range is an observed one.
#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "dump/dump.h"
#include "schema/layout.h"
#include "schema/parameter.h"

namespace downfit::study {

/// What a drafted parameter may be.
enum class Sort : std::uint8_t {
    on_off,  ///< two settings
    choice,  ///< a few small numbers; by name also a few texts
    number,  ///< whole, in one byte or some of its bits; by name any whole number
    wide,    ///< whole, in several bytes
    real,    ///< IEEE 754
    text,
};
inline constexpr std::size_t sort_count = 6;

struct DraftParameter {
    std::string id;  ///< with its group's path
    std::optional<std::int64_t> tag;
    schema::Storage storage;
    Sort sort = Sort::number;
    double least = 0, most = 0;         ///< of the numbers seen; of texts 0
    std::vector<std::int64_t> numbers;  ///< of switches and choices: those seen, rising
    std::size_t different = 0;          ///< how many different numbers or texts were seen
    std::size_t seen = 0;               ///< in how many presets (of a repeated record: records)
    std::string remark;                 ///< what else it may be; empty for nothing to say
    std::optional<std::string> path;    ///< by name: from its group
    int list = 0;                       ///< by name: so many values one after another; 0: one
    std::vector<schema::Word> words;    ///< by name: texts of a switch (on, off) or of a choice, with their numbers
    bool repeated = false;              ///< by name: one preset may have several, in a list or a repeated group
};

struct DraftGroup {
    std::string path;
    std::int64_t tag = 0;
    int count = 1;                                 ///< the most records of that id that one preset has
    std::optional<schema::Records> records;        ///< its values look like runs of records themselves
    std::optional<schema::NamedPlace> named = {};  ///< by name: where it stands
};

struct Draft {
    std::vector<DraftGroup> groups;  ///< outer ones first
    std::vector<DraftParameter> parameters;
    std::size_t presets = 0;
    std::size_t places = 0, varying = 0;  ///< of all presets: places, and those that differ, the layout's own left out
    bool by_name = false;                 ///< places are values by name; those of a repeated group or a list are one
    std::vector<std::string> unread;      ///< by name: places that differ, and that no kind of parameter reads
    [[nodiscard]] std::size_t count(Sort sort) const;
};

/// Drafts parameters from filled presets of one layout of the device, as the device file has it. Parameters that are
/// numbers hold only bytes that differ between presets, but for bytes of 32-bit reals; a text begins and ends with
/// such bytes.
[[nodiscard]] Draft make_draft(const schema::Device& device, std::size_t layout,
                               const std::vector<const dump::Entry*>& presets);

}  // namespace downfit::study
