#include "cli/run.h"

#include <algorithm>
#include <array>
#include <exception>
#include <ostream>

#include "base/near_miss.h"
#include "cli/about.h"
#include "cli/changes.h"
#include "cli/check.h"
#include "cli/command.h"
#include "cli/compare.h"
#include "cli/contents.h"
#include "cli/refit.h"
#include "cli/rig.h"
#include "cli/schema_coverage.h"
#include "cli/schema_draft.h"
#include "cli/schema_export.h"
#include "cli/schema_import.h"
#include "cli/schema_moved.h"
#include "cli/schema_proof.h"
#include "report/problems.h"

namespace downfit::cli {

namespace {

constexpr std::array<Command, 13> command_table{
    check_command,         contents_command,      rig_command,          changes_command,      compare_command,
    schema_proof_command,  refit_command,         schema_draft_command, schema_moved_command, schema_coverage_command,
    schema_import_command, schema_export_command, about_command};

/// A command that the first arguments name, and how many words its name has. Some commands have a name of two words.
struct Named {
    const Command* command = nullptr;
    std::size_t words = 0;
};

Named find_command(std::span<const std::string> arguments) {
    for (const std::size_t words : {std::size_t{2}, std::size_t{1}}) {
        if (arguments.size() < words) continue;
        const std::string name = words == 2 ? arguments[0] + ' ' + arguments[1] : arguments[0];
        const auto at = std::find_if(command_table.begin(), command_table.end(),
                                     [&](const Command& command) { return command.name == name; });
        if (at != command_table.end()) return {&*at, words};
    }
    return {};
}

/// What was called, as far as it can be the name of a command: two words where the first begins the name of one.
std::string called(std::span<const std::string> arguments) {
    const std::string& first = arguments.front();
    const bool begins = std::any_of(command_table.begin(), command_table.end(),
                                    [&](const Command& command) { return command.name.starts_with(first + ' '); });
    return begins && arguments.size() > 1 ? first + ' ' + arguments[1] : first;
}

Exit unknown_command(const std::string& name, std::ostream& err) {
    std::vector<std::string_view> names;
    for (const Command& command : command_table) names.push_back(command.name);
    std::string remedy = did_you_mean(name, names);
    if (remedy.empty()) remedy = "downfit --help lists the commands";
    err << report::problem_text(usage_problem("there is no command \"" + name + '"', remedy));
    return Exit::bad_input;
}

Exit help(const std::vector<std::string>& arguments, std::ostream& out, std::ostream& err) {
    const std::span<const std::string> asked = std::span(arguments).subspan(1);
    if (asked.empty()) {
        out << program_help();
        return Exit::within;
    }
    const Named named = find_command(asked);
    if (named.command == nullptr) return unknown_command(called(asked), err);
    out << command_help(*named.command);
    return Exit::within;
}

Exit run_command(const std::vector<std::string>& arguments, std::ostream& out, std::ostream& err,
                 const Environment& environment) {
    if (arguments.empty()) {
        err << program_help();
        return Exit::bad_input;
    }
    const std::string& first = arguments.front();
    if (first == "--help" || first == "-h" || first == "help") return help(arguments, out, err);
    if (first == "--version") {
        out << "downfit " << version() << '\n';
        return Exit::within;
    }
    const auto [command, words] = find_command(arguments);
    if (command == nullptr) return unknown_command(called(arguments), err);
    const Result<options::variables_map> given =
        parse(*command, {arguments.begin() + static_cast<std::ptrdiff_t>(words), arguments.end()});
    if (!given) {
        err << report::problems_text(given.problems());
        return Exit::bad_input;
    }
    if (given.value().count("help") > 0) {
        out << command_help(*command);
        return Exit::within;
    }
    return command->run({given.value(), out, err, environment});
}

}  // namespace

std::span<const Command> commands() {
    return command_table;
}

int run(const std::vector<std::string>& arguments, std::ostream& out, std::ostream& err,
        const Environment& environment) {
    Exit status = Exit::failed;
    try {
        status = run_command(arguments, out, err, environment);
        out.flush();
        if (!out) {
            err << "downfit: the output could not be written\n";
            status = Exit::failed;
        }
    } catch (const std::exception& error) {
        err << "downfit: failed inside, nothing is decided: " << error.what() << '\n';
        status = Exit::failed;
    } catch (...) {
        err << "downfit: failed inside, nothing is decided\n";
        status = Exit::failed;
    }
    return static_cast<int>(status);
}

}  // namespace downfit::cli
