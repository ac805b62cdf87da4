// Loading one field: reading it from the body and applying the loading rules of its release.
#pragma once

#include <optional>
#include <vector>

#include "compat/hearing.h"
#include "compat/loader.h"

namespace downfit::compat {

/// Loads fields of one preset. Refers to everything it is given; lives for one call of load().
struct FieldLoader {
    const CompiledRelease& compiled;
    schema::Action beyond;  ///< what fields beyond the body's end get
    const Assumptions& assumptions;
    AskedRules& asked;
    bool as_it_stands = false;  ///< Image::as_it_stands

    /// Fills `loaded`, whose `meaning`, `read_index` and `exists` are set, from `bytes`, those that the field's places
    /// count from. Returns what is refused along where a rule says refuse. A field that does not exist is read but no
    /// rule is asked for it.
    [[nodiscard]] std::optional<schema::Refuses> load_field(const BoundField& field, ByteView bytes,
                                                            Loaded& loaded) const;

private:
    [[nodiscard]] schema::Action action(schema::Rule rule, const BoundField& field) const;
    void take_missing(const BoundField& field, Loaded& loaded) const;
    [[nodiscard]] std::optional<schema::Refuses> load_text(const BoundField& field, Loaded& loaded) const;
    [[nodiscard]] std::optional<schema::Refuses> load_choice(const BoundField& field, Loaded& loaded) const;
    [[nodiscard]] std::optional<schema::Refuses> load_number(const BoundField& field, Loaded& loaded) const;
    [[nodiscard]] std::optional<schema::Refuses> settle_range(const BoundField& field, Loaded& loaded) const;
    void settle_step(const BoundField& field, Loaded& loaded) const;
};

/// Marks every field of the block that holds group instance `group` as refused (the outermost block around it, or the
/// group itself).
void refuse_block(const CompiledRelease& compiled, int group, std::vector<Loaded>& fields);

}  // namespace downfit::compat
