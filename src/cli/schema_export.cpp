#include "cli/schema_export.h"

#include <ostream>

#include "base/near_miss.h"
#include "cli/schemas.h"
#include "cli/table_options.h"
#include "files/input.h"
#include "report/escape.h"
#include "schema/table.h"

namespace downfit::cli {

namespace {

/// The file of a release that is given by name.
Result<std::string> file_of(const std::string& name, const Schemas& schemas) {
    std::vector<std::string> names, devices;
    std::string file;
    for (const auto& device : schemas.devices) {
        for (const schema::ReleaseEntry& release : device->releases) {
            if (!release.schema) continue;
            names.push_back(release.name);
            if (release.name != name) continue;
            file = release.schema->file;
            devices.push_back(device->name);
        }
    }
    if (devices.size() == 1) return file;
    if (devices.size() > 1) {
        std::string list;
        for (const std::string& device : devices) list += (list.empty() ? "" : ", ") + device;
        return Problem{
            std::monostate(), "release " + name + " is of several devices: " + list, {}, "--device NAME says which"};
    }
    const std::vector<std::string_view> views(names.begin(), names.end());
    return Problem{
        schemas.folder, "there is neither a file nor a release \"" + name + '"', {}, did_you_mean(name, views)};
}

Result<std::vector<std::string>> find_files(const Call& call) {
    std::vector<std::string> paths;
    std::optional<Schemas> schemas;
    for (const std::string& operand : call.operands()) {
        if (files::exists(operand)) {
            paths.push_back(operand);
            continue;
        }
        if (!schemas) {
            Result<Schemas> loaded = load_schemas(call.text("schemas"), call.text("device"), call.environment);
            if (!loaded) return loaded.problems();
            schemas = std::move(loaded).value();
        }
        Result<std::string> path = file_of(operand, *schemas);
        if (!path) return path.problems();
        paths.push_back(std::move(path).value());
    }
    return paths;
}

}  // namespace

void declare_schema_export(options::options_description_easy_init add) {
    declare_table(add, "the table to write, which must not be there yet",
                  "comma (if left out), semicolon or tab: what stands between cells");
    add("bom", "begin with a byte order mark, which some spreadsheets want before UTF-8")  //
        ("schemas", text_value("DIR"),
         "folder of schema files; else $DOWNFIT_SCHEMAS, ./schemas, or those installed")  //
        ("device", text_value("NAME"), "the device, where several have a release of that name");
}

Exit run_schema_export(const Call& call) {
    if (call.operands().empty()) {
        return fail(call,
                    {usage_problem("no release is named", "downfit " + std::string(schema_export_command.usage))});
    }
    const Result<std::vector<std::string>> paths = find_files(call);
    if (!paths) return fail(call, paths.problems());
    const Result<TableOptions> given = read_table_options(call, schema_export_command, paths.value());
    if (!given) return fail(call, given.problems());
    std::vector<schema::SourceFile> sources;
    bool comments = false;
    for (const std::string& path : paths.value()) {
        Result<std::string> text = files::read_text(path);
        if (!text) return fail(call, text.problems());
        comments = comments || schema::has_comments(text.value());
        sources.push_back({path, std::move(text).value()});
    }
    const schema::TableForm form{given.value().separator.value_or(','), given.value().decimal_comma, call.has("bom")};
    const Result<std::string> table = schema::export_table(sources, form);
    if (!table) return fail(call, table.problems());
    const Exit written = write_out(call, given.value().out, table.value());
    if (written != Exit::within) return written;
    call.out << report::printable(given.value().out) << ": " << count_of(sources.size(), "release") << '\n';
    if (comments) call.out << "Comments stay behind: a table has no place for them.\n";
    return Exit::within;
}

}  // namespace downfit::cli
