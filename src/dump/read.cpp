#include <algorithm>
#include <map>
#include <utility>

#include "base/digest.h"
#include "base/text.h"
#include "dump/choose.h"
#include "dump/dump.h"
#include "dump/tree.h"

namespace downfit::dump {

namespace {

using midi::Item;
using midi::ItemKind;
using schema::Device;

constexpr std::size_t nobody = static_cast<std::size_t>(-1);
constexpr std::size_t shown_bytes = 8;

std::string first_bytes(ByteView bytes) {
    constexpr char digits[] = "0123456789ABCDEF";
    std::string text;
    for (const std::uint8_t byte : bytes.first(std::min(shown_bytes, bytes.size()))) {
        if (!text.empty()) text += ' ';
        text += digits[byte >> 4];
        text += digits[byte & 0x0F];
    }
    if (bytes.size() > shown_bytes) text += " ...";
    return text;
}

std::string number(std::size_t value) {
    return number_text(static_cast<double>(value));
}

/// Puts the parts of a dump together.
class Reader {
public:
    Reader(std::string file, ByteView bytes, const Device& device)
        : bytes_(bytes),
          device_(device),
          findings_(find_messages(bytes, device)),
          owners_(findings_.items.size(), nobody) {
        dump_.file = std::move(file);
        dump_.device = &device;
    }

    Result<Dump> read() {
        entries_ = choose_entries(dump_.file, device_, findings_);
        for (std::size_t e = 0; e < entries_.size(); ++e) own(e);
        add_messages();
        if (dump_.messages.empty() && entries_.empty()) {
            return Problem{dump_.file,
                           "no message of " + device_.name + " is in this file",
                           "System Exclusive messages as the layouts of " + device_.name + " describe them",
                           {}};
        }
        add_spans();
        for (std::size_t e = 0; e < entries_.size(); ++e) tell_missing(e);
        tell_strangers();
        for (Assembled& one : entries_) dump_.entries.push_back(std::move(one.entry));
        tell_slots();
        dump_.digest = sha256_hex(bytes_);
        return std::move(dump_);
    }

private:
    const std::vector<Reading>& readings_of(std::size_t entry) const {
        return findings_.readings[entries_[entry].entry.framing];
    }

    std::size_t first_item(std::size_t entry) const {
        return readings_of(entry)[entries_[entry].series.members.front()].item;
    }

    std::size_t last_item(std::size_t entry) const {
        return readings_of(entry)[entries_[entry].series.members.back()].item;
    }

    void own(std::size_t entry) {
        for (const std::size_t member : entries_[entry].series.members)
            owners_[readings_of(entry)[member].item] = entry;
    }

    /// Numbers all recognised messages in file order: those of entries, and those that belong to no preset.
    void add_messages() {
        message_of_item_.assign(findings_.items.size(), nobody);
        std::vector<std::pair<std::size_t, const Reading*>> known(findings_.items.size(), {0, nullptr});
        for (std::size_t f = device_.framings.size(); f-- > 0;) {
            for (const Reading& reading : findings_.readings[f]) {
                if (!reading.whole) continue;
                const std::size_t owner = owners_[reading.item];
                if (owner != nobody ? entries_[owner].entry.framing == f
                                    : !in_preset(device_.framings[f], reading.pattern)) {
                    known[reading.item] = {f, &reading};
                }
            }
        }
        for (std::size_t item = 0; item < known.size(); ++item) {
            if (!known[item].second) continue;
            message_of_item_[item] = dump_.messages.size();
            if (owners_[item] != nobody) entries_[owners_[item]].entry.messages.push_back(dump_.messages.size());
            dump_.messages.push_back(
                message_of({dump_.file, device_, known[item].first, findings_}, *known[item].second));
        }
    }

    void add_spans() {
        for (std::size_t i = 0; i < findings_.items.size(); ++i) {
            const Item& item = findings_.items[i];
            Span span{item.span, Span::Kind::junk, 0};
            if (message_of_item_[i] != nobody) {
                span.kind = Span::Kind::message;
                span.index = message_of_item_[i];
            } else if (item.kind == ItemKind::message) {
                span.kind = Span::Kind::foreign;
            } else if (item.kind == ItemKind::damaged) {
                span.kind = Span::Kind::damaged;
            }
            dump_.spans.push_back(span);
        }
    }

    /// What nobody owns next to a gap of an unfinished entry belongs to that entry's damage.
    void tell_missing(std::size_t entry) {
        const Series& series = entries_[entry].series;
        if (series.notes.empty()) return;
        std::size_t from = first_item(entry);
        std::size_t to = last_item(entry) + 1;
        if (series.lacks_head) {
            while (from > 0 && is_stranger(from - 1)) --from;
        }
        if (series.lacks_tail) {
            while (to < findings_.items.size() && is_stranger(to)) ++to;
        }
        for (std::size_t item = from; item < to; ++item) {
            if (!is_stranger(item)) continue;
            owners_[item] = entry;
            if (auto problem = stranger(item)) {
                std::get<BytePlace>(problem->place).slot = entries_[entry].entry.slot;
                entries_[entry].entry.damage.push_back(*std::move(problem));
            }
        }
    }

    bool is_stranger(std::size_t item) const { return owners_[item] == nobody && message_of_item_[item] == nobody; }

    void tell_strangers() {
        for (std::size_t item = 0; item < findings_.items.size(); ++item) {
            if (!is_stranger(item)) continue;
            if (auto problem = stranger(item)) dump_.problems.push_back(*std::move(problem));
        }
    }

    /// What is to be said of an item that is no message of the device; nothing for real-time bytes between messages.
    std::optional<Problem> stranger(std::size_t index) const {
        const Item& item = findings_.items[index];
        const ByteView bytes = bytes_.subspan(item.span.offset, item.span.length);
        Problem problem{BytePlace{dump_.file, item.span.offset, item.span.length, -1}, {}, {}, {}};
        if (item.kind == ItemKind::damaged) {
            problem.what = std::string(midi::text(item.damage)) + ": " + first_bytes(bytes);
        } else if (item.kind == ItemKind::message) {
            problem.what = item.span.length > longest_message
                               ? "the message is longer than 16 MiB and was not looked at"
                               : "no layout of " + device_.name + " has a message like " + first_bytes(bytes);
        } else if (std::ranges::all_of(bytes, [](std::uint8_t byte) { return byte >= 0xF8; })) {
            return std::nullopt;
        } else {
            problem.what = number(item.span.length) + (item.span.length == 1 ? " byte belongs" : " bytes belong") +
                           " to no message: " + first_bytes(bytes);
        }
        return problem;
    }

    void tell_slots() {
        std::map<std::pair<std::string, int>, std::size_t> seen;
        for (std::size_t e = 0; e < dump_.entries.size(); ++e) {
            const Entry& entry = dump_.entries[e];
            const schema::Framing& framing = device_.framings[entry.framing];
            // The slot of a damaged entry may itself be what is wrong.
            if (entry.slot < 0 || entry.state == SlotState::damaged) continue;
            if (framing.holds == schema::Holds::unit_settings) continue;
            const int count = slot_count(device_, framing);
            if (count > 0 && entry.slot >= count) {
                tell_slot(e, "slot " + std::to_string(entry.slot) + " is beyond the last one",
                          "0 to " + std::to_string(count - 1));
            }
            const std::string kind = framing.holds == schema::Holds::asset ? "asset " + framing.asset : "preset";
            const auto [place, fresh] = seen.emplace(std::pair{kind, entry.slot}, e);
            if (fresh) continue;
            tell_slot(e,
                      "slot " + std::to_string(entry.slot) + " stands twice in this file; the other is at offset " +
                          number(findings_.items[first_item(place->second)].span.offset),
                      {});
        }
    }

    void tell_slot(std::size_t entry, std::string what, std::string expected) {
        const ByteSpan span = findings_.items[first_item(entry)].span;
        dump_.problems.push_back({BytePlace{dump_.file, span.offset, span.length, dump_.entries[entry].slot},
                                  std::move(what),
                                  std::move(expected),
                                  {}});
    }

    ByteView bytes_;
    const Device& device_;
    Findings findings_;
    std::vector<std::size_t> owners_;           // entry of each item
    std::vector<std::size_t> message_of_item_;  // index into Dump::messages
    std::vector<Assembled> entries_;
    Dump dump_;
};

}  // namespace

const Device* recognise(ByteView bytes, const std::vector<const Device*>& devices) {
    const std::vector<Item> items = midi::read_sysex(bytes);
    const Device* best = nullptr;
    std::size_t most = 0;
    for (const Device* device : devices) {
        const std::size_t known = known_bytes(items, *device);
        if (known <= most) continue;
        most = known;
        best = device;
    }
    return best;
}

Result<Dump> read(std::string file, ByteView bytes, const Device& device) {
    return Reader(std::move(file), bytes, device).read();
}

std::string captured_name(const Dump& dump, const Entry& entry) {
    for (const std::size_t index : entry.messages) {
        const Message& message = dump.messages[index];
        const auto place = find_capture(dump.device->framings[message.framing].messages[message.pattern], "name");
        if (!place || place->index >= message.captures.size()) continue;
        const Bytes& bytes = message.captures[place->index];
        std::string raw(bytes.begin(), bytes.end());
        while (!raw.empty() && (raw.back() == ' ' || raw.back() == '\0')) raw.pop_back();
        return to_utf8(raw, schema::Encoding::ascii).text;
    }
    return {};
}

int shown_slot(const Device& device, const Entry& entry) {
    if (entry.slot < 0) return -1;
    const bool of_assets =
        entry.framing < device.framings.size() && device.framings[entry.framing].holds == schema::Holds::asset;
    if (!of_assets) return device.slots.first + entry.slot;
    for (const schema::AssetKind& kind : device.assets) {
        if (kind.name == device.framings[entry.framing].asset) return kind.first + entry.slot;
    }
    return entry.slot;
}

}  // namespace downfit::dump
