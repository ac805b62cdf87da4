#include <algorithm>

#include "base/text.h"
#include "report/byte_map.h"
#include "report/coverage.h"
#include "report/escape.h"
#include "report/problems.h"

namespace downfit::report {

namespace {

constexpr std::size_t most_coverage_lines = 12;

/// "98.4 %", rounded down: only all of it is 100 %.
std::string share_text(std::size_t part, std::size_t whole) {
    if (whole == 0) return "all";
    const std::size_t thousandths = part * 1000 / whole;
    return std::to_string(thousandths / 10) + '.' + std::to_string(thousandths % 10) + " %";
}

std::string of_presets(std::size_t number, std::size_t all) {
    return number == all ? "in all of them" : "in " + presets(number);
}

std::string varying_text(std::size_t number) {
    if (number == 0) return "none of these varies";
    return std::to_string(number) + (number == 1 ? " of these varies" : " of these vary");
}

/// Neighbours in one record or in the body.
bool follows(const study::SeenByte& a, const study::SeenByte& b) {
    return a.place.records == b.place.records && a.place.part == b.place.part && a.place.byte + 1 == b.place.byte &&
           a.look == b.look && a.presets == b.presets;
}

std::string run_text(const study::SeenByte& first, const study::SeenByte& last) {
    std::string text = study::place_text(first.place);
    if (last.place.byte != first.place.byte) text += " to " + std::to_string(last.place.byte);
    return text;
}

/// Whether something stands in the record, which then is told rather than its head.
bool has_value(const study::Covered& part, const study::Place& head) {
    return std::any_of(part.bytes.begin(), part.bytes.end(), [&](const study::SeenByte& byte) {
        return byte.place.part == study::Place::Part::value && byte.place.records == head.records;
    });
}

/// What differs and is not explained, neighbours together.
void append_varying(std::string& out, const study::Covered& part, const Style& style) {
    std::vector<std::string> lines;
    for (std::size_t i = 0; i < part.bytes.size(); ++i) {
        const study::SeenByte& first = part.bytes[i];
        if (first.look != study::Look::unknown_varies && first.look != study::Look::partly) continue;
        if (first.place.part == study::Place::Part::head && has_value(part, first.place)) continue;
        std::uint8_t least = first.least, most = first.most;
        unsigned others = first.differing & ~unsigned{first.explained} & 0xFFU;
        const bool partly = first.look == study::Look::partly;
        while (!partly && i + 1 < part.bytes.size() && follows(part.bytes[i], part.bytes[i + 1])) {
            ++i;
            least = std::min(least, part.bytes[i].least);
            most = std::max(most, part.bytes[i].most);
        }
        std::string line = run_text(first, part.bytes[i]) + ": ";
        if (partly) {
            line += "bits " + hex_text(others, 2) + " hex differ and belong to no parameter";
        } else {
            line += std::to_string(least) + (least == most ? "" : " to " + std::to_string(most));
            line += ", " + of_presets(first.presets, part.presets);
        }
        lines.push_back(std::move(line));
    }
    if (lines.empty()) return;
    append_line(out, "  Not explained, and different between presets:");
    for (std::size_t i = 0; i < std::min(lines.size(), most_coverage_lines); ++i)
        append_wrapped(out, lines[i], style.width, 4, 6);
    if (lines.size() > most_coverage_lines)
        append_line(out, "    and " + std::to_string(lines.size() - most_coverage_lines) + " more");
}

void append_beyond(std::string& out, const study::Covered& part, const Style& style) {
    if (part.beyond.empty()) return;
    append_line(out, "  Outside what the release file says:");
    for (const study::Seen& seen : part.beyond) {
        std::string line = printable(seen.parameter) + ": " + printable(seen.least);
        if (seen.most != seen.least) line += " to " + printable(seen.most);
        line += ", expected " + printable(seen.expected) + "; " + of_presets(seen.presets, part.presets);
        if (seen.slot >= 0) line += ", first in slot " + std::to_string(seen.slot) + " (" + printable(seen.field) + ')';
        append_wrapped(out, line, style.width, 4, 6);
    }
}

void append_names(std::string& out, const std::string& heading, const std::vector<std::string>& names,
                  const Style& style) {
    if (names.empty()) return;
    std::string text = heading + " (" + std::to_string(names.size()) + "):";
    for (const std::string& name : names) text += (name == names.front() ? " " : ", ") + printable(name);
    append_wrapped(out, text, style.width, 2, 4);
}

void append_unmoved(std::string& out, const study::Covered& part, const Style& style) {
    std::vector<std::string> at_default, still, never;
    for (const study::Unmoved& unmoved : part.unmoved) {
        if (unmoved.presets == 0) {
            never.push_back(unmoved.parameter);
        } else if (unmoved.at_default) {
            at_default.push_back(unmoved.parameter);
        } else {
            still.push_back(unmoved.parameter + " (" + unmoved.value + ')');
        }
    }
    append_names(out, "Never seen off their default", at_default, style);
    append_names(out, "Always the same, off their default or without one", still, style);
    append_names(out, "Never there", never, style);
}

/// What is read by name: values in place of bytes, and no map.
void append_named(std::string& out, const study::Covered& part, const Style& style) {
    const study::SeenNames& seen = *part.names_seen;
    const std::size_t unexplained = seen.unexplained.size();
    append_wrapped(out,
                   share_text(seen.explained, seen.values) + " of " + std::to_string(seen.values) +
                       " values explained; of " + std::to_string(seen.paths) + " paths " + std::to_string(unexplained) +
                       (unexplained == 1 ? " is not" : " are not") +
                       (unexplained == 0 ? "" : ", and " + varying_text(seen.varying())) +
                       (part.presets == 1 ? " (one preset shows nothing of what varies)" : ""),
                   style.width, 2, 4);
    if (unexplained == 0) return;
    append_line(out, "  Not explained:");
    for (std::size_t i = 0; i < std::min(unexplained, most_coverage_lines); ++i) {
        const study::SeenValue& value = seen.unexplained[i];
        append_wrapped(out,
                       printable(value.path) + ": " + printable(value.text) + ", " +
                           of_presets(value.presets, part.presets) +
                           (value.differs && value.presets == part.presets ? ", different between them" : ""),
                       style.width, 4, 6);
    }
    if (unexplained > most_coverage_lines)
        append_line(out, "    and " + std::to_string(unexplained - most_coverage_lines) + " more; JSON has all");
}

void append_bytes(std::string& out, const study::Covered& part, const Style& style) {
    append_wrapped(out,
                   share_text(part.explained_bytes, part.body_bytes) + " of " + std::to_string(part.body_bytes) +
                       " bytes explained; of " + std::to_string(part.bytes.size()) + " places " +
                       std::to_string(part.unexplained()) + " are not" +
                       (part.unexplained() == 0 ? "" : ", and " + varying_text(part.unexplained_varying())) +
                       (part.presets == 1 ? " (one preset shows nothing of what varies)" : ""),
                   style.width, 2, 4);
    append_byte_map(out, part, style);
    append_varying(out, part, style);
}

void append_part(std::string& out, const CoverageReport& report, const study::Covered& part, const Style& style) {
    const std::string title = printable(report.device->title.empty() ? report.device->name : report.device->title);
    out += '\n' +
           paint(title + " release " + printable(report.device->releases[part.release].name) + ", layout " +
                     printable(report.device->layouts[part.layout].name) + ": " + presets(part.presets),
                 Tone::strong, style) +
           '\n';
    if (part.names_seen) {
        append_named(out, part, style);
    } else {
        append_bytes(out, part, style);
    }
    append_beyond(out, part, style);
    if (part.presets > 1) append_unmoved(out, part, style);
}

}  // namespace

std::string coverage_text(const CoverageReport& report, const Style& style) {
    std::string out;
    for (const study::Covered& part : report.coverage.parts) append_part(out, report, part, style);
    if (!out.empty()) out.erase(0, 1);
    if (report.coverage.without_release > 0) {
        append_wrapped(out,
                       "Not looked at: " + presets(report.coverage.without_release) +
                           " whose stamp no release file has (--saved-on RELEASE says it for presets without one).",
                       style.width, 0, 2);
    }
    if (report.coverage.damaged > 0)
        append_wrapped(out, "Not looked at: " + presets(report.coverage.damaged) + ", damaged.", style.width, 0, 2);
    for (const CoverageFile& file : report.files) {
        for (const Problem& problem : file.problems)
            append_wrapped(out, printable(file.file) + ", " + problem_line(problem) + '.', style.width, 0, 2);
    }
    return out;
}

}  // namespace downfit::report
