#include "dump/conditions.h"

#include <algorithm>

#include "dump/value_text.h"

namespace downfit::dump {

namespace {

using schema::Condition;

Truth truth(bool holds) {
    return holds ? Truth::yes : Truth::no;
}

bool in_order(Condition::Operator op, double left, double right) {
    switch (op) {
        case Condition::Operator::is: return same_value(left, right);
        case Condition::Operator::at_least: return left >= right || same_value(left, right);
        case Condition::Operator::at_most: return left <= right || same_value(left, right);
        case Condition::Operator::above: return left > right && !same_value(left, right);
        case Condition::Operator::below: break;
    }
    return left < right && !same_value(left, right);
}

}  // namespace

Conditions::Conditions(const schema::Instances& instances, ByteView body, std::optional<std::size_t> stamp_release,
                       const schema::Device* device)
    : instances_(instances),
      device_(device),
      stamp_release_(stamp_release),
      meanings_(instances.fields().size(), nullptr),
      progress_(instances.fields().size(), Progress::open),
      group_exists_(instances.groups().size()) {
    stored_.reserve(instances.fields().size());
    for (const schema::Field& field : instances.fields()) stored_.push_back(read_field(field.storage, body));
}

const schema::Meaning& Conditions::meaning(std::size_t field) {
    const schema::Field& instance = instances_.fields()[field];
    const schema::Parameter& parameter = instances_.parameter(instance);
    if (progress_[field] == Progress::done) return *meanings_[field];
    if (progress_[field] == Progress::working) return parameter.plain;  // meanings that depend on each other
    progress_[field] = Progress::working;
    const auto varied = std::ranges::find_if(parameter.varies, [&](const schema::VariedMeaning& one) {
        return evaluate(one.when, instance.group) != Truth::no;
    });
    meanings_[field] = varied == parameter.varies.end() ? &parameter.plain : &varied->meaning;
    progress_[field] = Progress::done;
    return *meanings_[field];
}

bool Conditions::exists(std::size_t field) {
    const schema::Field& instance = instances_.fields()[field];
    const schema::Parameter& parameter = instances_.parameter(instance);
    if (parameter.when && evaluate(*parameter.when, instance.group) == Truth::no) return false;
    return group_exists(instance.group);
}

bool Conditions::group_exists(int group) {
    for (int at = group; at >= 0; at = instances_.groups()[static_cast<std::size_t>(at)].parent) {
        const auto index = static_cast<std::size_t>(at);
        if (!group_exists_[index]) {
            const auto kind = static_cast<std::size_t>(instances_.groups()[index].group);
            const auto& when = instances_.release().groups[kind].when;
            group_exists_[index] = !when || evaluate(*when, at) != Truth::no;
        }
        if (!*group_exists_[index]) return false;
    }
    return true;
}

Truth Conditions::evaluate(const Condition& condition, int from) {
    switch (condition.kind) {
        case Condition::Kind::comparison: return compare(condition, from);
        case Condition::Kind::negation: {
            const Truth part = condition.parts.empty() ? Truth::no : evaluate(condition.parts.front(), from);
            return part == Truth::unknown ? part : truth(part == Truth::no);
        }
        case Condition::Kind::all: {
            Truth least = Truth::yes;
            for (const Condition& part : condition.parts) least = std::min(least, evaluate(part, from));
            return least;
        }
        case Condition::Kind::any: break;
    }
    Truth most = Truth::no;
    for (const Condition& part : condition.parts) most = std::max(most, evaluate(part, from));
    return most;
}

Truth Conditions::compare(const Condition& condition, int from) {
    switch (condition.subject) {
        case Condition::Subject::parameter: return compare_parameter(condition, from);
        case Condition::Subject::stamp: return compare_stamp(condition);
        case Condition::Subject::fact: break;
    }
    return Truth::unknown;
}

Truth Conditions::compare_parameter(const Condition& condition, int from) {
    const auto field = instances_.resolve(condition.name, from);
    if (!field) return Truth::unknown;
    const schema::Parameter& parameter = instances_.parameter(instances_.fields()[*field]);
    const Stored& held = stored_[*field];
    const schema::Meaning& sense = meaning(*field);
    const bool holds = std::ranges::any_of(condition.settings, [&](const schema::Setting& setting) {
        if (condition.op == Condition::Operator::is) return is_setting(parameter, sense, held, setting);
        const auto* number = std::get_if<double>(&setting);
        const bool is_number = held.kind == Stored::Kind::whole || held.kind == Stored::Kind::real;
        return number && is_number && in_order(condition.op, value_of(parameter, sense, held), *number);
    });
    return truth(holds);
}

Truth Conditions::compare_stamp(const Condition& condition) const {
    if (!device_ || !stamp_release_) return Truth::unknown;
    const auto left = static_cast<double>(*stamp_release_);
    return truth(std::ranges::any_of(condition.settings, [&](const schema::Setting& setting) {
        const auto* name = std::get_if<std::string>(&setting);
        const auto release = name ? device_->find_release(*name) : std::nullopt;
        return release && in_order(condition.op, left, static_cast<double>(*release));
    }));
}

}  // namespace downfit::dump
