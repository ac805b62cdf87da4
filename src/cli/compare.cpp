#include "cli/compare.h"

#include <algorithm>
#include <ostream>

#include "cli/inputs.h"
#include "cli/leaning.h"
#include "cli/output.h"
#include "cli/policy.h"
#include "cli/schemas.h"
#include "cli/selection.h"
#include "dump/doubtful.h"
#include "report/compare_report.h"
#include "report/problems.h"

namespace downfit::cli {

namespace {

/// What the command line asks for, once all of it is known to make sense.
struct CompareRequest {
    Schemas schemas;
    Problems notes;  ///< what was left out of folders and archives
    std::vector<Input> a, b;
    Selection selection;
    Output output;
    schema::Policy policy;
    compat::CheckOptions options;
    compat::CompareOptions compare;

    [[nodiscard]] const schema::Device& device() const { return *a.front().dump.device; }
};

std::optional<Problem> wrong_compare_word(const char* option, const std::string& word, const std::string& expected) {
    return Problem{std::monostate(), std::string(option) + " cannot be \"" + word + '"', expected, {}};
}

/// Options that are words of their own.
std::optional<Problem> read_words(const Call& call, CompareRequest& request) {
    const std::string match = call.text("match");
    if (match == "slot") request.compare.match = compat::MatchBy::slot;
    if (match == "name") request.compare.match = compat::MatchBy::name;
    if (!match.empty() && !request.compare.match) return wrong_compare_word("--match", match, "slot or name");
    const std::string read_back = call.text("read-back");
    if (read_back == "stored") request.compare.read_back = compat::ReadBack::stored;
    if (read_back == "loaded") request.compare.read_back = compat::ReadBack::loaded;
    if (!read_back.empty() && request.compare.read_back == compat::ReadBack::none)
        return wrong_compare_word("--read-back", read_back,
                                  "stored (a dump of memory) or loaded (dumps of what plays after calling up)");
    if (call.has("on") && request.compare.read_back != compat::ReadBack::loaded)
        return usage_problem("--on goes with --read-back loaded: the release of the unit that was read back",
                             "leave it out");
    if (call.has("summary") && (call.has("detail") || call.text("format") == "json"))
        return usage_problem("--summary goes with a text report, and without --detail", "leave one of them out");
    request.compare.exact = call.has("exact");
    return std::nullopt;
}

/// The release of the unit that was read back: the one asked for, or the one that all presets of B name.
std::optional<Problem> find_unit(const Call& call, CompareRequest& request) {
    if (request.compare.read_back != compat::ReadBack::loaded) return std::nullopt;
    const schema::Device& device = request.device();
    std::optional<std::size_t> found;
    if (call.has("on")) {
        const Result<std::size_t> release = find_release(device, call.text("on"));
        if (!release) return release.problems().front();
        found = release.value();
    } else {
        for (const Input& input : request.b) {
            for (const dump::Entry& entry : input.dump.entries) {
                if (device.framings[entry.framing].holds != schema::Holds::presets || !entry.stamp) continue;
                if (entry.state != dump::SlotState::filled) continue;
                const std::vector<std::size_t> releases = device.releases_with(*entry.stamp);
                if (releases.empty()) continue;
                if (found && *found != releases.back())
                    return usage_problem("B is stamped by several releases: " + device.releases[*found].name + " and " +
                                             device.releases[releases.back()].name,
                                         "--on RELEASE says which one the unit runs");
                found = releases.back();
            }
        }
    }
    if (!found) return usage_problem("the stamps of B name no release", "--on RELEASE says which one the unit runs");
    if (!device.releases[*found].schema)
        return usage_problem("there is no release file for " + device.releases[*found].name, "write one");
    request.compare.release = found;
    return std::nullopt;
}

Problems read_device_options(const Call& call, CompareRequest& request) {
    const schema::Device& device = request.device();
    Problems problems;
    if (request.b.front().dump.device != &device) {
        return {{request.b.front().dump.file,
                 "is of another device (" + request.b.front().dump.device->name + ") than " +
                     request.a.front().dump.file + " (" + device.name + ')',
                 "two dumps of one device",
                 {}}};
    }
    if (call.has("saved-on")) {
        const Result<std::size_t> saved_on = find_release(device, call.text("saved-on"));
        if (saved_on) request.options.saved_on = request.compare.saved_on = saved_on.value();
        if (!saved_on) problems.push_back(saved_on.problems().front());
    }
    if (call.has("variant")) {
        const std::optional<Problem> problem = take_variant(device, call.text("variant"), request.options);
        if (problem) problems.push_back(*problem);
    }
    if (const auto problem = find_unit(call, request)) problems.push_back(*problem);
    const Problems misfits = schema::check_policy(request.policy, device);
    problems.insert(problems.end(), misfits.begin(), misfits.end());
    request.options.hearing = compat::hearing_of(request.policy.tolerances);
    request.compare.fails = request.policy.fails;
    return problems;
}

Result<CompareRequest> read_compare_request(const Call& call) {
    CompareRequest request;
    const std::vector<std::string> paths = call.operands();
    if (paths.size() != 2)
        return usage_problem("two dumps are wanted", "downfit " + std::string(compare_command.usage));
    if (const auto problem = read_words(call, request)) return *problem;
    Result<Selection> selection = Selection::parse(call.text("slot"), call.text("name"));
    if (!selection) return selection.problems();
    request.selection = std::move(selection).value();
    std::string today;
    if (Problems problems = read_policy_options(call, request.policy, today); !problems.empty()) return problems;
    Result<Schemas> schemas = load_schemas(call.text("schemas"), call.text("device"), call.environment);
    if (!schemas) return schemas.problems();
    request.schemas = std::move(schemas).value();
    std::vector<std::string> read = paths;
    read.insert(read.end(), request.schemas.files.begin(), request.schemas.files.end());
    if (call.has("policy")) read.push_back(call.text("policy"));
    Result<Output> output = find_output(call, read);
    if (!output) return output.problems();
    request.output = std::move(output).value();
    for (const bool second : {false, true}) {
        Result<std::vector<Input>> inputs =
            read_inputs({paths[second ? 1 : 0]}, request.schemas, call.text("layout"), request.notes);
        if (!inputs) return inputs.problems();
        (second ? request.b : request.a) = std::move(inputs).value();
    }
    if (Problems problems = read_device_options(call, request); !problems.empty()) return problems;
    return request;
}

bool holds_presets(const dump::Dump& dump) {
    const std::vector<std::string> kinds = kinds_in(dump);
    return std::find(kinds.begin(), kinds.end(), "presets") != kinds.end();
}

/// Files and counts of one side; files without presets are named, not compared.
report::CompareSide side_of(const std::vector<Input>& inputs) {
    report::CompareSide side;
    for (const Input& input : inputs) {
        const Problem* damage = first_damage(input.dump);
        side.files.push_back({input.dump.file,
                              input.dump.digest,
                              kinds_in(input.dump),
                              {},
                              {},
                              input.dump.problems,
                              damage != nullptr ? damage->what : std::string()});
        for (const dump::Entry& entry : input.dump.entries) {
            const bool preset = input.dump.device->framings[entry.framing].holds == schema::Holds::presets;
            if (preset && entry.state == dump::SlotState::filled) ++side.presets;
        }
    }
    return side;
}

compat::DumpSet set_of(const std::vector<Input>& inputs, const Bytes& settings) {
    compat::DumpSet set;
    for (const Input& input : inputs) set.parts.push_back({&input.dump, input.bytes});
    set.settings = settings;
    return set;
}

report::CompareReport make_compare_report(const Call& call, const CompareRequest& request) {
    report::CompareReport report;
    report.device = &request.device();
    report.version = version();
    report.a = side_of(request.a);
    report.b = side_of(request.b);
    report.read_back = request.compare.read_back;
    report.release = request.compare.release;
    report.match_asked = call.has("match");
    report.exact = request.compare.exact;
    report.saved_on = call.text("saved-on");
    report.variant = call.text("variant");
    report.slots = call.text("slot");
    report.name = call.text("name");
    report.policy = request.policy;
    for (const std::vector<Input>* inputs : {&request.a, &request.b}) {
        for (const Input& input : *inputs) {
            const std::vector<std::string> kinds = kinds_in(input.dump);
            report.settings_given = report.settings_given || kinds.size() > (holds_presets(input.dump) ? 1U : 0U);
        }
    }
    const Bytes settings_a = unit_settings(request.a);
    const Bytes settings_b = unit_settings(request.b);
    compat::Comparer comparer(request.device(), request.options);
    compat::CompareOptions options = request.compare;
    if (!request.selection.empty())
        options.wanted = [&](int slot, const std::string& name) { return request.selection.takes(slot, name); };
    report.comparison =
        compat::compare_dumps(comparer, set_of(request.a, settings_a), set_of(request.b, settings_b), options);
    return report;
}

Exit status_of_compare(const report::CompareReport& report, const CompareRequest& request) {
    const compat::Comparison& comparison = report.comparison;
    bool damaged = comparison.count(compat::Alike::damaged) > 0 || comparison.pairs.empty();
    for (const std::vector<Input>* inputs : {&request.a, &request.b}) {
        for (const Input& input : *inputs) damaged = damaged || first_damage(input.dump) != nullptr;
    }
    if (damaged) return Exit::bad_input;
    const bool fails = std::any_of(comparison.pairs.begin(), comparison.pairs.end(),
                                   [](const compat::ComparedPair& pair) { return pair.fails; }) ||
                       std::any_of(comparison.rule_faults.begin(), comparison.rule_faults.end(),
                                   [](const compat::RuleFault& fault) { return fault.stated.has_value(); });
    if (fails) return Exit::not_within;
    return comparison.count(compat::Alike::undecided) > 0 ? Exit::undecided : Exit::within;
}

}  // namespace

void declare_compare(options::options_description_easy_init add) {
    add("read-back", text_value("WHAT"), "what B was read back from a unit: stored or loaded, see above")  //
        ("on", text_value("RELEASE"),
         "with --read-back loaded: the release of the unit, where B's stamps do not tell")                           //
        ("match", text_value("BY"), "pair presets by slot or by name; if left out, by slot where all are numbered")  //
        ("policy", text_value("FILE"), "tolerances, and from what on a difference fails, from a policy file")        //
        ("exact", "any value that differs fails, whether anyone would hear it or not")                               //
        ("saved-on", text_value("RELEASE"),
         "the release that saved presets with no stamp, or one that several have")                               //
        ("variant", text_value("NAME"), "the variant of the unit; if left out, all are tried where it matters")  //
        ("slot", text_value("N[,N-M]"), "only these slots, numbered as the unit shows them")                     //
        ("name", text_value("TEXT"), "only presets with TEXT in their name")                                     //
        ("detail", "tell every difference, slight ones too, and where it stands in both files")                  //
        ("summary", "only the summary")                                                                          //
        ("schemas", text_value("DIR"),
         "folder of schema files; else $DOWNFIT_SCHEMAS, ./schemas, or those installed")  //
        ("device", text_value("NAME"), "the device, where the dumps alone do not tell")(
            "layout", text_value("NAME"), "the layout to read both by, for files that nothing tells apart");
    declare_output(add);
}

Exit run_compare(const Call& call) {
    const Result<CompareRequest> read = read_compare_request(call);
    if (!read) return fail(call, read.problems());
    const CompareRequest& request = read.value();
    call.err << report::problems_text(request.schemas.problems);
    call.err << report::problems_text(dump::doubtful_settings(request.device()));
    call.err << report::problems_text(request.notes);
    const report::CompareReport report = make_compare_report(call, request);
    if (report.comparison.stopped) return fail(call, {*report.comparison.stopped});
    if (report.comparison.pairs.empty()) {
        const bool filtered = !request.selection.empty();
        return fail(call, {usage_problem(filtered ? "no preset is left by --slot and --name" : "there are no presets",
                                         filtered ? "ask for others" : "dumps of presets are wanted")});
    }
    const report::CompareExtent extent = call.has("summary")  ? report::CompareExtent::summary
                                         : call.has("detail") ? report::CompareExtent::all
                                                              : report::CompareExtent::usual;
    const std::string text = request.output.format == Format::json
                                 ? report::compare_json(report)
                                 : report::compare_text(report, extent, request.output.style);
    const Exit delivered = deliver(call, request.output, text);
    return delivered == Exit::within ? status_of_compare(report, request) : delivered;
}

}  // namespace downfit::cli
