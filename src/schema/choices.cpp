#include "schema/choices.h"

#include <algorithm>

namespace downfit::schema {

const Choice* ChoiceList::find(std::int64_t number) const {
    const auto at = std::ranges::lower_bound(choices, number, {}, &Choice::number);
    return at != choices.end() && at->number == number ? &*at : nullptr;
}

const Choice* ChoiceList::find(std::string_view label) const {
    const auto at = std::ranges::find(choices, label, &Choice::label);
    return at == choices.end() ? nullptr : &*at;
}

const Choice* ChoiceList::nearest(std::int64_t number) const {
    if (choices.empty()) return nullptr;
    const auto above = std::ranges::lower_bound(choices, number, {}, &Choice::number);
    if (above == choices.begin()) return &*above;
    if (above == choices.end()) return &choices.back();
    const auto below = above - 1;
    const auto distance = [](std::int64_t low, std::int64_t high) {
        return static_cast<std::uint64_t>(high) - static_cast<std::uint64_t>(low);
    };
    return distance(number, above->number) < distance(below->number, number) ? &*above : &*below;
}

}  // namespace downfit::schema
