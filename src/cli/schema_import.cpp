#include "cli/schema_import.h"

#include <algorithm>
#include <ostream>

#include "cli/table_options.h"
#include "dump/doubtful.h"
#include "files/input.h"
#include "report/escape.h"
#include "report/problems.h"
#include "schema/table.h"

namespace downfit::cli {

namespace {

/// The files that a release is loaded with.
struct Beside {
    std::string folder;
    std::vector<schema::SourceFile> files;  ///< empty without a device file
    std::string device;                     ///< its short name, where the device file alone loads
};

std::vector<std::string> list_of(const Call& call, const char* option) {
    return call.has(option) ? call.given[option].as<std::vector<std::string>>() : std::vector<std::string>();
}

Result<schema::TableReading> read_import_request(const Call& call, const TableOptions& table) {
    schema::TableReading reading;
    reading.separator = table.separator;
    reading.decimal_comma = table.decimal_comma;
    reading.hexadecimal = call.has("hex");
    reading.ignored = list_of(call, "ignore");
    for (const std::string& pair : list_of(call, "column")) {
        const std::size_t sign = pair.find('=');
        if (sign == std::string::npos || sign == 0 || sign + 1 == pair.size()) {
            return Problem{
                std::monostate(), "--column cannot be \"" + pair + '"', "OURS=THEIRS, as name=\"Parameter\"", {}};
        }
        reading.columns.emplace_back(pair.substr(0, sign), pair.substr(sign + 1));
    }
    reading.device = call.text("device");
    reading.release = call.text("release");
    reading.stamp = call.text("stamp");
    reading.extends = call.text("extends");
    reading.date = call.text("date");
    reading.source = call.text("source");
    return reading;
}

/// Reads the folder's schema files but the one that is to be written. Without a device file among them: none.
Result<Beside> read_folder(const std::string& folder, const std::string& out) {
    Beside beside{folder, {}, {}};
    const Result<std::vector<std::string>> paths = files::json_files(folder);
    if (!paths) return paths.problems();
    for (const std::string& path : paths.value()) {
        if (files::is_same_file(path, out)) continue;
        Result<std::string> text = files::read_text(path);
        if (!text) return text.problems();
        schema::SourceFile file{path, std::move(text).value()};
        if (file.text.find("\"downfit device 1\"") != std::string::npos) {
            const Result<schema::Device> alone = schema::load_device({file});
            if (alone) beside.device = alone.value().name;
            beside.files.insert(beside.files.begin(), std::move(file));
        } else if (file.text.find("\"downfit release 1\"") != std::string::npos) {
            beside.files.push_back(std::move(file));
        }
    }
    const bool any =
        !beside.files.empty() && beside.files.front().text.find("\"downfit device 1\"") != std::string::npos;
    if (!any) beside.files.clear();
    return beside;
}

Result<Beside> find_beside(const Call& call, const std::string& out, const std::string& device) {
    const bool asked = call.has("schemas");
    const std::string folder = asked ? call.text("schemas") : files::folder_of(out);
    if (!files::is_folder(folder)) {
        return Problem{folder, "there is no such folder",
                       asked ? "the folder of the device's files" : "a folder for the release file",
                       asked ? "" : "make it first"};
    }
    Result<Beside> beside = read_folder(folder, out);
    if (!beside || !asked || !beside.value().files.empty()) return beside;
    const std::string inner = files::join(folder, device);
    if (!device.empty() && files::is_folder(inner)) beside = read_folder(inner, out);
    if (beside && beside.value().files.empty()) {
        return Problem{folder,
                       "there is no device file in it",
                       "the folder of one device, or one with a folder for each device",
                       {}};
    }
    return beside;
}

/// What is wrong with the release as a whole, or what was done to find out.
Result<std::string> proof(const Call& call, const schema::ImportedRelease& release, const std::string& out,
                          const Beside& beside) {
    if (beside.files.empty()) {
        Problems problems = schema::check_alone(release, out);
        if (!problems.empty()) return problems;
        return std::string(
            "It was not loaded: there is no device file beside it. --schemas DIR says where the device's files are.");
    }
    std::vector<schema::SourceFile> sources = beside.files;
    sources.push_back({out, release.text});
    const Result<schema::Device> device = schema::load_device(sources);
    if (!device) return release.in_table(out, device.problems());
    Problems doubtful = dump::doubtful_settings(device.value());
    std::erase_if(doubtful, [&](const Problem& problem) {
        const auto* place = std::get_if<TextPlace>(&problem.place);
        return place == nullptr || place->file != out;
    });
    call.err << report::problems_text(release.in_table(out, std::move(doubtful)));
    return "It loads with the " + count_of(beside.files.size(), "file") + " in " + report::printable(beside.folder) +
           '.';
}

}  // namespace

void declare_schema_import(options::options_description_easy_init add) {
    const auto list = [](const char* name) { return options::value<std::vector<std::string>>()->value_name(name); };
    declare_table(add, "the release file to write, which must not be there yet",
                  "comma, semicolon or tab: what stands between cells; found out if left out");
    add("column", list("OURS=THEIRS"), "the table's column THEIRS is our column OURS; may be given often")       //
        ("ignore", list("THEIRS"), "pass over the table's column THEIRS; may be given often")                    //
        ("hex", "places and tags without a mark are hexadecimal")                                                //
        ("release", text_value("NAME"), "the release; of a table with several, which of them")                   //
        ("device", text_value("NAME"), "the device's short name; else the table's, or that of the device file")  //
        ("stamp", text_value("NUMBER"), "what presets saved on the release carry")                               //
        ("extends", text_value("NAME"), "the release that this one starts from")                                 //
        ("date", text_value("DATE"), "when the release came out")                                                //
        ("source", text_value("TEXT"), "where you know it from")                                                 //
        ("schemas", text_value("DIR"), "folder of the device's other files, to load it with; else that of FILE");
}

Exit run_schema_import(const Call& call) {
    const std::vector<std::string> operands = call.operands();
    if (operands.size() != 1) {
        return fail(call, {usage_problem("name one table", "downfit " + std::string(schema_import_command.usage))});
    }
    const Result<TableOptions> given = read_table_options(call, schema_import_command, operands);
    if (!given) return fail(call, given.problems());
    Result<schema::TableReading> reading = read_import_request(call, given.value());
    if (!reading) return fail(call, reading.problems());
    if (files::exists(given.value().out) && !call.has("force"))
        return fail(call, {Problem{given.value().out, "is there already", {}, "--force replaces it"}});
    Result<std::string> text = files::read_text(operands.front());
    if (!text) return fail(call, text.problems());
    const std::string& out = given.value().out;
    const Result<Beside> beside = find_beside(call, out, reading.value().device);
    if (!beside) return fail(call, beside.problems());
    const schema::SourceFile table{operands.front(), std::move(text).value()};
    reading.value().fallback_device = beside.value().device;
    const Result<schema::ImportedRelease> release = schema::import_table(table, reading.value());
    if (!release) return fail(call, release.problems());
    const Result<std::string> proofed = proof(call, release.value(), out, beside.value());
    if (!proofed) return fail(call, proofed.problems());
    const Exit written = write_out(call, out, release.value().text);
    if (written != Exit::within) return written;
    const schema::ImportedRelease& made = release.value();
    call.out << report::printable(out) << ": release " << report::printable(made.release) << " of "
             << report::printable(made.device) << ", " << count_of(made.parameters, "parameter") << ", "
             << count_of(made.groups, "group") << ", " << count_of(made.choice_lists, "choice list") << ".\n"
             << proofed.value() << '\n';
    return Exit::within;
}

}  // namespace downfit::cli
