#include "cli/schema_moved.h"

#include <algorithm>
#include <ostream>

#include "cli/inputs.h"
#include "cli/output.h"
#include "cli/schemas.h"
#include "report/moved.h"
#include "report/problems.h"

namespace downfit::cli {

namespace {

Exit tell_moved(const Call& call, const Output& output, const std::vector<Input>& inputs) {
    const Input& before = inputs[0];
    const Input& after = inputs[1];
    report::MovedReport report;
    report.device = before.dump.device;
    report.version = version();
    report.before = {before.dump.file, before.dump.digest, before.dump.problems};
    report.after = {after.dump.file, after.dump.digest, after.dump.problems};
    study::Readers readers(*report.device);
    report.moved = study::find_moved({before.dump, before.bytes}, {after.dump, after.bytes}, readers);
    const std::string text =
        output.format == Format::json ? report::moved_json(report) : report::moved_text(report, output.style);
    const Exit delivered = deliver(call, output, text);
    if (delivered != Exit::within) return delivered;
    const bool damaged = std::any_of(inputs.begin(), inputs.end(),
                                     [](const Input& input) { return first_damage(input.dump) != nullptr; });
    if (damaged || report.moved.damaged > 0) return Exit::bad_input;
    return report.moved.compared == 0 ? Exit::undecided : Exit::within;
}

}  // namespace

void declare_schema_moved(options::options_description_easy_init add) {
    add("schemas", text_value("DIR"),
        "folder of schema files; else $DOWNFIT_SCHEMAS, ./schemas, or those installed")  //
        ("device", text_value("NAME"), "the device, where the dump alone does not tell")(
            "layout", text_value("NAME"), "the layout to read the files by, for files that nothing tells apart");
    declare_output(add);
}

Exit run_schema_moved(const Call& call) {
    const std::vector<std::string> paths = call.operands();
    if (paths.size() != 2) {
        return fail(call, {usage_problem("name two dumps, the one saved before first",
                                         "downfit " + std::string(schema_moved_command.usage))});
    }
    const Result<Schemas> schemas = load_schemas(call.text("schemas"), call.text("device"), call.environment);
    if (!schemas) return fail(call, schemas.problems());
    std::vector<std::string> read = paths;
    read.insert(read.end(), schemas.value().files.begin(), schemas.value().files.end());
    const Result<Output> output = find_output(call, read);
    if (!output) return fail(call, output.problems());
    Problems notes;
    const Result<std::vector<Input>> inputs = read_inputs(paths, schemas.value(), call.text("layout"), notes);
    if (!inputs) return fail(call, inputs.problems());
    if (inputs.value().size() != 2) {
        const std::string count = std::to_string(inputs.value().size());
        return fail(call, {usage_problem("the two files hold " + count + " dumps", "unpack them and name two dumps")});
    }
    call.err << report::problems_text(schemas.value().problems) << report::problems_text(notes);
    return tell_moved(call, output.value(), inputs.value());
}

}  // namespace downfit::cli
