#include "schema/choice_edits.h"

#include <algorithm>
#include <array>
#include <map>
#include <optional>
#include <set>
#include <string_view>
#include <utility>

#include "base/limits.h"
#include "base/near_miss.h"
#include "schema/reader.h"

namespace downfit::schema {

namespace {

using Entries = std::vector<WrittenChoice>;

constexpr std::array<std::string_view, 5> edit_names{"rename", "remove", "close", "insert", "add"};
constexpr std::array<std::string_view, 2> choice_keys{"number", "was"};

using limits::most_choices;

bool is_edit(const Member& member) {
    if (std::ranges::find(edit_names, std::string_view(member.key)) == edit_names.end()) return false;
    return member.value->is(Node::Kind::array) || member.value->is(Node::Kind::object);
}

/// Neither a number nor what a choice may say beside it.
bool is_odd(const Node& node) {
    if (node.is(Node::Kind::array)) return true;
    const auto is_known = [](const Member& member) {
        return std::ranges::find(choice_keys, std::string_view(member.key)) != choice_keys.end();
    };
    return node.is(Node::Kind::object) && !node.members.empty() && std::ranges::none_of(node.members, is_known);
}

Entries::iterator find_label(Entries& entries, std::string_view label) {
    return std::ranges::find_if(entries, [&](const WrittenChoice& entry) { return entry.choice.label == label; });
}

std::optional<std::int64_t> read_choice_number(const Node& node, Problems& problems) {
    return read_whole(node, any_whole, problems);
}

class Editor {
public:
    Editor(Entries entries, const std::string& release, Problems& problems)
        : entries_(std::move(entries)), release_(release), problems_(problems) {}

    Entries take() { return std::move(entries_); }

    void put_list(const Node& node) {
        const Entries before = std::exchange(entries_, {});
        for (std::size_t i = 0; i < node.items.size(); ++i) {
            const auto label = read_label(*node.items[i]);
            if (!label) continue;
            if (find_label(entries_, *label) != entries_.end()) {
                report(problems_, node.items[i]->value_place(),
                       "choice " + quoted(*label) + " stands twice in one list", "each label once");
                continue;
            }
            entries_.push_back({{static_cast<std::int64_t>(i), *label, {}}, node.items[i]->value_place()});
        }
        keep_meanings(before);
    }

    void put_plain(const Node& node, bool edits) {
        for (const Member& member : node.members) {
            if (edits && is_edit(member)) continue;
            if (member.value->is(Node::Kind::null))
                forget(member);
            else
                put_entry(member);
        }
        give_meanings();
    }

    void edit(const Node& node) {
        for (const std::string_view name : edit_names) {
            const Node* edit = node.find(name);
            if (!edit || !is_edit({std::string(name), node.share(name)})) continue;
            if (name == "rename") rename(*edit);
            if (name == "remove") remove(*edit, false);
            if (name == "close") remove(*edit, true);
            if (name == "insert") insert(*edit);
            if (name == "add") add(*edit);
        }
        give_meanings();
    }

private:
    std::optional<std::string> read_label(const Node& node) {
        auto label = read_text(node, problems_);
        if (label && label->empty()) {
            report_found(problems_, node, "a label");
            return std::nullopt;
        }
        return label;
    }

    void unknown_label(const TextPlace& place, std::string_view label) {
        std::vector<std::string_view> labels;
        for (const WrittenChoice& entry : entries_) labels.push_back(entry.choice.label);
        report(problems_, place, "there is no choice " + quoted(label) + " to change", "a label that is inherited",
               did_you_mean(label, labels));
    }

    void forget(const Member& member) {
        const auto at = find_label(entries_, member.key);
        if (at == entries_.end())
            unknown_label(member.value->key_place(), member.key);
        else
            entries_.erase(at);
    }

    void put_entry(const Member& member) {
        const Node& node = *member.value;
        if (is_edit(member) && !node.find("number")) {
            report(problems_, node.key_place(), quoted(member.key) + " edits choices, but this release extends none",
                   "labels with numbers");
            return;
        }
        if (is_odd(node)) {
            report(problems_, node.key_place(), quoted(member.key) + " is neither a label with its number nor an edit",
                   "a label with a number, or one of the edits rename, remove, close, insert, add",
                   did_you_mean(member.key, edit_names));
            return;
        }
        std::optional<std::int64_t> number;
        std::string was;
        if (node.is(Node::Kind::object)) {
            const ObjectReader reader(node, "a choice", choice_keys, problems_);
            if (const Node* given = reader.find("number"))
                number = read_choice_number(*given, problems_);
            else if (find_label(entries_, member.key) == entries_.end())
                (void)reader.need("number");
            was = reader.text("was");
        } else {
            number = read_choice_number(node, problems_);
        }
        const auto at = find_label(entries_, member.key);
        if (at == entries_.end()) {
            if (number) entries_.push_back({{*number, member.key, was}, node.key_place()});
            return;
        }
        if (number) at->choice.number = *number;
        if (!was.empty()) at->choice.meaning = was;
        at->place = node.key_place();
    }

    void rename(const Node& edit) {
        std::vector<std::pair<WrittenChoice*, const Member*>> renamed;
        for (const Member& member : edit.members) {
            const auto at = find_label(entries_, member.key);
            const auto label = read_label(*member.value);
            if (at == entries_.end())
                unknown_label(member.value->key_place(), member.key);
            else if (label)
                renamed.emplace_back(&*at, &member);
        }
        if (!edit.is(Node::Kind::object)) report_found(problems_, edit, "an object: old labels with their new ones");
        for (const auto& [entry, member] : renamed) {
            entry->choice.label = member->value->text;
            entry->place = member->value->value_place();
        }
        std::map<std::string, int> holders;
        for (const WrittenChoice& entry : entries_) ++holders[entry.choice.label];
        for (const auto& [entry, member] : renamed) {
            if (holders[entry->choice.label] == 1) continue;
            report(problems_, entry->place, "two choices would have the label " + quoted(entry->choice.label),
                   "a label that no other choice has");
        }
    }

    void remove(const Node& edit, bool close) {
        const auto* items = read_list(edit, "labels", problems_);
        if (!items) return;
        for (const NodePtr& item : *items) {
            const auto label = read_label(*item);
            if (!label) continue;
            const auto at = find_label(entries_, *label);
            if (at == entries_.end()) {
                unknown_label(item->value_place(), *label);
                continue;
            }
            const std::int64_t number = at->choice.number;
            entries_.erase(at);
            if (close) shift(number, -1);
        }
    }

    /// Moves all choices with that number or a later one.
    void shift(std::int64_t from, std::int64_t by) {
        for (WrittenChoice& entry : entries_) {
            if (entry.choice.number >= from && entry.choice.number < INT64_MAX) entry.choice.number += by;
        }
    }

    /// The new labels of `insert` or `add` with their numbers, lowest first.
    std::vector<WrittenChoice> new_labels(const Node& edit) {
        std::vector<WrittenChoice> labels;
        if (!edit.is(Node::Kind::object)) report_found(problems_, edit, "an object: labels with their numbers");
        for (const Member& member : edit.members) {
            const auto number = read_choice_number(*member.value, problems_);
            if (find_label(entries_, member.key) != entries_.end()) {
                report(problems_, member.value->key_place(), "there is a choice " + quoted(member.key) + " already",
                       "a label that no other choice has");
            } else if (number) {
                labels.push_back({{*number, member.key, {}}, member.value->key_place()});
            }
        }
        std::ranges::stable_sort(labels, {}, [](const WrittenChoice& entry) { return entry.choice.number; });
        return labels;
    }

    void insert(const Node& edit) {
        std::optional<std::int64_t> last;
        for (WrittenChoice& entry : new_labels(edit)) {
            if (last == entry.choice.number) {
                report(problems_, entry.place, "two choices are put in at number " + std::to_string(*last),
                       "a number for each");
            }
            last = entry.choice.number;
            shift(*last, 1);
            entries_.push_back(std::move(entry));
        }
    }

    void add(const Node& edit) {
        for (WrittenChoice& entry : new_labels(edit)) {
            const std::int64_t number = entry.choice.number;
            const auto same = [&](const WrittenChoice& other) { return other.choice.number == number; };
            const auto taken = std::ranges::find_if(entries_, same);
            if (taken != entries_.end()) {
                report(problems_, entry.place,
                       "number " + std::to_string(number) + " is taken by " + quoted(taken->choice.label),
                       "a free number", "\"insert\" moves that choice and all later ones up");
                continue;
            }
            entries_.push_back(std::move(entry));
        }
    }

    void keep_meanings(const Entries& before) {
        for (WrittenChoice& entry : entries_) {
            for (const WrittenChoice& other : before) {
                if (other.choice.label == entry.choice.label) entry.choice.meaning = other.choice.meaning;
            }
        }
        give_meanings();
    }

    void give_meanings() {
        std::set<std::string> taken;
        for (const WrittenChoice& entry : entries_) taken.insert(entry.choice.meaning);
        for (WrittenChoice& entry : entries_) {
            if (!entry.choice.meaning.empty()) continue;
            const std::string& label = entry.choice.label;
            entry.choice.meaning = taken.contains(label) ? label + "@" + release_ : label;
            taken.insert(entry.choice.meaning);
        }
    }

    Entries entries_;
    const std::string& release_;
    Problems& problems_;
};

/// Reports numbers that two labels share.
void check_numbers(const Entries& entries, Problems& problems) {
    std::map<std::int64_t, const WrittenChoice*> taken;
    for (const WrittenChoice& entry : entries) {
        const auto [first, fresh] = taken.emplace(entry.choice.number, &entry);
        if (fresh) continue;
        report(problems, entry.place,
               "number " + std::to_string(entry.choice.number) + " belongs to " + quoted(first->second->choice.label) +
                   " and to " + quoted(entry.choice.label),
               "one label for each number");
    }
}

}  // namespace

ChoiceList WrittenChoices::sorted() const {
    ChoiceList result;
    for (const WrittenChoice& entry : entries) result.choices.push_back(entry.choice);
    std::ranges::stable_sort(result.choices, {}, &Choice::number);
    const auto same = [](const Choice& a, const Choice& b) { return a.number == b.number; };
    result.choices.erase(std::unique(result.choices.begin(), result.choices.end(), same), result.choices.end());
    return result;
}

WrittenChoices apply_choices(const WrittenChoices* inherited, const Node& written, bool edits,
                             const std::string& release, Problems& problems) {
    WrittenChoices result{{}, {}, written.value_place(), false};
    const std::size_t before = problems.size();
    if (written.is(Node::Kind::text)) {
        result.list = written.text;
        return result;
    }
    if (std::max(written.items.size(), written.members.size()) > most_choices) {
        report(problems, written.value_place(), "too many choices", "at most " + std::to_string(most_choices));
        return result;
    }
    const bool editing = edits && written.is(Node::Kind::object) && std::ranges::any_of(written.members, is_edit);
    if (editing && inherited && inherited->shared()) {
        report(problems, written.value_place(), "these choices are the list " + quoted(inherited->list),
               "a list of its own", "make the change in \"choice-lists\"; it reaches all that use the list");
        return *inherited;
    }
    Editor editor(inherited ? inherited->entries : Entries{}, release, problems);
    if (written.is(Node::Kind::array)) {
        editor.put_list(written);
    } else if (written.is(Node::Kind::object)) {
        editor.put_plain(written, edits);
        if (editing) editor.edit(written);
    } else {
        report_found(problems, written,
                     "a list of labels, an object with labels and numbers, or the name of a choice list");
    }
    result.entries = editor.take();
    result.doubtful = inherited && inherited->doubtful && !written.is(Node::Kind::array);
    if (result.doubtful)
        problems.resize(before);
    else
        check_numbers(result.entries, problems);
    result.doubtful = result.doubtful || problems.size() > before;
    return result;
}

}  // namespace downfit::schema
