#!/usr/bin/env python3
"""`downfit schema proof` on copies of the demo's schema files with mistakes planted in them.

Each mistake alone, then all that leave the files readable at once: every one found, at its line and pointer, with why it
matters and how to mend it, and nothing else told. The files as they are must be clean. Usage: proof_test.py PROGRAM PROJECT
"""

import json
import pathlib
import shutil
import subprocess
import sys
import tempfile

PROGRAM, PROJECT = sys.argv[1], pathlib.Path(sys.argv[2])

# (device, file, text, what is put in its place, fault, pointer, a part of what is told)
FAULTS = [
    ("dunlin-6", "1.00.json", '"pitch.alternate.mix":      { "at":  3,', '"pitch.alternate.mix":      { "at":  1,',
     "overlap", "/parameters/pitch.alternate.mix/at", "pitch.alternate[1].interval"),
    ("dunlin-6", "1.00.json", '"unit": "%", "range": [0, 100], "default": 50, "role": "mix" },\n    "pitch.alternate.level"',
     '"unit": "%", "range": [0, 400], "default": 50, "role": "mix" },\n    "pitch.alternate.level"',
     "range-beyond-place", "/parameters/pitch.alternate.mix/range", "400"),
    ("dunlin-6", "1.00.json", '"unit": "ms", "range": [0, 1000], "default": 0, "neutral": 0, "role": "time" },',
     '"unit": "ms", "range": [0, 1000], "default": 2000, "neutral": 0, "role": "time" },',
     "default-outside-range", "/parameters/pitch.alternate.delay/default", "2000"),
    ("pipit", "1.0.json", '"range": [-12, 12], "default": 0, "neutral": 0, "role": "level",\n                    "in": { "export": { "path": "/5"',
     '"range": [-12, 12], "default": 0, "neutral": 13, "role": "level",\n                    "in": { "export": { "path": "/5"',
     "neutral-outside-range", "/parameters/input-trim/neutral", "13"),
    ("pipit", "1.0.json", '"range": [0, 10], "step": 0.5, "default": 5', '"range": [0, 10], "step": 3, "default": 6',
     "step-does-not-divide", "/parameters/drive.tone/step", "\"step\" 3"),
    ("pipit", "2.1.json", '"delay.tap": { "count": 6 }', '"delay.tap": { "count": 5 }',
     "count-beyond", "/parameters/delay.taps/range", "5 instances"),
    ("pipit", "device.json", '    "off-step":          "round",\n', "", "rule-missing", "/rules", '"off-step"'),
    ("pipit", "1.0.json", '"routings":   ["Series", "Parallel"],', '"routings":   ["Series", "Parallel"], "rootings": ["Series"],',
     "list-unused", "/choice-lists/rootings", '"rootings"'),
    ("pipit", "1.0.json", '"pedal.heel":        { "at": 1,', '"pedal.heel":        { "at": 2,', "overlap",
     None, "pedal.toe"),
]

# (device, file, text, what is put in its place, pointer, a part of what is told)
ERRORS = [
    ("pipit", "1.1.json", '{ "parameter": "mod.sync", "is": false }', '{ "parameter": "mod.synk", "is": false }',
     "/parameters/mod.rate/when/parameter", "mod.synk"),
    ("pipit", "1.1.json", '"mod.sync":     { "tag": 9,', '"mod.sync":     { "when": { "parameter": "mod.rate", "above": 1 }, "tag": 9,',
     None, "circles"),
    ("pipit", "1.0.json", '"mod.depth": 3', '"mod.depth": 2', "/choice-lists/moves/mod.depth", "2"),
    ("pipit", "1.0.json", '["Near", "Edge", "Far"]', '["Near", "Edge", "Near"]', "/parameters/cab.mic/choices/2", '"Near"'),
    ("pipit", "2.0.json", '{ "renamed-from": "comp" }', '{ "renamed-from": "kompressor" }', "/groups/squeeze/renamed-from", '"kompressor"'),
    ("pipit", "2.0.json", '"extends": "1.1"', '"extends": "2.0"', "/extends", "circle"),
    ("dunlin-6", "1.00.json", '"refers-to": "impulse-response"', '"refers-to": "impulse-respons"', None, "impulse-respons"),
]


def proof(root):
    ran = subprocess.run([PROGRAM, "schema", "proof", root, "--format", "json"], capture_output=True, text=True, check=False)
    assert ran.stderr == "", ran.stderr
    return ran.returncode, json.loads(ran.stdout)


def plant(root, file, text, put):
    path = root / file
    whole = path.read_text()
    assert whole.count(text) >= 1, (file, text)
    at = whole.index(text)
    path.write_text(whole[:at] + put + whole[at + len(text):])


def copy(folder, device):
    root = pathlib.Path(folder, device)
    shutil.copytree(PROJECT / "schemas" / device, root)
    return root


def told_of(report):
    return [flaw for flaw in report["devices"][0]["flaws"] if not flaw["note"] and flaw["true-to-device"] is None]


def line_of(path, pointer):
    """The line where the last key of a pointer stands, in the object that the key before it opens: enough for these files."""
    keys = pointer.strip("/").split("/")
    lines = path.read_text().splitlines()
    outer = next(i for i, line in enumerate(lines) if f'"{keys[-2]}":' in line) if len(keys) > 1 else 0
    return next(i for i, line in enumerate(lines) if i >= outer and f'"{keys[-1]}":' in line) + 1


def wrong(told, root, file, pointer, words):
    if pointer and told.get("pointer") != pointer:
        return f"pointer {told.get('pointer')}"
    if not told["file"].endswith(file) and pointer:
        return f"file {told['file']}"
    if pointer and not pointer[-1].isdigit() and told["line"] != line_of(root / file, pointer):
        return f"line {told['line']}, not {line_of(root / file, pointer)}"
    if words not in told["what"]:
        return told["what"]
    if not told["why"] or not (told.get("expected") or told.get("remedy")):
        return "no reason, or nothing that mends it"
    return ""


def main():
    bad = []

    def check(condition, *words):
        if not condition:
            bad.append(" ".join(str(word) for word in words))

    for device in ("dunlin-6", "pipit"):
        status, report = proof(PROJECT / "schemas" / device)
        check(status == 0 and not told_of(report) and not report["devices"][0]["errors"], device, "is not clean:", told_of(report))
    with tempfile.TemporaryDirectory() as folder:
        for number, (device, file, text, put, fault, pointer, words) in enumerate(FAULTS):
            root = copy(f"{folder}/{number}", device)
            plant(root, file, text, put)
            status, report = proof(root)
            told = told_of(report)
            check(status == 1, fault, "status", status)
            check([one["fault"] for one in told] == [fault], fault, "told:", [(one["fault"], one["what"]) for one in told],
                  report["devices"][0]["errors"][:1])
            for one in told:
                problem = wrong(one, root, file, pointer, words)
                check(not problem, fault, problem)
        for device in ("dunlin-6", "pipit"):
            root = copy(f"{folder}/all", device)
            planted = [row for row in FAULTS if row[0] == device]
            for _, file, text, put, *_ in planted:
                # The second mistake of one line may have been written over the first.
                plant(root, file, text, put)
            status, report = proof(root)
            found = sorted(one["fault"] for one in told_of(report))
            check(status == 1 and found == sorted(row[4] for row in planted), device, "all at once:", found)
        for number, (device, file, text, put, pointer, words) in enumerate(ERRORS):
            root = copy(f"{folder}/error-{number}", device)
            plant(root, file, text, put)
            status, report = proof(root)
            errors = report["devices"][0]["errors"]
            check(status == 2, words, "status", status)
            fits = [one for one in errors if words in one["what"] and (not pointer or one.get("pointer") == pointer)]
            check(fits, words, "told:", [(one.get("pointer"), one["what"]) for one in errors])
            if fits:
                problem = wrong(fits[0], root, file, pointer, words)
                check(not problem, words, problem)
            places = {(one["file"], one["line"], one["column"]) for one in errors}
            check(len(places) == len(errors), words, "has errors that are told twice")
    for line in bad:
        print(line)
    print(f"{len(FAULTS)} faults and {len(ERRORS)} errors planted, {len(bad)} not as they should be")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
