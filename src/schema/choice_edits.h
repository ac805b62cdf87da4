// Choices as written: their three plain forms, merging, and the edits that a release makes of inherited ones.
// For the sources of schema/ only.
#pragma once

#include <string>
#include <vector>

#include "base/problem.h"
#include "schema/choices.h"
#include "schema/node.h"

namespace downfit::schema {

/// A choice and the place where it was last written.
struct WrittenChoice {
    Choice choice;
    TextPlace place;
};

/// The choices of a parameter or of a named list, resolved as far as one release goes: no edits any more.
struct WrittenChoices {
    std::string list;                    ///< name of a choice list; then there are no entries
    std::vector<WrittenChoice> entries;  ///< in no particular order
    TextPlace place;
    bool doubtful = false;  ///< something in them is wrong and told: labels are not looked for any more

    [[nodiscard]] bool shared() const { return !list.empty(); }
    /// The entries as a list in rising order. Of two with one number or label only one is taken.
    [[nodiscard]] ChoiceList sorted() const;
};

/// What a release has after `written` is applied to what it inherits. `inherited` may be null. With `edits` the five
/// edits are understood, in the order rename, remove, close, insert, add; without, all keys are labels. Labels keep the
/// meaning they have in `inherited`; a new label whose text is another choice's meaning gets the meaning
/// "label@release".
[[nodiscard]] WrittenChoices apply_choices(const WrittenChoices* inherited, const Node& written, bool edits,
                                           const std::string& release, Problems& problems);

}  // namespace downfit::schema
