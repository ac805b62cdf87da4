#include "cli/refit.h"

#include <algorithm>
#include <ostream>

#include "base/digest.h"
#include "cli/inputs.h"
#include "cli/leaning.h"
#include "cli/output.h"
#include "cli/schemas.h"
#include "cli/selection.h"
#include "dump/doubtful.h"
#include "files/input.h"
#include "files/output.h"
#include "refit/refit.h"
#include "report/problems.h"
#include "report/refit_report.h"
#include "report/ruling.h"
#include "report/summary.h"
#include "schema/substitutes.h"

namespace downfit::cli {

namespace {

/// What the command line asks for, once all of it is known to make sense.
struct RefitRequest {
    Schemas schemas;
    Problems notes;  ///< what was left out of archives
    Input input;
    std::vector<Input> others, older;
    std::string out;
    Output output;
    std::size_t target = 0;
    refit::RefitOptions options;
    schema::Substitutes substitutes;
    std::vector<std::size_t> holding;  ///< those for the release, as in options.substitutes

    [[nodiscard]] const schema::Device& device() const { return *input.dump.device; }
};

std::vector<std::string> paths_of(const Call& call, const char* option) {
    return call.has(option) ? call.given[option].as<std::vector<std::string>>() : std::vector<std::string>{};
}

Problems read_refit_options(const Call& call, RefitRequest& request) {
    const schema::Device& device = request.device();
    Problems problems;
    const Result<std::size_t> target = find_release(device, call.text("on"));
    if (!target) return target.problems();
    request.target = target.value();
    const schema::ReleaseEntry& release = device.releases[request.target];
    if (!release.schema) problems.push_back(usage_problem("there is no release file for " + release.name, "write one"));
    const bool stamped = std::any_of(request.input.dump.entries.begin(), request.input.dump.entries.end(),
                                     [](const dump::Entry& entry) { return entry.stamp.has_value(); });
    if (stamped && release.stamps.empty() && !release.stamp_from)
        problems.push_back(usage_problem("nobody says how " + release.name + " stamps its presets",
                                         "give a stamp in its release file"));
    if (call.has("saved-on")) {
        const Result<std::size_t> saved_on = find_release(device, call.text("saved-on"));
        if (saved_on) request.options.check.saved_on = saved_on.value();
        if (!saved_on) problems.push_back(saved_on.problems().front());
    }
    if (call.has("variant")) {
        const std::optional<Problem> problem = take_variant(device, call.text("variant"), request.options.check);
        if (problem) problems.push_back(*problem);
    }
    std::vector<Input> set = request.others;
    set.push_back(request.input);
    request.options.check.targets = {request.target};
    request.options.check.assets = known_assets(set);
    request.options.check.settings = unit_settings(set);
    request.options.layout = call.text("layout");
    for (const Input& older : request.older) request.options.older.push_back({&older.dump});
    return problems;
}

Problems read_substitutes_option(const Call& call, RefitRequest& request) {
    const std::string path = call.text("substitutes");
    if (path.empty()) return {};
    Result<std::string> text = files::read_text(path);
    if (!text) return text.problems();
    Result<schema::Substitutes> read = schema::read_substitutes({path, std::move(text).value()});
    if (!read) return read.problems();
    request.substitutes = std::move(read).value();
    Problems problems = check_substitutes(request.substitutes, request.device(), request.target);
    for (std::size_t i = 0; i < request.substitutes.list.size(); ++i) {
        const schema::Substitution& entry = request.substitutes.list[i];
        if (!entry.holds_on(request.device().releases[request.target].name)) continue;
        request.holding.push_back(i);
        request.options.substitutes.push_back({entry.parameter, entry.lost, entry.instead});
    }
    return problems;
}

/// The dumps that an option names, all of the device of the one that is refitted.
Problems read_others(const Call& call, const char* option, RefitRequest& request, std::vector<Input>& inputs) {
    const std::vector<std::string> paths = paths_of(call, option);
    if (paths.empty()) return {};
    Result<std::vector<Input>> read = read_inputs(paths, request.schemas, call.text("layout"), request.notes);
    if (!read) return read.problems();
    inputs = std::move(read).value();
    for (const Input& input : inputs) {
        if (input.dump.device == &request.device()) continue;
        return {{input.dump.file, "is of another device than " + request.input.dump.file, "a dump of the same", {}}};
    }
    return {};
}

Result<RefitRequest> read_refit_request(const Call& call) {
    const std::vector<std::string> operands = call.operands();
    const std::string usage = "downfit " + std::string(refit_command.usage);
    if (operands.size() != 1)
        return usage_problem(operands.empty() ? "no dump is named" : "one dump at a time is refitted", usage);
    if (!call.has("on")) return usage_problem("no release is named", "--on RELEASE");
    if (!call.has("out")) return usage_problem("no file to write is named", "--out FILE");
    RefitRequest request;
    request.out = call.text("out");
    if (request.out.empty() || request.out == "-")
        return usage_problem("refit writes a file, and reads it again from there", "--out FILE");
    Result<Schemas> schemas = load_schemas(call.text("schemas"), call.text("device"), call.environment);
    if (!schemas) return schemas.problems();
    request.schemas = std::move(schemas).value();
    Result<Output> output = find_output(call, {});
    if (!output) return output.problems();
    request.output = std::move(output).value();
    std::vector<std::string> read = operands;
    for (const char* option : {"with", "fill-from"}) {
        for (const std::string& path : paths_of(call, option)) read.push_back(path);
    }
    if (call.has("substitutes")) read.push_back(call.text("substitutes"));
    read.insert(read.end(), request.schemas.files.begin(), request.schemas.files.end());
    for (const std::string& path : read) {
        if (files::is_same_file(request.out, path))
            return Problem{request.out, "is one of the files that are read; Downfit never changes those", {}, {}};
    }
    Result<std::vector<Input>> inputs = read_inputs(operands, request.schemas, call.text("layout"), request.notes);
    if (!inputs) return inputs.problems();
    if (inputs.value().size() != 1)
        return usage_problem(operands.front() + " holds several dumps", "name one of them, unpacked");
    request.input = std::move(inputs.value().front());
    Problems problems = read_others(call, "with", request, request.others);
    if (problems.empty()) problems = read_others(call, "fill-from", request, request.older);
    if (problems.empty()) problems = read_refit_options(call, request);
    if (problems.empty()) problems = read_substitutes_option(call, request);
    if (!problems.empty()) return problems;
    return request;
}

/// The substitutes that hold for the release, and how often each was put.
std::vector<report::SubstituteUse> uses_of(const RefitRequest& request, const refit::RefitResult& result) {
    std::vector<report::SubstituteUse> uses;
    for (std::size_t i = 0; i < request.holding.size(); ++i) {
        const schema::Substitution& entry = request.substitutes.list[request.holding[i]];
        report::SubstituteUse use{entry.parameter, schema::setting_text(entry.lost),
                                  schema::setting_text(entry.instead), entry.reason, 0};
        for (const refit::Refitted& preset : result.presets) {
            const bool here = std::any_of(preset.notes.begin(), preset.notes.end(), [&](const refit::Note& note) {
                return note.kind == refit::Note::Kind::substituted && note.substitute == i;
            });
            use.presets += preset.fate == refit::Fate::written && here ? 1U : 0U;
        }
        uses.push_back(std::move(use));
    }
    return uses;
}

/// Options that a comparison or a check of the new file needs again.
std::string refit_again(const Call& call) {
    std::string text;
    for (const char* option : {"variant", "schemas", "device", "layout"}) {
        if (call.has(option)) text += std::string(" --") + option + ' ' + report::shell_word(call.text(option));
    }
    return text;
}

report::RefitReport make_refit_report(const Call& call, const RefitRequest& request, refit::RefitResult result) {
    const dump::Dump& dump = request.input.dump;
    report::RefitReport report;
    report.source = dump.file;
    report.substitutes = request.substitutes.file;
    report.substitutes_digest = request.substitutes.digest;
    report.uses = uses_of(request, result);
    for (std::size_t i = 0; i < request.older.size(); ++i) {
        report.older.push_back(request.older[i].dump.file);
        if (result.older[i] == 0) report.without.push_back(report.older.back());
    }
    report::CheckReport& check = report.check;
    check.device = &request.device();
    check.version = version();
    check.targets = {request.target};
    check.saved_on = call.text("saved-on");
    check.variant = call.text("variant");
    const Problem* damage = first_damage(dump);
    report::InputFile file{dump.file,
                           dump.digest,
                           kinds_in(dump),
                           {},
                           result.check.absent,
                           dump.problems,
                           damage != nullptr ? damage->what : std::string()};
    check.again = refit_again(call);
    for (std::size_t i = 0; i < result.check.presets.size(); ++i) {
        compat::PresetCheck& preset = result.check.presets[i];
        const dump::Entry& entry = dump.entries[preset.entry];
        if (entry.slot < 0) preset.slot = -1;
        if (preset.state == dump::SlotState::empty) {
            file.empty.push_back(preset.slot);
            continue;
        }
        check.presets.push_back({0, std::move(preset), entry.damage});
        report.presets.push_back(std::move(result.presets[i]));
    }
    std::sort(file.empty.begin(), file.empty.end());
    check.files.push_back(std::move(file));
    report::rule(check, {}, {});
    return report;
}

/// Writes the file, and reads it again from where it lies.
std::optional<Problem> write_proven(const RefitRequest& request, const Bytes& bytes) {
    const auto existing = request.output.force ? files::Existing::replace : files::Existing::keep;
    const std::string_view content(reinterpret_cast<const char*>(bytes.data()), bytes.size());
    if (auto problem = files::write_file(request.out, content, existing)) return problem;
    const Result<Bytes> again = files::read_file(request.out);
    if (!again) return again.problems().front();
    if (again.value() == bytes) return std::nullopt;
    return Problem{request.out, "does not hold what was written: do not use it", {}, "try another disk"};
}

Exit status_of_refit(const report::RefitReport& report) {
    const report::CheckReport& check = report.check;
    const bool damaged = !check.files.front().damage.empty() ||
                         std::any_of(check.presets.begin(), check.presets.end(),
                                     [](const auto& preset) { return preset.check.state == dump::SlotState::damaged; });
    if (damaged || check.presets.empty()) return Exit::bad_input;
    const report::PolicyTally tally = report::policy_tally(check);
    if (report.out.empty() || tally.failing > 0) return Exit::not_within;
    return tally.undecided > 0 ? Exit::undecided : Exit::within;
}

}  // namespace

void declare_refit(options::options_description_easy_init add) {
    add("on", text_value("RELEASE"), "the release to write for")                       //
        ("out", text_value("FILE"), "the dump to write, which must not be there yet")  //
        ("force", "replace FILE if it is there")                                       //
        ("fill-from", options::value<std::vector<std::string>>()->value_name("DUMP")->multitoken(),
         "older copies of the same presets, by name: what is lost is taken from them")  //
        ("substitutes", text_value("FILE"),
         "what to put where the release lacks a model or another choice: see docs/formats.md")  //
        ("with", options::value<std::vector<std::string>>()->value_name("DUMP")->multitoken(),
         "other dumps of the set: impulse response names, unit settings")  //
        ("saved-on", text_value("RELEASE"),
         "the release that saved presets with no stamp, or one that several have")                               //
        ("variant", text_value("NAME"), "the variant of the unit; if left out, all are tried where it matters")  //
        ("detail", "tell every finding of every preset")                                                         //
        ("summary", "of what still differs only the summary")                                                    //
        ("schemas", text_value("DIR"),
         "folder of schema files; else $DOWNFIT_SCHEMAS, ./schemas, or those installed")  //
        ("device", text_value("NAME"), "the device, where the dump alone does not tell")  //
        ("layout", text_value("NAME"), "the layout to read the dump by, where nothing tells it")(
            "format", text_value("FORMAT"), "text (if left out) or json");
    declare_style(add);
}

Exit run_refit(const Call& call) {
    Result<RefitRequest> read = read_refit_request(call);
    if (!read) return fail(call, read.problems());
    const RefitRequest& request = read.value();
    call.err << report::problems_text(request.schemas.problems) << report::problems_text(request.notes);
    Result<refit::RefitResult> result = refit::refit(request.input.dump, request.input.bytes, request.options);
    if (!result) return fail(call, result.problems());
    const Bytes bytes = std::move(result.value().bytes);
    report::RefitReport report = make_refit_report(call, request, std::move(result).value());
    const bool any = std::any_of(report.presets.begin(), report.presets.end(),
                                 [](const refit::Refitted& preset) { return preset.fate != refit::Fate::left; });
    if (any) {
        if (const auto problem = write_proven(request, bytes)) return fail(call, {*problem});
        report.out = request.out;
        report.digest = sha256_hex(bytes);
        report.bytes = bytes.size();
    }
    const report::Extent extent = call.has("summary")  ? report::Extent::summary
                                  : call.has("detail") ? report::Extent::details
                                                       : report::Extent::presets;
    call.out << (request.output.format == Format::json ? report::refit_json(report)
                                                       : report::refit_text(report, extent, request.output.style));
    return status_of_refit(report);
}

}  // namespace downfit::cli
