// Words that schema files take, in the order of their enumerators: read, put into tables and told from one list each.
#pragma once

#include <array>
#include <string_view>

namespace downfit::schema {

/// Of how a number or a text is stored: `as`, `order`, `signed`, `encoding`.
inline constexpr std::array<std::string_view, 12> storage_words{
    "uint8", "uint16", "uint24", "uint32", "int8", "int16", "int24", "int32", "float32", "float64", "text", "bits"};
inline constexpr std::array<std::string_view, 2> endian_words{"big", "little"};
inline constexpr std::array<std::string_view, 3> sign_words{"twos-complement", "offset", "sign-magnitude"};
inline constexpr std::array<std::string_view, 3> encoding_words{"ascii", "latin-1", "utf-8"};

/// Of a parameter: `kind` (Kind), `scope` (Scope), `refers-by` (RefersBy), `documented`.
inline constexpr std::array<std::string_view, 7> kind_words{"whole", "real",      "switch", "choice",
                                                            "text",  "reference", "opaque"};
inline constexpr std::array<std::string_view, 4> scope_words{"preset", "scene", "bank", "unit"};
inline constexpr std::array<std::string_view, 3> refers_by_words{"number", "name", "hash"};
inline constexpr std::array<std::string_view, 2> documented_words{"documented", "observed"};

/// Of what a parameter means: `taper` (Taper); `unit` and `role`, of which Unit and Role have one more, none, in front.
inline constexpr std::array<std::string_view, 5> taper_words{"linear", "logarithmic", "audio", "power", "volume"};
inline constexpr std::array<std::string_view, 11> unit_words{"dB",        "Hz",  "kHz", "ms",    "s",      "cents",
                                                             "semitones", "bpm", "%",   "ratio", "degrees"};
inline constexpr std::array<std::string_view, 15> role_words{"level", "model", "pitch", "frequency", "q",
                                                             "time",  "decay", "rate",  "tempo",     "feedback",
                                                             "mix",   "pan",   "tone",  "name",      "cosmetic"};

/// Of a group: `kind` (GroupKind), `role`.
inline constexpr std::array<std::string_view, 6> group_kind_words{"plain", "block",      "alternate",
                                                                  "scene", "controller", "switch"};
inline constexpr std::array<std::string_view, 2> group_role_words{"cabinet", "limiter"};

}  // namespace downfit::schema
