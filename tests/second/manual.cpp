#include "second/manual.h"

#include <algorithm>
#include <functional>
#include <set>

namespace downfit::testing::second {
namespace {

/// Old ids (without brackets) to new ones.
using Renames = std::map<std::string, std::string>;

std::string with_brackets_of(const std::string& old, const std::string& plain) {
    // The n-th step of the new id takes the brackets of the n-th step of the old one.
    std::vector<std::string> brackets(1);
    bool inside = false;
    for (const char c : old) {
        if (c == '[') inside = true;
        if (inside) brackets.back() += c;
        if (c == ']') inside = false;
        if (c == '.') brackets.emplace_back();
    }
    std::string id;
    std::size_t step = 0;
    for (const char c : plain) {
        if (c == '.') id += brackets[step++];
        id += c;
    }
    return id;
}

std::string follow(const std::string& id, const Renames& renames) {
    const auto found = renames.find(without_brackets(id));
    return found == renames.end() ? id : with_brackets_of(id, found->second);
}

const std::set<std::string>& reference_keys() {
    static const std::set<std::string> keys{"parameter", "on-by", "selected-by", "start-by", "controls",
                                            "heel",      "toe",   "count-by",    "overrides"};
    return keys;
}

void follow_ids(json& node, const Renames& renames) {
    if (node.is_array() || node.is_object()) {
        for (auto it = node.begin(); it != node.end(); ++it) {
            if (node.is_object() && it->is_string() && reference_keys().count(it.key()) != 0)
                *it = follow(it->get<std::string>(), renames);
            else
                follow_ids(*it, renames);
        }
    }
}

void replace_text(json& node, const std::map<std::string, std::string>& renamed) {
    if (node.is_string() && renamed.count(node.get<std::string>()) != 0) node = renamed.at(node.get<std::string>());
    if (node.is_array()) {
        for (json& item : node) replace_text(item, renamed);
    }
}

/// Labels in conditions that ask parameter `id`.
void follow_labels(json& node, const std::string& id, const std::map<std::string, std::string>& renamed) {
    if (!node.is_structured()) return;
    if (node.is_object() && node.contains("parameter") && node.contains("is") &&
        without_brackets(node["parameter"].get<std::string>()) == id) {
        replace_text(node["is"], renamed);
    }
    for (json& part : node) follow_labels(part, id, renamed);
}

bool is_inside(const std::string& id, const std::string& path) {
    return id.size() > path.size() && id.compare(0, path.size(), path) == 0 && id[path.size()] == '.';
}

Renames renames_in(const json& file, const Manual& base) {
    Renames groups;
    Renames all;
    const json written_groups = file.value("groups", json::object());
    for (const auto& [path, entry] : written_groups.items()) {
        if (entry.is_object() && entry.contains("renamed-from")) groups[entry["renamed-from"]] = path;
    }
    const auto moved = [&](const std::string& id) {
        for (const auto& [old, path] : groups) {
            if (is_inside(id, old)) return path + id.substr(old.size());
        }
        return id;
    };
    for (const auto& [id, entry] : base.parameters) {
        if (moved(id) != id) all[id] = moved(id);
    }
    for (const auto& [path, entry] : base.groups) {
        if (groups.count(path) != 0)
            all[path] = groups[path];
        else if (moved(path) != path)
            all[path] = moved(path);
    }
    const json written_parameters = file.value("parameters", json::object());
    for (const auto& [id, entry] : written_parameters.items()) {
        if (entry.is_object() && entry.contains("renamed-from")) all[entry["renamed-from"]] = id;
    }
    return all;
}

std::map<std::string, Entry> under_new_names(const std::map<std::string, Entry>& entries, const Renames& renames) {
    std::map<std::string, Entry> moved;
    for (const auto& [id, entry] : entries) {
        Entry copy = entry;
        follow_ids(copy.says, renames);
        if (entry.says.value("refers-to", "") == "parameter") {
            for (Label& label : copy.labels) label.label = follow(label.label, renames);
        }
        const auto found = renames.find(id);
        moved[found == renames.end() ? id : found->second] = std::move(copy);
    }
    return moved;
}

void patch(Entry& entry, json changes) {
    changes.erase("renamed-from");
    changes.erase("choices");
    if (entry.says.is_null()) entry.says = json::object();
    entry.says.merge_patch(changes);
}

/// Lays a file's entries over the inherited ones, and gives new ones an origin that nothing else has.
void merge(std::map<std::string, Entry>& entries, const json& written, const std::string& release) {
    for (const auto& [id, changes] : written.items()) {
        if (changes.is_null()) {
            entries.erase(id);
            continue;
        }
        patch(entries[id], changes);
    }
    std::set<std::string> taken;
    for (const auto& [id, entry] : entries) taken.insert(entry.origin);
    for (auto& [id, entry] : entries) {
        if (entry.origin.empty()) entry.origin = taken.count(id) != 0 ? id + "@" + release : id;
    }
}

void shift(std::vector<Label>& labels, std::int64_t from, std::int64_t by) {
    for (Label& label : labels) {
        if (label.number >= from) label.number += by;
    }
}

void edit(std::vector<Label>& labels, const json& edits) {
    const auto find = [&](const std::string& name) {
        return std::find_if(labels.begin(), labels.end(), [&](const Label& label) { return label.label == name; });
    };
    if (edits.contains("rename")) {
        std::vector<std::pair<std::vector<Label>::iterator, std::string>> changes;
        for (const auto& [old, now] : edits["rename"].items()) changes.emplace_back(find(old), now.get<std::string>());
        for (auto& [at, now] : changes) at->label = now;
    }
    for (const json& name : edits.value("remove", json::array())) labels.erase(find(name));
    for (const json& name : edits.value("close", json::array())) {
        const auto at = find(name);
        const std::int64_t number = at->number;
        labels.erase(at);
        shift(labels, number, -1);
    }
    std::map<std::int64_t, std::string> inserts;
    const json inserted = edits.value("insert", json::object());
    for (const auto& [name, number] : inserted.items()) inserts[number] = name;
    for (const auto& [number, name] : inserts) {
        shift(labels, number, 1);
        labels.push_back({number, name, {}});
    }
    const json put_in = edits.value("add", json::object());
    for (const auto& [name, number] : put_in.items()) labels.push_back({number, name, {}});
}

bool is_edit(const std::string& key, const json& value) {
    static const std::set<std::string> keys{"rename", "remove", "close", "insert", "add"};
    return keys.count(key) != 0 && value.is_structured();
}

void write_choices(Entry& entry, const json& choices, const std::string& release) {
    if (choices.is_null()) return entry.labels.clear();
    if (choices.is_array()) {
        entry.labels = labels_in(choices, entry.labels);
    } else {
        json edits = json::object();
        for (const auto& [key, value] : choices.items()) {
            if (is_edit(key, value)) {
                edits[key] = value;
                continue;
            }
            const std::string& name = key;
            auto at = std::find_if(entry.labels.begin(), entry.labels.end(),
                                   [&](const Label& label) { return label.label == name; });
            if (value.is_null())
                entry.labels.erase(at);
            else if (at != entry.labels.end())
                at->number = value.get<std::int64_t>();
            else
                entry.labels.push_back({value.get<std::int64_t>(), key, {}});
        }
        edit(entry.labels, edits);
    }
    std::set<std::string> taken;
    for (const Label& label : entry.labels) taken.insert(label.origin);
    for (Label& label : entry.labels) {
        if (label.origin.empty()) {
            label.origin = taken.count(label.label) != 0 ? label.label + "@" + release : label.label;
        }
    }
    std::sort(entry.labels.begin(), entry.labels.end(),
              [](const Label& a, const Label& b) { return a.number < b.number; });
}

/// Carries renamed choices of a parameter into whatever names them.
void rename_choices(Manual& manual, const std::string& id, const json& edits) {
    if (!edits.contains("rename")) return;
    const auto renamed = edits["rename"].get<std::map<std::string, std::string>>();
    for (auto* entries : {&manual.parameters, &manual.groups}) {
        for (auto& [other, entry] : *entries) follow_labels(entry.says, id, renamed);
    }
    json& own = manual.parameters.at(id).says;
    for (const char* key : {"default", "neutral"}) {
        if (own.contains(key)) replace_text(own[key], renamed);
    }
}

/// Whether a named list is one of ids of parameters.
bool names_parameters(const Manual& manual, const std::string& list) {
    return std::any_of(manual.parameters.begin(), manual.parameters.end(), [&](const auto& named) {
        return named.second.list == list && named.second.says.value("refers-to", "") == "parameter";
    });
}

}  // namespace

std::string without_brackets(const std::string& id) {
    std::string plain;
    bool inside = false;
    for (const char c : id) {
        if (c == '[') inside = true;
        if (!inside) plain += c;
        if (c == ']') inside = false;
    }
    return plain;
}

std::vector<Label> labels_in(const json& choices, const std::vector<Label>& known) {
    std::vector<Label> labels;
    std::int64_t next = 0;
    for (const auto& [key, value] : choices.items()) {
        Label label;
        label.label = choices.is_array() ? value.get<std::string>() : key;
        label.number = choices.is_array() ? next++ : value.get<std::int64_t>();
        for (const Label& other : known) {
            if (other.label == label.label) label.origin = other.origin;
        }
        labels.push_back(label);
    }
    for (Label& label : labels) {
        if (label.origin.empty()) label.origin = label.label;
    }
    std::sort(labels.begin(), labels.end(), [](const Label& a, const Label& b) { return a.number < b.number; });
    return labels;
}

Shelf shelf_of(const std::vector<std::pair<std::string, std::string>>& files) {
    Shelf shelf;
    for (const auto& [name, text] : files) {
        json file = json::parse(text, nullptr, true, true);
        const bool is_release = file.contains("release");
        json& place = is_release ? shelf.releases[file["release"]] : shelf.device;
        place = std::move(file);
    }
    return shelf;
}

std::size_t order_of(const Shelf& shelf, const std::string& release) {
    std::size_t order = 0;
    for (const json& entry : shelf.device.at("releases")) {
        if ((entry.is_string() ? entry : entry.at("release")) == release) break;
        ++order;
    }
    return order;
}

Manual manual_of(const Shelf& shelf, const std::string& release) {
    const json& file = shelf.releases.at(release);
    Manual manual;
    if (file.contains("extends")) {
        manual = manual_of(shelf, file["extends"]);
        const Renames renames = renames_in(file, manual);
        for (auto& [name, list] : manual.lists) {
            if (!names_parameters(manual, name)) continue;
            for (Label& label : list.labels) label.label = follow(label.label, renames);
        }
        manual.groups = under_new_names(manual.groups, renames);
        manual.parameters = under_new_names(manual.parameters, renames);
    } else {
        const json& device = shelf.device;
        manual.rules = device.value("rules", json::object());
        manual.layouts = device.at("layouts");
        manual.assets = device.value("assets", json::object());
        manual.slots = device.value("slots", json::object());
        manual.accepts = manual.repairs = json::array();
    }
    manual.name = release;
    manual.order = order_of(shelf, release);
    const json parameters = file.value("parameters", json::object());
    for (const auto& [id, changes] : parameters.items()) {
        if (!changes.is_object() || !changes.contains("choices") || !changes["choices"].is_object()) continue;
        rename_choices(manual, id, changes["choices"]);
    }
    const json lists = file.value("choice-lists", json::object());
    for (const auto& [name, changes] : lists.items()) {
        for (const auto& [id, entry] : manual.parameters) {
            if (entry.list == name && changes.is_object()) rename_choices(manual, id, changes);
        }
        write_choices(manual.lists[name], changes, release);
    }
    const json groups = file.value("groups", json::object());
    for (const auto& [path, changes] : groups.items()) {
        if (!changes.is_null()) continue;
        const std::string& gone = path;
        for (auto* entries : {&manual.parameters, &manual.groups}) {
            for (auto it = entries->begin(); it != entries->end();)
                it = is_inside(it->first, gone) ? entries->erase(it) : std::next(it);
        }
    }
    merge(manual.groups, groups, release);
    merge(manual.parameters, parameters, release);
    for (const auto& [id, changes] : parameters.items()) {
        if (!changes.is_object() || !changes.contains("choices")) continue;
        Entry& entry = manual.parameters.at(id);
        entry.list = changes["choices"].is_string() ? changes["choices"].get<std::string>() : std::string();
        if (entry.list.empty()) write_choices(entry, changes["choices"], release);
    }
    for (auto& [id, entry] : manual.parameters) {
        if (!entry.list.empty()) entry.labels = manual.lists.at(entry.list).labels;
    }
    for (auto [part, key] : {std::pair{&manual.rules, "rules"},
                             {&manual.layouts, "layouts"},
                             {&manual.assets, "assets"},
                             {&manual.accepts, "accepts"},
                             {&manual.repairs, "repairs"}}) {
        if (file.contains(key)) part->merge_patch(file[key]);
    }
    manual.revoiced = file.value("revoiced", json::object());
    return manual;
}

}  // namespace downfit::testing::second
