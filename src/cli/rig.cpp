#include "cli/rig.h"

#include <algorithm>
#include <ostream>

#include "cli/output.h"
#include "cli/policy.h"
#include "cli/progress.h"
#include "cli/rig_files.h"
#include "report/problems.h"

namespace downfit::cli {

namespace {

/// Files of the call and the rig that the report must not replace.
std::vector<std::string> read_files(const Call& call, const RigFiles& files, const Schemas& schemas) {
    std::vector<std::string> read = call.operands();
    if (call.has("policy")) read.push_back(call.text("policy"));
    read.insert(read.end(), schemas.files.begin(), schemas.files.end());
    for (const schema::RigDump& dump : files.rig.dumps) read.push_back(path_of(files.rig, dump));
    return read;
}

std::string render_rig(const Call& call, const Output& output, const report::RigReport& report) {
    if (output.format == Format::json) return report::rig_json(report);
    const report::Outline outline = report::rig_outline(report);
    if (output.format == Format::html) return report::outline_html(outline);
    if (output.format == Format::markdown) return report::outline_markdown(outline, call.has("summary"));
    return report::outline_text(outline, call.has("summary"), output.style);
}

Exit status_of_rig(const report::RigReport& report) {
    const auto damaged = [](const report::InputFile& file) { return !file.damage.empty(); };
    if (std::any_of(report.files.begin(), report.files.end(), damaged)) return Exit::bad_input;
    Exit status = Exit::within;
    for (std::size_t song = 0; song < report.check->songs.size(); ++song) {
        const rig::Ruled ruled = report.check->ruled(song);
        if (ruled == rig::Ruled::failing || ruled == rig::Ruled::lacking) return Exit::not_within;
        if (ruled == rig::Ruled::undecided) status = Exit::undecided;
    }
    return status;
}

Result<Output> find_rig_output(const Call& call, const std::vector<std::string>& read) {
    const std::string format = call.text("format");
    if (format == "csv" || format == "junit" || format == "sarif")
        return Problem{std::monostate(),
                       "--format cannot be \"" + format + "\" of a rig",
                       "one of text, json, markdown, html",
                       {}};
    if (call.has("summary") && (format == "json" || format == "html"))
        return usage_problem("--summary goes with a text or markdown report", "leave one of them out");
    return find_output(call, read, all_formats);
}

}  // namespace

void declare_rig(options::options_description_easy_init add) {
    add("summary", "only the summary: about a dozen lines")                                                  //
        ("policy", text_value("FILE"), "tolerances, what fails, and what was accepted, from a policy file")  //
        ("today", text_value("DATE"), "the date by which acceptances end, YYYY-MM-DD; today's if left out")  //
        ("schemas", text_value("DIR"), "folder of schema files; else $DOWNFIT_SCHEMAS, ./schemas, or those installed");
    declare_output(add, "text (if left out), json, markdown or html");
}

Exit run_rig(const Call& call) {
    const std::vector<std::string> operands = call.operands();
    if (operands.empty())
        return fail(call, {usage_problem("no rig file is named", "downfit " + std::string(rig_command.usage))});
    RigFiles files;
    Result<schema::Rig> rig = read_rig_file(operands.front());
    if (!rig) return fail(call, rig.problems());
    files.rig = std::move(rig).value();
    schema::Policy policy;
    Problems problems = read_policy_options(call, policy, files.material.today);
    if (!problems.empty()) return fail(call, problems);
    const Result<Schemas> schemas = load_schemas(call.text("schemas"), {}, call.environment);
    if (!schemas) return fail(call, schemas.problems());
    const Result<Output> output = find_rig_output(call, read_files(call, files, schemas.value()));
    if (!output) return fail(call, output.problems());
    problems = read_rig_dumps(schemas.value(), {operands.begin() + 1, operands.end()}, files);
    if (problems.empty() && call.has("policy")) {
        files.material.policy = &policy;
        problems = check_rig_policy(policy, files.material.devices);
    }
    if (!problems.empty()) return fail(call, problems);
    call.err << report::problems_text(schemas.value().problems) << report::problems_text(files.notes);
    Progress progress(call, "presets");
    const Result<rig::RigCheck> check =
        rig::check_rig(files.material, [&](std::size_t done, std::size_t of) { progress.show(done, of); });
    progress.finish();
    if (!check) return fail(call, check.problems());
    const rig::Moves moves = rig::find_moves(files.material, check.value());
    const report::RigReport report{version(), &files.material, &check.value(), &moves, files.files};
    const Exit delivered = deliver(call, output.value(), render_rig(call, output.value(), report));
    return delivered == Exit::within ? status_of_rig(report) : delivered;
}

}  // namespace downfit::cli
