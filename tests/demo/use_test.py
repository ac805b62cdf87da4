#!/usr/bin/env python3
"""The numbers of `changes OLD NEW --with DUMP` are those of `check DUMP --on OLD` and `--on NEW`: verdicts, findings, and for every
range that changed which presets hold more. Usage: use_test.py PROGRAM PROJECT
"""

import json
import re
import subprocess
import sys
from pathlib import Path

PROGRAM, PROJECT = sys.argv[1], Path(sys.argv[2])
VERDICTS = ("intact", "near", "altered", "refused", "undecided")
# What becomes of a value that is beyond a range, whatever rule a release has.
BEYOND = ("clamped", "reset", "out-of-range", "rescaled", "unsure")
BANKS = [
    ("dunlin-6", ["bank-a.syx", "unit-settings.syx", "impulse-responses.syx"], [("2.00", "3.10"), ("1.10", "3.10"), ("3.00", "3.10")]),
    ("dunlin-6", ["bank-b.syx"], [("1.00", "2.10"), ("2.00", "3.00")]),
    ("pipit", ["pipit-a.syx"], [("1.0", "2.1"), ("2.0", "2.1")]),
    ("pipit", ["pipit-a.json"], [("1.1", "2.1")]),
    ("pipit", ["pipit-b.xml"], [("1.0", "2.0")]),
]


def run(command, *words):
    ran = subprocess.run([PROGRAM, command, *words, "--schemas", PROJECT / "schemas", "--format", "json"], capture_output=True, text=True,
                         check=False)
    assert ran.stdout, ran.stderr
    return json.loads(ran.stdout)


def plain(parameter):
    return re.sub(r"\[\d+\]", "", parameter)


def key(preset):
    return (preset["file"], preset["slot"], preset["name"])


def taken(checked, order, older, newer, back):
    """The presets that go that way, with the one target that was asked for."""
    for preset in checked["presets"]:
        at = [order.index(release) for release in preset["saved-on"]]
        if not at or preset["state"] == "empty":
            continue
        if (older < at[-1] <= newer) if back else (older <= at[0] < newer):
            yield preset, preset["targets"][0]


def compare(name, told, use, said, checked, order, older, newer, back):
    way = "back" if back else "forward"
    wrong = []

    def same(what, ours, theirs):
        if ours != theirs:
            wrong.append(f"{name} {way}: {what}: changes {ours}, check {theirs}")

    presets = list(taken(checked, order, older, newer, back))
    whole = [target for preset, target in presets if preset["state"] != "damaged"]
    same("presets", use["presets"], len(presets))
    for verdict in VERDICTS:
        same(verdict, use[verdict], sum(target["verdict"] == verdict for target in whole))
    same("findings", use["findings"], sum(len(target["findings"]) for _, target in presets))
    ranges = 0
    for change in told:
        if change["kind"] != "range" or change["where"] or change[way]["effect"] not in BEYOND:
            continue
        ids = {change["subject"], change["subject-before"]}
        holding = {key(preset) for preset, target in presets
                   if any(plain(one["parameter"]) in ids and one["outcome"] == change[way]["effect"] and one["weight"] != "none"
                          for one in target["findings"])}
        reached = {key(preset) for preset, target in presets
                   if any(plain(one["parameter"]) in ids and one["outcome"] == "rescaled" for one in target["findings"])}
        which = {key(preset) for preset in change[way]["which"]}
        same(f"range of {change['subject']}", sorted(which - (reached - holding)), sorted(holding))
        refused = use["refused"] if change[way]["presets"] + change[way]["unaffected"] < len(presets) else 0
        same(f"presets and unaffected of {change['subject']}", change[way]["presets"] + change[way]["unaffected"] + refused, len(presets))
        if f"{change['subject']}" in said:
            same(f"words about {change['subject']}", said[change["subject"]], len(holding))
        ranges += len(holding) > 0
    return wrong, len(presets), ranges


def holds_more(text):
    """What a text report says of ranges that narrowed: parameter to number of presets, for those told alone."""
    said = {}
    for subject, count in re.findall(r"^  range of ([\w.-]+): [^\n]*\n(?:      [^\n]*\n)*?      (\d+) of \d+ presets? holds? ", text, re.M):
        said[subject] = int(count)
    return said


def main():
    wrong, presets, ranges, pairs = [], 0, 0, 0
    for device, files, ways in BANKS:
        order = [one if isinstance(one, str) else one["release"]
                 for one in json.loads(re.sub(r"^\s*//.*$", "", (PROJECT / "schemas" / device / "device.json").read_text(), flags=re.M))["releases"]]
        dumps = [PROJECT / "demo" / "dumps" / file for file in files]
        for older, newer in ways:
            told = run("changes", older, newer, "--device", device, "--with", *dumps)
            text = subprocess.run([PROGRAM, "changes", older, newer, "--device", device, "--schemas", PROJECT / "schemas", "--width", "400",
                                   "--with", *dumps], capture_output=True, text=True, check=False).stdout
            ways_told = re.split(r"^GOING ", text, flags=re.M)
            for back in (True, False):
                checked = run("check", *dumps, "--on", older if back else newer)
                name = f"{device} {older} {newer} {files[0]}"
                found = compare(name, told["changes"], told["use"]["back" if back else "forward"],
                                holds_more(next((one for one in ways_told if one.startswith("BACK" if back else "FORWARD")), "")), checked, order, order.index(older),
                                order.index(newer), back)
                wrong += found[0]
                presets += found[1]
                ranges += found[2]
                pairs += 1
    print("\n".join(wrong))
    print(f"{pairs} ways, {presets} presets, {ranges} ranges that some of them hold more than")
    return 1 if wrong or presets < 500 or ranges < 10 else 0


if __name__ == "__main__":
    sys.exit(main())
