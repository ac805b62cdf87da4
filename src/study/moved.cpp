#include "study/moved.h"

#include <algorithm>
#include <map>
#include <set>
#include <tuple>
#include <utility>

#include "dump/claims.h"
#include "dump/tree.h"
#include "study/moved_aside.h"
#include "study/moved_named.h"
#include "study/moved_parameters.h"

namespace downfit::study {

namespace {

constexpr std::size_t most_gap = 2;  // bytes between two that moved, and still one number

/// A run of bytes of one body that belong together: one record's value or head, or what stands outside records.
struct Stretch {
    std::size_t at = 0, length = 0;
};
using StretchKey = std::pair<std::vector<RecordStep>, Place::Part>;

std::map<StretchKey, Stretch> stretches_of(const std::vector<Place>& places) {
    std::map<StretchKey, Stretch> stretches;
    for (std::size_t i = 0; i < places.size(); ++i) {
        Stretch& stretch = stretches[{places[i].records, places[i].part}];
        if (stretch.length == 0) stretch.at = i;
        if (places[i].byte == stretch.length) ++stretch.length;
    }
    return stretches;
}

/// What the comparison of one entry needs of either side.
struct Half {
    const MovedInput& input;
    const dump::Entry& entry;
    std::vector<dump::ClaimedByte> claims;
    std::map<StretchKey, Stretch> stretches;
    std::vector<std::size_t> origins;

    [[nodiscard]] ByteView bytes(const Stretch& stretch) const {
        return ByteView(entry.body).subspan(stretch.at, stretch.length);
    }
    [[nodiscard]] std::size_t origin(std::size_t byte) const { return byte < origins.size() ? origins[byte] : 0; }
};

/// Compares one entry with its partner.
class Comparison {
public:
    Comparison(const MovedInput& before, const dump::Entry& a, const MovedInput& after, const dump::Entry& b,
               Readers& readers)
        : readers_(readers),
          release_(saving_release(readers.device(), b, std::nullopt)),
          instances_(readers.of(release_, b.layout)),
          layout_(instances_ != nullptr ? instances_->release().layouts[b.layout] : readers.device().layouts[b.layout]),
          before_(half(before, a)),
          after_(half(after, b)),
          parameters_(instances_, layout_, readers.device(), b, a.body, b.body) {}

    MovedEntry compare(std::set<std::size_t>& messages_told) {
        const schema::Device& device = readers_.device();
        entry_.holds = holds_preset(device, after_.entry) ? "presets" : "unit-settings";
        entry_.slot_before = before_.entry.slot < 0 ? -1 : dump::shown_slot(device, before_.entry);
        entry_.slot_after = after_.entry.slot < 0 ? -1 : dump::shown_slot(device, after_.entry);
        entry_.size_before = before_.entry.body.size();
        entry_.size_after = after_.entry.body.size();
        entry_.name = dump::captured_name(after_.input.dump, after_.entry);
        if (instances_ != nullptr) {
            entry_.read_as = instances_->release().name;
            const std::string name = dump::preset_name(*instances_, after_.entry.body, after_.entry.layout);
            if (!name.empty() && entry_.holds == "presets") entry_.name = name;
        }
        if (layout_.notation != schema::Notation::bytes) {
            compare_named(layout_, {before_.entry.body, before_.origins}, {after_.entry.body, after_.origins},
                          parameters_, entry_);
            return std::move(entry_);
        }
        for (const auto& [key, stretch] : after_.stretches) {
            const auto other = before_.stretches.find(key);
            if (other != before_.stretches.end()) {
                compare_stretch(key, other->second, stretch);
            } else if (key.second == Place::Part::value && !key.first.empty()) {
                add_record(key.first, stretch, true);
            }
        }
        for (const auto& [key, stretch] : before_.stretches) {
            const bool gone = key.second == Place::Part::value && !key.first.empty();
            if (gone && !after_.stretches.contains(key)) add_record(key.first, stretch, false);
        }
        add_moved_messages({before_.input.dump, before_.entry}, {after_.input.dump, after_.entry}, messages_told,
                           entry_.aside);
        return std::move(entry_);
    }

private:
    Half half(const MovedInput& input, const dump::Entry& entry) const {
        if (layout_.notation != schema::Notation::bytes)
            return {input, entry, {}, {}, dump::origins(input.dump, entry, input.original)};
        return {input, entry,
                dump::claim_bytes(instances_, layout_, &readers_.device().framings[entry.framing], entry.body),
                stretches_of(places_of(instances_, layout_, entry.body)),
                dump::origins(input.dump, entry, input.original)};
    }

    /// Bytes that tell something of others, or change by themselves.
    [[nodiscard]] static bool is_aside(dump::Claim by) {
        return by != dump::Claim::nobody && by != dump::Claim::parameter;
    }

    void compare_stretch(const StretchKey& key, const Stretch& a, const Stretch& b) {
        const std::size_t common = std::min(a.length, b.length);
        std::vector<std::size_t> counted;
        for (std::size_t i = 0; i < common; ++i) {
            if (before_.entry.body[a.at + i] == after_.entry.body[b.at + i]) continue;
            if (key.second != Place::Part::value || is_aside(after_.claims[b.at + i].by)) {
                add_aside(key, a, b, i);
            } else {
                counted.push_back(i);
            }
        }
        if (key.second == Place::Part::value) {
            entry_.only_before += a.length - common;
            entry_.only_after += b.length - common;
        }
        for (std::size_t from = 0; from < counted.size();) {
            std::size_t to = from + 1;
            while (to < counted.size() && counted[to] - counted[to - 1] <= most_gap) ++to;
            add_run(key, a, b,
                    {counted.begin() + static_cast<std::ptrdiff_t>(from),
                     counted.begin() + static_cast<std::ptrdiff_t>(to)});
            from = to;
        }
    }

    void add_run(const StretchKey& key, const Stretch& a, const Stretch& b, const std::vector<std::size_t>& moved) {
        MovedRun run;
        bool covered = false;
        run.whole_explained = true;
        std::vector<MovedBits> bits;
        for (const std::size_t i : moved) {
            const std::uint8_t was = before_.entry.body[a.at + i];
            const std::uint8_t is = after_.entry.body[b.at + i];
            run.bytes.push_back({{key.first, key.second, i},
                                 a.at + i,
                                 b.at + i,
                                 before_.origin(a.at + i),
                                 after_.origin(b.at + i),
                                 was,
                                 is});
            const dump::ClaimedByte& claim = after_.claims[b.at + i];
            const auto changed = static_cast<std::uint8_t>(was ^ is);
            covered = covered || claim.by == dump::Claim::parameter;
            if ((changed & ~claim.bits) != 0) run.whole_explained = false;
            bits.push_back({a.at + i, b.at + i, changed});
        }
        std::vector<bool> free;
        for (std::size_t i = 0; i < b.length; ++i) {
            const dump::Claim by = after_.claims[b.at + i].by;
            free.push_back(by == dump::Claim::nobody || (covered && by == dump::Claim::parameter));
        }
        run.readings = find_readings(before_.bytes(a), after_.bytes(b), moved.front(), moved.back(), free);
        run.parameters = parameters_.with(bits);
        entry_.runs.push_back(std::move(run));
    }

    void add_record(const std::vector<RecordStep>& records, const Stretch& stretch, bool appeared) {
        const Half& half = appeared ? after_ : before_;
        const ByteView bytes = half.bytes(stretch);
        MovedRecord record{records, appeared, stretch.at, {bytes.begin(), bytes.end()}, {}};
        record.parameters = parameters_.in(stretch.at, stretch.length, appeared);
        entry_.records.push_back(std::move(record));
    }

    void add_aside(const StretchKey& key, const Stretch& a, const Stretch& b, std::size_t i) {
        std::string what = aside_words(after_.claims[b.at + i].by);
        if (key.second == Place::Part::head) what = "head of record " + records_text(key.first);
        if (key.second == Place::Part::tail) what = "behind the last record, where nobody reads";
        const std::size_t was = before_.origin(a.at + i);
        const std::size_t is = after_.origin(b.at + i);
        const bool same = !entry_.aside.empty() && entry_.aside.back().what == what;
        if (!same) entry_.aside.push_back({what, was, is, {}, {}});
        entry_.aside.back().before.push_back(before_.entry.body[a.at + i]);
        entry_.aside.back().after.push_back(after_.entry.body[b.at + i]);
    }

    Readers& readers_;
    std::optional<std::size_t> release_;
    const schema::Instances* instances_;
    const schema::Layout& layout_;
    Half before_, after_;
    MovedParameters parameters_;
    MovedEntry entry_;
};

bool is_compared(const schema::Device& device, const dump::Entry& entry) {
    return device.framings[entry.framing].holds != schema::Holds::asset;
}

using EntryKey = std::tuple<schema::Holds, std::size_t, int>;

/// The filled entries that can be compared, by what they hold, layout and slot.
std::map<EntryKey, const dump::Entry*> entries_of(const dump::Dump& dump, std::size_t& damaged) {
    std::map<EntryKey, const dump::Entry*> found;
    for (const dump::Entry& entry : dump.entries) {
        if (!is_compared(*dump.device, entry)) continue;
        if (entry.state == dump::SlotState::damaged) ++damaged;
        if (entry.state != dump::SlotState::filled) continue;
        found.try_emplace({dump.device->framings[entry.framing].holds, entry.layout, entry.slot}, &entry);
    }
    return found;
}

/// Where both dumps hold one entry alone, these two belong together whatever their slots.
void pair_single(std::map<EntryKey, const dump::Entry*>& before, const std::map<EntryKey, const dump::Entry*>& after) {
    if (before.size() != 1 || after.size() != 1) return;
    const auto& [a, entry] = *before.begin();
    const EntryKey b = after.begin()->first;
    if (std::get<0>(a) != std::get<0>(b) || std::get<1>(a) != std::get<1>(b)) return;
    before = {{b, entry}};
}

/// Bytes of images that no entry has.
void find_outside(const MovedInput& before, const MovedInput& after, Moved& moved) {
    const std::size_t images = std::min(before.dump.images.size(), after.dump.images.size());
    for (std::size_t image = 0; image < images; ++image) {
        const Bytes& a = before.dump.images[image].bytes;
        const Bytes& b = after.dump.images[image].bytes;
        std::vector<bool> taken(std::min(a.size(), b.size()), false);
        const auto take = [&](ByteSpan span) {
            for (std::size_t i = span.offset; i < std::min(span.offset + span.length, taken.size()); ++i)
                taken[i] = true;
        };
        for (const dump::Dump* dump : {&before.dump, &after.dump}) {
            for (const dump::Entry& entry : dump->entries) {
                if (!entry.cut || entry.cut->image != image) continue;
                for (const ByteSpan piece : entry.cut->pieces) take(piece);
            }
            const schema::Framing& framing = dump->device->framings[dump->images[image].framing];
            for (const ByteSpan place : dump::told_places(framing, b.size())) take(place);
        }
        for (std::size_t i = 0; i < taken.size(); ++i) {
            if (!taken[i] && a[i] != b[i]) moved.outside.push_back({image, i, a[i], b[i]});
        }
    }
}

}  // namespace

std::size_t MovedEntry::bytes_moved() const {
    std::size_t count = only_before + only_after;
    for (const MovedRun& run : runs) count += run.bytes.size();
    for (const MovedRecord& record : records) count += record.value.size();
    return count;
}

Moved find_moved(const MovedInput& before, const MovedInput& after, Readers& readers) {
    Moved moved;
    auto old = entries_of(before.dump, moved.damaged);
    const auto now = entries_of(after.dump, moved.damaged);
    pair_single(old, now);
    std::set<std::size_t> messages_told;
    for (const auto& [key, entry] : now) {
        const auto other = old.find(key);
        if (other == old.end()) {
            moved.only_after.push_back(dump::shown_slot(readers.device(), *entry));
            continue;
        }
        ++moved.compared;
        if (other->second->body == entry->body && other->second->slot == entry->slot) continue;
        MovedEntry told = Comparison(before, *other->second, after, *entry, readers).compare(messages_told);
        if (told.moved() || !told.aside.empty()) moved.entries.push_back(std::move(told));
    }
    for (const auto& [key, entry] : old) {
        if (!now.contains(key)) moved.only_before.push_back(dump::shown_slot(readers.device(), *entry));
    }
    find_outside(before, after, moved);
    return moved;
}

}  // namespace downfit::study
