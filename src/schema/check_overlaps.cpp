#include <algorithm>
#include <utility>

#include "base/limits.h"
#include "schema/instances.h"
#include "schema/read_release.h"
#include "schema/reader.h"

namespace downfit::schema {

namespace {

/// The bytes that all fields take, each with the record that it counts from.
class TakenBytes {
public:
    void add(int anchor, const Storage& storage) {
        if (storage.coding == Coding::text) {
            for (std::size_t i = 0; i < storage.text_length && !full(); ++i) {
                bytes_.emplace_back(anchor, storage.text_at + static_cast<std::int64_t>(i));
            }
        }
        for (const BitPiece& piece : storage.pieces) bytes_.emplace_back(anchor, piece.byte);
    }

    [[nodiscard]] bool full() const { return bytes_.size() > limits::most_placed_bytes; }

    /// Pairs of fields in one byte, over all bytes.
    [[nodiscard]] std::size_t shared() {
        std::sort(bytes_.begin(), bytes_.end());
        std::size_t pairs = 0;
        for (std::size_t i = 0; i < bytes_.size();) {
            std::size_t end = i;
            while (end < bytes_.size() && bytes_[end] == bytes_[i]) ++end;
            pairs += (end - i) * (end - i - 1) / 2;
            i = end;
        }
        return pairs;
    }

private:
    std::vector<std::pair<int, std::int64_t>> bytes_;
};

}  // namespace

void check_overlaps(const Release& release, const TextPlace& place, Problems& problems) {
    const Instances instances(release);
    TakenBytes taken;
    for (const Field& field : instances.fields()) {
        taken.add(field.anchor, field.storage);
        for (const Storage& read : field.reads) taken.add(field.anchor, read);
        if (!taken.full()) continue;
        report(problems, place, "the parameters of release " + quoted(release.name) + " take too many bytes",
               "at most " + std::to_string(limits::most_placed_bytes) + " in all instances together");
        return;
    }
    if (taken.shared() <= limits::most_shared) return;
    report(problems, place, "too many parameters of release " + quoted(release.name) + " share their bytes",
           "at most " + std::to_string(limits::most_shared) + " pairs of them");
}

}  // namespace downfit::schema
