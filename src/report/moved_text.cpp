#include <algorithm>

#include "base/text.h"
#include "dump/tree.h"
#include "report/escape.h"
#include "report/moved.h"
#include "report/problems.h"
#include "study/storage_text.h"

namespace downfit::report {

namespace {

constexpr std::size_t most_readings = 8;
constexpr std::size_t most_readings_known = 3;
constexpr std::size_t most_bytes = 16;
constexpr std::size_t most_outside = 8;
constexpr std::size_t most_entries = 8;
constexpr std::size_t most_runs = 12;
constexpr std::size_t most_values = 24;
constexpr std::size_t reading_columns = 40;
constexpr std::size_t change_columns = 20;

std::string hex_bytes(const Bytes& bytes) {
    std::string text;
    for (std::size_t i = 0; i < std::min(bytes.size(), most_bytes); ++i)
        text += (i == 0 ? "" : " ") + hex_text(bytes[i], 2);
    return bytes.size() > most_bytes ? text + " ..." : text;
}

std::string bit_pattern(unsigned bits) {
    std::string text;
    for (unsigned bit = 8; bit-- > 0;) text += (bits >> bit & 1U) != 0 ? static_cast<char>('0' + bit) : '.';
    return text;
}

std::string offset_text(std::size_t before, std::size_t after) {
    if (before == after) return byte_text(after) + " of the file";
    return byte_text(before) + " of the first file, " + byte_text(after) + " of the second";
}

void append_byte(std::string& out, const study::MovedByte& byte, const Style& style) {
    std::string line = study::place_text(byte.place) + ": " + std::to_string(byte.before) + " -> " +
                       std::to_string(byte.after) + "  (" + hex_text(byte.before, 2) + " -> " +
                       hex_text(byte.after, 2) + " hex, bits " +
                       bit_pattern(static_cast<unsigned>(byte.before ^ byte.after)) + ")";
    append_wrapped(out, paint(line, Tone::strong, style), style.width, 2, 4);
    std::string where = offset_text(byte.file_before, byte.file_after);
    if (!byte.place.records.empty()) where = "byte " + std::to_string(byte.body_after) + " of the body; " + where;
    append_wrapped(out, where, style.width, 6, 8);
}

void append_parameters(std::string& out, const std::vector<study::Covering>& parameters, const Style& style) {
    for (const study::Covering& one : parameters) {
        const auto side = [](const std::string& value, const std::string& stored) {
            if (stored.empty()) return std::string("not stored");
            const std::string shown = printable(value);
            return shown == printable(stored) ? shown : shown + " (" + printable(stored) + ')';
        };
        append_wrapped(out,
                       "is " + printable(one.parameter) + ": " + side(one.value_before, one.stored_before) + " -> " +
                           side(one.value_after, one.stored_after),
                       style.width, 4, 6);
    }
}

void append_readings(std::string& out, const study::MovedRun& run, const Style& style) {
    const std::size_t most = run.whole_explained ? most_readings_known : most_readings;
    std::size_t shown = 0, left_out = 0;
    if (run.readings.empty()) {
        if (!run.whole_explained) append_line(out, "    no parameter explains it, and it is too much for one number");
        return;
    }
    append_line(out, run.whole_explained ? "    read as" : "    no parameter explains it; may be");
    for (const study::Reading& reading : run.readings) {
        if (shown == most || (shown > 0 && reading.fit == study::Fit::remote)) {
            ++left_out;
            continue;
        }
        ++shown;
        const auto text = [](const std::string& raw) {
            return printable(dump::to_utf8(raw, schema::Encoding::latin1).text);
        };
        std::string line = "      " + left(reading.name, reading_columns) + ' ' +
                           left(text(reading.before) + " -> " + text(reading.after), change_columns);
        const std::string storage = reading.storage ? study::storage_text(*reading.storage) : std::string();
        if (line.size() + 1 + storage.size() <= style.width) {
            append_line(out, line + ' ' + storage);
        } else {
            if (line.find_last_not_of(' ') < style.width)
                append_line(out, line);
            else
                append_wrapped(out, reading.name + ": " + text(reading.before) + " -> " + text(reading.after),
                               style.width, 6, 8);
            append_wrapped(out, storage, style.width, 8, 10);
        }
    }
    if (left_out > 0) append_line(out, "      and " + std::to_string(left_out) + " less likely; JSON has all");
}

void append_record(std::string& out, const study::MovedRecord& record, const Style& style) {
    append_wrapped(out,
                   "record " + study::records_text(record.records) + (record.appeared ? " is new: " : " is gone: ") +
                       (record.value.empty() ? "empty" : hex_bytes(record.value) + " hex") + ", byte " +
                       std::to_string(record.at) + " of the body",
                   style.width, 2, 4);
    append_parameters(out, record.parameters, style);
}

/// A value by name: its path is how a release file finds it.
void append_value(std::string& out, const study::MovedValue& value, const Style& style) {
    const std::string absent = "not there";
    append_wrapped(out,
                   paint(printable(value.path) + ": " + printable(value.before.value_or(absent)) + " -> " +
                             printable(value.after.value_or(absent)),
                         Tone::strong, style),
                   style.width, 2, 4);
    const std::string where = !value.before  ? byte_text(value.file_after) + " of the second file"
                              : !value.after ? byte_text(value.file_before) + " of the first file"
                                             : offset_text(value.file_before, value.file_after);
    append_wrapped(out, where, style.width, 6, 8);
    append_parameters(out, value.parameters, style);
    if (value.parameters.empty()) append_wrapped(out, "no parameter takes it", style.width, 4, 6);
}

void append_entry(std::string& out, const study::MovedEntry& entry, const Style& style) {
    std::string heading = entry.holds == "presets" ? "Preset" : "Unit settings";
    if (entry.slot_after >= 0) heading = "Slot " + std::to_string(entry.slot_after);
    if (entry.slot_before != entry.slot_after) heading += " (in the first: " + std::to_string(entry.slot_before) + ')';
    if (!entry.name.empty()) heading += " \"" + printable(entry.name) + '"';
    if (!entry.read_as.empty()) heading += ", read as " + printable(entry.read_as);
    heading += ": " + (entry.by_name ? counted(entry.values.size(), "value moved", "values moved")
                                     : counted(entry.bytes_moved(), "byte moved", "bytes moved"));
    out += '\n' + paint(heading, Tone::strong, style) + '\n';
    for (std::size_t i = 0; i < std::min(entry.values.size(), most_values); ++i)
        append_value(out, entry.values[i], style);
    if (entry.values.size() > most_values)
        append_line(out, "  and " + std::to_string(entry.values.size() - most_values) + " values more; JSON has all");
    for (std::size_t r = 0; r < std::min(entry.runs.size(), most_runs); ++r) {
        const study::MovedRun& run = entry.runs[r];
        for (std::size_t i = 0; i < std::min(run.bytes.size(), most_bytes); ++i) append_byte(out, run.bytes[i], style);
        if (run.bytes.size() > most_bytes)
            append_line(out, "    and " + std::to_string(run.bytes.size() - most_bytes) + " bytes more near them");
        append_parameters(out, run.parameters, style);
        append_readings(out, run, style);
    }
    if (entry.runs.size() > most_runs)
        append_line(out, "  and in " + counted(entry.runs.size() - most_runs, "other place", "other places") +
                             "; JSON has all");
    for (const study::MovedRecord& record : entry.records) append_record(out, record, style);
    if (entry.only_before + entry.only_after > 0) {
        append_wrapped(out,
                       std::to_string(entry.only_before) + " bytes are only in the first, " +
                           std::to_string(entry.only_after) + " only in the second",
                       style.width, 2, 4);
    }
    for (const study::MovedAside& aside : entry.aside) {
        append_wrapped(out,
                       "not counted: " + printable(aside.what) + ", " + hex_bytes(aside.before) + " -> " +
                           hex_bytes(aside.after) + " hex, " + offset_text(aside.file_before, aside.file_after),
                       style.width, 2, 4);
    }
}

void append_only(std::string& out, std::string_view which, std::vector<int> slots, const Style& style) {
    if (slots.empty()) return;
    std::sort(slots.begin(), slots.end());
    append_wrapped(out, "Only in the " + std::string(which) + ": " + ranges_text(slots) + '.', style.width, 0, 2);
}

void append_outside(std::string& out, const MovedReport& report, const Style& style) {
    if (report.moved.outside.empty()) return;
    std::string text =
        "Outside every preset " + counted(report.moved.outside.size(), "byte", "bytes") + " of the memory moved:";
    for (std::size_t i = 0; i < std::min(report.moved.outside.size(), most_outside); ++i) {
        const study::MovedOutside& byte = report.moved.outside[i];
        text += (i == 0 ? " " : ", ") + std::to_string(byte.byte) + " (" + std::to_string(byte.before) + " -> " +
                std::to_string(byte.after) + ')';
    }
    if (report.moved.outside.size() > most_outside) text += ", ...";
    append_wrapped(out, text, style.width, 0, 2);
}

void append_advice(std::string& out, const MovedReport& report, const Style& style) {
    const auto moved = std::count_if(report.moved.entries.begin(), report.moved.entries.end(),
                                     [](const study::MovedEntry& entry) { return entry.moved(); });
    if (moved > 1) {
        append_wrapped(
            out,
            "More than one preset moved: turn one knob of one preset, store it, and dump again, so that what "
            "moved has one reason.",
            style.width, 0, 2);
    }
    if (moved == 0 && report.moved.compared > 0) {
        append_wrapped(
            out,
            "Nothing moved: was the preset stored before it was dumped, and is the knob one of the preset's, "
            "not of the unit's settings?",
            style.width, 0, 2);
    }
}

}  // namespace

std::string moved_text(const MovedReport& report, const Style& style) {
    std::string out;
    const auto moved = std::count_if(report.moved.entries.begin(), report.moved.entries.end(),
                                     [](const study::MovedEntry& entry) { return entry.moved(); });
    append_wrapped(out,
                   paint(printable(report.before.file) + " -> " + printable(report.after.file) + ": " +
                             std::to_string(moved) + " of " + presets(report.moved.compared) + " moved",
                         Tone::strong, style),
                   style.width, 0, 2);
    const std::size_t entries = report.moved.entries.size();
    for (std::size_t i = 0; i < std::min(entries, most_entries); ++i) append_entry(out, report.moved.entries[i], style);
    if (entries > most_entries)
        append_line(out += '\n', "And " + presets(entries - most_entries) + " more; JSON has all.");
    std::string end;
    append_outside(end, report, style);
    append_only(end, "first", report.moved.only_before, style);
    append_only(end, "second", report.moved.only_after, style);
    if (report.moved.damaged > 0)
        append_wrapped(end, "Not compared: " + counted(report.moved.damaged, "damaged entry", "damaged entries") + '.',
                       style.width, 0, 2);
    for (const CoverageFile* file : {&report.before, &report.after}) {
        for (const Problem& problem : file->problems)
            append_wrapped(end, printable(file->file) + ", " + problem_line(problem) + '.', style.width, 0, 2);
    }
    append_advice(end, report, style);
    if (!end.empty()) out += '\n' + end;
    return out;
}

}  // namespace downfit::report
