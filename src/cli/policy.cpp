#include "cli/policy.h"

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
