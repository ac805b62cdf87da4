#include "cli/small_rig.h"

#include "support/file.h"
#include "support/hex.h"

namespace downfit::testing {

SmallRig::SmallRig() {
    write("schemas/wren/device.json", R"({
  "format": "downfit device 1", "device": "wren", "title": "Wren", "maker": "Quillfeather",
  "releases": [{"release": "1.0", "stamp": 1}, {"release": "1.1", "stamp": 2}],
  "layouts": { "preset": {
      "messages": { "preset": { "bytes": "F0 7D 09 {slot} {stamp} {data...} F7" } },
      "preset": ["preset"], "body": { "size": 2 } } },
  "rules": { "out-of-range": "clamp", "newer-stamp": "load" }
})");
    write("schemas/wren/1.0.json",
          R"({ "format": "downfit release 1", "device": "wren", "release": "1.0", "parameters": {
    "volume": { "at": 0, "unit": "dB", "scale": { "stored": [0, 100], "value": [-80, 20] }, "range": [-80, 20], "role": "level" },
    "mode":   { "at": 1, "choices": ["Room", "Hall"], "role": "model" } } })");
    write("schemas/wren/1.1.json",
          R"({ "format": "downfit release 1", "device": "wren", "release": "1.1", "extends": "1.0",
  "parameters": { "mode": { "choices": { "insert": { "Plate": 1 } } } } })");
}

std::string SmallRig::dump(const std::string& name, const std::string& hex) const {
    write_bytes(folder_ / name, from_hex(hex));
    return name;
}

void SmallRig::write(const std::string& name, const std::string& text) const {
    write_text(folder_ / name, text);
}

std::string SmallRig::read(const std::string& name) const {
    return read_text(folder_ / name);
}

Ran SmallRig::run(const std::vector<std::string>& arguments, const std::string& input) const {
    return run_downfit(arguments, {input, {{"DOWNFIT_SCHEMAS", ""}}, folder_.path()});
}

std::string without_digests(const std::string& output, const std::string& version) {
    return output.substr(0, output.rfind(version));
}

}  // namespace downfit::testing
