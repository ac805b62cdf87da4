// The tree of one body: values as text, conditions, names, and bytes that nothing explains.
#include <limits>
#include <memory>

#include "base/text.h"
#include "dump/small_devices.h"
#include "dump/tree.h"
#include "support/catch.h"
#include "support/hex.h"

namespace downfit {

namespace {

using schema::Condition;
using schema::Parameter;
using testing::from_hex;

Condition is(std::string name, std::vector<schema::Setting> settings,
             Condition::Operator op = Condition::Operator::is) {
    Condition condition;
    condition.kind = Condition::Kind::comparison;
    condition.name = std::move(name);
    condition.op = op;
    condition.settings = std::move(settings);
    return condition;
}

Condition joined(Condition::Kind kind, std::vector<Condition> parts) {
    Condition condition;
    condition.kind = kind;
    condition.parts = std::move(parts);
    return condition;
}

/// Twelve bytes: a name, a level, and two amps of mode, drive and switch; byte 11 is nobody's.
schema::Device nuthatch() {
    schema::Device device = testing::wren();
    device.name = "nuthatch";
    schema::Release& release = *device.releases.front().schema;
    schema::Group amp;
    amp.path = amp.meaning = "amp";
    amp.at = 5;
    amp.count = 2;
    amp.stride = 3;
    release.groups = {amp};
    Parameter name = testing::byte_parameter("name", -1, 0);
    name.kind = schema::Kind::text;
    name.storage = {};
    name.storage.coding = schema::Coding::text;
    name.storage.text_length = 4;
    name.plain.role = schema::Role::name;
    Parameter level = testing::byte_parameter("level", -1, 4);
    level.kind = schema::Kind::real;
    level.plain.scale.points = {{0, -80}, {100, 20}};
    level.plain.unit = schema::Unit::db;
    level.plain.preset_default = 0.0;
    Parameter mode = testing::byte_parameter("amp.mode", 0, 0);
    mode.kind = schema::Kind::choice;
    mode.plain.choices =
        std::make_shared<schema::ChoiceList>(schema::ChoiceList{{{0, "Room", "Room"}, {1, "Hall", "Hall"}}});
    mode.plain.preset_default = std::string("Hall");
    Parameter drive = testing::byte_parameter("amp.drive", 0, 1);
    drive.when = is("amp.on", {std::string("On")});
    schema::VariedMeaning varied;
    varied.when = is("amp.mode", {std::string("Hall"), std::string("Barn")});
    varied.meaning.unit = schema::Unit::percent;
    drive.varies = {varied};
    Parameter on = testing::byte_parameter("amp.on", 0, 2);
    on.kind = schema::Kind::on_off;
    release.parameters = {name, level, mode, drive, on};
    return device;
}

std::vector<std::string> shown(const schema::Instances& instances, ByteView body) {
    std::vector<std::string> texts;
    for (const dump::Leaf& leaf : dump::decode_tree(instances, body, std::nullopt)) {
        std::string text = instances.fields()[leaf.field].id + "=" + leaf.value;
        if (!leaf.exists) text += " (not there)";
        if (leaf.at_default) text += " (default)";
        texts.push_back(std::move(text));
    }
    return texts;
}

bool exists(const schema::Device& device, const Condition& when, std::optional<std::size_t> stamp) {
    schema::Device changed = device;
    changed.releases.front().schema->parameters.front().when = when;
    const schema::Instances instances(*changed.releases.front().schema);
    return dump::decode_tree(instances, from_hex("41 42 43 44 50 00 05 01 01 07 00 00"), stamp, &changed)
        .front()
        .exists;
}

}  // namespace

TEST_CASE("numbers are shown in as few digits as make sense", "[dump]") {
    CHECK(number_text(0) == "0");
    CHECK(number_text(-0.0) == "0");
    CHECK(number_text(-12.5) == "-12.5");
    CHECK(number_text(20000) == "20000");
    CHECK(number_text(123456789) == "123456789");
    CHECK(number_text(1.0 / 3.0) == "0.333333");
    CHECK(number_text(0.1 + 0.2) == "0.3");
    CHECK(number_text(99999.96) == "100000");
    CHECK(number_text(1234567.8) == "1234568");
    CHECK(number_text(0.00001) == "1e-05");
    CHECK(number_text(1e20) == "1e+20");
    CHECK(number_text(-std::numeric_limits<double>::infinity()) == "-inf");
    CHECK(number_text(std::numeric_limits<double>::quiet_NaN()) == "nan");
    std::string text = "slot ";
    append_number(text, std::numeric_limits<std::int64_t>::min());
    CHECK(text == "slot -9223372036854775808");
}

TEST_CASE("a tree shows values, not stored numbers", "[dump]") {
    const schema::Device device = nuthatch();
    const schema::Instances instances(*device.releases.front().schema);
    CHECK(shown(instances, from_hex("\"Fen \" 50 00 05 01 01 07 00 FF")) ==
          std::vector<std::string>{"name=Fen", "level=0 dB (default)", "amp[1].mode=Room", "amp[1].drive=5",
                                   "amp[1].on=On", "amp[2].mode=Hall (default)", "amp[2].drive=7 % (not there)",
                                   "amp[2].on=Off"});
    CHECK(shown(instances, from_hex("\"Fen \" 3C 09 05")) ==
          std::vector<std::string>{"name=Fen", "level=-20 dB", "amp[1].mode=?", "amp[1].drive=5 (not there)",
                                   "amp[1].on=", "amp[2].mode=", "amp[2].drive= (not there)", "amp[2].on="});
}

TEST_CASE("the name and what nothing explains", "[dump]") {
    schema::Device device = nuthatch();
    const schema::Instances instances(*device.releases.front().schema);
    CHECK(dump::preset_name(instances, from_hex("\"Fen \" 00")) == "Fen");
    CHECK(dump::preset_name(instances, {}).empty());
    CHECK(dump::unexplained_bytes(instances, 0, 14) == std::vector<std::size_t>{11, 12, 13});
    device.framings.front().steps = {testing::check_at(midi::Check::crc_16_arc, 0, -2, -2)};
    CHECK(dump::unexplained_bytes(instances, 0, 14, &device) == std::vector<std::size_t>{11});
    device.framings.front().stamp = schema::BodyNumber{11, 1, false};
    CHECK(dump::unexplained_bytes(instances, 0, 14, &device).empty());
    CHECK(dump::unexplained_bytes(instances, 0, 0).empty());
}

TEST_CASE("conditions hold over values, stamps, and what is not known", "[dump]") {
    using Operator = Condition::Operator;
    const schema::Device device = nuthatch();
    const auto here = [&](const Condition& condition) { return exists(device, condition, 0); };
    CHECK(here(is("level", {0.0})));
    CHECK(!here(is("level", {1.0, 2.0})));
    CHECK(here(is("level", {-0.5}, Operator::above)));
    CHECK(!here(is("level", {0.0}, Operator::below)));
    CHECK(here(is("level", {0.0}, Operator::at_most)));
    CHECK(here(is("amp[2].mode", {std::string("Hall")})));
    CHECK(!here(is("amp.mode", {std::string("Hall")})));
    CHECK(here(is("amp[2].on", {0.0})));
    const Condition yes = is("level", {0.0});
    const Condition no = is("level", {9.0});
    Condition fact = is("variant", {std::string("small")});
    fact.subject = Condition::Subject::fact;
    CHECK(here(fact));
    CHECK(here(joined(Condition::Kind::negation, {fact})));
    CHECK(!here(joined(Condition::Kind::negation, {yes})));
    CHECK(!here(joined(Condition::Kind::all, {yes, no})));
    CHECK(!here(joined(Condition::Kind::all, {fact, no})));
    CHECK(here(joined(Condition::Kind::any, {no, yes})));
    CHECK(!here(joined(Condition::Kind::any, {})));
    CHECK(here(joined(Condition::Kind::all, {})));
    Condition stamp = is("", {std::string("1.0")}, Operator::above);
    stamp.subject = Condition::Subject::stamp;
    CHECK(!here(stamp));
    CHECK(exists(device, stamp, 1));
    CHECK(exists(device, stamp, std::nullopt));
}

TEST_CASE("references show what they point at", "[dump]") {
    schema::Device device = nuthatch();
    schema::Release& release = *device.releases.front().schema;
    release.assets = {{"impulse-response", "impulse response", 1, 8, {{2, "Open 4x12"}}}};
    Parameter reference = testing::byte_parameter("cabinet", -1, 0);
    reference.kind = schema::Kind::reference;
    reference.refers_to = "impulse-response";
    reference.nothing = 255;
    release.parameters = {reference};
    const schema::Instances instances(release);
    const auto value = [&](std::uint8_t stored) {
        return dump::decode_tree(instances, Bytes{stored}, 0).front().value;
    };
    CHECK(value(1) == "2 (Open 4x12)");
    CHECK(value(2) == "3");
    CHECK(value(8) == "?");
    CHECK(value(255) == "nothing");
}

TEST_CASE("meanings that depend on each other come to an end", "[dump]") {
    schema::Device device = nuthatch();
    schema::Release& release = *device.releases.front().schema;
    Parameter a = testing::byte_parameter("a", -1, 0);
    Parameter b = testing::byte_parameter("b", -1, 1);
    schema::VariedMeaning of_a, of_b;
    of_a.when = is("b", {1.0});
    of_b.when = is("a", {1.0});
    a.varies = {of_a};
    b.varies = {of_b};
    release.parameters = {a, b};
    const schema::Instances instances(release);
    CHECK(dump::decode_tree(instances, Bytes{1, 1}, 0).size() == 2);
}

}  // namespace downfit
