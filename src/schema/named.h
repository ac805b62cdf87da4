// What is found by name: presets, groups and parameters of JSON and XML dumps (docs/formats.md, "JSON and XML dumps").
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace downfit::schema {

/// How the values of a body are found: as bytes at places (or in records), or by name as text.
enum class Notation : std::uint8_t { bytes, json, xml };

/// The text that stands at a path of a file: what dumps by name are recognised by.
struct PathText {
    std::string path;
    std::string text;

    bool operator==(const PathText&) const = default;
};

/// Where the number of a preset's slot stands, in a dump by name. Paths count from the preset.
struct NamedSlot {
    enum class From : std::uint8_t { nowhere, path, key, order };
    From from = From::nowhere;
    std::string path;
    std::int64_t first = 0;  ///< the number that stands for stored slot 0

    bool operator==(const NamedSlot&) const = default;
};

/// What a dump by name is: a JSON or XML file with presets in it. Paths are JSON Pointers (RFC 6901, a step `*` for
/// every item or member) or XPath 1.0.
struct NamedFraming {
    Notation notation = Notation::bytes;
    std::string presets;                  ///< path of every preset in the file
    std::vector<PathText> recognised_by;  ///< all must hold
    NamedSlot slot;
    std::string name;                ///< path from the preset; empty for none
    std::vector<std::string> stamp;  ///< paths of its pieces, from the preset, to be joined by points
    bool stamp_of_file = false;      ///< its paths count from the file instead

    bool operator==(const NamedFraming&) const = default;
};

/// By name: a text that stands for a number. Of several for one number the first is written.
struct Word {
    std::string text;
    std::int64_t number = 0;

    bool operator==(const Word&) const = default;
};

/// How the instances of a group are told apart, by name.
enum class NamedBy : std::uint8_t {
    order,        ///< the order of what its path finds
    key,          ///< the key of the member (JSON)
    name_before,  ///< the text that stands before it in its list (JSON)
    value,        ///< a value inside it
};

/// Where a group stands in a dump by name.
struct NamedPlace {
    std::string path;  ///< from the group around it
    NamedBy by = NamedBy::order;
    std::string by_path;            ///< of NamedBy::value: from the group
    std::vector<std::string> keys;  ///< one for each instance; the same one twice means the first and the second
    std::string version_path;       ///< from the group: where its version stands; empty for none
    Notation notation = Notation::json;

    bool operator==(const NamedPlace&) const = default;
};

}  // namespace downfit::schema
