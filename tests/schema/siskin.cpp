#include "schema/siskin.h"

#include <stdexcept>
#include <variant>

namespace downfit::testing {

namespace {

constexpr std::string_view device_text = R"({
  "format": "downfit device 1", "device": "siskin", "title": "Siskin", "maker": "Quillfeather",
  "words": { "alternate": "voice" },
  "releases": ["1.0", { "release": "1.1", "stamp": 11, "date": "2024-05-01" }],
  "slots": { "first": 1, "count": 64 },
  "variants": { "siskin-mini": { "oldest-release": "1.0", "limits": { "amp": 1 }, "facts": { "memory": "small" } } },
  "assets": { "impulse-response": { "title": "impulse response", "count": 8, "contents": { "1": "Open" } } },
  "layouts": {
    "bank": {
      "messages": {
        "start": { "bytes": "F0 7D 07 20 {slot:2} {parts} {check} F7",
                   "steps": [{ "check": "sum-7", "over": ["slot", "parts"], "in": "check" }] },
        "part": { "bytes": "F0 7D 07 21 {slot:2} {part} {data...} F7",
                  "steps": [{ "unpack": "seven-in-eight", "order": "first-high" }] }
      },
      "preset": ["start", "part..."],
      "steps": [{ "check": "crc-16/xmodem", "over": [0, -2], "at": -2, "order": "little" },
                { "unpack": "xor", "key": "5A 3C" }],
      "stamp": { "at": 0, "as": "uint16" },
      "empty": { "at": 0, "bytes": "FF FF" },
      "body": { "size": 128 },
      "volatile": [{ "at": 2, "length": 2 }]
    }
  },
  "rules": { "out-of-range": "clamp", "tolerance": 0.5 }
}
)";

constexpr std::string_view first_text = R"(// Siskin 1.0
{
  "format": "downfit release 1", "device": "siskin", "release": "1.0", "stamp": 10,
  "choice-lists": { "models": ["Brook", "Weir", "Mill"] },
  "groups": {
    "amp": { "kind": "block", "at": 8, "count": 2, "stride": 16, "on-by": "amp.on" },
    "amp.voice": { "kind": "alternate", "at": 4, "count": 3, "stride": 4, "selected-by": "amp.used" },
    "scene": { "kind": "scene", "at": 64, "count": 2, "stride": 8, "start-by": "first-scene" },
    "pedal": { "kind": "controller", "at": 100, "count": 2, "stride": 4, "controls": "pedal.target", "heel": "pedal.heel" }
  },
  "parameters": {
    "name": { "at": 48, "as": "text", "length": 12, "encoding": "latin-1", "padding": "\u0000", "role": "name" },
    "volume": { "at": 4, "unit": "dB", "scale": { "stored": [0, 127], "value": [-60, 12] }, "range": [-60, 6], "role": "level" },
    "first-scene": { "at": 5, "range": [1, 2], "default": 1 },
    "wide": { "at": [{ "byte": 6, "bit": 0, "width": 4 }, { "byte": 7, "bit": 4, "width": 3 }], "signed": "offset" },
    "amp.on": { "at": 0, "kind": "switch", "as": "bits", "bit": 7, "width": 1, "default": "on" },
    "amp.used": { "at": 1, "range": [1, 3] },
    "amp.voice.model": { "at": 0, "choices": "models", "role": "model", "default": "Brook" },
    "amp.voice.drive": { "at": 1, "range": [0, 10], "step": 0.5, "neutral": 0,
                         "when": { "parameter": "amp.voice.model", "is": ["Weir", "Mill"] } },
    "amp.voice.depth": { "at": 2, "as": "int16", "varies": [{ "when": { "parameter": "amp.voice.model", "is": "Mill" }, "range": [0, 9] }] },
    "scene.amp-on": { "at": 0, "kind": "switch", "overrides": "amp[1].on", "as-base": 255 },
    "pedal.target": { "at": 0, "refers-to": "parameter", "nothing": 255, "choices": { "volume": 0, "amp[2].voice.drive": 1 } },
    "pedal.heel": { "at": 1, "unit": "%" },
    "pedal.toe": { "at": 2, "unit": "%", "rules": { "out-of-range": "reset" } },
    "cabinet": { "at": 3, "refers-to": "impulse-response", "nothing": 0 }
  },
  "accepts": [{ "stamp": { "at-most": "1.1" }, "why": "no newer ones" }],
  "repairs": [{ "if": { "at": 4, "bytes": "7F" }, "read-as": "00" }]
}
)";

constexpr std::string_view second_text = R"({
  "format": "downfit release 1", "device": "siskin", "release": "1.1", "extends": "1.0",
  "choice-lists": { "models": { "insert": { "Ford": 1 }, "rename": { "Mill": "Old Mill" } } },
  "parameters": {
    "volume": { "range": [-60, 12] },
    "amp.voice.bite": { "at": 3, "neutral": 0 },
    "amp.voice.drive": { "when": { "is": ["Weir", "Old Mill"] } },
    "amp.voice.depth": { "varies": null }
  },
  "revoiced": { "amp.voice.model": { "Weir": { "weight": "audible", "level-change": 2.5 } } },
  "returns-to": "1.0",
  "layouts": { "bank": { "body": { "size": 160 } } }
}
)";

}  // namespace

std::vector<schema::SourceFile> siskin() {
    return {{"device.json", std::string(device_text)},
            {"1.0.json", std::string(first_text)},
            {"1.1.json", std::string(second_text)}};
}

std::vector<schema::SourceFile> siskin_with(std::string_view file, std::string_view find, std::string_view put) {
    return files_with(siskin(), file, find, put);
}

std::vector<schema::SourceFile> files_with(std::vector<schema::SourceFile> files, std::string_view file,
                                           std::string_view find, std::string_view put) {
    for (schema::SourceFile& source : files) {
        if (source.name != file) continue;
        if (find.empty()) {
            source.text = put;
            return files;
        }
        const std::size_t at = source.text.find(find);
        if (at == std::string::npos || source.text.find(find, at + 1) != std::string::npos) break;
        source.text.replace(at, find.size(), put);
        return files;
    }
    throw std::logic_error("not exactly once in " + std::string(file) + ": " + std::string(find));
}

std::string one_line(const Problem& problem) {
    std::string line;
    if (const auto* place = std::get_if<TextPlace>(&problem.place)) {
        line = place->file + ":" + std::to_string(place->line) + ":" + std::to_string(place->column) + " " +
               place->pointer;
    } else if (const auto* file = std::get_if<std::string>(&problem.place)) {
        line = *file;
    }
    return line + " | " + problem.what + " | " + problem.expected + " | " + problem.remedy;
}

std::string problem_lines(const Result<schema::Device>& result) {
    std::string lines;
    if (result.ok()) return lines;
    for (const Problem& problem : result.problems()) lines += one_line(problem) + "\n";
    return lines;
}

schema::Device must_load(const std::vector<schema::SourceFile>& files) {
    auto result = schema::load_device(files);
    if (!result.ok()) throw std::logic_error(problem_lines(result));
    return std::move(result).value();
}

std::vector<schema::SourceFile> wren(const std::vector<SmallRelease>& releases) {
    std::string names;
    std::vector<schema::SourceFile> files{{"device.json", {}}};
    for (const SmallRelease& release : releases) {
        names += (names.empty() ? "\"" : ", \"") + release.name + "\"";
        files.push_back(
            {release.name + ".json", "{ \"format\": \"downfit release 1\", \"device\": \"wren\", \"release\": \"" +
                                         release.name + "\", " + release.rest + " }"});
    }
    files[0].text = "{ \"format\": \"downfit device 1\", \"device\": \"wren\", \"releases\": [" + names +
                    "],\n  \"layouts\": { \"preset\": { \"messages\": { \"preset\": { \"bytes\": \"F0 7D 09 {slot} "
                    "{data...} F7\" } },\n"
                    "  \"preset\": [\"preset\"], \"body\": { \"size\": 64 } } } }";
    return files;
}

}  // namespace downfit::testing
