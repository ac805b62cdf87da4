#include "compat/laws.h"

namespace downfit::testing {

namespace {

std::string shown(const std::optional<compat::Shown>& side) {
    return side ? side->stored.value_or("-") + '=' + side->value : "none";
}

std::string number(const std::optional<std::size_t>& number) {
    return number ? std::to_string(*number) : "-";
}

void append(std::string& text, const compat::Finding& finding) {
    text += finding.parameter + '/' + finding.parameter_there + ' ' +
            std::string(compat::row_of(finding.outcome).name) + ' ' + std::string(compat::weight_name(finding.weight)) +
            ".." + std::string(compat::weight_name(finding.best)) + ' ' +
            std::to_string(static_cast<int>(finding.activity)) + ' ' + shown(finding.saved) + '@' +
            number(finding.saved_byte) + " -> " + shown(finding.loaded) + '@' + number(finding.loaded_byte) + ' ' +
            finding.saved_overflow + " by " + finding.rule + ", brought by " + finding.brought_by + ", cause " +
            number(finding.cause) + '\n';
    for (const compat::Alternative& other : finding.alternatives)
        text += "  if " + other.assumption + ": " + std::string(compat::row_of(other.outcome).name) + ' ' +
                std::string(compat::weight_name(other.weight)) + '\n';
}

}  // namespace

std::string told(const compat::TargetCheck& check) {
    std::string text = std::to_string(check.release) + " from " + number(check.saved_on) + ": " +
                       std::string(compat::verdict_name(check.verdict)) + ' ' +
                       std::string(compat::verdict_name(check.best)) + ".." +
                       std::string(compat::verdict_name(check.worst)) + ' ' + check.reason + ' ' + check.told_for +
                       ' ' + (check.stamped_later ? "later " : "") + std::to_string(check.parameters) + '\n';
    for (const compat::Finding& finding : check.findings) append(text, finding);
    for (const compat::Caution& caution : check.cautions)
        text += "caution " + std::string(compat::caution_name(caution.kind)) + ' ' + caution.parameter + ' ' +
                std::to_string(caution.rise_db) + '\n';
    for (const compat::Cause& cause : check.causes)
        text += "cause " + std::to_string(static_cast<int>(cause.kind)) + ' ' + cause.what + ' ' +
                std::string(compat::weight_name(cause.weight)) + ' ' + std::to_string(cause.findings) + '\n';
    for (const compat::Doubt& doubt : check.doubts)
        text += "doubt " + doubt.parameter + ' ' + doubt.stored + ' ' + doubt.why + '\n';
    for (const schema::Rule rule : check.unsettled)
        text += "unsettled " + std::string(schema::row_of(rule).name) + '\n';
    for (const std::string& repair : check.repairs) text += "repair " + repair + '\n';
    for (const std::string& risk : check.risks) text += "risk " + risk + '\n';
    return text;
}

compat::TargetCheck check_on(compat::Checker& checker, const dump::Entry& entry, std::size_t target) {
    for (compat::TargetCheck& check : checker.check(entry).targets) {
        if (check.release == target) return check;
    }
    return {};
}

compat::CheckOptions checked_on(std::vector<std::size_t> targets) {
    compat::CheckOptions options;
    options.targets = std::move(targets);
    return options;
}

compat::Verdict verdict_of(compat::Weight weight) {
    if (weight == compat::Weight::none) return compat::Verdict::intact;
    return weight == compat::Weight::slight ? compat::Verdict::near : compat::Verdict::altered;
}

std::string Seen::text() const {
    std::string text;
    for (const auto& [what, count] : counts_) text += (text.empty() ? "" : ", ") + what + ' ' + std::to_string(count);
    return text;
}

}  // namespace downfit::testing
