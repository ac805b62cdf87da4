#include <algorithm>
#include <cmath>

#include "report/compare_report.h"
#include "report/contents.h"
#include "report/json.h"

namespace downfit::report {

namespace {

using compat::Finding;
using compat::TargetCheck;

Json side_json(const std::optional<compat::Shown>& shown, const std::optional<std::size_t>& byte,
               const std::optional<std::size_t>& offset, const std::string& path, std::size_t line) {
    if (!shown) return {};
    Json json;
    json["stored"] = or_null(shown->stored);
    json["value"] = shown->value;
    json["byte"] = or_null(byte);
    json["offset"] = or_null(offset);
    if (path.empty()) return json;
    json["path"] = path;
    json["line"] = line;
    return json;
}

Json finding_json(const Finding& finding) {
    Json json;
    json["parameter"] = finding.parameter;
    json["difference"] = difference_word(finding.outcome);
    json["weight"] = compat::weight_name(finding.weight);
    json["best"] = compat::weight_name(finding.best);
    json["activity"] = compat::activity_name(finding.activity);
    json["a"] =
        side_json(finding.saved, finding.saved_byte, finding.saved_offset, finding.saved_path, finding.saved_line);
    json["b"] =
        side_json(finding.loaded, finding.loaded_byte, finding.loaded_offset, finding.loaded_path, finding.loaded_line);
    json["called-in-b"] = text_or_null(finding.parameter_there);
    json["alternatives"] = Json::array();
    for (const compat::Alternative& other : finding.alternatives) {
        const bool same = other.outcome == compat::Outcome::kept;
        json["alternatives"].push_back(Json{{"assumption", other.assumption},
                                            {"difference", same ? Json() : Json(difference_word(other.outcome))},
                                            {"weight", compat::weight_name(other.weight)}});
    }
    json["cause"] = or_null(finding.cause);
    json["observed"] = finding.observed;
    return json;
}

std::string_view result_word(compat::Verdict verdict) {
    switch (verdict) {
        case compat::Verdict::intact: return "same";
        case compat::Verdict::near: return "near";
        case compat::Verdict::undecided: return "undecided";
        case compat::Verdict::altered:
        case compat::Verdict::refused: break;
    }
    return "different";
}

Json compared_check_json(const CompareReport& report, const TargetCheck& check) {
    const auto release = [&](const std::optional<std::size_t>& order) {
        return order ? Json(report.device->releases[*order].name) : Json();
    };
    Json json;
    json["a-on"] = release(check.saved_on);
    json["b-on"] = release(check.release);
    json["result"] = result_word(check.verdict);
    json["best"] = result_word(check.best);
    json["worst"] = result_word(check.worst);
    json["reason"] = text_or_null(check.reason);
    json["parameters"] = check.parameters;
    json["cautions"] = Json::array();
    for (const compat::Caution& caution : check.cautions) {
        Json one{{"kind", compat::caution_key(caution.kind)}, {"parameter", caution.parameter}};
        if (caution.kind == compat::CautionKind::louder)
            one["rise-db"] = std::isfinite(caution.rise_db) ? Json(caution.rise_db) : Json();
        json["cautions"].push_back(std::move(one));
    }
    json["causes"] = Json::array();
    for (const compat::Cause& cause : check.causes) {
        json["causes"].push_back(
            Json{{"what", cause.what}, {"weight", compat::weight_name(cause.weight)}, {"findings", cause.findings}});
    }
    json["findings"] = Json::array();
    for (const Finding& finding : check.findings) json["findings"].push_back(finding_json(finding));
    return json;
}

Json preset_json(const CompareReport& report, const std::optional<compat::PresetIn>& preset, bool second) {
    if (!preset) return {};
    Json json;
    json["file"] = report.side(second).files[preset->part].file;
    json["slot"] = preset->slot >= 0 ? Json(preset->slot) : Json();
    json["entry"] = preset->entry + 1;
    json["name"] = preset->name;
    json["state"] = state_name(preset->state);
    json["stamp"] = text_or_null(preset->stamp);
    json["saved-on"] = Json::array();
    for (const std::size_t order : preset->saved_on) json["saved-on"].push_back(report.device->releases[order].name);
    return json;
}

Json pair_json(const CompareReport& report, const compat::ComparedPair& pair) {
    const bool both = pair.first && pair.second && pair.first->state == dump::SlotState::filled &&
                      pair.second->state == dump::SlotState::filled;
    Json json;
    json["a"] = preset_json(report, pair.first, false);
    json["b"] = preset_json(report, pair.second, true);
    json["result"] = compat::alike_name(pair.alike);
    json["fails"] = pair.fails;
    json["same-bytes"] = both ? Json(pair.likeness.same_bytes) : Json();
    json["unexplained-differing"] = both ? Json(pair.likeness.other_bytes) : Json();
    json["sound"] = both ? compared_check_json(report, pair.likeness.sound) : Json();
    json["prediction"] = pair.prediction ? compared_check_json(report, *pair.prediction) : Json();
    return json;
}

Json place_json(const TextPlace& place) {
    if (place.file.empty()) return {};
    return Json{{"file", place.file}, {"line", place.line}, {"column", place.column}, {"pointer", place.pointer}};
}

Json examples_json(const std::vector<compat::SeenIn>& examples) {
    Json list = Json::array();
    for (const compat::SeenIn& example : examples) {
        list.push_back(Json{{"pair", example.preset},
                            {"parameter", text_or_null(example.value.parameter)},
                            {"predicted", example.value.predicted},
                            {"shown", example.value.shown}});
    }
    return list;
}

Json rule_fault_json(const CompareReport& report, const compat::RuleFault& fault) {
    Json json;
    json["rule"] = schema::row_of(fault.rule).name;
    json["stated"] = fault.stated ? Json(schema::action_name(*fault.stated)) : Json();
    json["place"] = place_json(fault.place);
    json["own-of"] = text_or_null(fault.own_parameter);
    json["fits"] = Json::array();
    for (const schema::Action action : fault.fits) json["fits"].push_back(schema::action_name(action));
    json["parameters"] = fault.parameters;
    json["values"] = fault.values;
    json["presets"] = fault.presets.size();
    json["confirmed"] = fault.confirmed;
    const auto remedy = remedy_of(report, fault);
    json["remedy"] = remedy ? Json{{"file", remedy->file},
                                   {"line", or_null(remedy->line)},
                                   {"write", remedy->write},
                                   {"why", remedy->why}}
                            : Json();
    json["examples"] = examples_json(fault.examples);
    return json;
}

Json side_files(const CompareSide& side) {
    Json list = Json::array();
    for (const InputFile& file : side.files) {
        list.push_back(Json{{"file", file.file},
                            {"sha-256", file.digest},
                            {"holds", file.holds},
                            {"problems", problems_json(file.problems)}});
    }
    return Json{{"files", std::move(list)}, {"presets", side.presets}};
}

std::string_view read_back_word(compat::ReadBack read_back) {
    return read_back == compat::ReadBack::stored ? "stored" : "loaded";
}

Json summary_json(const CompareReport& report) {
    Json json;
    const compat::Comparison& comparison = report.comparison;
    json["pairs"] = comparison.pairs.size();
    json["left-out"] = comparison.left_out;
    for (std::size_t i = compat::alike_count; i-- > 0;) {
        const auto alike = static_cast<compat::Alike>(i);
        json[std::string(compat::alike_name(alike))] = comparison.count(alike);
    }
    json["same-bytes"] = std::count_if(comparison.pairs.begin(), comparison.pairs.end(),
                                       [](const auto& pair) { return pair.likeness.same_bytes; });
    json["failing"] =
        std::count_if(comparison.pairs.begin(), comparison.pairs.end(), [](const auto& pair) { return pair.fails; });
    return json;
}

}  // namespace

std::string compare_json(const CompareReport& report) {
    const compat::Comparison& comparison = report.comparison;
    Json json;
    json["format"] = compare_format;
    json["program"] = Json{{"name", "downfit"}, {"version", report.version}};
    json["device"] = device_json(*report.device);
    json["schemas"] = schemas_json(*report.device);
    json["policy"] = report.policy.file.empty() ? Json()
                                                : Json{{"file", report.policy.file},
                                                       {"sha-256", report.policy.digest},
                                                       {"fails", schema::fails_name(report.policy.fails)}};
    Json request;
    request["read-back"] = report.read_back == compat::ReadBack::none ? Json() : Json(read_back_word(report.read_back));
    request["on"] = report.release ? Json(report.device->releases[*report.release].name) : Json();
    request["saved-on"] = text_or_null(report.saved_on);
    request["variant"] = text_or_null(report.variant);
    request["slot"] = text_or_null(report.slots);
    request["name"] = text_or_null(report.name);
    request["exact"] = report.exact;
    json["request"] = std::move(request);
    json["matched-by"] = compat::match_name(comparison.by);
    json["other-names"] = comparison.other_names;
    json["a"] = side_files(report.a);
    json["b"] = side_files(report.b);
    json["summary"] = summary_json(report);
    json["pairs"] = Json::array();
    for (const compat::ComparedPair& pair : comparison.pairs) json["pairs"].push_back(pair_json(report, pair));
    json["contradicted-rules"] = Json::array();
    json["settled-rules"] = Json::array();
    for (const compat::RuleFault& fault : comparison.rule_faults)
        json[fault.stated ? "contradicted-rules" : "settled-rules"].push_back(rule_fault_json(report, fault));
    json["unexplained-values"] = Json::array();
    for (const compat::ValueFault& fault : comparison.value_faults) {
        json["unexplained-values"].push_back(Json{{"parameter", text_or_null(fault.parameter)},
                                                  {"place", place_json(fault.place)},
                                                  {"suspect", suspect_of(fault)},
                                                  {"values", fault.values},
                                                  {"presets", fault.presets.size()},
                                                  {"examples", examples_json(fault.examples)}});
    }
    json["not-in-both"] = Json::array();
    for (const compat::NotInBoth& missing : comparison.not_in_both)
        json["not-in-both"].push_back(Json{{"release", missing.release}, {"parameters", missing.parameters}});
    return json_text(json);
}

}  // namespace downfit::report
