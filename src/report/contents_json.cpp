#include "report/contents.h"
#include "report/json.h"

namespace downfit::report {

namespace {

Json stored_json(const dump::Stored& stored) {
    switch (stored.kind) {
        case dump::Stored::Kind::none: return {};
        case dump::Stored::Kind::whole: return stored.whole;
        case dump::Stored::Kind::real: return stored.real;
        case dump::Stored::Kind::text: break;
    }
    return stored.text;
}

Json tree_json(const EntryContents& entry, bool all) {
    Json list = Json::array();
    for (const dump::Leaf& leaf : entry.tree) {
        if (!leaf.exists && !all) continue;
        const schema::Field& field = entry.instances->fields()[leaf.field];
        list.push_back(Json{{"parameter", field.id},
                            {"stored", stored_json(leaf.stored)},
                            {"value", leaf.value},
                            {"exists", leaf.exists},
                            {"at-default", leaf.at_default},
                            {"beyond-range", leaf.beyond_range}});
    }
    return list;
}

Json entry_json(const EntryContents& entry, bool all) {
    Json json;
    json["holds"] = entry.holds;
    json["slot"] = entry.slot >= 0 ? Json(entry.slot) : Json();
    json["name"] = entry.name;
    json["state"] = state_name(entry.state);
    json["stamp"] = entry.stamp.empty() ? Json() : Json(entry.stamp);
    json["saved-on"] = entry.saved_on;
    json["damage"] = problems_json(entry.damage);
    json["read-as"] = entry.read_as.empty() ? Json() : Json(entry.read_as);
    json["body-bytes"] = entry.body_bytes;
    json["unexplained-bytes"] = entry.unexplained_bytes;
    if (!entry.tree.empty()) json["parameters"] = tree_json(entry, all);
    return json;
}

}  // namespace

std::string contents_json(const ContentsReport& report) {
    Json json;
    json["format"] = contents_format;
    json["program"] = Json{{"name", "downfit"}, {"version", report.version}};
    json["device"] = device_json(*report.device);
    json["schemas"] = schemas_json(*report.device);
    json["file"] = report.file;
    json["sha-256"] = report.digest;
    json["absent-slots"] = report.absent;
    json["problems"] = problems_json(report.problems);
    json["entries"] = Json::array();
    for (const EntryContents& entry : report.entries) json["entries"].push_back(entry_json(entry, report.all));
    return json_text(json);
}

}  // namespace downfit::report
