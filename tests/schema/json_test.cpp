// Places of keys and values in JSON, limits, and merging.
#include <string>
#include <vector>

#include "schema/located_json.h"
#include "schema/node.h"
#include "schema/siskin.h"
#include "support/catch.h"

namespace downfit::testing {

namespace {

using schema::Node;
using schema::NodePtr;

NodePtr read(const std::string& text) {
    Problems problems;
    const NodePtr node = schema::read_json("wren.json", text, problems);
    CHECK(problems.empty());
    REQUIRE(node);
    return node;
}

/// "key LINE:COLUMN value LINE:COLUMN POINTER"
std::string places(const Node* node) {
    REQUIRE(node);
    return "key " + std::to_string(node->key_spot.line) + ":" + std::to_string(node->key_spot.column) + " value " +
           std::to_string(node->value_spot.line) + ":" + std::to_string(node->value_spot.column) + " " + node->pointer;
}

/// JSON without blanks, members in order.
std::string written(const NodePtr& node) {
    if (!node) return "nothing";
    std::string text;
    switch (node->kind) {
        case Node::Kind::null: return "null";
        case Node::Kind::boolean: return node->boolean ? "true" : "false";
        case Node::Kind::number: return std::to_string(node->whole.value_or(-1));
        case Node::Kind::text: return "\"" + node->text + "\"";
        case Node::Kind::array:
            for (const NodePtr& item : node->items) text += (text.empty() ? "" : ",") + written(item);
            return "[" + text + "]";
        case Node::Kind::object:
            for (const schema::Member& member : node->members) {
                text += (text.empty() ? "\"" : ",\"") + member.key + "\":" + written(member.value);
            }
            return "{" + text + "}";
    }
    return text;
}

struct Merge {
    std::string original, patch, result;
};

// RFC 7396, Appendix A, all fifteen rows in order. Where the result is null, there is no node here.
const std::vector<Merge> appendix_a{
    {R"({"a":"b"})", R"({"a":"c"})", R"({"a":"c"})"},
    {R"({"a":"b"})", R"({"b":"c"})", R"({"a":"b","b":"c"})"},
    {R"({"a":"b"})", R"({"a":null})", R"({})"},
    {R"({"a":"b","b":"c"})", R"({"a":null})", R"({"b":"c"})"},
    {R"({"a":["b"]})", R"({"a":"c"})", R"({"a":"c"})"},
    {R"({"a":"c"})", R"({"a":["b"]})", R"({"a":["b"]})"},
    {R"({"a":{"b":"c"}})", R"({"a":{"b":"d","c":null}})", R"({"a":{"b":"d"}})"},
    {R"({"a":[{"b":"c"}]})", R"({"a":[1]})", R"({"a":[1]})"},
    {R"(["a","b"])", R"(["c","d"])", R"(["c","d"])"},
    {R"({"a":"b"})", R"(["c"])", R"(["c"])"},
    {R"({"a":"foo"})", "null", "nothing"},
    {R"({"a":"foo"})", R"("bar")", R"("bar")"},
    {R"({"e":null})", R"({"a":1})", R"({"e":null,"a":1})"},
    {"[1,2]", R"({"a":"b","c":null})", R"({"a":"b"})"},
    {"{}", R"({"a":{"bb":{"ccc":null}}})", R"({"a":{"bb":{}}})"},
};

}  // namespace

TEST_CASE("keys and values know where they stand", "[schema]") {
    const NodePtr node = read("{ \"a\": 1,\n  \"b\" :\n    [true, { \"c/d~\": null }] }");
    CHECK(places(node.get()) == "key 1:1 value 1:1 ");
    CHECK(places(node->find("a")) == "key 1:3 value 1:8 /a");
    const Node* list = node->find("b");
    CHECK(places(list) == "key 2:3 value 3:5 /b");
    CHECK(places(list->items[0].get()) == "key 3:6 value 3:6 /b/0");
    CHECK(places(list->items[1].get()) == "key 3:12 value 3:12 /b/1");
    CHECK(places(list->items[1]->find("c/d~")) == "key 3:14 value 3:22 /b/1/c~1d~0");
}

TEST_CASE("comments, escapes, UTF-8 and line ends do not move places", "[schema]") {
    SECTION("comments, also with what looks like JSON in them") {
        const NodePtr node = read("// {\"x\": \"\n/* [1,\n \" */ { /* , */ \"a\": /**/ 7 // }\n, \"b\": 8 }");
        CHECK(places(node.get()) == "key 3:7 value 3:7 ");
        CHECK(places(node->find("a")) == "key 3:17 value 3:27 /a");
        CHECK(places(node->find("b")) == "key 4:3 value 4:8 /b");
    }
    SECTION("texts with quotes, comment signs and escapes in them") {
        const NodePtr node = read(R"({ "a\"/*": "\\", "\u00e9": "// \u0022", "b": 1 })");
        CHECK(places(node->find("a\"/*")) == "key 1:3 value 1:12 /a\"~1*");
        CHECK(places(node->find("\xC3\xA9")) == "key 1:18 value 1:28 /\xC3\xA9");
        CHECK(places(node->find("b")) == "key 1:41 value 1:46 /b");
    }
    SECTION("columns count bytes") {
        const NodePtr node = read("{ \"\xC3\xA9\": \"\xE2\x82\xAC\", \"b\": 1 }");
        CHECK(places(node->find("b")) == "key 1:16 value 1:21 /b");
    }
    SECTION("lines that end with CR and LF") {
        const NodePtr node = read("{\r\n\"a\": 1,\r\n  \"b\": 2\r\n}");
        CHECK(places(node->find("a")) == "key 2:1 value 2:6 /a");
        CHECK(places(node->find("b")) == "key 3:3 value 3:8 /b");
    }
    SECTION("a byte order mark") {
        const NodePtr node = read("\xEF\xBB\xBF{ \"a\": 1 }");
        CHECK(places(node->find("a")) == "key 1:3 value 1:8 /a");
    }
}

TEST_CASE("numbers are read exactly", "[schema]") {
    const NodePtr node =
        read("[9223372036854775807, -9223372036854775808, 9223372036854775808, 3.0, 0.1, -0, 1e3, 2.5]");
    CHECK(node->items[0]->whole == INT64_MAX);
    CHECK(node->items[1]->whole == INT64_MIN);
    CHECK_FALSE(node->items[2]->whole);
    CHECK(node->items[3]->whole == 3);
    CHECK(node->items[4]->number == 0.1);
    CHECK(node->items[5]->whole == 0);
    CHECK(node->items[6]->whole == 1000);
    CHECK_FALSE(node->items[7]->whole);
}

TEST_CASE("brackets may be 64 deep", "[schema]") {
    Problems problems;
    CHECK(schema::read_json("wren.json", std::string(64, '[') + std::string(64, ']'), problems));
    CHECK(problems.empty());
    CHECK_FALSE(schema::read_json("wren.json", std::string(65, '[') + std::string(65, ']'), problems));
    REQUIRE(problems.size() == 1);
    CHECK(one_line(problems[0]) == "wren.json:1:65  | too many brackets inside each other | at most 64 levels | ");
}

TEST_CASE("merging follows RFC 7396", "[schema]") {
    for (const Merge& merge : appendix_a) {
        CAPTURE(merge.original, merge.patch);
        CHECK(written(schema::merge_patch(read(merge.original), read(merge.patch))) == merge.result);
    }
}

TEST_CASE("merged values keep the place where they were last written", "[schema]") {
    Problems problems;
    const NodePtr first = schema::read_json("1.0.json", "{ \"a\": { \"b\": 1,\n\"c\": 2 } }", problems);
    const NodePtr changed = schema::read_json("1.1.json", "\n{ \"a\": { \"b\": 3 } }", problems);
    const NodePtr merged = schema::merge_patch(first, changed);
    CHECK(merged->find("a")->key_place() == TextPlace{"1.1.json", 2, 3, "/a"});
    CHECK(merged->find("a")->find("b")->value_place() == TextPlace{"1.1.json", 2, 15, "/a/b"});
    CHECK(merged->find("a")->find("c")->value_place() == TextPlace{"1.0.json", 2, 6, "/a/c"});
}

}  // namespace downfit::testing
