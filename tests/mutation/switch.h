// What an instrumented copy of src/compat calls: each mutant is there, behind a number, and at most one of them is
// active. Beside that, it is noted which mutants are reached, and which would have given another value than the
// original: a test that never sees another value cannot notice the mutant.
#pragma once

#include <algorithm>
#include <cstddef>
#include <type_traits>

namespace downfit::mutation {

inline constexpr int most = 1 << 15;         ///< mutants
inline constexpr unsigned char reached = 1;  ///< marks
inline constexpr unsigned char differed = 2;

extern int active;                 ///< 0: none, all is as it was written
extern unsigned char marks[most];  ///< by mutant

inline void note(int id, bool differs) {
    marks[id] = static_cast<unsigned char>(marks[id] | reached | (differs ? differed : 0));
}

/// Whether a mutant is active; for those whose effect is not looked at.
inline bool on(int id) {
    note(id, true);
    return active == id;
}

/// `plain`, or one of the others: the mutants from `id` on.
template <class V, class... Others>
V choose(int id, const V& plain, const Others&... others) {
    V result = plain;
    const auto mutate = [&](const V& other) {
        note(id, !(plain == other));
        if (active == id) result = other;
        ++id;
    };
    (mutate(others), ...);
    return result;
}

enum class Op { is, differs, below, at_most, above, at_least };

template <Op op, class L, class R>
bool apply(const L& left, const R& right) {
    if constexpr (op == Op::is) return static_cast<bool>(left == right);
    if constexpr (op == Op::differs) return static_cast<bool>(left != right);
    if constexpr (op == Op::below) return static_cast<bool>(left < right);
    if constexpr (op == Op::at_most) return static_cast<bool>(left <= right);
    if constexpr (op == Op::above) return static_cast<bool>(left > right);
    if constexpr (op == Op::at_least) return static_cast<bool>(left >= right);
}

/// `plain`, or one of the others: the mutants from `id` on.
template <Op plain, Op... others, class L, class R>
bool compare(int id, const L& left, const R& right) {
    const bool value = apply<plain>(left, right);
    bool result = value;
    const auto mutate = [&](bool other) {
        note(id, value != other);
        if (active == id) result = other;
        ++id;
    };
    (mutate(apply<others>(left, right)), ...);
    return result;
}

/// A condition that the mutant `id` takes as true, `id + 1` as false.
inline bool force(int id, bool condition) {
    note(id, !condition);
    note(id + 1, condition);
    return active == id || (active != id + 1 && condition);
}

/// A condition that the mutant takes as false.
inline bool suppress(int id, bool condition) {
    note(id, condition);
    return active != id && condition;
}

/// `!condition`, or the condition itself.
inline bool negate(int id, bool condition) {
    note(id, true);
    return (active == id) == condition;
}

/// `(both_left(a) && both_right(b)) != is(id)`: a && b, or a || b.
inline bool is(int id) {
    return active == id;
}
inline bool both_left(int id, bool left) {
    note(id, !left);
    return left != is(id);
}
inline bool both_right(int id, bool right) {
    note(id, !right);
    return right != is(id);
}

/// `(either_left(a) || either_right(b)) != is(id)`: a || b, or a && b.
inline bool either_left(int id, bool left) {
    note(id, left);
    return left != is(id);
}
inline bool either_right(int id, bool right) {
    note(id, right);
    return right != is(id);
}

/// `left + right`, or the difference; and so on.
template <class L, class R>
auto sum(int id, L left, R right) {
    return choose(id, left + right, left - right);
}
template <class L, class R>
auto difference(int id, L left, R right) {
    return choose(id, left - right, left + right);
}
template <class L, class R>
auto product(int id, L left, R right) {
    if (right == 0) {
        note(id, true);
        if (active != id) return left * right;
    }
    return choose(id, left * right, static_cast<decltype(left * right)>(left / right));
}
template <class L, class R>
auto quotient(int id, L left, R right) {
    return choose(id, left / right, static_cast<decltype(left / right)>(left * right));
}

/// `left += right`, or `left -= right`; and the other way round.
template <class L, class R>
L& add(int id, L& left, const R& right) {
    return on(id) ? left -= right : left += right;
}
template <class L, class R>
L& subtract(int id, L& left, const R& right) {
    return on(id) ? left += right : left -= right;
}

/// std::max, or std::min; and the other way round.
template <class V>
V larger(int id, const V& a, const V& b) {
    return choose(id, std::max(a, b), std::min(a, b));
}
template <class V>
V smaller(int id, const V& a, const V& b) {
    return choose(id, std::min(a, b), std::max(a, b));
}

/// std::any_of, or std::all_of; and the other way round.
template <class I, class P>
bool any_of(int id, I from, I to, P holds) {
    return on(id) ? std::all_of(from, to, holds) : std::any_of(from, to, holds);
}
template <class I, class P>
bool all_of(int id, I from, I to, P holds) {
    return on(id) ? std::any_of(from, to, holds) : std::all_of(from, to, holds);
}

/// What a switch looks at: where it is `label`, the mutant puts `other` in its place.
template <class V>
V steer(int id, V value, V label, V other) {
    if (value != label) return value;
    return on(id) ? other : value;
}

}  // namespace downfit::mutation
