#include <algorithm>
#include <array>
#include <utility>

#include "schema/context.h"
#include "schema/ids.h"
#include "schema/read_layout.h"
#include "schema/reader.h"

namespace downfit::schema {

namespace {

using Form = Condition::Kind;
using Subject = Condition::Subject;
using Operator = Condition::Operator;

constexpr std::array<std::string_view, 5> operators{"is", "at-least", "at-most", "above", "below"};
constexpr std::array<std::string_view, 8> starts{"parameter", "stamp", "fact", "bytes", "version", "all", "any", "not"};
constexpr std::array<std::string_view, 13> condition_keys{"parameter", "stamp", "fact", "bytes", "version",
                                                          "all",       "any",   "not",  "is",    "at-least",
                                                          "at-most",   "above", "below"};
constexpr std::string_view merge_hint = "an inherited condition is merged key by key: null takes a key away";

/// Reads one setting on the right of an operator.
template <class Read>
std::optional<Condition> comparison(const Node& node, Operator op, const Condition& subject, const Read& read,
                                    Problems& problems) {
    Condition condition = subject;
    condition.op = op;
    const bool several = node.is(Node::Kind::array);
    if (several && (op != Operator::is || node.items.empty())) {
        report_found(problems, node, op == Operator::is ? "one value or more" : "one value");
        return std::nullopt;
    }
    const std::vector<NodePtr> items = several ? node.items : std::vector<NodePtr>{};
    if (!several) {
        auto setting = read(node);
        if (!setting) return std::nullopt;
        if (op != Operator::is && subject.subject == Subject::parameter && node.is(Node::Kind::text)) {
            report_found(problems, node, "a number: labels have no order");
            return std::nullopt;
        }
        condition.settings.push_back(*std::move(setting));
    }
    bool good = true;
    for (const NodePtr& item : items) {
        auto setting = read(*item);
        good = good && setting;
        if (setting) condition.settings.push_back(*std::move(setting));
    }
    return good ? std::optional(std::move(condition)) : std::nullopt;
}

/// All comparisons in an object: one as it is, several as `all` of them.
template <class Read>
std::optional<Condition> comparisons(const Node& node, Condition subject, const Read& read, Problems& problems) {
    Condition all;
    bool good = true;
    subject.kind = Form::comparison;
    for (std::size_t i = 0; i < operators.size(); ++i) {
        const Node* setting = node.find(operators[i]);
        if (!setting) continue;
        auto part = comparison(*setting, static_cast<Operator>(i), subject, read, problems);
        if (part)
            all.parts.push_back(*std::move(part));
        else
            good = false;
    }
    if (good && all.parts.empty()) {
        report(problems, node.value_place(), "a condition that compares nothing", one_of(operators));
        return std::nullopt;
    }
    if (!good) return std::nullopt;
    if (all.parts.size() > 1) return all;
    Condition only = std::move(all.parts.front());
    return only;
}

class ConditionReader {
public:
    explicit ConditionReader(const Context& context) : context_(context), problems_(context.problems) {}

    std::optional<Condition> read(const Node& node) const {
        const ObjectReader reader(node, "a condition", condition_keys, problems_);
        if (!reader.ok()) return std::nullopt;
        std::size_t count = 0;
        for (const std::string_view key : starts) count += reader.has(key) ? 1u : 0u;
        const bool compares = std::ranges::any_of(operators, [&](auto key) { return reader.has(key); });
        const bool takes_comparison = reader.has("parameter") || reader.has("fact");
        if (count != 1 || (compares && !takes_comparison)) {
            report(problems_, node.value_place(),
                   count == 0 ? "a condition about nothing" : "two conditions in one object",
                   "exactly one of " + one_of(starts), count == 0 ? "" : std::string(merge_hint));
            return std::nullopt;
        }
        if (const Node* part = reader.find("not")) return negation(*part);
        if (const Node* parts = reader.find("all")) return join(*parts, Form::all);
        if (const Node* parts = reader.find("any")) return join(*parts, Form::any);
        if (const Node* name = reader.find("parameter")) return about_parameter(node, *name);
        if (const Node* name = reader.find("fact")) return about_fact(node, *name);
        if (const Node* bytes = reader.find("bytes")) return about_bytes(*bytes);
        if (const Node* version = reader.find("version")) return about_version(*version);
        return about_stamp(*reader.find("stamp"));
    }

    std::optional<Condition> about_stamp(const Node& node) const {
        const ObjectReader reader(node, "a comparison of stamps", operators, problems_);
        if (!reader.ok()) return std::nullopt;
        Condition subject;
        subject.subject = Subject::stamp;
        const auto read_name = [&](const Node& setting) -> std::optional<Setting> {
            if (!read_release_name(setting, context_.releases, problems_)) return std::nullopt;
            return setting.text;
        };
        return comparisons(node, subject, read_name, problems_);
    }

private:
    std::optional<Condition> negation(const Node& node) const {
        auto part = read(node);
        if (!part) return std::nullopt;
        Condition condition;
        condition.kind = Form::negation;
        condition.parts.push_back(*std::move(part));
        return condition;
    }

    std::optional<Condition> join(const Node& node, Form form) const {
        const auto* items = read_list(node, "conditions", problems_);
        if (!items) return std::nullopt;
        Condition condition;
        condition.kind = form;
        bool good = true;
        for (const NodePtr& item : *items) {
            auto part = read(*item);
            if (part)
                condition.parts.push_back(*std::move(part));
            else
                good = false;
        }
        return good ? std::optional(std::move(condition)) : std::nullopt;
    }

    std::optional<Condition> about_parameter(const Node& node, const Node& name) const {
        const RawEntry* entry = read_reference(name, context_);
        if (!entry) return std::nullopt;
        Condition subject;
        subject.name = name.text;
        const SettingTarget target = target_of(context_.release, *entry);
        const auto read_value = [&](const Node& setting) { return read_setting(setting, target, problems_); };
        return comparisons(node, subject, read_value, problems_);
    }

    std::optional<Condition> about_fact(const Node& node, const Node& name) const {
        if (!read_text(name, problems_)) return std::nullopt;
        Condition subject;
        subject.subject = Subject::fact;
        subject.name = name.text;
        const auto read_fact = [&](const Node& setting) -> std::optional<Setting> {
            if (setting.is(Node::Kind::number)) return setting.number;
            if (setting.is(Node::Kind::text)) return setting.text;
            report_found(problems_, setting, "a text or a number");
            return std::nullopt;
        };
        return comparisons(node, subject, read_fact, problems_);
    }

    std::optional<Condition> about_bytes(const Node& node) const {
        auto bytes = read_body_bytes(node, "are", "bytes of the body", problems_);
        if (!bytes) return std::nullopt;
        Condition condition;
        condition.kind = Form::comparison;
        condition.subject = Subject::bytes;
        condition.at = static_cast<std::int64_t>(bytes->at);
        condition.bytes = std::move(bytes->bytes);
        return condition;
    }

    std::optional<Condition> about_version(const Node& node) const {
        if (!has_versions(context_.release)) {
            report(problems_, node.key_place(), "no record has a version", "\"version\" in the \"head\" of records");
            return std::nullopt;
        }
        const ObjectReader reader(node, "a comparison of versions", operators, problems_);
        if (!reader.ok()) return std::nullopt;
        Condition subject;
        subject.subject = Subject::version;
        const auto read_version = [&](const Node& setting) -> std::optional<Setting> {
            const auto number = read_whole(setting, {0, UINT32_MAX}, problems_);
            return number ? std::optional<Setting>(static_cast<double>(*number)) : std::nullopt;
        };
        return comparisons(node, subject, read_version, problems_);
    }

    const Context& context_;
    Problems& problems_;
};

}  // namespace

std::optional<Condition> read_condition(const Node& node, const Context& context) {
    return ConditionReader(context).read(node);
}

std::optional<Condition> read_comparison(const Node& node, Subject subject, const Context& context) {
    std::optional<Condition> condition;
    if (subject == Subject::stamp) {
        condition = ConditionReader(context).about_stamp(node);
    } else {
        const ObjectReader reader(node, "a comparison", operators, context.problems);
        const auto read = [&](const Node& setting) -> std::optional<Setting> {
            const auto number = read_number(setting, context.problems);
            return number ? std::optional<Setting>(*number) : std::nullopt;
        };
        Condition about;
        about.subject = subject;
        if (reader.ok()) condition = comparisons(node, about, read, context.problems);
    }
    if (condition && condition->kind != Form::comparison) {
        report(context.problems, node.value_place(), "more than one comparison", "one of " + one_of(operators));
        return std::nullopt;
    }
    return condition;
}

}  // namespace downfit::schema
