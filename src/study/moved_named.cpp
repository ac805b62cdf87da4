#include "study/moved_named.h"

#include <map>
#include <optional>
#include <string>
#include <utility>

#include "dump/named_values.h"

namespace downfit::study {

namespace {

using dump::NamedValue;

/// Values by path, and the paths in the order of the text.
struct Listed {
    std::map<std::string, NamedValue> values;
    std::vector<std::string> order;

    explicit Listed(const std::vector<NamedValue>& all) {
        for (const NamedValue& value : all) {
            // The same key twice: the second stands alone.
            std::string path = value.path;
            while (values.contains(path)) path += " (again)";
            order.push_back(path);
            values.emplace(std::move(path), value);
        }
    }
    [[nodiscard]] const NamedValue* find(const std::string& path) const {
        const auto at = values.find(path);
        return at == values.end() ? nullptr : &at->second;
    }
};

Bytes bytes_of(const NamedValue* value) {
    return value ? Bytes(value->raw.begin(), value->raw.end()) : Bytes();
}

std::size_t origin(const NamedSide& side, const NamedValue* value) {
    return value && value->span.offset < side.origins.size() ? side.origins[value->span.offset] : 0;
}

}  // namespace

void compare_named(const schema::Layout& layout, const NamedSide& before, const NamedSide& after,
                   const MovedParameters& parameters, MovedEntry& entry) {
    entry.by_name = true;
    dump::NamedValues reader(layout);
    reader.learn(before.body);
    reader.learn(after.body);
    const Listed old(reader.values_of(before.body)), now(reader.values_of(after.body));
    const auto compare = [&](const std::string& path, const NamedValue* was, const NamedValue* is) {
        if (was && is && was->raw == is->raw) return;
        if ((is ? is : was)->aside) {
            entry.aside.push_back({path + ", which is the layout's own", origin(before, was), origin(after, is),
                                   bytes_of(was), bytes_of(is)});
            return;
        }
        MovedValue moved;
        moved.path = path;
        if (was) moved.before = was->raw;
        if (is) moved.after = is->raw;
        moved.file_before = origin(before, was);
        moved.file_after = origin(after, is);
        moved.parameters = parameters.by_name(was ? std::optional(was->span) : std::nullopt,
                                              is ? std::optional(is->span) : std::nullopt);
        entry.values.push_back(std::move(moved));
    };
    for (const std::string& path : now.order) compare(path, old.find(path), now.find(path));
    for (const std::string& path : old.order) {
        if (!now.find(path)) compare(path, old.find(path), nullptr);
    }
}

}  // namespace downfit::study
