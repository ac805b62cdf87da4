#include "dump/assemble.h"

#include <algorithm>
#include <limits>
#include <string>
#include <utility>
#include <variant>

#include "base/limits.h"
#include "base/text.h"
#include "dump/image.h"

namespace downfit::dump {

namespace {

using schema::Device;
using schema::Framing;
using schema::Layout;
using schema::Release;

/// Calls `look` for every layout of the device and of its releases that has that framing, with its index and release.
template <class Look>
void for_each_layout(const Device& device, std::size_t framing, Look look) {
    const auto visit = [&](const std::vector<Layout>& layouts, const Release* release) {
        for (std::size_t i = 0; i < layouts.size(); ++i) {
            if (layouts[i].framing == framing) look(layouts[i], i, release);
        }
    };
    visit(device.layouts, nullptr);
    for (const schema::ReleaseEntry& entry : device.releases) {
        if (entry.schema) visit(entry.schema->layouts, &*entry.schema);
    }
}

int slot_of(const Series& series) {
    if (!series.slot || *series.slot > std::numeric_limits<int>::max()) return -1;
    return static_cast<int>(*series.slot);
}

bool any_stamp_is_text(const Device& device) {
    for (const schema::ReleaseEntry& entry : device.releases) {
        for (const schema::Stamp& stamp : entry.stamps) {
            if (std::holds_alternative<std::string>(stamp)) return true;
        }
    }
    return false;
}

/// A captured stamp: a text where the device's releases stamp with texts, else a number.
std::optional<schema::Stamp> captured_stamp(const Device& device, const schema::MessagePattern& pattern,
                                            const Captures& captures) {
    const auto place = find_capture(pattern, "stamp");
    if (!place || place->index >= captures.size()) return std::nullopt;
    const Bytes& bytes = captures[place->index];
    const auto number = capture_number(*place->part, bytes);
    const bool known = number && !device.releases_with(schema::Stamp{*number}).empty();
    if (!known && any_stamp_is_text(device)) {
        std::string text(bytes.begin(), bytes.end());
        while (!text.empty() && (text.back() == ' ' || text.back() == '\0')) text.pop_back();
        return schema::Stamp{std::move(text)};
    }
    if (!number) return std::nullopt;
    return schema::Stamp{*number};
}

bool shows(const schema::BodyBytes& test, ByteView body) {
    if (test.bytes.size() > body.size() || test.at > body.size() - test.bytes.size()) return false;
    return std::ranges::equal(test.bytes, body.subspan(test.at, test.bytes.size()));
}

/// The stamp that the nearest header before an item gives.
std::optional<schema::Stamp> header_stamp(const AssemblyInput& input, std::size_t item) {
    const std::vector<Reading>& readings = input.findings.readings[input.framing];
    const std::vector<std::size_t>& headers = input.findings.headers[input.framing];
    const auto item_of = [&](std::size_t header) { return readings[header].item; };
    for (auto at = std::ranges::upper_bound(headers, item, {}, item_of); at != headers.begin();) {
        const Reading& header = readings[*--at];
        const schema::MessagePattern& pattern = input.device.framings[input.framing].messages[header.pattern];
        if (auto stamp = captured_stamp(input.device, pattern, header.captures)) return stamp;
    }
    return std::nullopt;
}

/// Makes one entry.
class Assembler {
public:
    Assembler(const AssemblyInput& input, const Series& series)
        : input_(input),
          framing_(input.device.framings[input.framing]),
          readings_(input.findings.readings[input.framing]),
          series_(series) {}

    Entry assemble() {
        entry_.framing = input_.framing;
        entry_.layout = layout_of(input_.device, input_.framing);
        entry_.slot = slot_of(series_);
        tell_readings();
        tell_notes();
        if (join()) unpack();
        for (const std::size_t member : series_.members) {
            const Reading& reading = readings_[member];
            if (!entry_.stamp && reading.whole) entry_.stamp = stamp_in(reading);
        }
        if (!entry_.stamp) entry_.stamp = header_stamp(input_, readings_[series_.members.front()].item);
        if (!entry_.stamp) entry_.stamp = body_stamp(framing_, entry_.body);
        tell_swallowed_bytes();
        if (!entry_.damage.empty()) {
            entry_.state = SlotState::damaged;
        } else if (looks_empty(framing_, entry_.body)) {
            entry_.state = SlotState::empty;
        }
        return std::move(entry_);
    }

private:
    const midi::Item& item_of(const Reading& reading) const { return input_.findings.items[reading.item]; }

    const schema::MessagePattern& pattern_of(const Reading& reading) const {
        return framing_.messages[reading.pattern];
    }

    std::optional<schema::Stamp> stamp_in(const Reading& reading) const {
        return captured_stamp(input_.device, pattern_of(reading), reading.captures);
    }

    void tell(std::size_t offset, std::size_t length, std::string what, std::string expected) {
        entry_.damage.push_back(
            {BytePlace{input_.file, offset, length, entry_.slot}, std::move(what), std::move(expected), {}});
    }

    void tell_readings() {
        for (const std::size_t member : series_.members) {
            const Reading& reading = readings_[member];
            for (const StepFailure& failure : reading.failures) {
                tell(file_offset(item_of(reading), failure.at), failure.length,
                     "message \"" + pattern_of(reading).name + "\": " + failure.what, failure.expected);
            }
        }
    }

    void tell_notes() {
        for (const SeriesNote& note : series_.notes) {
            const ByteSpan span = item_of(readings_[series_.members[note.member]]).span;
            tell(note.after ? span.offset + span.length : span.offset, note.after ? 0 : span.length, note.what,
                 note.expected);
        }
    }

    /// The payloads in a row; false where one is missing, so that nothing after it would stand in its place.
    bool join() {
        for (const std::size_t member : series_.members) {
            const Reading& reading = readings_[member];
            if (!reading.whole || !reading.unpacked) return false;
        }
        if (!series_.notes.empty() && !only_slots_differ()) return false;
        for (const std::size_t member : series_.members) {
            const Bytes& payload = readings_[member].payload;
            joined_.insert(joined_.end(), payload.begin(), payload.end());
        }
        return true;
    }

    bool only_slots_differ() const {
        return std::ranges::all_of(series_.notes, [](const SeriesNote& note) { return note.about_slot; });
    }

    void unpack() {
        if (input_.full) {
            tell(offset_of_joined(0), 0, "the dump holds too many bytes once unpacked",
                 "at most " + std::to_string(limits::most_unpacked) + " bytes in all");
            return;
        }
        StepResult steps = read_layout_steps(framing_.steps, joined_);
        for (const StepFailure& failure : steps.failures) {
            const std::size_t offset = offset_of_joined(failure.at);
            tell(offset, failure.length == 0 ? 0 : offset_of_joined(failure.at + failure.length - 1) + 1 - offset,
                 failure.what, failure.expected);
        }
        if (!steps.unpacked) return;
        entry_.body = std::move(steps.data);
        if (!steps.failures.empty() || !packs(framing_.steps)) return;
        const Result<Bytes> again = write_layout_steps(framing_.steps, entry_.body);
        if (!again || again.value() != joined_) entry_.joined_as_sent = joined_;
    }

    /// Where a byte of the joined data stands in the file; its end for an index beyond the last.
    std::size_t offset_of_joined(std::size_t index) const {
        std::size_t end = 0;
        for (const std::size_t member : series_.members) {
            const Reading& reading = readings_[member];
            end = item_of(reading).span.offset + item_of(reading).span.length;
            if (index >= reading.payload.size()) {
                index -= reading.payload.size();
                continue;
            }
            return payload_offset(input_, reading, index);
        }
        return end;
    }

    /// A data byte changed into a real-time byte goes unnoticed by sums where it was zero; a body short of bytes tells.
    void tell_swallowed_bytes() {
        if (!entry_.damage.empty() || is_known_size(input_.device, input_.framing, entry_.body.size())) return;
        for (const std::size_t member : series_.members) {
            const Reading& reading = readings_[member];
            if (item_of(reading).real_time.empty()) continue;
            tell(item_of(reading).real_time.front().offset, 1,
                 "message \"" + pattern_of(reading).name +
                     "\": a real-time byte stands inside, and the preset's length, " +
                     number_text(static_cast<double>(entry_.body.size())) + " bytes, is not any release's",
                 "a data byte");
        }
    }

    const AssemblyInput& input_;
    const Framing& framing_;
    const std::vector<Reading>& readings_;
    const Series& series_;
    Entry entry_;
    Bytes joined_;
};

/// The image of a series and what is cut from it.
Assembled assemble_image(const AssemblyInput& input, Series series) {
    const Framing& framing = input.device.framings[input.framing];
    const std::vector<Reading>& readings = input.findings.readings[input.framing];
    const bool addressed = framing.image && !framing.image->address.empty();
    Laid laid = addressed ? lay_by_address(input, series) : lay_in_order(input, series);
    std::optional<schema::Stamp> stamp;
    for (const std::size_t member : series.members) {
        const Reading& reading = readings[member];
        if (stamp || !reading.sound()) continue;
        stamp = captured_stamp(input.device, framing.messages[reading.pattern], reading.captures);
    }
    const midi::Item& head = input.findings.items[readings[series.members.front()].item];
    if (!stamp) stamp = header_stamp(input, readings[series.members.front()].item);
    const std::vector<ImagePart> parts = laid.parts;
    const auto offset_of = [&](std::size_t index) {
        for (const ImagePart& part : parts) {
            const Reading& reading = readings[series.members[part.message]];
            if (index >= part.at && index - part.at < reading.payload.size()) {
                return payload_offset(input, reading, index - part.at);
            }
        }
        return head.span.offset;
    };
    const int slot = slot_of(series);
    CutImage cut = cut_image(
        {input.file, input.device, input.framing, slot < 0 ? std::nullopt : std::optional(slot), stamp, offset_of},
        std::move(laid));
    return {input.framing, std::move(series), std::move(cut.entries), std::move(cut.image), std::move(cut.problems)};
}

}  // namespace

Assembled assemble(const AssemblyInput& input, Series series) {
    if (has_image(input.device.framings[input.framing])) return assemble_image(input, std::move(series));
    Assembled assembled;
    assembled.framing = input.framing;
    assembled.entries.push_back(Assembler(input, series).assemble());
    assembled.series = std::move(series);
    return assembled;
}

bool has_image(const Framing& framing) {
    return framing.raw || framing.image || !framing.presets.empty();
}

bool looks_empty(const Framing& framing, ByteView body) {
    if (framing.filled && !shows(*framing.filled, body)) return true;
    return std::ranges::any_of(framing.empty, [&](const schema::BodyBytes& test) { return shows(test, body); });
}

std::optional<schema::Stamp> body_stamp(const Framing& framing, ByteView body) {
    if (!framing.stamp) return std::nullopt;
    const schema::BodyNumber& place = *framing.stamp;
    if (place.length > body.size() || place.at > body.size() - place.length) return std::nullopt;
    std::int64_t number = 0;
    for (std::size_t i = 0; i < place.length; ++i) {
        const std::size_t index = place.little_endian ? place.length - 1 - i : i;
        number = number * 256 + body[place.at + index];
    }
    return schema::Stamp{number};
}

std::size_t layout_of(const Device& device, std::size_t framing) {
    std::optional<std::size_t> found;
    for_each_layout(device, framing, [&](const Layout&, std::size_t index, const Release*) {
        if (!found) found = index;
    });
    return found.value_or(0);
}

std::size_t payload_offset(const AssemblyInput& input, const Reading& reading, std::size_t index) {
    const schema::MessagePattern& pattern = input.device.framings[input.framing].messages[reading.pattern];
    const midi::Item& item = input.findings.items[reading.item];
    const StepResult steps = read_message_steps(pattern, reading.captures, true);
    const auto data = find_capture(pattern, "data");
    if (!data || index >= steps.origins.size()) return item.span.offset + item.span.length;
    const std::size_t before = capture_offset(pattern, reading.captures, data->index);
    return file_offset(item, before + steps.origins[index]);
}

Message message_of(const AssemblyInput& input, const Reading& reading) {
    const midi::Item& item = input.findings.items[reading.item];
    const schema::MessagePattern& pattern = input.device.framings[input.framing].messages[reading.pattern];
    Message message;
    message.span = item.span;
    message.framing = input.framing;
    message.pattern = reading.pattern;
    message.captures = reading.captures;
    message.payload = reading.payload;
    for (const midi::StatusByte& byte : item.real_time) {
        message.realtime.emplace_back(byte.offset - item.span.offset, byte.value);
    }
    const auto data = find_capture(pattern, "data");
    if (data && reading.sound() && packs(pattern.steps)) {
        const Result<Captures> again = write_message_steps(pattern, reading.captures, reading.payload);
        const Bytes& as_sent = reading.captures[data->index];
        if (!again || again.value()[data->index] != as_sent) message.payload_as_sent = as_sent;
    }
    return message;
}

std::size_t check_count(const Framing& framing) {
    const auto count = [](const std::vector<schema::Step>& steps) {
        return static_cast<std::size_t>(std::ranges::count_if(
            steps, [](const schema::Step& step) { return !std::holds_alternative<schema::UnpackStep>(step); }));
    };
    std::size_t checks = count(framing.steps);
    for (const schema::MessagePattern& pattern : framing.messages) checks += count(pattern.steps);
    return checks;
}

bool stamp_supports(const Device& device, const Entry& entry) {
    if (!entry.stamp) return false;
    const std::vector<std::size_t> named = device.releases_with(*entry.stamp);
    bool supports = false;
    for_each_layout(device, entry.framing, [&](const Layout&, std::size_t, const Release* release) {
        if (release && std::ranges::find(named, release->order) != named.end()) supports = true;
    });
    return supports;
}

bool is_known_size(const Device& device, std::size_t framing, std::size_t size) {
    bool known = false;
    for_each_layout(device, framing, [&](const Layout& layout, std::size_t, const Release*) {
        if (layout.body_size == size) known = true;
    });
    return known;
}

}  // namespace downfit::dump
