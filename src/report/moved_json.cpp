#include "report/json.h"
#include "report/moved.h"
#include "study/storage_text.h"

namespace downfit::report {

namespace {

Json slot_or_null(int slot) {
    return slot >= 0 ? Json(slot) : Json();
}

Json record_or_null(const std::vector<study::RecordStep>& records) {
    return records.empty() ? Json() : Json(study::records_text(records));
}

Json place_json(const study::MovedByte& byte) {
    return Json{{"record", record_or_null(byte.place.records)},
                {"byte", byte.place.byte},
                {"body", Json::array({byte.body_before, byte.body_after})},
                {"offset", Json::array({byte.file_before, byte.file_after})},
                {"before", byte.before},
                {"after", byte.after},
                {"bits", byte.before ^ byte.after}};
}

Json parameters_json(const std::vector<study::Covering>& parameters) {
    Json list = Json::array();
    for (const study::Covering& one : parameters) {
        list.push_back(Json{{"parameter", one.parameter},
                            {"stored", Json::array({one.stored_before, one.stored_after})},
                            {"value", Json::array({one.value_before, one.value_after})}});
    }
    return list;
}

std::string_view fit_word(study::Fit fit) {
    if (fit == study::Fit::close) return "close";
    return fit == study::Fit::wider ? "wider" : "remote";
}

Json reading_json(const study::Reading& reading) {
    Json json;
    json["reading"] = reading.name;
    json["fit"] = fit_word(reading.fit);
    json["storage"] = reading.storage ? Json::parse('{' + study::storage_text(*reading.storage) + '}') : Json();
    json["before"] = reading.before;
    json["after"] = reading.after;
    return json;
}

Json run_json(const study::MovedRun& run) {
    Json json;
    json["bytes"] = Json::array();
    for (const study::MovedByte& byte : run.bytes) json["bytes"].push_back(place_json(byte));
    json["parameters"] = parameters_json(run.parameters);
    json["explained"] = run.whole_explained;
    json["readings"] = Json::array();
    for (const study::Reading& reading : run.readings) json["readings"].push_back(reading_json(reading));
    return json;
}

Json values_json(const std::vector<study::MovedValue>& values) {
    Json json = Json::array();
    const auto text = [](const std::optional<std::string>& one) { return one ? Json(*one) : Json(); };
    for (const study::MovedValue& value : values) {
        json.push_back(Json{{"path", value.path},
                            {"before", text(value.before)},
                            {"after", text(value.after)},
                            {"offset", Json::array({value.before ? Json(value.file_before) : Json(),
                                                    value.after ? Json(value.file_after) : Json()})},
                            {"parameters", parameters_json(value.parameters)}});
    }
    return json;
}

Json entry_json(const study::MovedEntry& entry) {
    Json json;
    json["holds"] = entry.holds;
    json["slot"] = Json::array({slot_or_null(entry.slot_before), slot_or_null(entry.slot_after)});
    json["name"] = entry.name;
    json["read-as"] = entry.read_as.empty() ? Json() : Json(entry.read_as);
    json["body-bytes"] = Json::array({entry.size_before, entry.size_after});
    json["moved-bytes"] = entry.bytes_moved();
    json["only-before"] = entry.only_before;
    json["only-after"] = entry.only_after;
    json["values"] = entry.by_name ? values_json(entry.values) : Json();
    json["runs"] = Json::array();
    for (const study::MovedRun& run : entry.runs) json["runs"].push_back(run_json(run));
    json["records"] = Json::array();
    for (const study::MovedRecord& record : entry.records) {
        json["records"].push_back(Json{{"record", study::records_text(record.records)},
                                       {"in", record.appeared ? "after" : "before"},
                                       {"body", record.at},
                                       {"bytes", record.value},
                                       {"parameters", parameters_json(record.parameters)}});
    }
    json["not-counted"] = Json::array();
    for (const study::MovedAside& aside : entry.aside) {
        json["not-counted"].push_back(Json{{"what", aside.what},
                                           {"offset", Json::array({aside.file_before, aside.file_after})},
                                           {"before", aside.before},
                                           {"after", aside.after}});
    }
    return json;
}

Json file_json(const CoverageFile& file) {
    return Json{{"file", file.file}, {"sha-256", file.digest}, {"problems", problems_json(file.problems)}};
}

}  // namespace

std::string moved_json(const MovedReport& report) {
    Json json;
    json["format"] = moved_format;
    json["program"] = Json{{"name", "downfit"}, {"version", report.version}};
    json["device"] = device_json(*report.device);
    json["schemas"] = schemas_json(*report.device);
    json["before"] = file_json(report.before);
    json["after"] = file_json(report.after);
    json["compared"] = report.moved.compared;
    json["damaged"] = report.moved.damaged;
    json["only-before"] = report.moved.only_before;
    json["only-after"] = report.moved.only_after;
    json["entries"] = Json::array();
    for (const study::MovedEntry& entry : report.moved.entries) json["entries"].push_back(entry_json(entry));
    json["outside"] = Json::array();
    for (const study::MovedOutside& byte : report.moved.outside) {
        json["outside"].push_back(
            Json{{"image", byte.image}, {"byte", byte.byte}, {"before", byte.before}, {"after", byte.after}});
    }
    return json_text(json);
}

}  // namespace downfit::report
