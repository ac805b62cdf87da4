"""Risks planted by hand: what was done to a calm preset, and what must come of it. The generator checks its tables against this.

One row: bank, slot, stamp, name, why, changes (None: left out), expected. Expected are target -> (verdict, findings); a finding is (parameter,
outcome, weight), or (parameter,) where it must be kept. A target like "2.0 mini" is a Pipit Mini.
"""

GUITAR = {"drive[1].on": True, "drive[1].model": "Low Hedge"}
ECHO = {"delay[1].on": True, "delay[1].model": "Clean", "delay[1].tone": 4}
WOBBLE = {"mod.on": True, "mod.model": "Chorus"}
SQUEEZE = {"squeeze.on": True, "squeeze.model": "Gentle"}
COMP = {"comp.on": True, "comp.model": "Gentle"}

RISKS = [
    ("pipit-a", 36, 240, "Over Unity", "feedback 105 %: 1.1 stops at 95", {**ECHO, "delay[1].feedback": 105},
     {"2.0": ("intact", []), "1.1": ("altered", [("delay[1].feedback", "clamped", "audible")])}),
    ("pipit-a", 37, 240, "Long Curve", "the pedal's curve has 12 points from 2.0 on, 8 before",
     {"pedal.target": "reverb.mix", "pedal.curve[11]": 60, "pedal.curve[12]": 60},
     {"2.0": ("intact", []), "1.1": ("altered", [("pedal.curve[11]", "lost", "audible"), ("pedal.curve[9]", "lost", "none")])}),
    ("pipit-a", 38, 240, "Two Hedges", "two drives at once: the mini runs one",
     {**GUITAR, "drive[2].on": True, "drive[2].model": "Young Fern"},
     {"2.0": ("intact", []), "2.1": ("intact", []), "2.1 mini": ("altered", [("drive[2].model", "lost", "severe")])}),
    ("pipit-a", 39, 240, "Loud Plus", "volume +4 dB: it ended at 0 dB before 2.0", {"volume": 4},
     {"2.0": ("intact", []), "1.1": ("altered", [("volume", "clamped", "audible")])}),
    ("pipit-a", 40, 240, "Editor Note", "a record that no release knows, left by a computer editor", {},
     {"2.1": ("intact", []), "2.0": ("intact", []), "1.1": ("intact", [])}),
    ("pipit-a", 41, 240, "Slap Back", "a delay put into the middle of the list in 2.1", {**ECHO, "delay[1].model": "Slap"},
     {"2.0": ("altered", [("delay[1].model", "swapped", "severe")])}),
    ("pipit-a", 42, 240, "Dark Water", "a delay put into the middle of the list in 2.0", {**ECHO, "delay[1].model": "Dark"},
     {"2.0": ("intact", []), "1.1": ("altered", [("delay[1].model", "swapped", "severe")])}),
    ("pipit-a", 43, 240, "Split Path", "a routing put into the middle of the list in 2.1", {"routing": "Split"},
     {"2.0": ("altered", [("routing", "swapped", "audible")])}),
    ("pipit-a", 44, 240, "Cloud Base", "a Cloud is stored as version 2 of the reverb, which older releases refuse",
     {"reverb.model": "Cloud", "reverb.bloom": 40},
     {"2.1": ("intact", []), "2.0": ("altered", [("reverb.model", "lost", "severe"), ("reverb.mix", "lost", "audible"), ("reverb.bloom", "lost", "audible")])}),
    ("pipit-a", 45, 240, "Cloud Off", "the same, off, and nothing brings it in", {"reverb.on": False, "reverb.model": "Cloud"},
     {"2.0": ("intact", [("reverb.model", "lost", "none")])}),
    ("pipit-a", 46, 240, "Hall as Is", "the decay is left out, and 2.1 has another default for a Hall", {"reverb.model": "Hall"},
     {"2.0": ("altered", [("reverb.decay", "reset", "audible")]), "1.1": ("altered", [("reverb.decay", "reset", "audible")])}),
    ("pipit-a", 47, 240, "Hall Set", "the same with a decay of its own", {"reverb.model": "Hall", "reverb.decay": 2},
     {"2.0": ("intact", [("reverb.decay",)]), "1.1": ("intact", [])}),
    ("pipit-a", 48, 240, "Slow Trem", "the rate is left out: 4 Hz on 2.1, 5 Hz before", {**WOBBLE, "mod.model": "Tremolo"},
     {"2.0": ("altered", [("mod.rate", "reset", "audible")])}),
    ("pipit-a", 49, 240, "Six Taps", "six taps where there were four",
     {**ECHO, "delay[1].taps": 6, **{f"delay[1].tap[{n}].level": -n for n in range(1, 7)}},
     {"2.1": ("intact", []), "2.0": ("altered", [("delay[1].taps", "clamped", "audible"), ("delay[1].tap[5].level", "lost", "audible"),
                                                 ("delay[1].tap[5].pan", "lost", "none"), ("delay[1].tap[4].level",)])}),
    ("pipit-a", 50, 240, "Split Reed", "a drive added at the end in 2.1: 2.0 puts the first of its list", {**GUITAR, "drive[1].model": "Split Reed"},
     {"2.0": ("altered", [("drive[1].model", "reset", "severe")])}),
    ("pipit-a", 51, 240, "Deep Squash", "a threshold below -60 dB is put back to -24 dB before 2.1", {**SQUEEZE, "squeeze.threshold": -65},
     {"2.0": ("altered", [("squeeze.threshold", "reset", "audible")]), "1.1": ("altered", [("squeeze.threshold", "reset", "audible")])}),
    ("pipit-a", 52, 240, "Bass Shelf", "a category of 2.1: nobody hears it", {"category": "Bass"},
     {"2.0": ("near", [("category", "clamped", "slight")])}),
    ("pipit-a", 53, 240, "Sagging", "the sag knob came with 2.1", {**GUITAR, "drive[1].sag": 4},
     {"2.0": ("altered", [("drive[1].sag", "lost", "audible")])}),
    ("pipit-a", 54, 240, "Spilling", "2.1 uses record 5 for spill; 1.1 takes it for the input trim", {"spill": 30},
     {"2.0": ("altered", [("spill", "lost", "audible")]), "1.1": ("altered", [("spill", "lost", "audible"), ("input-trim", "displaced", "severe")])}),
    ("pipit-a", 55, 240, "Full Body", "2.0 uses the record of bite for body", {**GUITAR, "drive[1].body": 8},
     {"2.0": ("intact", []), "1.1": ("altered", [("drive[1].body", "lost", "audible"), ("drive[1].bite", "displaced", "audible")])}),
    ("pipit-a", 56, 240, "Swell Down", "toe down the volume was 0 dB before 2.0, +6 dB since", {"pedal.target": "volume"},
     {"2.0": ("intact", []), "1.1": ("altered", [("volume", "rescaled", "audible")])}),
    ("pipit-a", 57, 240, "Gated Riff", "the gate came with 2.0", {**GUITAR, "gate.on": True, "gate.model": "Hard"},
     {"2.0": ("intact", []), "1.1": ("altered", [("gate.model", "lost", "severe"), ("gate.on", "lost", "audible")])}),
    ("pipit-a", 58, 240, "Kick the Mod", "2.0 put the gate's switch into the footswitches' list", {**WOBBLE, "footswitch[1].target": "mod.on"},
     {"2.0": ("intact", []), "1.1": ("altered", [("footswitch[1].target", "swapped", "audible")])}),
    ("pipit-a", 59, 240, "Early Drops", "pre-delay in half milliseconds and two bytes: 1.1 reads the first byte", {"reverb.pre-delay": 60},
     {"2.0": ("intact", []), "1.1": ("altered", [("reverb.pre-delay", "rescaled", "audible")])}),
    ("pipit-a", 60, 240, "Gain Twice", "the gain stands there twice: the last counts, everywhere", {**GUITAR, "drive[1].gain": 3},
     {"2.0": ("intact", [("drive[1].gain",)]), "1.1": ("intact", [("drive[1].gain",)])}),
    # Upwards.
    ("pipit-b", 41, 100, "Old Attack", "1.1 gave the compressor's attack a logarithmic taper", {**COMP, "comp.attack": 26},
     {"1.0": ("intact", []), "1.1": ("altered", [("comp.attack", "rescaled", "audible")]), "2.1": ("altered", [("comp.attack", "rescaled", "audible")])}),
    ("pipit-b", 42, 100, "Old Phaser", "Vibrato was put before it in 1.1", {**WOBBLE, "mod.model": "Phaser"},
     {"1.1": ("altered", [("mod.model", "swapped", "severe")]), "2.1": ("altered", [("mod.model", "swapped", "severe")])}),
    ("pipit-b", 43, 110, "Bitten", "bite went with 2.0, and body reads its record", {**GUITAR, "drive[1].bite": 8},
     {"1.0": ("intact", []), "2.0": ("altered", [("drive[1].bite", "lost", "audible"), ("drive[1].body", "displaced", "audible")])}),
    ("pipit-b", 44, 100, "Trimmed", "the input trim went with 2.0; 2.1 takes its record for spill", {"input-trim": -4},
     {"2.0": ("altered", [("input-trim", "lost", "audible")]), "2.1": ("altered", [("input-trim", "lost", "audible"), ("spill", "displaced", "audible")])}),
    ("pipit-b", 45, 110, "Old Drops", "2.0 converts the pre-delay of older presets", {"reverb.pre-delay": 60},
     {"2.0": ("intact", [("reverb.pre-delay",)]), "2.1": ("intact", [("reverb.pre-delay",)])}),
    ("pipit-b", 46, 110, "Wet Nettle", "its number is that of Dry Nettle since 2.0", {**GUITAR, "drive[1].model": "Wet Nettle"},
     {"2.0": ("altered", [("drive[1].model", "swapped", "severe")])}),
    ("pipit-b", 47, 100, "Tone Unsaid", "1.1 keeps the tone that the unit had before, if none is stored",
     {"delay[1].on": True, "delay[1].tone": None},
     {"1.0": ("intact", []), "1.1": ("undecided", [("delay[1].tone", "unsure", "audible")]), "2.0": ("intact", [])}),
    ("pipit-b", 48, 110, "Swell Up", "toe down the volume comes out 6 dB louder since 2.0", {"pedal.target": "volume"},
     {"1.0": ("intact", []), "2.0": ("altered", [("volume", "rescaled", "severe")])}),
    ("pipit-b", 49, 217, "Build 217", "2.0 stamps its presets with the number of its build", {"tempo": 280},
     {"2.0": ("intact", []), "2.1": ("intact", []), "1.1": ("altered", [("tempo", "clamped", "audible")])}),
    ("pipit-b", 50, 104, "Test Build", "a stamp between 1.0 and 1.1 is 1.0: its attack is linear", {**COMP, "comp.attack": 26},
     {"1.0": ("intact", []), "1.1": ("altered", [("comp.attack", "rescaled", "audible")])}),
    ("pipit-b", 51, 110, "Fast Wobble", "2.0 narrowed the rate to 10 Hz", {**WOBBLE, "mod.rate": 15},
     {"1.0": ("intact", []), "2.0": ("altered", [("mod.rate", "clamped", "audible")])}),
    ("pipit-b", 52, 203, "Hot Drive", "2.1 narrowed the drive's level to 15 dB", {**GUITAR, "drive[1].level": 19},
     {"1.1": ("intact", []), "2.1": ("altered", [("drive[1].level", "clamped", "audible")])}),
    ("pipit-b", 53, 110, "Direct Box", "shown as Flat from 2.0 on, and the same", {"cab.model": "Direct"},
     {"2.0": ("intact", [("cab.model",)]), "2.1": ("intact", [("cab.model",)])}),
    ("pipit-b", 54, 110, "Fine Tone", "0.1 off the grid of 0.5 that 1.0 has: too little to hear", {**GUITAR, "drive[1].tone": 5.1},
     {"1.0": ("intact", [("drive[1].tone", "rounded", "none")]), "2.1": ("intact", [])}),
    ("pipit-b", 55, 200, "Gorse Lead", "2.1 re-voiced the Old Gorse", {**GUITAR, "drive[1].model": "Old Gorse"},
     {"2.0": ("intact", []), "2.1": ("altered", [("drive[1].model", "revoiced", "audible")])}),
    ("pipit-b", 56, 100, "Hall Before", "the decay is left out: 2.8 s before 2.1, 3.4 s there", {"reverb.model": "Hall"},
     {"2.0": ("intact", []), "2.1": ("altered", [("reverb.decay", "reset", "audible")])}),
    ("pipit-b", 57, 240, "Too New", "1.0 refuses what 2.0 or later saved", {}, {"1.0": ("refused", []), "1.1": ("intact", [])}),
]

# Bytes beside the parameters: after the records of the preset (""), or of one of its blocks.
EXTRA = {("pipit-a", 40): {"": bytes([0x7A, 1, 6]) + b"HPH-07"},
         ("pipit-a", 60): {"drive[1]": bytes([3, 1, 64])}}


def check(row, verdict, got, target):
    wanted, findings = row[6][target]
    told = {ident: found for ident, found in got.items() if found[1] != "none"}
    where = f"{row[0]} {row[1]} {row[3]} on {target}: {verdict} {told}"
    assert verdict == wanted, where
    for finding in findings:
        assert got.get(finding[0]) == (finding[1:] or None), f"{where}; {finding}: {got.get(finding[0])}"
