#include <algorithm>
#include <cmath>
#include <limits>

#include "base/text.h"
#include "schema/flaws.h"
#include "schema/reader.h"

namespace downfit::schema {

namespace {

/// For whom a rule that nobody states decides: parameters by id in order of appearance, and releases. Without
/// parameters it decides for whole presets.
struct Missing {
    std::vector<std::string> parameters, releases;

    void add(const std::string& parameter, const std::string& release) {
        const auto put = [](std::vector<std::string>& list, const std::string& text) {
            if (!text.empty() && std::ranges::find(list, text) == list.end()) list.push_back(text);
        };
        put(parameters, parameter);
        put(releases, release);
    }
};

bool stands_beyond(const Parameter& parameter, const Meaning& meaning) {
    const auto reach = reach_of(parameter.storage);
    if (!has_values(parameter, meaning) || !meaning.range) return false;
    if (!reach) return true;
    const double a = std::round(meaning.scale.stored_of(meaning.range->least));
    const double b = std::round(meaning.scale.stored_of(meaning.range->most));
    return std::min(a, b) > reach->least || std::max(a, b) < reach->most;
}

/// Whether a stored number can lie between two steps.
bool stands_between(const Parameter& parameter, const Meaning& meaning) {
    if (parameter.storage.may_round && has_values(parameter, meaning)) return true;
    if (!has_values(parameter, meaning) || !meaning.step) return false;
    if (!reach_of(parameter.storage)) return true;
    const bool linear =
        meaning.scale.identity() || (meaning.scale.taper == Taper::linear && meaning.scale.points.size() == 2);
    if (!linear) return true;
    const double one = std::fabs(meaning.scale.value_of(1) - meaning.scale.value_of(0));
    return *meaning.step > one * (1 + 1e-6);
}

bool has_unnamed(const Parameter& parameter, const Meaning& meaning) {
    if (!meaning.choices || parameter.refers_by != RefersBy::number) return false;
    if (parameter.storage.notation != Notation::bytes) return true;
    const auto reach = reach_of(parameter.storage);
    if (!reach) return false;
    std::size_t named = meaning.choices->choices.size();
    if (parameter.nothing && !meaning.choices->find(*parameter.nothing)) ++named;
    if (parameter.as_base && !meaning.choices->find(*parameter.as_base)) ++named;
    return static_cast<double>(named) < reach->most - reach->least + 1;
}

template <class Test>
bool any_meaning(const Parameter& parameter, Test test) {
    return test(parameter, parameter.plain) || std::ranges::any_of(parameter.varies, [&](const VariedMeaning& varied) {
               return test(parameter, varied.meaning);
           });
}

class WholeProof {
public:
    WholeProof(const std::vector<Proofed>& releases, const std::vector<Proofed>& stored, const Node& device,
               Flaws& flaws)
        : releases_(releases), stored_(stored), device_(device), flaws_(flaws) {}

    void look() {
        if (releases_.empty()) return;
        look_at_rules();
        look_at_lists();
        look_at_assets();
    }

private:
    void look_at_rules() {
        find_longest();
        for (const Proofed& at : releases_) {
            for (const Parameter& parameter : at.release.parameters) look_at(at, parameter);
            for (const Proofed& one : stored_) {
                if (one.whole != &at.release) continue;
                for (const Parameter& parameter : one.release.parameters) look_at(at, parameter);
            }
            look_at_presets(at);
        }
        for (const auto& [key, missing] : missing_) tell(key.first, missing);
    }

    /// Notes that a rule decides, unless it is stated. One that a parameter marks is told as marked.
    void needs(const Proofed& at, const Parameter* parameter, Rule rule) {
        if (at.release.rules[rule] || (parameter && parameter->rules[rule])) return;
        const Node* node = parameter ? at.parameter(parameter->id) : nullptr;
        const bool marked = node && mark_in(node->find("true-to-device"), Fault::rule_missing);
        missing_[{rule, marked ? parameter->id : std::string()}].add(parameter ? parameter->id : std::string(),
                                                                     at.release.name);
    }

    void look_at(const Proofed& at, const Parameter& parameter) {
        if (any_meaning(parameter, stands_beyond)) needs(at, &parameter, Rule::out_of_range);
        if (any_meaning(parameter, stands_between)) needs(at, &parameter, Rule::off_step);
        if (any_meaning(parameter, has_unnamed)) needs(at, &parameter, Rule::unknown_choice);
        const auto longest = longest_.find(parameter.meaning);
        const bool shorter = longest != longest_.end() && length_of(parameter.storage) < longest->second;
        if (parameter.kind == Kind::text && shorter) needs(at, &parameter, Rule::long_text);
    }

    /// By name a text is as long as it likes where no length is given.
    static std::size_t length_of(const Storage& storage) {
        const bool open = storage.notation != Notation::bytes && storage.text_length == 0;
        return open ? std::numeric_limits<std::size_t>::max() : storage.text_length;
    }

    static bool holds_presets(const Proofed& at, const Layout& layout) {
        return at.device.framings[layout.framing].holds == Holds::presets;
    }

    void look_at_presets(const Proofed& at) {
        for (const Layout& layout : at.release.layouts) {
            if (!holds_presets(at, layout)) continue;
            if (layout.records || layout.notation != Notation::bytes) {
                needs(at, nullptr, Rule::unknown_parameter);
                needs(at, nullptr, Rule::missing_parameter);
                needs(at, nullptr, Rule::repeated_key);
            } else if (layout.body_size > 0) {
                const auto [least, most] = sizes_[layout.name];
                if (layout.body_size < most) needs(at, nullptr, Rule::longer_image);
                if (layout.body_size > least) needs(at, nullptr, Rule::shorter_image);
            }
        }
        const bool asks_stamps =
            std::ranges::any_of(at.release.accepts, [](const Accept& accept) { return accept.stamp.has_value(); });
        if (asks_stamps) return;
        if (at.release.order + 1 < at.device.releases.size()) needs(at, nullptr, Rule::newer_stamp);
        if (at.release.order > 0) needs(at, nullptr, Rule::older_stamp);
    }

    void find_longest() {
        for (const Proofed& at : releases_) {
            for (const Parameter& parameter : at.release.parameters) {
                if (parameter.kind != Kind::text) continue;
                std::size_t& longest = longest_[parameter.meaning];
                longest = std::max(longest, length_of(parameter.storage));
            }
            for (const Layout& layout : at.release.layouts) {
                if (layout.records || layout.body_size == 0) continue;
                const auto [size, fresh] = sizes_.try_emplace(layout.name, layout.body_size, layout.body_size);
                size->second.first = std::min(size->second.first, layout.body_size);
                size->second.second = std::max(size->second.second, layout.body_size);
            }
        }
    }

    static std::string parameters_text(const std::vector<std::string>& ids) {
        constexpr std::size_t most = 4;
        std::string text;
        for (std::size_t i = 0; i < std::min(ids.size(), most); ++i) text += (i == 0 ? "" : ", ") + ids[i];
        if (ids.size() > most) text += " and " + std::to_string(ids.size() - most) + " more";
        return text;
    }

    void tell(Rule rule, const Missing& missing) {
        const RuleRow& row = row_of(rule);
        std::string possible;
        for (std::size_t i = 0; i < row.action_count; ++i)
            possible += (i == 0 ? "" : i + 1 == row.action_count ? " or " : ", ") + quoted(action_name(row.actions[i]));
        const std::string whom = missing.parameters.empty() ? "whole presets" : parameters_text(missing.parameters);
        const std::string on = missing.releases.size() == 1 ? "release " + missing.releases.front()
                               : missing.releases.size() == releases_.size()
                                   ? "every release"
                                   : std::to_string(missing.releases.size()) + " releases from " +
                                         missing.releases.front() + " to " + missing.releases.back();
        const Node* rules = device_.find("rules");
        Flaw flaw;
        flaw.fault = Fault::rule_missing;
        flaw.rule = rule;
        flaw.unsettled = missing.releases;
        flaw.about = missing.parameters;
        flaw.problem = {rules ? rules->value_place() : device_.value_place(),
                        "nobody states the rule " + quoted(row.name) + " on " + on + " for " + whom,
                        quoted(row.name) + ": " + possible,
                        "try it on the unit or ask the maker, then state it in \"rules\" of the device, a release or a "
                        "parameter; if nobody can know, mark it"};
        for (const Proofed& at : releases_) {
            if (at.release.name != missing.releases.front()) continue;
            flaws_.add(at, std::move(flaw));
            return;
        }
    }

    void look_at_lists() {
        std::map<std::string, std::pair<const Proofed*, TextPlace>> unused;
        std::set<std::string> used;
        for (const Proofed& at : releases_) {
            for (const auto& [id, choices] : at.raw.choices) {
                if (choices.shared()) used.insert(choices.list);
            }
            for (const Parameter& parameter : at.release.parameters) {
                const Node* node = at.parameter(parameter.id);
                for (const std::string_view key : {"varies", "reads"})
                    note_lists(node ? node->find(key) : nullptr, used);
            }
            for (const auto& [name, choices] : at.raw.lists) unused.try_emplace(name, &at, choices.place);
        }
        for (const auto& [name, first] : unused) {
            if (used.contains(name)) continue;
            Flaw flaw;
            flaw.fault = Fault::list_unused;
            flaw.problem = {first.second, "no parameter has the choices of list " + quoted(name),
                            "a parameter with \"choices\": " + quoted(name),
                            "name it where it belongs, or take it away"};
            flaws_.add(*first.first, std::move(flaw));
        }
    }

    static void note_lists(const Node* items, std::set<std::string>& used) {
        if (!items) return;
        for (const NodePtr& item : items->items) {
            const Node* choices = item->find("choices");
            if (choices && choices->is(Node::Kind::text)) used.insert(choices->text);
        }
    }

    void look_at_assets() {
        std::map<std::string, const Proofed*> kinds;
        std::set<std::string> used;
        for (const Proofed& at : releases_) {
            for (const Parameter& parameter : at.release.parameters) used.insert(parameter.refers_to);
            for (const AssetKind& kind : at.release.assets) kinds.try_emplace(kind.name, &at);
        }
        for (const auto& [name, at] : kinds) {
            if (used.contains(name)) continue;
            const Node* node = at->raw.assets ? at->raw.assets->find(name) : nullptr;
            Flaw flaw;
            flaw.fault = Fault::asset_unused;
            flaw.problem = {
                node ? node->key_place() : device_.value_place(), "no parameter refers to asset " + quoted(name),
                "a reference with \"refers-to\": " + quoted(name), "describe what points at it, or take the kind away"};
            flaws_.add(*at, std::move(flaw));
        }
    }

    const std::vector<Proofed>& releases_;
    const std::vector<Proofed>& stored_;
    const Node& device_;
    Flaws& flaws_;
    std::map<std::pair<Rule, std::string>, Missing> missing_;  // with the parameter that marks it
    std::map<std::string, std::size_t> longest_;
    std::map<std::string, std::pair<std::size_t, std::size_t>> sizes_;  // least and most
};

}  // namespace

void proof_whole(const std::vector<Proofed>& releases, const std::vector<Proofed>& stored, const Node& device,
                 Flaws& flaws) {
    WholeProof(releases, stored, device, flaws).look();
}

}  // namespace downfit::schema
