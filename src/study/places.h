// Places: names for the bytes of bodies under which the same byte is found again in another body of the same layout.
//
// In a fixed image that is the byte's number. In a body of records it is the record, and the byte in its value: the
// same parameter stands at another byte in every preset.
#pragma once

#include <compare>
#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "base/bytes.h"
#include "schema/instances.h"

namespace downfit::study {

/// One record on the way to a byte: its id, and which of those with that id in its run, from 1.
struct RecordStep {
    std::int64_t id = 0;
    int nth = 1;

    auto operator<=>(const RecordStep&) const = default;  // NOLINT(modernize-use-nullptr): no pointer is there
};

struct Place {
    enum class Part : std::uint8_t {
        value,  ///< in the innermost record's value; without records, in the body
        head,   ///< in its head
        tail,   ///< behind the records of its run: an end mark, or what stands after it
    };
    std::vector<RecordStep> records;  ///< outermost first; empty for bytes outside all records
    Part part = Part::value;
    std::size_t byte = 0;  ///< from the start of that part

    auto operator<=>(const Place&) const = default;  // NOLINT(modernize-use-nullptr): no pointer is there
};

/// One for each byte of the body. What stands inside a record that `instances` does not take is not looked into;
/// `instances` may be null where there is no release file.
[[nodiscard]] std::vector<Place> places_of(const schema::Instances* instances, const schema::Layout& layout,
                                           ByteView body);

/// "16[2].3": the records of a place; empty without any.
[[nodiscard]] std::string records_text(const std::vector<RecordStep>& records);

/// "byte 12", "record 16[2].3 byte 0", "record 16 head byte 1".
[[nodiscard]] std::string place_text(const Place& place);

}  // namespace downfit::study
