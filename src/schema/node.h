// A JSON document in which every value knows where it was written. For the sources of schema/ only.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/json_scan.h"
#include "base/problem.h"

namespace downfit::schema {

struct Node;

/// Nodes never change once made, so that what a release inherits is shared, not copied.
using NodePtr = std::shared_ptr<const Node>;

/// One member of an object, in the order written.
struct Member {
    std::string key;
    NodePtr value;
};

/// One value. Which of the content members means something depends on `kind`.
struct Node {
    enum class Kind : std::uint8_t { null, boolean, number, text, array, object };

    Kind kind = Kind::null;
    bool boolean = false;
    double number = 0;
    std::optional<std::int64_t> whole;  ///< of a number without fraction
    std::string text;
    std::vector<NodePtr> items;
    std::vector<Member> members;

    std::shared_ptr<const std::string> file;  ///< the file that it was written in
    std::string pointer;                      ///< JSON Pointer in that file
    bool item = false;                        ///< whether it is an item of a list (then its key is itself)
    Spot key_spot;                            ///< where its key starts; its own start for items and the document
    Spot value_spot;                          ///< where it starts itself

    /// The member with that key, or nullptr; also for anything that is not an object.
    [[nodiscard]] const Node* find(std::string_view key) const;
    /// The same, to share.
    [[nodiscard]] NodePtr share(std::string_view key) const;

    [[nodiscard]] bool is(Kind wanted) const { return kind == wanted; }
    [[nodiscard]] TextPlace key_place() const;
    [[nodiscard]] TextPlace value_place() const;
};

/// `base` with `patch` merged over it as RFC 7396 says. `base` may be null (nothing there), and so may the result. A
/// merged object has the place of the patch; every value keeps the place where it was last written.
[[nodiscard]] NodePtr merge_patch(const NodePtr& base, const NodePtr& patch);

/// `node` without the members of those names.
[[nodiscard]] NodePtr without(const NodePtr& node, const std::vector<std::string_view>& keys);

}  // namespace downfit::schema
