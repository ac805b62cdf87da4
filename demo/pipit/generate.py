#!/usr/bin/python3
"""Builds the Pipit's dumps and their planted truth. No input, no chance: the same files every time.

    /usr/bin/python3 demo/pipit/generate.py
"""

import json
import random
import sys
from collections import Counter, defaultdict
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.dont_write_bytecode = True
sys.path[:0] = [str(HERE / "generate"), str(HERE.parent / "generate")]  # number codings and song names are the big demo's

import differences  # noqa: E402
import exports  # noqa: E402
import history  # noqa: E402
import image  # noqa: E402
import loader  # noqa: E402
import stage  # noqa: E402
from risks import EXTRA, RISKS, check  # noqa: E402
from sound import Sound  # noqa: E402

NAMED = history.all_releases()
DUMPS = HERE.parent / "dumps"
TITLES = {"pipit-a": (0, "HARBOUR STAGE"), "pipit-b": (1, "HARBOUR ATTIC")}
EMPTY = {"pipit-a": [35, 61, 63, 64], "pipit-b": [7, 8, 62, 64]}
SPREAD = {"pipit-a": 0.12, "pipit-b": 0.1}
MINI = {"drive": 1, "delay": 1}
MINI_TAKES = history.RELEASES[1:]


def stamp_of(bank, slot):
    if bank == "pipit-a":
        return 212 if slot % 8 == 3 else 240
    return [100, 110, 200, 110, 217, 240, 110, 203][slot % 8]


def plain(sound):
    """A calm preset that no release reads differently: ground for a planted risk."""
    comp = "squeeze" if sound.has("squeeze.on") else "comp"
    for block, label in (("drive[1]", "Low Hedge"), (comp, "Gentle"), ("mod", "Chorus"), ("delay[1]", "Clean")):
        sound.set_all(block, on=False, model=label)
    sound.set("delay[1].tone", 4)
    sound.set_all("cab", on=True, model="Small Open", level=-1)
    sound.set("eq.on", True).set("eq.band-3", 1.5)
    return sound.set_all("reverb", on=True, model="Room", mix=20)


def build_bank(bank):
    """slot -> body"""
    rng = random.Random(bank)
    rows = {row[1]: row for row in RISKS if row[0] == bank}
    out, used = {}, {row[3] for row in rows.values()}
    for slot in range(1, image.PRESETS + 1):
        if slot in EMPTY[bank]:
            continue
        stamp = rows[slot][2] if slot in rows else stamp_of(bank, slot)
        release = NAMED[history.saved_by(stamp)]
        if slot in rows:
            sound = plain(Sound(release, stamp, rows[slot][3]))
            for ident, value in rows[slot][5].items():
                sound.set(ident, value)
                if value is None:
                    del sound.values[ident]
            sound.extra = EXTRA.get((bank, slot), {})
        else:
            kind = stage.KINDS[slot % len(stage.KINDS)]
            sound = stage.build(rng, Sound(release, stamp, stage.name_of(slot, kind, used)), kind, SPREAD[bank])
        out[slot] = sound.checked_body()
    return out


def write_bank(bank, presets):
    """The memory image: what the last preset in a slot left behind its end is still there."""
    rng = random.Random(bank + " memory")
    memory = bytearray(image.SIZE)
    memory[0:16] = b"PIPIT" + bytes([TITLES[bank][0]]) + bytes(10)
    for slot in range(1, image.PRESETS + 1):
        old = bytearray(presets[rng.choice(sorted(presets))])
        old[0] = 0  # never written, or erased: the mark is missing, the rest is junk
        if slot in EMPTY[bank] or slot % 5 == 0:
            image.put(memory, slot - 1, old)
        if slot in presets:
            image.put(memory, slot - 1, presets[slot])
    whole = {slot: image.get(memory, slot - 1) for slot in presets}
    data = image.dump(memory, *TITLES[bank])
    (DUMPS / f"{bank}.syx").write_bytes(data)
    return data, whole


def write_exports(bank, presets):
    sounds = {slot: exports.tree(NAMED[saved_on(body)], body) for slot, body in presets.items()}
    title = TITLES[bank][1]
    (DUMPS / f"{bank}.json").write_text(exports.export_json(title, image.PRESETS, sounds), encoding="utf-8")
    (DUMPS / f"{bank}.xml").write_text(exports.export_xml(title, sounds), encoding="utf-8")


def saved_on(body):
    return history.saved_by(int.from_bytes(body[1:3], "big"))


def check_limits(body):
    """A second drive or delay that can be heard comes after a first that is on: then it does not matter how a mini counts."""
    reading = loader.read(saved_on(body), body)
    for group in MINI:
        if f"{group}[2].on" in reading.here and reading.active(reading.here[f"{group}[2].on"]):
            assert reading.value(f"{group}[1].on")


def judge_all(banks):
    """(saved on, target) -> list of (bank, slot, verdict, findings), and the verdicts of a mini."""
    found, mini = defaultdict(list), defaultdict(lambda: defaultdict(dict))
    rows = {row[:2]: row for row in RISKS}
    for bank, presets in banks.items():
        for slot, body in presets.items():
            check_limits(body)
            row = rows.get((bank, slot))
            for target in history.RELEASES:
                verdict, findings = loader.judge(target, body)
                found[saved_on(body), target].append((bank, slot, verdict, findings))
                if row and target in row[6]:
                    check(row, verdict, findings, target)
                if target not in MINI_TAKES:
                    continue
                on_mini, findings = loader.judge(target, body, tuple(MINI.items()))
                if row and target + " mini" in row[6]:
                    check(row, on_mini, findings, target + " mini")
                if on_mini != verdict:
                    mini[bank][str(slot)][target] = on_mini
    return found, mini


def truth(found):
    usual, usual_verdict, presets = {}, {}, defaultdict(lambda: defaultdict(dict))
    for (saved, target), rows in sorted(found.items()):
        pair = f"{saved}>{target}"
        loaded = [row for row in rows if row[2] != "refused"]
        counts = Counter((ident, *what) for row in loaded for ident, what in row[3].items())
        common = {key[0]: key[1:] for key, count in counts.items() if 2 * count > len(loaded)}
        usual[pair] = [[ident, *what] for ident, what in sorted(common.items())]
        usual_verdict[pair] = Counter(row[2] for row in loaded or rows).most_common(1)[0][0]
        for bank, slot, verdict, findings in rows:
            differs = [[ident, *what] for ident, what in sorted(findings.items()) if common.get(ident) != what]
            missing = sorted(ident for ident in common if ident not in findings)
            if differs or missing or verdict != usual_verdict[pair]:
                presets[bank][str(slot)][target] = {"verdict": verdict, "differs": differs, "not": missing}
    return usual, usual_verdict, presets


def lines(value, depth):
    """JSON with a line for each entry down to a depth."""
    if depth == 0 or not value or not isinstance(value, dict):
        return json.dumps(value, separators=(",", ":"))
    return "{\n" + ",\n".join(f"{json.dumps(k)}: {lines(v, depth - 1)}" for k, v in value.items()) + "\n}"


def write_truth(banks, found, mini):
    usual, usual_verdict, presets = truth(found)
    slots = {bank: {"empty": EMPTY[bank], "absent": [], "saved-on": {str(slot): saved_on(body) for slot, body in bodies.items()}}
             for bank, bodies in banks.items()}
    presets = {bank: dict(sorted(rows.items(), key=lambda row: int(row[0]))) for bank, rows in presets.items()}
    whole = {
        "about": "What each release makes of each preset, by the generator's own tables. Findings are [parameter, outcome, weight], all but "
                 "'kept'. A preset or release that is not listed has exactly the usual findings and verdict of its pair. 'differs' adds to or "
                 "replaces the usual findings, 'not' takes some away. Of refused presets no findings are told. All this is without a variant; "
                 "'variants' has the verdicts of a variant where they are others, on the releases that it takes.",
        "releases": history.RELEASES, "slots": slots, "usual-verdict": usual_verdict, "usual": usual, "presets": presets,
        "variants": {"pipit-mini": {"targets": MINI_TAKES, "verdicts": mini}}}
    depth = {"usual": 1, "presets": 3, "usual-verdict": 1, "slots": 2, "variants": 4}
    text = "{\n" + ",\n".join(f"{json.dumps(key)}: {lines(value, depth.get(key, 0))}" for key, value in whole.items()) + "\n}\n"
    (HERE / "planted.json").write_text(text)


def write_changes():
    """What changed between every two releases, a line for each change."""
    pairs = []
    for pair, changes in differences.planted().items():
        rows = ",\n".join(json.dumps(one, separators=(",", ":")) for one in changes)
        pairs.append(f"{json.dumps(pair)}: [\n{rows}\n]")
    about = "What changed between every two releases, by the generator's own tables."
    (HERE / "planted-changes.json").write_text("{\n" + ",\n".join([f'"about": {json.dumps(about)}', *pairs]) + "\n}\n")


def write_notes():
    out = ["# Risks planted by hand", "", "Each is one change to a calm preset; the generator checks its tables against these expectations.", "",
           "| bank | slot | stamp | name | why | expected |", "| --- | --- | --- | --- | --- | --- |"]
    for bank, slot, stamp, name, why, _, expected in RISKS:
        cells = []
        for target, (verdict, findings) in expected.items():
            told = ", ".join(f"`{f[0]}` {' '.join(f[1:]) or 'kept'}" for f in findings)
            cells.append(f"{target}: {verdict}" + (f" ({told})" if told else ""))
        out.append(f"| {bank} | {slot} | {stamp} | {name} | {why} | {'; '.join(cells)} |")
    (HERE / "planted-notes.md").write_text("\n".join(out) + "\n")


def main():
    loader.set_up(NAMED)
    DUMPS.mkdir(exist_ok=True)
    banks = {}
    for bank in TITLES:
        presets = build_bank(bank)
        data, banks[bank] = write_bank(bank, presets)
        write_exports(bank, presets)
        longest = max(len(body) for body in presets.values())
        counts = sorted(len(loader.read(saved_on(body), body).here) for body in presets.values())
        print(f"{bank}: {len(presets)} presets, {len(data)} bytes; longest body {longest}; {counts[0]} to {counts[-1]} parameters, "
              f"half of them more than {counts[len(counts) // 2]}")
    found, mini = judge_all(banks)
    write_truth(banks, found, mini)
    write_notes()
    write_changes()
    for target in history.RELEASES:
        counts = Counter(row[2] for (_, to), rows in found.items() if to == target for row in rows)
        print(f"on {target}: " + ", ".join(f"{count} {verdict}" for verdict, count in counts.most_common()))
    print(f"mini: {sum(len(targets) for slots in mini.values() for targets in slots.values())} other verdicts")


if __name__ == "__main__":
    main()
