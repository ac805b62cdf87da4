#include "report/check_junit.h"

#include <algorithm>
#include <map>
#include <pugixml.hpp>

#include "files/input.h"
#include "report/escape.h"
#include "report/problems.h"
#include "report/standing.h"
#include "report/summary.h"
#include "report/words.h"

namespace downfit::report {

namespace {

using compat::Finding;
using compat::TargetCheck;

constexpr std::size_t most_failure_lines = 40;  // of findings in a failure; all are in the case's output

class TextWriter final : public pugi::xml_writer {
public:
    explicit TextWriter(std::string& text) : text_(text) {}
    void write(const void* data, std::size_t size) override { text_.append(static_cast<const char*>(data), size); }

private:
    std::string& text_;
};

/// A printable text without the two characters that XML 1.0 has no way to write and that are not control characters.
std::string xml_text(const std::string& text) {
    std::string shown = printable(text);
    for (const auto& [bad, written] :
         {std::pair<std::string_view, std::string_view>{"\xEF\xBF\xBE", "\\u{FFFE}"}, {"\xEF\xBF\xBF", "\\u{FFFF}"}}) {
        for (std::size_t at = shown.find(bad); at != std::string::npos; at = shown.find(bad))
            shown.replace(at, bad.size(), written);
    }
    return shown;
}

void set(pugi::xml_node node, const char* name, const std::string& value) {
    node.append_attribute(name).set_value(xml_text(value).c_str());
}

/// "2-00-beta-1": points would make packages of it.
std::string class_part(const std::string& text) {
    std::string part;
    for (const char c : text) {
        const bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
        part += plain ? c : '-';
    }
    return part;
}

std::string finding_line(const Finding& finding) {
    const compat::OutcomeRow& row = compat::row_of(finding.outcome);
    std::string text = std::string(row.name) + ", " + std::string(compat::weight_name(finding.weight)) + ", " +
                       std::string(compat::activity_name(finding.activity)) + (row.silent ? ", silent" : "") + ": " +
                       finding.parameter + ' ' + fate(finding) + " (" + finding.rule;
    if (finding.saved_offset) text += "; " + byte_text(*finding.saved_offset);
    return xml_text(text + ')') + '\n';
}

std::string caution_lines(const TargetCheck& target) {
    std::string text;
    for (const compat::Caution& caution : target.cautions)
        text += xml_text("caution: " + caution.parameter + ", " + caution_words(caution)) + '\n';
    return text;
}

/// All that is known, one thing a line; findings without weight only counted.
std::string output_of(const PresetReport& preset, const TargetCheck& target) {
    std::string text = "verdict: " + std::string(compat::verdict_name(target.verdict)) + '\n';
    if (target.best != target.worst) {
        text += "at best: " + std::string(compat::verdict_name(target.best)) +
                "\nat worst: " + std::string(compat::verdict_name(target.worst)) + '\n';
    }
    if (!target.reason.empty()) text += xml_text("reason: " + target.reason) + '\n';
    for (const Problem& problem : preset.damage) text += xml_text("damage: " + problem_line(problem)) + '\n';
    text += caution_lines(target);
    std::vector<std::size_t> unheard(compat::outcome_count);
    for (const std::size_t index : finding_order(target)) {
        const Finding& finding = target.findings[index];
        if (finding.weight > compat::Weight::none)
            text += "finding: " + finding_line(finding);
        else
            ++unheard[static_cast<std::size_t>(finding.outcome)];
    }
    std::string counts;
    for (const compat::OutcomeRow& row : compat::outcome_table()) {
        const std::size_t count = unheard[static_cast<std::size_t>(row.outcome)];
        if (count > 0) counts += (counts.empty() ? "" : ", ") + std::to_string(count) + ' ' + std::string(row.name);
    }
    if (!counts.empty()) text += "not heard: " + counts + '\n';
    return text;
}

/// What a failure says: what is heard, the gravest first.
std::string failure_text(const CheckReport& report, const PresetReport& preset, const TargetCheck& target,
                         std::size_t number) {
    std::string text = caution_lines(target);
    std::size_t lines = 0, left = 0;
    for (const std::size_t index : finding_order(target)) {
        const Finding& finding = target.findings[index];
        if (finding.weight == compat::Weight::none) continue;
        if (lines < most_failure_lines) {
            text += finding_line(finding);
            ++lines;
        } else {
            ++left;
        }
    }
    if (left > 0) text += "and " + std::to_string(left) + " more\n";
    const std::string command = detail_command(report, preset, number);
    if (!command.empty()) text += xml_text(command) + '\n';
    return text;
}

class SuiteWriter {
public:
    SuiteWriter(const CheckReport& report, pugi::xml_node suites) : report_(report), suites_(suites) {}

    void add(std::size_t file, std::size_t number) {
        const InputFile& input = report_.files[file];
        const std::string& release = report_.release(report_.targets[number]).name;
        suite_ = suites_.append_child("testsuite");
        class_name_ = "downfit." + class_part(report_.device->name) + ".on-" + class_part(release);
        tests_ = failures_ = errors_ = 0;
        names_.clear();
        set(suite_, "name", files::last_part(input.file) + " on " + release);
        for (const char* count : {"tests", "failures", "errors"}) suite_.append_attribute(count);
        add_properties(input, release);
        for (const PresetReport& preset : report_.presets) {
            if (preset.file == file) add_case(preset, number);
        }
        if (!input.damage.empty()) add_file_case(input);
        add_problems(input);
        suite_.attribute("tests").set_value(std::to_string(tests_).c_str());
        suite_.attribute("failures").set_value(std::to_string(failures_).c_str());
        suite_.attribute("errors").set_value(std::to_string(errors_).c_str());
        all_tests += tests_;
        all_failures += failures_;
        all_errors += errors_;
    }

    /// Nothing checked is no success.
    void add_nothing() {
        suite_ = suites_.append_child("testsuite");
        class_name_ = "downfit." + class_part(report_.device->name);
        for (const auto& [name, value] :
             {std::pair{"name", "downfit check"}, {"tests", "1"}, {"failures", "0"}, {"errors", "1"}})
            set(suite_, name, value);
        pugi::xml_node result = start_case("the whole check").append_child("error");
        set(result, "type", "nothing");
        set(result, "message", "no preset was checked");
        ++all_tests;
        ++all_errors;
    }

    std::size_t all_tests = 0, all_failures = 0, all_errors = 0;

private:
    void add_properties(const InputFile& input, const std::string& release) {
        pugi::xml_node properties = suite_.append_child("properties");
        const auto property = [&](const char* name, const std::string& value) {
            pugi::xml_node node = properties.append_child("property");
            set(node, "name", name);
            set(node, "value", value);
        };
        property("program", "downfit " + report_.version);
        property("device", report_.device->name);
        property("release", release);
        property("file", input.file);
        property("sha-256", input.digest);
    }

    pugi::xml_node start_case(std::string name) {
        const int seen = ++names_[name];
        if (seen > 1) name += " again (" + std::to_string(seen) + ')';
        pugi::xml_node node = suite_.append_child("testcase");
        set(node, "name", name);
        set(node, "classname", class_name_);
        ++tests_;
        return node;
    }

    void add_case(const PresetReport& preset, std::size_t number) {
        const TargetCheck& target = preset.check.targets[number];
        pugi::xml_node node = start_case(slot_words(preset) + ' ' + quoted_name(preset.check.name));
        set(node, "status", std::string(compat::verdict_name(target.verdict)));
        set(node, "assertions", std::to_string(target.parameters));
        const Standing standing = standing_of(preset.check, target);
        if (!is_safe(standing)) {
            const bool error = standing == Standing::undecided || standing == Standing::damaged;
            ++(error ? errors_ : failures_);
            pugi::xml_node result = node.append_child(error ? "error" : "failure");
            const bool damaged = standing == Standing::damaged;
            set(result, "type", damaged ? "damaged" : std::string(compat::verdict_name(target.verdict)));
            set(result, "message", main_reason(preset, target));
            result.text().set(failure_text(report_, preset, target, number).c_str());
        }
        node.append_child("system-out").text().set(output_of(preset, target).c_str());
    }

    void add_file_case(const InputFile& input) {
        pugi::xml_node node = start_case("the file itself");
        ++errors_;
        pugi::xml_node result = node.append_child("error");
        set(result, "type", "damaged");
        set(result, "message", input.damage);
    }

    void add_problems(const InputFile& input) {
        std::string text;
        for (const Problem& problem : input.problems) text += xml_text(problem_line(problem)) + '\n';
        if (!text.empty()) suite_.append_child("system-err").text().set(text.c_str());
    }

    const CheckReport& report_;
    pugi::xml_node suites_, suite_;
    std::string class_name_;
    std::map<std::string, int> names_;
    std::size_t tests_ = 0, failures_ = 0, errors_ = 0;
};

bool has_presets(const CheckReport& report, std::size_t file) {
    return std::ranges::any_of(report.presets, [&](const PresetReport& preset) { return preset.file == file; });
}

}  // namespace

std::string check_junit(const CheckReport& report) {
    pugi::xml_document document;
    pugi::xml_node declaration = document.append_child(pugi::node_declaration);
    declaration.append_attribute("version") = "1.0";
    declaration.append_attribute("encoding") = "UTF-8";
    pugi::xml_node suites = document.append_child("testsuites");
    suites.append_attribute("name") = "downfit check";
    for (const char* count : {"tests", "failures", "errors"}) suites.append_attribute(count);
    SuiteWriter writer(report, suites);
    for (std::size_t file = 0; file < report.files.size(); ++file) {
        if (!has_presets(report, file) && report.files[file].damage.empty()) continue;
        for (std::size_t number = 0; number < report.targets.size(); ++number) writer.add(file, number);
    }
    if (report.presets.empty()) writer.add_nothing();
    suites.attribute("tests").set_value(std::to_string(writer.all_tests).c_str());
    suites.attribute("failures").set_value(std::to_string(writer.all_failures).c_str());
    suites.attribute("errors").set_value(std::to_string(writer.all_errors).c_str());
    std::string text;
    TextWriter out(text);
    document.save(out, "  ", pugi::format_indent, pugi::encoding_utf8);
    return text;
}

}  // namespace downfit::report
