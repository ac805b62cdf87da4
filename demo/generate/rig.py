#!/usr/bin/python3
"""What must come out for rig.json: who plays what, what each move would bring, and the smallest set of moves.

    /usr/bin/python3 demo/generate/rig.py

Writes planted-rig.json and the spare unit's names of impulse responses. The verdicts are those of the two generators
(planted.json, pipit/planted.json); everything else is worked out here, the smallest set by trying every combination.
"""

import itertools
import json
import random
import re
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
DEMO = HERE.parent
sys.dont_write_bytecode = True
sys.path.insert(0, str(HERE))

import lists  # noqa: E402
import sysex  # noqa: E402

BANKS = {"main": ("dunlin-6", "bank-a"), "second": ("dunlin-6", "bank-b"), "leftovers": ("dunlin-6", "bank-d"), "pedal": ("pipit", "pipit-a")}
# The release notes: the oldest release that each goes back to.
BACK = {"dunlin-6": {"2.10": "1.10", "3.00 beta 2": "1.10", "3.00": "2.10", "3.10": "2.10"}, "pipit": {"2.0": "1.1", "2.1": "1.1"}}
SPARE_SLOTS, SPARE_OWN = 40, {7: "Van Door"}
SAFE = ("intact", "near")
ORDER = ["intact", "near", "substitute", "undecided", "altered", "refused", "another-device"]


def without_comments(text):
    return re.sub(r"^\s*//.*$", "", text, flags=re.M)


def name_of(slot):
    """As generate.py names the hundred impulse responses."""
    return f"{lists.CABS[slot % 15]} {'near far edge room'.split()[slot // 15 % 4]}"[:16]


def write_spare():
    rng = random.Random("spare impulse responses")
    data = b"".join(sysex.impulse_response(slot - 1, SPARE_OWN.get(slot, name_of(slot)), rng.getrandbits(21)) for slot in range(1, SPARE_SLOTS + 1))
    (DEMO / "dumps" / "spare-impulses.syx").write_bytes(data)


class Truth:
    def __init__(self):
        self.told = {"dunlin-6": json.loads((DEMO / "planted.json").read_text()), "pipit": json.loads((DEMO / "pipit" / "planted.json").read_text())}

    def releases(self, device):
        return self.told[device]["releases"]

    def verdict(self, device, bank, slot, release):
        told = self.told[device]
        special = told["presets"].get(bank, {}).get(str(slot), {}).get(release)
        return special["verdict"] if special else told["usual-verdict"][f"{told['slots'][bank]['saved-on'][str(slot)]}>{release}"]

    def slots(self, device, bank):
        return self.told[device]["slots"][bank]["saved-on"]


def main():
    rig = json.loads(without_comments((DEMO / "rig.json").read_text()))
    truth = Truth()
    units, songs = rig["units"], rig["songs"]
    named = {("main", "Salt on the Line"): 5, ("main", "Runaway"): 99}

    def preset(wanted, unit, release):
        device, bank = BANKS[wanted["dump"]]
        if device != unit["device"]:
            return "another-device"
        return truth.verdict(device, bank, wanted.get("slot") or named[wanted["dump"], wanted["name"]], release)

    def need(wanted, unit, release):
        own = preset(wanted, unit, release)
        others = [preset(other, unit, release) for other in wanted.get("substitutes", [])]
        if own in SAFE:
            return own
        if any(other in SAFE for other in others):
            return "substitute"
        return "undecided" if "undecided" in others else own

    def play(song, unit, release):
        return max((need(wanted, unit, release) for wanted in song["presets"]), key=ORDER.index)

    def own(unit, release):
        return {(name, slot) for name in unit["dumps"] if name in BANKS for slot in truth.slots(*BANKS[name]) if truth.verdict(*BANKS[name], slot, release) in SAFE}

    def open_to(unit, release):
        order = truth.releases(unit["device"])
        oldest = BACK[unit["device"]].get(unit["release"], order[0])
        return order.index(release) >= min(order.index(oldest), order.index(unit["release"]))

    def worth(unit, release):
        was, is_ = ({n for n, song in enumerate(songs, 1) if play(song, unit, r) in SAFE} for r in (unit["release"], release))
        return sorted(is_ - was), sorted(was - is_), len(own(unit, unit["release"]) - own(unit, release))

    moves = []
    for unit in units:
        for release in truth.releases(unit["device"]):
            if release != unit["release"]:
                won, lost, own_lost = worth(unit, release)
                moves.append({"unit": unit["name"], "to": release, "open": open_to(unit, release), "won": won, "lost": lost, "own-lost": own_lost,
                              "worth": len(won) - len(lost) - own_lost})
    ways = [[unit["release"]] + [move["to"] for move in moves if move["unit"] == unit["name"] and move["open"]] for unit in units]
    bring = {(move["unit"], move["to"]): move["worth"] for move in moves}
    plays = {(n, u, release): play(song, unit, release) in SAFE + ("substitute",)
             for u, unit in enumerate(units) for release in ways[u] for n, song in enumerate(songs, 1)}
    best = None
    for way in itertools.product(*ways):
        served = sum(any(plays[n, u, release] for u, release in enumerate(way)) for n in range(1, len(songs) + 1))
        moved = [(unit["name"], release) for unit, release in zip(units, way) if release != unit["release"]]
        rank = (served, -len(moved), sum(bring[move] for move in moved))
        if best is None or rank > best[0]:
            best = (rank, [])
        if rank == best[0]:
            best[1].append([list(move) for move in moved])
    single = max(move["worth"] for move in moves if move["open"])
    told = {"about": "What must come out for rig.json: for each song how it does on each unit; each move; the moves that are worth most; "
                     "and all smallest sets of moves that serve as many songs and are worth as much.",
            "pairs": [[play(song, unit, unit["release"]) for unit in units] for song in songs], "moves": moves,
            "best": [move for move in moves if move["open"] and move["worth"] == single and single > 0],
            "served": best[0][0], "smallest": best[1]}
    text = "{\n" + ",\n".join(f'"{key}": ' + ("[\n" + ",\n".join(json.dumps(row) for row in value) + "\n]" if isinstance(value, list) else json.dumps(value))
                              for key, value in told.items()) + "\n}\n"
    (DEMO / "planted-rig.json").write_text(text)
    write_spare()
    print(f"{len(songs)} songs, {len(units)} units: {best[0][0]} served by {-best[0][1]} moves: {best[1]}")


if __name__ == "__main__":
    main()
