#include "schema/inherit.h"

#include <algorithm>
#include <set>
#include <utility>

#include "base/limits.h"
#include "base/near_miss.h"
#include "schema/ids.h"
#include "schema/label_moves.h"
#include "schema/moves.h"
#include "schema/reader.h"

namespace downfit::schema {

namespace {

bool is_object(const Node* node) {
    return node && node->is(Node::Kind::object);
}

/// The members of a section of the release file that put something in: everything but null.
std::vector<const Member*> written_members(const Node& file, std::string_view section, Problems& problems) {
    std::vector<const Member*> written;
    const Node* node = file.find(section);
    if (!node || node->is(Node::Kind::null)) return written;
    if (!is_object(node)) report_found(problems, *node, "an object");
    for (const Member& member : node->members) {
        if (!member.value->is(Node::Kind::null)) written.push_back(&member);
    }
    return written;
}

/// The entries of `base` under their new names, then what the file writes merged over them or added.
RawEntries merged_entries(const RawEntries& base, const std::vector<const Member*>& written, bool groups,
                          const Moves& moves, const LabelMoves& labels, const std::string& release) {
    RawEntries merged;
    std::set<std::string> meanings;
    for (const RawEntry& entry : base.all()) {
        auto id = groups ? moves.group(entry.id) : moves.parameter(entry.id);
        if (!id || merged.find(*id)) continue;
        meanings.insert(entry.meaning);
        NodePtr node = moves.any_renamed() ? moves.follow(entry.node) : entry.node;
        if (labels.any()) node = labels.follow(node, *id);
        merged.add({*std::move(id), entry.meaning, std::move(node), entry.copied});
    }
    for (const Member* member : written) {
        const NodePtr patch = without(member->value, {"renamed-from", "choices"});
        if (RawEntry* entry = merged.find(member->key)) {
            entry->node = merge_patch(entry->node, patch);
            entry->copied = false;
            continue;
        }
        std::string meaning = member->key;
        if (meanings.contains(meaning)) meaning += "@" + release;
        meanings.insert(meaning);
        merged.add({member->key, std::move(meaning), merge_patch(nullptr, patch)});
    }
    return merged;
}

bool refers_to_parameters(const RawEntry& entry) {
    const Node* refers = entry.node->find("refers-to");
    return refers && refers->is(Node::Kind::text) && refers->text == "parameter";
}

/// The labels of references to parameters under the parameters' new names.
void follow_labels(WrittenChoices& choices, const Moves& moves) {
    for (WrittenChoice& entry : choices.entries) entry.choice.label = moves.reference(entry.choice.label);
}

class ChoiceMerger {
public:
    ChoiceMerger(const RawRelease& base, const Node& file, const Moves& moves, RawRelease& release, Problems& problems)
        : base_(base), file_(file), moves_(moves), release_(release), problems_(problems) {}

    void merge() {
        carry_over();
        const bool edits = file_.find("extends") != nullptr;
        for (const Member* member : written_members(file_, "choice-lists", problems_)) {
            const auto known = release_.lists.find(member->key);
            const WrittenChoices* inherited = known == release_.lists.end() ? nullptr : &known->second;
            if (member->value->is(Node::Kind::text)) {
                report_found(problems_, *member->value, "a list of labels, or an object with labels and numbers");
                continue;
            }
            release_.lists[member->key] = apply_choices(inherited, *member->value, edits, release_.name, problems_);
        }
        Problems told_already;
        for (const Member* member : written_members(file_, "parameters", told_already)) {
            const Node* written = member->value->find("choices");
            if (!written) continue;
            const auto known = release_.choices.find(member->key);
            const WrittenChoices* inherited = known == release_.choices.end() ? nullptr : &known->second;
            if (written->is(Node::Kind::null)) {
                release_.choices.erase(member->key);
            } else {
                release_.choices[member->key] = apply_choices(inherited, *written, edits, release_.name, problems_);
            }
        }
    }

private:
    void carry_over() {
        const Node* lists = file_.find("choice-lists");
        const bool all_gone = lists && lists->is(Node::Kind::null);
        if (!all_gone) release_.lists = base_.lists;
        for (const RawEntry& entry : base_.parameters.all()) {
            const auto at = base_.choices.find(entry.id);
            const auto id = moves_.parameter(entry.id);
            if (at == base_.choices.end() || !id) continue;
            WrittenChoices& choices = release_.choices[*id] = at->second;
            if (!moves_.any_renamed() || !refers_to_parameters(entry)) continue;
            follow_labels(choices, moves_);
            const auto shared = release_.lists.find(choices.list);
            if (shared != release_.lists.end() && followed_.insert(choices.list).second)
                follow_labels(shared->second, moves_);
        }
        if (!is_object(lists)) return;
        for (const Member& member : lists->members) {
            if (member.value->is(Node::Kind::null) && release_.lists.erase(member.key) == 0) {
                std::vector<std::string_view> names;
                for (const auto& [name, choices] : release_.lists) names.push_back(name);
                report(problems_, member.value->key_place(),
                       "there is no choice list " + quoted(member.key) + " to remove",
                       "a choice list that is inherited", did_you_mean(member.key, names));
            }
        }
    }

    const RawRelease& base_;
    const Node& file_;
    const Moves& moves_;
    RawRelease& release_;
    Problems& problems_;
    std::set<std::string> followed_;
};

/// What happened to copies in `base` and in the file: old ids and paths with their new ones, empty for those taken
/// away.
std::map<std::string, std::string, std::less<>> moved_copies(const RawRelease& base, const Node& file,
                                                             const Moves& moves) {
    std::map<std::string, std::string, std::less<>> moved;
    const auto is_group = [&](const std::string& id) { return base.groups.find(id) != nullptr; };
    for (const auto& [copy, now] : base.moved_copies) {
        const auto id = moves.group(copy);
        const auto new_id = is_group(now) ? moves.group(now) : moves.parameter(now);
        if (id) moved.emplace(*id, now.empty() ? now : new_id.value_or(""));
    }
    for (const auto& [section, entries] : {std::pair{"groups", &base.groups}, {"parameters", &base.parameters}}) {
        const Node* written = file.find(section);
        for (std::size_t i = 0; written && i < written->members.size(); ++i) {
            const Member& member = written->members[i];
            const Node* from = member.value->find("renamed-from");
            const bool renamed = from && from->is(Node::Kind::text);
            const std::string& old = renamed ? from->text : member.key;
            const RawEntry* entry = entries->find(old);
            const auto copy = entry && entry->copied ? moves.group(group_part(old)) : std::nullopt;
            if (!copy || (!renamed && !member.value->is(Node::Kind::null))) continue;
            moved.emplace(*copy + "." + std::string(name_part(old)), renamed ? member.key : "");
        }
    }
    return moved;
}

/// Leaves nothing of a release that is too large, so that nothing more is said of it.
void report_size(RawRelease& release, Problems& problems) {
    report(problems, release.file->key_place(),
           "release " + quoted(release.name) + " has too many groups or parameters",
           "at most " + std::to_string(limits::most_groups) + " groups and " + std::to_string(limits::most_parameters) +
               " parameters, copies included");
    release.groups = {};
    release.parameters = {};
}

NodePtr merged_section(const NodePtr& inherited, const Node& file, std::string_view section) {
    const NodePtr changes = file.share(section);
    return changes ? merge_patch(inherited, changes) : inherited;
}

}  // namespace

void RawEntries::add(RawEntry entry) {
    index_.emplace(entry.id, entries_.size());
    entries_.push_back(std::move(entry));
}

const RawEntry* RawEntries::find(std::string_view id) const {
    const auto at = index_.find(std::string(id));
    return at == index_.end() ? nullptr : &entries_[at->second];
}

RawEntry* RawEntries::find(std::string_view id) {
    return const_cast<RawEntry*>(std::as_const(*this).find(id));
}

void RawEntries::remove(const std::function<bool(const RawEntry&)>& unwanted) {
    if (std::erase_if(entries_, unwanted) == 0) return;
    index_.clear();
    for (std::size_t i = 0; i < entries_.size(); ++i) index_.emplace(entries_[i].id, i);
}

std::vector<std::string_view> RawEntries::ids() const {
    std::vector<std::string_view> ids;
    for (const RawEntry& entry : entries_) ids.push_back(entry.id);
    return ids;
}

const WrittenChoices* RawRelease::choices_of(std::string_view parameter) const {
    const auto own = choices.find(parameter);
    if (own == choices.end()) return nullptr;
    if (!own->second.shared()) return &own->second;
    const auto list = lists.find(own->second.list);
    return list == lists.end() ? nullptr : &list->second;
}

RawRelease device_start(const Node& device) {
    RawRelease start;
    start.layouts = device.share("layouts");
    start.rules = device.share("rules");
    start.slots = device.share("slots");
    start.variants = device.share("variants");
    start.assets = device.share("assets");
    return start;
}

bool RawRelease::too_large() const {
    return groups.all().size() > limits::most_groups || parameters.all().size() > limits::most_parameters;
}

RawRelease inherit(const RawRelease& base, const NodePtr& file, const std::string& name, Problems& problems) {
    RawRelease release;
    release.name = name;
    release.file = file;
    const Moves moves(*file, base.groups, base.parameters, problems);
    const LabelMoves labels(base, *file, moves);
    const auto groups = written_members(*file, "groups", problems);
    release.groups = merged_entries(base.groups, groups, true, moves, labels, name);
    const auto parameters = written_members(*file, "parameters", problems);
    release.parameters = merged_entries(base.parameters, parameters, false, moves, labels, name);
    if (release.too_large()) {
        report_size(release, problems);
        return release;
    }
    ChoiceMerger(base, *file, moves, release, problems).merge();
    release.moved_copies = moved_copies(base, *file, moves);
    copy_alike(release, problems);
    if (release.too_large()) report_size(release, problems);
    release.layouts = merged_section(base.layouts, *file, "layouts");
    release.rules = merged_section(base.rules, *file, "rules");
    release.slots = merged_section(base.slots, *file, "slots");
    release.variants = merged_section(moves.follow_variants(base.variants), *file, "variants");
    release.assets = merged_section(base.assets, *file, "assets");
    release.accepts = merged_section(base.accepts, *file, "accepts");
    release.repairs = merged_section(base.repairs, *file, "repairs");
    release.budget = merged_section(base.budget, *file, "budget");
    return release;
}

}  // namespace downfit::schema
