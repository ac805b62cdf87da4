// Drafting the parameters of one run of bytes: what its columns hold over all presets.
//
// Internal to study/.
#pragma once

#include <string>
#include <vector>

#include "base/bytes.h"
#include "study/draft.h"

namespace downfit::study {

/// The same run of bytes in each preset that has it; they may be of different lengths. Columns that `closed` marks are
/// not looked at. Views must outlive it.
struct Rows {
    std::vector<ByteView> rows;
    std::vector<bool> closed;  ///< may be shorter than the rows
    /// What ids begin with ("record-16-"), and the whole id where one parameter takes all ("record-16"); both empty in
    /// a body without records.
    std::string prefix, whole;
    std::optional<std::int64_t> tag;
};

/// One parameter for each number or text that the columns that differ look like, in order of place.
[[nodiscard]] std::vector<DraftParameter> draft_bytes(const Rows& rows);

/// How many columns there are, and how many of them differ and are not closed.
struct ColumnCount {
    std::size_t all = 0, varying = 0;
};
[[nodiscard]] ColumnCount count_columns(const Rows& rows);

}  // namespace downfit::study
