#include "schema/table_columns.h"

#include <algorithm>
#include <utility>

#include "schema/words.h"

namespace downfit::schema {

namespace {

constexpr std::array<std::pair<std::string_view, std::string_view>, 4> other_names{
    {{"min", "minimum"}, {"max", "maximum"}, {"parameter", "name"}, {"address", "at"}}};

struct Words {
    std::string_view column;
    bool group;
    std::span<const std::string_view> words;
};

constexpr std::array<std::string_view, 6> group_kinds{"block", "alternate", "scene", "controller", "switch", "plain"};

constexpr std::array<Words, 13> all_words{{{"as", false, storage_words},
                                           {"order", false, endian_words},
                                           {"signed", false, sign_words},
                                           {"encoding", false, encoding_words},
                                           {"kind", false, kind_words},
                                           {"kind", true, group_kinds},
                                           {"unit", false, unit_words},
                                           {"scale-taper", false, taper_words},
                                           {"refers-by", false, refers_by_words},
                                           {"role", false, role_words},
                                           {"role", true, group_role_words},
                                           {"scope", false, scope_words},
                                           {"documented", false, documented_words}}};

constexpr auto all_names = [] {
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
    const auto at = std::ranges::find(all_names, plain);
    if (at == all_names.end()) return std::nullopt;
    return static_cast<std::size_t>(at - all_names.begin());
}

std::span<const std::string_view> column_words(std::string_view column, bool group) {
    const auto at = std::ranges::find_if(
        all_words, [&](const Words& words) { return words.column == column && words.group == group; });
    return at == all_words.end() ? std::span<const std::string_view>() : at->words;
}

std::span<const std::string_view> column_names() {
    return all_names;
}

}  // namespace downfit::schema
