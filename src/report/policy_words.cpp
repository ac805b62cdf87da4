#include "report/policy_words.h"

#include "report/escape.h"
#include "report/json.h"
#include "report/layout.h"
#include "report/words.h"

namespace downfit::report {

namespace {

using compat::Lapse;
using schema::Acceptance;

/// `preset "Lead", amp.drive clamped`.
std::string subject_words(const Acceptance& entry) {
    if (!entry.fingerprint.empty()) return "finding " + printable(entry.fingerprint);
    std::string text;
    if (!entry.preset.empty()) {
        text = "preset " + cut(quoted_name(entry.preset), longest_policy_name);
        if (entry.slot) text += " in slot " + std::to_string(*entry.slot);
    }
    if (!entry.parameter.empty()) text += (text.empty() ? "" : ", ") + printable(entry.parameter);
    if (!entry.outcome.empty()) text += ' ' + entry.outcome;
    return text;
}

std::string_view why_key(Lapse::Why why) {
    switch (why) {
        case Lapse::Why::date: return "date";
        case Lapse::Why::heavier: return "heavier";
        case Lapse::Why::caution: break;
    }
    return "caution";
}

Json tolerances_json(const schema::Tolerances& written) {
    const compat::Hearing hearing = compat::hearing_of(written);
    return Json{{"level", hearing.level_db},
                {"pitch", hearing.pitch_cents},
                {"frequency", hearing.frequency_cents},
                {"q", written.q.value_or(hearing.q_share * 100)},
                {"time", written.time.value_or(hearing.time_floor_s * 1000)},
                {"long-time-from", written.long_time_from.value_or(hearing.time_knee_s * 1000)},
                {"long-time", written.long_time.value_or(hearing.time_share * 100)},
                {"decay", written.decay.value_or(hearing.decay_share * 100)},
                {"rate", written.rate.value_or(hearing.rate_share * 100)},
                {"range", written.range.value_or(hearing.range_share * 100)},
                {"slight-up-to", hearing.slight_up_to},
                {"louder", hearing.louder_db}};
}

}  // namespace

std::string acceptance_words(const schema::Policy& policy, std::size_t index) {
    const Acceptance& entry = policy.accepted[index];
    return "item " + std::to_string(index + 1) + " (line " + std::to_string(entry.place.line) + "; " +
           subject_words(entry) + ')';
}

std::string accepted_by(const schema::Policy& policy, std::size_t index) {
    return "item " + std::to_string(index + 1) + " of the policy: " + printable(policy.accepted[index].reason);
}

std::string lapse_words(const Acceptance& entry, const Lapse& lapse) {
    const std::string text = printable(lapse.parameter) + ": ";
    switch (lapse.why) {
        case Lapse::Why::date: return text + "the acceptance ended on " + entry.until;
        case Lapse::Why::heavier:
            return text + std::string(compat::weight_name(lapse.weight)) + " now, " + entry.weight + " was accepted";
        case Lapse::Why::caution: break;
    }
    return text + "carries the caution \"" + std::string(compat::caution_name(*lapse.caution)) +
           "\", which was not accepted";
}

std::string_view acceptance_state(std::size_t findings, bool lapsed, bool stale) {
    if (lapsed) return "lapsed";
    if (stale) return "stale";
    return findings > 0 ? "holds" : "not-met";
}

Json acceptance_json(const Acceptance& entry) {
    Json json;
    json["line"] = entry.place.line;
    json["fingerprint"] = text_or_null(entry.fingerprint);
    json["preset"] = text_or_null(entry.preset);
    json["slot"] = entry.slot ? Json(*entry.slot) : Json();
    json["parameter"] = text_or_null(entry.parameter);
    json["outcome"] = text_or_null(entry.outcome);
    json["on"] = Json::array();
    for (const schema::NamedRelease& release : entry.on) json["on"].push_back(release.name);
    json["weight"] = entry.weight;
    json["cautions"] = entry.cautions;
    json["reason"] = entry.reason;
    json["until"] = text_or_null(entry.until);
    return json;
}

void add_lapse(const Lapse& lapse, Json& json) {
    json["parameter"] = lapse.parameter;
    json["weight"] = compat::weight_name(lapse.weight);
    json["why"] = why_key(lapse.why);
    json["caution"] = lapse.caution ? Json(compat::caution_key(*lapse.caution)) : Json();
}

Json policy_head_json(const schema::Policy& policy, const std::string& today) {
    Json json;
    json["file"] = policy.file;
    json["sha-256"] = policy.digest;
    json["title"] = text_or_null(policy.title);
    json["today"] = today;
    json["fails"] = schema::fails_name(policy.fails);
    json["releases"] = Json::array();
    for (const schema::ReleasePolicy& one : policy.releases)
        json["releases"].push_back(Json{{"release", one.release.name}, {"fails", schema::fails_name(one.fails)}});
    json["tolerances"] = tolerances_json(policy.tolerances);
    return json;
}

}  // namespace downfit::report
