#!/usr/bin/python3
"""Builds the demo's dumps and its planted truth. No input, no chance: the same files every time.

    /usr/bin/python3 demo/generate.py
"""

import json
import random
import sys
from collections import Counter, defaultdict
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.dont_write_bytecode = True
sys.path.insert(0, str(HERE / "generate"))

import changes  # noqa: E402
import judge  # noqa: E402
import lists  # noqa: E402
import songs  # noqa: E402
import sysex  # noqa: E402
from planted import PLANTED, TAPPED, check  # noqa: E402
from releases import all_releases  # noqa: E402
from sound import Sound  # noqa: E402

RELEASES = all_releases()
EMPTY = {"bank-a": [118, 119, 127], "bank-b": [64, 112], "bank-c": [40, 41, 42, 128], "bank-d": [60, 61]}
ABSENT = {"bank-a": [128], "bank-b": [125, 126, 127, 128], "bank-c": [], "bank-d": [33, 34, 120, 121, 122]}
SPREAD = {"bank-a": 0.05, "bank-b": 0.08, "bank-c": 0.04, "bank-d": 0.05}


def saved_on(bank, slot):
    if bank == "bank-d":
        if slot == 110:
            return "1.10"  # 1.00 has no such slot
        return ["1.00", "1.10", "2.00", "2.10", "3.00 beta 2", "3.00", "3.10", "2.10", "3.00", "1.10"][slot % 10]
    return "3.00" if bank == "bank-b" and slot % 9 == 4 else "3.10"


def name_of(bank, slot, kind, used):
    """A name that the bank does not have yet."""
    if bank in ("bank-a", "bank-b"):
        song, short = songs.SONGS[(slot // 5) % len(songs.SONGS)]
        parts = songs.PARTS[kind][slot % 4:] + songs.PARTS[kind][:slot % 4]
        long = [f"{song} {parts[0]}"] if slot % 6 == 0 else []
        names = [song] * (slot % 5 == 0) + long + [f"{short} {part}" for part in parts] + [f"{short} {parts[0]} {n}" for n in range(2, 9)]
    else:
        first = songs.FIRST[kind][slot % len(songs.FIRST[kind])]
        start = 7 * slot % len(songs.SECOND) + (11 if bank == "bank-d" else 0)
        names = [f"{first} {songs.SECOND[(start + n) % len(songs.SECOND)]}" for n in range(len(songs.SECOND))]
    return next(name for name in names if name not in used)


def plain(rng, sound):
    """A calm preset that no release reads differently: ground for a planted risk."""
    songs.amp_settings(rng, sound, "amp[1].alternate[1].", "clean", "Tide Clean")
    sound.set("amp[1].on", True).set("cab[1].on", True).set("cab[2].on", True).set("reverb.on", True)
    sound.set("cab[1].alternate[1].model", "Open 2x12").set("tempo", 100)
    return sound


def build_bank(bank):
    """slot -> (release, body)"""
    rng = random.Random(bank)
    rows = {row[1]: row for row in PLANTED if row[0] == bank}
    out, used = {}, {row[3] for row in rows.values()}
    for slot in range(1, 129):
        if slot in EMPTY[bank] or slot in ABSENT[bank]:
            continue
        if slot in rows:
            _, _, saved, name, _, changes, _ = rows[slot]
            sound = plain(rng, Sound(RELEASES[saved], name))
            for ident, value in changes.items():
                sound.set(ident, value)
            if (bank, slot) == TAPPED:
                sound.patches.append((30, 0x7F))
        else:
            release = RELEASES[saved_on(bank, slot)]
            kind = songs.KINDS[slot % len(songs.KINDS)]
            name = name_of(bank, slot, kind, used)[:release.pars["name"].place.size].strip()
            used.add(name)
            sound = songs.build(rng, Sound(release, name), kind, SPREAD[bank])
            sound.set("author", "HP Harbour" if bank != "bank-c" else "")
        out[slot] = (sound.release, sound.checked_body())
    return out


def write_bank(bank, presets):
    newest = RELEASES["3.10"]
    data = bytearray()
    for slot in range(1, 129):
        if slot in presets:
            release, body = presets[slot]
        elif slot in EMPTY[bank]:
            release, body = newest, b"\xFF" * 24 + bytes(newest.size - 24)
        else:
            continue
        data += sysex.preset(slot - 1, release.stamp, body)
    (HERE / "dumps" / f"{bank}.syx").write_bytes(data)
    return len(data)


def write_others():
    # Output level -1 dB, tempo from the preset, cabinets on, ...: see unit settings in the device's release files.
    settings = bytes([118, 0, 0, 50, 100, 64, 80, 2]) + bytes(8)
    (HERE / "dumps" / "unit-settings.syx").write_bytes(sysex.unit_settings(RELEASES["3.10"].stamp, settings))
    rng = random.Random("impulse responses")
    data = bytearray()
    for slot in range(1, 101):
        box = lists.CABS[slot % 15]
        name = f"{box} {'near far edge room'.split()[slot // 15 % 4]}"[:16]
        data += sysex.impulse_response(slot - 1, name, rng.getrandbits(21))
    (HERE / "dumps" / "impulse-responses.syx").write_bytes(data)


def judge_all(banks):
    """(stamp name, target) -> list of (bank, slot, verdict, findings)"""
    found = defaultdict(list)
    for bank, presets in banks.items():
        for slot, (release, body) in presets.items():
            judged = {}
            for target in lists.RELEASES:
                judged[target] = judge.judge(release.stamp, target, slot, body)
                found[release.name, target].append((bank, slot, *judged[target]))
            for row in PLANTED:
                if row[:2] == (bank, slot):
                    check(row, judged)
    return found


def truth(found):
    usual, usual_verdict, presets = {}, {}, defaultdict(lambda: defaultdict(dict))
    for (saved, target), rows in found.items():
        pair = f"{saved}>{target}"
        loaded = [row for row in rows if row[2] != "refused"]
        counts = Counter((ident, *what) for row in loaded for ident, what in row[3].items())
        common = {key[0]: key[1:] for key, count in counts.items() if 2 * count > len(loaded)}
        usual[pair] = [[ident, *what] for ident, what in sorted(common.items())]
        usual_verdict[pair] = Counter(row[2] for row in loaded or rows).most_common(1)[0][0]
        for bank, slot, verdict, findings in rows:
            if verdict == "refused":
                presets[bank][str(slot)][target] = {"verdict": verdict}
                continue
            differs = [[ident, *what] for ident, what in sorted(findings.items()) if common.get(ident) != what]
            missing = sorted(ident for ident in common if ident not in findings)
            if differs or missing or verdict != usual_verdict[pair]:
                presets[bank][str(slot)][target] = {"verdict": verdict, "differs": differs, "not": missing}
    return usual, usual_verdict, presets


def lines(value, depth):
    """JSON with a line for each entry down to a depth."""
    if depth == 0 or not value:
        return json.dumps(value, separators=(",", ":"))
    if isinstance(value, dict):
        return "{\n" + ",\n".join(f"{json.dumps(k)}: {lines(v, depth - 1)}" for k, v in value.items()) + "\n}"
    return "[\n" + ",\n".join(lines(v, depth - 1) for v in value) + "\n]"


def write_truth(banks, found):
    usual, usual_verdict, presets = truth(found)
    whole = {
        "about": "What each release makes of each preset, by the generator's own tables. Findings are [parameter, outcome, weight], all but "
                 "'kept'. A preset or release that is not listed has exactly the usual findings and verdict of its pair. 'differs' adds to or "
                 "replaces the usual findings, 'not' takes some away. Of refused presets no findings are told. All six dumps are taken together.",
        "releases": lists.RELEASES,
        "slots": {bank: {"empty": EMPTY[bank], "absent": ABSENT[bank],
                         "saved-on": {str(slot): release.name for slot, (release, _) in presets_.items()}} for bank, presets_ in banks.items()},
        "usual-verdict": usual_verdict, "usual": usual, "presets": presets}
    text = "{\n" + ",\n".join(f"{json.dumps(key)}: {lines(value, {'usual': 1, 'presets': 3, 'usual-verdict': 1, 'slots': 2}.get(key, 0))}"
                              for key, value in whole.items()) + "\n}\n"
    (HERE / "planted.json").write_text(text)


def write_changes():
    found = changes.planted(RELEASES, (HERE / "release-notes.md").read_text())
    whole = {"about": "What changed between two releases, by the generator's own tables. 'note' is the beginning of the line of "
                      "release-notes.md that says so.", **found}
    text = "{\n" + ",\n".join(f"{json.dumps(key)}: {lines(value, 1 if isinstance(value, list) else 0)}" for key, value in whole.items()) + "\n}\n"
    (HERE / "planted-changes.json").write_text(text)


def write_notes():
    out = ["# Risks planted by hand", "", "Each is one change to a calm preset; the generator checks its tables against these expectations.", "",
           "| bank | slot | saved on | name | why | expected |", "| --- | --- | --- | --- | --- | --- |"]
    for bank, slot, saved, name, why, _, expected in PLANTED:
        cells = []
        for target, (verdict, findings) in expected.items():
            told = ", ".join(f"`{f[0]}` {' '.join(f[1:]) or 'kept'}" for f in findings)
            cells.append(f"{target}: {verdict or 'any verdict'}" + (f" ({told})" if told else ""))
        out.append(f"| {bank} | {slot} | {saved} | {name} | {why} | {'; '.join(cells)} |")
    (HERE / "planted-notes.md").write_text("\n".join(out) + "\n")


def main():
    judge.set_up(RELEASES)
    (HERE / "dumps").mkdir(exist_ok=True)
    banks = {bank: build_bank(bank) for bank in SPREAD}
    for bank, presets in banks.items():
        print(f"{bank}: {len(presets)} presets, {write_bank(bank, presets)} bytes")
    write_others()
    found = judge_all(banks)
    write_truth(banks, found)
    write_notes()
    write_changes()
    for target in lists.RELEASES:
        counts = Counter(row[2] for (_, to), rows in found.items() if to == target for row in rows)
        print(f"on {target}: " + ", ".join(f"{count} {verdict}" for verdict, count in counts.most_common()))


if __name__ == "__main__":
    main()
