#include "compat/case_file.h"

#include <sstream>
#include <stdexcept>

#include "base/text.h"
#include "compat/told_text.h"
#include "dump/dump.h"
#include "dump/tree.h"
#include "schema/load.h"
#include "support/file.h"
#include "support/hex.h"
#include "support/paths.h"

namespace downfit::testing {
namespace {

constexpr const char* standard_rules = R"("out-of-range": "clamp", "off-step": "keep", "unknown-choice": "clamp",
  "unknown-parameter": "skip", "missing-parameter": "default", "repeated-key": "first", "long-text": "cut",
  "longer-image": "ignore", "shorter-image": "default", "newer-stamp": "load", "older-stamp": "load")";

std::string standard_device(const std::string& rules) {
    return R"({ "format": "downfit device 1", "device": "wren", "title": "Wren", "maker": "Quillfeather",
  "releases": [ {"release": "1.0", "stamp": 1}, {"release": "2.0", "stamp": 2}, {"release": "3.0", "stamp": 3} ],
  "slots": { "first": 1, "count": 100 },
  "assets": { "impulse-response": { "title": "impulse response", "first": 1, "count": 8 } },
  "layouts": { "preset": { "messages": { "preset": { "bytes": "F0 7D 09 {slot} {stamp} {data...} F7" } },
               "preset": ["preset"], "body": { "size": 16 } } },
  "rules": { )" +
           rules + " } }";
}

std::string release_file(const Section& section) {
    const std::string& name = section.head.at(1);
    return R"({ "format": "downfit release 1", "device": ")" + (section.head.size() > 2 ? section.head[2] : "wren") +
           R"(", "release": ")" + name + "\",\n" + section.text + "}";
}

Bytes framed(const Section& section) {
    const std::string& release = section.head.at(2);
    Bytes bytes{0xF0, 0x7D, 0x09, 0x00, static_cast<std::uint8_t>(release[0] - '0')};
    if (section.head.size() > 4 && section.head[3] == "slot")
        bytes[3] = static_cast<std::uint8_t>(std::stoi(section.head[4]));
    const Bytes body = from_hex(section.text);
    bytes.insert(bytes.end(), body.begin(), body.end());
    bytes.push_back(0xF7);
    return bytes;
}

/// The lines of a `with` section.
void add_known(const std::string& text, const schema::Device& device, compat::CheckOptions& options) {
    std::istringstream lines(text);
    for (std::string line; std::getline(lines, line);) {
        std::istringstream words(line);
        std::string what, name, rest;
        words >> what;
        if (what.empty() || what.starts_with("#")) continue;
        if (what == "settings") {
            options.settings = from_hex(line.substr(what.size()));
            continue;
        }
        words >> name >> std::ws;
        std::getline(words, rest);
        if (what == "fact")
            options.facts[name] = rest;
        else if (what == "slot")
            options.assets[name].slots.insert(std::stoi(rest));
        else if (what == "name")
            options.assets[name].names.insert(rest);
        else if (what == "saved-on")
            options.saved_on = device.find_release(name).value();
        else
            throw std::runtime_error("unknown line of a `with` section: " + line);
    }
}

std::string describe(const Problems& problems) {
    std::string text;
    for (const Problem& problem : problems) {
        if (const auto* place = std::get_if<TextPlace>(&problem.place)) {
            text += place->file + ":" + std::to_string(place->line) + ":" + std::to_string(place->column) + " " +
                    place->pointer + ": ";
        }
        text += problem.what + "; " + problem.expected + " " + problem.remedy + "\n";
    }
    return text;
}

std::string weights(const compat::Finding& finding) {
    std::string text(compat::weight_name(finding.weight));
    if (finding.best != finding.weight) text = std::string(compat::weight_name(finding.best)) + ".." + text;
    return text;
}

}  // namespace

std::vector<Section> sections_of(const std::string& text) {
    std::vector<Section> sections;
    std::istringstream lines(text);
    std::string line;
    while (std::getline(lines, line)) {
        if (line.starts_with("== ")) {
            Section section;
            std::istringstream words(line.substr(3));
            for (std::string word; words >> word;) section.head.push_back(word);
            sections.push_back(std::move(section));
        } else if (!sections.empty()) {
            sections.back().text += line + "\n";
        } else if (!line.empty() && line[0] != '#') {
            throw std::runtime_error("text before the first section: " + line);
        }
    }
    return sections;
}

CaseFile case_from(const std::string& text, const std::filesystem::path& path) {
    CaseFile file;
    file.path = path;
    std::string rules = standard_rules;
    std::string device, known;
    std::vector<schema::SourceFile> sources;
    for (const Section& section : sections_of(text)) {
        const std::string& kind = section.head.at(0);
        if (kind == "rules")
            rules = section.text;
        else if (kind == "device")
            device = section.text;
        else if (kind == "release")
            sources.push_back({section.head.at(1) + ".json", release_file(section)});
        else if (kind == "body")
            file.dumps[section.head.at(1)] = framed(section);
        else if (kind == "dump")
            file.dumps[section.head.at(1)] = from_hex(section.text);
        else if (kind == "text")
            file.dumps[section.head.at(1)] = Bytes(section.text.begin(), section.text.end());
        else if (kind == "values")
            file.values.push_back({section.head.at(1), section.head.at(3), section.text});
        else if (kind == "check")
            file.checks.push_back({section.head.at(1), section.head.at(3), section.text});
        else if (kind == "told")
            file.told.push_back({section.head.at(1), section.head.at(3), section.text});
        else if (kind == "floors")
            file.floors.push_back({section.head.at(1), "", section.text});
        else if (kind == "with")
            known += section.text;
        else
            throw std::runtime_error(path.string() + ": unknown section " + kind);
    }
    sources.insert(sources.begin(), {"device.json", device.empty() ? standard_device(rules) : device});
    auto loaded = schema::load_device(sources);
    if (!loaded) throw std::runtime_error(path.string() + ":\n" + describe(loaded.problems()));
    file.device = std::move(loaded).value();
    add_known(known, file.device, file.options);
    return file;
}

CaseFile read_case(const std::filesystem::path& path_in_tests) {
    return case_from(read_text(in_tests(path_in_tests)), path_in_tests);
}

namespace {

/// Checks a dump and puts together what `text_of` says of each preset's check.
template <class TextOf>
std::string check_with(const CaseFile& file, const Bytes& dump_bytes, const std::string& release,
                       const TextOf& text_of) {
    const auto dump = dump::read("case.syx", dump_bytes, file.device);
    if (!dump) return "unreadable: " + describe(dump.problems());
    compat::CheckOptions options = file.options;
    options.targets = {file.device.find_release(release).value()};
    compat::Checker checker(file.device, options);
    const compat::DumpCheck checked = compat::check_dump(checker, dump.value(), dump_bytes);
    std::string text;
    for (const compat::PresetCheck& preset : checked.presets) {
        if (checked.presets.size() > 1) text += "slot " + std::to_string(preset.slot) + ": ";
        if (preset.state == dump::SlotState::empty) text += "empty\n";
        for (const compat::TargetCheck& target : preset.targets) text += text_of(target);
    }
    return text;
}

}  // namespace

std::string check_compact(const CaseFile& file, const Bytes& dump_bytes, const std::string& release) {
    return check_with(file, dump_bytes, release, compact_text);
}

std::string check_told(const CaseFile& file, const Bytes& dump_bytes, const std::string& release) {
    return check_with(file, dump_bytes, release,
                      [&](const compat::TargetCheck& check) { return told_text(file.device, check); });
}

std::string floors_compact(const CaseFile& file, const Bytes& dump_bytes) {
    const auto dump = dump::read("case.syx", dump_bytes, file.device);
    if (!dump) return "unreadable: " + describe(dump.problems());
    const std::vector<schema::ReleaseEntry>& releases = file.device.releases;
    compat::CheckOptions options = file.options;
    options.floors = true;
    for (std::size_t release = 0; release < releases.size(); ++release) {
        if (releases[release].schema) options.targets.push_back(release);
    }
    compat::Checker checker(file.device, options);
    std::string text;
    const auto add = [&](const char* what, const compat::Floor& floor) {
        text += what + (floor.oldest ? " back to " + releases[*floor.oldest].name : std::string(" nowhere"));
        for (const std::size_t island : floor.islands) text += ", and on " + releases[island].name;
        text += "\n";
    };
    for (const compat::PresetCheck& preset : compat::check_dump(checker, dump.value(), dump_bytes).presets) {
        add("intact", preset.intact.value());
        add("near", preset.near.value());
    }
    return text;
}

std::string values_compact(const CaseFile& file, const Bytes& dump_bytes, const std::string& release) {
    const auto dump = dump::read("case.syx", dump_bytes, file.device);
    if (!dump) return "unreadable: " + describe(dump.problems());
    const std::size_t order = file.device.find_release(release).value();
    std::string text;
    for (const dump::Entry& entry : dump.value().entries) {
        const schema::Instances instances(file.device.releases[order].schema->in_layout(entry.layout));
        for (const dump::Leaf& leaf : dump::decode_tree(instances, entry.body, order, &file.device, entry.layout)) {
            if (!leaf.exists || leaf.stored.kind == dump::Stored::Kind::none) continue;
            if (dump.value().entries.size() > 1) {
                text += "slot " + std::to_string(dump::shown_slot(file.device, entry)) + ": ";
            }
            text += instances.fields()[leaf.field].id + " " + leaf.value + "\n";
        }
    }
    return text;
}

bool writes_back(const CaseFile& file, const Bytes& dump_bytes) {
    const auto dump = dump::read("case.syx", dump_bytes, file.device);
    if (!dump) return false;
    const auto written = dump::write(dump.value(), dump_bytes);
    return written && written.value() == dump_bytes;
}

std::string compact_text(const compat::TargetCheck& check) {
    std::string text(compat::verdict_name(check.verdict));
    if (check.verdict == compat::Verdict::undecided) {
        text += " (" + std::string(compat::verdict_name(check.best)) + ".." +
                std::string(compat::verdict_name(check.worst)) + ")";
    }
    text += "\n";
    if (!check.reason.empty()) text += "because " + check.reason + "\n";
    for (const compat::Finding& finding : check.findings) {
        text += finding.parameter + " " + std::string(compat::row_of(finding.outcome).name) + " " + weights(finding) +
                " " + std::string(compat::activity_name(finding.activity)) + ": " +
                (finding.saved ? finding.saved->value : "-") + " -> " + (finding.loaded ? finding.loaded->value : "-") +
                "\n";
    }
    for (const compat::Caution& caution : check.cautions) {
        text += "caution " + std::string(compat::caution_name(caution.kind)) + " " + caution.parameter;
        if (caution.kind == compat::CautionKind::louder) text += " +" + number_text(caution.rise_db) + " dB";
        text += "\n";
    }
    for (const std::string& risk : check.risks) text += "risk " + risk + "\n";
    if (!check.told_for.empty()) text += "for " + check.told_for + "\n";
    for (const compat::Doubt& doubt : check.doubts) text += "doubt " + doubt.parameter + " " + doubt.stored + "\n";
    return text;
}

std::string stored_both_ways(const std::string& releases, const std::string& rules) {
    return R"(== device
{ "format": "downfit device 1", "device": "wren", "title": "Wren", "maker": "Quillfeather", "releases": [)" +
           releases + R"(],
  "layouts": { "preset": { "messages": { "preset": { "bytes": "F0 7D 09 {slot} {stamp} {data...} F7" } }, "preset": ["preset"],
                           "body": { "size": 4 } },
               "export": { "as": "json", "presets": "/sounds/*", "slot": { "by": "order" }, "stamp": "/firmware" } },
  "rules": { "out-of-range": "clamp", "missing-parameter": "default")" +
           rules + R"( } }
)";
}

}  // namespace downfit::testing
