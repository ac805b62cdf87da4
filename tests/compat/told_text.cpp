#include "compat/told_text.h"

#include "compat/outcome.h"

namespace downfit::testing {
namespace {

std::string place(const std::optional<compat::Shown>& shown, const std::optional<std::size_t>& byte,
                  const std::optional<std::size_t>& offset) {
    std::string text = shown && shown->stored ? *shown->stored : "-";
    if (byte) text += " at " + std::to_string(*byte);
    if (offset) text += " (" + std::to_string(*offset) + ")";
    return text;
}

std::string kind_name(compat::Cause::Kind kind) {
    switch (kind) {
        case compat::Cause::Kind::group_missing: return "group missing";
        case compat::Cause::Kind::group_new: return "group new";
        case compat::Cause::Kind::parameter: break;
    }
    return "parameter";
}

std::string finding_text(const compat::TargetCheck& check, const compat::Finding& finding) {
    std::string text = finding.parameter;
    if (!finding.parameter_there.empty()) text += " (there " + finding.parameter_there + ")";
    text += ": " + finding.rule + "; " + place(finding.saved, finding.saved_byte, finding.saved_offset) + " -> " +
            place(finding.loaded, finding.loaded_byte, finding.loaded_offset);
    if (!finding.saved_overflow.empty()) text += "; " + finding.saved_overflow;
    if (!finding.brought_by.empty()) text += "; brought by " + finding.brought_by;
    if (finding.cause) text += "; with " + check.causes[*finding.cause].what;
    text += "\n";
    for (const compat::Alternative& other : finding.alternatives) {
        text += "… if " + other.assumption + ": " + std::string(compat::row_of(other.outcome).name) + " " +
                std::string(compat::weight_name(other.weight)) + "\n";
    }
    return text;
}

}  // namespace

std::string told_text(const schema::Device& device, const compat::TargetCheck& check) {
    std::string text = check.saved_on ? "saved on " + device.releases[*check.saved_on].name : "saved on no release";
    if (check.stamped_later) text += " (stamped later)";
    text += ", " + std::to_string(check.parameters) + " parameters\n";
    for (const compat::Finding& finding : check.findings) text += finding_text(check, finding);
    for (const compat::Cause& cause : check.causes) {
        text += "cause " + kind_name(cause.kind) + " " + cause.what + ": " +
                std::string(compat::weight_name(cause.weight)) + ", " + std::to_string(cause.findings) + " findings\n";
    }
    for (const compat::Doubt& doubt : check.doubts) {
        text += "doubt " + doubt.parameter + " " + doubt.stored + ": " + doubt.why + "\n";
    }
    std::string rules;
    for (const schema::Rule rule : check.unsettled) {
        rules += (rules.empty() ? "unsettled " : ", ") + std::string(schema::row_of(rule).name);
    }
    if (!rules.empty()) text += rules + "\n";
    for (const std::string& repair : check.repairs) text += "repaired " + repair + "\n";
    return text;
}

}  // namespace downfit::testing
