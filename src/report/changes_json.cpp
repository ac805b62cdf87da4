#include "files/input.h"
#include "report/changes_report.h"
#include "report/json.h"

namespace downfit::report {

namespace {

Json way_json(const ChangesReport& report, std::size_t index, bool back) {
    const study::Change& change = report.changes[index];
    const study::Way& way = back ? change.back : change.forward;
    Json json;
    json["effect"] = study::effect_name(way.effect);
    json["silent"] = study::is_silent(way.effect);
    json["words"] = way.words;
    if (!report.use) return json;
    const study::WayUse& all = back ? report.use->back : report.use->forward;
    const study::ChangeUse& use = all.changes[index];
    json["presets"] = use.presets.size();
    json["audible"] = use.audible.size();
    const std::size_t refused = all.refused_but({use.presets.begin(), use.presets.end()});
    json["unaffected"] = all.presets.size() - use.presets.size() - refused;
    json["without-difference"] = use.without.size();
    json["findings"] = use.findings;
    json["which"] = Json::array();
    for (const std::size_t one : use.presets) {
        const study::UsedPreset& preset = all.presets[one];
        json["which"].push_back(
            {{"file", report.files[preset.file].file}, {"slot", preset.slot}, {"name", preset.name}});
    }
    return json;
}

Json change_json(const ChangesReport& report, std::size_t index) {
    const study::Change& change = report.changes[index];
    Json json;
    json["kind"] = study::row_of(change.kind).name;
    json["subject"] = change.subject;
    json["subject-before"] = text_or_null(change.subject_before);
    json["where"] = text_or_null(change.where);
    json["before"] = text_or_null(change.before);
    json["after"] = text_or_null(change.after);
    json["holds"] = change.holds;
    json["also"] = change.also;
    json["releases"] = change.releases;
    json["suggestion"] = text_or_null(change.suggestion);
    Json place;
    place["file"] = files::last_part(change.place.file);
    if (change.place.line > 0) {
        place["line"] = change.place.line;
        place["column"] = change.place.column;
        place["pointer"] = change.place.pointer;
    }
    json["place"] = change.place.file.empty() ? Json() : place;
    json["back"] = way_json(report, index, true);
    json["forward"] = way_json(report, index, false);
    return json;
}

Json use_json(const ChangesReport& report, bool back) {
    const study::WayUse& way = back ? report.use->back : report.use->forward;
    using compat::Verdict;
    Json json;
    json["release"] = report.release(way.target);
    json["presets"] = way.presets.size();
    for (const Verdict verdict :
         {Verdict::intact, Verdict::near, Verdict::altered, Verdict::refused, Verdict::undecided})
        json[std::string(compat::verdict_name(verdict))] = way.of(verdict);
    json["damaged"] = way.damaged();
    json["findings"] = way.findings;
    json["findings-from-changes"] = way.put_down;
    json["others"] = Json::array();
    for (const study::Unexplained& one : way.others) {
        json["others"].push_back(
            {{"parameter", one.parameter}, {"outcome", compat::row_of(one.outcome).name}, {"presets", one.presets}});
    }
    return json;
}

}  // namespace

std::string changes_json(const ChangesReport& report) {
    Json json;
    json["format"] = "downfit changes 1";
    json["program"] = {{"name", "downfit"}, {"version", report.version}};
    json["device"] = device_json(*report.device);
    json["schemas"] = schemas_json(*report.device);
    json["older"] = report.release(report.older);
    json["newer"] = report.release(report.newer);
    json["between"] = Json::array();
    for (std::size_t order = report.older + 1; order < report.newer; ++order) {
        const schema::ReleaseEntry& release = report.device->releases[order];
        json["between"].push_back({{"release", release.name}, {"schema", release.schema.has_value()}});
    }
    json["changes"] = Json::array();
    for (std::size_t i = 0; i < report.changes.size(); ++i) json["changes"].push_back(change_json(report, i));
    if (!report.use) {
        json["use"] = nullptr;
        return json_text(json);
    }
    json["use"]["dumps"] = Json::array();
    for (const UsedFile& file : report.files)
        json["use"]["dumps"].push_back({{"file", file.file}, {"sha-256", file.digest}});
    json["use"]["damaged"] = report.use->damaged;
    json["use"]["outside"] = report.use->outside;
    json["use"]["back"] = use_json(report, true);
    json["use"]["forward"] = use_json(report, false);
    return json_text(json);
}

}  // namespace downfit::report
