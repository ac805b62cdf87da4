// Moved: what differs between two dumps that were saved before and after one knob was turned.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "dump/dump.h"
#include "study/places.h"
#include "study/readers.h"
#include "study/readings.h"

namespace downfit::study {

/// One byte of the body that moved.
struct MovedByte {
    Place place;
    std::size_t body_before = 0, body_after = 0;  ///< its number in either body
    std::size_t file_before = 0, file_after = 0;  ///< where it mainly stands in either file
    std::uint8_t before = 0, after = 0;
};

/// A parameter that has some of the bits that moved.
struct Covering {
    std::string parameter;  ///< instance id
    std::string stored_before, stored_after, value_before, value_after;
};

/// Bytes that moved and stand so near together that one number may have moved.
struct MovedRun {
    std::vector<MovedByte> bytes;      ///< at least one, of one record
    std::vector<Reading> readings;     ///< places count in the record's value, or in the body
    std::vector<Covering> parameters;  ///< empty where the schema has none there, or there is none
    bool whole_explained = false;      ///< every bit that moved belongs to a parameter
};

/// A record that only one of the two has.
struct MovedRecord {
    std::vector<RecordStep> records;
    bool appeared = false;  ///< it is in the second; else in the first
    std::size_t at = 0;     ///< of its value in that body
    Bytes value;
    std::vector<Covering> parameters;  ///< with what that one has; empty on the other side
};

/// Something that moved along and says nothing: checks, lengths, counters, slots. Not counted.
struct MovedAside {
    std::string what;  ///< "check \"check\" of message part", "changes by itself (volatile)"
    std::size_t file_before = 0, file_after = 0;
    Bytes before, after;
};

/// By name: a value that moved, or that only one of the two has.
struct MovedValue {
    std::string path;                          ///< from the preset
    std::optional<std::string> before, after;  ///< as they stand in the files; nothing where it is not there
    std::size_t file_before = 0, file_after = 0;
    std::vector<Covering> parameters;  ///< those that take it
};

/// One preset (or the unit settings) in both dumps.
struct MovedEntry {
    std::string holds;                      ///< "presets" or "unit-settings"
    int slot_before = -1, slot_after = -1;  ///< as shown; -1 where the dump does not number it
    std::string name;
    std::string read_as;  ///< the release whose schema names parameters; empty without one
    std::size_t size_before = 0, size_after = 0;
    std::vector<MovedRun> runs;
    std::vector<MovedRecord> records;
    std::vector<MovedAside> aside;
    bool by_name = false;            ///< values stand in place of runs, records and bytes
    std::vector<MovedValue> values;  ///< in the order of the second's text, then those that are gone
    /// Bytes that only the longer of two fixed bodies has.
    std::size_t only_before = 0, only_after = 0;

    [[nodiscard]] bool moved() const {
        return !runs.empty() || !records.empty() || !values.empty() || only_before > 0 || only_after > 0;
    }
    [[nodiscard]] std::size_t bytes_moved() const;
};

/// A byte of a memory image, or of joined data, that belongs to no preset.
struct MovedOutside {
    std::size_t image = 0;  ///< which of the dump's
    std::size_t byte = 0;
    std::uint8_t before = 0, after = 0;
};

struct Moved {
    std::vector<MovedEntry> entries;  ///< those that differ in anything, in the order of the second dump
    std::vector<MovedOutside> outside;
    std::size_t compared = 0;                  ///< presets that both have
    std::vector<int> only_before, only_after;  ///< slots as shown that are filled in one alone
    std::size_t damaged = 0;                   ///< of either dump, not compared
};

/// One of the two dumps.
struct MovedInput {
    const dump::Dump& dump;
    ByteView original;  ///< the file's bytes
};

/// Compares two dumps of the readers' device. Entries are paired by slot; where both hold one preset alone, these two.
/// A release file is used where there is one for the stamp of the second; the framing alone is enough.
[[nodiscard]] Moved find_moved(const MovedInput& before, const MovedInput& after, Readers& readers);

}  // namespace downfit::study
