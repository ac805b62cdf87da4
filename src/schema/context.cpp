#include "schema/context.h"

#include <algorithm>
#include <cmath>

#include "base/near_miss.h"
#include "schema/ids.h"
#include "schema/reader.h"

namespace downfit::schema {

namespace {

bool versioned(const Node* records) {
    const Node* head = records ? records->find("head") : nullptr;
    const auto is_version = [](const NodePtr& item) {
        return item->is(Node::Kind::text) && item->text.starts_with("version");
    };
    return head && std::ranges::any_of(head->items, is_version);
}

bool says(const Node& node, std::string_view key, std::string_view word) {
    const Node* value = node.find(key);
    return value && value->is(Node::Kind::text) && value->text == word;
}

std::int64_t count_of(const RawRelease& release, std::string_view path) {
    const RawEntry* group = release.groups.find(path);
    const Node* count = group ? group->node->find("count") : nullptr;
    return count && count->whole ? *count->whole : 1;
}

std::optional<Setting> read_switch(const Node& node, Problems& problems) {
    if (node.is(Node::Kind::boolean)) return node.boolean ? 1.0 : 0.0;
    if (node.is(Node::Kind::text) && (node.text == "on" || node.text == "off")) return node.text == "on" ? 1.0 : 0.0;
    if (node.whole && (*node.whole == 0 || *node.whole == 1)) return node.number;
    report_found(problems, node, "true, false, \"on\" or \"off\"");
    return std::nullopt;
}

std::optional<Setting> read_choice(const Node& node, const SettingTarget& target, Problems& problems) {
    const bool unchecked = !target.choices || target.choices->doubtful;
    if (unchecked && node.is(Node::Kind::text)) return node.text;
    if (unchecked && node.is(Node::Kind::number)) return node.number;
    if (node.whole && node.whole == target.nothing) return node.number;
    std::vector<std::string_view> labels;
    if (target.choices) {
        for (const WrittenChoice& entry : target.choices->entries) {
            if (node.is(Node::Kind::text) && entry.choice.label == node.text) return node.text;
            if (node.whole && entry.choice.number == *node.whole) return node.number;
            labels.push_back(entry.choice.label);
        }
    }
    std::string remedy = node.is(Node::Kind::text) ? did_you_mean(node.text, labels) : std::string{};
    report_found(problems, node, labels.empty() || labels.size() > 8 ? "one of the choices" : one_of(labels),
                 std::move(remedy));
    return std::nullopt;
}

}  // namespace

void forget_repeated(Problems& problems, std::size_t told) {
    const auto first = problems.begin() + static_cast<std::ptrdiff_t>(told);
    const auto is_known = [&](const Problem& problem) {
        return std::find_if(problems.begin(), first,
                            [&](const Problem& before) { return before.place == problem.place; }) != first;
    };
    problems.erase(std::remove_if(first, problems.end(), is_known), problems.end());
}

Kind kind_of(const RawRelease& release, const RawEntry& entry) {
    const Node& node = *entry.node;
    if (const Node* kind = node.find("kind"); kind && kind->is(Node::Kind::text)) {
        const std::string_view word = kind->text;
        if (word == "real") return Kind::real;
        if (word == "switch") return Kind::on_off;
        if (word == "choice") return Kind::choice;
        if (word == "text") return Kind::text;
        if (word == "reference") return Kind::reference;
        if (word == "opaque") return Kind::opaque;
        return Kind::whole;
    }
    if (node.find("refers-to")) return Kind::reference;
    if (release.choices.contains(entry.id)) return Kind::choice;
    if (says(node, "as", "text")) return Kind::text;
    const Node* step = node.find("step");
    const bool fractional = step && step->is(Node::Kind::number) && step->number != std::trunc(step->number);
    const bool is_float = says(node, "as", "float32") || says(node, "as", "float64");
    return node.find("scale") || fractional || is_float ? Kind::real : Kind::whole;
}

bool refers_by_text(const Node& node) {
    return says(node, "refers-by", "name") || says(node, "refers-by", "hash");
}

bool has_versions(const RawRelease& release) {
    const auto of_layout = [](const Member& layout) {
        const Node* body = layout.value->find("body");
        return body && versioned(body->find("records"));
    };
    const auto of_group = [](const RawEntry& entry) { return versioned(entry.node->find("records")); };
    const bool in_layouts = release.layouts && std::ranges::any_of(release.layouts->members, of_layout);
    return in_layouts || std::ranges::any_of(release.groups.all(), of_group);
}

std::optional<std::int64_t> nothing_of(const RawEntry& entry) {
    const Node* nothing = entry.node->find("nothing");
    return nothing ? nothing->whole : std::nullopt;
}

SettingTarget target_of(const RawRelease& release, const RawEntry& entry) {
    const Kind kind = refers_by_text(*entry.node) ? Kind::text : kind_of(release, entry);
    SettingTarget target{kind, release.choices_of(entry.id), nothing_of(entry)};
    const auto changes_choices = [](const NodePtr& item) { return item->find("choices") != nullptr; };
    for (const std::string_view key : {"varies", "reads"}) {
        const Node* list = entry.node->find(key);
        if (list && std::ranges::any_of(list->items, changes_choices)) target.choices = nullptr;
    }
    return target;
}

std::optional<Setting> read_setting(const Node& node, const SettingTarget& target, Problems& problems) {
    if (target.kind == Kind::on_off) return read_switch(node, problems);
    if (target.kind == Kind::choice || (target.kind == Kind::reference && target.choices)) {
        return read_choice(node, target, problems);
    }
    if (target.kind == Kind::text) {
        const auto text = read_text(node, problems);
        return text ? std::optional<Setting>(*text) : std::nullopt;
    }
    const auto number = read_number(node, problems);
    return number ? std::optional<Setting>(*number) : std::nullopt;
}

std::optional<ReferenceFault> fault_of_reference(std::string_view text, const RawRelease& release) {
    const auto steps = parse_id(text);
    if (!steps) return ReferenceFault{quoted(text) + " is not a parameter id", "an id such as \"amp[2].drive\"", {}};
    const std::string id = plain_id(*steps);
    if (!release.parameters.find(id)) {
        if (release.in_doubt(id)) return std::nullopt;
        return ReferenceFault{"release " + quoted(release.name) + " has no parameter " + quoted(id),
                              "the id of a parameter", did_you_mean(id, release.parameters.ids())};
    }
    std::string path;
    for (const IdStep& step : *steps) {
        path += (path.empty() ? "" : ".") + step.name;
        const std::int64_t count = step.index == 0 ? 0 : count_of(release, path);
        if (step.index > count) {
            return ReferenceFault{
                quoted(text) + " names instance " + std::to_string(step.index) + " of " + quoted(path),
                count == 1 ? "1, the only instance" : "an instance from 1 to " + std::to_string(count),
                {}};
        }
    }
    return std::nullopt;
}

const RawEntry* read_reference(const Node& node, const Context& context) {
    if (!read_text(node, context.problems)) return nullptr;
    if (const auto fault = fault_of_reference(node.text, context.release)) {
        report(context.problems, node.value_place(), fault->what, fault->expected, fault->remedy);
        return nullptr;
    }
    return context.release.parameters.find(plain_id(*parse_id(node.text)));
}

const RawEntry* read_number_reference(const Node& node, const Context& context) {
    const RawEntry* entry = read_reference(node, context);
    if (!entry) return nullptr;
    const Kind kind = kind_of(context.release, *entry);
    if (kind == Kind::whole || kind == Kind::real) return entry;
    report(context.problems, node.value_place(), quoted(node.text) + " is not a number",
           "a parameter of kind \"whole\"");
    return nullptr;
}

std::optional<std::size_t> read_release_name(const Node& node, const std::vector<std::string>& releases,
                                             Problems& problems) {
    const auto name = read_text(node, problems);
    if (!name) return std::nullopt;
    const auto at = std::ranges::find(releases, *name);
    if (at != releases.end()) return static_cast<std::size_t>(at - releases.begin());
    const std::vector<std::string_view> names(releases.begin(), releases.end());
    report(problems, node.value_place(), "the device has no release " + quoted(*name),
           names.size() <= 8 ? one_of(names) : "a release from the device's list", did_you_mean(*name, names));
    return std::nullopt;
}

}  // namespace downfit::schema
