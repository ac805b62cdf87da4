#include "cli/schema_draft.h"

#include <algorithm>
#include <charconv>
#include <map>
#include <memory>
#include <ostream>
#include <utility>

#include "cli/inputs.h"
#include "cli/output.h"
#include "cli/schemas.h"
#include "cli/selection.h"
#include "compat/show.h"
#include "files/input.h"
#include "files/output.h"
#include "report/draft.h"
#include "report/problems.h"
#include "schema/load.h"
#include "study/readers.h"

namespace downfit::cli {

namespace {

using Stamps = std::map<schema::Stamp, std::size_t>;

/// Everything the draft is made from.
struct Given {
    schema::SourceFile source;  ///< the device file
    Schemas schemas;            ///< the device alone
    std::vector<Input> inputs;

    [[nodiscard]] const schema::Device& device() const { return *schemas.devices.front(); }
};

std::string stamps_text(const Stamps& stamps) {
    std::string text;
    for (const auto& [stamp, presets] : stamps)
        text += (text.empty() ? "" : ", ") + compat::stamp_text(stamp) + " (" + report::presets(presets) + ')';
    return text;
}

Problem never_over(const std::string& file) {
    return {file, "is one of the files that are read; Downfit never changes those", {}, {}};
}

Result<Given> read_given(const Call& call, const std::vector<std::string>& paths) {
    const std::string file = call.text("device");
    const Result<std::string> text = files::read_text(file);
    if (!text) return text.problems();
    Result<schema::Device> device = schema::load_device({{file, text.value()}});
    if (!device) return device.problems();
    Given given{{file, text.value()}, {}, {}};
    given.schemas.devices.push_back(std::make_unique<schema::Device>(std::move(device).value()));
    Problems notes;
    Result<std::vector<Input>> inputs = read_inputs(paths, given.schemas, call.text("layout"), notes);
    if (!inputs) return inputs.problems();
    given.inputs = std::move(inputs).value();
    // A folder may hold the file to write.
    for (const Input& input : given.inputs) {
        if (files::is_same_file(call.text("out"), input.dump.file)) return never_over(call.text("out"));
    }
    call.err << report::problems_text(notes);
    return given;
}

/// The layout that holds most filled presets.
Result<std::size_t> find_layout(const Given& given) {
    std::map<std::size_t, std::size_t> counts;
    for (const Input& input : given.inputs) {
        for (const dump::Entry& entry : input.dump.entries) {
            if (entry.state == dump::SlotState::filled && study::holds_preset(given.device(), entry))
                ++counts[entry.layout];
        }
    }
    if (counts.empty())
        return Problem{
            given.source.name, "the dumps hold no preset that can be read", "at least one filled preset", {}};
    const auto most = std::max_element(counts.begin(), counts.end(),
                                       [](const auto& a, const auto& b) { return a.second < b.second; });
    return most->first;
}

/// A path to stamps that leads nowhere would mix the presets of all releases.
std::optional<Problem> without_stamp(const Given& given, std::size_t layout) {
    const schema::Layout& here = given.device().layouts[layout];
    const std::vector<std::string>& paths = given.device().framings[here.framing].named.stamp;
    if (paths.empty()) return std::nullopt;
    const bool xml = here.notation == schema::Notation::xml;
    return Problem{
        given.source.name, "no preset has a stamp at \"" + paths.front() + '"',
        std::string("the place of the stamp, seen from a preset (in \"stamp\" of layout ") + here.name +
            "): " + (xml ? "\"@firmware\" is an attribute, \"firmware\" an element" : "such as \"/firmware\""),
        "leave \"stamp\" out where presets carry none"};
}

Stamps stamps_of(const Given& given, std::size_t layout) {
    Stamps stamps;
    for (const Input& input : given.inputs) {
        for (const dump::Entry& entry : input.dump.entries) {
            const bool counts = entry.state == dump::SlotState::filled && entry.layout == layout && entry.stamp &&
                                study::holds_preset(given.device(), entry);
            if (counts) ++stamps[*entry.stamp];
        }
    }
    return stamps;
}

/// The release that is drafted, and the stamps that its presets carry; none where they carry none.
struct Chosen {
    std::size_t release = 0;
    std::vector<schema::Stamp> stamps;
    bool write_stamp = false;  ///< the device file does not have it
};

std::optional<schema::Stamp> asked_stamp(const Call& call, const Stamps& seen) {
    if (!call.has("stamp")) return std::nullopt;
    const std::string text = call.text("stamp");
    for (const auto& [stamp, presets] : seen) {
        if (compat::stamp_text(stamp) == text) return stamp;
    }
    return std::nullopt;
}

Result<std::size_t> choose_release(const Call& call, const Given& given, const Stamps& seen) {
    const schema::Device& device = given.device();
    if (call.has("release")) return find_release(device, call.text("release"));
    if (device.releases.size() == 1) return std::size_t{0};
    std::vector<std::size_t> named;
    for (const auto& [stamp, presets] : seen) {
        for (std::size_t release = 0; release < device.releases.size(); ++release) {
            const auto& stamps = device.releases[release].stamps;
            if (std::find(stamps.begin(), stamps.end(), stamp) != stamps.end()) named.push_back(release);
        }
    }
    if (named.size() == 1) return named.front();
    return usage_problem("which release do the dumps show? " + device.name + " has several",
                         "--release NAME, one of those that the device file lists");
}

Result<Chosen> choose_draft(const Call& call, const Given& given, const Stamps& seen) {
    const Result<std::size_t> release = choose_release(call, given, seen);
    if (!release) return release.problems();
    Chosen chosen{release.value(), {}, false};
    const std::optional<schema::Stamp> asked = asked_stamp(call, seen);
    if (call.has("stamp") && !asked)
        return usage_problem("no preset carries the stamp " + call.text("stamp"),
                             seen.empty() ? "the presets carry none" : "there are: " + stamps_text(seen));
    if (seen.empty()) return chosen;
    const std::vector<schema::Stamp>& listed = given.device().releases[release.value()].stamps;
    chosen.write_stamp = listed.empty();
    if (asked) {
        chosen.stamps = {*asked};
    } else if (!listed.empty()) {
        chosen.stamps = listed;
    } else if (seen.size() == 1) {
        chosen.stamps = {seen.begin()->first};
    } else {
        return usage_problem("presets of several releases are in the dumps: stamps " + stamps_text(seen),
                             "--stamp NUMBER says which of them to draft");
    }
    return chosen;
}

/// Fills in the draft and what was left out of it.
void draft(const Given& given, std::size_t layout, const Chosen& chosen, report::DraftReport& report) {
    std::vector<const dump::Entry*> presets;
    for (const Input& input : given.inputs) {
        report.files.push_back(input.dump.file);
        for (const dump::Entry& entry : input.dump.entries) {
            if (!study::holds_preset(given.device(), entry) || entry.state == dump::SlotState::empty) continue;
            const bool wanted = chosen.stamps.empty() ||
                                (entry.stamp && std::find(chosen.stamps.begin(), chosen.stamps.end(), *entry.stamp) !=
                                                    chosen.stamps.end());
            if (entry.state == dump::SlotState::damaged) {
                ++report.damaged;
            } else if (entry.layout != layout) {
                ++report.other_layouts;
            } else if (!wanted) {
                ++report.other_stamps;
            } else {
                presets.push_back(&entry);
            }
        }
    }
    report.draft = study::make_draft(given.device(), layout, presets);
    const schema::Layout& here = given.device().layouts[layout];
    report.layout = here.name;
    std::size_t longest = 0;
    for (const dump::Entry* preset : presets) longest = std::max(longest, preset->body.size());
    const bool has_size = here.notation == schema::Notation::bytes && !here.records;
    if (has_size && longest != here.body_size && longest > 0) report.body_size = longest;
}

bool is_about(const Problems& problems, const std::string& file) {
    return std::any_of(problems.begin(), problems.end(), [&](const Problem& problem) {
        const auto* place = std::get_if<TextPlace>(&problem.place);
        return place == nullptr || place->file == file;
    });
}

Exit write(const Call& call, const Given& given, const report::DraftReport& report, const report::Style& style) {
    const std::string text = report::draft_file(report);
    // A draft that the loader would not take helps nobody. The device file may name groups that only the user can
    // draft.
    const Result<schema::Device> again = schema::load_device({given.source, {report.out, text}});
    if (!again && is_about(again.problems(), report.out)) return fail(call, again.problems());
    if (!again) call.err << report::problems_text(again.problems());
    const auto existing = call.has("force") ? files::Existing::replace : files::Existing::keep;
    if (const std::optional<Problem> problem = files::write_file(report.out, text, existing))
        return fail(call, {*problem});
    call.out << report::draft_text(report, style);
    const bool damaged =
        report.damaged > 0 || std::any_of(given.inputs.begin(), given.inputs.end(),
                                          [](const Input& input) { return first_damage(input.dump) != nullptr; });
    return damaged ? Exit::bad_input : Exit::within;
}

/// What of the call makes no sense, before anything is read.
std::optional<Problem> wrong_call(const Call& call, const std::vector<std::string>& paths) {
    const std::string usage = "downfit " + std::string(schema_draft_command.usage);
    if (!call.has("device")) return usage_problem("no device file is named", usage);
    if (paths.empty()) return usage_problem("no dump is named", usage);
    if (!call.has("out")) return usage_problem("no file to write is named", usage);
    for (const std::string& path : paths) {
        if (files::is_same_file(call.text("out"), path) || files::is_same_file(call.text("out"), call.text("device")))
            return never_over(call.text("out"));
    }
    if (!call.has("force") && files::exists(call.text("out")))
        return Problem{call.text("out"), "is there already", {}, "--force replaces it, with all that was edited in it"};
    return std::nullopt;
}

}  // namespace

void declare_schema_draft(options::options_description_easy_init add) {
    add("device", text_value("FILE"), "the device file")                                                        //
        ("out", text_value("FILE"), "the release file to write, which must not be there yet")                   //
        ("force", "replace it if it is there")                                                                  //
        ("release", text_value("NAME"), "the release that saved the presets, as the device file lists it")      //
        ("stamp", text_value("NUMBER"), "only presets with this stamp, where the device file does not say it")  //
        ("layout", text_value("NAME"), "the layout to read the files by, for files that nothing tells apart");
    declare_style(add);
}

Exit run_schema_draft(const Call& call) {
    const std::vector<std::string> paths = call.operands();
    if (const std::optional<Problem> problem = wrong_call(call, paths)) return fail(call, {*problem});
    const Result<Output> output = find_output(call, {});
    if (!output) return fail(call, output.problems());
    const Result<Given> given = read_given(call, paths);
    if (!given) return fail(call, given.problems());
    const Result<std::size_t> layout = find_layout(given.value());
    if (!layout) return fail(call, layout.problems());
    const Stamps stamps = stamps_of(given.value(), layout.value());
    if (stamps.empty()) {
        if (const auto problem = without_stamp(given.value(), layout.value())) return fail(call, {*problem});
    }
    const Result<Chosen> chosen = choose_draft(call, given.value(), stamps);
    if (!chosen) return fail(call, chosen.problems());
    report::DraftReport report;
    report.device = given.value().device().name;
    report.release = given.value().device().releases[chosen.value().release].name;
    if (chosen.value().write_stamp && !chosen.value().stamps.empty()) report.stamp = chosen.value().stamps.front();
    report.out = call.text("out");
    draft(given.value(), layout.value(), chosen.value(), report);
    return write(call, given.value(), report, output.value().style);
}

}  // namespace downfit::cli
