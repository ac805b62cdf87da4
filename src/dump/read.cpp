#include <algorithm>
#include <utility>

#include "base/digest.h"
#include "base/limits.h"
#include "base/text.h"
#include "dump/choose.h"
#include "dump/cut_records.h"
#include "dump/dump.h"
#include "dump/layouts.h"
#include "dump/locate.h"
#include "dump/raw.h"
#include "dump/read_named.h"
#include "dump/slots.h"
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
    Reader(std::string file, ByteView bytes, const Device& device, const std::vector<bool>& wanted)
        : bytes_(bytes),
          device_(device),
          findings_(find_messages(bytes, device, wanted)),
          owners_(findings_.items.size(), nobody) {
        dump_.file = std::move(file);
        dump_.device = &device;
    }

    Result<Dump> read() {
        assembled_ = choose_entries(dump_.file, device_, findings_);
        for (std::size_t a = 0; a < assembled_.size(); ++a) own(a);
        add_messages();
        if (dump_.messages.empty() && assembled_.empty()) return Problem{dump_.file, {}, {}, {}};
        add_spans();
        for (std::size_t a = 0; a < assembled_.size(); ++a) number_messages(a);
        for (std::size_t a = 0; a < assembled_.size(); ++a) tell_missing(a);
        tell_headers();
        tell_strangers();
        for (std::size_t a = 0; a < assembled_.size(); ++a) take(a);
        tell_cut_records(dump_, bytes_);
        tell_slots(dump_, places_);
        dump_.digest = sha256_hex(bytes_);
        return std::move(dump_);
    }

private:
    const std::vector<Reading>& readings_of(std::size_t a) const { return findings_.readings[assembled_[a].framing]; }

    std::size_t first_item(std::size_t a) const { return readings_of(a)[assembled_[a].series.members.front()].item; }

    std::size_t last_item(std::size_t a) const { return readings_of(a)[assembled_[a].series.members.back()].item; }

    void own(std::size_t a) {
        for (const std::size_t member : assembled_[a].series.members) owners_[readings_of(a)[member].item] = a;
    }

    /// Numbers all recognised messages in file order: those of entries, and those that belong to no preset.
    void add_messages() {
        message_of_item_.assign(findings_.items.size(), nobody);
        std::vector<std::pair<std::size_t, const Reading*>> known(findings_.items.size(), {0, nullptr});
        for (std::size_t f = device_.framings.size(); f-- > 0;) {
            for (const Reading& reading : findings_.readings[f]) {
                if (!reading.whole) continue;
                const std::size_t owner = owners_[reading.item];
                if (owner != nobody ? assembled_[owner].framing == f
                                    : !in_preset(device_.framings[f], reading.pattern)) {
                    known[reading.item] = {f, &reading};
                }
            }
        }
        for (std::size_t item = 0; item < known.size(); ++item) {
            if (!known[item].second) continue;
            message_of_item_[item] = dump_.messages.size();
            dump_.messages.push_back(
                message_of({dump_.file, device_, known[item].first, findings_}, *known[item].second));
        }
    }

    /// From members of a series to messages of the dump.
    void number_messages(std::size_t a) {
        Assembled& one = assembled_[a];
        const auto message_of_member = [&](std::size_t member) {
            return message_of_item_[readings_of(a)[one.series.members[member]].item];
        };
        if (one.image) {
            for (ImagePart& part : one.image->parts) part.message = message_of_member(part.message);
            for (Entry& entry : one.entries) entry.messages = messages_under(*one.image, *entry.cut);
            return;
        }
        for (std::size_t m = 0; m < one.series.members.size(); ++m) {
            if (message_of_member(m) != nobody) one.entries.front().messages.push_back(message_of_member(m));
        }
    }

    std::vector<std::size_t> messages_under(const Image& image, const Cut& cut) const {
        const bool moves = packs(device_.framings[image.framing].steps);
        std::vector<std::size_t> messages;
        for (const ImagePart& part : image.parts) {
            const std::size_t end = part.at + dump_.messages[part.message].payload.size();
            const bool holds = moves || std::ranges::any_of(cut.pieces, [&](ByteSpan piece) {
                                   return piece.offset < end && part.at < piece.offset + piece.length;
                               });
            if (holds) messages.push_back(part.message);
        }
        std::ranges::sort(messages);
        return messages;
    }

    /// Moves what was assembled into the dump.
    void take(std::size_t a) {
        Assembled& one = assembled_[a];
        const ByteSpan head = findings_.items[first_item(a)].span;
        for (Entry& entry : one.entries) {
            if (one.image) entry.cut->image = dump_.images.size();
            const bool in_part = one.image && !entry.messages.empty();
            places_.push_back(in_part ? dump_.messages[entry.messages.front()].span : head);
            dump_.entries.push_back(std::move(entry));
        }
        if (one.image) dump_.images.push_back(*std::move(one.image));
        for (Problem& problem : one.problems) dump_.problems.push_back(std::move(problem));
    }

    /// Messages of the whole dump that are missing or whose checks fail (what they say holds for nothing then), and
    /// presets that do not come as announced.
    void tell_headers() {
        for (std::size_t f = 0; f < device_.framings.size(); ++f) {
            const schema::Framing& framing = device_.framings[f];
            if (framing.dump.empty() && framing.end.empty()) continue;
            std::vector<std::size_t> presets;
            for (std::size_t a = 0; a < assembled_.size(); ++a) {
                if (assembled_[a].framing == f) presets.push_back(a);
            }
            if (presets.empty() && !assembled_.empty()) continue;
            tell_announced(f, presets);
            if (presets.empty()) continue;
            tell_failed(f);
            const std::size_t first = first_item(presets.front());
            const std::size_t last = last_item(presets.back());
            const ByteSpan after = findings_.items[last].span;
            tell_absent(f, framing.dump, findings_.items[first].span.offset, "before this",
                        [&](std::size_t item) { return item < first; });
            tell_absent(f, framing.end, after.offset + after.length, "after the last preset",
                        [&](std::size_t item) { return item > last; });
        }
    }

    void tell_failed(std::size_t f) {
        const schema::Framing& framing = device_.framings[f];
        for (const Reading& reading : findings_.readings[f]) {
            const bool of_dump = in_header(framing, reading.pattern) || in_end(framing, reading.pattern);
            if (!reading.whole || !of_dump) continue;
            for (const StepFailure& failure : reading.failures) {
                tell(file_offset(findings_.items[reading.item], failure.at), failure.length,
                     "message \"" + framing.messages[reading.pattern].name + "\": " + failure.what, failure.expected);
            }
        }
    }

    /// Which of these messages no whole reading is, of those whose item `counts`.
    template <class Counts>
    void tell_absent(std::size_t f, const std::vector<schema::AssemblyPart>& parts, std::size_t offset,
                     std::string_view where, const Counts& counts) {
        for (const schema::AssemblyPart& part : parts) {
            const bool seen = std::ranges::any_of(findings_.readings[f], [&](const Reading& reading) {
                return reading.whole && reading.pattern == part.message && counts(reading.item);
            });
            if (seen) continue;
            tell(offset, 0,
                 "message \"" + device_.framings[f].messages[part.message].name + "\" is missing " + std::string(where),
                 {});
        }
    }

    /// Compares the numbers of presets that headers announce with those that follow, up to the next such header.
    void tell_announced(std::size_t f, const std::vector<std::size_t>& presets) {
        const schema::Framing& framing = device_.framings[f];
        std::vector<std::pair<const Reading*, std::int64_t>> announced;
        for (const std::size_t header : findings_.headers[f]) {
            const Reading& reading = findings_.readings[f][header];
            const auto count = named_number(framing.messages[reading.pattern], reading.captures, "presets");
            if (count) announced.emplace_back(&reading, *count);
        }
        for (std::size_t i = 0; i < announced.size(); ++i) {
            const auto& [header, count] = announced[i];
            const std::size_t end = i + 1 < announced.size() ? announced[i + 1].first->item : findings_.items.size();
            std::int64_t all = 0, filled = 0;
            for (const std::size_t a : presets) {
                if (first_item(a) < header->item || first_item(a) >= end) continue;
                for (const Entry& entry : assembled_[a].entries) {
                    ++all;
                    if (entry.state != SlotState::empty) ++filled;
                }
            }
            if (count == all || count == filled) continue;
            tell(findings_.items[header->item].span.offset, findings_.items[header->item].span.length,
                 "message \"" + framing.messages[header->pattern].name + "\" announces " +
                     number(static_cast<std::size_t>(count)) + (count == 1 ? " preset" : " presets") + ", but " +
                     number(static_cast<std::size_t>(all)) + (all == 1 ? " follows" : " follow"),
                 number(static_cast<std::size_t>(count)) + (count == 1 ? " preset" : " presets"));
        }
    }

    void tell(std::size_t offset, std::size_t length, std::string what, std::string expected) {
        dump_.problems.push_back({BytePlace{dump_.file, offset, length, -1}, std::move(what), std::move(expected), {}});
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
    void tell_missing(std::size_t a) {
        const Series& series = assembled_[a].series;
        if (series.notes.empty() || assembled_[a].image) return;
        Entry& entry = assembled_[a].entries.front();
        std::size_t from = first_item(a);
        std::size_t to = last_item(a) + 1;
        if (series.lacks_head) {
            while (from > 0 && is_stranger(from - 1)) --from;
        }
        if (series.lacks_tail) {
            while (to < findings_.items.size() && is_stranger(to)) ++to;
        }
        for (std::size_t item = from; item < to; ++item) {
            if (!is_stranger(item)) continue;
            owners_[item] = a;
            if (auto problem = stranger(item)) {
                std::get<BytePlace>(problem->place).slot = entry.slot;
                entry.damage.push_back(*std::move(problem));
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
            problem.what = item.span.length > limits::longest_message
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

    ByteView bytes_;
    const Device& device_;
    Findings findings_;
    std::vector<std::size_t> owners_;           // index into assembled_ of each item
    std::vector<std::size_t> message_of_item_;  // index into Dump::messages
    std::vector<Assembled> assembled_;
    std::vector<ByteSpan> places_;  // of each entry: the message that it begins in
    Dump dump_;
};

/// Why nothing in a file could be used.
Problem nothing_known(std::string file, const Device& device, std::string_view layout) {
    if (auto problem = unknown_layout({&device}, layout)) {
        problem->place = std::move(file);
        return *std::move(problem);
    }
    const bool must_be_named = std::ranges::any_of(
        device.framings, [](const schema::Framing& framing) { return framing.raw && framing.begins_with.empty(); });
    return {std::move(file), "no message of " + device.name + " is in this file",
            "System Exclusive messages as the layouts of " + device.name + " describe them",
            must_be_named && layout.empty() ? "name the layout of a file without framing (--layout)" : ""};
}

}  // namespace

namespace {

/// Messages begin with F0 and nothing else does.
bool has_too_many_messages(ByteView bytes) {
    const auto starts = std::ranges::count(bytes, std::uint8_t{0xF0});
    return static_cast<std::size_t>(starts) > limits::most_messages;
}

}  // namespace

const Device* recognise(ByteView bytes, const std::vector<const Device*>& devices, std::string_view layout) {
    const bool too_many = has_too_many_messages(bytes);
    const std::vector<Item> items = too_many ? std::vector<Item>() : midi::read_sysex(bytes);
    const Device* best = nullptr;
    std::size_t most = 0;
    for (const Device* device : devices) {
        const bool is_raw = is_named_dump(bytes, *device, layout) || !raw_framings(bytes, *device, layout).empty();
        const std::size_t known = is_raw ? bytes.size() : known_bytes(items, *device, framings_of(*device, layout));
        if (known <= most) continue;
        most = known;
        best = device;
    }
    // Whichever it is, reading it says what is wrong.
    if (too_many && best == nullptr && !devices.empty()) return devices.front();
    return best;
}

Result<Dump> read(std::string file, ByteView bytes, const Device& device, std::string_view layout) {
    if (const auto named = named_framings(bytes, device, layout); !named.empty()) {
        return read_named(std::move(file), bytes, device, named);
    }
    if (const auto raw = raw_framings(bytes, device, layout); !raw.empty()) {
        return read_raw(std::move(file), bytes, device, raw);
    }
    if (has_too_many_messages(bytes)) {
        return Problem{std::move(file), "holds more than " + number(limits::most_messages) + " messages",
                       "a dump of one device", "is it the right file?"};
    }
    const std::vector<bool> wanted = framings_of(device, layout);
    Result<Dump> dump = Reader(file, bytes, device, wanted).read();
    if (dump) return dump;
    return nothing_known(std::move(file), device, layout);
}

std::string captured_name(const Dump& dump, const Entry& entry) {
    if (entry.text) {
        const schema::Framing& framing = dump.device->framings[entry.framing];
        return named_name(framing, NamedBody(framing.named.notation, entry.body));
    }
    if (entry.cut && !dump.device->framings[entry.framing].presets.empty()) return {};
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
