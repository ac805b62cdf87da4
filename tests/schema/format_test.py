"""schemas/format/ against every device in schemas/, and against good and bad examples, by an independent validator.

format_test.py [PROJECT] prints what is wrong and exits with 1 if anything is.
"""
import copy
import json
import pathlib
import re
import sys

import jsonschema

SHARED = "device.schema.json"


def without_comments(text):
    """JSON without // and /* */ comments; texts in quotes stay as they are."""
    token = re.compile(r'"(?:\\.|[^"\\])*"|//[^\n]*|/\*.*?\*/', re.DOTALL)
    return token.sub(lambda found: found[0] if found[0].startswith('"') else " ", text)


def read(path):
    return json.loads(without_comments(path.read_text(encoding="utf-8-sig")))


def joined(schema, shared):
    """`schema` with the definitions it takes from the other file as its own."""
    text = json.dumps(schema).replace(SHARED + "#", "#")
    whole = json.loads(text)
    whole["definitions"] = {**shared["definitions"], **whole.get("definitions", {})}
    return whole


def keywords(node, inside_names=False):
    """Every keyword of a schema; names of properties and definitions are none."""
    if isinstance(node, list):
        for item in node:
            yield from keywords(item)
    elif isinstance(node, dict):
        for key, value in node.items():
            if not inside_names:
                yield key, node
            yield from keywords(value, not inside_names and key in ("properties", "definitions"))


def style_problems(name, schema):
    for key, node in keywords(schema):
        if key == "multipleOf":
            yield f"{name}: multipleOf does not work with fractions"
        if key == "propertyNames" and list(node[key]) != ["$ref"]:
            yield f"{name}: propertyNames without a reference: valijson 1.0 takes them for the object itself"
        if key == "properties" and "additionalProperties" not in node and any(node["properties"].values()):
            yield f"{name}: an object without additionalProperties: {sorted(node['properties'])}"
        if key == "$ref" and len(node) > 1:
            yield f"{name}: a reference hides what stands beside it: {sorted(node)}"
        if key == "properties":
            for member, value in node["properties"].items():
                if value is not False and "description" not in (described(schema, value["$ref"]) if "$ref" in value else value):
                    yield f"{name}: {member} has no description"


def described(schema, reference):
    """What a reference into the joined schema names."""
    node = schema
    for step in reference.removeprefix("#/").split("/"):
        node = node[step]
    return node if "$ref" not in node else described(schema, node["$ref"])


DEVICE = {
    "format": "downfit device 1", "device": "wren", "releases": ["1.0", {"release": "1.1", "stamp": [2, "b"]}],
    "layouts": {"preset": {"messages": {"preset": {"bytes": "F0 7D 09 {slot:2 low-first} {} {data...} {check} F7",
                                                   "steps": [{"check": "sum-7", "over": ["data"], "in": "check"},
                                                             {"unpack": "split", "low-bits": 4}]}},
                           "preset": ["preset"], "body": {"size": 2}, "empty": [{"at": 0, "bytes": "FF"}]},
                "raw": {"as": "raw", "begins-with": "50 49", "body": {"records": {"from": 4, "head": ["id", "length:2 little"]}},
                        "steps": [{"length": [0, -2], "at": -2, "as": "uint16", "plus": 2}, {"unpack": "encrypted"}]},
                "bank": {"messages": {"part": {"bytes": "F0 7D 09 {address:2} {length} {data...} F7",
                                               "steps": [{"length": ["data"], "in": "length"}]},
                                      "header": {"bytes": "F0 7D 0A F7"}},
                         "image": {"of": ["part..."], "address": "address", "size": 64}, "dump": ["header"],
                         "presets": [{"count": 2, "pieces": [{"at": 0, "stride": 4, "length": 4},
                                                             {"at": 63, "stride": -4, "length": 1, "by": {"at": 3}}]}],
                         "filled": {"at": 0, "bytes": "50"}, "body": {"size": 5}},
                "export": {"as": "json", "presets": "/sounds/*", "recognised-by": {"/device": "Wren"},
                           "slot": {"by": "key", "first": 1}, "name": "/name", "stamp": ["/major", "/minor"],
                           "volatile": ["/saved-at"]},
                "library": {"as": "xml", "presets": "bank/preset", "slot": "@slot", "stamp": {"path": "bank/@stamp", "from": "file"}}},
    "unlisted-stamps": "older", "variants": {"small": {"budget": 50}},
    "rules": {"out-of-range": "clamp", "tolerance": 0.5},
}
RELEASE = {
    "format": "downfit release 1", "device": "wren", "release": "1.0", "stamp": 1,
    "parameters": {
        "volume": {"at": 0, "unit": "dB", "scale": {"stored": [0, 100], "value": [-80, 20]}, "range": [-80, 20]},
        "amp.mode": {"at": [{"byte": 1, "bit": 0, "width": 4}],
                     "choices": {"Room": 0, "Hall": {"number": 4, "was": "Big"}}},
        "gone": None,
        "width": {"path": "/width", "as": "float32", "in": {"library": {"path": "width/@value"}}},
        "type": {"in": {"export": {"path": "/type", "as": "text", "written": {"Room": "room"}}}, "choices": ["Room"]},
        "curve": {"tag": 17, "list": {"count": 16, "stride": 2, "count-by": "volume"},
                  "reads": [{"when": {"bytes": {"at": 0, "are": "44"}}, "at": 3, "as": "int8", "range": [0, 3]}]},
        "cabinet": {"at": 3, "as": "text", "length": 8, "refers-to": "impulse-response", "refers-by": "name"},
        "knob": {"range": None, "choices": {"rename": {"A": "B"}, "insert": {"C": 1}, "D": None},
                 "when": {"any": [{"parameter": "amp[2].mode", "is": ["Room", 4]}, {"stamp": {"at-least": "1.1"}}]}},
    },
    "groups": {"amp": {"kind": "block", "at": 1, "count": 2, "stride": -4, "cost": {"by": "amp.mode", "costs": {"Room": 3}, "else": 1}},
               "tap": {"tag": 3, "count": 4, "records": {"head": ["id"], "value": 2}, "version-at-most": 1, "rules": {"refuses": "preset"},
                       "count-by": "length", "when": {"version": {"at-least": 1}}},
               "other": {"at": 9, "like": "amp"},
               "pedal": {"path": "/pedals/*", "by": "/id", "keys": [1, "two"], "count": 2, "version": "/version",
                         "in": {"library": {"path": "pedal"}}}},
    "budget": 100,
    "accepts": [{"slot": {"at-most": 99}}],
}


def changed(example, path, value):
    """A copy of an example with one value put in; the path's last key may be new."""
    copy_of = copy.deepcopy(example)
    at = copy_of
    for key in path[:-1]:
        at = at[key]
    at[path[-1]] = value
    return copy_of


PRESET = ["layouts", "preset"]
RAW = ["layouts", "raw"]
RECORDS = RAW + ["body", "records"]
BANK = ["layouts", "bank"]
EXPORT = ["layouts", "export"]
MESSAGE = PRESET + ["messages", "preset"]
BAD_DEVICES = [
    (["format"], "downfit device 2"), (["device"], "Wren"), (["colour"], "red"), (["releases"], []),
    (["releases", 0], 1.0),
    (["title"], None), (["words"], {"knob": "dial"}), (MESSAGE + ["bytes"], "F0 {data...}"),
    (MESSAGE + ["bytes"], "F0 FF F7"),
    (MESSAGE + ["bytes"], "F0 {Data...} F7"), (MESSAGE + ["steps", 0, "check"], "sum-9"),
    (MESSAGE + ["steps", 1, "low-bits"], 8), (MESSAGE + ["steps", 1, "order"], "high-first"),
    (PRESET + ["preset"], ["preset.."]), (PRESET + ["body"], {"size": -1}), (PRESET + ["bodies"], {}),
    (["rules", "out-of-range"], "round"), (["rules", "tolerance"], -1), (["slots"], {"first": "1"}),
    (["assets"], {"preset": {"count": 3}}), (["layouts"], {"preset": {"preset": ["preset"]}}),
    (["unlisted-stamps"], "neighbour"), (["releases", 1, "stamp"], {"from": -1}), (["variants", "small", "budget"], -1),
    (PRESET + ["image"], {"of": ["preset"]}), (PRESET + ["begins-with"], "50"), (PRESET + ["empty"], []), (RAW + ["preset"], ["a"]),
    (RAW + ["begins-with"], ""), (RECORDS + ["head"], ["length"]), (RECORDS + ["head"], ["id", "id:2"]),
    (RECORDS + ["head"], ["id:5"]), (RECORDS + ["head"], ["id little"]), (RECORDS + ["counts"], "all"),
    (RAW + ["steps", 0, "in"], "length"), (RAW + ["steps", 1, "key"], "5A"), (BANK + ["image", "address"], None),
    (BANK + ["image", "unit"], 0), (BANK + ["presets"], []), (BANK + ["presets", 0, "pieces"], []),
    (BANK + ["presets", 0, "pieces", 0, "length"], 0), (BANK + ["presets", 0, "pieces", 1, "by"], 3), (BANK + ["dump"], ["header..."]),
    (EXPORT + ["presets"], [{"pieces": [{"at": 0, "length": 1}]}]), (EXPORT + ["body"], {"size": 1}), (EXPORT + ["slot", "by"], "name"),
    (EXPORT + ["stamp"], []), (EXPORT + ["stamp"], {"path": 3}), (EXPORT + ["as"], "yaml"), (EXPORT + ["recognised-by"], {}),
    (EXPORT + ["messages"], {"preset": {"bytes": "F0 7D F7"}}),
]
VOLUME = ["parameters", "volume"]
CURVE = ["parameters", "curve"]
BAD_RELEASES = [
    (["release"], ""), (["stamp"], 1.5), (["stamp"], []), (["parameters", "Volume"], {}), (VOLUME + ["rnage"], [0, 1]),
    (VOLUME + ["range"], [0]), (VOLUME + ["unit"], "db"), (VOLUME + ["step"], 0), (VOLUME + ["at"], "0"),
    (VOLUME + ["scale", "taper"], "log"), (VOLUME + ["bit"], 8), (VOLUME + ["rules"], {"newer-stamp": "load"}),
    (VOLUME + ["when"], {"parameter": "amp[0].mode"}), (VOLUME + ["varies"], [{"range": [0, 1]}]),
    (["parameters", "amp.mode", "choices"], ["A", "A"]), (["parameters", "amp.mode", "at", 0, "width"], 9),
    (["groups", "amp", "count"], 0), (["groups", "amp", "kind"], "effect"), (["accepts", 0, "stamp"], {"is": "1.0"}),
    (["repairs"], [{"if": {"at": 0, "bytes": "7"}, "read-as": "00"}]), (["revoiced"], {"amp.mode": {"Room": {"weight": "big"}}}),
    (["stamp"], {"from": 1, "to": 2}), (["budget"], -1), (CURVE + ["tag"], -1), (CURVE + ["list", "count"], 0),
    (CURVE + ["list", "by"], "volume"), (CURVE + ["reads", 0, "tag"], 3), (CURVE + ["reads"], [{"at": 0}]),
    (["parameters", "cabinet", "refers-by"], "label"), (VOLUME + ["when"], {"version": {}}),
    (VOLUME + ["when"], {"bytes": {"at": 0, "bytes": "44"}}), (["groups", "amp", "cost"], -1),
    (["groups", "amp", "cost", "costs"], {"Room": "3"}), (["groups", "tap", "rules"], {"out-of-range": "clamp"}),
    (["groups", "other", "like"], "amp[1]"), (["groups", "tap", "records", "value"], 0), (["groups", "tap", "tag"], "3"),
    (["parameters", "width", "path"], 3), (["parameters", "width", "in", "library"], {"range": [0, 1]}),
    (["parameters", "type", "in", "export", "written"], {"Room": 3}), (["groups", "pedal", "keys"], [1.5]),
    (["groups", "pedal", "in", "library"], {"kind": "block"}),
]


POLICY = {
    "format": "downfit policy 1", "device": "wren", "fails": "near", "releases": {"1.0": {"fails": "refused"}},
    "tolerances": {"level": 1.5, "q": 100, "slight-up-to": 1, "louder": 6},
    "accepted": [{"fingerprint": "0123456789abcdef", "on": ["1.0"], "weight": "slight", "reason": "x"},
                 {"preset": "A", "slot": 0, "parameter": "amp[2].drive", "outcome": "lost", "weight": "severe", "reason": "x"},
                 {"parameter": "volume", "weight": "audible", "cautions": ["louder"], "reason": "x", "until": "2026-12-31"},
                 {"preset": "A", "weight": "severe", "reason": "x"}],
}
ACCEPTED = ["accepted", 0]
BAD_POLICIES = [
    (["fails"], "intact"), (["fails"], None), (["colour"], 1), (["releases", "1.0", "fails"], "undecided"), (["releases"], {"": {"fails": "near"}}),
    (["tolerances", "level"], 0), (["tolerances", "q"], 101), (["tolerances", "louder"], 6.5), (["tolerances", "slight-up-to"], 0.9),
    (["tolerances", "volume"], 1), (ACCEPTED + ["preset"], "A"), (ACCEPTED + ["slot"], 1), (ACCEPTED + ["outcome"], "lost"),
    (ACCEPTED + ["weight"], "none"), (ACCEPTED + ["reason"], ""), (ACCEPTED + ["on"], []), (ACCEPTED + ["until"], "2026-13-01"),
    (["accepted", 1], {"preset": "A", "parameter": "volume", "weight": "slight", "reason": "x"}),
    (["accepted", 1], {"preset": "A", "outcome": "lost", "weight": "slight", "reason": "x"}),
    (["accepted", 1], {"slot": 3, "parameter": "volume", "weight": "slight", "reason": "x"}),
    (["accepted", 1], {"weight": "slight", "reason": "x"}), (["accepted", 2, "parameter"], "amp[0].drive"),
    (["accepted", 2, "cautions"], ["level unknown"]), (["accepted", 3, "preset"], ""),
]


def example_problems(name, validator, good, bad):
    for error in validator.iter_errors(good):
        yield f"{name}: the good example fails at {error.json_path}: {error.message}"
    for path, value in bad:
        if validator.is_valid(changed(good, path, value)):
            yield f"{name}: {value!r} at {path} is let through"


def problems(project):
    folder = pathlib.Path(project) / "schemas"
    device = read(folder / "format" / SHARED)
    release = joined(read(folder / "format" / "release.schema.json"), device)
    policy = read(folder / "format" / "policy.schema.json")
    validators = {}
    for name, schema, form in (("device", device, "downfit device 1"), ("release", release, "downfit release 1"),
                               ("policy", policy, "downfit policy 1")):
        jsonschema.Draft7Validator.check_schema(schema)
        validators[form] = jsonschema.Draft7Validator(schema)
        yield from style_problems(name, schema)
    yield from example_problems("device", validators["downfit device 1"], DEVICE, BAD_DEVICES)
    yield from example_problems("release", validators["downfit release 1"], RELEASE, BAD_RELEASES)
    yield from example_problems("policy", validators["downfit policy 1"], POLICY, BAD_POLICIES)
    files = sorted(path for path in folder.glob("*/*.json") if path.parent.name != "format")
    if not files:
        yield "no device to validate"
    for path in files:
        document = read(path)
        validator = validators.get(document.get("format"))
        if validator is None:
            yield f"{path.relative_to(project)}: unknown format {document.get('format')!r}"
            continue
        for error in validator.iter_errors(document):
            yield f"{path.relative_to(project)}: {error.json_path}: {error.message}"


if __name__ == "__main__":
    found = list(problems(sys.argv[1] if len(sys.argv) > 1 else pathlib.Path(__file__).resolve().parents[2]))
    print("\n".join(found))
    sys.exit(1 if found else 0)
