// Reading nodes: typed access that reports what does not fit and goes on. For the sources of schema/ only.
//
// All functions add what is wrong to a list of problems, with the place of the value, and return nothing for it.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/bytes.h"
#include "base/problem.h"
#include "schema/node.h"

namespace downfit::schema {

using Names = std::span<const std::string_view>;

/// Adds a problem.
void report(Problems& problems, TextPlace place, std::string what, std::string expected = {}, std::string remedy = {});

/// `text` in double quotes.
[[nodiscard]] std::string quoted(std::string_view text);
/// The shortest decimal text of a number.
[[nodiscard]] std::string number_text(double number);
/// "a, b or c", each in quotes.
[[nodiscard]] std::string one_of(Names names);
/// How messages call a node: `"range"`, `item 2 of "range"`, `the file`.
[[nodiscard]] std::string name_of(const Node& node);
/// What a node is: `text "eight"`, `number 5`, `a list`.
[[nodiscard]] std::string found(const Node& node);
/// Reports `"bit" is text "eight"` with what was expected instead.
void report_found(Problems& problems, const Node& node, std::string expected, std::string remedy = {});

/// The least and the most that a whole number may be.
struct Limits {
    std::int64_t least = 0;
    std::int64_t most = 0;
};
inline constexpr Limits any_whole{INT64_MIN, INT64_MAX};
inline constexpr Limits slot_numbers{0, 1'000'000};
inline constexpr Limits tag_numbers{0, UINT32_MAX};
/// Of places, strides and counts: what bodies of 16 MiB need.
inline constexpr Limits any_place{-(1 << 24), 1 << 24};

[[nodiscard]] std::optional<std::string> read_text(const Node& node, Problems& problems);
[[nodiscard]] std::optional<double> read_number(const Node& node, Problems& problems);
[[nodiscard]] std::optional<std::int64_t> read_whole(const Node& node, Limits limits, Problems& problems);
[[nodiscard]] std::optional<bool> read_boolean(const Node& node, Problems& problems);
/// The index of the text among `names`.
[[nodiscard]] std::optional<std::size_t> read_word(const Node& node, Names names, Problems& problems);
/// Bytes written in hex with blanks between them, "F0 7D".
[[nodiscard]] std::optional<Bytes> read_hex(const Node& node, Problems& problems);
/// The items of a list; `expected` says of what.
[[nodiscard]] const std::vector<NodePtr>* read_list(const Node& node, std::string_view expected, Problems& problems);

/// An object whose keys are known. Unknown keys are reported when it is made.
class ObjectReader {
public:
    /// `thing` is what the object describes ("a parameter").
    ObjectReader(const Node& node, std::string_view thing, Names keys, Problems& problems);

    /// Whether the node is an object at all; if not, nothing else here finds anything.
    [[nodiscard]] bool ok() const { return ok_; }
    [[nodiscard]] const Node* find(std::string_view key) const;
    /// The same, reporting that it is missing.
    [[nodiscard]] const Node* need(std::string_view key) const;
    [[nodiscard]] bool has(std::string_view key) const { return find(key) != nullptr; }

    /// The member's value; `otherwise` (or nothing) where it is missing or does not fit.
    [[nodiscard]] std::string text(std::string_view key, std::string_view otherwise = {}) const;
    [[nodiscard]] std::optional<double> number(std::string_view key) const;
    [[nodiscard]] std::optional<std::int64_t> whole(std::string_view key, Limits limits) const;
    [[nodiscard]] std::optional<std::size_t> word(std::string_view key, Names names) const;
    [[nodiscard]] std::optional<Bytes> hex(std::string_view key) const;

    [[nodiscard]] const Node& node() const { return node_; }
    [[nodiscard]] Problems& problems() const { return problems_; }

private:
    const Node& node_;
    std::string thing_;
    Problems& problems_;
    bool ok_ = false;
};

}  // namespace downfit::schema
