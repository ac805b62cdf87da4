#include "schema/table_columns.h"

#include <algorithm>
#include <utility>

namespace downfit::schema {

namespace {

constexpr std::array<std::pair<std::string_view, std::string_view>, 4> other_names{
    {{"min", "minimum"}, {"max", "maximum"}, {"parameter", "name"}, {"address", "at"}}};

struct Words {
    std::string_view column;
    bool group;
    std::span<const std::string_view> words;
};

constexpr std::array<std::string_view, 12> codings{"uint8", "uint16", "uint24",  "uint32",  "int8", "int16",
                                                   "int24", "int32",  "float32", "float64", "text", "bits"};
constexpr std::array<std::string_view, 2> orders{"big", "little"};
constexpr std::array<std::string_view, 3> signs{"twos-complement", "offset", "sign-magnitude"};
constexpr std::array<std::string_view, 3> encodings{"ascii", "latin-1", "utf-8"};
constexpr std::array<std::string_view, 7> kinds{"whole", "real", "switch", "choice", "text", "reference", "opaque"};
constexpr std::array<std::string_view, 6> group_kinds{"block", "alternate", "scene", "controller", "switch", "plain"};
constexpr std::array<std::string_view, 11> units{"dB",        "Hz",  "kHz", "ms",    "s",      "cents",
                                                 "semitones", "bpm", "%",   "ratio", "degrees"};
constexpr std::array<std::string_view, 5> tapers{"linear", "logarithmic", "audio", "power", "volume"};
constexpr std::array<std::string_view, 3> ways{"number", "name", "hash"};
constexpr std::array<std::string_view, 15> roles{"level", "model", "pitch", "frequency", "q",
                                                 "time",  "decay", "rate",  "tempo",     "feedback",
                                                 "mix",   "pan",   "tone",  "name",      "cosmetic"};
constexpr std::array<std::string_view, 2> group_roles{"cabinet", "limiter"};
constexpr std::array<std::string_view, 4> scopes{"preset", "scene", "bank", "unit"};
constexpr std::array<std::string_view, 2> knowledge{"documented", "observed"};

constexpr std::array<Words, 13> all_words{{{"as", false, codings},
                                           {"order", false, orders},
                                           {"signed", false, signs},
                                           {"encoding", false, encodings},
                                           {"kind", false, kinds},
                                           {"kind", true, group_kinds},
                                           {"unit", false, units},
                                           {"scale-taper", false, tapers},
                                           {"refers-by", false, ways},
                                           {"role", false, roles},
                                           {"role", true, group_roles},
                                           {"scope", false, scopes},
                                           {"documented", false, knowledge}}};

constexpr auto names = [] {
    std::array<std::string_view, columns.size()> all{};
    for (std::size_t i = 0; i < columns.size(); ++i) all[i] = columns[i].name;
    return all;
}();

std::string plain_name(std::string_view text) {
    std::string plain;
    for (const char c : text) {
        if (c == ' ' || c == '_')
            plain += '-';
        else
            plain += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    }
    return plain;
}

}  // namespace

std::optional<std::size_t> find_column(std::string_view name) {
    std::string plain = plain_name(name);
    for (const auto& [other, ours] : other_names) {
        if (plain == other) plain = ours;
    }
    const auto at = std::ranges::find(names, plain);
    if (at == names.end()) return std::nullopt;
    return static_cast<std::size_t>(at - names.begin());
}

std::span<const std::string_view> column_words(std::string_view column, bool group) {
    const auto at = std::ranges::find_if(
        all_words, [&](const Words& words) { return words.column == column && words.group == group; });
    return at == all_words.end() ? std::span<const std::string_view>() : at->words;
}

std::span<const std::string_view> column_names() {
    return names;
}

}  // namespace downfit::schema
