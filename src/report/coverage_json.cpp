#include "report/coverage.h"
#include "report/json.h"

namespace downfit::report {

namespace {

Json byte_json(const study::SeenByte& byte) {
    Json json;
    json["record"] = byte.place.records.empty() ? Json() : Json(study::records_text(byte.place.records));
    json["part"] = byte.place.part == study::Place::Part::value  ? "value"
                   : byte.place.part == study::Place::Part::head ? "head"
                                                                 : "tail";
    json["byte"] = byte.place.byte;
    json["look"] = row_of(byte.look).word;
    json["explained-bits"] = byte.explained;
    json["differing-bits"] = byte.differing;
    json["least"] = byte.least;
    json["most"] = byte.most;
    json["presets"] = byte.presets;
    return json;
}

Json beyond_json(const study::Seen& seen) {
    return Json{
        {"parameter", seen.parameter},
        {"expected", seen.expected},
        {"least", seen.least},
        {"most", seen.most},
        {"presets", seen.presets},
        {"first",
         Json{{"file", seen.file}, {"slot", seen.slot >= 0 ? Json(seen.slot) : Json()}, {"parameter", seen.field}}}};
}

Json names_json(const study::SeenNames& seen) {
    Json json;
    json["values"] = seen.values;
    json["explained"] = seen.explained;
    json["paths"] = seen.paths;
    json["unexplained"] = Json::array();
    for (const study::SeenValue& value : seen.unexplained) {
        json["unexplained"].push_back(
            Json{{"path", value.path}, {"text", value.text}, {"presets", value.presets}, {"differs", value.differs}});
    }
    return json;
}

Json part_json(const CoverageReport& report, const study::Covered& part) {
    Json json;
    json["release"] = report.device->releases[part.release].name;
    json["layout"] = report.device->layouts[part.layout].name;
    json["presets"] = part.presets;
    json["body-bytes"] = part.body_bytes;
    json["explained-bytes"] = part.explained_bytes;
    json["places"] = part.bytes.size();
    json["unexplained"] = part.unexplained();
    json["unexplained-varying"] = part.unexplained_varying();
    json["partly-varying"] = part.count(study::Look::partly);
    json["bytes"] = Json::array();
    for (const study::SeenByte& byte : part.bytes) json["bytes"].push_back(byte_json(byte));
    json["values"] = part.names_seen ? names_json(*part.names_seen) : Json();
    json["beyond-range"] = Json::array();
    for (const study::Seen& seen : part.beyond) json["beyond-range"].push_back(beyond_json(seen));
    json["unmoved"] = Json::array();
    for (const study::Unmoved& unmoved : part.unmoved) {
        json["unmoved"].push_back(Json{{"parameter", unmoved.parameter},
                                       {"presets", unmoved.presets},
                                       {"at-default", unmoved.at_default},
                                       {"value", unmoved.value.empty() ? Json() : Json(unmoved.value)}});
    }
    return json;
}

}  // namespace

std::string coverage_json(const CoverageReport& report) {
    Json json;
    json["format"] = coverage_format;
    json["program"] = Json{{"name", "downfit"}, {"version", report.version}};
    json["device"] = device_json(*report.device);
    json["schemas"] = schemas_json(*report.device);
    json["files"] = Json::array();
    for (const CoverageFile& file : report.files) {
        json["files"].push_back(
            Json{{"file", file.file}, {"sha-256", file.digest}, {"problems", problems_json(file.problems)}});
    }
    json["without-release"] = report.coverage.without_release;
    json["damaged"] = report.coverage.damaged;
    json["parts"] = Json::array();
    for (const study::Covered& part : report.coverage.parts) json["parts"].push_back(part_json(report, part));
    return json_text(json);
}

}  // namespace downfit::report
