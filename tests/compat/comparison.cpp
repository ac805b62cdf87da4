#include "compat/comparison.h"

#include <algorithm>
#include <list>
#include <map>
#include <set>
#include <sstream>
#include <stdexcept>

#include "compat/compare.h"
#include "support/file.h"
#include "support/hex.h"
#include "support/paths.h"

namespace downfit::testing {
namespace {

using compat::CompareOptions;
using compat::TargetCheck;

std::vector<std::string> split(const std::string& text, char between) {
    std::vector<std::string> parts;
    std::istringstream stream(text);
    for (std::string part; std::getline(stream, part, between);) parts.push_back(part);
    return parts;
}

/// What the words of a comparison ask for.
struct Asked {
    compat::CheckOptions check;
    CompareOptions compare;
    Bytes a, b;  ///< settings
    bool places = false;
};

schema::FailsFrom fails_from(const std::string& word) {
    const std::map<std::string, schema::FailsFrom> words{{"near", schema::FailsFrom::near},
                                                         {"severe", schema::FailsFrom::severe},
                                                         {"refused", schema::FailsFrom::refused}};
    return words.at(word);
}

void take_word(const CaseFile& file, const std::string& key, const std::string& value, Asked& asked) {
    if (key == "stored") {
        asked.compare.read_back = compat::ReadBack::stored;
    } else if (key == "loaded") {
        asked.compare.read_back = compat::ReadBack::loaded;
    } else if (key == "on") {
        asked.compare.release = file.device.find_release(value).value();
    } else if (key == "by") {
        asked.compare.match = value == "name" ? compat::MatchBy::name : compat::MatchBy::slot;
    } else if (key == "saved-on") {
        asked.check.saved_on = asked.compare.saved_on = file.device.find_release(value).value();
    } else if (key == "fails") {
        asked.compare.fails = fails_from(value);
    } else if (key == "exact") {
        asked.compare.exact = true;
    } else if (key == "slots") {
        std::set<int> slots;
        for (const std::string& slot : split(value, ',')) slots.insert(std::stoi(slot));
        asked.compare.wanted = [slots](int slot, const std::string&) { return slots.contains(slot); };
    } else if (key == "most") {
        asked.compare.most_findings = std::stoul(value);
    } else if (key == "a" || key == "b") {
        (key == "a" ? asked.a : asked.b) = from_hex(value);
    } else if (key == "places") {
        asked.places = true;
    } else {
        throw std::runtime_error("unknown word of a comparison: " + key);
    }
}

Asked asked_by(const CaseFile& file, const Section& comparison) {
    Asked asked;
    asked.check = file.options;
    for (std::size_t i = 3; i < comparison.head.size(); ++i) {
        const std::string& word = comparison.head[i];
        const std::size_t at = word.find('=');
        take_word(file, word.substr(0, at), at == std::string::npos ? std::string() : word.substr(at + 1), asked);
    }
    return asked;
}

/// One side's dumps, read, under the names that they have in the case file.
struct Side {
    std::list<dump::Dump> dumps;
    compat::DumpSet set;

    Side(const CaseFile& file, const std::string& names, const Bytes& settings) {
        for (const std::string& name : split(names, '+')) {
            const Bytes& bytes = file.dumps.at(name);
            auto read = dump::read(name, bytes, file.device);
            if (!read) throw std::runtime_error(name + ": " + read.problems().front().what);
            dumps.push_back(std::move(read).value());
            set.parts.push_back({&dumps.back(), bytes});
        }
        set.settings = settings;
    }
};

std::string preset_text(const std::optional<compat::PresetIn>& preset) {
    if (!preset) return "none";
    const std::string slot = preset->slot < 0 ? "-" : std::to_string(preset->slot);
    if (preset->state == dump::SlotState::empty) return slot + " empty";
    return preset->name.empty() ? slot : slot + " " + preset->name;
}

/// Where a finding stands in either file: the offset, or the line and the path of what is found by name.
std::string place_text(const std::string& path, std::size_t line, const std::optional<std::size_t>& offset) {
    if (!path.empty()) return path + " in line " + std::to_string(line);
    return offset ? std::to_string(*offset) : "-";
}

std::string check_text(const schema::Device& device, const TargetCheck& check, bool places) {
    const std::string saved = check.saved_on ? device.releases[*check.saved_on].name : "?";
    std::string text = " " + saved + " " + device.releases[check.release].name + " " + compact_text(check);
    if (!check.unsettled.empty()) text += "unsettled";
    for (const schema::Rule rule : check.unsettled) text += " " + std::string(schema::row_of(rule).name);
    if (!check.unsettled.empty()) text += "\n";
    for (const compat::Caution& caution : check.cautions) {
        const bool louder = caution.kind == compat::CautionKind::louder;
        if (!louder && caution.rise_db != 0) text += "a rise without being louder\n";
    }
    if (!places) return text;
    for (const compat::Finding& finding : check.findings) {
        text += "at " + place_text(finding.saved_path, finding.saved_line, finding.saved_offset) + " -> " +
                place_text(finding.loaded_path, finding.loaded_line, finding.loaded_offset) + "\n";
    }
    return text;
}

std::string pair_text(const schema::Device& device, const compat::ComparedPair& pair, bool places) {
    std::string text =
        preset_text(pair.first) + " = " + preset_text(pair.second) + ": " + std::string(compat::alike_name(pair.alike));
    if (pair.fails) text += ", fails";
    if (pair.likeness.same_bytes) text += ", same bytes";
    if (pair.likeness.other_bytes > 0) text += ", " + std::to_string(pair.likeness.other_bytes) + " other bytes";
    text += "\n";
    const bool both = pair.first && pair.second && pair.first->state == dump::SlotState::filled &&
                      pair.second->state == dump::SlotState::filled;
    if (both) text += "sound" + check_text(device, pair.likeness.sound, places);
    if (pair.prediction) text += "predicted" + check_text(device, *pair.prediction, places);
    return text;
}

std::string faults_text(const compat::Comparison& comparison) {
    std::string text;
    for (const compat::RuleFault& fault : comparison.rule_faults) {
        text += "rule " + std::string(schema::row_of(fault.rule).name);
        if (fault.stated) text += " not " + std::string(schema::action_name(*fault.stated));
        for (const schema::Action action : fault.fits) text += " " + std::string(schema::action_name(action));
        text += " in";
        for (const std::size_t preset : fault.presets) text += " " + preset_text(comparison.pairs[preset].first);
        text += "\n";
    }
    for (const compat::ValueFault& fault : comparison.value_faults) {
        const compat::SeenIn& example = fault.examples.front();
        text += "value " + fault.parameter + ": " + example.value.predicted + " -> " + example.value.shown + " in " +
                preset_text(comparison.pairs[example.preset].first) + "\n";
    }
    return text;
}

}  // namespace

ComparisonFile read_comparisons(const std::filesystem::path& path_in_tests) {
    ComparisonFile read;
    std::string others;
    for (const Section& section : sections_of(read_text(in_tests(path_in_tests)))) {
        if (section.head.at(0) == "compare") {
            read.comparisons.push_back(section);
            continue;
        }
        others += "==";
        for (const std::string& word : section.head) others += " " + word;
        others += "\n" + section.text;
    }
    read.file = case_from(others, path_in_tests);
    return read;
}

std::string comparison_text(const CaseFile& file, const Section& comparison) {
    const Asked asked = asked_by(file, comparison);
    const Side a(file, comparison.head.at(1), asked.a);
    const Side b(file, comparison.head.at(2), asked.b);
    compat::Comparer comparer(file.device, asked.check);
    const compat::Comparison compared = compat::compare_dumps(comparer, a.set, b.set, asked.compare);
    std::string text = "by " + std::string(compat::match_name(compared.by));
    if (compared.other_names > 0) text += ", " + std::to_string(compared.other_names) + " with other names";
    if (compared.shared_names > 0) text += ", " + std::to_string(compared.shared_names) + " shared names";
    if (compared.left_out > 0) text += ", " + std::to_string(compared.left_out) + " left out";
    text += "\n";
    for (const compat::ComparedPair& pair : compared.pairs) text += pair_text(file.device, pair, asked.places);
    if (!compared.stopped) text += faults_text(compared);
    for (const compat::NotInBoth& missing : compared.not_in_both) {
        text += "without place on " + missing.release + ":";
        for (const std::string& parameter : missing.parameters) text += " " + parameter;
        text += "\n";
    }
    if (compared.stopped) text += "stopped: " + compared.stopped->what + "\n";
    return text;
}

}  // namespace downfit::testing
