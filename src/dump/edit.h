// Editing a body so that one release reads other values in it. Whatever is not asked for stays as it is.
#pragma once

#include <cstdint>
#include <optional>
#include <set>

#include "dump/locate.h"

namespace downfit::dump {

/// Edits one body. Every change is made whole, or not at all. Refers to everything it is given.
class BodyEditor {
public:
    /// How the body is to be taken.
    struct Terms {
        const schema::Framing& framing;  ///< its own
        bool last_wins = false;          ///< of records with the same id the release takes the last
        bool fixed = false;              ///< there is room for so many bytes and no others: it is cut from an image
    };
    BodyEditor(const schema::Instances& instances, const schema::Layout& layout, const Terms& terms, Bytes& body);

    /// Writes what a field holds at one of its places (index into Field::reads; their number: the plain place). Makes a
    /// record, or a longer one, where that is needed. False where it cannot be done.
    [[nodiscard]] bool put(const schema::Field& field, std::size_t place, const Stored& stored);

    /// Makes the record of an anchor (and those that it lies in), where it is missing. Its bytes are zero.
    [[nodiscard]] bool add(int anchor);

    /// Writes the version in the head of a group's record.
    [[nodiscard]] bool set_version(int anchor, std::int64_t version);

    /// Takes away the records that the release does not know. False where that cannot be done.
    [[nodiscard]] bool drop_unknown();

    /// Makes a body of places longer (with zeros) or shorter; what the framing's checks store at its end stays there.
    [[nodiscard]] bool resize(std::size_t size);

    /// What stands where now.
    [[nodiscard]] const Located& located();

private:
    [[nodiscard]] const schema::Records* run_around(int anchor) const;
    [[nodiscard]] bool room_for(const schema::Field& field, const schema::Storage& storage, const Stored& stored);
    [[nodiscard]] bool make(int anchor, std::size_t length);
    [[nodiscard]] bool insert_record(int anchor, const schema::Records& rule, std::size_t length);
    [[nodiscard]] bool set_length(int anchor, std::size_t length);
    [[nodiscard]] bool splice(int anchor, std::size_t at, std::size_t remove, const Bytes& put);
    [[nodiscard]] bool lengthen_heads(int anchor, std::ptrdiff_t by);
    [[nodiscard]] bool settle_size(std::size_t size);
    [[nodiscard]] bool add_named(int anchor, const schema::Storage& storage, const Stored& stored);
    [[nodiscard]] std::size_t tail() const;

    const schema::Instances& instances_;
    const schema::Layout& layout_;
    Terms terms_;
    Bytes& body_;
    std::optional<Located> located_;  // empty after a change
};

/// How many bytes a storage reaches to, from where its places count.
[[nodiscard]] std::size_t reach_of(const schema::Storage& storage);

}  // namespace downfit::dump
