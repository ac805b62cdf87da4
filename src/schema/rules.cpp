#include "schema/rules.h"

namespace downfit::schema {

std::string_view action_name(Action action) {
    switch (action) {
        case Action::clamp: return "clamp";
        case Action::reset: return "reset";
        case Action::wrap: return "wrap";
        case Action::keep: return "keep";
        case Action::round: return "round";
        case Action::first: return "first";
        case Action::last: return "last";
        case Action::skip: return "skip";
        case Action::cut: return "cut";
        case Action::ignore: return "ignore";
        case Action::zero: return "zero";
        case Action::use_default: return "default";
        case Action::held: return "held";
        case Action::load: return "load";
        case Action::refuse: return "refuse";
    }
    return {};
}

std::string_view refuses_name(Refuses refuses) {
    switch (refuses) {
        case Refuses::parameter: return "parameter";
        case Refuses::block: return "block";
        case Refuses::preset: return "preset";
        case Refuses::dump: return "dump";
    }
    return {};
}

Rules Rules::over(const Rules& wider) const {
    Rules joined = *this;
    for (std::size_t i = 0; i < rule_count; ++i) {
        if (!joined.actions[i]) joined.actions[i] = wider.actions[i];
    }
    if (!joined.tolerance) joined.tolerance = wider.tolerance;
    if (!joined.refuses) joined.refuses = wider.refuses;
    return joined;
}

}  // namespace downfit::schema
