"""The Pipit as the generator knows it: groups and parameters of release 1.0. Kept apart from the schema files on purpose."""

import copy
from dataclasses import dataclass, field

from storage import FLOAT, I8, Linear, Logarithmic, Place, Table, U16, U8, bits, text

DRIVE, COMP, GATE, MOD, DELAY, TAP = 0x10, 0x18, 0x1C, 0x20, 0x30, 0x40
REVERB, EQ, CAB, FOOTSWITCH, PEDAL = 0x38, 0x48, 0x50, 0x58, 0x5C
END = 0xFF
RECORDS_FROM = 16  # before it: mark, stamp, category, name


@dataclass
class Group:
    kind: str                # "block", "plain", "switch" or "controller"
    tag: int
    count: int = 1
    records: bool = True     # its value is a run of records, else plain bytes
    count_by: str = None     # name of the sibling that says how many there are
    version_at_most: int = None
    key: str = None          # stays when the group is renamed


@dataclass
class Par:
    ident: str
    place: Place
    tag: int = None          # of its own record
    at: int = 0
    count: int = 0           # of a list
    scale: object = None
    unit: str = None
    range: tuple = None
    step: float = None
    default: object = None
    neutral: object = None
    choices: str = None      # name of its list
    nothing: int = None      # of a reference
    role: str = None
    kind: str = None
    when: tuple = None       # (sibling, values), or ("record version", least)
    varies: tuple = ()       # (sibling, values, attribute, value)
    reads: tuple = ()        # (stamped before this release, place, scale)
    rules: dict = field(default_factory=dict)
    key: str = None          # stays when the parameter is renamed

    def __post_init__(self):
        self.key = self.key or self.ident
        if self.kind is None:
            real = self.scale or self.place.form == "float" or (self.step and self.step != int(self.step))
            self.kind = "choice" if self.choices else "text" if self.place.form == "text" else "real" if real else "whole"

    @property
    def group(self):
        return self.ident.rpartition(".")[0]

    @property
    def name(self):
        return self.ident.rpartition(".")[2]

    def change(self, **what):
        for name, value in what.items():
            assert hasattr(self, name), name
            setattr(self, name, value)


def switch(ident, tag=None, at=0, place=U8, **more):
    return Par(ident, place, tag, at, kind="switch", **{"default": False, **more})


def knob(ident, tag, default=5, **more):
    """0 to 10 in tenths."""
    return Par(ident, U8, tag, **{"scale": Linear(0, 100, 0, 10), "range": (0, 10), "default": default, "role": "tone", **more})


def share(ident, tag, default, role="mix", **more):
    return Par(ident, U8, tag, **{"unit": "%", "range": (0, 100), "default": default, "role": role, **more})


def decibels(ident, tag, most, **more):
    """Half decibels, both ways."""
    return Par(ident, I8, tag, **{"scale": Linear(-2 * most, 2 * most, -most, most), "unit": "dB", "range": (-most, most),
                                  "default": 0, "neutral": 0, "role": "level", **more})


def cut(ident, tag, least, most, default, **more):
    return Par(ident, U8, tag, scale=Logarithmic(0, 200, least, most), unit="Hz", range=(least, most), default=default,
               neutral=default, role="frequency", **more)


def model(group, **more):
    return Par(group + ".model", U8, 2, choices=group, role="model", **more)


def preset():
    return [
        Par("category", bits(0, 4), at=3, choices="category", default="Clean", role="cosmetic"),
        Par("name", text(12), at=4, default="", role="name"),
        Par("tempo", U16, 1, scale=Linear(400, 2400, 40, 240), unit="bpm", range=(40, 240), default=120, role="tempo"),
        Par("volume", U8, 2, scale=Linear(0, 120, -60, 0), unit="dB", range=(-60, 0), default=-6, role="level"),
        Par("routing", U8, 3, choices="routing", default="Series"),
        Par("tuning", FLOAT, 4, unit="Hz", range=(415, 466), default=440, role="frequency"),
        decibels("input-trim", 5, 12)]


def drive():
    return [
        switch("drive.on", 1), model("drive", default="Low Hedge", rules={"unknown-choice": "first"}),
        knob("drive.gain", 3, varies=(("model", ("Thorn Hedge",), "default", 7), ("model", ("Young Fern",), "default", 3))),
        knob("drive.tone", 4, step=0.5), decibels("drive.level", 5, 20, neutral=None),
        knob("drive.bite", 6, 0, neutral=0), cut("drive.low-cut", 8, 20, 500, 20)]


def comp():
    return [
        switch("comp.on", 1), model("comp", default="Gentle"),
        Par("comp.threshold", I8, 3, unit="dB", range=(-60, 0), default=-24, rules={"out-of-range": "reset"}),
        Par("comp.ratio", U8, 4, scale=Table([0, 50, 100], [1, 4, 20]), unit="ratio", range=(1, 20), default=4),
        Par("comp.attack", U8, 5, scale=Linear(0, 200, 1, 101), unit="ms", range=(1, 101), default=1, role="time"),
        Par("comp.release", U16, 6, unit="ms", range=(10, 2000), default=200, role="time"),
        decibels("comp.gain", 7, 20, neutral=None), share("comp.mix", 8, 100)]


def mod():
    return [
        switch("mod.on", 1), model("mod", default="Chorus"),
        Par("mod.rate", U16, 3, scale=Logarithmic(0, 1000, 0.05, 20), unit="Hz", range=(0.05, 20), default=1, role="rate",
            varies=(("model", ("Flanger",), "default", 0.3), ("model", ("Tremolo",), "default", 5))),
        share("mod.depth", 4, 40, "tone"), share("mod.mix", 5, 50), share("mod.feedback", 6, 0, "feedback", neutral=0),
        Par("mod.wave", U8, 7, choices="wave", default="Sine"), decibels("mod.level", 8, 12)]


def delay():
    return [
        switch("delay.on", 1), model("delay", default="Clean"),
        Par("delay.time", U16, 3, unit="ms", range=(1, 2000), default=400, role="time"),
        Par("delay.feedback", U8, 4, unit="%", range=(0, 95), default=30, role="feedback"),
        share("delay.mix", 5, 30), knob("delay.tone", 6), cut("delay.low-cut", 7, 20, 2000, 20), decibels("delay.level", 8, 12),
        Par("delay.taps", U8, 9, range=(0, 4), default=0),
        Par("delay.tap.level", I8, at=0, scale=Linear(-120, 0, -60, 0), unit="dB", range=(-60, 0), default=0, role="level"),
        Par("delay.tap.pan", I8, at=1, range=(-50, 50), default=0, neutral=0, role="pan")]


def reverb():
    return [
        switch("reverb.on", 1), model("reverb", default="Room", rules={"unknown-choice": "reset"}),
        Par("reverb.decay", U16, 3, scale=Logarithmic(0, 1000, 0.1, 20), unit="s", range=(0.1, 20), default=1.2, role="decay",
            varies=(("model", ("Hall",), "default", 2.8), ("model", ("Plate",), "default", 2))),
        Par("reverb.pre-delay", U8, 4, unit="ms", range=(0, 250), default=10, role="time"),
        share("reverb.mix", 5, 25), share("reverb.damping", 6, 40, "tone"), cut("reverb.cut", 7, 500, 20000, 20000),
        decibels("reverb.level", 8, 12)]


def eq():
    """Plain bytes, no records."""
    bands = [decibels(f"eq.band-{n}", None, 12, at=n) for n in range(1, 6)]
    return [switch("eq.on", place=bits(0, 1))] + bands + [decibels("eq.level", None, 12, at=6)]


def cab():
    return [
        switch("cab.on", 1), model("cab", default="Small Open"),
        Par("cab.mic", U8, 3, choices="mic", default="Near"),
        Par("cab.distance", U8, 4, scale=Linear(0, 100, 0, 50), range=(0, 50), default=5),
        decibels("cab.level", 5, 20, neutral=None), cut("cab.low-cut", 6, 20, 500, 20)]


def controls():
    return [
        Par("footswitch.target", U8, kind="reference", choices="switch", nothing=0, rules={"unknown-choice": "keep"}),
        Par("footswitch.mode", bits(0, 1), at=1, choices="mode", default="Latch"),
        Par("pedal.target", U8, kind="reference", choices="move", nothing=0, rules={"unknown-choice": "keep"}),
        share("pedal.heel", None, 0, None, at=1), share("pedal.toe", None, 100, None, at=2),
        share("pedal.curve", None, 100, None, at=3, count=8, neutral=100)]


@dataclass
class Instance:
    """One parameter of one block, with the record that it lies in."""
    ident: str
    par: Par
    key: tuple     # the same in every release
    path: tuple    # ((group, number), ...) from the outside in
    anchor: tuple  # ((tag, number), ...): the record
    at: int        # within that record's value

    def sibling(self, name):
        return self.ident.rpartition(".")[0] + "." + name


class Release:
    def __init__(self, name, order, stamp, groups, pars):
        self.name, self.order, self.stamp, self.groups, self.pars = name, order, stamp, groups, pars
        self.takes_up_to = None  # refuses presets stamped by later releases
        self.revoiced = {}       # (key, label) -> weight

    def following(self, name, stamp):
        return Release(name, self.order + 1, stamp, copy.deepcopy(self.groups), copy.deepcopy(self.pars))

    def add(self, *pars):
        for par in pars:
            assert par.ident not in self.pars, par.ident
            self.pars[par.ident] = par

    def seal(self, lists):
        """Lists every instance, and which records are taken where."""
        self.choices, self.instances, self.takes = lists, {}, {}
        for path, group in self.groups.items():
            group.key = group.key or path
            self.takes.setdefault(self.tags(path)[:-1], {})[group.tag] = group.count
        for par in self.pars.values():
            if par.tag is not None:
                self.takes.setdefault(self.tags(par.group), {})[par.tag] = 1
            for path, anchor in self.places(par.group):
                for element in range(1, par.count + 1) if par.count else [0]:
                    self.add_instance(par, path, anchor, element)
        self.by_key = {inst.key: inst for inst in self.instances.values()}
        return self

    def add_instance(self, par, path, anchor, element):
        label = ".".join([self.label(group, number) for group, number in path] + [par.name])
        ident = f"{label}[{element}]" if element else label
        own = anchor if par.tag is None else anchor + ((par.tag, 1),)
        self.instances[ident] = Instance(ident, par, (par.key, tuple(n for _, n in path), element), path, own,
                                         par.at + max(0, element - 1))

    def label(self, group, number):
        name = group.rpartition(".")[2]
        return f"{name}[{number}]" if self.groups[group].count > 1 else name

    def tags(self, path):
        parts = path.split(".") if path else []
        return tuple(self.groups[".".join(parts[:n + 1])].tag for n in range(len(parts)))

    def places(self, path):
        if not path:
            return [((), ())]
        group = self.groups[path]
        return [(outer + ((path, n),), anchor + ((group.tag, n),))
                for outer, anchor in self.places(path.rpartition(".")[0]) for n in range(1, group.count + 1)]


def first_release():
    groups = {
        "drive": Group("block", DRIVE, 2), "comp": Group("block", COMP), "mod": Group("block", MOD), "delay": Group("block", DELAY, 2),
        "delay.tap": Group("plain", TAP, 4, records=False, count_by="taps"), "reverb": Group("block", REVERB, version_at_most=1),
        "eq": Group("block", EQ, records=False), "cab": Group("block", CAB), "footswitch": Group("switch", FOOTSWITCH, 2, records=False),
        "pedal": Group("controller", PEDAL, records=False)}
    pars = [par for maker in (preset, drive, comp, mod, delay, reverb, eq, cab, controls) for par in maker()]
    return Release("1.0", 0, (100,), groups, {par.ident: par for par in pars})
