#include "report/json.h"

#include "files/input.h"

namespace downfit::report {

namespace {

using files::last_part;

struct PlaceJsonWriter {
    Json& json;

    void operator()(std::monostate) const {}
    void operator()(const std::string& file) const { json["file"] = file; }
    void operator()(const TextPlace& place) const {
        json["file"] = place.file;
        json["line"] = place.line;
        json["column"] = place.column;
        if (!place.pointer.empty()) json["pointer"] = place.pointer;
    }
    void operator()(const BytePlace& place) const {
        json["file"] = place.file;
        json["offset"] = place.offset;
        json["length"] = place.length;
        if (place.slot >= 0) json["stored-slot"] = place.slot;
    }
};

constexpr std::size_t indent_step = 2;  ///< columns that each level is indented by

std::string in_one_line(const Json& json) {
    return json.dump(-1, ' ', true, Json::error_handler_t::replace);
}

void append_value(std::string& out, const Json& json, std::size_t indent, bool items_in_one_line = false) {
    if (!json.is_structured() || json.empty()) {
        out += in_one_line(json);
        return;
    }
    out += json.is_object() ? '{' : '[';
    const char* separator = "\n";
    for (const auto& [key, value] : json.items()) {
        out += separator + std::string(indent + indent_step, ' ');
        separator = ",\n";
        if (json.is_object()) out += in_one_line(key) + ": ";
        if (items_in_one_line) {
            out += in_one_line(value);
        } else {
            append_value(out, value, indent + indent_step, json.is_object() && key == "findings");
        }
    }
    out += '\n' + std::string(indent, ' ') + (json.is_object() ? '}' : ']');
}

}  // namespace

std::string json_text(const Json& json) {
    std::string out;
    append_value(out, json, 0);
    return out + '\n';
}

Json problem_json(const Problem& problem) {
    Json json;
    json["what"] = problem.what;
    if (!problem.expected.empty()) json["expected"] = problem.expected;
    if (!problem.remedy.empty()) json["remedy"] = problem.remedy;
    std::visit(PlaceJsonWriter{json}, problem.place);
    return json;
}

Json problems_json(const Problems& problems) {
    Json list = Json::array();
    for (const Problem& problem : problems) list.push_back(problem_json(problem));
    return list;
}

Json device_json(const schema::Device& device) {
    Json json;
    json["device"] = device.name;
    json["title"] = device.title;
    json["maker"] = device.maker;
    return json;
}

Json schemas_json(const schema::Device& device) {
    Json list = Json::array();
    list.push_back(Json{{"file", last_part(device.file)}, {"holds", "device"}, {"sha-256", device.digest}});
    for (const schema::ReleaseEntry& release : device.releases) {
        if (!release.schema) continue;
        list.push_back(Json{{"file", last_part(release.schema->file)},
                            {"holds", "release"},
                            {"release", release.name},
                            {"sha-256", release.schema->digest}});
    }
    return list;
}

}  // namespace downfit::report
