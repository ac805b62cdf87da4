"""Risks planted by hand: what was done to a preset, and what must come of it. The generator checks its own tables against this.

One row: bank, slot, saved on, name, why, changes, expected. Changes are instance -> value on top of a plain preset.
Expected are target -> (verdict, findings); a finding is (parameter, outcome, weight), or (parameter,) where it must be kept.
A verdict of None is left open.
"""

A1, D1, G1, M1 = "amp[1].alternate[1].", "delay.alternate[1].", "gate.alternate[1].", "mod.alternate[1]."
P1, F1, C1, R1 = "pitch.alternate[1].", "filter.alternate[1].", "cab[1].alternate[1].", "reverb.alternate[1]."
COMP1, DRIVE1, EQ1 = "comp.alternate[1].", "drive[1].alternate[1].", "eq.alternate[1]."

PLANTED = [
    # Lists.
    ("bank-a", 81, "3.10", "Kestrel Verse", "a model put into the middle of the list in 2.10: its number was a bass amp before",
     {A1 + "model": "Kestrel 25"},
     {"2.10": ("intact", []), "2.00": ("altered", [(A1 + "model", "swapped", "severe")]), "1.10": ("altered", [(A1 + "model", "swapped", "severe")])}),
    ("bank-a", 82, "3.10", "Anchor Bass Line", "a bass amp whose number grew whenever guitar amps were put in before it",
     {A1 + "model": "Anchor Bass"},
     {"3.00": ("intact", []), "3.00 beta 2": ("intact", []), "2.10": ("altered", [(A1 + "model", "swapped", "severe")])}),
    ("bank-a", 83, "3.10", "Willow Chorus", "a model added at the end in 3.10: older releases do not know the number and put Plain Clean",
     {A1 + "model": "Willow 24"},
     {"3.00": ("altered", [(A1 + "model", "reset", "severe")]), "1.10": ("altered", [(A1 + "model", "reset", "severe")])}),
    ("bank-a", 84, "3.10", "Spare Willow", "the same model, in an alternate that nothing selects",
     {"amp[1].alternate[4].model": "Willow 24"},
     {"3.00": ("intact", [("amp[1].alternate[4].model", "reset", "none")]), "1.10": ("intact", [("amp[1].alternate[4].model", "lost", "none")])}),
    ("bank-a", 85, "3.10", "Ember Fifty", "Ember 50 is shown as Ember 50 Lead from 2.10 on; it is the same",
     {A1 + "model": "Ember 50"}, {"2.00": ("intact", [(A1 + "model",)]), "1.10": ("intact", [(A1 + "model",)])}),
    ("bank-a", 86, "3.10", "Spinning Chapel", "3.00 reordered the modulations: the number of Rotary was that of Ring",
     {"mod.on": True, M1 + "model": "Rotary"},
     {"3.00 beta 2": ("intact", []), "2.10": ("altered", [(M1 + "model", "swapped", "severe")])}),
    ("bank-a", 87, "3.10", "Torn Cloth Riff", "a drive added in 3.10: 3.00 puts the first drive of its list",
     {"drive[1].on": True, DRIVE1 + "model": "Torn Cloth"}, {"3.00": ("altered", [(DRIVE1 + "model", "reset", "severe")])}),
    ("bank-a", 88, "3.10", "Haze on Water", "a delay put into the middle of the list in 3.10",
     {"delay.on": True, D1 + "model": "Haze"}, {"3.00": ("altered", [(D1 + "model", "swapped", "severe")])}),
    ("bank-a", 89, "3.10", "Frozen Harbour", "a reverb added at the end in 3.10: 3.00 holds the last that it knows",
     {"reverb.on": True, R1 + "model": "Frozen"}, {"3.00": ("altered", [(R1 + "model", "clamped", "severe")])}),
    ("bank-a", 90, "3.10", "Boundary Mic", "a microphone of 3.00 on an older release",
     {C1 + "mic": "Boundary"}, {"3.00 beta 2": ("intact", []), "2.10": ("altered", [(C1 + "mic", "clamped", "audible")])}),
    ("bank-a", 91, "3.10", "Dotted Lanterns", "2.00 put the dotted divisions before the triplets",
     {"delay.on": True, D1 + "sync": True, D1 + "division": "1/8 dotted"},
     {"2.00": ("intact", []), "2.00 beta 1": ("altered", [(D1 + "division", "swapped", "audible")])}),
    ("bank-a", 92, "3.10", "Pink Buoy", "a colour of 3.00: nobody hears it", {"colour": "Pink"}, {"2.10": ("near", [("colour", "clamped", "slight")])}),
    # Ranges and steps.
    ("bank-a", 93, "3.10", "Past Eleven", "the drive knob reached 10 before 3.00",
     {A1 + "drive": 11.5}, {"3.00": ("intact", []), "2.10": ("altered", [(A1 + "drive", "clamped", "audible")])}),
    ("bank-a", 94, "3.10", "A Hair Over", "little more than 10", {A1 + "drive": 10.3}, {"2.10": ("near", [(A1 + "drive", "clamped", "slight")])}),
    ("bank-a", 95, "3.10", "Gallop", "280 bpm: tempo ended at 240 before 3.00", {"tempo": 280}, {"2.10": ("altered", [("tempo", "clamped", "audible")])}),
    ("bank-a", 96, "3.10", "Quiet Room Gate", "a gate threshold below -80 dB is put back to -50 dB before 2.10",
     {"gate.on": True, G1 + "threshold": -90}, {"2.10": ("intact", []), "2.00": ("altered", [(G1 + "threshold", "reset", "audible")])}),
    ("bank-a", 97, "3.10", "Fine Pitch", "12 cents: before 2.10 the grid was 25 cents, and nobody says whether 12 is rounded",
     {"pitch.on": True, P1 + "fine": 12},
     {"2.10": (None, [(P1 + "fine",)]), "2.00": ("undecided", [(P1 + "fine", "unsure", "slight")])}),
    ("bank-a", 98, "3.10", "Presence Tenths", "0.1 off the grid of 0.5 that held before 3.00: too little to hear",
     {A1 + "presence": 5.1}, {"3.00": ("intact", []), "3.00 beta 2": ("intact", [(A1 + "presence", "rounded", "none")])}),
    ("bank-a", 99, "3.10", "Runaway", "feedback 115 %: before 3.00 the engine played up to 110 % and did not stop more",
     {"delay.on": True, D1 + "feedback": 115}, {"3.00": ("intact", []), "2.10": ("altered", [(D1 + "feedback", "out-of-range", "audible")])}),
    ("bank-a", 100, "3.10", "Almost Runaway", "feedback 105 %: beyond the old knob, within the old engine",
     {"delay.on": True, D1 + "feedback": 105}, {"2.10": ("intact", [(D1 + "feedback",)])}),
    ("bank-b", 81, "3.10", "Loud Band Five", "bands reach 15 dB from 3.10 on: 13.5 dB is held at 12",
     {"eq.on": True, EQ1 + "band-5": 13.5}, {"3.00": ("near", [(EQ1 + "band-5", "clamped", "slight")])}),
    ("bank-b", 82, "3.10", "Long Goodbye", "a decay of 40 s, held at 20 s",
     {"reverb.on": True, R1 + "decay": 40}, {"3.00": ("altered", [(R1 + "decay", "clamped", "audible")])}),
    ("bank-b", 83, "3.10", "Big Spring", "a spring could be 50 % large at most until 3.00 beta 2",
     {"reverb.on": True, R1 + "model": "Spring", R1 + "size": 80},
     {"3.00": ("intact", []), "3.00 beta 2": ("altered", [(R1 + "size", "clamped", "audible")])}),
    ("bank-b", 84, "3.10", "Quick Attack", "2.00 gave the compressor's attack a logarithmic taper",
     {"comp.on": True, COMP1 + "attack": 3.2}, {"2.00 beta 1": ("intact", []), "1.10": ("altered", [(COMP1 + "attack", "rescaled", "audible")])}),
    ("bank-b", 85, "3.10", "Seconds, not ms", "3.00 shows delay time in seconds: the same time", {"delay.on": True, D1 + "time": 0.45}, {"2.10": ("intact", [(D1 + "time",)])}),
    ("bank-b", 86, "3.10", "Swell Pedal", "a pedal on delay send: its knob reached 0 dB before 2.10, so toe down is 4 dB lower",
     {"delay.on": True, "controller[1].target": "delay.send"},
     {"2.10": ("intact", []), "2.00": ("altered", [("delay.send", "rescaled", "audible")])}),
    # What is not there.
    ("bank-b", 87, "3.10", "Swept Clean", "the filter came with 2.00", {"filter.on": True},
     {"2.00": ("intact", []), "1.10": ("altered", [(F1 + "model", "lost", "severe"), ("filter.on", "lost", "audible")])}),
    ("bank-b", 88, "3.10", "Doubled Up", "the doubler came with 3.00", {"doubler.on": True, "scene[2].doubler-on": True},
     {"3.00": ("intact", []), "2.10": ("altered", [("doubler.alternate[1].model", "lost", "severe"), ("scene[2].doubler-on", "lost", "audible")])}),
    ("bank-b", 89, "3.10", "Double on Demand", "the doubler is off, but a footswitch can bring it in; its number was another switch before 3.00",
     {"footswitch[1].target": "doubler.on"},
     {"3.00": ("intact", []), "3.00 beta 2": ("altered", [("footswitch[1].target", "swapped", "audible")]),
      "2.10": ("altered", [("doubler.alternate[1].model", "lost", "severe")])}),
    ("bank-b", 90, "3.10", "Squeal Catcher", "feedback notches came with 3.10", {"notch.on": True, "notch.band[1].depth": -18},
     {"3.00": ("altered", [("notch.band[1].depth", "lost", "audible"), ("notch.band[1].frequency", "lost", "audible"), ("notch.band[2].depth", "lost", "none")])}),
    ("bank-b", 91, "3.10", "Third Voice", "alternate 3 where there are two", {"amp[1].voice": 3},
     {"2.00": ("intact", []), "1.10": ("altered", [("amp[1].voice", "clamped", "audible"), ("amp[1].alternate[3].model", "lost", "severe")])}),
    ("bank-b", 92, "3.10", "Fifth Scene", "the preset starts in scene 5, which came with 2.10", {"start-scene": 5, "scene[5].amp-1-level": 3},
     {"2.10": ("intact", []), "2.00": ("altered", [("start-scene", "clamped", "audible"), ("scene[5].amp-1-level", "lost", "audible")])}),
    ("bank-b", 93, "3.10", "Slot Ninety", "impulse response 90: there were 64 slots before 3.00", {C1 + "source": "Impulse response", C1 + "ir": 90},
     {"3.00 beta 2": ("intact", []), "2.10": ("altered", [(C1 + "ir", "unfilled", "severe")])}),
    ("bank-b", 94, "3.10", "Bitten", "the bite knob came with 3.00", {A1 + "bite": 4}, {"2.10": ("altered", [(A1 + "bite", "lost", "audible")])}),
    ("bank-b", 95, "3.10", "Long Name, Short Screen", "more than 16 characters", {}, {"2.10": ("intact", []), "2.00": ("near", [("name", "cut", "slight")])}),
    ("bank-b", 96, "3.10", "Wah Pedal Clean", "a pedal on the filter, which 1.10 does not have",
     {"filter.on": True, "controller[1].target": "filter.position"},
     {"1.10": ("altered", [("filter.position", "lost", "audible"), ("controller[1].target", "out-of-range", "audible")])}),
    # Silent ones.
    ("bank-b", 97, "3.10", "Formant Moved", "3.00 moved tracking and put formant in its place",
     {"pitch.on": True, P1 + "tracking": 30, P1 + "formant": 75},
     {"3.00 beta 2": ("intact", []), "2.10": ("altered", [(P1 + "tracking", "displaced", "audible"), (P1 + "formant", "lost", "audible")])}),
    ("bank-b", 98, "3.10", "Cab Bypassed", "bypassed by the routing is number 2 from 3.00 on; before, only the lowest bit was looked at",
     {"cab[2].on": 2}, {"3.00 beta 2": ("intact", []), "2.10": ("altered", [("cab[2].on", "woken", "audible")])}),
    ("bank-b", 99, "3.10", "Crown, New Voice", "2.10 re-voiced the Crown 30",
     {A1 + "model": "Crown 30"}, {"2.10": ("intact", []), "2.00": ("near", [(A1 + "model", "revoiced", "slight")])}),
    ("bank-b", 100, "3.10", "Quay, New Voice", "3.00 re-voiced the Quay 18",
     {A1 + "model": "Quay 18"}, {"3.00": ("intact", []), "3.00 beta 2": ("altered", [(A1 + "model", "revoiced", "audible")])}),
    # Slots that 1.00 does not take.
    ("bank-c", 101, "3.10", "Beyond the Shelf", "1.00 has 100 slots", {}, {"1.00": ("refused", []), "1.10": ("intact", [])}),
    # Upwards.
    ("bank-d", 81, "1.00", "Old Paper", "Paper Fuzz went with 2.10: its number is free, and the first drive comes instead",
     {"drive[1].on": True, DRIVE1 + "model": "Paper Fuzz"}, {"2.00": ("intact", []), "2.10": ("altered", [(DRIVE1 + "model", "reset", "severe")])}),
    ("bank-d", 82, "1.10", "Fast Wobble", "15 Hz: 2.10 narrowed the rate to 12 Hz",
     {"mod.on": True, M1 + "rate": 15}, {"2.00": ("intact", []), "2.10": ("altered", [(M1 + "rate", "clamped", "audible")])}),
    ("bank-d", 83, "2.10", "Sagging", "the sag knob went with 3.00", {A1 + "sag": 5},
     {"3.00 beta 2": ("altered", [(A1 + "sag", "lost", "audible")]), "2.00": ("intact", [])}),
    ("bank-d", 84, "2.10", "Tone in Tenths", "3.00 made the drive's tone knob coarser",
     {"drive[1].on": True, DRIVE1 + "tone": 5.1}, {"3.00": ("intact", [(DRIVE1 + "tone", "rounded", "none")])}),
    ("bank-d", 85, "1.00", "Tapped Tempo", "1.00 left 7F where later releases keep the tempo source, and they mend it",
     {"tempo": 104}, {"3.10": ("intact", [("tempo-source", "added", "none")]), "1.10": ("intact", [])}),
    ("bank-d", 86, "2.00", "Beta or Final", "stamp 512 is that of 2.00 beta 1 too, where the divisions lay in another order",
     {"delay.on": True, D1 + "sync": True, D1 + "division": "1/4 triplet"}, {"3.10": ("altered", [(D1 + "division", "swapped", "audible")])}),
    ("bank-d", 87, "1.00", "Old Attack", "the old linear attack on a newer release",
     {"comp.on": True, COMP1 + "attack": 26}, {"1.10": ("intact", []), "3.10": ("altered", [(COMP1 + "attack", "rescaled", "audible")])}),
    ("bank-d", 88, "1.10", "Old Bass Number", "a bass amp of 1.10 is a guitar amp later",
     {A1 + "model": "Ballast Bass"}, {"1.00": ("intact", []), "2.00": ("altered", [(A1 + "model", "swapped", "severe")]), "3.10": ("altered", [(A1 + "model", "swapped", "severe")])}),
]

TAPPED = ("bank-d", 85)  # gets the 7F


def check(row, judged):
    """Assert what is expected against what the generator's tables say."""
    bank, slot, _, name, _, _, expected = row
    for target, (verdict, findings) in expected.items():
        got_verdict, got = judged[target]
        told = {ident: found for ident, found in got.items() if found[1] != "none"}
        where = f"{bank} {slot} {name} on {target}: {got_verdict} {told}"
        assert verdict is None or verdict == got_verdict, where
        for finding in findings:
            assert got.get(finding[0]) == (finding[1:] or None), f"{where}; {finding}"
