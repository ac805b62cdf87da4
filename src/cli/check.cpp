#include "cli/check.h"

#include <algorithm>
#include <ostream>

#include "base/near_miss.h"
#include "cli/inputs.h"
#include "cli/leaning.h"
#include "cli/output.h"
#include "cli/policy.h"
#include "cli/progress.h"
#include "cli/reading.h"
#include "cli/rig_files.h"
#include "cli/schemas.h"
#include "cli/selection.h"
#include "cli/tonight.h"
#include "compat/watch.h"
#include "dump/doubtful.h"
#include "report/check_csv.h"
#include "report/check_html.h"
#include "report/check_json.h"
#include "report/check_junit.h"
#include "report/check_markdown.h"
#include "report/check_sarif.h"
#include "report/check_text.h"
#include "report/problems.h"
#include "report/ruling.h"
#include "report/summary.h"

namespace downfit::cli {

namespace {

/// What the command line asks for, once all of it is known to make sense.
struct CheckRequest {
    std::vector<std::string> paths;
    Schemas schemas;
    Problems notes;  ///< what was left out of folders and archives
    std::vector<Input> inputs;
    Selection selection;
    Output output;
    Targets targets;
    schema::Policy policy;
    std::string today;
    std::optional<report::BaselineFile> baseline;
    std::optional<schema::Rig> songs;
    compat::CheckOptions options;

    [[nodiscard]] const schema::Device& device() const { return *inputs.front().dump.device; }
};

Problems read_check_options(const Call& call, CheckRequest& request) {
    const schema::Device& device = request.device();
    Problems problems;
    Result<Targets> targets = find_targets(device, call.text("on"));
    if (targets) {
        request.targets = std::move(targets).value();
    } else {
        problems = targets.problems();
    }
    if (call.has("saved-on")) {
        const Result<std::size_t> saved_on = find_release(device, call.text("saved-on"));
        if (saved_on) request.options.saved_on = saved_on.value();
        if (!saved_on) problems.push_back(saved_on.problems().front());
    }
    if (call.has("variant")) {
        const std::optional<Problem> problem = take_variant(device, call.text("variant"), request.options);
        if (problem) problems.push_back(*problem);
    }
    request.options.targets = request.targets.releases;
    const Problems misfits = schema::check_policy(request.policy, device);
    problems.insert(problems.end(), misfits.begin(), misfits.end());
    if (request.baseline && request.baseline->device != device.name)
        problems.push_back(
            {request.baseline->file,
             "the report is on \"" + request.baseline->device + "\", the dumps are of \"" + device.name + '"',
             "a report on the same device",
             {}});
    request.options.hearing = compat::hearing_of(request.policy.tolerances);
    request.options.others = !request.policy.accepted.empty();
    request.options.floors = request.targets.all;
    request.options.assets = known_assets(request.inputs);
    request.options.settings = unit_settings(request.inputs);
    return problems;
}

Result<CheckRequest> read_check_request(const Call& call) {
    CheckRequest request;
    request.paths = call.operands();
    if (request.paths.empty()) return usage_problem("no dump is named", "downfit " + std::string(check_command.usage));
    if (!call.has("on")) return usage_problem("no release is named", "--on RELEASE, or --on all");
    const std::string format = call.text("format");
    const bool for_people = format.empty() || format == "text" || format == "markdown";
    if (call.has("summary") && (call.has("detail") || !for_people))
        return usage_problem("--summary goes with a text report, and without --detail", "leave one of them out");
    Result<Selection> selection = Selection::parse(call.text("slot"), call.text("name"));
    if (!selection) return selection.problems();
    request.selection = std::move(selection).value();
    if (Problems problems = read_policy_options(call, request.policy, request.today); !problems.empty())
        return problems;
    if (Problems problems = read_baseline_option(call, request.baseline); !problems.empty()) return problems;
    if (call.has("songs")) {
        Result<schema::Rig> rig = read_rig_file(call.text("songs"));
        if (!rig) return rig.problems();
        request.songs = std::move(rig).value();
    }
    Result<Schemas> schemas = load_schemas(call.text("schemas"), call.text("device"), call.environment);
    if (!schemas) return schemas.problems();
    request.schemas = std::move(schemas).value();
    std::vector<std::string> read = request.paths;
    read.insert(read.end(), request.schemas.files.begin(), request.schemas.files.end());
    for (const char* option : {"policy", "baseline", "songs"}) {
        if (call.has(option)) read.push_back(call.text(option));
    }
    Result<Output> output = find_output(call, read, all_formats);
    if (!output) return output.problems();
    request.output = std::move(output).value();
    Result<std::vector<Input>> inputs = read_inputs(request.paths, request.schemas, call.text("layout"), request.notes);
    if (!inputs) return inputs.problems();
    request.inputs = std::move(inputs).value();
    Problems problems = read_check_options(call, request);
    if (!problems.empty()) return problems;
    return request;
}

/// Options that the same check needs again.
std::string check_again(const Call& call) {
    std::string text;
    for (const char* option : {"saved-on", "variant", "policy", "today", "baseline", "schemas", "device", "layout"}) {
        if (call.has(option)) text += std::string(" --") + option + ' ' + report::shell_word(call.text(option));
    }
    return text;
}

std::optional<Problem> add_file(const Input& input, const Selection& selection, compat::Checker& checker,
                                const compat::Watch& watch, report::CheckReport& report) {
    const dump::Dump& dump = input.dump;
    compat::DumpCheck checked = compat::check_dump(checker, dump, input.bytes, watch);
    if (checked.stopped) return checked.stopped;
    const Problem* damage = first_damage(dump);
    report::InputFile file{dump.file,
                           dump.digest,
                           kinds_in(dump),
                           {},
                           std::move(checked.absent),
                           dump.problems,
                           damage != nullptr ? damage->what : std::string()};
    for (compat::PresetCheck& preset : checked.presets) {
        const dump::Entry& entry = dump.entries[preset.entry];
        if (entry.slot < 0) preset.slot = -1;
        if (preset.state == dump::SlotState::empty) {
            file.empty.push_back(preset.slot);
        } else if (selection.takes(preset.slot, preset.name)) {
            report.presets.push_back({report.files.size(), std::move(preset), entry.damage});
        } else {
            ++report.left_out;
        }
    }
    std::sort(file.empty.begin(), file.empty.end());
    report.files.push_back(std::move(file));
    return std::nullopt;
}

Result<report::CheckReport> make_check_report(const Call& call, const CheckRequest& request) {
    report::CheckReport report;
    report.device = &request.device();
    report.version = version();
    report.targets = request.targets.releases;
    report.all_releases = request.targets.all;
    report.saved_on = call.text("saved-on");
    report.variant = call.text("variant");
    report.slots = call.text("slot");
    report.name = call.text("name");
    report.again = check_again(call);
    compat::Checker checker(*report.device, request.options);
    Progress progress(call, "presets");
    std::size_t before = 0, all = 0;
    for (const Input& input : request.inputs) all += input.dump.entries.size();
    for (const Input& input : request.inputs) {
        const auto watch = [&](std::size_t done, std::size_t) { progress.show(before + done, all); };
        if (std::optional<Problem> problem = add_file(input, request.selection, checker, watch, report)) {
            return *std::move(problem);
        }
        before += input.dump.entries.size();
    }
    report.leaning = find_leaning(request.inputs, request.options.assets, request.options, checker);
    report.unexplained = find_unexplained(request.inputs, request.options.saved_on);
    if (request.songs) {
        if (Problems problems = find_tonight(*request.songs, report); !problems.empty()) return problems;
    }
    report.baseline = request.baseline;
    report::rule(report, request.policy, request.today);
    return report;
}

report::Extent extent_of(const Call& call, const report::CheckReport& report) {
    if (call.has("summary")) return report::Extent::summary;
    return call.has("detail") || report.filtered() ? report::Extent::details : report::Extent::presets;
}

bool holds_presets(const report::InputFile& file) {
    return std::find(file.holds.begin(), file.holds.end(), "presets") != file.holds.end();
}

Exit status_of_check(const report::CheckReport& report) {
    const bool damaged = std::any_of(report.presets.begin(), report.presets.end(),
                                     [](const auto& preset) { return preset.check.state == dump::SlotState::damaged; });
    const bool damaged_file = std::any_of(report.files.begin(), report.files.end(),
                                          [](const report::InputFile& file) { return !file.damage.empty(); });
    if (damaged_file || damaged) return Exit::bad_input;
    if (report.presets.empty() && report.left_out > 0) return Exit::bad_input;
    if (std::none_of(report.files.begin(), report.files.end(), holds_presets)) return Exit::bad_input;
    const report::PolicyTally tally = report::policy_tally(report);
    if (tally.failing > 0) return Exit::not_within;
    return tally.undecided > 0 ? Exit::undecided : Exit::within;
}

}  // namespace

void declare_check(options::options_description_easy_init add) {
    add("on", text_value("RELEASE"), "the release to load on; several with commas between, or all")  //
        ("saved-on", text_value("RELEASE"),
         "the release that saved presets with no stamp, or one that several have")                               //
        ("variant", text_value("NAME"), "the variant of the unit; if left out, all are tried where it matters")  //
        ("slot", text_value("N[,N-M]"), "only these slots, numbered as the unit shows them; with all details")   //
        ("name", text_value("TEXT"), "only presets with TEXT in their name; with all details")                   //
        ("policy", text_value("FILE"), "tolerances, what fails, and what was accepted, from a policy file")      //
        ("today", text_value("DATE"), "the date by which acceptances end, YYYY-MM-DD; today's if left out")      //
        ("baseline", text_value("REPORT"), "an earlier JSON report: only what is new since then fails")          //
        ("songs", text_value("RIG"), "a rig file: the presets of its songs come first")                          //
        ("detail", "tell every finding of every preset")                                                         //
        ("summary", "only the summary: about a dozen lines");
    declare_reading(add);
    declare_output(add, "text (if left out), json, csv, markdown, junit (XML), sarif or html");
}

namespace {

std::string render_check(const Call& call, const Output& output, const report::CheckReport& report) {
    switch (output.format) {
        case Format::json: return report::check_json(report);
        case Format::csv: return report::check_csv(report);
        case Format::markdown: return report::check_markdown(report, extent_of(call, report));
        case Format::junit: return report::check_junit(report);
        case Format::sarif: return report::check_sarif(report);
        case Format::html: return report::check_html(report);
        case Format::text: break;
    }
    return report::check_text(report, extent_of(call, report), output.style);
}

}  // namespace

Exit run_check(const Call& call) {
    const Result<CheckRequest> read = read_check_request(call);
    if (!read) return fail(call, read.problems());
    const CheckRequest& request = read.value();
    // Another device's broken schema is no reason to stop, and none to be silent.
    call.err << report::problems_text(request.schemas.problems);
    call.err << report::problems_text(dump::doubtful_settings(request.device()));
    call.err << report::problems_text(request.notes);
    const Result<report::CheckReport> made = make_check_report(call, request);
    if (!made) return fail(call, made.problems());
    const report::CheckReport& report = made.value();
    const std::string text = render_check(call, request.output, report);
    const Exit delivered = deliver(call, request.output, text);
    return delivered == Exit::within ? status_of_check(report) : delivered;
}

}  // namespace downfit::cli
