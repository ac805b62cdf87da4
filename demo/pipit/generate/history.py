"""What each release of the Pipit changed: its lists, number by number, and its groups and parameters.

A thing keeps its first name here even where a release shows another: the cabinet "Direct" is shown as "Flat" from 2.0 on.
"""

from pedal import GATE, Group, Par, cut, decibels, first_release, knob, model, share, switch
from storage import I8, Linear, Logarithmic, U16, U8

RELEASES = ["1.0", "1.1", "2.0", "2.1"]


def numbered(*names, first=0):
    return {first + i: name for i, name in enumerate(names)}


DRIVES = numbered("Low Hedge", "Thorn Hedge", "Dry Nettle", "Wet Nettle", "Old Gorse", "Young Fern")
DRIVES_20 = {0: "Low Hedge", 1: "Thorn Hedge", 2: "Blunt Thistle", 3: "Dry Nettle", 5: "Old Gorse", 6: "Young Fern"}
SWITCHES = ["drive[1].on", "drive[2].on", "comp.on"]
LATER_SWITCHES = ["mod.on", "delay[1].on", "delay[2].on", "reverb.on", "eq.on"]

LISTS = {
    "category": {"1.0": numbered("Clean", "Crunch", "Lead", "Ambient"), "2.1": numbered("Clean", "Crunch", "Lead", "Ambient", "Bass")},
    "routing": {"1.0": numbered("Series", "Parallel"), "2.1": numbered("Series", "Split", "Parallel")},
    "drive": {"1.0": DRIVES, "2.0": DRIVES_20, "2.1": {**DRIVES_20, 7: "Split Reed"}},
    "comp": {"1.0": numbered("Gentle", "Firm", "Squash")},
    "gate": {"2.0": numbered("Soft", "Hard")},
    "mod": {"1.0": numbered("Chorus", "Flanger", "Phaser", "Tremolo"),
            "1.1": numbered("Chorus", "Vibrato", "Flanger", "Phaser", "Tremolo"),
            "2.1": numbered("Chorus", "Vibrato", "Flanger", "Phaser", "Tremolo", "Rotary")},
    "wave": {"1.0": numbered("Sine", "Triangle", "Square")},
    "division": {"1.1": numbered("1/2", "1/4", "1/8", "1/16")},
    "delay": {"1.0": numbered("Clean", "Tape", "Bucket", "Multi"),
              "1.1": numbered("Clean", "Tape", "Bucket", "Multi", "Reverse"),
              "2.0": numbered("Clean", "Dark", "Tape", "Bucket", "Multi", "Reverse"),
              "2.1": numbered("Clean", "Dark", "Slap", "Tape", "Bucket", "Multi", "Reverse")},
    "reverb": {"1.0": numbered("Room", "Hall", "Plate", "Spring"), "1.1": numbered("Room", "Hall", "Plate", "Spring", "Chamber"),
               "2.1": numbered("Room", "Hall", "Plate", "Spring", "Chamber", "Cloud")},
    "cab": {"1.0": numbered("Small Open", "Small Closed", "Tall Open", "Tall Closed", "Direct")},
    "mic": {"1.0": numbered("Near", "Edge", "Far")},
    "mode": {"1.0": numbered("Latch", "Moment")},
    # What the pedal moves and the footswitches switch; 0 is nothing. "comp.on" is shown as "squeeze.on" from 2.0 on.
    "move": {"1.0": numbered("volume", "delay[1].mix", "mod.depth", "reverb.mix", first=1)},
    "switch": {"1.0": numbered(*SWITCHES, *LATER_SWITCHES, first=1), "2.0": numbered(*SWITCHES, "gate.on", *LATER_SWITCHES, first=1)},
}


def lists_of(release):
    """Each list as that release has it: the newest statement not later than it."""
    found = {}
    for name, table in LISTS.items():
        for earlier in RELEASES[:RELEASES.index(release) + 1]:
            if earlier in table:
                found[name] = table[earlier]
    return found


def on_11(r):
    r.add(share("drive.blend", 7, 100, neutral=100),
          Par("transpose", I8, 6, unit="semitones", range=(-12, 12), default=0, neutral=0, role="pitch"),
          switch("mod.sync", 9, neutral=False),
          Par("mod.division", U8, 10, choices="division", default="1/4", when=("sync", (True,))))
    r.pars["mod.rate"].when = ("sync", (False,))
    r.pars["comp.attack"].scale = Logarithmic(0, 200, 1, 101)
    r.pars["drive.tone"].step = 0.1
    r.pars["delay.tone"].rules["missing-parameter"] = "held"


def on_20(r):
    # Records 5 and drive 6 go; drive 6 comes back as something else.
    del r.pars["input-trim"], r.pars["drive.bite"]
    r.add(knob("drive.body", 6, 5, neutral=5))
    del r.pars["delay.tone"].rules["missing-parameter"]

    r.groups["gate"] = Group("block", GATE)
    r.add(switch("gate.on", 1), model("gate", default="Soft"),
          Par("gate.threshold", I8, 3, unit="dB", range=(-80, 0), default=-50),
          Par("gate.release", U16, 4, unit="ms", range=(5, 2000), default=120, role="time"))

    group = r.groups.pop("comp")
    r.groups["squeeze"] = group
    for ident in [ident for ident, par in r.pars.items() if par.group == "comp"]:
        par = r.pars.pop(ident)
        par.ident = "squeeze." + par.name
        r.add(par)
    renamed = r.pars.pop("reverb.cut")
    renamed.ident = "reverb.high-cut"
    r.add(renamed)

    # Half milliseconds in two bytes; what an older release stored is whole ones in one byte.
    r.pars["reverb.pre-delay"].change(place=U16, scale=Linear(0, 1000, 0, 500), range=(0, 500), kind="real",
                                      reads=(("2.0", U8, Linear(0, 250, 0, 250)),))
    r.pars["volume"].change(scale=Linear(0, 132, -60, 6), range=(-60, 6))
    r.pars["tempo"].range = (30, 300)
    r.pars["mod.rate"].range = (0.05, 10)
    r.pars["delay.feedback"].range = (0, 110)
    r.pars["pedal.curve"].count = 12
    r.add(cut("eq.low-cut", None, 20, 500, 20, at=7), cut("eq.high-cut", None, 2000, 20000, 20000, at=8))


def on_21(r):
    r.add(share("spill", 5, 0, neutral=0),  # the number that input-trim had
          knob("drive.sag", 10, 0, neutral=0),
          share("reverb.bloom", 12, 0, "tone", neutral=0, when=("record version", 2)))
    r.groups["reverb"].version_at_most = 2
    r.groups["delay.tap"].count = 6
    r.pars["delay.taps"].range = (0, 6)
    r.pars["squeeze.threshold"].range = (-70, 0)
    r.pars["mod.rate"].varies = (("model", ("Flanger",), "default", 0.3), ("model", ("Tremolo",), "default", 4))
    r.pars["reverb.decay"].varies = (("model", ("Hall",), "default", 3.4), ("model", ("Plate",), "default", 2))
    r.pars["drive.level"].range = (-20, 15)
    r.revoiced[("drive.model", "Old Gorse")] = "audible"


def all_releases():
    first = first_release()
    first.takes_up_to = "1.1"
    out = [first]
    # 2.0 wrote the number of its build: 200 or higher.
    for name, stamps, change in (("1.1", (110,), on_11), ("2.0", range(200, 240), on_20), ("2.1", (240,), on_21)):
        release = out[-1].following(name, stamps)
        change(release)
        out.append(release)
    return {release.name: release.seal(lists_of(release.name)) for release in out}


def saved_by(stamp):
    """The release that a stamp names. Numbers between two releases are test builds of the older one."""
    order = sum(stamp >= first for first in (110, 200, 240))
    assert stamp >= 100
    return RELEASES[order]
