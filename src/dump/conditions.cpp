#include "dump/conditions.h"

#include <algorithm>
#include <cstdlib>

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

Conditions::Conditions(const schema::Instances& instances, const Located& located, ByteView body,
                       std::optional<std::size_t> stamp_release, const schema::Device* device)
    : instances_(instances),
      located_(located),
      body_(body),
      device_(device),
      stamp_release_(stamp_release),
      meanings_(instances.fields().size(), nullptr),
      progress_(instances.fields().size(), Progress::open),
      group_exists_(instances.groups().size()) {
    stored_.reserve(instances.fields().size());
    for (const schema::Field& field : instances.fields()) {
        stored_.push_back(read_located(field, field.storage, located, body));
    }
}

void Conditions::settle(std::size_t field) {
    if (progress_[field] != Progress::open) return;  // meanings that depend on each other: the plain one
    const schema::Field& instance = instances_.fields()[field];
    const schema::Parameter& parameter = instances_.parameter(instance);
    meanings_[field] = &parameter.plain;
    progress_[field] = Progress::working;
    const auto holds = [&](const auto& one) { return evaluate(one.when, instance.group) != Truth::no; };
    const auto read = std::ranges::find_if(parameter.reads, holds);
    if (read != parameter.reads.end()) {
        const auto index = static_cast<std::size_t>(read - parameter.reads.begin());
        const bool placed = index < instance.reads.size();
        stored_[field] = read_located(instance, placed ? instance.reads[index] : instance.storage, located_, body_);
        meanings_[field] = &read->meaning;
    } else {
        const auto varied = std::ranges::find_if(parameter.varies, holds);
        if (varied != parameter.varies.end()) meanings_[field] = &varied->meaning;
    }
    progress_[field] = Progress::done;
}

const Stored& Conditions::stored(std::size_t field) {
    settle(field);
    return stored_[field];
}

const schema::Meaning& Conditions::meaning(std::size_t field) {
    settle(field);
    return *meanings_[field];
}

bool Conditions::exists(std::size_t field) {
    const schema::Field& instance = instances_.fields()[field];
    const schema::Parameter& parameter = instances_.parameter(instance);
    if (parameter.when && evaluate(*parameter.when, instance.group) == Truth::no) return false;
    if (instance.element > 0 && !is_counted(parameter.count_by, instance.group, instance.element)) return false;
    return group_exists(instance.group);
}

bool Conditions::is_counted(const std::string& count_by, int from, int index) {
    if (count_by.empty()) return true;
    const auto field = instances_.resolve(count_by, from);
    if (!field) return true;
    const Stored& count = stored(*field);
    if (count.kind == Stored::Kind::none) return true;
    const schema::Parameter& parameter = instances_.parameter(instances_.fields()[*field]);
    return value_of(parameter, meaning(*field), count) >= index;
}

bool Conditions::instance_exists(std::size_t index) {
    const schema::GroupInstance& instance = instances_.groups()[index];
    const schema::Group& group = instances_.release().groups[static_cast<std::size_t>(instance.group)];
    if (!located_.present(instance.anchor)) return false;
    if (!is_counted(group.count_by, instance.parent, instance.indices.back())) return false;
    if (group.count_by_length && !group.tag) {
        const auto room = static_cast<std::int64_t>(located_.span_of(instance.anchor).length);
        const std::int64_t length = std::max<std::int64_t>(std::abs(group.stride), 1);
        if (instance.base < 0 || instance.base > room - length) return false;
    }
    return !group.when || evaluate(*group.when, static_cast<int>(index)) != Truth::no;
}

bool Conditions::group_exists(int group) {
    for (int at = group; at >= 0; at = instances_.groups()[static_cast<std::size_t>(at)].parent) {
        const auto index = static_cast<std::size_t>(at);
        if (!group_exists_[index]) group_exists_[index] = instance_exists(index);
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
        case Condition::Subject::bytes: return compare_bytes(condition);
        case Condition::Subject::version: return compare_version(condition, from);
        case Condition::Subject::fact: break;
    }
    return Truth::unknown;
}

Truth Conditions::compare_parameter(const Condition& condition, int from) {
    const auto field = instances_.resolve(condition.name, from);
    if (!field) return Truth::unknown;
    const schema::Parameter& parameter = instances_.parameter(instances_.fields()[*field]);
    const Stored held = stored(*field);
    const schema::Meaning& sense = meaning(*field);
    const bool holds = std::ranges::any_of(condition.settings, [&](const schema::Setting& setting) {
        if (condition.op == Condition::Operator::is) return is_setting(parameter, sense, held, setting);
        const auto* number = std::get_if<double>(&setting);
        const bool is_number = held.kind == Stored::Kind::whole || held.kind == Stored::Kind::real;
        return number && is_number && in_order(condition.op, value_of(parameter, sense, held), *number);
    });
    return truth(holds);
}

Truth Conditions::compare_version(const Condition& condition, int from) const {
    if (from < 0) return Truth::unknown;
    const auto version = located_.version_of(instances_.groups()[static_cast<std::size_t>(from)].anchor);
    if (!version) return Truth::unknown;
    return truth(std::ranges::any_of(condition.settings, [&](const schema::Setting& setting) {
        const auto* number = std::get_if<double>(&setting);
        return number && in_order(condition.op, static_cast<double>(*version), *number);
    }));
}

Truth Conditions::compare_bytes(const Condition& condition) const {
    if (condition.at < 0) return Truth::no;
    const auto at = static_cast<std::uint64_t>(condition.at);
    if (at > body_.size() || condition.bytes.size() > body_.size() - at) return Truth::no;
    return truth(std::ranges::equal(condition.bytes, body_.subspan(at, condition.bytes.size())));
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
