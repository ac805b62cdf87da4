// Drafts by name: what JSON and XML presets look like, and never more than was seen.
#include <algorithm>
#include <string>
#include <vector>

#include "report/draft.h"
#include "schema/load.h"
#include "study/coverage.h"
#include "study/draft.h"
#include "study/study_devices.h"
#include "support/catch.h"
#include "support/property.h"

namespace downfit::testing {

namespace {

const char* const json_device = R"({
  "format": "downfit device 1", "device": "brambling", "title": "Brambling", "maker": "Quillfeather", "releases": ["1"],
  "layouts": { "export": { "as": "json", "presets": "/sounds/*", "stamp": { "path": "/v", "from": "file" },
                           "slot": { "by": "order" }, "volatile": ["/saved"] } } })";
const char* const xml_device = R"({
  "format": "downfit device 1", "device": "brambling", "title": "Brambling", "maker": "Quillfeather", "releases": ["1"],
  "layouts": { "export": { "as": "xml", "presets": "/bank/preset", "stamp": { "path": "/bank/@v", "from": "file" },
                           "slot": { "by": "order" } } } })";

Bytes file_of(bool json, const std::vector<std::string>& presets) {
    std::string text = json ? R"({"v": 1, "sounds": [)" : "<bank v=\"1\">";
    for (std::size_t i = 0; i < presets.size(); ++i) {
        if (json) text += (i == 0 ? "" : ",\n") + presets[i];
        if (!json) text += "<preset" + presets[i] + "\n";
    }
    text += json ? "]}" : "</bank>";
    return {text.begin(), text.end()};
}

struct Drafted {
    study::Draft draft;
    std::string file;
};

Drafted drafted_from(bool json, const std::vector<std::string>& presets) {
    const schema::Device device = device_of({json ? json_device : xml_device});
    const dump::Dump dump = read_dump(file_of(json, presets), device);
    std::vector<const dump::Entry*> entries;
    for (const dump::Entry& entry : dump.entries) entries.push_back(&entry);
    report::DraftReport report;
    report.device = "brambling";
    report.release = "1";
    report.stamp = std::int64_t{1};
    report.files = {"bank"};
    report.draft = study::make_draft(device, 0, entries);
    return {report.draft, report::draft_file(report)};
}

/// The lines of groups and parameters, without what each of them says alike.
std::string lines_of(const Drafted& drafted) {
    std::string out;
    std::size_t at = drafted.file.find("\"source\"");
    at = drafted.file.find('\n', at) + 1;
    while (at < drafted.file.size()) {
        const std::size_t end = std::min(drafted.file.find('\n', at), drafted.file.size());
        std::string line = drafted.file.substr(at, end - at);
        at = end + 1;
        if (!line.starts_with("    ")) continue;
        line.erase(0, 4);
        if (line.ends_with(',')) line.pop_back();
        constexpr std::string_view observed = R"(, "documented": "observed")";
        const std::size_t said = line.find(observed);
        if (said != std::string::npos) line.erase(said, observed.size());
        out += line + '\n';
    }
    return out;
}

std::string drafted_json(const std::vector<std::string>& presets) {
    return lines_of(drafted_from(true, presets));
}

std::string drafted_xml(const std::vector<std::string>& presets) {
    return lines_of(drafted_from(false, presets));
}

/// As many presets as wanted, by turns.
std::vector<std::string> by_turns(std::size_t count, const std::vector<std::string>& some) {
    std::vector<std::string> all;
    for (std::size_t i = 0; i < count; ++i) all.push_back(some[i % some.size()]);
    return all;
}

}  // namespace

TEST_CASE("each kind of JSON value is drafted as what it looks like", "[study]") {
    CHECK(drafted_json({R"({"on": true, "same": 5})", R"({"on": false, "same": 5})"}) ==
          "\"on\": { \"path\": \"/on\", \"kind\": \"switch\", \"note\": \"2 numbers seen in 2 presets\" }\n");
    CHECK(drafted_json({R"({"on": 0})", R"({"on": 127})"}) ==
          "\"on\": { \"path\": \"/on\", \"kind\": \"switch\", \"on\": 127, \"note\": \"2 numbers seen in 2 presets\" "
          "}\n");
    CHECK(drafted_json({R"({"state": "Engaged"})", R"({"state": "Bypassed"})"}) ==
          "\"state\": { \"path\": \"/state\", \"kind\": \"switch\", \"written\": { \"on\": \"Engaged\", \"off\": "
          "\"Bypassed\" }, "
          "\"note\": \"2 texts seen in 2 presets\" }\n");
    CHECK(drafted_json(by_turns(8, {R"({"mode": 2})", R"({"mode": 5})"})) ==
          "\"mode\": { \"path\": \"/mode\", \"choices\": { \"number 2\": 2, \"number 5\": 5 }, "
          "\"note\": \"2 numbers seen in 8 presets; or a knob with few steps\" }\n");
    CHECK(drafted_json(by_turns(4, {R"({"roomType": "Hall"})", R"({"roomType": "Barn"})"})) ==
          "\"room-type\": { \"path\": \"/roomType\", \"as\": \"text\", \"choices\": [\"Barn\", \"Hall\"], "
          "\"note\": \"2 texts seen in 4 presets\" }\n");
    CHECK(drafted_json({R"({"gain": -3})", R"({"gain": "250"})", R"({"gain": 4.0})"}) ==
          "\"gain\": { \"path\": \"/gain\", \"range\": [-3, 250], \"note\": \"3 numbers seen in 3 presets\" }\n");
    CHECK(drafted_json({R"({"gain": -3})", R"({"gain": 0.25})", R"({"gain": 1e2})"}) ==
          "\"gain\": { \"path\": \"/gain\", \"kind\": \"real\", \"range\": [-3.0, 100.0], \"note\": \"3 numbers seen "
          "in 3 presets\" }\n");
    CHECK(drafted_json({R"({"note": "Nine Lamps"})", R"({"note": "007"})"}) ==
          "\"note\": { \"path\": \"/note\", \"as\": \"text\", \"note\": \"2 texts seen in 2 presets\" }\n");
    CHECK(drafted_json({R"({"code": "007"})", R"({"code": "12"})"}) ==
          "\"code\": { \"path\": \"/code\", \"as\": \"text\", \"note\": \"2 texts seen in 2 presets\" }\n");
    CHECK(drafted_json({R"({"time": 12})", R"({"time": "off"})"}) ==
          "\"time\": { \"path\": \"/time\", \"as\": \"text\", \"choices\": { \"number 12\": 12, \"off\": 13 }, "
          "\"note\": \"2 texts seen in 2 presets; numbers and texts by turns\" }\n");
    // Null is nothing; left out by some it still varies.
    CHECK(drafted_json({R"({"gain": null})", R"({"gain": 3})", "{}"}) ==
          "\"gain\": { \"path\": \"/gain\", \"range\": [3, 3], \"note\": \"1 number seen in 1 preset\" }\n");
    CHECK(drafted_json({R"({"curve": [1, 2, 3]})", R"({"curve": [1, 4]})"}) ==
          "\"curve\": { \"path\": \"/curve/*\", \"range\": [1, 4], \"list\": { \"count\": 3 }, \"note\": \"4 numbers "
          "seen in 5 places\" }\n");
    // Names that need care in JSON Pointer, or that release files do not take.
    CHECK(drafted_json({R"({"A/B~C": 1, "A B C": 1, "é": 1})", R"({"A/B~C": 2, "A B C": 3, "é": 4})"}) ==
          "\"a-b-c\": { \"path\": \"/A~1B~0C\", \"range\": [1, 2], \"note\": \"2 numbers seen in 2 presets\" }\n"
          "\"a-b-c-2\": { \"path\": \"/A B C\", \"range\": [1, 3], \"note\": \"2 numbers seen in 2 presets\" }\n"
          "\"value\": { \"path\": \"/\\u00e9\", \"range\": [1, 4], \"note\": \"2 numbers seen in 2 presets\" }\n");
}

TEST_CASE("each kind of XML value is drafted as what it looks like", "[study]") {
    CHECK(drafted_xml({R"( on="yes" same="5"/>)", R"( on="no" same="5"/>)"}) ==
          "\"on\": { \"path\": \"@on\", \"kind\": \"switch\", \"written\": { \"on\": \"yes\", \"off\": \"no\" }, "
          "\"note\": \"2 texts seen in 2 presets\" }\n");
    CHECK(drafted_xml({"><gain>3</gain></preset>", "><gain>0x1.8p1</gain></preset>", "><gain> 4.5 </gain></preset>"}) ==
          "\"gain\": { \"path\": \"gain\", \"kind\": \"real\", \"range\": [3.0, 4.5], \"note\": \"2 numbers seen in 3 "
          "presets\" }\n");
    CHECK(drafted_xml({R"( time="12"/>)", R"( time="off"/>)"}) ==
          "\"time\": { \"path\": \"@time\", \"as\": \"text\", \"note\": \"2 texts seen in 2 presets\" }\n");
    CHECK(drafted_xml({R"( top="nan"/>)", R"( top="1"/>)"}) ==
          "\"top\": { \"path\": \"@top\", \"as\": \"text\", \"note\": \"2 texts seen in 2 presets\" }\n");
    // The text of an element that has attributes too.
    CHECK(drafted_xml({R"(><amp on="1">Crown</amp></preset>)", R"(><amp on="0">Dale</amp></preset>)"}) ==
          "\"amp\": { \"path\": \"amp\" }\n"
          "\"amp.text\": { \"path\": \".\", \"as\": \"text\", \"note\": \"2 texts seen in 2 presets\" }\n"
          "\"amp.on\": { \"path\": \"@on\", \"kind\": \"switch\", \"note\": \"2 numbers seen in 2 presets\" }\n");
    CHECK(drafted_xml({"><curve>1</curve><curve>2</curve></preset>", "><curve>1</curve><curve>5</curve></preset>"}) ==
          "\"curve\": { \"path\": \"curve\", \"range\": [1, 5], \"list\": { \"count\": 2 }, \"note\": \"3 numbers seen "
          "in 4 places\" }\n");
    CHECK(drafted_xml(
              {R"(><p id="a" v="1"/><p id="b" v="7"/></preset>)", R"(><p id="a" v="2"/><p id="b" v="7"/></preset>)"}) ==
          "\"p-a\": { \"path\": \"p[@id='a']/@v\", \"range\": [1, 2], \"note\": \"2 numbers seen in 2 presets\" }\n");
}

TEST_CASE("groups of JSON: by order, by a value, by key, by the name before", "[study]") {
    CHECK(drafted_json({R"({"amps": [{"gain": 1}, {"gain": 2}]})", R"({"amps": [{"gain": 3}]})"}) ==
          "\"amps\": { \"path\": \"/amps/*\", \"count\": 2 }\n"
          "\"amps.gain\": { \"path\": \"/gain\", \"range\": [1, 3], \"note\": \"3 numbers seen in 3 places\" }\n");
    // Numbered things of one kind are one group, whatever their order; different things are one each.
    CHECK(drafted_json({R"({"amps": [{"slot": 1, "gain": 1}, {"slot": 2, "gain": 2}]})",
                        R"({"amps": [{"slot": 2, "gain": 3}, {"slot": 1, "gain": 1}]})"}) ==
          "\"amps\": { \"path\": \"/amps/*\", \"count\": 2, \"by\": \"/slot\", \"keys\": [\"1\", \"2\"] }\n"
          "\"amps.gain\": { \"path\": \"/gain\", \"range\": [1, 3], \"note\": \"3 numbers seen in 4 places\" }\n");
    CHECK(drafted_json({R"({"fx": [{"type": "amp", "gain": 1}, {"type": "room", "time": 2}]})",
                        R"({"fx": [{"type": "room", "time": 5}, {"type": "amp", "gain": 4}]})"}) ==
          "\"amp\": { \"path\": \"/fx/*\", \"by\": \"/type\", \"keys\": [\"amp\"] }\n"
          "\"room\": { \"path\": \"/fx/*\", \"by\": \"/type\", \"keys\": [\"room\"] }\n"
          "\"amp.gain\": { \"path\": \"/gain\", \"range\": [1, 4], \"note\": \"2 numbers seen in 2 presets\" }\n"
          "\"room.time\": { \"path\": \"/time\", \"range\": [2, 5], \"note\": \"2 numbers seen in 2 presets\" }\n");
    CHECK(drafted_json({R"({"amps": {"A": {"gain": 1}, "B": {"gain": 2}}})",
                        R"({"amps": {"A": {"gain": 3}, "B": {"gain": 2}}})"}) ==
          "\"amps\": { \"path\": \"/amps/*\", \"count\": 2, \"by\": \"key\", \"keys\": [\"A\", \"B\"] }\n"
          "\"amps.gain\": { \"path\": \"/gain\", \"range\": [1, 3], \"note\": \"3 numbers seen in 4 places\" }\n");
    CHECK(drafted_json({R"({"fx": ["amp", {"gain": 1}, "room", {"time": 2}]})",
                        R"({"fx": ["room", {"time": 5}, "amp", {"gain": 4}]})"}) ==
          "\"amp\": { \"path\": \"/fx/*\", \"by\": \"name-before\", \"keys\": [\"amp\"] }\n"
          "\"room\": { \"path\": \"/fx/*\", \"by\": \"name-before\", \"keys\": [\"room\"] }\n"
          "\"amp.gain\": { \"path\": \"/gain\", \"range\": [1, 4], \"note\": \"2 numbers seen in 2 presets\" }\n"
          "\"room.time\": { \"path\": \"/time\", \"range\": [2, 5], \"note\": \"2 numbers seen in 2 presets\" }\n");
    // Names that are no numbers say that the things are different ones.
    CHECK(drafted_json({R"({"fx": {"pre": {"gain": 1}, "post": {"gain": 2}}})",
                        R"({"fx": {"pre": {"gain": 3}, "post": {"gain": 2}}})"}) ==
          "\"fx\": { \"path\": \"/fx\" }\n"
          "\"fx.pre\": { \"path\": \"/pre\" }\n"
          "\"fx.pre.gain\": { \"path\": \"/gain\", \"range\": [1, 3], \"note\": \"2 numbers seen in 2 presets\" }\n");
    // Unlike items are told apart by their places.
    CHECK(drafted_json({R"({"pair": [1, "Hall"]})", R"({"pair": [2, "Hall"]})"}) ==
          "\"pair\": { \"path\": \"/pair\" }\n"
          "\"pair.0\": { \"path\": \"/0\", \"range\": [1, 2], \"note\": \"2 numbers seen in 2 presets\" }\n");
}

TEST_CASE("groups of XML: by order, by an attribute, one for each", "[study]") {
    CHECK(drafted_xml(
              {R"(><amp gain="1" on="1"/><amp gain="2" on="1"/></preset>)", R"(><amp gain="3" on="1"/></preset>)"}) ==
          "\"amp\": { \"path\": \"amp\", \"count\": 2 }\n"
          "\"amp.gain\": { \"path\": \"@gain\", \"range\": [1, 3], \"note\": \"3 numbers seen in 3 places\" }\n");
    CHECK(drafted_xml({R"(><amp slot="pre" gain="1" bite="1"/><amp slot="post" gain="2" bite="1"/></preset>)",
                       R"(><amp slot="post" gain="3" bite="1"/><amp slot="pre" gain="4" bite="1"/></preset>)"}) ==
          "\"amp\": { \"path\": \"amp\", \"count\": 2, \"by\": \"@slot\", \"keys\": [\"pre\", \"post\"] }\n"
          "\"amp.gain\": { \"path\": \"@gain\", \"range\": [1, 4], \"note\": \"4 numbers seen in 4 places\" }\n");
    CHECK(drafted_xml({R"(><fx id="amp" gain="1" bite="1"/><fx id="room" time="2" size="1"/></preset>)",
                       R"(><fx id="amp" gain="3" bite="1"/><fx id="room" time="4" size="1"/></preset>)"}) ==
          "\"amp\": { \"path\": \"fx\", \"by\": \"@id\", \"keys\": [\"amp\"] }\n"
          "\"room\": { \"path\": \"fx\", \"by\": \"@id\", \"keys\": [\"room\"] }\n"
          "\"amp.gain\": { \"path\": \"@gain\", \"range\": [1, 3], \"note\": \"2 numbers seen in 2 presets\" }\n"
          "\"room.time\": { \"path\": \"@time\", \"range\": [2, 4], \"note\": \"2 numbers seen in 2 presets\" }\n");
}

TEST_CASE("a model that other parameters go with is a remark, no claim", "[study]") {
    const std::string hall = R"({"model": "Hall", "decay": 2, "level": 1})",
                      spring = R"({"model": "Spring", "springs": 3, "level": 2})";
    CHECK(drafted_json({hall, hall, spring, spring}) ==
          "\"model\": { \"path\": \"/model\", \"as\": \"text\", \"choices\": [\"Hall\", \"Spring\"], \"note\": \"2 "
          "texts seen in 4 presets; "
          "with it goes which others are there, as far as was seen: Hall: decay; Spring: springs\" }\n"
          "\"decay\": { \"path\": \"/decay\", \"range\": [2, 2], \"note\": \"1 number seen in 2 presets\" }\n"
          "\"level\": { \"path\": \"/level\", \"range\": [1, 2], \"note\": \"2 numbers seen in 4 presets\" }\n"
          "\"springs\": { \"path\": \"/springs\", \"range\": [3, 3], \"note\": \"1 number seen in 2 presets\" }\n");
    // One preset that does otherwise, and nothing is said.
    const std::string odd = R"({"model": "Hall", "springs": 3, "level": 1})";
    CHECK(drafted_json({hall, hall, spring, spring, odd}).find("with it goes") == std::string::npos);
}

TEST_CASE("drafts by name: what is counted, left out and told", "[study]") {
    SECTION("what never differs is counted; where a whole group comes and goes, that is drafted") {
        const Drafted plain =
            drafted_from(true, {R"({"a": 1, "b": {"c": 1}, "saved": 4})", R"({"a": 2, "b": {"c": 1}, "saved": 5})"});
        CHECK(plain.draft.places == 2);
        CHECK(plain.draft.varying == 1);
        CHECK(lines_of(plain).find("saved") == std::string::npos);
        CHECK(drafted_json({R"({"b": {"c": 1}})", "{}"}) ==
              "\"b\": { \"path\": \"/b\" }\n"
              "\"b.c\": { \"path\": \"/c\", \"range\": [1, 1], \"note\": \"1 number seen in 1 preset; the same "
              "wherever it is; not all have it\" }\n");
    }
    SECTION("what no kind reads") {
        const Drafted drafted = drafted_from(true, {R"({"a": 0.5, "*": 1})", R"({"a": "loud", "*": 2})"});
        CHECK(drafted.draft.parameters.empty());
        CHECK(drafted.draft.unread == std::vector<std::string>{"/a", "/*"});
        CHECK(drafted.draft.varying == 2);
    }
    SECTION("nothing of one preset, of equal ones, of none") {
        CHECK(drafted_json({R"({"a": 1})"}) == "");
        CHECK(drafted_json({R"({"a": 1, "b": [1, {"c": 2}]})", R"({"a": 1, "b": [1, {"c": 2}]})"}) == "");
        CHECK(study::make_draft(device_of({json_device}), 0, {}).parameters.empty());
    }
    SECTION("presets that are lists, or objects of objects") {
        CHECK(drafted_json({R"([{"g": 1}, {"g": 2}])", R"([{"g": 3}])"}) ==
              "\"item\": { \"path\": \"/*\", \"count\": 2 }\n"
              "\"item.g\": { \"path\": \"/g\", \"range\": [1, 3], \"note\": \"3 numbers seen in 3 places\" }\n");
        CHECK(drafted_json({R"([1, 2])", R"([3])"}) ==
              "\"item\": { \"path\": \"/*\", \"range\": [1, 3], \"list\": { \"count\": 2 }, \"note\": \"3 numbers seen "
              "in 3 places\" }\n");
        CHECK(drafted_json({R"({"1": {"g": 1}, "2": {"g": 2}})", R"({"1": {"g": 3}, "2": {"g": 2}})"}) ==
              "\"item\": { \"path\": \"/*\", \"count\": 2, \"by\": \"key\", \"keys\": [\"1\", \"2\"] }\n"
              "\"item.g\": { \"path\": \"/g\", \"range\": [1, 3], \"note\": \"3 numbers seen in 4 places\" }\n");
    }
}

namespace {

std::string some(const std::vector<std::string>& words) {
    return *rc::gen::elementOf(words);
}

std::string any_json(int depth) {
    const auto kind = *rc::gen::inRange(0, depth > 0 ? 12 : 8);
    if (kind < 8)
        return some({"0",
                     "1",
                     "1",
                     "5",
                     "127",
                     "-3",
                     "0.5",
                     "1e3",
                     "true",
                     "false",
                     "null",
                     "\"on\"",
                     "\"off\"",
                     "\"Hall\"",
                     "\"\"",
                     "\"007\"",
                     "\"12\"",
                     "\"it's\"",
                     "9007199254740993",
                     "\"number 5\"",
                     "\" Hall\""});
    const auto count = *rc::gen::inRange(0, 4);
    std::string text;
    for (int i = 0; i < count; ++i) {
        std::string item = any_json(depth - 1);
        // Mostly each key once: what stands twice is settled by a rule.
        if (kind < 10)
            item = "\"" + some({"a", "B", "id", "type", "lowCut", "c/d", "e~f", "*", "1", "2", "\\u00e9", ""}) +
                   (i == 0 ? "" : std::to_string(i)) + "\": " + item;
        text += (text.empty() ? "" : ", ") + item;
    }
    return kind < 10 ? '{' + text + '}' : '[' + text + ']';
}

std::string any_xml(int depth) {
    std::string text;
    std::vector<std::string> attributes{"id", "v", "slot", "on"};
    for (const std::string& name : attributes) {
        if (*rc::gen::inRange(0, 3) == 0)
            text += ' ' + name + "=\"" +
                    some({"0", "1", "2", "5", "on", "off", "Hall", "", "0.5", "nan", "it's", "a/b", "[1]"}) + '"';
    }
    text += '>';
    if (depth == 0 || *rc::gen::inRange(0, 3) == 0) return text + some({"", "", "1", "2", "Hall", "&amp;", "0.5"});
    const auto count = *rc::gen::inRange(0, 4);
    for (int i = 0; i < count; ++i) {
        const std::string name = some({"p", "p", "amp", "b.c", "\xC3\xA9", "or"});
        text += '<' + name + any_xml(depth - 1) + "</" + name + '>';
    }
    return text;
}

/// Presets that are much alike: most are taken from a few.
std::vector<std::string> presets_of(bool json) {
    std::vector<std::string> few, presets;
    const auto kinds = *rc::gen::inRange(1, 5);
    for (int i = 0; i < kinds; ++i) {
        std::string one = json ? any_json(3) : any_xml(3) + "</preset>";
        if (json && !one.starts_with('{') && !one.starts_with('[')) one = "{\"a\": " + one + '}';
        few.push_back(std::move(one));
    }
    const auto count = *rc::gen::inRange(1, 9);
    for (int i = 0; i < count; ++i) presets.push_back(some(few));
    return presets;
}

void check_draft(bool json) {
    const std::vector<std::string> presets = presets_of(json);
    const Drafted drafted = drafted_from(json, presets);
    RC_LOG() << drafted.file;
    for (const std::string& preset : presets) RC_LOG() << preset << '\n';
    const Result<schema::Device> device =
        schema::load_device({{"device.json", json ? json_device : xml_device}, {"1.json", drafted.file}});
    RC_ASSERT(device.ok());
    for (const schema::Parameter& parameter : device.value().releases[0].schema->parameters)
        RC_ASSERT(parameter.observed);
    const dump::Dump again = read_dump(file_of(json, presets), device.value());
    for (const dump::Entry& entry : again.entries) RC_ASSERT(entry.state == dump::SlotState::filled);
    study::Readers readers(device.value());
    const study::Coverage coverage = study::find_coverage({&again}, readers, {});
    RC_ASSERT(coverage.parts.size() == 1U);
    RC_ASSERT(coverage.parts[0].beyond.empty());
    RC_ASSERT(coverage.parts[0].names_seen.has_value());
    RC_ASSERT(!drafted.draft.unread.empty() || coverage.parts[0].names_seen->varying() == 0U);
    RC_ASSERT(drafted.draft.varying == drafted.draft.parameters.size() + drafted.draft.unread.size());
    RC_ASSERT(drafted.draft.places >= drafted.draft.varying);
    RC_CLASSIFY(!drafted.draft.unread.empty(), "something that no kind reads");
    RC_CLASSIFY(drafted.draft.parameters.empty(), "nothing to draft");
}

}  // namespace

TEST_CASE("a draft of any documents loads, decodes every preset and takes every value that varies", "[study]") {
    holds("of JSON", [] { check_draft(true); });
    holds("of XML", [] { check_draft(false); });
}

}  // namespace downfit::testing
