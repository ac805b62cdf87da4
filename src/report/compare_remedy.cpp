#include <algorithm>

#include "report/compare_report.h"

namespace downfit::report {

namespace {

std::string quoted(std::string_view text) {
    return '"' + std::string(text) + '"';
}

std::string pair_text(std::string_view key, const std::string& value) {
    return quoted(key) + ": " + value;
}

/// `{"rules": {"unknown-choice": "clamp"}}` of each parameter, as they stand in a release file.
std::string of_parameters(const std::vector<std::string>& parameters, const std::string& rule) {
    std::string text;
    for (const std::string& id : parameters) {
        text += (text.empty() ? "" : ", ") + pair_text(id, "{" + pair_text("rules", "{" + rule + "}") + "}");
    }
    return pair_text("parameters", "{" + text + "}");
}

}  // namespace

std::optional<RuleRemedy> remedy_of(const CompareReport& report, const compat::RuleFault& fault) {
    if (fault.fits.empty() || !report.release) return std::nullopt;
    const schema::Release& release = *report.device->releases[*report.release].schema;
    const std::string rule =
        pair_text(schema::row_of(fault.rule).name, quoted(schema::action_name(fault.fits.front())));
    RuleRemedy remedy;
    remedy.file = release.file;
    const bool own_file = fault.place.file == release.file;
    if (!fault.stated) {
        remedy.write = pair_text("rules", "{" + rule + "}");
        remedy.why = "nobody states it";
    } else if (!fault.own_parameter.empty()) {
        remedy.write = own_file ? rule : of_parameters(fault.parameters, rule);
        remedy.why = own_file ? "it is stated there" : "what is stated holds for older releases too";
        if (own_file) remedy.line = fault.place.line;
    } else if (fault.confirmed > 0 && !fault.parameters.empty()) {
        remedy.write = of_parameters(fault.parameters, rule);
        remedy.why = "other values show that the rule is right for other parameters";
    } else {
        remedy.write = own_file ? rule : pair_text("rules", "{" + rule + "}");
        remedy.why = own_file ? "it is stated there" : "what is stated holds for other releases too";
        if (own_file) remedy.line = fault.place.line;
    }
    return remedy;
}

std::string_view suspect_of(const compat::ValueFault& fault) {
    if (fault.parameter.empty()) return "accepts";
    switch (fault.act) {
        case compat::Act::clamped:
        case compat::Act::wrapped: return "range";
        case compat::Act::reset:
        case compat::Act::defaulted: return "default";
        case compat::Act::rounded: return "step";
        case compat::Act::cut: return "length";
        case compat::Act::nothing:
        case compat::Act::kept_out:
        case compat::Act::held:
        case compat::Act::refused: break;
    }
    return "storage";
}

std::string_view difference_word(compat::Outcome outcome) {
    switch (outcome) {
        case compat::Outcome::lost: return "only-in-a";
        case compat::Outcome::added: return "only-in-b";
        case compat::Outcome::revoiced: return "revoiced";
        case compat::Outcome::unsure: return "unsure";
        case compat::Outcome::unfilled: return "no-such-slot";
        default: break;
    }
    return "value";
}

}  // namespace downfit::report
