#include "cli/selection.h"

#include <algorithm>
#include <charconv>

#include "base/near_miss.h"
#include "cli/command.h"

namespace downfit::cli {

namespace {

std::string lower(std::string text) {
    for (char& c : text) {
        if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    }
    return text;
}

std::vector<std::string> split(const std::string& text) {
    std::vector<std::string> parts;
    for (std::size_t from = 0; from <= text.size();) {
        const std::size_t end = std::min(text.find(',', from), text.size());
        const std::size_t first = text.find_first_not_of(' ', from);
        std::string part = first < end ? text.substr(first, end - first) : std::string();
        part.erase(part.find_last_not_of(' ') + 1);
        parts.push_back(std::move(part));
        from = end + 1;
    }
    return parts;
}

std::optional<int> number(std::string_view text) {
    int value = 0;
    const auto result = std::from_chars(text.data(), text.data() + text.size(), value);
    if (result.ec != std::errc() || result.ptr != text.data() + text.size() || value < 0) return std::nullopt;
    return value;
}

std::optional<Problem> find_variant(const schema::Device& device, const std::string& name) {
    std::vector<std::string> names;
    for (const schema::ReleaseEntry& release : device.releases) {
        if (!release.schema) continue;
        for (const schema::Variant& variant : release.schema->variants) {
            if (std::find(names.begin(), names.end(), variant.name) == names.end()) names.push_back(variant.name);
        }
    }
    if (std::find(names.begin(), names.end(), name) != names.end()) return std::nullopt;
    const std::string what = device.name + " has no variant \"" + name + '"';
    if (names.empty()) return Problem{std::monostate(), what + ": it comes in one only", {}, "leave it out"};
    std::string list;
    for (const std::string& one : names) list += (list.empty() ? "one of " : ", ") + one;
    const std::vector<std::string_view> views(names.begin(), names.end());
    return Problem{std::monostate(), what, list, did_you_mean(name, views)};
}

}  // namespace

Result<std::size_t> find_release(const schema::Device& device, const std::string& name) {
    if (const auto found = device.find_release(name)) return *found;
    std::vector<std::string_view> names;
    std::string list;
    for (const schema::ReleaseEntry& release : device.releases) {
        names.push_back(release.name);
        list += (list.empty() ? "" : ", ") + release.name;
    }
    return Problem{std::monostate(), device.name + " has no release \"" + name + '"', "one of " + list,
                   did_you_mean(name, names)};
}

Result<Targets> find_targets(const schema::Device& device, const std::string& asked) {
    Targets targets;
    if (asked == "all") {
        targets.all = true;
        for (std::size_t i = 0; i < device.releases.size(); ++i) targets.releases.push_back(i);
        return targets;
    }
    Problems problems;
    for (const std::string& name : split(asked)) {
        const Result<std::size_t> release = find_release(device, name);
        if (!release) {
            problems.push_back(release.problems().front());
        } else if (std::find(targets.releases.begin(), targets.releases.end(), release.value()) ==
                   targets.releases.end()) {
            targets.releases.push_back(release.value());
        }
    }
    if (!problems.empty()) return problems;
    return targets;
}

Result<Selection> Selection::parse(const std::string& slots, const std::string& name) {
    Selection selection;
    selection.name_ = lower(name);
    if (slots.empty()) return selection;
    for (const std::string& part : split(slots)) {
        const std::size_t dash = part.find('-');
        const std::optional<int> first = number(std::string_view(part).substr(0, dash));
        const std::optional<int> last =
            dash == std::string::npos ? first : number(std::string_view(part).substr(dash + 1));
        if (!first || !last || *first > *last) {
            return Problem{std::monostate(),
                           "--slot cannot be \"" + slots + '"',
                           "slots as the unit shows them, such as 3 or 1-8,12",
                           {}};
        }
        selection.slots_.emplace_back(*first, *last);
    }
    return selection;
}

bool Selection::takes(int slot, const std::string& name) const {
    const bool slot_fits =
        slots_.empty() || std::any_of(slots_.begin(), slots_.end(), [&](const std::pair<int, int>& range) {
            return slot >= range.first && slot <= range.second;
        });
    return slot_fits && lower(name).find(name_) != std::string::npos;
}

std::optional<Problem> take_variant(const schema::Device& device, const std::string& name,
                                    compat::CheckOptions& options) {
    if (auto problem = find_variant(device, name)) return problem;
    options.facts["variant"] = name;
    for (auto release = device.releases.rbegin(); release != device.releases.rend(); ++release) {
        if (!release->schema) continue;
        for (const schema::Variant& variant : release->schema->variants) {
            if (variant.name == name) options.facts.insert(variant.facts.begin(), variant.facts.end());
        }
    }
    return std::nullopt;
}

}  // namespace downfit::cli
