// Records, and values by name: where in a body they stand, so that fields that lie in them can be read.
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <tuple>
#include <vector>

#include "base/bytes.h"
#include "dump/fields.h"
#include "schema/instances.h"

namespace downfit::dump {

class Document;

/// One record of a body.
struct Record {
    std::int64_t id = 0;
    std::optional<std::int64_t> version;
    ByteSpan head;   ///< in the body; by name, of what nobody takes: all of it, its name too
    ByteSpan value;  ///< in the body
};

/// How many bytes the head of each record has.
[[nodiscard]] std::size_t head_size(const schema::Records& rule);

/// Splits bytes into records. `begin` is added to all places. A record that the bytes cut ends the list; `complete`
/// tells.
struct RecordList {
    std::vector<Record> records;
    bool complete = true;        ///< every byte from Records::from belongs to a record, or stands behind the end mark
    std::size_t stopped_at = 0;  ///< with complete == false: place of the record that makes no sense
    ByteSpan rest;               ///< the end mark and what stands behind it; empty without one
};
[[nodiscard]] RecordList split_records(const schema::Records& rule, ByteView bytes, std::size_t begin);

/// The records of one body as one release knows them, or its values by name, each as a record whose value is its text.
/// Bodies with places alone need none and cost nothing. Keeps no reference.
class Located {
public:
    /// `last_wins`: of records with the same id where the release expects one, the last counts (else the first).
    Located(const schema::Instances& instances, const schema::Layout& layout, ByteView body, bool last_wins = false);
    /// The same of a body by name that was read already; null where it could not be read.
    Located(const schema::Instances& instances, const schema::Layout& layout, const Document* document,
            std::size_t length, bool last_wins);

    /// Whether the record of that anchor is there; always for the body (-1).
    [[nodiscard]] bool present(int anchor) const;
    /// Where the anchor's value stands in the body; the whole body for -1, empty where it is absent.
    [[nodiscard]] ByteSpan span_of(int anchor) const;
    /// The bytes that a field's places count from: empty where its record is absent.
    [[nodiscard]] ByteView bytes_of(const schema::Field& field, ByteView body) const;
    /// The version in the record's head.
    [[nodiscard]] std::optional<std::int64_t> version_of(int anchor) const;

    /// Records that no field or group of the release takes, those inside such records left out.
    [[nodiscard]] const std::vector<Record>& unknown() const { return unknown_; }
    /// Records beyond the first with an id of which the release expects one.
    [[nodiscard]] const std::vector<Record>& repeated() const { return repeated_; }
    /// The heads of all records that the release takes.
    [[nodiscard]] std::vector<ByteSpan> heads() const;
    /// End marks and what stands behind them in their runs: nobody reads it.
    [[nodiscard]] const std::vector<ByteSpan>& rests() const { return rests_; }
    /// Every byte belongs to a record or a rest.
    [[nodiscard]] bool complete() const { return complete_; }
    /// Without complete(): the place in the body of the first record that runs past the end of its run.
    [[nodiscard]] std::size_t stopped_at() const { return stopped_at_; }

private:
    void locate(const schema::Instances& instances, int parent, const schema::Records& rule, ByteView body,
                bool last_wins);
    void locate_by_name(const schema::Instances& instances, const schema::Layout& layout, const Document* document,
                        bool last_wins);

    std::size_t body_length_ = 0;
    std::vector<std::optional<Record>> found_;  // one an anchor
    std::vector<Record> unknown_, repeated_;
    std::vector<ByteSpan> rests_;
    bool complete_ = true;
    std::size_t stopped_at_ = 0;
};

/// One body by name, read once: releases that look for their values in it, and all who ask for paths, share the
/// reading.
class NamedBody {
public:
    /// `body` must stay as it is and outlive this.
    NamedBody(schema::Notation notation, ByteView body);
    NamedBody(const NamedBody&) = delete;
    NamedBody& operator=(const NamedBody&) = delete;
    ~NamedBody();

    [[nodiscard]] bool is_of(ByteView body) const { return body.data() == body_.data() && body.size() == body_.size(); }
    /// What a release finds there, as Located's constructor does; looked for once. `instances` must outlive this.
    [[nodiscard]] const Located& located(const schema::Instances& instances, const schema::Layout& layout,
                                         bool last_wins = false);
    /// The path of the innermost value that stands at a byte; empty where there is none.
    [[nodiscard]] std::string path_at(std::size_t offset) const;
    /// The text at a path from the preset; nothing where there is none.
    [[nodiscard]] std::optional<std::string> text_at(const std::string& path) const;

private:
    ByteView body_;
    std::unique_ptr<const Document> document_;  // null where the body is none
    std::map<std::tuple<const schema::Instances*, const schema::Layout*, bool>, Located> located_;
};

/// What a release finds in a body: in `named` where that is the body, else looked for anew and kept in `own`.
[[nodiscard]] const Located& located_in(const schema::Instances& instances, const schema::Layout& layout, ByteView body,
                                        NamedBody* named, std::optional<Located>& own, bool last_wins = false);

/// Reads a field from its record (or the body); `storage` is the field's own or one of its reads. Kind::none where its
/// record is absent or too short.
[[nodiscard]] Stored read_located(const schema::Field& field, const schema::Storage& storage, const Located& located,
                                  ByteView body);

/// Writes a field into its record, or in place of its text by name. Lengths of records stay as they are; after a text
/// that became longer or shorter, `located` holds no more. False, and nothing written, where it does not fit.
[[nodiscard]] bool write_located(const schema::Field& field, const schema::Storage& storage, const Located& located,
                                 const Stored& stored, Bytes& body);

}  // namespace downfit::dump
