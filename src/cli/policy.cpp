#include "cli/policy.h"

#include <algorithm>
#include <utility>

#include "files/input.h"

namespace downfit::cli {

Problems read_policy_options(const Call& call, schema::Policy& policy, std::string& today) {
    today = call.environment.today;
    if (call.has("today")) {
        if (!call.has("policy")) return {usage_problem("--today goes with --policy", "leave it out")};
        today = call.text("today");
        if (!schema::is_date(today))
            return {Problem{std::monostate(), "--today cannot be \"" + today + '"', "a day, as 2026-12-31", {}}};
    }
    if (!call.has("policy")) return {};
    if (!schema::is_date(today)) return {usage_problem("it is not known which day it is", "--today DATE")};
    const std::string path = call.text("policy");
    Result<std::string> text = files::read_text(path);
    if (!text) return text.problems();
    Result<schema::Policy> read = schema::read_policy({path, std::move(text).value()});
    if (!read) return read.problems();
    policy = std::move(read).value();
    return {};
}

Problems check_rig_policy(const schema::Policy& policy, const std::vector<const schema::Device*>& devices) {
    if (!policy.device.empty()) {
        const auto meant = [&](const schema::Device* device) { return device->name == policy.device; };
        const auto at = std::ranges::find_if(devices, meant);
        if (at != devices.end()) return schema::check_policy(policy, **at);
        return {Problem{policy.device_place,
                        "the policy is for \"" + policy.device + "\", and no unit of the rig is one",
                        "a policy for a device of the rig, or one without \"device\"",
                        {}}};
    }
    // What one of several devices has is no mistake.
    Problems problems = schema::check_policy(policy, *devices.front());
    for (const schema::Device* device : devices) {
        const Problems there = schema::check_policy(policy, *device);
        std::erase_if(problems, [&](const Problem& problem) {
            return std::ranges::find(there, problem.place, &Problem::place) == there.end();
        });
    }
    return problems;
}

Problems read_baseline_option(const Call& call, std::optional<report::BaselineFile>& baseline) {
    if (!call.has("baseline")) return {};
    const std::string path = call.text("baseline");
    Result<std::string> text = files::read_text(path);
    if (!text) return text.problems();
    Result<report::BaselineFile> read = report::read_baseline(path, text.value());
    if (!read) return read.problems();
    baseline = std::move(read).value();
    return {};
}

}  // namespace downfit::cli
