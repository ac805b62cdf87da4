#include "dump/series.h"

#include <algorithm>
#include <utility>

namespace downfit::dump {

namespace {

using schema::AssemblyPart;
using schema::Framing;

constexpr std::size_t nowhere = static_cast<std::size_t>(-1);
constexpr std::int64_t largest_part_number = std::int64_t{1} << 40;

std::string quoted(const Framing& framing, std::size_t pattern) {
    return "message \"" + framing.messages[pattern].name + "\"";
}

/// Gathers one series.
class Gatherer {
public:
    Gatherer(const Framing& framing, const std::vector<Reading>& readings, const std::vector<bool>& taken)
        : framing_(framing), assembly_(assembly_of(framing)), readings_(readings), taken_(taken) {}

    Series gather(std::size_t first) {
        start(first);
        for (std::size_t i = first + 1; i < readings_.size() && !finished(); ++i) {
            if (passed_over(i)) continue;
            if (begins_another(i) || !fits_slot(i)) break;
            const std::size_t next = next_position(readings_[i].pattern);
            if (next == nowhere) {
                note(series_.members.size() - 1, true,
                     quoted(framing_, readings_[i].pattern) + " stands twice or too late");
                series_.notes.back().holds_data = holds_data(readings_[i].pattern);
                series_.members.push_back(i);
                continue;
            }
            add(i, next);
        }
        note_missing(position_ + 1, assembly_.size());
        series_.lacks_tail = position_ + 1 < assembly_.size();
        compare_slots();
        compare_part_count();
        return std::move(series_);
    }

private:
    void start(std::size_t first) {
        const Reading& reading = readings_[first];
        std::size_t begin = 0;
        while (assembly_[begin].message != reading.pattern) ++begin;
        series_.slot = reading.slot;
        series_.trust = reading.trust;
        series_.members.push_back(first);
        position_ = begin;
        for (std::size_t p = 0; p < begin; ++p) {
            note(0, false, quoted(framing_, assembly_[p].message) + " is missing");
            series_.notes.back().holds_data = holds_data(assembly_[p].message);
            series_.lacks_head = true;
        }
        count_part(first);
    }

    bool finished() const { return position_ + 1 == assembly_.size() && !assembly_[position_].repeated; }

    bool passed_over(std::size_t i) const {
        return taken_[readings_[i].item] || !in_preset(framing_, readings_[i].pattern);
    }

    /// Whether the reading is the first message of a preset and cannot go on with this one.
    bool begins_another(std::size_t i) const {
        const Reading& reading = readings_[i];
        const AssemblyPart& head = assembly_.front();
        if (reading.pattern != head.message) return false;
        if (!head.repeated) return next_position(reading.pattern) == nowhere;
        if (position_ > 0) return true;
        if (!reading.sound()) return belongs_to_next(i);
        if (reading.part) return *reading.part == 0;
        return reading.slot != series_.slot;
    }

    /// Of a damaged message in a layout where all messages are alike: whether it is the first of the preset after this
    /// one.
    bool belongs_to_next(std::size_t i) const {
        const Reading* next = next_reading(i);
        if (!next || !next->sound() || next->slot == series_.slot) return false;
        if (next->part) return *next->part > 0;
        return readings_[i].slot == next->slot;
    }

    const Reading* next_reading(std::size_t i) const {
        for (std::size_t next = i + 1; next < readings_.size(); ++next) {
            if (!passed_over(next)) return &readings_[next];
        }
        return nullptr;
    }

    std::size_t next_position(std::size_t pattern) const {
        const auto& preset = assembly_;
        if (preset[position_].message == pattern && preset[position_].repeated) return position_;
        for (std::size_t p = position_ + 1; p < preset.size(); ++p) {
            if (preset[p].message == pattern) return p;
        }
        return nowhere;
    }

    void add(std::size_t i, std::size_t next) {
        if (next > position_) note_missing(position_ + 1, next);
        position_ = next;
        series_.members.push_back(i);
        count_part(i);
    }

    void note_missing(std::size_t from, std::size_t to) {
        for (std::size_t p = from; p < to; ++p) {
            note(series_.members.size() - 1, true, quoted(framing_, assembly_[p].message) + " is missing");
            series_.notes.back().holds_data = holds_data(assembly_[p].message);
        }
    }

    bool holds_data(std::size_t pattern) const { return find_capture(framing_.messages[pattern], "data").has_value(); }

    void note(std::size_t member, bool after, std::string what, std::string expected = {}) {
        series_.notes.push_back({member, after, std::move(what), std::move(expected), false, true});
    }

    /// Decides between a changed slot number in this preset and a message of another one.
    bool fits_slot(std::size_t i) {
        const Reading& reading = readings_[i];
        if (!reading.slot || !series_.slot || reading.slot == series_.slot) {
            if (reading.slot && !series_.slot) series_.slot = reading.slot;
            if (reading.slot && reading.trust > series_.trust) series_.trust = reading.trust;
            return true;
        }
        if (reading.trust == Trust::none) return true;
        const bool adopts =
            series_.trust == Trust::none || (reading.trust > series_.trust && series_.members.size() == 1);
        if (adopts) {
            series_.slot = reading.slot;
            series_.trust = reading.trust;
            return true;
        }
        return reading.trust == Trust::unchecked && !goes_elsewhere(i);
    }

    /// Whether reading `i`, or the message after it, shows that both belong to another preset.
    bool goes_elsewhere(std::size_t i) const {
        const Reading& reading = readings_[i];
        if (reading.part && *reading.part != due_part_) return true;
        if (announced_ && due_part_ >= *announced_ && repeats(reading.pattern)) return true;
        const Reading* next = next_reading(i);
        return next && next->pattern != assembly_.front().message && next->slot == reading.slot;
    }

    void compare_slots() {
        for (std::size_t m = 0; m < series_.members.size(); ++m) {
            const Reading& reading = readings_[series_.members[m]];
            if (!reading.slot || !series_.slot || reading.slot == series_.slot || !reading.sound()) continue;
            note(m, false, quoted(framing_, reading.pattern) + " names slot " + std::to_string(*reading.slot),
                 "slot " + std::to_string(*series_.slot));
            series_.notes.back().about_slot = true;
        }
    }

    /// Keeps count of the parts: of a damaged message it is taken that its number is the one that was due.
    void count_part(std::size_t i) {
        const Reading& reading = readings_[i];
        if (reading.parts && reading.sound()) announced_ = reading.parts;
        if (!find_capture(framing_.messages[reading.pattern], "part")) {
            if (!numbers_parts() && repeats(reading.pattern)) ++due_part_;
            return;
        }
        const bool told = reading.part && reading.sound();
        const std::int64_t number = told ? std::min(*reading.part, largest_part_number) : due_part_;
        if (number != due_part_) note_part(series_.members.size() - 1, number, due_part_);
        due_part_ = std::max(due_part_, number + 1);
    }

    void compare_part_count() {
        if (!announced_ || *announced_ == due_part_) return;
        note(series_.members.size() - 1, true,
             std::to_string(due_part_) + (due_part_ == 1 ? " part" : " parts") + " came, " +
                 std::to_string(*announced_) + (*announced_ == 1 ? " is announced" : " are announced"),
             std::to_string(*announced_) + (*announced_ == 1 ? " part" : " parts"));
    }

    void note_part(std::size_t member, std::int64_t number, std::int64_t expected) {
        const std::string due = "part " + std::to_string(expected);
        if (number < expected) {
            note(member, false, "part " + std::to_string(number) + " stands twice or too late", due);
        } else if (number == expected + 1) {
            note(member, false, due + " is missing", due);
        } else {
            note(member, false,
                 "parts " + std::to_string(expected) + " to " + std::to_string(number - 1) + " are missing", due);
        }
    }

    bool repeats(std::size_t pattern) const {
        return std::ranges::any_of(assembly_,
                                   [&](const AssemblyPart& part) { return part.repeated && part.message == pattern; });
    }

    bool numbers_parts() const {
        return std::ranges::any_of(assembly_, [&](const AssemblyPart& part) {
            return find_capture(framing_.messages[part.message], "part").has_value();
        });
    }

    const Framing& framing_;
    const std::vector<AssemblyPart>& assembly_;
    const std::vector<Reading>& readings_;
    const std::vector<bool>& taken_;
    Series series_;
    std::size_t position_ = 0;
    std::int64_t due_part_ = 0;
    std::optional<std::int64_t> announced_;
};

/// All messages of an image whose parts say where they belong.
Series gather_addressed(const Framing& framing, const std::vector<Reading>& readings, std::size_t first,
                        const std::vector<bool>& taken) {
    Series series;
    std::vector<bool> seen(framing.messages.size(), false);
    for (std::size_t i = first; i < readings.size(); ++i) {
        if (taken[readings[i].item] || !in_preset(framing, readings[i].pattern)) continue;
        series.members.push_back(i);
        seen[readings[i].pattern] = true;
        if (!series.slot) series.slot = readings[i].slot;
    }
    for (const AssemblyPart& part : assembly_of(framing)) {
        if (seen[part.message]) continue;
        series.notes.push_back(
            {series.members.size() - 1, true, quoted(framing, part.message) + " is missing", {}, false, false});
    }
    return series;
}

}  // namespace

const std::vector<AssemblyPart>& assembly_of(const Framing& framing) {
    return framing.image ? framing.image->of : framing.preset;
}

bool in_preset(const Framing& framing, std::size_t pattern) {
    const std::vector<AssemblyPart>& parts = assembly_of(framing);
    return std::ranges::find(parts, pattern, &AssemblyPart::message) != parts.end();
}

bool in_header(const Framing& framing, std::size_t pattern) {
    return std::ranges::find(framing.dump, pattern, &AssemblyPart::message) != framing.dump.end();
}

bool in_end(const Framing& framing, std::size_t pattern) {
    return std::ranges::find(framing.end, pattern, &AssemblyPart::message) != framing.end.end();
}

Series gather(const Framing& framing, const std::vector<Reading>& readings, std::size_t first,
              const std::vector<bool>& taken) {
    if (framing.image && !framing.image->address.empty()) return gather_addressed(framing, readings, first, taken);
    return Gatherer(framing, readings, taken).gather(first);
}

}  // namespace downfit::dump
