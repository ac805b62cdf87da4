// Bodies of records: fields read and written in their records, what is absent, unknown or unexplained.
#include <algorithm>

#include "dump/locate.h"
#include "dump/show_problem.h"
#include "dump/small_devices.h"
#include "dump/tree.h"
#include "support/catch.h"
#include "support/hex.h"
#include "support/property.h"

namespace downfit {

namespace {

using schema::HeadPart;
using schema::Parameter;
using testing::from_hex;

schema::Condition comparison(schema::Condition::Subject subject, double setting) {
    schema::Condition condition;
    condition.kind = schema::Condition::Kind::comparison;
    condition.subject = subject;
    condition.op = schema::Condition::Operator::at_least;
    condition.settings = {setting};
    return condition;
}

/// Two bytes of head, then records: 1 a name, 2 two blocks (version 1 or 2) that hold records of their own, 3 a list.
schema::Device bullfinch() {
    schema::Device device = testing::wren();
    schema::Release& release = *device.releases.front().schema;
    schema::Records records;
    records.from = 2;
    records.head = {
        {HeadPart::Kind::id, 1, false}, {HeadPart::Kind::version, 1, false}, {HeadPart::Kind::length, 1, false}};
    records.end = 0xFF;
    release.layouts.front().records = records;
    schema::Group block;
    block.path = block.meaning = "block";
    block.count = 2;
    block.tag = 2;
    block.records.emplace();
    block.records->from = 1;
    block.records->head = {{HeadPart::Kind::id, 1, false}};
    block.records->value_length = 2;
    release.groups = {block};
    Parameter name = testing::byte_parameter("name", -1, 0);
    name.tag = 1;
    name.kind = schema::Kind::text;
    name.storage = {};
    name.storage.coding = schema::Coding::text;
    name.storage.text_length = 8;
    name.plain.role = schema::Role::name;
    Parameter type = testing::byte_parameter("block.type", 0, 0);
    Parameter drive = testing::byte_parameter("block.drive", 0, 0);
    drive.tag = 7;
    drive.storage.pieces = {{0, 0, 8}, {1, 0, 8}};
    Parameter newer = testing::byte_parameter("block.newer", 0, 0);
    newer.when = comparison(schema::Condition::Subject::version, 2);
    Parameter curve = testing::byte_parameter("curve", -1, 1);
    curve.tag = 3;
    curve.list_count = 3;
    curve.list_stride = 1;
    curve.count_by = "points";
    Parameter points = testing::byte_parameter("points", -1, 0);
    points.tag = 3;
    Parameter mode = testing::byte_parameter("mode", -1, 0);
    schema::Read old;
    old.when.kind = schema::Condition::Kind::comparison;
    old.when.subject = schema::Condition::Subject::bytes;
    old.when.at = 0;
    old.when.bytes = {0x44};
    old.storage.pieces = {{1, 0, 8}};
    mode.reads = {old};
    release.parameters = {name, mode, points, curve, type, drive, newer};
    return device;
}

const char* const whole_body =
    "44 09  01 00 04 \"Fen \"  02 01 04 AA 07 01 02  02 02 04 BB 07 03 04  03 00 04 02 0A 0B 0C  FF 77";

std::vector<std::string> shown(const schema::Device& device, const Bytes& body) {
    const schema::Instances instances(*device.releases.front().schema);
    std::vector<std::string> texts;
    for (const dump::Leaf& leaf : dump::decode_tree(instances, body, std::nullopt, &device, 0)) {
        texts.push_back(instances.fields()[leaf.field].id + "=" + leaf.value + (leaf.exists ? "" : " (not there)"));
    }
    return texts;
}

}  // namespace

TEST_CASE("fields are read in their records", "[dump]") {
    const schema::Device device = bullfinch();
    CHECK(shown(device, from_hex(whole_body)) ==
          std::vector<std::string>{"name=Fen", "mode=9", "points=2", "curve[1]=10", "curve[2]=11",
                                   "curve[3]=12 (not there)", "block[1].type=170", "block[1].drive=258",
                                   "block[1].newer=170 (not there)", "block[2].type=187", "block[2].drive=772",
                                   "block[2].newer=187"});
}

TEST_CASE("a field whose record is absent holds nothing", "[dump]") {
    const schema::Device device = bullfinch();
    CHECK(shown(device, from_hex("45 09  02 01 04 AA 08 01 02")) ==
          std::vector<std::string>{"name=", "mode=69",
                                   "points=", "curve[1]=", "curve[2]=", "curve[3]=", "block[1].type=170",
                                   "block[1].drive=", "block[1].newer=170 (not there)", "block[2].type= (not there)",
                                   "block[2].drive= (not there)", "block[2].newer= (not there)"});
}

TEST_CASE("heads and what stands behind the end mark are explained, unknown records are not", "[dump]") {
    const schema::Device device = bullfinch();
    const schema::Instances instances(*device.releases.front().schema);
    CHECK(dump::preset_name(instances, from_hex(whole_body)) == "Fen");
    CHECK(dump::unexplained_bytes(instances, 0, from_hex(whole_body)).empty());
    const Bytes strange = from_hex("44 09  05 00 02 11 22  02 01 04 AA 07 01 02");
    CHECK(dump::unexplained_bytes(instances, 0, strange) == std::vector<std::size_t>{2, 3, 4, 5, 6});
    const dump::Located located(instances, instances.release().layouts.front(), strange);
    REQUIRE(located.unknown().size() == 1);
    CHECK(located.unknown().front().id == 5);
    CHECK(located.complete());
    const dump::Located cut(instances, instances.release().layouts.front(), from_hex("44 09 01 00 09 41"));
    CHECK(!cut.complete());
}

TEST_CASE("what is written into a record is read again and moves nothing", "[dump]") {
    const schema::Device device = bullfinch();
    const schema::Instances instances(*device.releases.front().schema);
    const schema::Layout& layout = instances.release().layouts.front();
    const Bytes body = from_hex(whole_body);
    testing::holds("numbers", [&] {
        const auto index = *rc::gen::inRange<std::size_t>(2, instances.fields().size());
        const schema::Field& field = instances.fields()[index];
        dump::Stored stored;
        stored.kind = dump::Stored::Kind::whole;
        stored.whole = *rc::gen::inRange<std::int64_t>(0, 256);
        Bytes changed = body;
        const dump::Located located(instances, layout, body);
        RC_ASSERT(dump::write_located(field, field.storage, located, stored, changed));
        RC_ASSERT(changed.size() == body.size());
        const dump::Located again(instances, layout, changed);
        RC_ASSERT(dump::read_located(field, field.storage, again, changed) == stored);
    });
    testing::holds("random bodies do no harm", [&](const Bytes& bytes) {
        RC_ASSERT(dump::decode_tree(instances, bytes, std::nullopt, &device).size() == instances.fields().size());
        (void)dump::unexplained_bytes(instances, 0, bytes, &device);
        (void)dump::preset_name(instances, bytes);
    });
    for (std::size_t at = 0; at < body.size(); ++at) {
        for (unsigned value = 0; value < 256; ++value) {
            Bytes changed = body;
            changed[at] = static_cast<std::uint8_t>(value);
            REQUIRE(dump::decode_tree(instances, changed, std::nullopt).size() == instances.fields().size());
        }
    }
}

}  // namespace downfit
