#include "cli/schema_coverage.h"

#include <algorithm>

#include "cli/reading.h"
#include "cli/selection.h"
#include "report/coverage.h"

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
    add("saved-on", text_value("RELEASE"), "the release that saved presets with no stamp, or one that several have");
    declare_reading(add);
    declare_output(add);
}

Exit run_schema_coverage(const Call& call) {
    const std::vector<std::string> paths = call.operands();
    if (paths.empty())
        return fail(call, {usage_problem("no dump is named", "downfit " + std::string(schema_coverage_command.usage))});
    const Result<Reading> reading = read_dumps(call, paths);
    if (!reading) return fail(call, reading.problems());
    return tell_coverage(call, reading.value().output, reading.value().inputs);
}

}  // namespace downfit::cli
