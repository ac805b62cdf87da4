#include "coverage/change_file.h"

#include <algorithm>
#include <regex>
#include <sstream>
#include <stdexcept>

#include "compat/case_file.h"
#include "support/hex.h"

namespace downfit::testing {
namespace {

constexpr std::size_t image_size = 16;

std::set<std::string> ways_in(const std::string& word) {
    std::set<std::string> ways;
    std::istringstream parts(word);
    for (std::string part; std::getline(parts, part, ',');) ways.insert(part);
    return ways;
}

std::set<std::string> ways_at(const Section& section, std::size_t at) {
    return section.head.size() > at ? ways_in(section.head[at]) : std::set<std::string>();
}

CellEntry entry_of(const Section& section) {
    CellEntry entry;
    entry.ways = ways_at(section, 1);
    if (entry.ways.empty()) throw std::runtime_error("a cell names its ways");
    if (section.head.size() > 2) {
        entry.rule = section.head[2];
        entry.value = section.head.at(3);
    }
    if (section.head[0] == "held") {
        std::istringstream words(section.text);
        words >> entry.held_file >> entry.held_dump >> entry.held_on;
    } else {
        entry.expected = section.text;
    }
    return entry;
}

/// `@3` as the place of a parameter.
std::string with_places(const std::string& text, const std::string& way) {
    static const std::regex place("@([0-9]+)");
    if (way == "name") return std::regex_replace(text, place, "\"path\": \"/$1\"");
    return std::regex_replace(text, place, way == "position" ? "\"at\": $1" : "\"tag\": $1");
}

/// The bytes of a preset's body.
Bytes body_of(const ForWays& preset, const std::string& way, int& slot) {
    Bytes body;
    std::string whole;
    std::istringstream lines(preset.text);
    for (std::string line; std::getline(lines, line);) {
        std::istringstream words(line);
        std::string first;
        words >> first;
        if (first == "slot") {
            words >> slot;
        } else if (first.starts_with("@")) {
            const std::size_t place = std::stoul(first.substr(1));
            const Bytes bytes = from_hex(line.substr(line.find(first) + first.size()));
            if (way == "position") {
                body.resize(std::max({body.size(), image_size, place + bytes.size()}));
                std::copy(bytes.begin(), bytes.end(), body.begin() + static_cast<std::ptrdiff_t>(place));
            } else {
                body.push_back(static_cast<std::uint8_t>(place));
                body.push_back(static_cast<std::uint8_t>(bytes.size()));
                body.insert(body.end(), bytes.begin(), bytes.end());
            }
        } else {
            whole += line + "\n";
        }
    }
    const Bytes rest = from_hex(whole);
    body.insert(body.end(), rest.begin(), rest.end());
    return body;
}

/// The preset as JSON: `@3 0C` is the member "3" with the number 12, `@3 "ab"` one with a text, any other line is
/// members as they stand.
std::string json_text(const ForWays& preset) {
    int slot = 0;
    std::string members;
    std::istringstream lines(preset.text);
    for (std::string line; std::getline(lines, line);) {
        std::istringstream words(line);
        std::string first, rest;
        words >> first;
        std::getline(words >> std::ws, rest);
        if (first == "slot") {
            slot = std::stoi(rest);
        } else if (first.starts_with("@")) {
            std::string value = rest;
            if (!rest.starts_with('"')) {
                std::int64_t number = 0;
                for (const std::uint8_t byte : from_hex(rest)) number = number * 256 + byte;
                value = std::to_string(number);
            }
            members += ",\n\"" + first.substr(1) + "\": " + value;
        } else if (!first.empty() && first[0] != '#') {
            members += ",\n" + line;
        }
    }
    return "{\"presets\": [{\"slot\": " + std::to_string(slot) + ", \"stamp\": " + preset.release.substr(0, 1) +
           members + "}]}\n";
}

std::string dump_text(const ForWays& preset, const std::string& way) {
    int slot = 0;
    const Bytes body = body_of(preset, way, slot);
    Bytes dump{0xF0, 0x7D, 0x09, static_cast<std::uint8_t>(slot), static_cast<std::uint8_t>(preset.release[0] - '0')};
    for (const std::uint8_t byte : body) {
        dump.push_back(static_cast<std::uint8_t>(byte >> 4U));
        dump.push_back(static_cast<std::uint8_t>(byte & 0x0FU));
    }
    dump.push_back(0xF7);
    return to_hex(dump) + "\n";
}

std::string device_text(const std::string& way, const std::string& rules) {
    if (way == "name") {
        return R"({ "format": "downfit device 1", "device": "wren", "title": "Wren", "maker": "Quillfeather",
  "releases": [ {"release": "1.0", "stamp": 1}, {"release": "2.0", "stamp": 2} ],
  "slots": { "first": 1, "count": 100 },
  "assets": { "impulse-response": { "title": "impulse response", "first": 1, "count": 8 } },
  "layouts": { "preset": { "as": "json", "presets": "/presets/*", "slot": "/slot", "stamp": "/stamp" } },
  "rules": { )" +
               rules + " } }\n";
    }
    const std::string body = way == "position" ? "\"size\": " + std::to_string(image_size)
                                               : std::string(R"("records": { "head": ["id", "length"] })");
    return R"({ "format": "downfit device 1", "device": "wren", "title": "Wren", "maker": "Quillfeather",
  "releases": [ {"release": "1.0", "stamp": 1}, {"release": "2.0", "stamp": 2} ],
  "slots": { "first": 1, "count": 100 },
  "assets": { "impulse-response": { "title": "impulse response", "first": 1, "count": 8 } },
  "layouts": {
    "preset":   { "messages": { "preset": { "bytes": "F0 7D 09 {slot} {stamp} {data...} F7",
                                            "steps": [ { "unpack": "nibbles", "order": "high-first" } ] } },
                  "preset": ["preset"], "body": { )" +
           body + R"( } },
    "settings": { "holds": "unit-settings",
                  "messages": { "settings": { "bytes": "F0 7D 08 {stamp} {data...} F7",
                                              "steps": [ { "unpack": "nibbles", "order": "high-first" } ] } },
                  "preset": ["settings"], "body": { )" +
           body + " } } },\n  \"rules\": { " + rules + " } }\n";
}

std::string rules_text(const ChangeFile& file, const Cell& cell) {
    std::string rules;
    const auto add = [&](const std::string& members) { rules += (rules.empty() ? "" : ", ") + members; };
    for (const char* stamps : {"newer-stamp", "older-stamp"}) {
        if (cell.rule != stamps) add("\"" + std::string(stamps) + "\": \"load\"");
    }
    for (const ForWays& beside : file.beside) {
        const bool asked = beside.head == (cell.rule.empty() ? "nothing" : cell.rule);
        if (asked && beside.holds_for(cell.way)) add(beside.text);
    }
    if (!cell.rule.empty() && cell.value != "unstated") add("\"" + cell.rule + "\": \"" + cell.value + "\"");
    return rules;
}

}  // namespace

std::vector<const CellEntry*> ChangeFile::entries_of(const Cell& cell) const {
    std::vector<const CellEntry*> found;
    for (const CellEntry& entry : entries) {
        if (entry.ways.contains(cell.way) && entry.rule == cell.rule && entry.value == cell.value) {
            found.push_back(&entry);
        }
    }
    return found;
}

const ForWays* ChangeFile::preset(const std::string& preset_name, const std::string& way) const {
    const auto found = std::find_if(presets.begin(), presets.end(), [&](const ForWays& preset) {
        return preset.head == preset_name && preset.holds_for(way);
    });
    return found == presets.end() ? nullptr : &*found;
}

std::string ChangeFile::target_of(const ForWays& preset) const {
    return preset.release == "1.0" ? "2.0" : "1.0";
}

ChangeFile read_change(const std::string& name, const std::string& text) {
    ChangeFile file;
    file.name = name;
    std::istringstream lines(text);
    for (std::string line; std::getline(lines, line) && line.starts_with("#");) {
        file.about += (file.about.empty() ? "" : " ") + line.substr(std::min<std::size_t>(2, line.size()));
    }
    for (const Section& section : sections_of(text)) {
        const std::string& kind = section.head.at(0);
        if (kind == "release") {
            file.releases.push_back({ways_at(section, 2), section.head.at(1), {}, section.text});
        } else if (kind == "beside") {
            file.beside.push_back({ways_at(section, 2), section.head.at(1), {}, section.text});
        } else if (kind == "preset") {
            file.presets.push_back({ways_at(section, 3), section.head.at(1), section.head.at(2), section.text});
        } else if (kind == "check") {
            file.checks.push_back({ways_at(section, 2), section.head.at(1), {}, section.text});
        } else if (kind == "no-check") {
            file.no_checks.push_back({ways_at(section, 1), {}, {}, section.text});
        } else if (kind == "cell" || kind == "held") {
            file.entries.push_back(entry_of(section));
        } else {
            throw std::runtime_error(name + ": unknown section " + kind);
        }
    }
    return file;
}

std::string case_text(const ChangeFile& file, const Cell& cell) {
    std::string text = "== device\n" + device_text(cell.way, rules_text(file, cell));
    for (const ForWays& release : file.releases) {
        if (!release.holds_for(cell.way)) continue;
        text += "== release " + release.head + "\n" + with_places(release.text, cell.way);
    }
    for (const ForWays& preset : file.presets) {
        if (!preset.holds_for(cell.way)) continue;
        text += cell.way == "name" ? "== text " + preset.head + "\n" + json_text(preset)
                                   : "== dump " + preset.head + "\n" + dump_text(preset, cell.way);
    }
    return text;
}

}  // namespace downfit::testing
