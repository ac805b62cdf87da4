"""What the lists of the Dunlin 6 hold on each release: number -> thing, written out per release.

A thing keeps its first name here even where a release shows another: Ember 50 is shown as "Ember 50 Lead"
from 2.10 on, and is still the same thing.
"""

RELEASES = ["1.00", "1.10", "2.00 beta 1", "2.00", "2.10", "3.00 beta 2", "3.00", "3.10"]


def numbered(names, first=0):
    return {first + i: name for i, name in enumerate(names)}


GUITAR = ["Plain Clean", "Tide Clean", "Glass Clean", "Harbour Clean", "Copper Clean", "Window Clean", "Feather Clean",
          "Slate Clean", "Crown 15", "Crown 30", "Crown 60", "Ember 20", "Ember 50", "Ember 100", "Quay 18", "Quay 36",
          "Lantern 12", "Lantern 40", "Granite 50", "Granite 100", "Brass 22", "Brass 45", "Bramble 15", "Bramble 30",
          "Burrow 60", "Burrow 120", "Oriole 20", "Oriole 40", "Thistle 25", "Thistle 75", "Cobalt 50", "Cobalt 100",
          "Juniper 30", "Juniper 60"]
GUITAR_200 = ["Juniper 90", "Sable 50", "Sable 100", "Heron 30", "Heron 60"]
GUITAR_210 = ["Flint 40", "Flint 80", "Kestrel 25"]
GUITAR_300 = ["Copper 15", "Copper 35", "Morrow 50"]
BASS = ["Keel Bass 100", "Keel Bass 300", "Anchor Bass", "Ballast Bass", "Rudder Bass"]
ACOUSTIC = ["Spruce Acoustic", "Cedar Acoustic", "Maple Acoustic", "Parlour Acoustic", "Bright Acoustic"]
AMPS_110 = ["Twelve Acoustic", "Nylon Acoustic", "Flat Line"]
AMPS_300 = ["Resonant Acoustic", "Baritone Bass"]
AMPS_310 = ["Gale 50", "Gale 100", "Willow 12", "Willow 24"]

AMP = {
    "1.00": GUITAR + BASS + ACOUSTIC,
    "1.10": GUITAR + BASS + ACOUSTIC + AMPS_110,
    "2.00 beta 1": GUITAR + GUITAR_200 + BASS + ACOUSTIC + AMPS_110,
    "2.10": GUITAR + GUITAR_200 + GUITAR_210 + BASS + ACOUSTIC + AMPS_110,
    "3.00 beta 2": GUITAR + GUITAR_200 + GUITAR_210 + GUITAR_300 + BASS + ACOUSTIC + AMPS_110 + AMPS_300,
    "3.10": GUITAR + GUITAR_200 + GUITAR_210 + GUITAR_300 + BASS + ACOUSTIC + AMPS_110 + AMPS_300 + AMPS_310,
}

DRIVES = ["Soft Push", "Warm Push", "Clear Push", "Mid Push", "Grain", "Coarse Grain", "Fine Grain", "Paper Fuzz",
          "Wool Fuzz", "Velvet Fuzz", "Gravel", "Rust", "Splinter"]
DRIVE = {
    "1.00": DRIVES + ["Octave Fuzz"],
    "2.00": DRIVES + ["Octave Fuzz", "Treble Lift", "Bass Grain"],
    "2.10": DRIVES + ["Octave Fuzz", "Treble Lift", "Bass Grain"],                      # 7 goes free: see below
    "3.00 beta 2": DRIVES + ["Shale", "Octave Fuzz", "Treble Lift", "Bass Grain"],
    "3.00": DRIVES + ["Shale", "Octave Fuzz", "Treble Lift", "Bass Grain", "Long Fuse", "Short Fuse"],
    "3.10": DRIVES + ["Shale", "Octave Fuzz", "Treble Lift", "Bass Grain", "Long Fuse", "Short Fuse", "Torn Cloth"],
}

DELAYS = ["Plain", "Tape", "Worn Tape", "Dark", "Bright", "Bucket", "Slap", "Ping Pong", "Dual", "Reverse", "Swell"]
DELAY = {
    "1.00": DELAYS + ["Multi Tap", "Lo Bits"],
    "1.10": DELAYS + ["Multi Tap", "Lo Bits", "Pattern", "Drift"],
    "2.10": DELAYS + ["Multi Tap", "Lo Bits", "Pattern", "Drift", "Ducked"],
    "3.00 beta 2": DELAYS + ["Multi Tap", "Shimmer Echo", "Lo Bits", "Pattern", "Drift", "Ducked"],
    "3.10": DELAYS + ["Haze", "Multi Tap", "Shimmer Echo", "Lo Bits", "Pattern", "Drift", "Ducked"],
}

REVERBS = ["Room", "Studio", "Chamber", "Hall", "Large Hall", "Plate", "Bright Plate", "Spring", "Cavern", "Church"]
REVERB = {
    "1.00": REVERBS + ["Ambience", "Gated"],
    "2.00 beta 1": REVERBS + ["Ambience", "Gated", "Bloom", "Cloud"],
    "3.00": REVERBS + ["Vault", "Stairwell", "Ambience", "Gated", "Bloom", "Cloud"],
    "3.10": REVERBS + ["Vault", "Stairwell", "Ambience", "Gated", "Bloom", "Cloud", "Frozen"],
}

MODS = ["Chorus", "Wide Chorus", "Flanger", "Phaser 4", "Phaser 8", "Tremolo", "Harmonic Tremolo"]
MOD = {
    "1.00": MODS + ["Vibrato", "Rotary", "Ring", "Auto Pan", "Slicer"],
    "2.00": MODS + ["Vibrato", "Rotary", "Ring", "Auto Pan", "Slicer", "Ensemble", "Barber Phase"],
    "3.00 beta 2": MODS + ["Ring", "Vibrato", "Rotary", "Auto Pan", "Slicer", "Ensemble", "Barber Phase"],
    "3.10": MODS + ["Ring", "Vibrato", "Rotary", "Auto Pan", "Slicer", "Ensemble", "Barber Phase", "Drone"],
}

PITCHES = ["Shift", "Detune", "Octave Down", "Octave Up", "Harmony", "Glide"]
PITCH = {
    "1.00": PITCHES,
    "2.00": PITCHES + ["Dual Harmony"],
    "2.10": PITCHES + ["Dual Harmony", "Twelve String"],
}

FILTERS = ["Sweep", "Vocal Sweep", "Low Pass", "High Pass", "Band Pass", "Auto Sweep", "Step Filter"]
FILTER = {"2.00 beta 1": FILTERS, "3.00": FILTERS + ["Comb"]}

CABS = ["Open 1x8", "Open 1x10", "Open 1x12", "Closed 1x12", "Open 2x10", "Closed 2x10", "Open 2x12", "Closed 2x12",
        "Open 4x10", "Closed 4x10", "Open 4x12", "Closed 4x12", "Deep 4x12", "Old 4x12", "Bright 4x12", "Bass 1x15",
        "Bass 2x10", "Bass 4x10", "Bass 8x10", "Small Box", "Radio", "Flat"]
CAB = {"1.00": CABS, "3.10": CABS + ["Slant 4x12", "Oval 2x12"]}

MICS = ["Dynamic", "Ribbon", "Condenser", "Dark Dynamic", "Large Condenser", "Old Ribbon"]
MIC = {"1.00": MICS, "3.00 beta 2": MICS + ["Boundary", "Pair"]}

COLOURS = ["White", "Red", "Amber", "Yellow", "Green", "Cyan", "Blue", "Violet"]
COLOUR = {"1.00": COLOURS, "3.00 beta 2": COLOURS + ["Pink", "Lime", "Sky", "Rose"]}

PLAIN = ["1/1", "1/2", "1/4", "1/8", "1/16"]
DIVISION = {
    "1.00": PLAIN + ["1/4 triplet", "1/8 triplet", "1/4 dotted", "1/8 dotted"],
    "2.00": PLAIN + ["1/4 dotted", "1/8 dotted", "1/4 triplet", "1/8 triplet"],
}

# What a controller can move; numbers from 1, 0 is nothing.
MOVES = ["amp[1].level", "amp[2].level", "delay.send", "reverb.send", "mod.amount", "pitch.bend", "trim"]
MOVE = {"1.00": MOVES, "2.00 beta 1": MOVES + ["filter.position"]}

# What a footswitch can switch; numbers from 1, 0 is nothing.
SWITCHES = ["drive[1].on", "drive[2].on", "comp.on", "gate.on", "eq.on", "pitch.on", "mod.on", "delay.on"]
REST = ["reverb.on", "amp[1].voice", "amp[2].on", "drive[1].voice"]
SWITCH = {
    "1.00": SWITCHES + REST,
    "2.00 beta 1": SWITCHES + REST + ["filter.on"],
    "3.00": SWITCHES + ["doubler.on"] + REST + ["filter.on"],
}

FIXED = {
    "comp": ["Gentle", "Firm", "Squash", "Studio", "Two Band"],
    "gate": ["Soft", "Hard", "Split"],
    "doubler": ["Tight", "Loose", "Wide", "Choir"],
    "routing": ["Series", "Split", "Dual"],
    "tempo-source": ["Preset", "Unit"],
    "input": ["Normal", "Bright", "Both"],
    "curve": ["Straight", "Slow", "Fast"],
    "mode": ["Latch", "Moment"],
    "source": ["Cabinet", "Impulse response"],
    "detector": ["Peak", "Average"],
    "key": ["C", "C sharp", "D", "D sharp", "E", "F", "F sharp", "G", "G sharp", "A", "A sharp", "B"],
    "wave": ["Sine", "Triangle", "Square", "Random"],
    "slope": ["12", "24"],
}


def of(name, release):
    """The list on that release: the newest statement not later than it."""
    if name in FIXED:
        return numbered(FIXED[name])
    table = {"amp": AMP, "drive": DRIVE, "delay": DELAY, "reverb": REVERB, "mod": MOD, "pitch": PITCH, "filter": FILTER,
             "cab": CAB, "mic": MIC, "colour": COLOUR, "division": DIVISION, "move": MOVE, "switch": SWITCH}[name]
    found = None
    for candidate in RELEASES[:RELEASES.index(release) + 1]:
        found = table.get(candidate, found)
    result = numbered(found, 1 if name in ("move", "switch") else 0)
    if name == "drive" and RELEASES.index(release) >= RELEASES.index("2.10"):
        del result[7]
    return result
