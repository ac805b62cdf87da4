"""What each release of the Dunlin 6 changed, and the releases whole."""

import copy
from dataclasses import dataclass, field

import lists
from device import (FIRST_BLOCKS, SCENE_VOICE, Group, Par, block_groups, first_release, head, knob, model,
                    scene_switch, scene_voice, share)
from storage import I8, Linear, Logarithmic, U16, U8, bits, text


@dataclass
class Instance:
    """One parameter of one block, alternate, scene ... with its place in the body."""
    ident: str
    par: Par
    at: int
    key: tuple           # the same in every release
    path: tuple          # ((group, number), ...) from the outside in
    bits: list = field(default_factory=list)

    def sibling(self, name):
        return self.ident.rpartition(".")[0] + "." + name


class Release:
    def __init__(self, name, stamp, size, groups, pars):
        self.name, self.stamp, self.size, self.groups, self.pars = name, stamp, size, groups, pars
        self.order = lists.RELEASES.index(name)
        self.impulse_responses = 64
        self.slots_taken = None      # 1.00 refuses presets above this slot
        self.repairs = []            # (byte, is, read as)
        self.revoiced = {}           # (key, label) -> weight

    def seal(self):
        """Lay out every instance."""
        self.choices = {name: lists.of(name, self.name) for name in {p.choices for p in self.pars.values() if p.choices}}
        self.instances = {}
        for par in self.pars.values():
            for path, at in self._places(par.group):
                label = ".".join(self._label(group, number) for group, number in path)
                ident = f"{label}.{par.name}" if label else par.name
                inst = Instance(ident, par, at + par.at, (par.key, tuple(n for _, n in path)), path)
                inst.bits = par.place.bits(inst.at)
                assert max(inst.bits) // 8 < self.size - 2, ident
                self.instances[ident] = inst
        taken = {}
        for inst in self.instances.values():
            for bit in inst.bits:
                assert bit not in taken, (self.name, inst.ident, taken[bit])
                taken[bit] = inst.ident
        self.by_key = {inst.key: inst for inst in self.instances.values()}
        return self

    def _label(self, group, number):
        name = group.rpartition(".")[2]
        return f"{name}[{number}]" if self.groups[group].count > 1 else name

    def _places(self, group):
        if not group:
            return [((), 0)]
        g = self.groups[group]
        return [(path + ((group, n),), at + g.at + (n - 1) * g.stride)
                for path, at in self._places(group.rpartition(".")[0]) for n in range(1, g.count + 1)]


def next_release(old, name, stamp, size=None):
    new = Release(name, stamp, size or old.size, copy.deepcopy(old.groups), copy.deepcopy(old.pars))
    new.impulse_responses, new.repairs = old.impulse_responses, list(old.repairs)
    return new


def add(release, *pars):
    for par in pars:
        assert par.ident not in release.pars, par.ident
        release.pars[par.ident] = par


def on_110(r):
    r.groups["footswitch"].count = 6
    r.repairs.append((30, 0x7F, 0x00))
    add(r, Par("tempo-source", 30, U8, choices="tempo-source", default="Preset", neutral="Preset"))


def on_200_beta_1(r):
    for name in FIRST_BLOCKS:
        r.groups[name + ".alternate"].count = 4
        r.pars[name + ".voice"].range = (1, 4)
    for name in SCENE_VOICE:
        if name not in ("filter", "doubler"):
            r.pars[f"scene.{name}-voice"].range = (1, 4)
    r.groups.update(block_groups("filter", 4))
    r.groups["label"] = Group("plain", 1536, 4, 12)
    f = "filter.alternate."
    add(r, *head("filter", 4), share("filter.position", 3, 50, "tone"), model("filter", default="Sweep"),
        Par(f + "frequency", 1, U16, scale=Logarithmic(0, 1000, 40, 8000), unit="Hz", range=(40, 8000), default=800, role="frequency"),
        knob(f + "resonance", 3, 5), share(f + "depth", 4, 60, "tone"), share(f + "mix", 5, 100),
        Par(f + "slope", 6, bits(0, 1), choices="slope", default="12"),
        Par(f + "attack", 7, U8, unit="ms", range=(1, 250), default=20, role="time"),
        Par(f + "level", 8, I8, scale=Linear(-24, 24, -12, 12), unit="dB", range=(-12, 12), default=0, role="level"),
        share(f + "spread", 9, 0, "pan"),
        scene_switch("filter"), scene_voice("filter", 4),
        Par("label.text", 0, text(12, b"\0"), default="", neutral="", role="name"))
    r.pars["comp.alternate.attack"].scale = Logarithmic(0, 200, 1, 101)
    cut = r.pars.pop("cab.alternate.cut")
    cut.ident = "cab.alternate.high-cut"
    add(r, cut)


def on_210(r):
    r.pars["name"].place = text(24, b"\0")
    r.groups["scene"].count = r.groups["label"].count = 5
    r.pars["start-scene"].range = (1, 5)
    r.pars["mod.alternate.rate"].range = (0.05, 12)
    r.pars["pitch.alternate.fine"].step = 1
    r.pars["gate.alternate.threshold"].range = (-96, 0)
    r.pars["gate.alternate.release"].default = 80
    r.pars["delay.send"].range = r.pars["scene.delay-send"].range = (-60, 4)
    add(r, share("pitch.alternate.glide", 12, 20, "tone", when=("model", ("Glide",))))
    r.revoiced[("amp.alternate.model", "Crown 30")] = "slight"


def on_300_beta_2(r):
    r.groups.update(block_groups("doubler", 4))
    d = "doubler.alternate."
    add(r, *head("doubler", 4), share("doubler.mix", 3, 50), model("doubler", default="Tight"),
        Par(d + "time", 1, U8, unit="ms", range=(0, 120), default=20, role="time"),
        Par(d + "detune", 2, I8, unit="cents", range=(-50, 50), default=6, role="pitch"),
        share(d + "mix", 3, 100), share(d + "spread", 4, 80, "pan"), share(d + "drift", 5, 20, "tone"),
        Par(d + "low-cut", 6, U8, scale=Logarithmic(0, 200, 20, 2000), unit="Hz", range=(20, 2000), default=20, neutral=20, role="frequency"),
        Par(d + "level", 7, I8, scale=Linear(-24, 24, -12, 12), unit="dB", range=(-12, 12), default=0, role="level"),
        scene_switch("doubler"), scene_voice("doubler", 4))
    r.impulse_responses = 128
    r.pars["amp.alternate.drive"].range = (0, 12)
    del r.pars["amp.alternate.sag"]
    add(r, knob("amp.alternate.bite", 11, 0, neutral=0),
        knob("amp.alternate.valve-age", 19, 3, when=("model", ("Copper 15", "Copper 35"))))
    r.pars["cab.on"].place = bits(0, 2)
    r.pars["delay.alternate.time"].change(scale=Linear(0, 5000, 0, 5), unit="s", kind="real", range=(0.001, 4), default=0.4,
                                          varies=(("model", ("Slap",), "range", (0.001, 0.25)),))
    r.pars["delay.alternate.feedback"].change(range=(0, 120), plays=None)
    r.pars["pitch.alternate.tracking"].at = 13
    add(r, share("pitch.alternate.formant", 9, 50, "tone", neutral=50))
    r.pars["tempo"].range = r.pars["scene.tempo"].range = (30, 300)


def on_300(r):
    r.pars["amp.alternate.presence"].step = 0.1
    r.pars["drive.alternate.tone"].step = 0.5
    r.pars["reverb.alternate.size"].varies = ()
    r.revoiced[("amp.alternate.model", "Quay 18")] = "audible"


def on_310(r):
    for n in range(1, 11):
        r.pars[f"eq.alternate.band-{n}"].range = (-15, 15)
    r.pars["reverb.alternate.decay"].range = (0.1, 60)
    r.pars["delay.alternate.width"].default = 60
    r.groups["notch"] = Group("block", 1960)
    r.groups["notch.band"] = Group("plain", 4, 4, 5)
    add(r, Par("notch.on", 0, bits(0, 1), kind="switch", default=False),
        Par("notch.band.frequency", 0, U16, scale=Logarithmic(0, 1000, 40, 8000), unit="Hz", range=(40, 8000), default=400, role="frequency"),
        Par("notch.band.depth", 2, I8, unit="dB", range=(-40, 0), default=0, neutral=0, role="tone"),
        Par("notch.band.q", 3, U8, scale=Linear(0, 200, 1, 21), range=(1, 21), default=8, role="q"),
        scene_switch("notch"))


def all_releases():
    groups, pars = first_release()
    first = Release("1.00", 256, 1536, groups, pars)
    first.slots_taken = 100
    out = [first]
    for name, stamp, size, change in (("1.10", 272, None, on_110), ("2.00 beta 1", 512, 1700, on_200_beta_1),
                                      ("2.00", 512, None, None), ("2.10", 528, None, on_210),
                                      ("3.00 beta 2", 767, 1960, on_300_beta_2), ("3.00", 768, None, on_300),
                                      ("3.10", 784, 2046, on_310)):
        release = next_release(out[-1], name, stamp, size)
        if change:
            change(release)
        out.append(release)
    return {release.name: release.seal() for release in out}
