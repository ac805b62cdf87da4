#include "cli/schema_moved.h"

#include <algorithm>

#include "cli/reading.h"
#include "report/moved.h"

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
    declare_reading(add);
    declare_output(add);
}

Exit run_schema_moved(const Call& call) {
    const std::vector<std::string> paths = call.operands();
    if (paths.size() != 2) {
        return fail(call, {usage_problem("name two dumps, the one saved before first",
                                         "downfit " + std::string(schema_moved_command.usage))});
    }
    const Result<Reading> reading = read_dumps(call, paths);
    if (!reading) return fail(call, reading.problems());
    if (reading.value().inputs.size() != 2) {
        const std::string count = std::to_string(reading.value().inputs.size());
        return fail(call, {usage_problem("the two files hold " + count + " dumps", "unpack them and name two dumps")});
    }
    return tell_moved(call, reading.value().output, reading.value().inputs);
}

}  // namespace downfit::cli
