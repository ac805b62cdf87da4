"""The presets that Half Past Harbour keeps in its pedals."""

from songs import PARTS, SONGS

KINDS = ["clean", "crunch", "lead", "ambient", "crunch", "clean", "lead"]
DRIVES = {"clean": ["Low Hedge", "Young Fern"], "crunch": ["Low Hedge", "Dry Nettle"], "lead": ["Thorn Hedge", "Dry Nettle"],
          "ambient": ["Young Fern"]}
CABS = {"clean": ["Small Open", "Tall Open"], "crunch": ["Small Closed"], "lead": ["Tall Closed"], "ambient": ["Tall Open"]}


def name_of(slot, kind, used):
    start = slot // 3 % len(SONGS)
    names = [f"{short} {part}"[:12].strip() for _, short in SONGS[start:] + SONGS[:start] for part in PARTS[kind]]
    name = next(name for name in names if name not in used)
    used.add(name)
    return name


def build(rng, sound, kind, spread):
    """A plausible preset. `spread` is the chance of each thing that another release reads differently."""
    sometimes = lambda chance: rng.random() < chance
    half = lambda least, most: rng.randint(2 * least, 2 * most) / 2
    sound.set("category", {"clean": "Clean", "crunch": "Crunch", "lead": "Lead", "ambient": "Ambient"}[kind])
    if sound.offers("category", "Bass") and sometimes(spread):
        sound.set("category", "Bass")
    sound.set("tempo", rng.choice([76, 88, 96, 104, 112, 120, 132, 144])).set("volume", half(-12, -2))
    sound.set_all("cab", on=True, model=rng.choice(CABS[kind]), mic=rng.choice(["Near", "Near", "Edge"]), level=half(-3, 3))
    if kind != "ambient" or sometimes(0.3):
        later = [label for label in ("Old Gorse", "Split Reed", "Blunt Thistle") if sound.offers("drive", label)]
        drives = DRIVES[kind] if not sometimes(spread) else later
        sound.set_all("drive[1]", on=kind != "clean" or sometimes(0.3), model=rng.choice(drives), tone=half(4, 7), level=half(-4, 6))
        if sometimes(0.6):
            sound.set("drive[1].gain", rng.randint(20, 80) / 10)
        if kind == "lead" or sometimes(0.5):
            sound.set_all("drive[2]", on=kind == "lead" and sound.values["drive[1].on"] and sometimes(0.5), model="Low Hedge", gain=2.5, level=half(2, 6))
        for ident in ("drive[1].body", "drive[1].bite", "drive[1].sag"):
            if sound.has(ident) and sometimes(spread / 2):
                sound.set(ident, rng.choice([2, 3.5, 7.5]))
    comp = "squeeze" if sound.has("squeeze.on") else "comp"
    if kind in ("clean", "ambient") or sometimes(0.7):
        sound.set_all(comp, on=sometimes(spread), model=rng.choice(["Gentle", "Firm"]), threshold=rng.randint(-36, -14), gain=half(0, 4))
        if sometimes(0.5):
            sound.set(comp + ".attack", 21 if sound.release.name == "1.0" else sound.release.pars[comp + ".attack"].scale.to_value(90))
    if sound.has("gate.on") and sometimes(0.5):
        sound.set_all("gate", on=kind == "lead" and sometimes(2 * spread), model="Soft", threshold=rng.randint(-70, -45))
    # Chorus is the first of the list on every release.
    others = [label for label in ("Vibrato", "Flanger", "Phaser", "Tremolo", "Rotary") if sound.offers("mod", label)]
    sound.set_all("mod", on=sometimes(0.3), model=rng.choice(others) if sometimes(2 * spread) else "Chorus", depth=rng.randint(20, 80))
    if sometimes(0.5):
        sound.set("mod.rate", sound.release.pars["mod.rate"].scale.to_value(rng.randint(300, 700)))
    delays(rng, sound, kind, spread)
    later = [label for label in ("Chamber", "Cloud") if sound.offers("reverb", label)]
    model = rng.choice(later) if later and sometimes(spread / 2) else rng.choice(["Room", "Spring", "Hall" if sometimes(0.5) else "Plate"])
    sound.set_all("reverb", on=sometimes(0.85), model=model, mix=rng.randint(12, 45))
    if sometimes(0.8) or model in ("Hall", "Cloud"):
        sound.set("reverb.decay", sound.release.pars["reverb.decay"].scale.to_value(rng.randint(350, 700)))
    if sometimes(spread / 2):
        sound.set("reverb.pre-delay", rng.choice([20, 40, 80]))
    if sometimes(0.85):
        sound.set("eq.on", sometimes(0.6))
        for band in range(1, 6):
            sound.set(f"eq.band-{band}", half(-4, 4))
        if sound.has("eq.low-cut") and sometimes(spread):
            sound.set("eq.low-cut", sound.release.pars["eq.low-cut"].scale.to_value(100))
    controls(rng, sound, kind, spread)
    return sound


def delays(rng, sound, kind, spread):
    sometimes = lambda chance: rng.random() < chance
    later = [label for label in ("Dark", "Slap", "Tape", "Bucket", "Reverse") if sound.offers("delay", label)]
    sound.set_all("delay[1]", on=kind != "crunch" and sometimes(0.8), model=rng.choice(later) if sometimes(spread) else "Clean",
                  time=rng.choice([240, 320, 375, 420, 500]), feedback=rng.randint(15, 60), mix=rng.randint(15, 40),
                  tone=rng.choice([3.5, 4, 6.5, 7]))
    if sometimes(0.7 * spread):
        del sound.values["delay[1].tone"]
    if kind == "ambient" or sometimes(0.4):
        sound.set_all("delay[2]", on=kind == "ambient" and sound.values["delay[1].on"], model="Clean", time=rng.choice([640, 750]), mix=20, tone=4.5)
        if sometimes(0.5):
            sound.set("delay[2].taps", 2)
            for tap, pan in ((1, -30), (2, 30)):
                sound.set(f"delay[2].tap[{tap}].level", -3 * tap).set(f"delay[2].tap[{tap}].pan", pan)


def controls(rng, sound, kind, spread):
    sometimes = lambda chance: rng.random() < chance
    if "drive[1].on" in sound.values and sometimes(0.6):
        sound.set("footswitch[1].target", "drive[1].on")
        if sometimes(2 * spread):
            sound.set("footswitch[2].target", "reverb.on")
    if sometimes(0.6):
        wanted = "volume" if sometimes(spread / 2) else "reverb.mix"
        sound.set("pedal.target", wanted)
        for point, level in enumerate([5, 10, 20, 30, 45, 60, 80, 100], 1):
            sound.set(f"pedal.curve[{point}]", level)
