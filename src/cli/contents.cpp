#include "cli/contents.h"

#include <algorithm>
#include <map>
#include <memory>
#include <ostream>
#include <set>

#include "cli/reading.h"
#include "cli/selection.h"
#include "compat/show.h"
#include "dump/doubtful.h"
#include "dump/locate.h"
#include "report/contents.h"
#include "report/problems.h"

namespace downfit::cli {

namespace {

/// The parameters of releases, each made once for all dumps.
using AllInstances = std::map<const schema::Release*, std::unique_ptr<schema::Instances>>;

/// Turns entries into what is told of them. Trees refer to `instances`.
class Gatherer {
public:
    Gatherer(const Input& input, std::optional<std::size_t> read_as, AllInstances& instances)
        : input_(input), read_as_(read_as), instances_(instances) {}

    /// `every`: the tree of every preset, whether it was asked for or not.
    void gather(const Selection& selection, bool every, report::ContentsReport& report) {
        for (std::size_t i = 0; i < input_.dump.entries.size(); ++i) {
            const dump::Entry& entry = input_.dump.entries[i];
            report::EntryContents contents = describe(entry);
            if (!selection.empty() && (contents.holds != "presets" || !selection.takes(contents.slot, contents.name)))
                continue;
            const bool wanted = every || !selection.empty() || contents.holds == "unit-settings";
            if (wanted && entry.state == dump::SlotState::filled) add_tree(entry, contents);
            report.entries.push_back(std::move(contents));
        }
        if (selection.empty()) report.absent = dump::absent_slots(input_.dump);
    }

private:
    const schema::Device& device() const { return *input_.dump.device; }

    /// The release whose schema reads the entry: the one asked for, else the newest with a schema that its stamp may
    /// mean.
    std::optional<std::size_t> reader_of(const dump::Entry& entry) const {
        if (read_as_) return read_as_;
        if (!entry.stamp) return std::nullopt;
        std::vector<std::size_t> releases = device().releases_with(*entry.stamp);
        while (!releases.empty() && !device().releases[releases.back()].schema) releases.pop_back();
        if (releases.empty()) return std::nullopt;
        return releases.back();
    }

    const schema::Instances& instances_of(std::size_t release, std::size_t layout) {
        const schema::Release& stored = device().releases[release].schema->in_layout(layout);
        auto& slot = instances_[&stored];
        if (!slot) slot = std::make_unique<schema::Instances>(stored);
        return *slot;
    }

    report::EntryContents describe(const dump::Entry& entry) {
        report::EntryContents contents;
        const schema::Framing& framing = device().framings[entry.framing];
        contents.holds = framing.asset;
        if (framing.holds == schema::Holds::presets) contents.holds = "presets";
        if (framing.holds == schema::Holds::unit_settings) contents.holds = "unit-settings";
        contents.slot = entry.slot < 0 ? -1 : dump::shown_slot(device(), entry);
        contents.state = entry.state;
        contents.damage = entry.damage;
        contents.body_bytes = entry.body.size();
        if (entry.stamp) {
            contents.stamp = compat::stamp_text(*entry.stamp);
            for (const std::size_t release : device().releases_with(*entry.stamp)) {
                contents.saved_on.push_back(device().releases[release].name);
            }
        }
        contents.name = dump::captured_name(input_.dump, entry);
        const auto reader = reader_of(entry);
        if (!reader || entry.body.empty() || !framing.asset.empty() || entry.state == dump::SlotState::empty) {
            return contents;
        }
        const schema::Instances& instances = instances_of(*reader, entry.layout);
        contents.read_as = device().releases[*reader].name;
        std::optional<dump::NamedBody> named;
        if (entry.text) named.emplace(framing.named.notation, entry.body);
        dump::NamedBody* const body = named ? &*named : nullptr;
        if (contents.holds == "presets") {
            const std::string name = dump::preset_name(instances, entry.body, entry.layout, body);
            if (!name.empty()) contents.name = name;
        }
        contents.unexplained_bytes =
            dump::unexplained_bytes(instances, entry.layout, ByteView(entry.body), &device(), body).size();
        return contents;
    }

    void add_tree(const dump::Entry& entry, report::EntryContents& contents) {
        const auto reader = reader_of(entry);
        if (!reader || contents.read_as.empty()) return;
        contents.instances = &instances_of(*reader, entry.layout);
        std::optional<std::size_t> stamped = reader;
        if (entry.stamp) {
            const std::vector<std::size_t> releases = device().releases_with(*entry.stamp);
            if (!releases.empty()) stamped = releases.back();
        }
        contents.tree = dump::decode_tree(*contents.instances, entry.body, stamped, &device(), entry.layout);
        // Parameters of the unit stand in its settings, all others in presets.
        const bool of_unit = contents.holds == "unit-settings";
        std::erase_if(contents.tree, [&](const dump::Leaf& leaf) {
            const schema::Field& field = contents.instances->fields()[leaf.field];
            return (contents.instances->parameter(field).scope == schema::Scope::unit) != of_unit;
        });
    }

    const Input& input_;
    std::optional<std::size_t> read_as_;
    AllInstances& instances_;
};

Result<std::optional<std::size_t>> find_reader(const Call& call, const schema::Device& device) {
    if (!call.has("as")) return std::optional<std::size_t>();
    const Result<std::size_t> release = find_release(device, call.text("as"));
    if (!release) return release.problems();
    if (device.releases[release.value()].schema) return std::optional(release.value());
    return Problem{std::monostate(), "there is no release file for " + call.text("as") + " of " + device.name, {}, {}};
}

/// What came of all dumps together.
struct Told {
    bool whole = true;   ///< nothing is damaged
    bool found = false;  ///< something that was asked for
};

/// What is in one dump.
std::string tell_contents(const Call& call, const Output& output, const Selection& selection, const Input& input,
                          std::optional<std::size_t> read_as, AllInstances& instances, Told& told) {
    report::ContentsReport report;
    report.device = input.dump.device;
    report.version = version();
    report.file = input.dump.file;
    report.digest = input.dump.digest;
    report.problems = input.dump.problems;
    report.all = call.has("all");
    Gatherer(input, read_as, instances).gather(selection, call.has("every"), report);
    const bool damaged = first_damage(input.dump) != nullptr ||
                         std::any_of(report.entries.begin(), report.entries.end(),
                                     [](const auto& entry) { return entry.state == dump::SlotState::damaged; });
    told.whole = told.whole && !damaged;
    told.found = told.found || !report.entries.empty();
    return output.format == Format::json ? report::contents_json(report) : report::contents_text(report, output.style);
}

/// One dump after the other; in JSON a list of them where there are several.
Exit tell_all(const Call& call, const Output& output, const Selection& selection, const std::vector<Input>& inputs) {
    const schema::Device& device = *inputs.front().dump.device;
    const Result<std::optional<std::size_t>> reader = find_reader(call, device);
    if (!reader) return fail(call, reader.problems());
    call.err << report::problems_text(dump::doubtful_settings(device));
    const bool list = inputs.size() > 1 && output.format == Format::json;
    AllInstances instances;
    std::string text;
    Told told;
    for (const Input& input : inputs) {
        if (!text.empty()) text += list ? ",\n" : "\n";
        text += tell_contents(call, output, selection, input, reader.value(), instances, told);
        if (list) text.pop_back();
    }
    const Exit delivered = deliver(call, output, list ? "[\n" + text + "\n]\n" : text);
    if (delivered != Exit::within) return delivered;
    return told.whole && (told.found || selection.empty()) ? Exit::within : Exit::bad_input;
}

}  // namespace

void declare_contents(options::options_description_easy_init add) {
    add("slot", text_value("N[,N-M]"), "every parameter of these slots, numbered as the unit shows them")  //
        ("name", text_value("TEXT"), "every parameter of presets with TEXT in their name")                 //
        ("as", text_value("RELEASE"), "read them as this release does, not as the one that saved them")    //
        ("every", "every parameter of every preset")                                                       //
        ("all", "also blocks that are off, empty slots, and what does not exist with these settings");
    declare_reading(add);
    declare_output(add);
}

Exit run_contents(const Call& call) {
    const std::vector<std::string> paths = call.operands();
    if (paths.empty())
        return fail(call, {usage_problem("name a dump", "downfit " + std::string(contents_command.usage))});
    const Result<Selection> selection = Selection::parse(call.text("slot"), call.text("name"));
    if (!selection) return fail(call, selection.problems());
    const Result<Reading> reading = read_dumps(call, paths);
    if (!reading) return fail(call, reading.problems());
    return tell_all(call, reading.value().output, selection.value(), reading.value().inputs);
}

}  // namespace downfit::cli
