"""The JSON reports of every command but `check` (json_format_test.py) against their schemas in schemas/format/, by an
independent validator.

json_reports_test.py PROGRAM PROJECT [FOLDER] validates reports on the demo, and sees to it that each schema notices a key
that is missing, a key too many and a value of another type, wherever in a report it is. With FOLDER the reports stay
there, for another validator. Prints what is wrong and exits with 1 if anything is.
"""
import copy
import json
import pathlib
import subprocess
import sys
import tempfile

import jsonschema

SCHEMAS = {"downfit rig-report 1": "rig-report", "downfit changes 1": "changes", "downfit schema proof 1": "schema-proof",
           "downfit contents 1": "contents", "downfit schema coverage 1": "schema-coverage", "downfit schema moved 1": "schema-moved",
           "downfit compare 1": "compare", "downfit refit 1": "refit"}

CALLS = [
    ["rig", "demo/rig.json"],
    ["rig", "demo/rig.json", "--policy", "POLICY", "--today", "2026-04-01"],
    ["changes", "2.10", "3.00", "--device", "dunlin-6"],
    ["changes", "1.00", "3.10", "--device", "dunlin-6", "--with", "demo/dumps/bank-d.syx"],
    ["changes", "1.0", "2.1", "--with", "demo/dumps/pipit-a.syx", "demo/dumps/pipit-b.syx"],
    ["schema", "proof"],
    ["schema", "proof", "--with", "demo/dumps/pipit-a.syx"],
    ["schema", "proof", "BROKEN"],
    ["schema", "proof", "BROKEN/twite"],
    ["contents", "demo/dumps/bank-d.syx"],
    ["contents", "demo/dumps/bank-a.syx", "--slot", "33"],
    ["contents", "demo/dumps/unit-settings.syx"],
    ["contents", "demo/dumps/impulse-responses.syx"],
    ["contents", "demo/dumps/pipit-a.json", "--slot", "1-3", "--all"],
    ["schema", "coverage", "demo/dumps/pipit-a.syx"],
    ["schema", "coverage", "demo/dumps/bank-c.syx", "demo/dumps/bank-d.syx"],
    ["schema", "moved", "demo/dumps/pipit-a.syx", "TURNED"],
    ["schema", "moved", "demo/dumps/unit-settings.syx", "demo/dumps/unit-settings.syx"],
    ["schema", "coverage", "demo/dumps/pipit-a.json", "demo/dumps/pipit-b.xml"],
    ["schema", "moved", "demo/dumps/pipit-a.json", "demo/dumps/pipit-b.json"],
    ["compare", "demo/dumps/pipit-a.syx", "TURNED"],
    ["compare", "demo/dumps/pipit-a.xml", "demo/dumps/pipit-b.syx", "--match", "slot"],
    ["compare", "demo/dumps/pipit-a.syx", "demo/dumps/pipit-b.syx", "--match", "slot", "--read-back", "loaded", "--on", "1.0"],
    ["refit", "demo/dumps/pipit-b.syx", "--on", "1.0", "--out", "REFITTED"],
    ["refit", "demo/dumps/bank-d.syx", "--on", "3.10", "--substitutes", "demo/substitutes.json", "--out", "REFITTED", "--force"],
    ["refit", "demo/dumps/pipit-a.xml", "--on", "1.1", "--fill-from", "demo/dumps/pipit-b.xml", "--out", "REFITTED", "--force"],
]

# Keys that docs/report.md gives only where there is something to tell: (schema, the keys on the way to it, without indices).
OPTIONAL = {
    ("contents", "entries.parameters"), ("rig-report", "devices.schemas.release"), ("changes", "schemas.release"),
    ("contents", "schemas.release"), ("schema-coverage", "schemas.release"), ("schema-moved", "schemas.release"),
    ("compare", "schemas.release"),
    *(("compare", f"pairs.{part}.findings.{side}.{key}") for part in ("sound", "prediction") for side in "ab" for key in ("path", "line")),
    *(("compare", f"pairs.{part}.cautions.rise-db") for part in ("sound", "prediction")),
    *(("changes", f"changes.place.{key}") for key in ("line", "column", "pointer")),
    *(("changes", f"changes.{way}.presets") for way in ("back", "forward")),
    *(("schema-proof", f"devices.{what}.{key}") for what in ("errors", "flaws")
      for key in ("expected", "remedy", "file", "line", "column", "pointer")),
    *(("schema-proof", f"devices.flaws.{key}") for key in ("rule", "unexplained")),
    *((schema, f"{where}.{key}") for schema, where in (("rig-report", "files.problems"), ("contents", "problems"),
                                                       ("contents", "entries.damage"), ("schema-moved", "before.problems"),
                                                       ("schema-moved", "after.problems"), ("schema-coverage", "files.problems"),
                                                       ("compare", "a.files.problems"), ("compare", "b.files.problems"))
      for key in ("expected", "remedy", "file", "line", "column", "pointer", "offset", "length", "stored-slot")),
}
# Objects whose keys are somebody's own: names of releases, and storage as a release file writes it.
FREE = {("rig-report", "presets.units.by-release"), ("schema-moved", "entries.runs.readings.storage")}
# The report of `check` stands in that of `refit` as it is: json_format_test.py changes it.
OTHERS = {("refit", "check")}


def broken_schemas(folder):
    """A device with an error, and one with flaws: a rule that nobody states, two parameters in one place."""
    base = {"format": "downfit device 1", "title": "Wren", "maker": "Quillfeather", "releases": ["1.0"],
            "layouts": {"preset": {"messages": {"preset": {"bytes": "F0 7D 09 {slot} {stamp} {data...} F7"}}, "preset": ["preset"],
                                   "body": {"size": 4}}}, "rules": {"newer-stamp": "load"}}
    release = {"format": "downfit release 1", "release": "1.0", "stamp": 1}
    parameters = {"volume": {"at": 0, "range": [0, 90], "default": 95}, "mode": {"at": 0, "choices": ["Room", "Hall"]}}
    for name, wrong in (("wren", {"parametres": {}}), ("twite", {"parameters": parameters})):
        (folder / name).mkdir()
        (folder / name / "device.json").write_text(json.dumps({**base, "device": name}), encoding="utf-8")
        (folder / name / "1.0.json").write_text(json.dumps({**release, "device": name, **wrong}), encoding="utf-8")


# One acceptance that holds, with every key, one that has lapsed, and one that is stale.
POLICY = {"format": "downfit policy 1", "title": "On tour", "releases": {"2.00": {"fails": "severe"}}, "accepted": [
    {"preset": "Tide Strum", "slot": 28, "parameter": "amp.alternate.model", "outcome": "reset", "on": ["2.10"], "weight": "severe",
     "cautions": ["level-unknown"], "reason": "clean suits the tide", "until": "2026-12-31"},
    {"preset": "Cloud Base", "weight": "severe", "reason": "the hall has its own", "until": "2026-03-31"},
    {"fingerprint": "0123456789abcdef", "weight": "slight", "reason": "gone"}]}


def prepare(project, folder):
    """Files that are not in the demo, by the word that stands for each."""
    dump = bytearray((project / "demo" / "dumps" / "pipit-a.syx").read_bytes())
    for offset in (400, 401, 1200):
        dump[offset] ^= 1
    (folder / "turned.syx").write_bytes(dump)
    broken = folder / "broken"
    broken.mkdir()
    broken_schemas(broken)
    (folder / "policy.json").write_text(json.dumps(POLICY), encoding="utf-8")
    return {"POLICY": folder / "policy.json", "TURNED": folder / "turned.syx", "BROKEN": broken, "REFITTED": folder / "refitted"}


def reports(program, project, folder):
    files = prepare(project, folder)
    for call in CALLS:
        words = [next((word.replace(name, str(file)) for name, file in files.items() if word.startswith(name)), word) for word in call]
        run = subprocess.run([program, *words, "--schemas", "schemas", "--format", "json"], cwd=project, capture_output=True, check=False)
        if run.returncode not in (0, 1, 2, 3) or not run.stdout:
            raise SystemExit(f"{call}: exit status {run.returncode}: {run.stderr.decode()}")
        yield " ".join(call), json.loads(run.stdout)


def nodes(value, path=(), shape=""):
    """Every object and list in a report: its path, and the same without indices."""
    yield path, shape, value
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from nodes(inner, (*path, key), f"{shape}.{key}" if shape else key)
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from nodes(inner, (*path, index), shape)


def at(report, path):
    for step in path:
        report = report[step]
    return report


def of_another_type(value):
    return {"not": "this"} if not isinstance(value, dict) else "not this"


def changed_reports(kind, report):
    """What is changed, and the report with it; each shape of object once."""
    seen = set()
    for path, shape, value in nodes(report):
        if not isinstance(value, dict) or (kind, shape) in FREE or (kind, shape.partition(".")[0]) in OTHERS:
            continue
        for key in value:
            inner = f"{shape}.{key}" if shape else key
            if inner in seen:
                continue
            seen.add(inner)
            changes = [(f"{inner} of another type", {key: of_another_type(value[key])})]
            if (kind, inner) not in OPTIONAL:
                changes.append((f"{inner} missing", {}))
            for what, put in changes:
                new = copy.deepcopy(report)
                node = at(new, path)
                del node[key]
                node.update(put)
                yield what, new
        if (shape, "+") not in seen:
            seen.add((shape, "+"))
            new = copy.deepcopy(report)
            at(new, path)["surprise"] = 1
            yield f"a key too many in {shape or 'the report'}", new


def shortened(value, most=3):
    """The report with at most `most` of every list, so that changing it at every place takes no minutes."""
    if isinstance(value, dict):
        return {key: shortened(inner, most) for key, inner in value.items()}
    if isinstance(value, list):
        return [shortened(inner, most) for inner in value[:most]]
    return value


def problems(program, project, folder):
    validators, told = {}, set()
    schemas = {kind: json.loads((project / "schemas" / "format" / f"{kind}.schema.json").read_text(encoding="utf-8"))
               for kind in (*SCHEMAS.values(), "report")}
    store = {schema["$id"]: schema for schema in schemas.values()}
    for form, kind in SCHEMAS.items():
        schema = schemas[kind]
        jsonschema.Draft202012Validator.check_schema(schema)
        resolver = jsonschema.RefResolver(schema["$id"], schema, store=store)
        validators[form] = jsonschema.Draft202012Validator(schema, resolver=resolver)
    for number, (name, report) in enumerate(reports(program, project, folder)):
        kind, validator = SCHEMAS[report["format"]], validators[report["format"]]
        (folder / f"{kind}-{number}.report.json").write_text(json.dumps(report), encoding="utf-8")
        for error in validator.iter_errors(report):
            yield f"{name}: {error.json_path}: {error.message[:200]}"
        few = shortened(report)
        yield from (f"{name}: {error.message}" for error in validator.iter_errors(few))
        for what, changed in changed_reports(kind, few):
            if (kind, what) not in told and validator.is_valid(changed):
                yield f"{name}: {what} is let through"
            told.add((kind, what))
    if len(told) < 300:
        yield f"only {len(told)} changes were tried"


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as scratch:
        kept = pathlib.Path(sys.argv[3]) if len(sys.argv) > 3 else pathlib.Path(scratch)
        found = list(problems(sys.argv[1], pathlib.Path(sys.argv[2]).resolve(), kept.resolve()))
    print("\n".join(found[:40]))
    sys.exit(1 if found else 0)
