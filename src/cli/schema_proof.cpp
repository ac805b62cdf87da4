#include "cli/schema_proof.h"

#include <algorithm>
#include <ostream>

#include "base/digest.h"
#include "cli/inputs.h"
#include "cli/leaning.h"
#include "cli/output.h"
#include "cli/schemas.h"
#include "files/input.h"
#include "report/problems.h"
#include "report/proof_report.h"

namespace downfit::cli {

namespace {

/// One device's folder, and of which of its files is to be told.
struct Asked {
    std::string folder;
    std::vector<std::string> only;
};

/// A name of one of the folder's files as the folder lists it.
std::string as_listed(const std::string& path) {
    return files::join(files::folder_of(path), files::last_part(path));
}

Result<std::vector<Asked>> find_asked(const Call& call) {
    std::vector<Asked> asked;
    const std::vector<std::string> operands = call.operands();
    std::vector<std::string> roots = operands;
    if (roots.empty()) {
        const Result<std::string> folder = find_schema_folder(call.text("schemas"), call.environment);
        if (!folder) return folder.problems();
        roots.push_back(folder.value());
    }
    Problems problems;
    for (const std::string& root : roots) {
        if (!files::is_folder(root)) {
            if (!files::exists(root)) {
                problems.push_back({root, "there is no such file or folder", {}, {}});
                continue;
            }
            const std::string folder = files::folder_of(root);
            const auto same = std::find_if(asked.begin(), asked.end(),
                                           [&](const Asked& one) { return one.folder == folder && !one.only.empty(); });
            if (same != asked.end())
                same->only.push_back(as_listed(root));
            else
                asked.push_back({folder, {as_listed(root)}});
            continue;
        }
        const Result<std::vector<std::string>> folders = device_folders(root, {});
        if (!folders) return folders.problems();
        if (folders.value().empty())
            problems.push_back({root, "holds no schema files", "a device's folder, or a folder of such folders", {}});
        for (const std::string& folder : folders.value()) asked.push_back({folder, {}});
    }
    if (!problems.empty()) return problems;
    return asked;
}

report::ProofedDevice proof_folder(const Asked& asked) {
    report::ProofedDevice device;
    device.folder = asked.folder;
    device.only = asked.only;
    Problems unread;
    const std::vector<schema::SourceFile> sources = read_sources(asked.folder, unread);
    for (const schema::SourceFile& source : sources) {
        const auto* bytes = reinterpret_cast<const std::uint8_t*>(source.text.data());
        device.files.push_back({source.name, sha256_hex(ByteView(bytes, source.text.size()))});
    }
    device.proof = schema::proof_device(sources);
    device.proof.errors.insert(device.proof.errors.begin(), unread.begin(), unread.end());
    return device;
}

/// Every release of which there is a schema.
std::vector<std::size_t> all_releases(const schema::Device& device) {
    std::vector<std::size_t> releases;
    for (std::size_t order = 0; order < device.releases.size(); ++order) {
        if (device.releases[order].schema) releases.push_back(order);
    }
    return releases;
}

void count_presets(const std::vector<Input>& inputs, report::ProofReport& report) {
    const schema::Device& device = *inputs.front().dump.device;
    compat::CheckOptions options;
    options.targets = all_releases(device);
    options.assets = known_assets(inputs);
    options.settings = unit_settings(inputs);
    options.brought_by = false;
    compat::Checker checker(device, options);
    for (const Input& input : inputs) {
        for (const compat::PresetCheck& preset : compat::check_dump(checker, input.dump, input.bytes).presets) {
            if (preset.state != dump::SlotState::filled) continue;
            ++report.presets;
            std::vector<schema::Rule> rules;
            for (const compat::TargetCheck& target : preset.targets) {
                for (const schema::Rule rule : target.unsettled) {
                    if (std::find(rules.begin(), rules.end(), rule) == rules.end()) rules.push_back(rule);
                }
            }
            for (const schema::Rule rule : rules) ++report.unsure[rule];
        }
    }
    report.unexplained = find_unexplained(inputs, std::nullopt);
}

/// What unstated rules do to the presets of the dumps.
Problems look_at_dumps(const std::vector<std::string>& paths, const std::string& layout, report::ProofReport& report,
                       Problems& notes) {
    Schemas schemas;
    std::vector<report::ProofedDevice*> from;
    for (report::ProofedDevice& device : report.devices) {
        if (!device.proof.device) continue;
        schemas.devices.push_back(std::make_unique<schema::Device>(*std::move(device.proof.device)));
        from.push_back(&device);
    }
    if (from.empty()) return {};  // told already
    const Result<std::vector<Input>> inputs = read_inputs(paths, schemas, layout, notes);
    if (!inputs) return inputs.problems();
    for (std::size_t i = 0; i < from.size(); ++i) {
        from[i]->looked_at = schemas.devices[i].get() == inputs.value().front().dump.device;
    }
    count_presets(inputs.value(), report);
    return {};
}

}  // namespace

void declare_schema_proof(options::options_description_easy_init add) {
    add("with", options::value<std::vector<std::string>>()->value_name("DUMP")->multitoken(),
        "dumps: how many of their presets each missing rule leaves unsure, and whether gaps vary")  //
        ("schemas", text_value("DIR"),
         "folder of schema files where none is named; else $DOWNFIT_SCHEMAS, ./schemas, or those installed")  //
        ("layout", text_value("NAME"), "the layout to read the dumps by, where nothing tells it");
    declare_output(add);
}

Exit run_schema_proof(const Call& call) {
    const Result<std::vector<Asked>> asked = find_asked(call);
    if (!asked) return fail(call, asked.problems());
    report::ProofReport report;
    report.version = version();
    std::vector<std::string> read;
    for (const Asked& one : asked.value()) {
        report.devices.push_back(proof_folder(one));
        for (const report::ProofFile& file : report.devices.back().files) read.push_back(file.file);
    }
    if (call.has("with")) report.dumps = call.given["with"].as<std::vector<std::string>>();
    read.insert(read.end(), report.dumps.begin(), report.dumps.end());
    const Result<Output> output = find_output(call, read);
    if (!output) return fail(call, output.problems());
    const std::size_t errors = report.errors(), problems = report.problems();
    if (!report.dumps.empty()) {
        Problems notes;
        const Problems unread = look_at_dumps(report.dumps, call.text("layout"), report, notes);
        if (!unread.empty()) return fail(call, unread);
        call.err << report::problems_text(notes);
    }
    const std::string text = output.value().format == Format::json ? report::proof_json(report)
                                                                   : report::proof_text(report, output.value().style);
    const Exit delivered = deliver(call, output.value(), text);
    if (delivered != Exit::within) return delivered;
    if (errors > 0) return Exit::bad_input;
    return problems > 0 ? Exit::not_within : Exit::within;
}

}  // namespace downfit::cli
