#include "cli/table_options.h"

#include <algorithm>
#include <array>
#include <span>

#include "base/near_miss.h"
#include "files/input.h"
#include "files/output.h"

namespace downfit::cli {

namespace {

constexpr std::array<std::string_view, 3> separators{"comma", "semicolon", "tab"};
constexpr std::array<char, separators.size()> separator_signs{',', ';', '\t'};
constexpr std::array<std::string_view, 2> decimals{"point", "comma"};

/// The index of an option's word; nothing where the option was not given.
Result<std::optional<std::size_t>> word_of(const Call& call, const char* option,
                                           std::span<const std::string_view> words) {
    if (!call.has(option)) return std::optional<std::size_t>();
    const std::string word = call.text(option);
    const auto at = std::find(words.begin(), words.end(), word);
    if (at != words.end()) return std::optional(static_cast<std::size_t>(at - words.begin()));
    std::string list;
    for (const std::string_view one : words) list += (list.empty() ? "one of " : ", ") + std::string(one);
    return Problem{std::monostate(), "--" + std::string(option) + " cannot be \"" + word + '"', list,
                   did_you_mean(word, words)};
}

}  // namespace

void declare_table(options::options_description_easy_init& add, const char* out, const char* separator) {
    add("out", text_value("FILE"), out)               //
        ("force", "replace FILE if it is there")      //
        ("separator", text_value("NAME"), separator)  //
        ("decimal", text_value("SIGN"), "point (if left out) or comma: what stands before the fraction of a number");
}

Result<TableOptions> read_table_options(const Call& call, const Command& command,
                                        const std::vector<std::string>& inputs) {
    if (!call.has("out")) return usage_problem("no file to write is named", "downfit " + std::string(command.usage));
    const auto separator = word_of(call, "separator", separators);
    if (!separator) return separator.problems();
    const auto decimal = word_of(call, "decimal", decimals);
    if (!decimal) return decimal.problems();
    TableOptions read;
    if (separator.value()) read.separator = separator_signs[*separator.value()];
    read.decimal_comma = decimal.value() == std::optional<std::size_t>(1);
    read.out = call.text("out");
    for (const std::string& input : inputs) {
        if (files::is_same_file(read.out, input))
            return Problem{read.out, "is one of the files that are read; Downfit never changes those", {}, {}};
    }
    return read;
}

Exit write_out(const Call& call, const std::string& path, const std::string& content) {
    const auto existing = call.has("force") ? files::Existing::replace : files::Existing::keep;
    const std::optional<Problem> problem = files::write_file(path, content, existing);
    return problem ? fail(call, {*problem}) : Exit::within;
}

std::string count_of(std::size_t number, const std::string& thing) {
    return std::to_string(number) + ' ' + thing + (number == 1 ? "" : "s");
}

}  // namespace downfit::cli
