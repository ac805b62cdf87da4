#include "cli/inputs.h"

#include <algorithm>

#include "files/input.h"

namespace downfit::cli {

namespace {

std::string shown_name(const std::string& path) {
    return path == "-" ? "standard input" : path;
}

std::string device_names(const Schemas& schemas) {
    std::string names;
    for (const auto& device : schemas.devices) names += (names.empty() ? "" : " or ") + device->name;
    return names;
}

Problem unrecognised(const std::string& path, const Schemas& schemas) {
    return {
        path, "holds no message of " + device_names(schemas), "a System Exclusive dump that its layouts describe", {}};
}

}  // namespace

Result<std::vector<Input>> read_inputs(const std::vector<std::string>& paths, const Schemas& schemas,
                                       const std::string& layout) {
    std::vector<Input> inputs;
    Problems problems;
    for (const std::string& path : paths) {
        Result<Bytes> bytes = files::read_file(path);
        if (!bytes) {
            problems.insert(problems.end(), bytes.problems().begin(), bytes.problems().end());
            continue;
        }
        const schema::Device* device = schemas.devices.size() == 1
                                           ? schemas.devices.front().get()
                                           : dump::recognise(bytes.value(), schemas.views(), layout);
        if (device == nullptr) {
            problems.push_back(unrecognised(shown_name(path), schemas));
            // A broken schema may be why.
            problems.insert(problems.end(), schemas.problems.begin(), schemas.problems.end());
            continue;
        }
        Result<dump::Dump> dump = dump::read(shown_name(path), bytes.value(), *device, layout);
        if (!dump) {
            problems.insert(problems.end(), dump.problems().begin(), dump.problems().end());
            continue;
        }
        if (!inputs.empty() && inputs.front().dump.device != device) {
            problems.push_back({shown_name(path),
                                "is of another device (" + device->name + ") than " + inputs.front().dump.file + " (" +
                                    inputs.front().dump.device->name + ')',
                                {},
                                "check them one after the other"});
            continue;
        }
        inputs.push_back({std::move(bytes).value(), std::move(dump).value()});
    }
    if (!problems.empty()) return problems;
    return inputs;
}

const Problem* first_damage(const dump::Dump& dump) {
    const auto first = dump.problems.begin() + static_cast<std::ptrdiff_t>(dump.notes);
    const auto at = std::find_if(first, dump.problems.end(), [&](const Problem& problem) {
        const auto* place = std::get_if<BytePlace>(&problem.place);
        if (place == nullptr) return true;
        return std::none_of(dump.spans.begin(), dump.spans.end(), [&](const dump::Span& span) {
            return span.kind == dump::Span::Kind::foreign && span.span.offset == place->offset;
        });
    });
    return at == dump.problems.end() ? nullptr : &*at;
}

std::vector<std::string> kinds_in(const dump::Dump& dump) {
    std::vector<std::string> kinds;
    for (const dump::Entry& entry : dump.entries) {
        const schema::Framing& framing = dump.device->framings[entry.framing];
        std::string kind = framing.asset;
        if (framing.holds == schema::Holds::presets) kind = "presets";
        if (framing.holds == schema::Holds::unit_settings) kind = "unit-settings";
        if (std::find(kinds.begin(), kinds.end(), kind) == kinds.end()) kinds.push_back(kind);
    }
    return kinds;
}

}  // namespace downfit::cli
