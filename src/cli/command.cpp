#include "cli/command.h"

#include <algorithm>
#include <ostream>
#include <sstream>

#include "base/near_miss.h"
#include "report/escape.h"
#include "report/problems.h"

#ifndef DOWNFIT_VERSION
#define DOWNFIT_VERSION "unknown"
#endif

namespace downfit::cli {

namespace {

constexpr const char* operand_name = "operand";
constexpr unsigned help_width = 96;

options::options_description visible_options(const Command& command) {
    options::options_description all("Options", help_width, help_width / 2);
    command.declare(all.add_options());
    all.add_options()("help", "show this help");
    return all;
}

/// Boost ends its message in an option's name as it was written; only plain ones are of use here.
std::string misspelt(const options::error_with_option_name& error, const options::options_description& known) {
    std::vector<std::string> names;
    for (const auto& option : known.options()) names.push_back("--" + option->long_name());
    const std::vector<std::string_view> views(names.begin(), names.end());
    return did_you_mean(error.get_option_name(), views);
}

}  // namespace

std::string Call::text(const char* name) const {
    return has(name) ? given[name].as<std::string>() : std::string();
}

std::vector<std::string> Call::operands() const {
    return has(operand_name) ? given[operand_name].as<std::vector<std::string>>() : std::vector<std::string>();
}

std::string command_help(const Command& command) {
    std::ostringstream listed;
    listed << visible_options(command);
    std::string text = "downfit " + std::string(command.usage) + "\n\n" + std::string(command.description) + "\n\n";
    std::istringstream lines(listed.str());
    for (std::string line; std::getline(lines, line);) report::append_line(text, line);  // without spaces at the end
    return text;
}

std::string program_help() {
    std::string text =
        "downfit COMMAND ...\n\n"
        "Loads the presets of an effects processor on another firmware release, on paper, and says what\n"
        "would be lost and whether anyone would hear it. It changes no file that it reads.\n\nCommands\n";
    std::size_t longest = 8;
    for (const Command& command : commands()) longest = std::max(longest, command.name.size());
    for (const Command& command : commands()) {
        text += "  " + report::left(command.name, longest + 2) + std::string(command.summary) + '\n';
    }
    return text +
           "\n  downfit COMMAND --help   options of one command\n"
           "  downfit --version        which release this is\n\n"
           "Exit status, the first that applies: 2 the call or an input is wrong or damaged, 1 something is not "
           "within\n"
           "the policy (without one: changes audibly or is refused), 3 something could not be decided, 0 all is safe;\n"
           "70 the program itself failed.\n";
}

Result<options::variables_map> parse(const Command& command, const std::vector<std::string>& arguments) {
    namespace style = options::command_line_style;
    options::options_description all = visible_options(command);
    all.add_options()(operand_name, options::value<std::vector<std::string>>());
    options::positional_options_description operands;
    operands.add(operand_name, -1);
    try {
        options::variables_map given;
        options::store(options::command_line_parser(arguments)
                           .options(all)
                           .positional(operands)
                           .style(style::allow_long | style::long_allow_adjacent | style::long_allow_next |
                                  style::allow_short | style::allow_dash_for_short | style::short_allow_next)
                           .run(),
                       given);
        options::notify(given);
        return given;
    } catch (const options::unknown_option& error) {
        return usage_problem("there is no option " + error.get_option_name() + " of " + std::string(command.name),
                             misspelt(error, visible_options(command)));
    } catch (const options::error& error) {
        return usage_problem(error.what(), "downfit " + std::string(command.name) + " --help lists the options");
    }
}

Problem usage_problem(std::string what, std::string remedy) {
    return {std::monostate(), std::move(what), {}, std::move(remedy)};
}

Exit fail(const Call& call, const Problems& problems) {
    call.err << report::problems_text(problems);
    return Exit::bad_input;
}

std::string version() {
    return DOWNFIT_VERSION;
}

}  // namespace downfit::cli
