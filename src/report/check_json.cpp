#include "report/check_json.h"

#include <algorithm>
#include <cmath>

#include "report/check_value.h"
#include "report/closing.h"
#include "report/contents.h"
#include "report/installing.h"
#include "report/json.h"
#include "report/ruling.h"
#include "report/standing.h"
#include "report/words.h"

namespace downfit::report {

namespace {

Json release_names(const CheckReport& report, const std::vector<std::size_t>& releases) {
    Json list = Json::array();
    for (const std::size_t release : releases) list.push_back(report.release(release).name);
    return list;
}

Json release_or_null(const CheckReport& report, const std::optional<std::size_t>& release) {
    return release ? Json(report.release(*release).name) : Json();
}

std::string_view cause_kind(compat::Cause::Kind kind) {
    switch (kind) {
        case compat::Cause::Kind::group_missing: return "group-missing";
        case compat::Cause::Kind::group_new: return "group-new";
        case compat::Cause::Kind::parameter: break;
    }
    return "parameter";
}

Json side_json(const std::optional<compat::Shown>& shown, const std::optional<std::size_t>& byte,
               const std::optional<std::size_t>& offset) {
    if (!shown) return {};
    Json json;
    json["stored"] = or_null(shown->stored);
    json["value"] = shown->value;
    json["byte"] = or_null(byte);
    json["offset"] = or_null(offset);
    return json;
}

/// Where it stands by name.
void add_path(Json& side, const std::string& path, std::size_t line) {
    if (path.empty() || side.is_null()) return;
    side["path"] = path;
    side["line"] = line;
}

Json finding_json(const compat::Finding& finding, const compat::TargetRuling& ruling, std::size_t index) {
    const compat::OutcomeRow& row = compat::row_of(finding.outcome);
    Json json;
    json["parameter"] = finding.parameter;
    json["parameter-there"] = nullptr;
    if (finding.loaded) {
        json["parameter-there"] = finding.parameter_there.empty() ? finding.parameter : finding.parameter_there;
    }
    json["outcome"] = row.name;
    json["silent"] = row.silent;
    json["weight"] = compat::weight_name(finding.weight);
    json["best"] = compat::weight_name(finding.best);
    json["activity"] = compat::activity_name(finding.activity);
    json["saved"] = side_json(finding.saved, finding.saved_byte, finding.saved_offset);
    json["loaded"] = side_json(finding.loaded, finding.loaded_byte, finding.loaded_offset);
    add_path(json["saved"], finding.saved_path, finding.saved_line);
    add_path(json["loaded"], finding.loaded_path, finding.loaded_line);
    json["saved-overflow"] = text_or_null(finding.saved_overflow);
    json["rule"] = finding.rule;
    json["alternatives"] = Json::array();
    for (const compat::Alternative& other : finding.alternatives) {
        json["alternatives"].push_back(Json{{"assumption", other.assumption},
                                            {"outcome", compat::row_of(other.outcome).name},
                                            {"weight", compat::weight_name(other.weight)}});
    }
    json["brought-by"] = text_or_null(finding.brought_by);
    json["cause"] = or_null(finding.cause);
    json["fingerprint"] = finding.fingerprint;
    json["accepted-by"] = or_null(ruling.accepted[index]);
    json["new"] = ruling.known.empty() ? Json() : Json(!ruling.known[index]);
    json["observed"] = finding.observed;
    return json;
}

Json causes_json(const compat::TargetCheck& target) {
    Json list = Json::array();
    for (const compat::Cause& cause : target.causes) {
        list.push_back(Json{{"kind", cause_kind(cause.kind)},
                            {"what", cause.what},
                            {"weight", compat::weight_name(cause.weight)},
                            {"findings", cause.findings}});
    }
    return list;
}

Json cautions_json(const compat::TargetCheck& target) {
    Json list = Json::array();
    for (const compat::Caution& caution : target.cautions) {
        Json json;
        json["kind"] = compat::caution_key(caution.kind);
        json["parameter"] = caution.parameter;
        if (caution.kind == compat::CautionKind::louder) {
            json["rise-db"] = std::isfinite(caution.rise_db) ? Json(caution.rise_db) : Json();
        }
        list.push_back(std::move(json));
    }
    return list;
}

Json target_json(const CheckReport& report, const compat::TargetCheck& target, const compat::TargetRuling& ruling) {
    Json json;
    json["release"] = report.release(target.release).name;
    json["saved-on"] = release_or_null(report, target.saved_on);
    json["stamped-later"] = target.stamped_later;
    json["verdict"] = compat::verdict_name(target.verdict);
    json["best"] = compat::verdict_name(target.best);
    json["worst"] = compat::verdict_name(target.worst);
    json["weight"] = compat::weight_name(heaviest(target));
    json["reason"] = text_or_null(target.reason);
    json["verdict-left"] = compat::verdict_name(ruling.verdict);
    json["weight-left"] = compat::weight_name(ruling.weight);
    json["fails"] = ruling.fails;
    json["fingerprint"] = target.fingerprint;
    json["parameters"] = target.parameters;
    json["observed-parameters"] = target.observed;
    json["cautions"] = cautions_json(target);
    json["causes"] = causes_json(target);
    json["findings"] = Json::array();
    for (std::size_t i = 0; i < target.findings.size(); ++i)
        json["findings"].push_back(finding_json(target.findings[i], ruling, i));
    json["doubts"] = Json::array();
    for (const compat::Doubt& doubt : target.doubts) {
        json["doubts"].push_back(Json{{"parameter", doubt.parameter}, {"stored", doubt.stored}, {"why", doubt.why}});
    }
    json["unsettled-rules"] = Json::array();
    for (const schema::Rule rule : target.unsettled) json["unsettled-rules"].push_back(schema::row_of(rule).name);
    json["repairs"] = target.repairs;
    json["risks"] = target.risks;
    json["told-for"] = text_or_null(target.told_for);
    return json;
}

Json floor_json(const CheckReport& report, const std::optional<compat::Floor>& floor) {
    if (!floor) return {};
    return Json{{"oldest", release_or_null(report, floor->oldest)}, {"islands", release_names(report, floor->islands)}};
}

Json preset_json(const CheckReport& report, std::size_t index) {
    const PresetReport& preset = report.presets[index];
    const compat::PresetCheck& check = preset.check;
    Json json;
    json["file"] = report.files[preset.file].file;
    json["slot"] = check.slot >= 0 ? Json(check.slot) : Json();
    json["entry"] = check.entry + 1;
    json["name"] = check.name;
    json["state"] = state_name(check.state);
    json["stamp"] = text_or_null(check.stamp);
    json["saved-on"] = release_names(report, check.saved_on);
    json["unexplained-bytes"] = check.unexplained;
    json["damage"] = problems_json(preset.damage);
    json["intact-floor"] = floor_json(report, check.intact);
    json["near-floor"] = floor_json(report, check.near);
    json["targets"] = Json::array();
    for (std::size_t target = 0; target < check.targets.size(); ++target)
        json["targets"].push_back(
            target_json(report, check.targets[target], report.policy.ruling.presets[index][target]));
    return json;
}

Json request_json(const CheckReport& report) {
    Json json;
    json["on"] = release_names(report, report.targets);
    json["all-releases"] = report.all_releases;
    json["saved-on"] = text_or_null(report.saved_on);
    json["variant"] = text_or_null(report.variant);
    json["slot"] = text_or_null(report.slots);
    json["name"] = text_or_null(report.name);
    return json;
}

std::size_t failing(const CheckReport& report, std::size_t target) {
    const auto& presets = report.policy.ruling.presets;
    return static_cast<std::size_t>(
        std::count_if(presets.begin(), presets.end(), [&](const auto& targets) { return targets[target].fails; }));
}

Json summary_json(const CheckReport& report) {
    Json json;
    json["presets"] = report.presets.size();
    json["left-out"] = report.left_out;
    json["targets"] = Json::array();
    for (std::size_t target = 0; target < report.targets.size(); ++target) {
        const Tally counts = tally(report, target);
        json["targets"].push_back(Json{{"release", report.release(report.targets[target]).name},
                                       {"intact", counts.of(Standing::intact)},
                                       {"near", counts.of(Standing::near)},
                                       {"altered", counts.change()},
                                       {"altered-severely", counts.of(Standing::severe)},
                                       {"refused", counts.of(Standing::refused)},
                                       {"undecided", counts.of(Standing::undecided)},
                                       {"damaged", counts.of(Standing::damaged)},
                                       {"stamped-later", counts.stamped_later},
                                       {"with-caution", counts.cautions()},
                                       {"failing", failing(report, target)}});
    }
    return json;
}

Json tonight_json(const CheckReport& report) {
    Json list = Json::array();
    for (const TonightPreset& one : report.tonight->presets) {
        list.push_back(Json{{"number", one.song},
                            {"song", one.title},
                            {"substitute", one.substitute},
                            {"file", one.file},
                            {"asked", one.label},
                            {"preset", one.preset ? Json(*one.preset) : Json()}});
    }
    return Json{{"file", report.tonight->file}, {"title", report.tonight->title}, {"presets", std::move(list)}};
}

Json files_json(const CheckReport& report) {
    Json list = Json::array();
    for (const InputFile& file : report.files) {
        list.push_back(Json{{"file", file.file},
                            {"sha-256", file.digest},
                            {"holds", file.holds},
                            {"empty-slots", file.empty},
                            {"absent-slots", file.absent},
                            {"problems", problems_json(file.problems)}});
    }
    return list;
}

}  // namespace

Json check_value(const CheckReport& report) {
    Json json;
    json["format"] = check_format;
    json["program"] = Json{{"name", "downfit"}, {"version", report.version}};
    json["note"] = promise();
    json["device"] = device_json(*report.device);
    json["schemas"] = schemas_json(*report.device);
    json["request"] = request_json(report);
    json["policy"] = policy_json(report);
    json["baseline"] = baseline_json(report);
    json["summary"] = summary_json(report);
    json["files"] = files_json(report);
    if (report.tonight) json["tonight"] = tonight_json(report);
    json["presets"] = Json::array();
    for (std::size_t i = 0; i < report.presets.size(); ++i) json["presets"].push_back(preset_json(report, i));
    json["installing"] = Json::array();
    for (const Installing& stated : installing(report)) {
        Json closed = Json::array();
        for (const ClosedWay& way : stated.closed) {
            closed.push_back(
                Json{{"from", report.release(way.from).name}, {"oldest", report.release(way.oldest).name}});
        }
        json["installing"].push_back(Json{{"release", report.release(report.targets[stated.target]).name},
                                          {"closed-from", std::move(closed)},
                                          {"erases", stated.erases}});
    }
    json["unsettled-rules"] = Json::array();
    for (const UnsettledRule& rule : unsettled_rules(report)) {
        json["unsettled-rules"].push_back(Json{{"rule", schema::row_of(rule.rule).name}, {"presets", rule.presets}});
    }
    json["assets-not-given"] = Json::array();
    for (const Leaning& leaning : report.leaning) {
        json["assets-not-given"].push_back(Json{{"asset", leaning.asset}, {"presets", leaning.presets}});
    }
    json["unexplained-bytes"] = Json::array();
    for (const Unexplained& bytes : report.unexplained) {
        json["unexplained-bytes"].push_back(Json{{"release", bytes.release},
                                                 {"bytes", bytes.bytes},
                                                 {"varying", bytes.varying},
                                                 {"of", bytes.places},
                                                 {"partly-varying", bytes.partly_varying},
                                                 {"presets", bytes.presets}});
    }
    return json;
}

std::string check_json(const CheckReport& report) {
    return json_text(check_value(report));
}

}  // namespace downfit::report
