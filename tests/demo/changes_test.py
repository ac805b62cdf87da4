#!/usr/bin/env python3
"""`downfit changes` against the truth that the demo's generator tells from its own tables: none missed, none extra.

Of the Dunlin 6, neighbouring releases and the whole history stand in demo/planted-changes.json, and every other pair is
computed here by the same tables; of the Pipit all pairs stand in demo/pipit/planted-changes.json. Usage: changes_test.py PROGRAM PROJECT
"""

import json
import subprocess
import sys
from pathlib import Path

PROGRAM, PROJECT = sys.argv[1], Path(sys.argv[2])
sys.dont_write_bytecode = True
sys.path[:0] = [str(PROJECT / "demo" / "pipit" / "generate"), str(PROJECT / "demo" / "generate")]

import changes  # noqa: E402
import differences  # noqa: E402
import lists  # noqa: E402
from releases import all_releases  # noqa: E402

# What the schema files say in words of their own, which no table has.
IN_OWN_WORDS = ("erases",)
NOTES_BEHIND = ("revoiced",)  # "audible: modelled anew from ..."


# Banks whose every finding must be put down to a change: the unit's variant is said, and what presets lean on is there.
BANKS = {
    "dunlin-6": (["bank-c.syx", "bank-d.syx", "unit-settings.syx", "impulse-responses.syx"], [],
                 [("1.00", "3.10"), ("1.10", "2.10"), ("2.10", "3.00")]),
    "pipit": (["pipit-a.syx", "pipit-b.syx"], ["--variant", "pipit"], [("1.0", "2.1"), ("1.1", "2.0"), ("2.0", "2.1")])}


def report(device, older, newer, *more):
    ran = subprocess.run([PROGRAM, "changes", older, newer, "--schemas", PROJECT / "schemas", "--device", device, "--format", "json", *more],
                         capture_output=True, text=True, check=False)
    assert ran.returncode == 0 or (more and ran.returncode == 2), ran.stderr  # 2: the demo's dumps hold damaged presets
    return json.loads(ran.stdout)


def told(device, older, newer):
    return report(device, older, newer)["changes"]


def counts_add_up(device, older, newer, dumps, more):
    """Every finding comes from a change, and none from one that is told to do nothing."""
    whole = report(device, older, newer, *more, "--with", *(PROJECT / "demo" / "dumps" / dump for dump in dumps))
    good = True
    for way in ("back", "forward"):
        use = whole["use"][way]
        idle = [one["subject"] for one in whole["changes"] if one[way]["effect"] == "nothing" and one[way]["presets"] > 0]
        if idle or use["findings"] != use["findings-from-changes"] or use["presets"] == 0:
            print(f"{device} {older} {newer} {way}: {use['findings-from-changes']} of {use['findings']} findings explained, idle: {idle}, "
                  f"others: {use['others'][:5]}")
            good = False
    return good


def row(kind, subjects, where, before, after, holds, brought):
    if kind in IN_OWN_WORDS:
        after = ""
    if kind in NOTES_BEHIND:
        after = after.split(": ")[0]
    return (kind, ", ".join(sorted(subjects)), where, before, after, ", ".join(sorted(holds)), ", ".join(brought))


def told_rows(device, older, newer):
    return sorted(row(one["kind"], [one["subject"], *one["also"]], one["where"] or "", one["before"] or "", one["after"] or "",
                      one["holds"], one["releases"]) for one in told(device, older, newer))


def planted_rows(planted):
    return sorted(row(one["kind"], one["subjects"], one["where"], one["before"], one["after"], one["holds"], one["releases"])
                  for one in planted)


def without(rows, others):
    rest = list(rows)
    for one in others:
        if one in rest:
            rest.remove(one)
    return rest


def compare(name, planted, found):
    missed, extra = without(planted, found), without(found, planted)
    for one in missed:
        print(f"{name}: missed {one}")
    for one in extra:
        print(f"{name}: extra {one}")
    return not missed and not extra


def main():
    good, pairs, count = True, 0, 0
    names, tables = lists.RELEASES, all_releases()
    stored = json.loads((PROJECT / "demo" / "planted-changes.json").read_text())
    for i, older in enumerate(names):
        for newer in names[i + 1:]:
            pair = f"{older}>{newer}"
            planted = stored.get(pair) or changes.between(tables, older, newer)
            good = compare(f"dunlin-6 {pair}", planted_rows(planted), told_rows("dunlin-6", older, newer)) and good
            pairs += 1
            count += len(planted)
    assert pairs == 28 and count > 1000, (pairs, count)
    stored = json.loads((PROJECT / "demo" / "pipit" / "planted-changes.json").read_text())
    for pair, planted in differences.planted().items():
        good = compare(f"pipit {pair}", planted_rows(stored[pair]), planted_rows(planted)) and good
        good = compare(f"pipit {pair}", planted_rows(planted), told_rows("pipit", *pair.split(">"))) and good
        pairs += 1
        count += len(planted)
    for device, (dumps, more, ways) in BANKS.items():
        for older, newer in ways:
            good = counts_add_up(device, older, newer, dumps, more) and good
    print(f"{pairs} pairs of releases, {count} changes")
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
