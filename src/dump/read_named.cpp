#include "dump/read_named.h"

#include <algorithm>
#include <charconv>
#include <map>
#include <tuple>
#include <utility>

#include "base/digest.h"
#include "base/text.h"
#include "dump/assemble.h"
#include "dump/conditions.h"
#include "dump/document.h"
#include "dump/entries.h"
#include "dump/find.h"
#include "dump/locate.h"
#include "dump/slots.h"
#include "dump/text_values.h"
#include "dump/tree.h"

namespace downfit::dump {

namespace {

using schema::Device;
using schema::NamedFraming;
using schema::NamedSlot;
using schema::Notation;

constexpr std::int64_t highest_slot = 1'000'000;

/// The first character that is no blank, behind a byte order mark.
char first_character(ByteView bytes) {
    std::size_t at = bytes.size() >= 3 && bytes[0] == 0xEF && bytes[1] == 0xBB && bytes[2] == 0xBF ? 3 : 0;
    while (at < bytes.size() && (bytes[at] == ' ' || bytes[at] == '\t' || bytes[at] == '\r' || bytes[at] == '\n')) ++at;
    return at < bytes.size() ? static_cast<char>(bytes[at]) : '\0';
}

bool looks_like(Notation notation, char first) {
    return notation == Notation::json ? first == '{' || first == '[' : first == '<';
}

std::optional<std::int64_t> whole_number(const std::string& text) {
    std::int64_t number = 0;
    const char* end = text.data() + text.size();
    const auto [stop, error] = std::from_chars(text.data(), end, number);
    if (error != std::errc{} || stop != end) return std::nullopt;
    return number;
}

bool is_recognised(const NamedFraming& named, const Document& document) {
    return std::ranges::all_of(named.recognised_by, [&](const schema::PathText& mark) {
        return std::ranges::any_of(document.find(mark.path, -1),
                                   [&](int node) { return document.text_of(node) == mark.text; });
    });
}

/// A stamp as some release of the device writes it: as a text, else as the number that the text is.
schema::Stamp stamp_of(const Device& device, const std::string& text) {
    const schema::Stamp as_text = text;
    const bool known = std::ranges::any_of(device.releases, [&](const schema::ReleaseEntry& release) {
        return std::ranges::find(release.stamps, as_text) != release.stamps.end();
    });
    const auto number = whole_number(text);
    return known || !number ? as_text : schema::Stamp(*number);
}

/// Reads one file by one framing.
class NamedReader {
public:
    NamedReader(const std::string& file, ByteView bytes, const Device& device, std::size_t framing,
                const Document& document)
        : bytes_(bytes),
          device_(device),
          framing_(framing),
          named_(device.framings[framing].named),
          document_(document) {
        dump_.file = file;
        dump_.device = &device;
        for (std::size_t l = 0; l < device.layouts.size(); ++l) {
            if (device.layouts[l].framing == framing) layout_ = l;
        }
        for (const schema::ReleaseEntry& release : device.releases) {
            if (!release.schema) continue;
            for (std::size_t l = 0; l < release.schema->layouts.size(); ++l) {
                if (release.schema->layouts[l].framing == framing) layout_ = l;
            }
        }
    }

    Dump read() {
        const std::vector<int> presets = document_.find(named_.presets, -1);
        std::size_t end = 0;
        for (std::size_t i = 0; i < presets.size(); ++i) {
            const ByteSpan span = node(presets[i]).outer;
            // One preset inside another would be written twice.
            if (span.offset < end) {
                tell(span.offset, "a preset inside another one", "\"presets\" that finds each preset once");
                continue;
            }
            end = span.offset + span.length;
            add(presets[i], i);
        }
        dump_.spans.push_back({{0, bytes_.size()}, Span::Kind::text, 0});
        dump_.digest = sha256_hex(bytes_);
        std::vector<ByteSpan> places;
        for (const Entry& entry : dump_.entries) places.push_back(*entry.text);
        tell_slots(dump_, places);
        return std::move(dump_);
    }

private:
    const DocumentNode& node(int index) const { return document_.nodes()[static_cast<std::size_t>(index)]; }

    Problem problem_at(std::size_t offset, std::string what, std::string expected) const {
        return {document_.place_of(offset), std::move(what), std::move(expected), {}};
    }

    void tell(std::size_t offset, std::string what, std::string expected) {
        dump_.problems.push_back(problem_at(offset, std::move(what), std::move(expected)));
    }

    void hurt(Entry& entry, std::size_t offset, std::string what, std::string expected) const {
        entry.state = SlotState::damaged;
        entry.damage.push_back(problem_at(offset, std::move(what), std::move(expected)));
    }

    void add(int preset, std::size_t order) {
        const DocumentNode& here = node(preset);
        Entry entry;
        entry.framing = framing_;
        entry.layout = layout_;
        entry.text = here.outer;
        find_slot(preset, order, entry);
        const ByteView text = bytes_.subspan(here.outer.offset, here.outer.length);
        constexpr std::string_view nothing = "null";
        if (std::ranges::equal(text, nothing) && here.kind == DocumentNode::Kind::value) {
            entry.state = SlotState::empty;
        } else if (here.kind == DocumentNode::Kind::value || here.kind == DocumentNode::Kind::attribute) {
            hurt(entry, here.outer.offset, "a preset that is no object", "an object, a list or an element");
        } else {
            entry.body.assign(text.begin(), text.end());
            find_stamp(preset, entry);
            check_values(entry);
        }
        dump_.entries.push_back(std::move(entry));
    }

    void find_slot(int preset, std::size_t order, Entry& entry) const {
        const NamedSlot& slot = named_.slot;
        if (slot.from == NamedSlot::From::nowhere) return;
        if (slot.from == NamedSlot::From::order) {
            entry.slot = static_cast<int>(order);
            return;
        }
        std::size_t offset = node(preset).outer.offset;
        std::optional<std::string> text = node(preset).name;
        if (slot.from == NamedSlot::From::path) {
            const std::vector<int> found = document_.find(slot.path, preset);
            text = found.empty() ? std::nullopt : document_.text_of(found.front());
            if (!found.empty()) offset = node(found.front()).outer.offset;
        }
        const auto number = text ? whole_number(*text) : std::nullopt;
        if (number && *number >= slot.first && *number - slot.first <= highest_slot) {
            entry.slot = static_cast<int>(*number - slot.first);
            return;
        }
        const bool is_null = node(preset).kind == DocumentNode::Kind::value;
        if (is_null) return;
        hurt(entry, offset, text ? "\"" + *text + "\" is no slot number" : "the preset has no slot number",
             "a whole number from " + std::to_string(slot.first) + " up" +
                 (slot.from == NamedSlot::From::path ? " at " + slot.path : " as its key"));
    }

    void find_stamp(int preset, Entry& entry) const {
        std::string text;
        for (const std::string& path : named_.stamp) {
            const std::vector<int> found = document_.find(path, named_.stamp_of_file ? -1 : preset);
            const auto piece = found.empty() ? std::nullopt : document_.text_of(found.front());
            if (!piece) return;
            text += (text.empty() ? "" : ".") + *piece;
        }
        if (!named_.stamp.empty()) entry.stamp = stamp_of(device_, text);
    }

    /// Values that none of the releases that may have saved the preset can read are damage: nobody knows what they are.
    void check_values(Entry& entry) {
        if (!entry.stamp || entry.state == SlotState::damaged) return;
        std::optional<Problem> told;
        NamedBody body(named_.notation, entry.body);
        for (const std::size_t release : device_.releases_with(*entry.stamp)) {
            auto fault = unreadable(entry, body, release);
            if (!fault) return;
            if (!told) told = std::move(fault);
        }
        if (!told) return;
        entry.state = SlotState::damaged;
        entry.damage.push_back(*std::move(told));
    }

    /// The beginning of a value as the file has it; in XML nothing but quotes tells where it ends.
    [[nodiscard]] std::string as_written(const std::string& text) const {
        return named_.notation == Notation::xml ? '"' + beginning_of(text) + '"' : beginning_of(text);
    }

    std::optional<Problem> unreadable(const Entry& entry, NamedBody& body, std::size_t order) {
        if (!device_.releases[order].schema) return std::nullopt;
        const schema::Release& release = device_.releases[order].schema->in_layout(layout_);
        auto& instances = instances_[order];
        if (!instances) instances = std::make_unique<schema::Instances>(release);
        const Located& located = body.located(*instances, release.layouts[layout_]);
        Conditions conditions(*instances, located, entry.body, order, &device_);
        for (std::size_t f = 0; f < instances->fields().size(); ++f) {
            const schema::Field& field = instances->fields()[f];
            if (!located.present(field.anchor) || conditions.stored(f).kind != Stored::Kind::none) continue;
            const ByteSpan span = located.span_of(field.anchor);
            const std::string text(entry.body.begin() + static_cast<std::ptrdiff_t>(span.offset),
                                   entry.body.begin() + static_cast<std::ptrdiff_t>(span.offset + span.length));
            if (text == "null" || !conditions.exists(f)) continue;
            const bool wants_text = field.storage.coding == schema::Coding::text;
            return problem_at(entry.text->offset + span.offset, field.id + " is " + as_written(text),
                              wants_text ? "a text" : "a number that can be held");
        }
        return std::nullopt;
    }

    ByteView bytes_;
    const Device& device_;
    std::size_t framing_;
    std::size_t layout_ = 0;
    const NamedFraming& named_;
    const Document& document_;
    std::map<std::size_t, std::unique_ptr<schema::Instances>> instances_;  // by release
    Dump dump_;
};

auto score(const Device& device, std::size_t framing, const Dump& dump) {
    const bool has_entry = !dump.entries.empty();
    const auto damaged = std::ranges::count_if(dump.entries, &is_damaged);
    return std::make_tuple(device.framings[framing].named.recognised_by.size(),
                           has_entry && stamp_supports(device, dump.entries.front()), damaged == 0,
                           std::ranges::ssize(dump.entries) - damaged);
}

}  // namespace

std::vector<std::size_t> named_framings(ByteView bytes, const Device& device, std::string_view layout) {
    std::vector<std::size_t> found;
    const std::vector<bool> wanted = framings_of(device, layout);
    const char first = first_character(bytes);
    for (std::size_t f = 0; f < device.framings.size(); ++f) {
        const Notation notation = device.framings[f].named.notation;
        if (notation != Notation::bytes && wanted[f] && looks_like(notation, first)) found.push_back(f);
    }
    return found;
}

bool is_named_dump(ByteView bytes, const Device& device, std::string_view layout) {
    for (const std::size_t framing : named_framings(bytes, device, layout)) {
        const NamedFraming& named = device.framings[framing].named;
        Problems notes;
        const auto document = Document::read(named.notation, {}, bytes, notes);
        if (!document) return true;
        if (is_recognised(named, document.value()) && !document.value().find(named.presets, -1).empty()) return true;
    }
    return false;
}

Result<Dump> read_named(const std::string& file, ByteView bytes, const Device& device,
                        const std::vector<std::size_t>& framings) {
    Problems notes;
    const Notation notation = device.framings[framings.front()].named.notation;
    const auto document = Document::read(notation, file, bytes, notes);
    if (!document) return document.problems();
    std::optional<Dump> best;
    std::size_t best_framing = 0;
    for (const std::size_t framing : framings) {
        if (!is_recognised(device.framings[framing].named, document.value())) continue;
        Dump dump = NamedReader(file, bytes, device, framing, document.value()).read();
        if (dump.entries.empty()) continue;
        if (best && score(device, framing, dump) <= score(device, best_framing, *best)) continue;
        best = std::move(dump);
        best_framing = framing;
    }
    if (!best) {
        const NamedFraming& named = device.framings[framings.front()].named;
        std::string expected = "presets at " + named.presets;
        for (const schema::PathText& mark : named.recognised_by) {
            expected += ", \"" + mark.text + "\" at " + mark.path;
        }
        return Problem{
            document.value().place_of(0), "no preset of " + device.name + " is in this file", std::move(expected), {}};
    }
    best->problems.insert(best->problems.begin(), notes.begin(), notes.end());
    best->notes = notes.size();
    return *std::move(best);
}

std::string named_name(const schema::Framing& framing, const NamedBody& body) {
    const auto text = framing.named.name.empty() ? std::nullopt : body.text_at(framing.named.name);
    return text ? to_utf8(*text, schema::Encoding::utf8).text : std::string{};
}

namespace {

/// The stamp in as many pieces as the framing has paths for, between points.
std::vector<std::string> pieces_of_stamp(const schema::Stamp& stamp, std::size_t count) {
    const auto* number = std::get_if<std::int64_t>(&stamp);
    std::string rest = number != nullptr ? std::to_string(*number) : std::get<std::string>(stamp);
    std::vector<std::string> pieces;
    while (pieces.size() + 1 < count) {
        const std::size_t point = rest.find('.');
        if (point == std::string::npos) return {};
        pieces.push_back(rest.substr(0, point));
        rest.erase(0, point + 1);
    }
    pieces.push_back(rest);
    return pieces;
}

/// The text of a value with another content, as it was written: in quotes or not, a word or a number.
std::optional<std::string> restamped(Notation notation, ByteView old, const std::string& piece) {
    schema::Storage storage;
    storage.notation = notation;
    storage.coding = schema::Coding::text;
    Stored stored;
    stored.kind = Stored::Kind::text;
    stored.text = piece;
    const bool bare = notation == Notation::json && !old.empty() && old.front() != '"';
    return bare ? std::optional(piece) : write_text_value(storage, stored, old);
}

}  // namespace

bool put_named_stamp(Dump& dump, std::size_t index, const schema::Stamp& stamp, ByteView original) {
    Entry& entry = dump.entries[index];
    const NamedFraming& named = dump.device->framings[entry.framing].named;
    const std::vector<std::string> pieces = pieces_of_stamp(stamp, named.stamp.size());
    if (pieces.empty()) return false;
    const ByteView text = named.stamp_of_file ? original : ByteView(entry.body);
    Problems notes;
    const auto document = Document::read(named.notation, {}, text, notes);
    if (!document) return false;
    std::vector<TextPatch> patches;
    for (std::size_t i = 0; i < pieces.size(); ++i) {
        const std::vector<int> found = document.value().find(named.stamp[i], named.stamp_of_file ? -1 : 0);
        if (found.empty()) return false;
        const ByteSpan span = document.value().nodes()[static_cast<std::size_t>(found.front())].value;
        auto written = restamped(named.notation, text.subspan(span.offset, span.length), pieces[i]);
        if (!written) return false;
        patches.push_back({span, *std::move(written)});
    }
    if (named.stamp_of_file) {
        dump.patches = std::move(patches);
        return true;
    }
    std::ranges::sort(patches, [](const auto& a, const auto& b) { return a.span.offset > b.span.offset; });
    for (const TextPatch& patch : patches) {
        const auto from = entry.body.begin() + static_cast<std::ptrdiff_t>(patch.span.offset);
        entry.body.insert(entry.body.erase(from, from + static_cast<std::ptrdiff_t>(patch.span.length)),
                          patch.text.begin(), patch.text.end());
    }
    return true;
}

Result<Bytes> write_named(const Dump& dump, ByteView original) {
    Bytes out;
    out.reserve(original.size());
    std::size_t done = 0;
    std::vector<TextPatch> patches = dump.patches;
    std::ranges::sort(patches, {}, [](const TextPatch& patch) { return patch.span.offset; });
    std::size_t next = 0;
    const auto copy = [&](std::size_t from, std::size_t to) {
        for (; next < patches.size() && patches[next].span.offset < to; ++next) {
            const ByteSpan span = patches[next].span;
            if (span.offset < from || span.offset + span.length > to) continue;
            out.insert(out.end(), original.begin() + static_cast<std::ptrdiff_t>(from),
                       original.begin() + static_cast<std::ptrdiff_t>(span.offset));
            out.insert(out.end(), patches[next].text.begin(), patches[next].text.end());
            from = span.offset + span.length;
        }
        out.insert(out.end(), original.begin() + static_cast<std::ptrdiff_t>(from),
                   original.begin() + static_cast<std::ptrdiff_t>(to));
    };
    for (const Entry& entry : dump.entries) {
        const bool is_kept = !entry.text || entry.state != SlotState::filled;
        if (is_kept) continue;
        const std::size_t end = entry.text->offset + entry.text->length;
        if (end > original.size() || entry.text->offset < done) {
            return Problem{dump.file, "this is not the file that was read", {}, {}};
        }
        const ByteView old = original.subspan(entry.text->offset, entry.text->length);
        if (!std::ranges::equal(old, entry.body)) {
            Problems notes;
            const auto notation = dump.device->framings[entry.framing].named.notation;
            const auto document = Document::read(notation, dump.file, entry.body, notes);
            if (!document) return document.problems();
        }
        copy(done, entry.text->offset);
        out.insert(out.end(), entry.body.begin(), entry.body.end());
        done = end;
    }
    copy(done, original.size());
    return out;
}

}  // namespace downfit::dump
