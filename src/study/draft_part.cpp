#include "study/draft_part.h"

#include <algorithm>
#include <map>
#include <set>

#include "study/draft_value.h"

namespace downfit::study {

namespace {

using dump::NamedNode;
using Kind = NamedNode::Kind;

/// Drafts all of a group of which nothing differs. False where it holds nothing.
bool force(Part& part) {
    for (Found& one : part.found) {
        one.varies = true;
        one.parameter.remark = "the same wherever it is; not all have it";
    }
    for (auto& [place, varies] : part.unread) varies = true;
    bool any = !part.found.empty();
    for (std::size_t i = 0; i < part.inner.size() && !any; ++i) any = force(*part.inner[i]);
    return any;
}

std::string what_goes_with(const std::vector<const NamedNode*>& held,
                           const std::vector<std::pair<std::string, std::vector<bool>>>& all) {
    std::map<std::string, std::vector<std::size_t>> records;
    for (std::size_t r = 0; r < held.size(); ++r) {
        if (held[r] == nullptr) return {};
        records[held[r]->text.value_or("")].push_back(r);
    }
    const auto often =
        std::count_if(records.begin(), records.end(), [](const auto& one) { return one.second.size() > 1; });
    if (all.empty() || often < 2 || records.size() * 2 > held.size()) return {};
    std::string told;
    for (const auto& [value, where] : records) {
        std::string names;
        for (const auto& [name, having] : all) {
            const bool first = having[where.front()];
            const bool same = std::all_of(where.begin(), where.end(),
                                          [&having = having, first](std::size_t r) { return having[r] == first; });
            if (!same) return {};
            if (first) names += (names.empty() ? "" : ", ") + name;
        }
        told += (told.empty() ? "" : "; ") + value + ": " + (names.empty() ? "none" : names);
    }
    constexpr std::size_t longest = 300;
    if (told.size() > longest) told = told.substr(0, told.rfind(';', longest)) + "; ...";
    return "with it goes which others are there, as far as was seen: " + told;
}

}  // namespace

std::optional<Single> single_value(const SeenNode& element, const std::string& tells) {
    std::optional<Single> found;
    if (element.node().is_value) found = {"", element};
    for (const int child : element.node().children) {
        const NamedNode& node = element.child(child).node();
        if (node.kind == Kind::attribute && node.name == tells) continue;
        if (node.kind != Kind::attribute || node.aside || found) return std::nullopt;
        found = {"/@" + node.name, element.child(child)};
    }
    return found;
}

std::optional<std::string> value_named(const SeenNode& object, const std::string& name) {
    std::optional<std::string> found;
    for (const int child : object.node().children) {
        const NamedNode& node = object.child(child).node();
        const bool fits = object.node().kind == Kind::object && node.name == name && !node.aside;
        if (!fits) continue;
        if (is_nothing(schema::Notation::json, node) || found) return std::nullopt;
        found = node.text;
    }
    return found;
}

std::optional<std::string> attribute_of(const SeenNode& element, const std::string& name) {
    for (const int child : element.node().children) {
        const NamedNode& node = element.child(child).node();
        if (node.kind == Kind::attribute && node.name == name) return node.text;
    }
    return std::nullopt;
}

std::vector<std::size_t> counts_of(const SameName& place, std::size_t records) {
    std::vector<std::size_t> counts(records, 0);
    for (const auto& [record, spot] : place.spots) ++counts[record];
    return counts;
}

void gather(Keyed& keyed, const std::vector<std::pair<std::string, SeenNode>>& all) {
    std::map<std::string, std::size_t> here;
    for (const auto& [key, spot] : all) {
        const auto [at, fresh] = keyed.index.try_emplace(key, keyed.by_key.size(), 0);
        if (fresh) keyed.by_key.push_back({key, {}});
        auto& [place, known] = at->second;
        keyed.by_key[place].second.push_back(spot);
        if (++here[key] <= known) continue;
        keyed.keys.push_back(key);
        ++known;
    }
}

bool are_numbered(const Keyed& keyed) {
    std::vector<std::string> keys;
    for (const auto& [key, spots] : keyed.by_key) keys.push_back(key);
    return only_numbered(keys);
}

bool are_alike(const Keyed& keyed) {
    std::map<std::string, std::size_t> having;
    for (const auto& [key, spots] : keyed.by_key) {
        std::set<std::string> names;
        for (const SeenNode& spot : spots) {
            for (const int child : spot.node().children) names.insert(spot.child(child).node().name);
        }
        for (const std::string& name : names) ++having[name];
    }
    const auto common = static_cast<std::size_t>(std::count_if(
        having.begin(), having.end(), [&](const auto& one) { return one.second == keyed.by_key.size(); }));
    // At least half of all names stand in those of every key.
    return common > 0 && 2 * common >= having.size();
}

bool decide(Part& part) {
    bool any = std::any_of(part.found.begin(), part.found.end(), [](const Found& one) { return one.varies; });
    for (const std::unique_ptr<Part>& inner : part.inner) any = decide(*inner) || any;
    return any || (part.comes_and_goes && force(part));
}

bool is_drafted(const Part& part) {
    return std::any_of(part.found.begin(), part.found.end(), [](const Found& one) { return one.varies; }) ||
           std::any_of(part.inner.begin(), part.inner.end(), [](const auto& inner) { return is_drafted(*inner); });
}

void tell_what_decides(Part& part) {
    std::vector<std::pair<std::string, std::vector<bool>>> comings;
    const auto add = [&](const std::string& name, const std::vector<bool>& held) {
        const auto count = static_cast<std::size_t>(std::count(held.begin(), held.end(), true));
        if (count > 0 && count < held.size()) comings.emplace_back(name, held);
    };
    for (const Found& one : part.found) {
        if (one.parameter.list > 0) continue;
        std::vector<bool> held;
        for (const NamedNode* node : one.held) held.push_back(node != nullptr);
        add(one.parameter.id, held);
    }
    for (std::size_t i = 0; i < part.inner.size(); ++i) {
        if (part.inner[i]->comes_and_goes) add(part.inner[i]->group.path, part.inner_held[i]);
    }
    // A number is the model less likely than a choice or a text.
    for (const bool is_number : {false, true}) {
        for (Found& one : part.found) {
            const bool wanted = one.varies && one.parameter.list == 0 && one.parameter.sort != Sort::real;
            if (!wanted || (one.parameter.sort == Sort::number) != is_number) continue;
            const std::string told = what_goes_with(one.held, comings);
            if (told.empty()) continue;
            one.parameter.remark += (one.parameter.remark.empty() ? "" : "; ") + told;
            return;
        }
    }
}

}  // namespace downfit::study
