#include "schema/exclusive.h"

#include <algorithm>
#include <limits>
#include <map>
#include <set>

namespace downfit::schema {

namespace {

/// A comparison, or its opposite, of one subject.
struct Literal {
    std::string subject;  ///< what is compared, equal for the same thing
    const Condition* condition = nullptr;
    bool negated = false;
    const Parameter* parameter = nullptr;  ///< of a comparison with one
};

/// Literals that all must hold.
using Conjunction = std::vector<Literal>;
constexpr std::size_t most_conjunctions = 64;

/// Conditions as alternatives of conjunctions. More than `most_conjunctions` are cut, and `complete` says so.
class Alternatives {
public:
    Alternatives(const Instances& instances, int from) : instances_(instances), from_(from) {}

    bool complete = true;

    std::vector<Conjunction> of(const Condition& condition, bool negated) {
        switch (condition.kind) {
            case Condition::Kind::negation: return of(condition.parts.front(), !negated);
            case Condition::Kind::all: return negated ? joined(condition, true) : multiplied(condition, false);
            case Condition::Kind::any: return negated ? multiplied(condition, true) : joined(condition, false);
            case Condition::Kind::comparison: break;
        }
        return {{literal(condition, negated)}};
    }

    std::vector<Conjunction> product(const std::vector<Conjunction>& a, const std::vector<Conjunction>& b) {
        std::vector<Conjunction> all;
        for (const Conjunction& left : a) {
            for (const Conjunction& right : b) {
                if (all.size() == most_conjunctions) {
                    complete = false;
                    return all;
                }
                all.push_back(left);
                all.back().insert(all.back().end(), right.begin(), right.end());
            }
        }
        return all;
    }

private:
    std::vector<Conjunction> joined(const Condition& condition, bool negated) {
        std::vector<Conjunction> all;
        for (const Condition& part : condition.parts) {
            for (Conjunction& one : of(part, negated)) all.push_back(std::move(one));
        }
        if (all.size() > most_conjunctions) {
            complete = false;
            all.resize(most_conjunctions);
        }
        return all;
    }

    std::vector<Conjunction> multiplied(const Condition& condition, bool negated) {
        std::vector<Conjunction> all{{}};
        for (const Condition& part : condition.parts) all = product(all, of(part, negated));
        return all;
    }

    Literal literal(const Condition& condition, bool negated) const {
        Literal literal{{}, &condition, negated, nullptr};
        switch (condition.subject) {
            case Condition::Subject::parameter:
                if (const auto field = instances_.resolve(condition.name, from_)) {
                    literal.subject = "parameter " + std::to_string(*field);
                    literal.parameter = &instances_.parameter(instances_.fields()[*field]);
                }
                break;
            case Condition::Subject::stamp: literal.subject = "stamp"; break;
            case Condition::Subject::fact: literal.subject = "fact " + condition.name; break;
            case Condition::Subject::bytes:
                literal.subject =
                    "bytes " + std::to_string(condition.at) + ' ' + std::to_string(condition.bytes.size());
                break;
            case Condition::Subject::version: literal.subject = "version " + std::to_string(from_); break;
        }
        return literal;
    }

    const Instances& instances_;
    int from_;
};

/// What is left for one subject when all its literals hold.
class Left {
public:
    Left(const Device& device, const Parameter* parameter) : device_(device) {
        if (!parameter) return;
        if (parameter->kind == Kind::on_off) domain_ = {0.0, 1.0};
        if (parameter->plain.choices && parameter->varies.empty() && parameter->reads.empty()) {
            for (const Choice& choice : parameter->plain.choices->choices) domain_.insert(choice.label);
            choices_ = parameter->plain.choices.get();
        }
    }

    void narrow(const Literal& literal) {
        const Condition& condition = *literal.condition;
        if (condition.subject == Condition::Subject::bytes) return narrow_bytes(literal);
        if (condition.op == Condition::Operator::is) return narrow_to(condition.settings, literal.negated);
        if (condition.settings.empty()) return;
        const auto bound = number(condition.settings.front());
        if (bound) narrow_range(condition.op, *bound, literal.negated);
    }

    [[nodiscard]] bool nothing() const {
        if (impossible_ || least_ > most_ || (least_ == most_ && (least_open_ || most_open_))) return true;
        if (allowed_) {
            return std::ranges::none_of(*allowed_, [&](const Setting& one) { return possible(one); });
        }
        return !domain_.empty() && std::ranges::none_of(domain_, [&](const Setting& one) { return possible(one); });
    }

private:
    [[nodiscard]] std::optional<double> number(const Setting& setting) const {
        if (const auto* value = std::get_if<double>(&setting)) return *value;
        const auto release = device_.find_release(std::get<std::string>(setting));
        if (!release) return std::nullopt;
        return static_cast<double>(*release);
    }

    /// A choice may be named by its number too.
    [[nodiscard]] Setting named(const Setting& setting) const {
        const auto* value = std::get_if<double>(&setting);
        const Choice* choice = choices_ && value ? choices_->find(static_cast<std::int64_t>(*value)) : nullptr;
        return choice ? Setting(choice->label) : setting;
    }

    [[nodiscard]] bool possible(const Setting& setting) const {
        if (excluded_.contains(setting)) return false;
        const auto value = number(setting);
        if (!value || (choices_ && std::holds_alternative<std::string>(setting))) return true;
        const bool low = *value > least_ || (*value == least_ && !least_open_);
        const bool high = *value < most_ || (*value == most_ && !most_open_);
        return low && high;
    }

    void narrow_to(const std::vector<Setting>& settings, bool negated) {
        std::set<Setting> names;
        for (const Setting& setting : settings) names.insert(named(setting));
        if (negated) {
            excluded_.insert(names.begin(), names.end());
        } else if (!allowed_) {
            allowed_ = std::move(names);
        } else {
            std::erase_if(*allowed_, [&](const Setting& one) { return !names.contains(one); });
        }
    }

    void narrow_range(Condition::Operator op, double bound, bool negated) {
        using Operator = Condition::Operator;
        const bool from_below = (op == Operator::at_least || op == Operator::above) != negated;
        const bool open = (op == Operator::above || op == Operator::below) != negated;
        if (from_below && (bound > least_ || (bound == least_ && open))) {
            least_ = bound;
            least_open_ = open;
        } else if (!from_below && (bound < most_ || (bound == most_ && open))) {
            most_ = bound;
            most_open_ = open;
        }
    }

    void narrow_bytes(const Literal& literal) {
        const Bytes& bytes = literal.condition->bytes;
        if (literal.negated) {
            impossible_ = impossible_ || (bytes_ && *bytes_ == bytes);
            not_bytes_.insert(bytes);
        } else {
            impossible_ = impossible_ || (bytes_ && *bytes_ != bytes) || not_bytes_.contains(bytes);
            bytes_ = bytes;
        }
    }

    const Device& device_;
    const ChoiceList* choices_ = nullptr;
    std::set<Setting> domain_;  // empty: not known
    std::optional<std::set<Setting>> allowed_;
    std::set<Setting> excluded_;
    double least_ = -std::numeric_limits<double>::infinity(), most_ = std::numeric_limits<double>::infinity();
    bool least_open_ = false, most_open_ = false, impossible_ = false;
    std::optional<Bytes> bytes_;
    std::set<Bytes> not_bytes_;
};

bool contradicts(const Device& device, const Conjunction& literals) {
    std::map<std::string, Left> left;
    for (const Literal& literal : literals) {
        if (literal.subject.empty()) continue;
        const auto at = left.try_emplace(literal.subject, device, literal.parameter).first;
        at->second.narrow(literal);
        if (at->second.nothing()) return true;
    }
    return false;
}

/// All conditions under which a field exists.
std::vector<Conjunction> conditions_of(const Instances& instances, const Field& field, bool& complete) {
    Alternatives alternatives(instances, field.group);
    std::vector<Conjunction> all{{}};
    const auto add = [&](const std::optional<Condition>& condition) {
        if (condition) all = alternatives.product(all, alternatives.of(*condition, false));
    };
    add(instances.parameter(field).when);
    for (int group = field.group; group >= 0; group = instances.groups()[static_cast<std::size_t>(group)].parent) {
        const GroupInstance& instance = instances.groups()[static_cast<std::size_t>(group)];
        add(instances.release().groups[static_cast<std::size_t>(instance.group)].when);
    }
    complete = complete && alternatives.complete;
    return all;
}

}  // namespace

bool never_together(const Device& device, const Instances& instances, const Field& a, const Field& b) {
    bool complete = true;
    const auto left = conditions_of(instances, a, complete);
    const auto right = conditions_of(instances, b, complete);
    if (!complete) return false;
    for (const Conjunction& one : left) {
        for (const Conjunction& other : right) {
            Conjunction both = one;
            both.insert(both.end(), other.begin(), other.end());
            if (!contradicts(device, both)) return false;
        }
    }
    return true;
}

}  // namespace downfit::schema
