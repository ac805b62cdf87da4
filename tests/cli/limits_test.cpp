// Every limit of docs/limits.md through the real program: what exceeds it is refused with exit status 2 and a sentence
// that says which limit it was, quickly and without taking all memory.
#include "base/limits.h"

#include <filesystem>
#include <string>

#include "cli/small_rig.h"
#include "compat/check.h"
#include "midi/deflate.h"
#include "midi/run_length.h"
#include "midi/seven_bit.h"
#include "schema/load.h"
#include "support/catch.h"
#include "support/demo_files.h"
#include "support/file.h"

namespace downfit::testing {

namespace {

std::string repeated(const std::string& text, std::size_t count) {
    std::string all;
    all.reserve(text.size() * count);
    for (std::size_t i = 0; i < count; ++i) all += text;
    return all;
}

std::string text_of(const Bytes& bytes) {
    return {bytes.begin(), bytes.end()};
}

/// `check` must refuse the file and say why.
void refuses(const SmallRig& rig, const std::string& file, const std::string& why) {
    CAPTURE(file, why);
    const Ran ran = rig.run({"check", file, "--on", "1.0"});
    CHECK(ran.status == 2);
    CHECK_THAT(ran.errors + ran.output, ContainsSubstring(why));
}

/// `check` must refuse the schemas with this text as the file of release 1.1.
void refuses_schema(const std::string& text, const std::string& why) {
    CAPTURE(why);
    const SmallRig rig;
    rig.write("schemas/wren/1.1.json", text);
    const Ran ran = rig.run({"check", rig.dump("room.syx", room_on_1_1), "--on", "1.0"});
    CHECK(ran.status == 2);
    CHECK_THAT(ran.errors, ContainsSubstring(why));
}

std::string release(const std::string& more) {
    return R"({"format": "downfit release 1", "device": "wren", "release": "1.1", "extends": "1.0", )" + more + "}";
}

std::string message(std::uint8_t slot, const Bytes& packed) {
    return "\xF0\x7D\x0A" + std::string(1, static_cast<char>(slot)) + "\x01" +
           text_of(midi::encode(midi::SevenBit{}, packed).value()) + "\xF7";
}

/// The rig's device with bodies that are packed so.
void pack_bodies(const SmallRig& rig, const std::string& step) {
    rig.write("schemas/wren/device.json", R"({
  "format": "downfit device 1", "device": "wren", "title": "Wren", "maker": "Quillfeather",
  "releases": [{"release": "1.0", "stamp": 1}, {"release": "1.1", "stamp": 2}],
  "layouts": { "preset": {
      "messages": { "preset": { "bytes": "F0 7D 0A {slot} {stamp} {data...} F7",
                                "steps": [ { "unpack": "seven-in-eight", "order": "first-high" }, )" +
                                              step + R"( ] } },
      "preset": ["preset"], "body": { "size": 2 } } } })");
}

Bytes deflated_zeros(std::size_t count) {
    return midi::encode(midi::Deflate{midi::Deflate::Wrapper::zlib, 9, 1u << 30}, Bytes(count)).value();
}

}  // namespace

TEST_CASE("a file that is too large is refused", "[cli][limits]") {
    const SmallRig rig;
    rig.write("large.syx", "");
    std::filesystem::resize_file(rig.path("large.syx"), limits::largest_file + 1);
    refuses(rig, "large.syx", "is larger than 64 MiB");
}

TEST_CASE("a file with too many messages is refused, one with as many as may be is read", "[cli][limits]") {
    const SmallRig rig;
    rig.write("many.syx", repeated("\xF0\x7D\xF7", limits::most_messages + 1));
    refuses(rig, "many.syx", "holds more than 100000 messages");
    rig.write("most.syx", repeated("\xF0\x7D\x01\xF7", limits::most_messages - 1) + "\xF0\x7D\x09\x01\x02\x50\x01\xF7");
    CHECK(rig.run({"check", "most.syx", "--on", "1.0"}).status == 1);
}

TEST_CASE("a message that is too long is told and not looked at", "[cli][limits]") {
    const SmallRig rig;
    rig.write("long.syx",
              "\xF0\x7D\x09\x01\x02\x50\x01\xF7\xF0\x7D\x09" + std::string(limits::longest_message, '\x01') + "\xF7");
    refuses(rig, "long.syx", "the message is longer than 16 MiB and was not looked at");
}

TEST_CASE("packed data that unpacks to too much is damage", "[cli][limits]") {
    const SmallRig rig;
    pack_bodies(rig, R"({ "unpack": "deflate", "wrapper": "zlib" })");
    rig.write("bomb.syx", message(1, deflated_zeros(limits::largest_unpacked + 1)));
    refuses(rig, "bomb.syx", "the deflated data holds too many bytes");
    pack_bodies(rig, R"({ "unpack": "run-length", "escape": "1B" })");
    Bytes runs;
    for (std::size_t bytes = 0; bytes <= limits::largest_unpacked; bytes += 0xFF)
        runs.insert(runs.end(), {0x1B, 0xFF, 0});
    rig.write("runs.syx", message(1, runs));
    refuses(rig, "runs.syx", "the runs hold too many bytes");
}

TEST_CASE("many packed messages that together unpack to too much are damage", "[cli][limits][.long]") {
    const SmallRig rig;
    pack_bodies(rig, R"({ "unpack": "deflate", "wrapper": "zlib" })");
    const Bytes packed = deflated_zeros(limits::largest_unpacked);
    std::string dump;
    for (std::uint8_t slot = 0; slot < 20; ++slot) dump += message(slot, packed);
    rig.write("bombs.syx", dump);
    const Ran ran = rig.run({"contents", "bombs.syx"});
    CHECK(ran.status == 2);
    CHECK_THAT(ran.output, ContainsSubstring("the dump holds too many bytes once unpacked"));
}

TEST_CASE("JSON that is too deep, too large or has too many values is refused", "[cli][limits]") {
    refuses_schema(release("\"notes\": " + repeated("[", limits::deepest_json) + repeated("]", limits::deepest_json)),
                   "too many brackets inside each other");
    refuses_schema(release("\"notes\": " + repeated("[", 1'000'000)), "too many brackets inside each other");
    refuses_schema(release("\"notes\": [" + repeated("0,", limits::most_json_values) + "0]"), "too many values");
    refuses_schema(release("\"notes\": \"" + std::string(limits::largest_schema_file, 'x') + "\""),
                   "expected: at most 16 MiB");
}

TEST_CASE("too many instances, choices and presets in a schema are refused", "[cli][limits]") {
    refuses_schema(release(R"("groups": {"a": {"at": 0, "count": 1000, "stride": 0},
                                         "a.b": {"at": 0, "count": 1000, "stride": 0}})"),
                   "too many instances of groups or parameters");
    std::string labels;
    for (std::size_t i = 0; i <= limits::most_choices; ++i) labels += "\"m" + std::to_string(i) + "\",";
    refuses_schema(release(R"("parameters": {"mode": {"choices": [)" + labels + "\"last\"]}}"), "too many choices");
    refuses_schema(release(R"("layouts": {"preset": {"presets": [
                     {"count": 1000, "pieces": [{"at": 0, "stride": 0, "length": 1000000}]}]}})"),
                   "the presets of a run have 1000000000 bytes");
}

TEST_CASE("too many groups, parameters, copies and shared places in a schema are refused", "[cli][limits]") {
    const auto entries = [](std::size_t count, const std::string& entry) {
        std::string all;
        for (std::size_t i = 0; i < count; ++i) {
            all += (i == 0 ? "" : ",") + ("\"g" + std::to_string(i)) + "\": " + entry;
        }
        return all;
    };
    const std::string size = "too many groups or parameters";
    refuses_schema(release("\"groups\": {" + entries(limits::most_groups + 1, R"({"at": 0})") + "}"), size);
    refuses_schema(release("\"parameters\": {" + entries(limits::most_parameters + 1, R"({"at": 0})") + "}"), size);
    refuses_schema(release("\"groups\": {\"a\": {\"at\": 0}, " +
                           entries(limits::most_alike + 1, R"({"at": 0, "like": "a"})") + "}"),
                   "too many groups are like another");
    refuses_schema(release("\"parameters\": {" + entries(5000, R"({"at": 0})") + "}"), "share their bytes");
    refuses_schema(release(R"("layouts": {"preset": {"body": {"size": 2000000}}},
                              "groups": {"a": {"at": 0, "count": 1000, "stride": 1}},
                              "parameters": {"a.b": {"at": 0, "as": "text", "length": 1001}})"),
                   "take too many bytes");
    // Twice as many in each: without a limit, 2^30 of them.
    std::string doubling = R"("g0": {"at": 0})";
    for (int i = 1; i <= 30; ++i) {
        const std::string self = "\"g" + std::to_string(i);
        const std::string inner = "\": {\"at\": 0, \"like\": \"g" + std::to_string(i - 1) + "\"}";
        doubling += "," + self + "\": {\"at\": 0}," + self + ".a" + inner + "," + self + ".b" + inner;
    }
    refuses_schema(release("\"groups\": {" + doubling + "}, \"parameters\": {\"g0.x\": {\"at\": 0}}"), size);
}

TEST_CASE("of very many problems the first are told and the others counted", "[cli][limits]") {
    std::string keys;
    for (int i = 0; i < 50'000; ++i) keys += "\"rang" + std::to_string(i) + "\": 1,\n";
    refuses_schema(release("\"rules\": {" + keys + "\"x\": 1}"), "more problems");
}

TEST_CASE("a check with too many findings stops and says so", "[cli][limits]") {
    const schema::Device device = load_device_folder("dunlin-6");
    const Bytes bytes = demo_dump("bank-a.syx");
    const dump::Dump dump = read_demo_dump("bank-a.syx", bytes, device);
    compat::CheckOptions options;
    options.targets = {0};
    options.brought_by = false;
    options.most_findings = 1000;
    compat::Checker checker(device, options);
    const compat::DumpCheck check = compat::check_dump(checker, dump, bytes);
    REQUIRE(check.stopped.has_value());
    CHECK(check.stopped->what == "leads to more than 1000 findings");
    std::size_t kept = 0;
    for (const compat::PresetCheck& preset : check.presets) kept += preset.targets.front().findings.size();
    CHECK(kept <= 1000);
}

}  // namespace downfit::testing
