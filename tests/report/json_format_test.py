"""schemas/format/report.schema.json against the program's own reports, by an independent validator.

json_format_test.py PROGRAM [PROJECT] validates the golden reports and those of the demo's dumps, checks that the schema
notices changed ones, prints what is wrong and exits with 1 if anything is.
"""
import copy
import json
import pathlib
import subprocess
import sys
import tempfile

import jsonschema

# (path into a report, value that must not be let through)
BAD = [
    (["format"], "downfit check 2"), (["surprise"], 1), (["device"], None), (["schemas"], []),
    (["presets", 0, "slot"], "12"), (["presets", 0, "targets", 0, "verdict"], "fine"),
    (["presets", 0, "targets", 0, "parameters"], -1), (["files", 0, "sha-256"], "0"),
]


def changed(report, path, value):
    report = copy.deepcopy(report)
    node = report
    for step in path[:-1]:
        node = node[step]
    node[path[-1]] = value
    return report


POLICY = """{ "format": "downfit policy 1", "title": "x", "releases": { "2.10": { "fails": "near" } }, "accepted": [
  { "parameter": "amp.alternate.model", "weight": "severe", "cautions": ["level-unknown"], "reason": "x" },
  { "parameter": "amp.alternate.drive", "weight": "slight", "reason": "lapses" },
  { "preset": "no such", "slot": 3, "weight": "slight", "on": ["2.10"], "until": "2026-12-31", "reason": "stale" } ] }"""


def with_policy_and_baseline(program, project):
    """A report with nothing null at its top: accepted, lapsed and stale acceptances, and an earlier report."""
    check = [program, "check", project / "demo" / "dumps" / "bank-a.syx", "--schemas", project / "schemas", "--format", "json", "--on"]
    with tempfile.TemporaryDirectory() as folder:
        policy, old = pathlib.Path(folder, "policy.json"), pathlib.Path(folder, "old.json")
        policy.write_text(POLICY, encoding="utf-8")
        old.write_bytes(subprocess.run([*check, "3.00", "--slot", "33"], capture_output=True, check=False).stdout)
        run = subprocess.run([*check, "2.10", "--slot", "33,93", "--policy", policy, "--today", "2026-01-01", "--baseline", old],
                             capture_output=True, check=False)
        report = json.loads(run.stdout)
        states = [one["state"] for one in report["policy"]["accepted"]]
        if states != ["holds", "lapsed", "not-met"] or report["baseline"]["new"] == 0:
            raise SystemExit(f"the report with a policy does not show what it should: {states}")
        yield "with a policy", report


def reports(program, project):
    yield from with_policy_and_baseline(program, project)
    golden = project / "tests" / "report" / "golden" / "one-release.json"
    yield golden.name, json.loads(golden.read_text(encoding="utf-8"))
    dumps = sorted((project / "demo" / "dumps").glob("*.syx"))
    # A few presets of a bank have every kind of thing in them that a report tells; validating whole banks takes minutes.
    for dump in dumps:
        presets = "bank" in dump.name or "pipit" in dump.name
        slots = ["--slot", "10-12,33"] if presets else []
        everywhere = ["all"] if dump.stem in ("bank-a", "pipit-a") else []
        for on in ["1.1" if "pipit" in dump.name else "2.10", *everywhere]:
            run = subprocess.run([program, "check", dump, "--schemas", project / "schemas", "--on", on, "--format", "json",
                                  *slots], capture_output=True, check=False)
            if run.returncode not in (0, 1, 2, 3) or not run.stdout:
                raise SystemExit(f"{dump.name} on {on}: exit status {run.returncode}: {run.stderr.decode()}")
            yield f"{dump.name} on {on}", json.loads(run.stdout)


def problems(program, project):
    schema = json.loads((project / "schemas" / "format" / "report.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    for name, report in reports(program, project):
        for error in validator.iter_errors(report):
            yield f"{name}: {error.json_path}: {error.message}"
        if name == "one-release.json":
            for path, value in BAD:
                if validator.is_valid(changed(report, path, value)):
                    yield f"{value!r} at {path} is let through"


if __name__ == "__main__":
    project = pathlib.Path(sys.argv[2]) if len(sys.argv) > 2 else pathlib.Path(__file__).resolve().parents[2]
    found = list(problems(sys.argv[1], project))
    print("\n".join(found[:40]))
    sys.exit(1 if found else 0)
