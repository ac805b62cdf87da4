"""The presets of Half Past Harbour: names, and how their kinds of sound are set."""

from lists import ACOUSTIC, BASS

# Each with the short form that fits in front of a part's name.
SONGS = [("Last Ferry Home", "Ferry"), ("Salt on the Line", "Salt"), ("Nine Lamps", "Lamps"), ("Paper Boats", "Boats"),
         ("The Harbourmaster", "Harbour"), ("Slow Tide", "Tide"), ("Rope and Rust", "Rope"), ("Half Past", "Half Past"),
         ("Fog Signal", "Fog"), ("Low Water", "Water"), ("Kitchen Light", "Kitchen"), ("Gull Street", "Gull"),
         ("Winter Berth", "Berth"), ("Two Buoys", "Buoys"), ("Mooring", "Mooring"), ("Undertow", "Undertow"),
         ("Signal Flags", "Flags"), ("Driftwood", "Driftwood"), ("Night Watch", "Watch"), ("Cold Coffee", "Coffee"),
         ("Breakwater", "Breakwater"), ("Ebb", "Ebb"), ("Dry Dock", "Dock"), ("Ropewalk", "Ropewalk")]

PARTS = {"clean": ["Verse", "Intro", "Clean", "Bridge"], "crunch": ["Chorus", "Riff", "Rhythm", "Push"],
         "lead": ["Solo", "Lead", "Outro", "High"], "ambient": ["Swell", "Wash", "Break", "Pads"],
         "acoustic": ["Strum", "Capo", "Duo", "Wood"], "bass": ["Bass", "Low", "Sub", "Root"]}

FIRST = {"clean": ["Clear", "Pale", "Even", "Bright", "Soft", "Plain"], "crunch": ["Rough", "Dry", "Rusty", "Broken", "Warm", "Tin"],
         "lead": ["Burning", "High", "Long", "Steep", "Loud", "Sharp"], "ambient": ["Slow", "Grey", "Deep", "Empty", "Far", "Drifting"],
         "acoustic": ["Open", "Oak", "Small", "Pine"], "bass": ["Round", "Low", "Heavy", "Thick"]}
SECOND = ["Kite", "Window", "Engine", "Timber", "Path", "Lantern", "Porch", "Cloud", "Shore", "Wall", "Bell", "Ladder", "Gate",
          "Stream", "Stone", "Letter", "Garden", "Chair", "Signal", "Station", "Barn", "Table", "Corner", "Field"]

KINDS = ["clean", "crunch", "crunch", "lead", "ambient", "clean", "crunch", "lead", "acoustic", "bass"]

AMPS = {"clean": ["Plain Clean", "Tide Clean", "Glass Clean", "Harbour Clean", "Copper Clean", "Window Clean", "Feather Clean", "Slate Clean"],
        "crunch": ["Crown 15", "Ember 20", "Quay 36", "Lantern 12", "Lantern 40", "Brass 22", "Bramble 15", "Bramble 30", "Oriole 20", "Thistle 25"],
        "lead": ["Crown 60", "Ember 50", "Ember 100", "Granite 50", "Granite 100", "Burrow 60", "Burrow 120", "Thistle 75", "Cobalt 50", "Cobalt 100", "Juniper 60"],
        "ambient": ["Plain Clean", "Glass Clean", "Slate Clean", "Oriole 40", "Juniper 30", "Brass 45"]}
DRIVES = {"clean": ["Soft Push", "Clear Push"], "crunch": ["Warm Push", "Mid Push", "Grain", "Fine Grain"],
          "lead": ["Mid Push", "Coarse Grain", "Wool Fuzz", "Velvet Fuzz", "Gravel", "Rust"], "ambient": ["Soft Push", "Splinter"]}
CABS = {"clean": ["Open 1x12", "Open 2x12", "Open 2x10"], "crunch": ["Closed 2x12", "Open 2x12", "Closed 1x12"],
        "lead": ["Closed 4x12", "Deep 4x12", "Old 4x12", "Bright 4x12"], "ambient": ["Open 2x12", "Open 4x10"],
        "acoustic": ["Flat"], "bass": ["Bass 1x15", "Bass 4x10", "Bass 8x10"]}
DELAYS = ["Plain", "Tape", "Worn Tape", "Dark", "Bright", "Bucket", "Ping Pong", "Dual"]
REVERBS = ["Room", "Studio", "Chamber", "Hall", "Large Hall", "Plate", "Bright Plate", "Spring", "Cavern", "Church"]
MODS = ["Chorus", "Wide Chorus", "Flanger", "Phaser 4", "Phaser 8", "Tremolo", "Harmonic Tremolo"]
TEMPOS = [72, 76, 84, 88, 92, 96, 104, 108, 112, 116, 120, 124, 132, 138, 144, 152, 168]

# Where an owner's bank has what another release reads differently: chance per preset that is built at random.
NEW_AMPS = ["Juniper 90", "Sable 50", "Heron 30", "Flint 40", "Flint 80", "Kestrel 25", "Copper 15", "Morrow 50"]
NEWEST_AMPS = ["Gale 50", "Gale 100", "Willow 12", "Willow 24"]


def amp_settings(rng, sound, prefix, kind, model):
    gain = {"clean": (10, 35), "crunch": (40, 65), "lead": (60, 95), "ambient": (10, 30), "acoustic": (5, 20), "bass": (15, 45)}[kind]
    knob = lambda low=30, high=75: rng.randint(low, high) / 10
    sound.set_all(prefix, model=model, drive=rng.randint(*gain) / 10, bass=knob(), middle=knob(), treble=knob(), presence=rng.randint(4, 16) / 2,
                  master=knob(40, 70), level=rng.randint(-30, 30) / 10, depth=knob(), bright=rng.random() < 0.25,
                  low_cut=rng.choice([20, 40, 80]), cathode=knob(), width=rng.choice([40, 50, 60]))


def build(rng, sound, kind, spread):
    """A plausible preset of that kind. `spread` is the chance for each of the settings that are at risk on another release."""
    sometimes = lambda share: rng.random() < share
    model = rng.choice(AMPS.get(kind, AMPS["clean"]))
    if kind in ("bass", "acoustic") and sometimes(3 * spread):  # behind the guitar amps in the list, whose number grows
        model = rng.choice(BASS if kind == "bass" else ACOUSTIC)
    if sometimes(spread):
        model = rng.choice([m for m in ["Crown 30", "Quay 18"] + NEW_AMPS + NEWEST_AMPS if sound.offers("amp", m)])
    sound.set("amp[1].on", True).set("amp[1].level", rng.randint(-12, 6) / 2)
    amp_settings(rng, sound, "amp[1].alternate[1].", kind, model)
    if sometimes(0.45):
        amp_settings(rng, sound, "amp[1].alternate[2].", kind, rng.choice(AMPS.get(kind, AMPS["clean"])))
    sound.set_all("cab[1].alternate[1].", model=rng.choice(CABS[kind]), mic=rng.choice(["Dynamic", "Ribbon", "Condenser"]), distance=rng.randint(4, 40) / 2,
                  low_cut=rng.choice([40, 60, 80]), level=rng.randint(-4, 4) / 2)
    sound.set("cab[1].on", True).set("cab[2].on", True)
    if sometimes(0.3):
        slots = range(1, 61) if not sometimes(spread) or sound.release.impulse_responses < 128 else range(65, 100)
        sound.set_all("cab[1].alternate[1].", source="Impulse response", ir=rng.choice(slots))
    if kind in ("crunch", "lead") or sometimes(0.3):
        for n in (1, 2) if kind == "lead" else (1,):
            sound.set(f"drive[{n}].on", sometimes(0.6))
            sound.set_all(f"drive[{n}].alternate[1].", model=rng.choice(DRIVES.get(kind, DRIVES["clean"])), gain=rng.randint(20, 80) / 10,
                          tone=rng.randint(6, 14) / 2, level=rng.randint(-6, 8) / 2, mix=rng.choice([100, 100, 80]))
    if kind in ("clean", "acoustic", "bass"):
        sound.set("comp.on", sometimes(spread))
        sound.set_all("comp.alternate[1].", model=rng.choice(["Gentle", "Firm", "Studio"]), threshold=rng.randint(-36, -14), gain=rng.randint(0, 8) / 2)
    if kind == "lead":
        sound.set("gate.on", sometimes(0.7)).set("gate.alternate[1].threshold", rng.randint(-70, -40))
    if sometimes(0.5):
        sound.set("eq.on", True)
        for n in range(1, 11):
            sound.set(f"eq.alternate[1].band-{n}", rng.randint(-10, 10) / 2)
    if sometimes(0.25):
        sound.set("mod.on", sometimes(0.5))
        sound.set_all("mod.alternate[1].", model=rng.choice(MODS), rate=rng.choice([0.3, 0.5, 0.8, 1.2, 2.5, 5]), depth=rng.randint(20, 80), mix=50)
    if sometimes(spread / 2):
        sound.set("pitch.on", True)
        sound.set_all("pitch.alternate[1].", model="Detune", mix=40, fine=rng.choice([8, 9, 16, 17] if sound.release.order >= 4 else [-25, 25]))
    if kind in ("lead", "ambient") or sometimes(0.5):
        sound.set("delay.on", True).set("delay.send", rng.choice([0, -6, -3]))
        time = rng.choice([280, 320, 375, 400, 450, 500, 620])
        sound.set_all("delay.alternate[1].", model=rng.choice(DELAYS), time=time if sound.release.order < 5 else time / 1000,
                      feedback=rng.randint(15, 60), mix=rng.randint(15, 40))
        if sometimes(0.3):
            sound.set("delay.alternate[1].sync", True).set("delay.alternate[1].division", "1/8 dotted" if sometimes(spread) else rng.choice(["1/4", "1/8"]))
        if sometimes(spread / 2):
            later = [m for m in ("Pattern", "Drift", "Shimmer Echo", "Haze", "Ducked") if sound.offers("delay", m)]
            sound.set("delay.alternate[1].model", rng.choice(later or DELAYS))
    sound.set("reverb.on", sometimes(0.85)).set("reverb.send", rng.choice([0, 0, -3, -6]))
    sound.set_all("reverb.alternate[1].", model=rng.choice(REVERBS), decay=rng.choice([0.8, 1.2, 1.8, 2.4, 3.5] if kind != "ambient" else [4, 6, 9, 12]),
                  mix=rng.randint(10, 45), pre_delay=rng.randint(0, 60), damping=rng.randint(20, 60), size=rng.randint(20, 50))
    if sometimes(spread / 2):
        later = [m for m in ("Bloom", "Cloud", "Vault", "Stairwell", "Frozen") if sound.offers("reverb", m)]
        sound.set("reverb.alternate[1].model", rng.choice(later or REVERBS))
    sound.set("tempo", rng.choice(TEMPOS)).set("volume", sound.release.pars["volume"].scale.to_value(rng.randint(85, 110)))
    sound.set("colour", {"clean": "Green", "crunch": "Amber", "lead": "Red", "ambient": "Blue", "acoustic": "Yellow", "bass": "Violet"}[kind])
    control(rng, sound, kind, spread)
    return sound


def control(rng, sound, kind, spread):
    """Scenes, pedals, footswitches. Scene 1 is always the preset itself."""
    sometimes = lambda share: rng.random() < share
    if sometimes(0.6):
        if sound.values["drive[1].on"]:
            sound.set("scene[2].drive-1-on", False)
        sound.set("scene[2].amp-1-level", rng.choice([1, 1.5, 2]) + sound.values["amp[1].level"])
    if sometimes(0.4) and sound.values["delay.on"]:
        sound.set("scene[3].delay-on", False).set("scene[3].reverb-send", -8)
    if sometimes(0.3):
        sound.set("scene[4].mod-on", True).set("scene[4].amp-1-voice", 2)
    if sometimes(0.4):
        sound.set("controller[1].target", rng.choice(["amp[1].level", "mod.amount", "reverb.send"]))
    if sometimes(spread / 2) and sound.values["delay.on"]:
        sound.set("controller[2].target", "delay.send")
    for n, what in enumerate(["drive[1].on", "mod.on", "comp.on" if kind == "clean" and sometimes(spread) else "delay.on"], 1):
        if sometimes(0.6):
            sound.set(f"footswitch[{n}].target", what).set(f"footswitch[{n}].colour", rng.choice(["Red", "Green", "Blue"]))
    if sometimes(spread):
        sound.set("footswitch[4].target", rng.choice(["reverb.on", "amp[1].voice"]))
    if sound.has("label[1].text") and sometimes(spread):
        sound.set("label[1].text", "Verse").set("label[2].text", "Chorus")
