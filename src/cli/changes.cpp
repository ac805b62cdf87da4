#include "cli/changes.h"

#include <algorithm>
#include <array>
#include <ostream>

#include "cli/inputs.h"
#include "cli/leaning.h"
#include "cli/output.h"
#include "cli/progress.h"
#include "cli/schemas.h"
#include "cli/selection.h"
#include "report/changes_html.h"
#include "report/problems.h"
#include "study/changes.h"

namespace downfit::cli {

namespace {

constexpr std::array formats{Format::text, Format::json, Format::markdown, Format::html};

/// What the command line asks for, once all of it is known to make sense.
struct ChangesRequest {
    Schemas schemas;
    std::vector<Input> inputs;
    Problems notes;  ///< what was left out of folders and archives
    Output output;
    const schema::Device* device = nullptr;
    std::size_t older = 0, newer = 0;
    compat::CheckOptions options;
};

/// The device that has both releases: that of the dumps, or the only one that has them.
Result<const schema::Device*> find_device(const ChangesRequest& request, const std::vector<std::string>& releases) {
    if (!request.inputs.empty()) return request.inputs.front().dump.device;
    std::vector<const schema::Device*> fitting;
    for (const schema::Device* device : request.schemas.views()) {
        if (device->find_release(releases[0]) && device->find_release(releases[1])) fitting.push_back(device);
    }
    if (fitting.size() == 1) return fitting.front();
    if (fitting.empty() && request.schemas.devices.size() == 1) return request.schemas.devices.front().get();
    std::string names;
    for (const schema::Device* device : fitting.empty() ? request.schemas.views() : fitting)
        names += (names.empty() ? "" : " or ") + device->name;
    return usage_problem(fitting.empty() ? "no device has both releases" : "several devices have both releases",
                         "--device NAME says which: " + names);
}

Problems find_releases(const std::vector<std::string>& names, ChangesRequest& request) {
    Problems problems;
    std::size_t* const orders[] = {&request.older, &request.newer};
    for (std::size_t i = 0; i < 2; ++i) {
        const Result<std::size_t> order = find_release(*request.device, names[i]);
        if (!order) {
            problems.push_back(order.problems().front());
            continue;
        }
        *orders[i] = order.value();
        if (!request.device->releases[order.value()].schema)
            problems.push_back(usage_problem("there is no release file for " + names[i], "write one, or name another"));
    }
    if (problems.empty() && request.older >= request.newer) {
        const bool same = request.older == request.newer;
        problems.push_back(usage_problem(
            same ? names[0] + " is named twice" : names[0] + " is the newer of the two",
            same ? "downfit " + std::string(changes_command.usage) : "downfit changes " + names[1] + ' ' + names[0]));
    }
    return problems;
}

Result<ChangesRequest> read_changes_request(const Call& call) {
    const std::vector<std::string> names = call.operands();
    if (names.size() != 2)
        return usage_problem("two releases are wanted, the older one first",
                             "downfit " + std::string(changes_command.usage));
    ChangesRequest request;
    Result<Schemas> schemas = load_schemas(call.text("schemas"), call.text("device"), call.environment);
    if (!schemas) return schemas.problems();
    request.schemas = std::move(schemas).value();
    std::vector<std::string> dumps;
    if (call.has("with")) dumps = call.given["with"].as<std::vector<std::string>>();
    std::vector<std::string> read = dumps;
    read.insert(read.end(), request.schemas.files.begin(), request.schemas.files.end());
    Result<Output> output = find_output(call, read, formats);
    if (!output) return output.problems();
    request.output = std::move(output).value();
    if (!dumps.empty()) {
        Result<std::vector<Input>> inputs = read_inputs(dumps, request.schemas, call.text("layout"), request.notes);
        if (!inputs) return inputs.problems();
        request.inputs = std::move(inputs).value();
    }
    const Result<const schema::Device*> device = find_device(request, names);
    if (!device) return device.problems();
    request.device = device.value();
    Problems problems = find_releases(names, request);
    if (call.has("variant")) {
        const std::optional<Problem> problem = take_variant(*request.device, call.text("variant"), request.options);
        if (problem) problems.push_back(*problem);
    }
    if (!problems.empty()) return problems;
    return request;
}

study::Use use_of(const Call& call, const ChangesRequest& request, const report::ChangesReport& report) {
    std::vector<study::UsedDump> dumps;
    for (const Input& input : request.inputs) dumps.push_back({&input.dump, input.bytes});
    compat::CheckOptions options = request.options;
    options.assets = known_assets(request.inputs);
    options.settings = unit_settings(request.inputs);
    Progress progress(call, "presets");
    return study::use_of(*request.device, request.older, request.newer, report.changes, dumps, std::move(options),
                         [&](std::size_t done, std::size_t of) { progress.show(done, of); });
}

std::string render_changes(const Output& output, const report::ChangesReport& report) {
    switch (output.format) {
        case Format::json: return report::changes_json(report);
        case Format::markdown: return report::changes_markdown(report);
        case Format::html: return report::changes_html(report);
        default: return report::changes_text(report, output.style);
    }
}

}  // namespace

void declare_changes(options::options_description_easy_init add) {
    add("with", options::value<std::vector<std::string>>()->value_name("DUMP")->multitoken(),
        "dumps: how many of their presets each change touches")  //
        ("schemas", text_value("DIR"),
         "folder of schema files; else $DOWNFIT_SCHEMAS, ./schemas, or those installed")        //
        ("device", text_value("NAME"), "the device, where several have releases of that name")  //
        ("variant", text_value("NAME"),
         "with dumps, the variant of the unit; if left out, all are tried where it matters")  //
        ("layout", text_value("NAME"), "the layout to read the dumps by, where nothing tells it");
    declare_output(add, "text (if left out), json, markdown or html");
}

Exit run_changes(const Call& call) {
    const Result<ChangesRequest> read = read_changes_request(call);
    if (!read) return fail(call, read.problems());
    const ChangesRequest& request = read.value();
    call.err << report::problems_text(request.schemas.problems) << report::problems_text(request.notes);
    report::ChangesReport report;
    report.device = request.device;
    report.version = version();
    report.older = request.older;
    report.newer = request.newer;
    report.changes = study::changes_between(*request.device, request.older, request.newer);
    for (const Input& input : request.inputs) report.files.push_back({input.dump.file, input.dump.digest});
    if (!request.inputs.empty()) report.use = use_of(call, request, report);
    const Exit delivered = deliver(call, request.output, render_changes(request.output, report));
    if (delivered != Exit::within) return delivered;
    bool damaged = report.use && report.use->damaged + report.use->back.damaged() + report.use->forward.damaged() > 0;
    for (const Input& input : request.inputs) damaged = damaged || first_damage(input.dump) != nullptr;
    return damaged ? Exit::bad_input : Exit::within;
}

}  // namespace downfit::cli
