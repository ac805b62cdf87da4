// JSON and XML dumps: reading, what is tolerated, what is wrong and where, writing back.
#include <string>

#include "compat/by_name.h"
#include "dump/dump.h"
#include "dump/locate.h"
#include "support/catch.h"

using namespace downfit;
using namespace downfit::testing;

namespace {

constexpr const char* json_parameters = R"("parameters": {
    "name":  {"path": "/name", "kind": "text", "role": "name"},
    "gain":  {"path": "/gain", "kind": "real"},
    "count": {"path": "/count"},
    "on":    {"path": "/on", "kind": "switch"},
    "type":  {"path": "/type", "as": "text", "choices": ["Room", "Hall"]}})";
constexpr const char* xml_parameters = R"("parameters": {
    "name":  {"path": "name", "kind": "text", "role": "name"},
    "gain":  {"path": "p[@id='gain']/@v", "kind": "real"},
    "count": {"path": "@count"},
    "on":    {"path": "p[@id='on']/@v", "kind": "switch", "written": {"on": "yes", "off": "no"}},
    "type":  {"path": "type", "as": "text", "choices": ["Room", "Hall"]}})";

Bytes bytes_of(const std::string& text) {
    return {text.begin(), text.end()};
}

schema::Device device_of(const std::string& form) {
    return redstart(form, "", form == "json" ? json_parameters : xml_parameters, R"("extends": "1.0")");
}

std::string told(const Problem& problem) {
    const auto* place = std::get_if<TextPlace>(&problem.place);
    std::string text = place ? place->file + ":" + std::to_string(place->line) + ":" + std::to_string(place->column)
                             : std::string("-");
    text += " " + problem.what;
    if (!problem.expected.empty()) text += " | " + problem.expected;
    return text;
}

/// Everything that is said of a file, a problem a line; of what is damaged the damage.
std::string said(const std::string& form, const std::string& text) {
    const schema::Device device = device_of(form);
    const auto dump = dump::read("a", bytes_of(text), device);
    std::string lines;
    if (!dump) {
        for (const Problem& problem : dump.problems()) lines += told(problem) + "\n";
        return lines;
    }
    for (const Problem& problem : dump.value().problems) lines += told(problem) + "\n";
    for (const dump::Entry& entry : dump.value().entries) {
        for (const Problem& problem : entry.damage) lines += "damaged: " + told(problem) + "\n";
    }
    return lines;
}

/// The file with one field of its first preset changed.
std::string changed(const std::string& form, const std::string& text, const std::string& id,
                    const dump::Stored& stored) {
    const schema::Device device = device_of(form);
    auto dump = dump::read("a", bytes_of(text), device);
    REQUIRE(dump.ok());
    const schema::Release& release = *device.releases[0].schema;
    const schema::Instances instances(release);
    dump::Entry& entry = dump.value().entries.at(0);
    const dump::Located located(instances, release.layouts[0], entry.body);
    for (const schema::Field& field : instances.fields()) {
        if (field.id != id) continue;
        if (!dump::write_located(field, field.storage, located, stored, entry.body)) return "not written";
    }
    const auto written = dump::write(dump.value(), bytes_of(text));
    REQUIRE(written.ok());
    return {written.value().begin(), written.value().end()};
}

dump::Stored whole(std::int64_t number) {
    dump::Stored stored;
    stored.kind = dump::Stored::Kind::whole;
    stored.whole = number;
    return stored;
}

dump::Stored real(double number) {
    dump::Stored stored;
    stored.kind = dump::Stored::Kind::real;
    stored.real = number;
    return stored;
}

dump::Stored text_value(std::string text) {
    dump::Stored stored;
    stored.kind = dump::Stored::Kind::text;
    stored.text = std::move(text);
    return stored;
}

/// `text` with the first `find` replaced.
std::string with(std::string text, const std::string& find, const std::string& put) {
    return text.replace(text.find(find), find.size(), put);
}

constexpr const char* json_file = R"({ "presets" : [ {"release":"1.0",
   "name": "A\u00e9\"", "gain" :0.50, "other": [1, {"x": null}], "count": "7", "on": true, "type":"Hall"}
 ,null ] }
)";
constexpr const char* xml_file = R"(<?xml version="1.0"?>
<bank ><!-- a --><preset release='1.0' count = "7" other="&lt;"><name>A&amp;B</name>
  <p id="gain" v="0x1p-1"/><p v='yes' id='on'></p><type><![CDATA[Hall]]></type>  tail
</preset></bank>
)";

}  // namespace

TEST_CASE("an unchanged file by name is written back byte for byte") {
    for (const auto& [form, file] : {std::pair{"json", std::string(json_file)}, std::pair{"xml", std::string(xml_file)},
                                     std::pair{"json", "\xEF\xBB\xBF" + std::string(json_file)},
                                     std::pair{"xml", "\xEF\xBB\xBF" + std::string(xml_file)}}) {
        const schema::Device device = device_of(form);
        const auto dump = dump::read("a", bytes_of(file), device);
        REQUIRE(dump.ok());
        CHECK(dump.value().entries.at(0).state == dump::SlotState::filled);
        const auto written = dump::write(dump.value(), bytes_of(file));
        REQUIRE(written.ok());
        CHECK(written.value() == bytes_of(file));
        CHECK(dump::origins(dump.value(), dump.value().entries[0], bytes_of(file)).front() ==
              file.find(std::string(form) == "json" ? "{\"release" : "<preset"));
    }
}

TEST_CASE("a changed value by name replaces its own text and nothing else") {
    CHECK(changed("json", json_file, "gain", real(-2.25)) == with(json_file, "0.50", "-2.25"));
    CHECK(changed("json", json_file, "count", whole(12)) == with(json_file, "\"7\"", "\"12\""));
    CHECK(changed("json", json_file, "on", whole(0)) == with(json_file, "true", "false"));
    CHECK(changed("json", json_file, "type", whole(0)) == with(json_file, "\"Hall\"", "\"Room\""));
    CHECK(changed("json", json_file, "name", text_value("\"\n\\")) == with(json_file, R"("A\u00e9\"")", R"("\"\n\\")"));
    CHECK(changed("json", json_file, "count", real(0.5)) == with(json_file, "\"7\"", "\"0.5\""));
    CHECK(changed("xml", xml_file, "gain", real(3)) == with(xml_file, "0x1p-1", "0x1.8p+1"));
    CHECK(changed("xml", xml_file, "count", whole(-1)) == with(xml_file, "\"7\"", "\"-1\""));
    CHECK(changed("xml", xml_file, "on", whole(0)) == with(xml_file, "'yes'", "'no'"));
    CHECK(changed("xml", xml_file, "type", whole(0)) == with(xml_file, "[Hall]", "[Room]"));
    CHECK(changed("xml", xml_file, "name", text_value("<a> & \"b\"")) ==
          with(xml_file, "A&amp;B", "&lt;a&gt; &amp; &quot;b&quot;"));
    // What the text cannot hold is not written.
    CHECK(changed("json", json_file, "gain", text_value("x")) == "not written");
}

TEST_CASE("a null in a list of presets is an empty slot") {
    const schema::Device device = device_of("json");
    const auto dump = dump::read("a", bytes_of(json_file), device);
    REQUIRE(dump.ok());
    REQUIRE(dump.value().entries.size() == 2);
    CHECK(dump.value().entries[1].state == dump::SlotState::empty);
    CHECK(dump.value().entries[1].slot == 1);
}

TEST_CASE("content decides whether a file is one of a device by name") {
    const schema::Device json = device_of("json"), xml = device_of("xml");
    const std::vector<const schema::Device*> devices{&json, &xml};
    CHECK(dump::recognise(bytes_of(json_file), devices) == &json);
    CHECK(dump::recognise(bytes_of(xml_file), devices) == &xml);
    CHECK(dump::recognise(bytes_of(R"({"sounds": []})"), devices) == nullptr);
    CHECK(dump::recognise(bytes_of("<rack/>"), devices) == nullptr);
    CHECK(dump::recognise(bytes_of("presets"), devices) == nullptr);
    CHECK(said("json", R"({"sounds": []})") == "a:1:1 no preset of redstart is in this file | presets at /presets/*\n");
}

TEST_CASE("what makers' programs write wrongly and can be understood is told and read") {
    CHECK(said("json", "{\"presets\": [\n{\"release\": \"1.0\", \"gain\": 1,},],}") ==
          "a:2:29 a comma before a closing bracket was passed over (and 2 more) | no comma there\n");
    CHECK(said("xml", "\n\n" + std::string(xml_file)) ==
          "a:1:1 blanks before the XML declaration were passed over | the declaration at the very beginning\n");
}

TEST_CASE("broken and hostile JSON is told with line and column") {
    const std::string deep = "{\"presets\": " + std::string(100'000, '[');
    CHECK(said("json", deep) == "a:1:76 too many brackets inside each other | at most 64 levels\n");
    CHECK(said("json", "{\"presets\": [\n {\"release\": \"1.0\", \"gain\"") ==
          "a:2:27 the file ends too early | \":\" after the key\n");
    CHECK(said("json", R"({"presets": [{"release": "1.0", "gain": 1e999}]})") ==
          "damaged: a:1:41 gain is 1e999 | a number that can be held\n");
    CHECK(said("json", R"({"presets": [{"release": "1.0", "count": 99999999999999999999}]})") ==
          "damaged: a:1:42 count is 99999999999999999999 | a number that can be held\n");
    CHECK(said("json", R"({"presets": [{"release": "1.0", "name": 3}]})") == "damaged: a:1:41 name is 3 | a text\n");
    CHECK(said("json", R"({"presets": [{"release": "1.0", "gain": 01}]})") ==
          "a:1:41 \"01\" is not a number in JSON | a number like 5, -0.25 or 1e3\n");
    CHECK(said("json", "{\"presets\": [{\"name\": \"a\xFF\"}]}") ==
          "a:1:25 a byte that is not UTF-8 | text in UTF-8\n");
    CHECK(said("json", R"({"presets": [{"name": "\q"}]})") ==
          "a:1:23 a text with a control character or an unknown escape | "
          "\\\", \\\\, \\/, \\b, \\f, \\n, \\r, \\t or \\u and four hex digits\n");
    CHECK(said("json", R"({"presets": [3]})") ==
          "damaged: a:1:14 a preset that is no object | an object, a list or an element\n");
}

TEST_CASE("broken and hostile XML is told with line and column, and nothing is fetched or expanded") {
    std::string deep;
    for (int i = 0; i < 100'000; ++i) deep += "<a>";
    CHECK(said("xml", deep).starts_with("a:1:"));
    std::string nested;
    for (int i = 0; i < 100; ++i) nested += "<a>";
    for (int i = 0; i < 100; ++i) nested += "</a>";
    CHECK(said("xml", nested) == "a:1:193 too many elements inside each other | at most 64 levels\n");
    const std::string laughs =
        "<!DOCTYPE b [\n<!ENTITY a \"ha\">\n<!ENTITY b \"&a;&a;&a;\">\n]>\n<bank><preset>&b;</preset></bank>";
    CHECK(said("xml", laughs) ==
          "a:2:1 the file declares an entity of its own, which Downfit neither fetches nor expands | "
          "a file without <!ENTITY\n");
    CHECK(said("xml", "<bank>\n<preset release='1.0'>").starts_with("a:2:22 this is not well-formed XML: "));
    CHECK(said("xml", "<bank><preset release='1.0'></bank></preset>")
              .starts_with("a:1:31 this is not well-formed XML: "));
    CHECK(said("xml", "<bank><preset release='1.0' count='&count;'/></bank>") ==
          "damaged: a:1:36 count is \"&count;\" | a number that can be held\n");
    CHECK(said("xml", "<bank><preset release='1.0' count='x'/></bank>") ==
          "damaged: a:1:36 count is \"x\" | a number that can be held\n");
    CHECK(said("xml", "<bank><preset release='1.0' count=''/></bank>") ==
          "damaged: a:1:36 count is \"\" | a number that can be held\n");
    // The 40th byte is the first of two: no character is cut apart.
    const std::string long_text = std::string(39, 'x') + "\xC3\xA9 failed";
    CHECK(said("xml", "<bank><preset release='1.0' count='" + long_text + "'/></bank>") ==
          "damaged: a:1:36 count is \"" + std::string(39, 'x') + "...\" | a number that can be held\n");
    CHECK(said("xml", "<bank><preset name='\xC3'/></bank>") == "a:1:21 a byte that is not UTF-8 | text in UTF-8\n");
}

TEST_CASE("a file by name cut anywhere gives a problem or damage, or presets, never anything else") {
    for (const auto& [form, file] :
         {std::pair{"json", std::string(json_file)}, std::pair{"xml", std::string(xml_file)}}) {
        const schema::Device device = device_of(form);
        const std::string trimmed = file.substr(0, file.find_last_of("}>"));
        for (std::size_t length = 0; length <= trimmed.size(); ++length) {
            const auto dump = dump::read("a", bytes_of(trimmed.substr(0, length)), device);
            INFO(form << " cut at " << length);
            CHECK_FALSE(dump.ok());
        }
    }
}
