#include "schema/substitutes.h"

#include <algorithm>
#include <array>
#include <set>

#include "base/near_miss.h"
#include "schema/ids.h"
#include "schema/reader.h"
#include "schema/rig.h"

namespace downfit::schema {

namespace {

/// A parameter as it is in one release.
struct Known {
    std::size_t release = 0;
    const Parameter* parameter = nullptr;
};

bool names_asset(const Parameter& parameter) {
    constexpr std::array<std::string_view, 4> others{"parameter", "scene", "block", "preset"};
    return parameter.kind == Kind::reference && std::ranges::find(others, parameter.refers_to) == others.end();
}

/// The labels of a parameter, under whatever condition.
std::set<std::string_view> labels_of(const Parameter& parameter) {
    std::set<std::string_view> labels;
    const auto add = [&](const Meaning& meaning) {
        if (!meaning.choices) return;
        for (const Choice& choice : meaning.choices->choices) labels.insert(choice.label);
    };
    add(parameter.plain);
    for (const VariedMeaning& varied : parameter.varies) add(varied.meaning);
    for (const Read& read : parameter.reads) add(read.meaning);
    return labels;
}

class Checking {
public:
    Checking(const Device& device, std::size_t target, Problems& problems)
        : device_(device), target_(target), problems_(problems) {}

    void check(const Substitution& entry) {
        for (const NamedRelease& release : entry.on)
            check_release_named(release.name, release.place, device_, problems_);
        const auto steps = parse_id(entry.parameter);
        if (!steps) return;
        const std::string id = plain_id(*steps);
        const std::vector<Known> known = with_id(id);
        if (known.empty()) return report_unknown(entry, id);
        std::set<std::string_view> labels;
        bool asset = false;
        for (const Known& one : known) {
            labels.merge(labels_of(*one.parameter));
            asset = asset || names_asset(*one.parameter);
        }
        if (labels.empty() && !asset) {
            report(problems_, entry.parameter_place, quoted(id) + " has no choices, and refers to no asset",
                   "a parameter that does: numbers are held at the nearest without a substitute");
            return;
        }
        if (!asset && !check_label(entry.lost, entry.lost_place, labels, "no release of " + device_.name + " has", id))
            return;
        if (entry.holds_on(device_.releases[target_].name)) check_instead(entry, known);
    }

private:
    std::vector<Known> with_id(const std::string& id) const {
        std::vector<Known> found;
        for (std::size_t release = 0; release < device_.releases.size(); ++release) {
            if (!device_.releases[release].schema) continue;
            for (const Parameter& parameter : device_.releases[release].schema->parameters) {
                if (parameter.id == id) found.push_back({release, &parameter});
            }
        }
        return found;
    }

    void report_unknown(const Substitution& entry, const std::string& id) {
        std::set<std::string_view> ids;
        for (const ReleaseEntry& release : device_.releases) {
            if (!release.schema) continue;
            for (const Parameter& parameter : release.schema->parameters) ids.insert(parameter.id);
        }
        const std::vector<std::string_view> views(ids.begin(), ids.end());
        report(problems_, entry.parameter_place, "no release of " + device_.name + " has a parameter " + quoted(id),
               "the id of a parameter", did_you_mean(id, views));
    }

    /// Whether it is one of the labels; reports where it is not.
    bool check_label(const Setting& setting, const TextPlace& place, const std::set<std::string_view>& labels,
                     const std::string& who, const std::string& id, const std::string& remedy = {}) {
        const auto* label = std::get_if<std::string>(&setting);
        if (label != nullptr && labels.contains(*label)) return true;
        const std::vector<std::string_view> views(labels.begin(), labels.end());
        std::string hint = label != nullptr ? did_you_mean(*label, views) : std::string();
        if (hint.empty()) hint = remedy;
        report(problems_, place,
               who + " " + (label != nullptr ? quoted(*label) : setting_text(setting)) + " for " + quoted(id),
               views.size() <= 12 && !views.empty() ? one_of(views) : "the label of one of its choices", hint);
        return false;
    }

    /// What the target, where it lacks what is lost, gets in its place.
    void check_instead(const Substitution& entry, const std::vector<Known>& known) {
        for (const Parameter& parameter : device_.releases[target_].schema->parameters) {
            const bool meant = std::ranges::any_of(
                known, [&](const Known& one) { return one.parameter->meaning == parameter.meaning; });
            if (!meant || names_asset(parameter)) continue;
            const std::set<std::string_view> labels = labels_of(parameter);
            const auto* lost = std::get_if<std::string>(&entry.lost);
            if (labels.empty() || (lost != nullptr && labels.contains(*lost))) continue;
            const std::string& name = device_.releases[target_].name;
            check_label(entry.instead, entry.instead_place, labels, device_.name + ' ' + name + " has no", parameter.id,
                        "\"on\" says for which releases a substitute is meant");
        }
    }

    const Device& device_;
    std::size_t target_;
    Problems& problems_;
};

}  // namespace

bool Substitution::holds_on(std::string_view release) const {
    return on.empty() || std::ranges::any_of(on, [&](const NamedRelease& one) { return one.name == release; });
}

std::string setting_text(const Setting& setting) {
    if (const auto* label = std::get_if<std::string>(&setting)) return *label;
    return number_text(std::get<double>(setting));
}

Problems check_substitutes(const Substitutes& substitutes, const Device& device, std::size_t target) {
    Problems problems;
    if (substitutes.device != device.name) {
        report(problems, substitutes.device_place,
               "the substitutes are for " + quoted(substitutes.device) + ", the dump is of " + quoted(device.name),
               "substitutes for this device");
        return problems;
    }
    Checking checking(device, target, problems);
    for (const Substitution& entry : substitutes.list) checking.check(entry);
    return problems;
}

}  // namespace downfit::schema
