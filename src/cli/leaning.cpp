#include "cli/leaning.h"

#include <algorithm>
#include <map>
#include <set>

#include "dump/locate.h"
#include "dump/tree.h"
#include "study/coverage.h"

namespace downfit::cli {

namespace {

/// Calls `visit` with every sound preset of which the saving release is known.
template <class Visit>
void each_preset(const std::vector<Input>& inputs, const compat::CheckOptions& options, compat::Checker& checker,
                 const Visit& visit) {
    for (const Input& input : inputs) {
        for (const dump::Entry& entry : input.dump.entries) {
            if (entry.state != dump::SlotState::filled || !study::holds_preset(*input.dump.device, entry)) continue;
            const auto release = study::saving_release(*input.dump.device, entry, options.saved_on);
            if (release) visit(*release, entry, checker.compiled(*release, entry.layout)->instances());
        }
    }
}

std::set<std::string> assets_in(const schema::Instances& instances, const dump::Entry& entry, std::size_t release,
                                const compat::KnownAssets& known, const schema::Device* device) {
    std::set<std::string> kinds;
    for (const dump::Leaf& leaf : dump::decode_tree(instances, entry.body, release, device, entry.layout)) {
        const schema::Parameter& parameter = instances.parameter(instances.fields()[leaf.field]);
        if (!leaf.exists || parameter.scope == schema::Scope::unit || parameter.kind != schema::Kind::reference ||
            leaf.stored.kind == dump::Stored::Kind::none)
            continue;
        if (parameter.nothing && leaf.stored.whole == *parameter.nothing) continue;
        const bool asset = instances.release().asset(parameter.refers_to) != nullptr;
        if (asset && !known.contains(parameter.refers_to)) kinds.insert(parameter.refers_to);
    }
    return kinds;
}

bool holds_settings(const std::vector<Input>& inputs) {
    return std::any_of(inputs.begin(), inputs.end(), [](const Input& input) {
        return std::any_of(input.dump.entries.begin(), input.dump.entries.end(), [&](const dump::Entry& entry) {
            return input.dump.device->framings[entry.framing].holds == schema::Holds::unit_settings;
        });
    });
}

bool has_unit_parameters(const schema::Release& release) {
    return std::any_of(release.parameters.begin(), release.parameters.end(),
                       [](const schema::Parameter& parameter) { return parameter.scope == schema::Scope::unit; });
}

}  // namespace

Bytes unit_settings(const std::vector<Input>& inputs) {
    for (const Input& input : inputs) {
        for (const dump::Entry& entry : input.dump.entries) {
            const bool settings = input.dump.device->framings[entry.framing].holds == schema::Holds::unit_settings;
            if (settings && entry.state == dump::SlotState::filled) return entry.body;
        }
    }
    return {};
}

compat::KnownAssets known_assets(const std::vector<Input>& inputs) {
    compat::KnownAssets known;
    for (const Input& input : inputs) {
        const schema::Device& device = *input.dump.device;
        for (const dump::Entry& entry : input.dump.entries) {
            const schema::Framing& framing = device.framings[entry.framing];
            if (framing.holds != schema::Holds::asset || known.contains(framing.asset)) continue;
            std::set<int>& slots = known[framing.asset].slots;
            for (const schema::AssetKind& kind : device.assets) {
                if (kind.name != framing.asset) continue;
                for (const auto& content : kind.contents) slots.insert(content.first);
            }
        }
    }
    for (const Input& input : inputs) {
        for (const dump::Entry& entry : input.dump.entries) {
            const schema::Framing& framing = input.dump.device->framings[entry.framing];
            if (framing.holds != schema::Holds::asset || entry.slot < 0) continue;
            const int slot = dump::shown_slot(*input.dump.device, entry);
            if (entry.state == dump::SlotState::filled) {
                known[framing.asset].slots.insert(slot);
                known[framing.asset].names.insert(dump::captured_name(input.dump, entry));
            } else {
                known[framing.asset].slots.erase(slot);
            }
        }
    }
    return known;
}

std::vector<report::Leaning> find_leaning(const std::vector<Input>& inputs, const compat::KnownAssets& known,
                                          const compat::CheckOptions& options, compat::Checker& checker) {
    std::map<std::string, report::Leaning> found;
    each_preset(
        inputs, options, checker,
        [&](std::size_t release, const dump::Entry& entry, const schema::Instances& instances) {
            for (const std::string& kind : assets_in(instances, entry, release, known, inputs.front().dump.device)) {
                report::Leaning& leaning = found[kind];
                leaning.asset = kind;
                leaning.title = instances.release().asset(kind)->title;
                ++leaning.presets;
            }
        });
    if (!holds_settings(inputs)) {
        each_preset(inputs, options, checker, [&](std::size_t, const dump::Entry&, const schema::Instances& instances) {
            if (!has_unit_parameters(instances.release())) return;
            report::Leaning& leaning = found["unit-settings"];
            leaning.asset = "unit-settings";
            leaning.title = "unit settings";
            ++leaning.presets;
        });
    }
    std::vector<report::Leaning> list;
    for (auto& [kind, leaning] : found) list.push_back(std::move(leaning));
    return list;
}

std::vector<report::Unexplained> find_unexplained(const std::vector<Input>& inputs,
                                                  std::optional<std::size_t> saved_on) {
    const schema::Device& device = *inputs.front().dump.device;
    std::vector<const dump::Dump*> dumps;
    for (const Input& input : inputs) dumps.push_back(&input.dump);
    study::Readers readers(device);
    study::CoverageOptions options;
    options.saved_on = saved_on;
    options.values = false;
    std::map<std::size_t, report::Unexplained> found;
    for (const study::Covered& part : study::find_coverage(dumps, readers, options).parts) {
        report::Unexplained& unexplained = found[part.release];
        unexplained.release = device.releases[part.release].name;
        unexplained.bytes += part.unexplained();
        unexplained.varying += part.unexplained_varying();
        unexplained.partly_varying += part.count(study::Look::partly);
        unexplained.presets += part.presets;
        unexplained.places += part.bytes.size();
        if (!part.names_seen) continue;
        // Values stand in place of bytes.
        unexplained.bytes += part.names_seen->unexplained.size();
        unexplained.varying += part.names_seen->varying();
        unexplained.places += part.names_seen->paths;
        unexplained.values = true;
    }
    std::vector<report::Unexplained> list;
    for (auto& [release, unexplained] : found) list.push_back(std::move(unexplained));
    return list;
}

}  // namespace downfit::cli
