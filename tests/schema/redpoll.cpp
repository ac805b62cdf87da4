#include "schema/redpoll.h"

#include <string>

#include "schema/siskin.h"

namespace downfit::testing {

namespace {

constexpr std::string_view device_text = R"({
  "format": "downfit device 1", "device": "redpoll", "title": "Redpoll", "maker": "Quillfeather",
  "releases": ["1.0", { "release": "1.1", "stamp": { "from": 20 } }],
  "unlisted-stamps": "older",
  "variants": { "redpoll-mini": { "budget": 40 } },
  "assets": { "impulse-response": { "count": 8 } },
  "layouts": {
    "bank": {
      "messages": {
        "header": { "bytes": "F0 7D 0B 10 {stamp} F7" },
        "block": { "bytes": "F0 7D 0B 11 {address:2} {size} {data...} F7",
                   "steps": [{ "length": ["data"], "in": "size", "plus": 1 }] }
      },
      "dump": ["header"],
      "image": { "of": ["block..."], "address": "address", "unit": 2, "size": 1024 },
      "steps": [{ "length": [0, -2], "at": -2, "as": "uint16", "order": "little" }],
      "presets": { "count": 4, "first": 1,
                   "pieces": [{ "at": 300, "stride": -100, "length": 100 },
                              { "at": 1000, "stride": 8, "length": 8, "by": { "at": 3 } }] },
      "filled": { "at": 0, "bytes": "50" },
      "empty": [{ "at": 0, "bytes": "FF" }, { "at": 4, "bytes": "00 00" }],
      "body": { "records": { "from": 4, "head": ["id", "length:2 little", "version"], "counts": "record", "end": "FF" } }
    },
    "file": {
      "as": "raw", "begins-with": "52 50",
      "steps": [{ "unpack": "encrypted" }],
      "body": { "records": { "head": ["id:2 little"], "value": 4, "end": "01 02" } }
    }
  }
}
)";

constexpr std::string_view first_text = R"({
  "format": "downfit release 1", "device": "redpoll", "release": "1.0", "stamp": 10, "budget": 100,
  "groups": {
    "amp": { "kind": "block", "tag": 3, "count": 2, "records": { "from": 8, "head": ["id", "length"] }, "version-at-most": 2,
             "rules": { "refuses": "preset" }, "on-by": "amp.on", "cost": { "by": "amp.model", "costs": { "Brook": 10 }, "else": 4 } },
    "amp.tap": { "tag": 5, "count": 2, "count-by": "amp.taps" },
    "amp.voice": { "at": 1, "count": 2, "stride": 3 },
    "pad": { "kind": "block", "tag": 4, "records": { "head": ["id", "length"] }, "on-by": "pad.on", "like": "amp" },
    "step": { "count": 3, "count-by": "length" }
  },
  "parameters": {
    "points": { "at": 1, "range": [0, 3] },
    "tempo": { "tag": 17, "as": "uint16" },
    "swing": { "tag": 17, "at": 2 },
    "curve": { "tag": 18, "as": "uint16", "list": { "count": 3, "count-by": "points" },
               "reads": [{ "when": { "bytes": { "at": 0, "are": "50" } }, "at": 3, "as": "int8", "range": [-5, 5] }] },
    "cabinet": { "tag": 20, "as": "text", "length": 8, "refers-to": "impulse-response", "refers-by": "name", "default": "Open" },
    "amp.on": { "tag": 1, "kind": "switch" },
    "amp.model": { "tag": 2, "choices": ["Brook", "Weir"] },
    "amp.taps": { "tag": 6, "range": [0, 2] },
    "amp.tap.level": { "at": 1, "when": { "parameter": "amp.model", "is": "Weir" } },
    "amp.voice.drive": { "at": 2, "when": { "all": [{ "version": { "at-least": 2 } }, { "parameter": "amp[2].on", "is": "on" }] } },
    "pad.taps": { "tag": 7 },
    "step.pitch": { "tag": 30 }
  }
}
)";

constexpr std::string_view second_text = R"({
  "format": "downfit release 1", "device": "redpoll", "release": "1.1", "extends": "1.0",
  "parameters": {
    "amp.model": { "choices": { "rename": { "Brook": "Stream" } } },
    "amp.tap.level": { "range": [0, 9] },
    "amp.bite": { "tag": 8 },
    "pad.voice.drive": { "range": [0, 5] }
  }
}
)";

}  // namespace

std::vector<schema::SourceFile> redpoll() {
    return {{"device.json", std::string(device_text)},
            {"1.0.json", std::string(first_text)},
            {"1.1.json", std::string(second_text)}};
}

std::vector<schema::SourceFile> redpoll_with(std::string_view file, std::string_view find, std::string_view put) {
    return files_with(redpoll(), file, find, put);
}

}  // namespace downfit::testing
