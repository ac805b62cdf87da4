#include "dump/layouts.h"

#include <algorithm>
#include <string>
#include <variant>

#include "base/near_miss.h"

namespace downfit::dump {

std::optional<Problem> unknown_layout(const std::vector<const schema::Device*>& devices, std::string_view layout) {
    std::vector<std::string_view> names;
    const auto add = [&](const std::vector<schema::Layout>& layouts) {
        for (const schema::Layout& one : layouts) {
            if (std::find(names.begin(), names.end(), one.name) == names.end()) names.push_back(one.name);
        }
    };
    std::string whose;
    for (const schema::Device* device : devices) {
        whose += (whose.empty() ? "" : " or ") + device->name;
        add(device->layouts);
        for (const schema::ReleaseEntry& release : device->releases) {
            if (release.schema) add(release.schema->layouts);
        }
    }
    if (layout.empty() || std::find(names.begin(), names.end(), layout) != names.end()) return std::nullopt;
    std::string list;
    for (const std::string_view name : names) list += (list.empty() ? "one of " : ", ") + std::string(name);
    return Problem{std::monostate(), whose + " has no layout \"" + std::string(layout) + '"', list,
                   did_you_mean(layout, names)};
}

}  // namespace downfit::dump
