#include "cli/output.h"

#include <algorithm>
#include <array>
#include <ostream>
#include <span>

#include "base/near_miss.h"
#include "files/input.h"
#include "files/output.h"

namespace downfit::cli {

namespace {

constexpr std::size_t usual_width = 100;
constexpr std::size_t least_width = 60;
constexpr std::size_t most_width = 400;
constexpr std::array<std::string_view, all_formats> format_names{"text",  "json",  "csv", "markdown",
                                                                 "junit", "sarif", "html"};

std::optional<Problem> wrong_word(const std::string& option, const std::string& word,
                                  std::span<const std::string_view> words) {
    if (word.empty() || std::find(words.begin(), words.end(), word) != words.end()) return std::nullopt;
    std::string list;
    for (const std::string_view one : words) list += (list.empty() ? "" : ", ") + std::string(one);
    return Problem{std::monostate(), option + " cannot be \"" + word + '"', "one of " + list,
                   did_you_mean(word, words)};
}

/// Colours only where somebody looks at a terminal that has them, or where they were asked for.
bool wants_color(const Call& call, const Output& output) {
    const std::string asked = call.text("color");
    if (asked == "always") return true;
    const Environment& environment = call.environment;
    return asked != "never" && output.file.empty() && environment.output_is_terminal &&
           environment.variable("NO_COLOR").empty() && environment.variable("TERM") != "dumb";
}

}  // namespace

void declare_output(options::options_description_easy_init& add, const char* formats) {
    add("format", text_value("FORMAT"), formats)                                                 //
        ("output", text_value("FILE"), "write the report to FILE, which must not be there yet")  //
        ("force", "replace FILE if it is there");
    declare_style(add);
}

void declare_style(options::options_description_easy_init& add) {
    add("width", options::value<unsigned>()->value_name("N"), "columns of a text report")  //
        ("color", text_value("WHEN"), "auto (if left out), always, never; NO_COLOR in the environment counts");
}

Result<Output> find_output(const Call& call, const std::vector<std::string>& inputs, std::size_t formats) {
    const std::span<const std::string_view> known = std::span(format_names).first(formats);
    constexpr std::array<std::string_view, 3> colors{"auto", "always", "never"};
    if (auto problem = wrong_word("--format", call.text("format"), known)) return *std::move(problem);
    if (auto problem = wrong_word("--color", call.text("color"), colors)) return *std::move(problem);
    Output output;
    const auto named = std::find(known.begin(), known.end(), call.text("format"));
    if (named != known.end()) output.format = static_cast<Format>(named - known.begin());
    output.file = call.text("output");
    output.force = call.has("force");
    output.style.color = wants_color(call, output);
    output.style.width = usual_width;
    if (output.file.empty() && call.environment.terminal_width > 0)
        output.style.width = call.environment.terminal_width;
    if (call.has("width")) output.style.width = call.given["width"].as<unsigned>();
    output.style.width = std::clamp(output.style.width, least_width, most_width);
    for (const std::string& input : inputs) {
        if (!output.file.empty() && files::is_same_file(output.file, input)) {
            return Problem{output.file, "is one of the files that are read; Downfit never changes those", {}, {}};
        }
    }
    return output;
}

Exit deliver(const Call& call, const Output& output, const std::string& text) {
    if (output.file.empty()) {
        call.out << text;
        return Exit::within;
    }
    const auto existing = output.force ? files::Existing::replace : files::Existing::keep;
    const std::optional<Problem> problem = files::write_file(output.file, text, existing);
    return problem ? fail(call, {*problem}) : Exit::within;
}

}  // namespace downfit::cli
