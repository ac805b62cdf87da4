#include "cli/schema_coverage.h"

#include <algorithm>
#include <ostream>

#include "cli/inputs.h"
#include "cli/output.h"
#include "cli/schemas.h"
#include "cli/selection.h"
#include "report/coverage.h"
#include "report/problems.h"

namespace downfit::cli {

namespace {

Exit tell_coverage(const Call& call, const Output& output, const std::vector<Input>& inputs) {
    const schema::Device& device = *inputs.front().dump.device;
    study::CoverageOptions options;
    options.settings = true;
    if (call.has("saved-on")) {
        const Result<std::size_t> release = find_release(device, call.text("saved-on"));
        if (!release) return fail(call, release.problems());
        options.saved_on = release.value();
    }
    report::CoverageReport report;
    report.device = &device;
    report.version = version();
    std::vector<const dump::Dump*> dumps;
    for (const Input& input : inputs) {
        dumps.push_back(&input.dump);
        report.files.push_back({input.dump.file, input.dump.digest, input.dump.problems});
    }
    study::Readers readers(device);
    report.coverage = study::find_coverage(dumps, readers, options);
    const std::string text =
        output.format == Format::json ? report::coverage_json(report) : report::coverage_text(report, output.style);
    const Exit delivered = deliver(call, output, text);
    if (delivered != Exit::within) return delivered;
    const bool damaged = std::any_of(inputs.begin(), inputs.end(),
                                     [](const Input& input) { return first_damage(input.dump) != nullptr; });
    if (damaged || report.coverage.damaged > 0) return Exit::bad_input;
    return report.coverage.parts.empty() || report.coverage.without_release > 0 ? Exit::undecided : Exit::within;
}

}  // namespace

void declare_schema_coverage(options::options_description_easy_init add) {
    add("saved-on", text_value("RELEASE"), "the release that saved presets with no stamp, or one that several have")  //
        ("schemas", text_value("DIR"),
         "folder of schema files; else $DOWNFIT_SCHEMAS, ./schemas, or those installed")  //
        ("device", text_value("NAME"), "the device, where the dump alone does not tell")(
            "layout", text_value("NAME"), "the layout to read the files by, for files that nothing tells apart");
    declare_output(add);
}

Exit run_schema_coverage(const Call& call) {
    const std::vector<std::string> paths = call.operands();
    if (paths.empty())
        return fail(call, {usage_problem("no dump is named", "downfit " + std::string(schema_coverage_command.usage))});
    const Result<Schemas> schemas = load_schemas(call.text("schemas"), call.text("device"), call.environment);
    if (!schemas) return fail(call, schemas.problems());
    std::vector<std::string> read = paths;
    read.insert(read.end(), schemas.value().files.begin(), schemas.value().files.end());
    const Result<Output> output = find_output(call, read);
    if (!output) return fail(call, output.problems());
    Problems notes;
    const Result<std::vector<Input>> inputs = read_inputs(paths, schemas.value(), call.text("layout"), notes);
    if (!inputs) return fail(call, inputs.problems());
    call.err << report::problems_text(schemas.value().problems) << report::problems_text(notes);
    return tell_coverage(call, output.value(), inputs.value());
}

}  // namespace downfit::cli
