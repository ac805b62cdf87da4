// Commands as rows of one table: it drives choosing, help, and what may have been meant.
#pragma once

#include <boost/program_options.hpp>
#include <iosfwd>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "base/problem.h"
#include "base/result.h"
#include "cli/environment.h"
#include "cli/exit.h"
#include "report/layout.h"

namespace downfit::cli {

namespace options = boost::program_options;

/// One run of one command.
struct Call {
    const options::variables_map& given;
    std::ostream& out;
    std::ostream& err;
    const Environment& environment;

    [[nodiscard]] bool has(const char* name) const { return given.count(name) > 0; }
    /// The text of an option, empty where it was not given.
    [[nodiscard]] std::string text(const char* name) const;
    /// What was given without an option.
    [[nodiscard]] std::vector<std::string> operands() const;
};

struct Command {
    std::string_view name;         ///< one word, or two: "schema proof"
    std::string_view usage;        ///< "check DUMP... --on RELEASE"
    std::string_view summary;      ///< one line for the list of commands
    std::string_view description;  ///< for its own help
    void (*declare)(options::options_description_easy_init add);
    Exit (*run)(const Call& call);
};

/// An option that takes a text; `name` is what help calls that text.
[[nodiscard]] inline options::typed_value<std::string>* text_value(const char* name) {
    return options::value<std::string>()->value_name(name);
}

/// All commands, in the order in which help lists them.
[[nodiscard]] std::span<const Command> commands();

/// Help of one command, and of the program.
[[nodiscard]] std::string command_help(const Command& command);
[[nodiscard]] std::string program_help();

/// Parses what follows a command's name. Words of which no option is known are problems, with what may have been meant.
[[nodiscard]] Result<options::variables_map> parse(const Command& command, const std::vector<std::string>& arguments);

/// "downfit check --help says more."
[[nodiscard]] Problem usage_problem(std::string what, std::string remedy = {});

/// Tells problems on `err` and returns Exit::bad_input.
Exit fail(const Call& call, const Problems& problems);

/// The version of the program.
[[nodiscard]] std::string version();

}  // namespace downfit::cli
