#include "study/study_devices.h"

#include <numeric>
#include <stdexcept>

#include "report/problems.h"
#include "schema/load.h"

namespace downfit::testing {

const char* const knot_device = R"({
  "format": "downfit device 1", "device": "knot", "title": "Knot", "maker": "Quillfeather", "releases": ["1"],
  "layouts": { "bank": {
      "messages": { "preset": { "bytes": "F0 7D 0B {slot} {data...} {check} F7",
                                "steps": [ { "check": "sum-7", "over": ["slot", "data"], "in": "check" },
                                           { "unpack": "nibbles", "order": "high-first" } ] } },
      "preset": ["preset"], "stamp": { "at": 0, "as": "uint8" },
      "steps": [ { "check": "sum-8", "over": [0, -1], "at": -1 } ],
      "body": { "size": 16 }, "volatile": [ { "at": 1, "length": 1 } ] } } })";

const char* const knot_release = R"({
  "format": "downfit release 1", "device": "knot", "release": "1", "stamp": 1, "parameters": {
    "volume": { "at": 2, "range": [0, 100], "default": 80 },
    "mode":   { "at": 3, "choices": ["Room", "Hall"], "default": "Room" },
    "time":   { "at": 4, "as": "bits", "bit": 0, "width": 4, "default": 0 },
    "on":     { "at": 5, "as": "bits", "bit": 7, "width": 1, "kind": "switch", "default": false },
    "name":   { "at": 6, "as": "text", "length": 6, "role": "name" } } })";

const char* const serin_device = R"({
  "format": "downfit device 1", "device": "serin", "title": "Serin", "maker": "Quillfeather", "releases": ["1"],
  "layouts": { "bank": {
      "messages": { "preset": { "bytes": "F0 7D 0D {slot} {data...} F7",
                                "steps": [ { "unpack": "nibbles", "order": "high-first" } ] } },
      "preset": ["preset"], "stamp": { "at": 0, "as": "uint8" },
      "body": { "records": { "from": 1, "head": ["id", "length"], "end": "FF" } } } } })";

const char* const serin_release = R"({
  "format": "downfit release 1", "device": "serin", "release": "1", "stamp": 1,
  "groups": { "drive": { "tag": 16, "count": 2, "records": { "head": ["id", "length"] } } },
  "parameters": {
    "volume": { "tag": 1, "range": [0, 127] },
    "drive.gain": { "tag": 1 }, "drive.tone": { "tag": 2 } } })";

schema::Device device_of(const std::vector<std::string>& texts) {
    std::vector<schema::SourceFile> files;
    for (const std::string& text : texts) files.push_back({"file-" + std::to_string(files.size()) + ".json", text});
    Result<schema::Device> device = schema::load_device(files);
    if (!device) throw std::runtime_error(report::problems_text(device.problems()));
    return std::move(device).value();
}

Bytes in_a_row(const std::vector<Bytes>& presets) {
    Bytes all;
    for (const Bytes& preset : presets) all.insert(all.end(), preset.begin(), preset.end());
    return all;
}

namespace {

Bytes halves(const Bytes& body) {
    Bytes out;
    for (const std::uint8_t byte : body) {
        out.push_back(byte >> 4);
        out.push_back(byte & 0x0F);
    }
    return out;
}

}  // namespace

Bytes knot_preset(std::uint8_t slot, const Bytes& body) {
    Bytes whole{1};
    whole.insert(whole.end(), body.begin(), body.end());
    whole.push_back(static_cast<std::uint8_t>(std::accumulate(whole.begin(), whole.end(), 0U)));
    const Bytes data = halves(whole);
    // The check is over the halves as sent.
    const unsigned sum = std::accumulate(data.begin(), data.end(), unsigned{slot});
    return in_a_row({{0xF0, 0x7D, 0x0B, slot}, data, {static_cast<std::uint8_t>(sum & 0x7F), 0xF7}});
}

Bytes serin_preset(std::uint8_t slot, const Bytes& records) {
    return in_a_row({{0xF0, 0x7D, 0x0D, slot}, halves(in_a_row({{1}, records, {0xFF}})), {0xF7}});
}

dump::Dump read_dump(const Bytes& bytes, const schema::Device& device) {
    Result<dump::Dump> dump = dump::read("test.syx", bytes, device);
    if (!dump) throw std::runtime_error(report::problems_text(dump.problems()));
    return std::move(dump).value();
}

const Bytes knot_calm{9, 80, 0, 0x01, 0x00, 'A', 'l', 'd', 'e', 'r', ' ', 0, 0, 0};

Bytes knot_with(Bytes body, std::size_t at, std::uint8_t byte) {
    body[at - 1] = byte;  // the stamp is byte 0
    return body;
}

}  // namespace downfit::testing
