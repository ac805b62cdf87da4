#include "refit/body.h"

namespace downfit::refit {

namespace {

using schema::Action;
using schema::Rule;

/// What a rule becomes: what is stated, unless that refuses.
void settle(schema::Rules& rules, Rule rule, Action instead, bool whole_release) {
    const auto stated = rules[rule];
    if (stated ? *stated == Action::refuse : whole_release) rules.actions[static_cast<std::size_t>(rule)] = instead;
}

void soften(schema::Rules& rules, bool whole_release) {
    settle(rules, Rule::out_of_range, Action::clamp, whole_release);
    settle(rules, Rule::off_step, Action::round, whole_release);
    settle(rules, Rule::unknown_choice, Action::keep, whole_release);
    settle(rules, Rule::unknown_parameter, Action::skip, whole_release);
    settle(rules, Rule::missing_parameter, Action::use_default, whole_release);
    settle(rules, Rule::repeated_key, Action::first, whole_release);
    settle(rules, Rule::long_text, Action::cut, whole_release);
    settle(rules, Rule::longer_image, Action::ignore, whole_release);
    settle(rules, Rule::shorter_image, Action::use_default, whole_release);
    settle(rules, Rule::newer_stamp, Action::load, whole_release);
    settle(rules, Rule::older_stamp, Action::load, whole_release);
    // What was held before is nobody's to know.
    for (const Rule rule : {Rule::missing_parameter, Rule::shorter_image}) {
        if (rules[rule] == Action::held) rules.actions[static_cast<std::size_t>(rule)] = Action::use_default;
    }
}

}  // namespace

schema::Release lenient(const schema::Release& release) {
    schema::Release taker = release;
    taker.views.clear();
    taker.accepts.clear();
    soften(taker.rules, true);
    for (schema::Parameter& parameter : taker.parameters) soften(parameter.rules, false);
    for (schema::Group& group : taker.groups) group.version_refuses = schema::Refuses::block;
    return taker;
}

}  // namespace downfit::refit
