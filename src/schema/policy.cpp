#include "schema/policy.h"

#include <chrono>
#include <set>

#include "base/near_miss.h"
#include "schema/ids.h"
#include "schema/reader.h"

namespace downfit::schema {

namespace {

std::optional<int> digits(std::string_view text) {
    int value = 0;
    for (const char c : text) {
        if (c < '0' || c > '9') return std::nullopt;
        value = value * 10 + (c - '0');
    }
    return value;
}

void check_release_name(const NamedRelease& release, const Device& device, Problems& problems) {
    if (device.find_release(release.name)) return;
    std::vector<std::string_view> names;
    for (const ReleaseEntry& entry : device.releases) names.push_back(entry.name);
    report(problems, release.place, device.name + " has no release " + quoted(release.name), one_of(names),
           did_you_mean(release.name, names));
}

/// The ids of all releases' parameters.
std::set<std::string_view> known_parameters(const Device& device) {
    std::set<std::string_view> known;
    for (const ReleaseEntry& entry : device.releases) {
        if (!entry.schema) continue;
        for (const Parameter& parameter : entry.schema->parameters) known.insert(parameter.id);
    }
    return known;
}

}  // namespace

Problems check_policy(const Policy& policy, const Device& device) {
    Problems problems;
    if (!policy.device.empty() && policy.device != device.name) {
        report(problems, policy.device_place,
               "the policy is for " + quoted(policy.device) + ", the dumps are of " + quoted(device.name),
               "a policy for this device, or one without \"device\"");
        return problems;
    }
    for (const ReleasePolicy& release : policy.releases) check_release_name(release.release, device, problems);
    const std::set<std::string_view> known = known_parameters(device);
    for (const Acceptance& acceptance : policy.accepted) {
        for (const NamedRelease& release : acceptance.on) check_release_name(release, device, problems);
        const auto steps = parse_id(acceptance.parameter);
        const std::string id = steps ? plain_id(*steps) : std::string();
        if (!steps || known.contains(id)) continue;
        const std::vector<std::string_view> ids(known.begin(), known.end());
        report(problems, acceptance.parameter_place, "no release of " + device.name + " has a parameter " + quoted(id),
               "the id of a parameter", did_you_mean(id, ids));
    }
    return problems;
}

bool is_date(std::string_view text) {
    if (text.size() != 10 || text[4] != '-' || text[7] != '-') return false;
    const auto year = digits(text.substr(0, 4));
    const auto month = digits(text.substr(5, 2));
    const auto day = digits(text.substr(8, 2));
    if (!year || !month || !day) return false;
    return std::chrono::year_month_day(std::chrono::year(*year), std::chrono::month(static_cast<unsigned>(*month)),
                                       std::chrono::day(static_cast<unsigned>(*day)))
        .ok();
}

}  // namespace downfit::schema
