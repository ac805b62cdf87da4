"""The Dunlin 6 as it was on 1.00: every group and parameter with its place. releases.py tells what came after."""

from storage import FLOAT, I8, Linear, Logarithmic, Table, U16, U16_LITTLE, U8, Volume, bits, pieces, text


class Par:
    """One parameter on one release."""

    def __init__(self, ident, at, place, **more):
        self.key = ident            # stays through a rename: what links it to other releases
        self.ident = ident          # as the release calls it
        self.at, self.place = at, place
        self.kind = None            # "whole", "real", "switch", "choice", "text", "reference"
        self.scale = self.unit = self.range = self.plays = self.step = self.default = self.neutral = None
        self.choices = None         # name of a list in lists.py
        self.asset = False          # a reference to an impulse response
        self.on = 1
        self.nothing = None
        self.role = None
        self.when = None            # (name in the same instance, tuple of values)
        self.varies = ()            # of (name, values, attribute, value)
        self.overrides = self.as_base = None
        self.rules = {}
        self.change(**more)
        if self.kind is None:
            self.kind = "choice" if self.choices else "text" if place.form == "text" else "real" if self.scale else "whole"

    @property
    def group(self):
        return self.ident.rpartition(".")[0]

    @property
    def name(self):
        return self.ident.rpartition(".")[2]

    def change(self, **more):
        for key, value in more.items():
            assert hasattr(self, key), key
            setattr(self, key, value)
        return self


class Group:
    def __init__(self, kind, at, count=1, stride=0):
        self.kind, self.at, self.count, self.stride = kind, at, count, stride


# Blocks in the order in which they lie: place, count, stride, stride of the alternates.
BLOCKS = {"amp": (64, 2, 132, 32), "drive": (328, 2, 68, 16), "comp": (464, 1, 52, 12), "gate": (516, 1, 36, 8),
          "eq": (552, 1, 84, 20), "filter": (636, 1, 68, 16), "pitch": (704, 1, 68, 16), "mod": (772, 1, 84, 20),
          "delay": (856, 1, 116, 28), "reverb": (972, 1, 100, 24), "cab": (1072, 2, 84, 20), "doubler": (1700, 1, 68, 16)}
FIRST_BLOCKS = [name for name in BLOCKS if name not in ("filter", "doubler")]  # those two came later

# Where a scene says what is on (byte, bit) and which alternate (byte, bit), per block instance.
SCENE_ON = {"amp-1": (0, 0), "amp-2": (0, 2), "drive-1": (0, 4), "drive-2": (0, 6), "comp": (1, 0), "gate": (1, 2),
            "eq": (1, 4), "filter": (1, 6), "pitch": (2, 0), "mod": (2, 2), "delay": (2, 4), "reverb": (2, 6),
            "cab-1": (3, 0), "cab-2": (3, 2), "doubler": (3, 4), "notch": (3, 6)}
SCENE_VOICE = {"amp-1": (4, 0), "amp-2": (4, 4), "drive-1": (5, 0), "drive-2": (5, 4), "comp": (6, 0), "gate": (6, 4),
               "eq": (7, 0), "filter": (7, 4), "pitch": (8, 0), "mod": (8, 4), "delay": (9, 0), "reverb": (9, 4),
               "cab-1": (10, 0), "cab-2": (10, 4), "doubler": (11, 0)}


def target(name, what):
    block, _, number = name.partition("-")
    return f"{block}[{number}].{what}" if number else f"{block}.{what}"


def scene_switch(name):
    byte, bit = SCENE_ON[name]
    return Par(f"scene.{name}-on", byte, bits(bit, 2), kind="switch", on=2, as_base=0, overrides=target(name, "on"))


def scene_voice(name, most):
    byte, bit = SCENE_VOICE[name]
    return Par(f"scene.{name}-voice", byte, bits(bit, 3), range=(1, most), as_base=0, overrides=target(name, "voice"))


def block_groups(name, alternates):
    at, count, stride, inner = BLOCKS[name]
    return {name: Group("block", at, count, stride), name + ".alternate": Group("alternate", 4, alternates, inner)}


def head(name, alternates, level=True):
    """What starts every block: on, chosen alternate, level."""
    pars = [Par(name + ".on", 0, bits(0, 1), kind="switch", default=False),
            Par(name + ".voice", 0, bits(4, 2), kind="whole", scale=Linear(0, 3, 1, 4), range=(1, alternates), default=1)]
    if level:
        pars.append(Par(name + ".level", 1, I8, scale=Linear(-60, 60, -30, 30), unit="dB", range=(-30, 12), default=0,
                        neutral=0, role="level"))
    return pars


def model(name, **more):
    return Par(name + ".alternate.model", 0, U8, choices=name, role="model", **more)


def knob(ident, at, default=5, **more):
    """A knob from 0 to 10 in tenths."""
    return Par(ident, at, U8, **{"scale": Linear(0, 100, 0, 10), "range": (0, 10), "default": default, "role": "tone", **more})


def share(ident, at, default, role="mix", **more):
    return Par(ident, at, U8, **{"unit": "%", "range": (0, 100), "default": default, "role": role, **more})


def side(ident, at, **more):
    return Par(ident, at, I8, range=(-50, 50), default=0, neutral=0, role="pan", **more)


def amp():
    a = "amp.alternate."
    return head("amp", 2) + [
        side("amp.pan", 2), model("amp", default="Plain Clean", rules={"unknown-choice": "reset"}),
        knob(a + "drive", 1, 4, step=0.1), knob(a + "bass", 2), knob(a + "middle", 3), knob(a + "treble", 4),
        knob(a + "presence", 5, step=0.5, rules={"off-step": "round"}), knob(a + "master", 6, 5),
        Par(a + "level", 7, I8, scale=Linear(-120, 120, -12, 12), unit="dB", range=(-12, 12), default=0, neutral=0, role="level"),
        knob(a + "sag", 8, 0, neutral=0), knob(a + "bias", 9, 5, when=("model", ("Crown 15", "Crown 30", "Crown 60", "Quay 18", "Quay 36"))),
        Par(a + "bright", 10, bits(0, 1), kind="switch", default=False, neutral=False),
        Par(a + "boost", 10, bits(1, 1), kind="switch", default=False, neutral=False),
        Par(a + "input", 10, bits(2, 2), choices="input", default="Normal"),
        knob(a + "depth", 12), share(a + "hum", 13, 0, "tone", neutral=0),
        Par(a + "low-cut", 14, U16, scale=Logarithmic(0, 1000, 20, 500), unit="Hz", range=(20, 500), default=20, neutral=20, role="frequency"),
        share(a + "squeeze", 16, 0, "tone", neutral=0), knob(a + "cathode", 17, 5), share(a + "width", 18, 50, "pan")]


def drive():
    a = "drive.alternate."
    return head("drive", 2) + [
        share("drive.blend", 2, 100), model("drive", default="Soft Push", rules={"unknown-choice": "first"}),
        knob(a + "gain", 1), knob(a + "tone", 2, step=0.1, rules={"off-step": "round"}),
        Par(a + "level", 3, I8, scale=Linear(-40, 40, -20, 20), unit="dB", range=(-20, 20), default=0, role="level"),
        knob(a + "body", 4), knob(a + "edge", 5), share(a + "mix", 6, 100),
        Par(a + "low-cut", 7, U8, scale=Logarithmic(0, 200, 20, 500), unit="Hz", range=(20, 500), default=20, neutral=20, role="frequency"),
        share(a + "noise", 8, 0, "tone", neutral=0), Par(a + "fat", 9, bits(0, 1), kind="switch", default=False, neutral=False)]


def comp():
    a = "comp.alternate."
    return head("comp", 2) + [
        model("comp", default="Gentle"),
        Par(a + "threshold", 1, I8, unit="dB", range=(-60, 0), default=-24),
        Par(a + "ratio", 2, U8, scale=Table([0, 50, 100], [1, 4, 20]), unit="ratio", range=(1, 20), default=4),
        Par(a + "attack", 3, U8, scale=Linear(0, 200, 1, 101), unit="ms", range=(1, 101), default=11, role="time"),
        Par(a + "release", 4, U16, unit="ms", range=(10, 2000), default=200, role="time"),
        Par(a + "gain", 6, I8, scale=Linear(-40, 40, -20, 20), unit="dB", range=(-20, 20), default=0, role="level"),
        share(a + "mix", 7, 100), knob(a + "tone", 8, 5), Par(a + "detector", 9, bits(6, 2), choices="detector", default="Peak")]


def gate():
    a = "gate.alternate."
    return head("gate", 2) + [
        model("gate", default="Soft"),
        Par(a + "threshold", 1, I8, unit="dB", range=(-80, 0), default=-50, rules={"out-of-range": "reset"}),
        Par(a + "depth", 2, I8, unit="dB", range=(-100, 0), default=-60),
        Par(a + "release", 3, U16_LITTLE, unit="ms", range=(5, 3000), default=120, role="time"),
        Par(a + "hold", 5, U8, unit="ms", range=(0, 250), default=20, role="time")]


def eq():
    a = "eq.alternate."
    bands = [Par(f"{a}band-{n}", n - 1, I8, scale=Linear(-24, 24, -12, 12), unit="dB", range=(-12, 12), default=0, neutral=0,
                 role="level") for n in range(1, 11)]
    return head("eq", 2) + bands + [
        Par(a + "low-cut", 10, U16, scale=Logarithmic(0, 1000, 20, 500), unit="Hz", range=(20, 500), default=20, neutral=20, role="frequency"),
        Par(a + "high-cut", 12, U16, scale=Logarithmic(0, 1000, 2000, 20000), unit="Hz", range=(2000, 20000), default=20000, neutral=20000, role="frequency"),
        Par(a + "q", 14, U8, scale=Linear(0, 100, 0.5, 5.5), range=(0.5, 5.5), default=1.5, role="q"),
        Par(a + "level", 15, I8, scale=Linear(-24, 24, -12, 12), unit="dB", range=(-12, 12), default=0, neutral=0, role="level")]


def pitch():
    a = "pitch.alternate."
    return head("pitch", 2) + [
        share("pitch.bend", 3, 0), model("pitch", default="Shift"),
        Par(a + "interval", 1, bits(0, 6, "offset"), unit="semitones", range=(-24, 24), default=0, role="pitch"),
        Par(a + "fine", 2, I8, unit="cents", range=(-50, 50), step=25, default=0, role="pitch"),
        share(a + "mix", 3, 50), Par(a + "level", 4, I8, scale=Linear(-24, 24, -12, 12), unit="dB", range=(-12, 12), default=0, role="level"),
        Par(a + "delay", 5, U16_LITTLE, unit="ms", range=(0, 1000), default=0, neutral=0, role="time"),
        share(a + "feedback", 7, 0, "feedback", neutral=0),
        Par(a + "key", 8, bits(0, 4), choices="key", default="C", when=("model", ("Harmony", "Dual Harmony"))),
        share(a + "tracking", 9, 50, "tone"),
        Par(a + "high-cut", 10, U8, scale=Logarithmic(0, 200, 500, 20000), unit="Hz", range=(500, 20000), default=20000, neutral=20000, role="frequency"),
        side(a + "pan", 11)]


def mod():
    a = "mod.alternate."
    return head("mod", 2) + [
        share("mod.amount", 3, 100), model("mod", default="Chorus"),
        Par(a + "rate", 1, U16, scale=Logarithmic(0, 1000, 0.05, 20), unit="Hz", range=(0.05, 20), default=1, role="rate",
            when=("sync", (False,))),
        share(a + "depth", 3, 40, "tone"), share(a + "mix", 4, 50), share(a + "feedback", 5, 0, "feedback", neutral=0),
        Par(a + "wave", 6, bits(0, 3), choices="wave", default="Sine"),
        Par(a + "sync", 6, bits(7, 1), kind="switch", default=False, neutral=False),
        Par(a + "division", 7, U8, choices="division", default="1/4", when=("sync", (True,))),
        Par(a + "phase", 8, U16_LITTLE, unit="degrees", range=(0, 360), default=90),
        Par(a + "low-cut", 10, U8, scale=Logarithmic(0, 200, 20, 2000), unit="Hz", range=(20, 2000), default=20, neutral=20, role="frequency"),
        Par(a + "level", 11, I8, scale=Linear(-24, 24, -12, 12), unit="dB", range=(-12, 12), default=0, neutral=0, role="level"),
        share(a + "spread", 12, 50, "pan"), knob(a + "tone", 13, 5)]


def delay():
    a = "delay.alternate."
    return head("delay", 2) + [
        side("delay.pan", 2),
        Par("delay.send", 3, U8, scale=Linear(0, 120, -60, 0), unit="dB", range=(-60, 0), default=0, role="level"),
        model("delay", default="Plain"),
        Par(a + "time", 1, U16, unit="ms", range=(1, 4000), default=400, role="time", when=("sync", (False,)),
            varies=(("model", ("Slap",), "range", (1, 250)),)),
        Par(a + "division", 3, bits(0, 4), choices="division", default="1/4", when=("sync", (True,))),
        Par(a + "sync", 3, bits(7, 1), kind="switch", default=False, neutral=False),
        Par(a + "feedback", 4, U8, unit="%", range=(0, 100), plays=(0, 110), default=30, role="feedback",
            rules={"out-of-range": "keep"}),
        share(a + "mix", 5, 30),
        Par(a + "low-cut", 6, U16, scale=Logarithmic(0, 1000, 20, 2000), unit="Hz", range=(20, 2000), default=20, neutral=20, role="frequency"),
        Par(a + "high-cut", 8, U16, scale=Logarithmic(0, 1000, 500, 20000), unit="Hz", range=(500, 20000), default=20000, neutral=20000, role="frequency"),
        share(a + "drift", 10, 0, "tone", neutral=0), share(a + "width", 11, 50, "pan"),
        Par(a + "level", 12, I8, scale=Linear(-24, 24, -12, 12), unit="dB", range=(-12, 12), default=0, neutral=0, role="level"),
        share(a + "smear", 13, 0, "tone", neutral=0), share(a + "wear", 14, 0, "tone", neutral=0),
        share(a + "ducking", 15, 0, "tone", neutral=0),
        Par(a + "hold", 16, bits(0, 1), kind="switch", default=False, neutral=False)]


def reverb():
    a = "reverb.alternate."
    return head("reverb", 2) + [
        side("reverb.pan", 2),
        Par("reverb.send", 3, U8, scale=Linear(0, 120, -60, 0), unit="dB", range=(-60, 0), default=0, role="level"),
        model("reverb", default="Room"),
        Par(a + "decay", 1, U16, scale=Logarithmic(0, 1000, 0.1, 20), unit="s", range=(0.1, 20), default=2, role="decay"),
        Par(a + "pre-delay", 3, U8, unit="ms", range=(0, 250), default=10, role="time"),
        share(a + "mix", 4, 25),
        share(a + "size", 5, 50, "tone", varies=(("model", ("Spring",), "range", (0, 50)),)),
        share(a + "damping", 6, 40, "tone"), share(a + "diffusion", 7, 70, "tone"),
        Par(a + "low-cut", 8, U16, scale=Logarithmic(0, 1000, 20, 2000), unit="Hz", range=(20, 2000), default=20, neutral=20, role="frequency"),
        Par(a + "high-cut", 10, U16, scale=Logarithmic(0, 1000, 500, 20000), unit="Hz", range=(500, 20000), default=20000, neutral=20000, role="frequency"),
        share(a + "motion", 12, 0, "tone", neutral=0),
        Par(a + "level", 13, I8, scale=Linear(-24, 24, -12, 12), unit="dB", range=(-12, 12), default=0, neutral=0, role="level"),
        share(a + "early", 14, 50, "tone"), share(a + "spread", 15, 100, "pan")]


def cab():
    a = "cab.alternate."
    return head("cab", 2, level=False) + [
        Par("cab.on", 0, bits(0, 1), kind="switch", on=0, default=True),
        side("cab.pan", 2),
        Par(a + "source", 0, bits(0, 1), choices="source", default="Cabinet"),
        Par(a + "model", 1, U8, choices="cab", role="model", default="Open 2x12", when=("source", ("Cabinet",))),
        Par(a + "ir", 2, U8, kind="reference", asset=True, nothing=255, when=("source", ("Impulse response",))),
        Par(a + "mic", 3, bits(0, 4), choices="mic", default="Dynamic", when=("source", ("Cabinet",))),
        Par(a + "distance", 4, U8, scale=Linear(0, 100, 0, 50), range=(0, 50), default=5, when=("source", ("Cabinet",))),
        share(a + "angle", 5, 0, "tone", neutral=0),
        Par(a + "low-cut", 6, U16, scale=Logarithmic(0, 1000, 20, 500), unit="Hz", range=(20, 500), default=20, neutral=20, role="frequency"),
        Par(a + "cut", 8, U16, scale=Logarithmic(0, 1000, 2000, 20000), unit="Hz", range=(2000, 20000), default=20000, neutral=20000, role="frequency"),
        Par(a + "level", 10, I8, scale=Linear(-40, 40, -20, 20), unit="dB", range=(-20, 20), default=0, role="level"),
        Par(a + "delay", 11, U8, scale=Linear(0, 200, 0, 10), unit="ms", range=(0, 10), default=0, neutral=0, role="time"),
        share(a + "room", 12, 0, neutral=0), Par(a + "flip", 13, bits(0, 1), kind="switch", default=False, neutral=False)]


def preset_pars():
    return [
        Par("name", 0, text(16, b"\0"), default="Init", role="name"),
        Par("tempo", 24, U16, scale=Linear(400, 2400, 40, 240), unit="bpm", range=(40, 240), default=120, role="tempo"),
        Par("volume", 26, U8, scale=Volume(127, 6), unit="dB", default=6, role="level"),
        Par("start-scene", 27, bits(0, 3), kind="whole", scale=Linear(0, 4, 1, 5), range=(1, 4), default=1),
        Par("colour", 27, bits(4, 4), choices="colour", default="White", role="cosmetic"),
        Par("routing", 28, U8, choices="routing", default="Series"),
        Par("trim", 29, I8, scale=Linear(-120, 120, -12, 12), unit="dB", range=(-12, 12), default=0, neutral=0, role="level"),
        Par("tuning", 32, FLOAT, unit="Hz", range=(415, 466), default=440, role="frequency"),
        Par("low-cut", 36, U16_LITTLE, scale=Logarithmic(0, 1000, 20, 500), unit="Hz", range=(20, 500), default=20, neutral=20, role="frequency"),
        Par("high-cut", 38, pieces((0, 0, 6), (1, 4, 4)), scale=Logarithmic(0, 1000, 2000, 20000), unit="Hz", range=(2000, 20000),
            default=20000, neutral=20000, role="frequency"),
        Par("mono", 39, bits(0, 1), kind="switch", default=False, neutral=False),
        Par("balance", 40, bits(0, 7, "twos"), range=(-50, 50), default=0, neutral=0, role="pan"),
        Par("transpose", 41, bits(0, 6, "offset"), unit="semitones", range=(-12, 12), default=0, neutral=0, role="pitch"),
        Par("author", 44, text(12, b"\0"), default="", neutral="", role="name")]


def controller_pars():
    return [
        Par("controller.target", 0, U8, kind="reference", choices="move", nothing=0, rules={"unknown-choice": "keep"}),
        share("controller.heel", 1, 0, None), share("controller.toe", 2, 100, None),
        Par("controller.curve", 3, bits(0, 2), choices="curve", default="Straight"),
        Par("footswitch.target", 0, U8, kind="reference", choices="switch", nothing=0, rules={"unknown-choice": "keep"}),
        Par("footswitch.mode", 1, bits(0, 1), choices="mode", default="Latch"),
        Par("footswitch.colour", 1, bits(4, 4), choices="colour", default="White", role="cosmetic")]


def scene_pars():
    names = [n for n in SCENE_ON if n not in ("filter", "doubler", "notch")]
    level = dict(unit="dB", as_base=0, role="level")
    return [scene_switch(n) for n in names] + [scene_voice(n, 2) for n in names] + [
        Par("scene.amp-1-level", 12, U8, scale=Linear(1, 121, -30, 30), range=(-30, 12), overrides="amp[1].level", **level),
        Par("scene.amp-2-level", 13, U8, scale=Linear(1, 121, -30, 30), range=(-30, 12), overrides="amp[2].level", **level),
        Par("scene.delay-send", 14, U8, scale=Linear(1, 121, -60, 0), range=(-60, 0), overrides="delay.send", **level),
        Par("scene.reverb-send", 15, U8, scale=Linear(1, 121, -60, 0), range=(-60, 0), overrides="reverb.send", **level),
        Par("scene.tempo", 16, U16, scale=Linear(400, 2400, 40, 240), unit="bpm", range=(40, 240), as_base=0, role="tempo",
            overrides="tempo")]


def first_release():
    """Groups and parameters of 1.00."""
    groups = {}
    for name in FIRST_BLOCKS:
        groups.update(block_groups(name, 2))
    groups["controller"] = Group("controller", 1240, 4, 6)
    groups["footswitch"] = Group("switch", 1264, 4, 4)
    groups["scene"] = Group("scene", 1300, 4, 40)
    pars = {}
    for maker in (preset_pars, amp, drive, comp, gate, eq, pitch, mod, delay, reverb, cab, controller_pars, scene_pars):
        for par in maker():
            pars[par.ident] = par  # a block's own entry replaces the one from its head: cab.on
    return groups, pars
