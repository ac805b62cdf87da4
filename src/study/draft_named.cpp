#include "study/draft_named.h"

#include <algorithm>
#include <array>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <utility>

#include "dump/named_values.h"
#include "study/draft_part.h"
#include "study/draft_value.h"

namespace downfit::study {

namespace {

using dump::NamedNode;
using schema::NamedBy;
using schema::NamedPlace;
using schema::Notation;
using Kind = NamedNode::Kind;
using Nodes = std::vector<NamedNode>;

/// How values are called that tell the objects of a list apart, the surest first: common practice, no source.
constexpr std::array<std::string_view, 8> telling_names{"id", "key", "slot", "number", "index", "type", "kind", "name"};

class NamedDrafter {
public:
    NamedDrafter(const schema::Layout& layout, const std::vector<const dump::Entry*>& presets)
        : notation_(layout.notation) {
        dump::NamedValues reader(layout);
        for (const dump::Entry* preset : presets) reader.learn(preset->body);
        for (const dump::Entry* preset : presets) documents_.push_back(reader.nodes_of(preset->body));
        draft_.presets = presets.size();
        draft_.by_name = true;
    }

    Draft draft() {
        SeenNodes records;
        for (const Nodes& document : documents_) {
            if (!document.empty()) records.push_back({&document, 0});
        }
        Part all;
        look_at_presets(all, records);
        (void)decide(all);
        put(all);
        return std::move(draft_);
    }

private:
    [[nodiscard]] bool is_json() const { return notation_ == Notation::json; }

    void look_at_presets(Part& all, const SeenNodes& records) {
        if (records.empty()) return;
        all.records = records.size();
        std::vector<std::pair<std::size_t, SeenNode>> spots;
        for (std::size_t r = 0; r < records.size(); ++r) spots.emplace_back(r, records[r]);
        const auto are = [&](Kind kind) {
            return std::all_of(records.begin(), records.end(),
                               [kind](const SeenNode& spot) { return spot.node().kind == kind; });
        };
        Keyed keyed;
        keyed.records = records.size();
        if (are(Kind::list)) {
            add_list(all, "", "item", spots);
        } else if (are(Kind::object) && by_key(spots, keyed)) {
            add_keyed(all, place_of("/*", NamedBy::key), "item", keyed, {});
        } else {
            look_inside(all, records, {});
        }
    }

    // What there is.

    /// All children by name (of lists by their number), in order of appearance.
    template <class Wanted>
    [[nodiscard]] std::vector<SameName> places(const SeenNodes& records, const Wanted& wanted) const {
        std::vector<SameName> found;
        std::map<std::string, std::size_t> index;
        for (std::size_t r = 0; r < records.size(); ++r) {
            const NamedNode& node = records[r].node();
            for (std::size_t c = 0; c < node.children.size(); ++c) {
                const SeenNode child = records[r].child(node.children[c]);
                if (child.node().aside || !wanted(child.node())) continue;
                const std::string name = node.kind == Kind::list ? std::to_string(c) : child.node().name;
                const auto [at, fresh] = index.emplace(name, found.size());
                if (fresh) found.push_back({name, {}});
                found[at->second].spots.emplace_back(r, child);
            }
        }
        return found;
    }

    /// All that stands in the records of one group. `skipped`: the value that tells them apart.
    void look_inside(Part& part, const SeenNodes& records, const std::string& skipped) {
        part.records = records.size();
        if (is_json()) {
            for (const SameName& place : places(records, [](const NamedNode&) { return true; })) {
                if (place.name == skipped && !skipped.empty()) continue;
                add_member(part, place);
            }
            return;
        }
        add_own_text(part, records);
        for (const SameName& place :
             places(records, [](const NamedNode& node) { return node.kind == Kind::attribute; })) {
            if (place.name != skipped) add_value(part, '@' + place.name, place.name, place.spots);
        }
        for (const SameName& place :
             places(records, [](const NamedNode& node) { return node.kind == Kind::element; })) {
            add_elements(part, place);
        }
    }

    /// Values at one path, which the records hold once at most. Where no kind reads them all they are told.
    void add_value(Part& part, const std::string& path, const std::string& name,
                   const std::vector<std::pair<std::size_t, SeenNode>>& spots) {
        PlaceValues values;
        std::vector<const NamedNode*> held(part.records, nullptr);
        std::set<std::string> raws;
        for (const auto& [record, spot] : spots) {
            if (is_nothing(notation_, spot.node())) continue;
            values.push_back(&spot.node());
            held[record] = &spot.node();
            raws.insert(spot.node().raw);
        }
        if (values.empty()) return;
        const bool everywhere = std::none_of(held.begin(), held.end(), [](const auto* one) { return one == nullptr; });
        std::optional<DraftParameter> parameter = draft_value(notation_, values);
        if (!can_be_found(path)) parameter.reset();
        add(part, std::move(parameter), path, name, raws.size() > 1 || !everywhere, std::move(held));
    }

    void add(Part& part, std::optional<DraftParameter> parameter, const std::string& path, const std::string& name,
             bool varies, std::vector<const NamedNode*> held) {
        if (!parameter) {
            part.unread.emplace_back(path, varies);
            return;
        }
        parameter->path = path;
        parameter->id = part.names.take(name);
        parameter->repeated = parameter->repeated || part.repeated;
        part.found.push_back({*std::move(parameter), varies, std::move(held)});
    }

    /// "*" is every member, whatever its key; names of namespaces are no attributes to XPath.
    [[nodiscard]] bool can_be_found(const std::string& path) const {
        if (is_json()) return path != "/*";
        return path != "@xmlns" && !path.starts_with("@xmlns:");
    }

    // JSON

    void add_member(Part& part, const SameName& place) {
        const std::string path = pointer_step(place.name);
        const bool reachable = can_be_found(path);
        std::vector<std::pair<std::size_t, SeenNode>> values, objects, lists;
        for (const auto& spot : place.spots) {
            const Kind kind = spot.second.node().kind;
            (kind == Kind::value ? values : kind == Kind::list ? lists : objects).push_back(spot);
        }
        if (!values.empty()) add_value(part, path, place.name, values);
        // Where there is a list here and an object there, "*" would mean the items of both.
        const bool both = !objects.empty() && !lists.empty();
        if (both && reachable) add_group(part, place_of(path, NamedBy::order), place.name, not_values(place), {});
        if (!both && !objects.empty() && reachable) add_object(part, path, place.name, objects);
        if (!both && !lists.empty() && reachable) add_list(part, path, place.name, lists);
        if (!reachable && objects.size() + lists.size() > 0) part.unread.emplace_back(path, true);
    }

    [[nodiscard]] static std::vector<std::pair<std::size_t, SeenNode>> not_values(const SameName& place) {
        std::vector<std::pair<std::size_t, SeenNode>> spots;
        for (const auto& spot : place.spots) {
            if (spot.second.node().kind != Kind::value) spots.push_back(spot);
        }
        return spots;
    }

    void add_object(Part& part, const std::string& path, const std::string& name,
                    const std::vector<std::pair<std::size_t, SeenNode>>& spots) {
        Keyed keyed;
        keyed.records = part.records;
        if (by_key(spots, keyed)) {
            NamedPlace where = place_of(path + "/*", NamedBy::key);
            return add_keyed(part, where, name, keyed, {});
        }
        add_group(part, place_of(path, NamedBy::order), name, spots, {});
    }

    /// Objects whose members are objects of one kind, with keys that only number them.
    [[nodiscard]] bool by_key(const std::vector<std::pair<std::size_t, SeenNode>>& spots, Keyed& keyed) const {
        for (const auto& [record, spot] : spots) {
            std::vector<std::pair<std::string, SeenNode>> all;
            for (const int child : spot.node().children) {
                const SeenNode member = spot.child(child);
                if (member.node().kind != Kind::object || member.node().aside) return false;
                all.emplace_back(member.node().name, member);
            }
            gather(keyed, all);
        }
        return keyed.by_key.size() > 1 && are_numbered(keyed) && are_alike(keyed);
    }

    void add_list(Part& part, const std::string& path, const std::string& name,
                  const std::vector<std::pair<std::size_t, SeenNode>>& lists) {
        std::size_t values = 0, inner = 0, most = 0, aside = 0;
        for (const auto& [record, list] : lists) {
            most = std::max(most, list.node().children.size());
            for (const int child : list.node().children) {
                const NamedNode& item = list.child(child).node();
                if (item.aside) ++aside;
                if (item.kind != Kind::value) ++inner;
                if (item.kind == Kind::value && !is_nothing(notation_, item)) ++values;
            }
        }
        if (aside > 0) return add_group(part, place_of(path, NamedBy::order), name, lists, {});
        if (inner == 0 && add_values(part, path + "/*", name, lists)) return;
        if (values == 0 && inner > 0) return add_items(part, path, name, lists, most);
        if (values == inner && add_named_items(part, path, name, lists)) return;
        add_group(part, place_of(path, NamedBy::order), name, lists, {});
    }

    /// A list of values of one kind.
    bool add_values(Part& part, const std::string& path, const std::string& name,
                    const std::vector<std::pair<std::size_t, SeenNode>>& lists) {
        PlaceValues values;
        std::vector<std::string> written(part.records);
        std::size_t most = 0, quoted = 0;
        for (const auto& [record, list] : lists) {
            most = std::max(most, list.node().children.size());
            written[record] += '[';
            for (const int child : list.node().children) {
                const NamedNode& item = list.child(child).node();
                values.push_back(&item);
                written[record] += item.raw + ',';
                if (item.raw.starts_with('"')) ++quoted;
            }
        }
        if (values.empty()) return true;
        if (is_json() && quoted != 0 && quoted != values.size()) return false;
        std::optional<DraftParameter> parameter = draft_value(notation_, values);
        if (!parameter || most > longest_list) return false;
        parameter->list = static_cast<int>(most);
        parameter->repeated = true;
        const bool varies =
            std::any_of(written.begin(), written.end(), [&](const std::string& one) { return one != written.front(); });
        add(part, std::move(parameter), path, name, varies, std::vector<const NamedNode*>(part.records, nullptr));
        return true;
    }

    /// A list of objects: by a value that tells them apart, else by their order.
    void add_items(Part& part, const std::string& path, const std::string& name,
                   const std::vector<std::pair<std::size_t, SeenNode>>& lists, std::size_t most) {
        for (const std::string_view telling : telling_names) {
            Keyed keyed;
            keyed.records = part.records;
            if (!by_value(lists, std::string(telling), most, keyed)) continue;
            NamedPlace where = place_of(path + "/*", NamedBy::value);
            where.by_path = pointer_step(std::string(telling));
            return add_keyed(part, where, name, keyed, std::string(telling));
        }
        std::vector<std::pair<std::size_t, SeenNode>> items;
        for (const auto& [record, list] : lists) {
            for (const int child : list.node().children) {
                if (list.child(child).node().kind != Kind::value) items.emplace_back(record, list.child(child));
            }
        }
        add_group(part, place_of(path + "/*", NamedBy::order), name, items, {}, most);
    }

    /// Whether every object has that value, no list has one of them twice, and all together are few.
    [[nodiscard]] bool by_value(const std::vector<std::pair<std::size_t, SeenNode>>& lists, const std::string& telling,
                                std::size_t most, Keyed& keyed) const {
        for (const auto& [record, list] : lists) {
            std::vector<std::pair<std::string, SeenNode>> all;
            std::set<std::string> here;
            for (const int child : list.node().children) {
                const SeenNode item = list.child(child);
                const std::optional<std::string> key = value_named(item, telling);
                if (!key || !here.insert(*key).second) return false;
                all.emplace_back(*key, item);
            }
            gather(keyed, all);
        }
        return keyed.by_key.size() > 1 && keyed.by_key.size() <= 2 * most + 2;
    }

    /// A list of names by turns with objects.
    bool add_named_items(Part& part, const std::string& path, const std::string& name,
                         const std::vector<std::pair<std::size_t, SeenNode>>& lists) {
        Keyed keyed;
        keyed.records = part.records;
        for (const auto& [record, list] : lists) {
            const std::vector<int>& children = list.node().children;
            if (children.size() % 2 != 0) return false;
            std::vector<std::pair<std::string, SeenNode>> all;
            for (std::size_t i = 0; i < children.size(); i += 2) {
                const SeenNode before = list.child(children[i]), item = list.child(children[i + 1]);
                if (!before.node().raw.starts_with('"') || item.node().kind == Kind::value) return false;
                all.emplace_back(before.node().text.value_or(""), item);
            }
            gather(keyed, all);
        }
        add_keyed(part, place_of(path + "/*", NamedBy::name_before), name, keyed, {});
        return true;
    }

    // XML

    /// The text of elements that have other things too. Where one has text, those without have an empty one.
    void add_own_text(Part& part, const SeenNodes& records) {
        std::vector<std::pair<std::size_t, SeenNode>> spots;
        bool any = false;
        for (std::size_t r = 0; r < records.size(); ++r) {
            any = any || (records[r].node().is_value && !records[r].node().aside);
            if (records[r].node().text) spots.emplace_back(r, records[r]);
        }
        if (any) add_value(part, ".", "text", spots);
    }

    /// All elements of one name.
    void add_elements(Part& part, const SameName& place) {
        const std::vector<std::size_t> counts = counts_of(place, part.records);
        const std::size_t most = *std::max_element(counts.begin(), counts.end());
        const std::string tells = place.spots.front().second.node().tells;
        if (!tells.empty() && add_told_elements(part, place, tells)) return;
        std::set<std::string> forms;
        bool single = true;
        for (const auto& [record, spot] : place.spots) {
            const std::optional<Single> value = single_value(spot, {});
            single = single && value.has_value();
            if (value) forms.insert(value->path);
        }
        const bool leaves = single && forms.size() == 1 && forms.begin()->empty();
        if (leaves && most == 1) return add_value(part, place.name, place.name, place.spots);
        if (single && forms.size() == 1 && most > 1 && add_element_values(part, place, *forms.begin())) return;
        add_group(part, place_of(place.name, NamedBy::order), place.name, place.spots, {}, most);
    }

    bool add_element_values(Part& part, const SameName& place, const std::string& form) {
        PlaceValues values;
        std::vector<std::string> written(part.records);
        for (const auto& [record, spot] : place.spots) {
            const std::optional<Single> value = single_value(spot, {});
            values.push_back(&value->spot.node());
            written[record] += value->spot.node().raw + '<';
        }
        const std::vector<std::size_t> counts = counts_of(place, part.records);
        const std::size_t most = *std::max_element(counts.begin(), counts.end());
        std::optional<DraftParameter> parameter = draft_value(notation_, values);
        if (!parameter || most > longest_list) return false;
        parameter->list = static_cast<int>(most);
        parameter->repeated = true;
        const bool varies =
            std::any_of(written.begin(), written.end(), [&](const std::string& one) { return one != written.front(); });
        add(part, std::move(parameter), place.name + form, place.name, varies,
            std::vector<const NamedNode*>(part.records, nullptr));
        return true;
    }

    /// Elements that an attribute tells apart. False where one of them lacks it, or XPath could not say it.
    bool add_told_elements(Part& part, const SameName& place, const std::string& tells) {
        std::vector<std::vector<std::pair<std::string, SeenNode>>> by_record(part.records);
        bool single = true;
        for (const auto& [record, spot] : place.spots) {
            const std::optional<std::string> key = attribute_of(spot, tells);
            if (!key || key->find('\'') != std::string::npos) return false;
            by_record[record].emplace_back(*key, spot);
            single = single && single_value(spot, tells).has_value();
        }
        Keyed keyed;
        keyed.records = part.records;
        for (const auto& all : by_record) {
            if (!all.empty()) gather(keyed, all);
        }
        if (!single) {
            NamedPlace where = place_of(place.name, NamedBy::value);
            where.by_path = '@' + tells;
            add_keyed(part, where, place.name, keyed, tells);
            return true;
        }
        std::vector<std::map<std::string, std::vector<std::pair<std::size_t, SeenNode>>>> by_path(keyed.by_key.size());
        for (std::size_t r = 0; r < by_record.size(); ++r) {
            for (const auto& [key, spot] : by_record[r]) {
                const std::optional<Single> value = single_value(spot, tells);
                by_path[keyed.index.at(key).first][value->path].emplace_back(r, value->spot);
            }
        }
        for (std::size_t k = 0; k < by_path.size(); ++k) {
            const std::string& key = keyed.by_key[k].first;
            for (const auto& [path, values] : by_path[k]) {
                add_value(part, place.name + "[@" + tells + "='" + key + "']" + path, place.name + '-' + key, values);
            }
        }
        return true;
    }

    // Groups

    [[nodiscard]] NamedPlace place_of(const std::string& path, NamedBy by) const {
        NamedPlace place;
        place.path = path;
        place.by = by;
        place.notation = notation_;
        return place;
    }

    /// A group of instances that lie at one path; `spots` say which record of `part` each is from.
    void add_group(Part& part, NamedPlace where, const std::string& name,
                   const std::vector<std::pair<std::size_t, SeenNode>>& spots, const std::string& skipped,
                   std::size_t most = 1) {
        auto inner = std::make_unique<Part>();
        std::vector<std::size_t> counts(part.records, 0);
        SeenNodes records;
        for (const auto& [record, spot] : spots) {
            ++counts[record];
            records.push_back(spot);
        }
        for (const std::size_t count : counts) {
            if (count != counts.front() || count == 0) inner->comes_and_goes = true;
        }
        add_part(part, std::move(inner), std::move(where), name, most, records, skipped);
        for (std::size_t r = 0; r < counts.size(); ++r) part.inner_held.back()[r] = counts[r] > 0;
    }

    void add_part(Part& part, std::unique_ptr<Part> inner, NamedPlace where, const std::string& name, std::size_t count,
                  const SeenNodes& records, const std::string& skipped) {
        const std::string own = part.names.take(name);
        inner->group.path = part.group.path.empty() ? own : part.group.path + '.' + own;
        inner->group.count = static_cast<int>(std::max<std::size_t>(count, 1));
        inner->group.named = std::move(where);
        inner->repeated = part.repeated || count > 1;
        look_inside(*inner, records, skipped);
        part.inner.push_back(std::move(inner));
        part.inner_held.emplace_back(part.records, true);
    }

    /// One group of all where they are of one kind and only numbered, else one for each key.
    void add_keyed(Part& part, const NamedPlace& where, const std::string& name, const Keyed& keyed,
                   const std::string& skipped) {
        const auto add = [&](const std::vector<std::string>& keys, const std::string& own, const SeenNodes& records) {
            auto inner = std::make_unique<Part>();
            inner->comes_and_goes = records.size() != keyed.records * keys.size();
            NamedPlace place = where;
            place.keys = keys;
            add_part(part, std::move(inner), place, own, keys.size(), records, skipped);
            if (keys.size() == 1 && records.size() < part.records) part.inner_held.back().assign(part.records, false);
        };
        const bool numbers = skipped == "slot" || skipped == "number" || skipped == "num" || skipped == "index";
        if (keyed.by_key.size() > 1 && (numbers || are_numbered(keyed)) && are_alike(keyed)) {
            SeenNodes records;
            for (const auto& [key, spots] : keyed.by_key) records.insert(records.end(), spots.begin(), spots.end());
            return add(keyed.keys, name, records);
        }
        for (const auto& [key, spots] : keyed.by_key) {
            add(std::vector<std::string>(keyed.index.at(key).second, key), has_letter(key) ? key : name + '-' + key,
                spots);
        }
    }

    // What is drafted of it.

    void put(Part& part) {
        if (part.group.named && is_drafted(part)) draft_.groups.push_back(part.group);
        tell_what_decides(part);
        draft_.places += part.found.size() + part.unread.size();
        for (const auto& [place, varies] : part.unread) {
            if (!varies) continue;
            ++draft_.varying;
            draft_.unread.push_back(part.group.path.empty() ? place : part.group.path + ": " + place);
        }
        for (Found& one : part.found) {
            if (!one.varies) continue;
            ++draft_.varying;
            if (!part.group.path.empty()) one.parameter.id = part.group.path + '.' + one.parameter.id;
            draft_.parameters.push_back(std::move(one.parameter));
        }
        for (const std::unique_ptr<Part>& inner : part.inner) put(*inner);
    }

    static constexpr std::size_t longest_list = 100'000;  // that a release file may state

    Notation notation_;
    std::vector<Nodes> documents_;
    Draft draft_;
};

}  // namespace

Draft draft_named(const schema::Layout& layout, const std::vector<const dump::Entry*>& presets) {
    return NamedDrafter(layout, presets).draft();
}

}  // namespace downfit::study
