#include "report/check_value.h"
#include "report/refit_report.h"

namespace downfit::report {

namespace {

std::string_view fate_name(refit::Fate fate) {
    switch (fate) {
        case refit::Fate::kept: return "kept";
        case refit::Fate::written: return "written";
        case refit::Fate::left: break;
    }
    return "left";
}

std::string_view found_by_name(refit::FoundBy found_by) {
    switch (found_by) {
        case refit::FoundBy::name: return "name";
        case refit::FoundBy::slot: return "slot";
        case refit::FoundBy::only:
        case refit::FoundBy::nothing: break;
    }
    return "only";
}

Json older_json(const refit::Refitted& preset) {
    if (preset.older_found_by == refit::FoundBy::nothing) return {};
    return Json{{"file", preset.older_file},
                {"slot", preset.older_slot >= 0 ? Json(preset.older_slot) : Json()},
                {"name", preset.older_name},
                {"found-by", found_by_name(preset.older_found_by)}};
}

Json notes_json(const refit::Refitted& preset, refit::Note::Kind kind) {
    Json list = Json::array();
    for (const refit::Note& note : preset.notes) {
        if (note.kind == kind) list.push_back(note.parameter);
    }
    return list;
}

Json presets_json(const RefitReport& report) {
    Json list = Json::array();
    for (std::size_t i = 0; i < report.presets.size(); ++i) {
        const refit::Refitted& preset = report.presets[i];
        const PresetReport& checked = report.check.presets[i];
        const bool written = preset.fate == refit::Fate::written;
        list.push_back(
            Json{{"slot", checked.check.slot >= 0 ? Json(checked.check.slot) : Json()},
                 {"name", checked.check.name},
                 {"fate", fate_name(preset.fate)},
                 {"reason", preset.reason.empty() ? Json() : Json(preset.reason)},
                 {"before", compat::verdict_name(preset.before)},
                 {"now", compat::verdict_name(checked.check.targets.front().verdict)},
                 {"parameters", written ? preset.parameters : 0},
                 {"substituted", written ? notes_json(preset, refit::Note::Kind::substituted) : Json::array()},
                 {"older-copy", older_json(preset)},
                 {"filled", written ? notes_json(preset, refit::Note::Kind::filled) : Json::array()},
                 {"withheld", written ? notes_json(preset, refit::Note::Kind::withheld) : Json::array()}});
    }
    return list;
}

Json substitutes_json(const RefitReport& report) {
    if (report.substitutes.empty()) return {};
    Json list = Json::array();
    for (const SubstituteUse& use : report.uses) {
        list.push_back(Json{{"parameter", use.parameter},
                            {"lost", use.lost},
                            {"instead", use.instead},
                            {"reason", use.reason.empty() ? Json() : Json(use.reason)},
                            {"presets", use.presets}});
    }
    return Json{{"file", report.substitutes}, {"sha-256", report.substitutes_digest}, {"substitutes", std::move(list)}};
}

}  // namespace

std::string refit_json(const RefitReport& report) {
    Json json;
    json["format"] = refit_format;
    json["program"] = Json{{"name", "downfit"}, {"version", report.check.version}};
    json["source"] = report.source;
    json["release"] = report.check.release(report.check.targets.front()).name;
    json["written"] =
        report.out.empty() ? Json() : Json{{"file", report.out}, {"sha-256", report.digest}, {"bytes", report.bytes}};
    json["substitutes"] = substitutes_json(report);
    json["filled-from"] = report.older;
    json["presets"] = presets_json(report);
    json["check"] = check_value(report.check);
    return json_text(json);
}

}  // namespace downfit::report
