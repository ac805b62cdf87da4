#include "dump/find.h"

#include <algorithm>
#include <string>
#include <utility>

#include "base/limits.h"
#include "dump/series.h"

namespace downfit::dump {

namespace {

using midi::Item;
using midi::ItemKind;
using schema::Device;
using schema::Framing;
using schema::MessagePattern;

constexpr std::uint8_t start_byte = 0xF0;
constexpr std::uint8_t end_byte = 0xF7;
constexpr std::uint8_t first_real_time = 0xF8;

/// An item as bytes to match: a whole message, or the beginning of one with what is wrong with it.
struct Candidate {
    Bytes bytes;
    bool whole = false;
    StepFailure damage;
};

ByteView view_of(ByteView file, const Item& item) {
    return file.subspan(item.span.offset, item.span.length);
}

/// Whether junk is the tail of a message that an F7 inside it cut off: data bytes, then the F7 that belonged to it.
bool is_cut_tail(ByteView junk) {
    for (const std::uint8_t byte : junk) {
        if (byte == end_byte) return true;
        if (byte >= first_status && byte < first_real_time) return false;
    }
    return false;
}

Candidate from_message(const Item& item) {
    Candidate candidate;
    candidate.whole = true;
    candidate.bytes.reserve(item.content.size() + 2);
    candidate.bytes.push_back(start_byte);
    candidate.bytes.insert(candidate.bytes.end(), item.content.begin(), item.content.end());
    candidate.bytes.push_back(end_byte);
    return candidate;
}

Candidate from_damaged(const Item& item) {
    Candidate candidate = from_message(item);
    candidate.bytes.pop_back();
    candidate.whole = false;
    candidate.damage.at = candidate.bytes.size();
    candidate.damage.what = midi::text(item.damage);
    candidate.damage.expected = "F7";
    return candidate;
}

/// Junk that would be a message if its first byte were F0.
Candidate from_junk(ByteView junk) {
    Candidate candidate;
    candidate.bytes.push_back(start_byte);
    for (const std::uint8_t byte : junk.subspan(1)) {
        if (byte >= first_real_time) continue;
        if (byte >= first_status) break;
        candidate.bytes.push_back(byte);
    }
    candidate.damage.length = 1;
    candidate.damage.what = "the first byte of the message is changed";
    candidate.damage.expected = "F0";
    return candidate;
}

/// A whole message followed by the tail of another: an F7 that stands where data should.
void add_early_end(Reading& reading, std::size_t size) {
    StepFailure failure;
    failure.at = size - 1;
    failure.length = 1;
    failure.what = "the message is cut off by an F7 in its midst";
    reading.failures.push_back(std::move(failure));
}

/// Reads framings one by one; keeps views of what it was given.
class MessageFinder {
public:
    MessageFinder(ByteView bytes, const Device& device, const std::vector<Item>& items)
        : bytes_(bytes), device_(device), items_(items) {}

    std::vector<Reading> read(const Framing& framing) {
        std::vector<Reading> readings;
        const int slots = slot_count(device_, framing);
        for (std::size_t i = 0; i < items_.size(); ++i) {
            if (items_[i].span.length > limits::longest_message) continue;
            std::optional<Reading> reading = read_item(framing, i);
            if (!reading) continue;
            reading->item = i;
            number(*reading, framing, slots);
            // A data byte that became a real-time byte shifts all that follows, and a sum may not tell.
            if (!items_[i].real_time.empty()) reading->trust = Trust::none;
            readings.push_back(*std::move(reading));
        }
        return readings;
    }

private:
    bool tail_follows(std::size_t item) const {
        return item + 1 < items_.size() && items_[item + 1].kind == ItemKind::junk &&
               is_cut_tail(view_of(bytes_, items_[item + 1]));
    }

    std::optional<Reading> read_item(const Framing& framing, std::size_t i) {
        const Item& item = items_[i];
        if (item.kind == ItemKind::junk) {
            const Candidate candidate = from_junk(view_of(bytes_, item));
            return candidate.bytes.size() > 1 ? read_beginning(framing, candidate) : std::nullopt;
        }
        if (item.kind == ItemKind::damaged) return read_beginning(framing, from_damaged(item));
        const Candidate candidate = from_message(item);
        std::optional<Reading> reading = read_whole(framing, candidate);
        if (!tail_follows(i)) return reading;
        const bool own_message = read_item(framing, i + 1).has_value();
        if (reading) {
            if (!own_message && has_rest(framing.messages[reading->pattern]))
                add_early_end(*reading, candidate.bytes.size());
            return reading;
        }
        if (own_message) return std::nullopt;
        Candidate beginning = from_damaged(item);
        beginning.damage.length = 1;
        beginning.damage.what = "the message is cut off by an F7 in its midst";
        beginning.damage.expected.clear();
        return read_beginning(framing, beginning);
    }

    std::optional<Reading> read_whole(const Framing& framing, const Candidate& candidate) {
        std::optional<Reading> best;
        std::size_t best_literals = 0;
        for (std::size_t p = 0; p < framing.messages.size(); ++p) {
            const std::size_t literals = literal_count(framing.messages[p]);
            if (best && literals <= best_literals) continue;
            std::optional<Captures> captures = match(framing.messages[p], candidate.bytes);
            if (!captures) continue;
            best.emplace();
            best->pattern = p;
            best->captures = *std::move(captures);
            best_literals = literals;
        }
        if (!best) return best;
        if (unpacked_ > limits::most_unpacked) {
            best->unpacked = false;
            StepFailure failure;
            failure.length = candidate.bytes.size();
            failure.what = "the dump holds too many bytes once unpacked";
            failure.expected = "at most " + std::to_string(limits::most_unpacked) + " bytes in all";
            best->failures.push_back(std::move(failure));
            return best;
        }
        StepResult steps = read_message_steps(framing.messages[best->pattern], best->captures);
        unpacked_ += steps.data.size();
        best->payload = std::move(steps.data);
        best->unpacked = steps.unpacked;
        best->failures = std::move(steps.failures);
        return best;
    }

    /// The first pattern whose beginning fits, as far as its slot (or, without one, as far as its data).
    static std::optional<Reading> read_beginning(const Framing& framing, const Candidate& candidate) {
        for (std::size_t p = 0; p < framing.messages.size(); ++p) {
            const MessagePattern& pattern = framing.messages[p];
            std::optional<Captures> captures = match_beginning(pattern, candidate.bytes);
            if (!captures) continue;
            const auto slot = find_capture(pattern, "slot");
            const auto data = find_capture(pattern, "data");
            const bool reaches_data =
                data && data->index == 0 && candidate.bytes.size() > capture_offset(pattern, {}, 0);
            if (captures->empty() && !reaches_data) continue;
            const std::size_t needed = slot ? slot->index + 1 : data ? data->index : captures->size();
            if (captures->size() < needed) continue;
            Reading reading;
            reading.pattern = p;
            reading.captures = *std::move(captures);
            reading.whole = false;
            reading.unpacked = false;
            reading.failures.push_back(candidate.damage);
            return reading;
        }
        return std::nullopt;
    }

    static void number(Reading& reading, const Framing& framing, int slots) {
        const MessagePattern& pattern = framing.messages[reading.pattern];
        reading.slot = named_number(pattern, reading.captures, "slot");
        reading.part = named_number(pattern, reading.captures, "part");
        reading.parts = named_number(pattern, reading.captures, "parts");
        if (!reading.slot || !reading.sound()) return;
        if (slots > 0 && *reading.slot >= slots) return;
        reading.trust = checks_capture(pattern, "slot") ? Trust::checked : Trust::unchecked;
    }

    ByteView bytes_;
    const Device& device_;
    const std::vector<Item>& items_;
    std::size_t unpacked_ = 0;  // bytes of all payloads so far
};

}  // namespace

Findings find_messages(ByteView bytes, const Device& device, const std::vector<bool>& wanted) {
    Findings findings;
    findings.items = midi::read_sysex(bytes);
    MessageFinder finder(bytes, device, findings.items);
    findings.readings.resize(device.framings.size());
    findings.headers.resize(device.framings.size());
    for (std::size_t f = 0; f < device.framings.size(); ++f) {
        if (!wanted.empty() && !wanted[f]) continue;
        const Framing& framing = device.framings[f];
        findings.readings[f] = finder.read(framing);
        for (std::size_t i = 0; i < findings.readings[f].size(); ++i) {
            const Reading& reading = findings.readings[f][i];
            if (reading.sound() && in_header(framing, reading.pattern)) findings.headers[f].push_back(i);
        }
    }
    return findings;
}

std::size_t known_bytes(const std::vector<Item>& items, const Device& device, const std::vector<bool>& wanted) {
    std::size_t known = 0;
    for (const Item& item : items) {
        if (item.kind != ItemKind::message || item.span.length > limits::longest_message) continue;
        const Candidate candidate = from_message(item);
        const bool matches = std::ranges::any_of(device.framings, [&](const Framing& framing) {
            const auto index = static_cast<std::size_t>(&framing - device.framings.data());
            if (!wanted.empty() && !wanted[index]) return false;
            return std::ranges::any_of(framing.messages, [&](const MessagePattern& pattern) {
                return match(pattern, candidate.bytes).has_value();
            });
        });
        if (matches) known += item.span.length;
    }
    return known;
}

std::vector<bool> framings_of(const Device& device, std::string_view layout) {
    std::vector<bool> wanted(device.framings.size(), layout.empty());
    const auto look = [&](const std::vector<schema::Layout>& layouts) {
        for (const schema::Layout& one : layouts) {
            if (one.name == layout && one.framing < wanted.size()) wanted[one.framing] = true;
        }
    };
    look(device.layouts);
    for (const schema::ReleaseEntry& entry : device.releases) {
        if (entry.schema) look(entry.schema->layouts);
    }
    return wanted;
}

std::size_t file_offset(const Item& item, std::size_t index) {
    if (index == 0 || item.kind == ItemKind::junk) return item.span.offset + index;
    return midi::content_offset(item, index - 1);
}

int slot_count(const Device& device, const Framing& framing) {
    if (framing.holds == schema::Holds::unit_settings) return 0;
    int most = 0;
    const auto assets = [&](const std::vector<schema::AssetKind>& kinds) {
        for (const schema::AssetKind& kind : kinds) {
            if (kind.name == framing.asset) most = std::max(most, kind.count);
        }
    };
    const bool of_assets = framing.holds == schema::Holds::asset;
    if (of_assets)
        assets(device.assets);
    else
        most = device.slots.count;
    for (const schema::ReleaseEntry& entry : device.releases) {
        if (!entry.schema) continue;
        if (of_assets)
            assets(entry.schema->assets);
        else
            most = std::max(most, entry.schema->slots.count);
    }
    return most;
}

}  // namespace downfit::dump
