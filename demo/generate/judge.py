"""The planted truth: what each release makes of each preset, worked out literally from this generator's own tables."""

import functools
import math

WEIGHTS = ["none", "slight", "audible", "severe"]
VERDICTS = ["intact", "near", "altered", "undecided", "refused"]
BASE = "as base"
MILLISECONDS = {"ms": 1, "s": 1000}
CENTS = {"cents": 1, "semitones": 100}


class Unknown:
    """A number that names nothing."""

    def __init__(self, number):
        self.number = number

    def __eq__(self, other):
        return isinstance(other, Unknown) and other.number == self.number


class Got:
    """What a release has for one instance: value, and what its loader did to get it."""

    def __init__(self, value, did=None, other=None):
        self.value, self.did = value, did
        self.other = other  # a second possibility, where no rule is stated


class Reading:
    """One release reading one body."""

    def __init__(self, release, body):
        self.release = release
        self.body = bytearray(body)
        for byte, is_, read_as in release.repairs:
            if self.body[byte] == is_:
                self.body[byte] = read_as
        self.known = {}
        self.used = {}
        self.here = {ident: inst for ident, inst in release.instances.items() if self.exists(inst)}
        self.scenes = release.groups["scene"].count
        self.switched = {self.value(f"footswitch[{n}].target") for n in range(1, release.groups["footswitch"].count + 1)
                         if not isinstance(self.value(f"footswitch[{n}].target"), Unknown)}
        self.moved = [(n, self.value(f"controller[{n}].target")) for n in range(1, release.groups["controller"].count + 1)]

    def exists(self, inst):
        return inst.par.when is None or self.value(inst.sibling(inst.par.when[0])) in inst.par.when[1]

    def value(self, ident):
        return self.got(ident).value

    def got(self, ident):
        if ident not in self.known:
            self.known[ident] = self.load(self.release.instances[ident])
        return self.known[ident]

    def range_of(self, inst):
        for name, values, attribute, value in inst.par.varies:
            if self.value(inst.sibling(name)) in values:
                assert attribute == "range"
                return value
        return inst.par.range

    def load(self, inst):
        par = inst.par
        stored = par.place.read(self.body, inst.at)
        if stored is None:
            return Got(par.default)
        if par.as_base is not None and stored == par.as_base:
            return Got(BASE)
        if par.kind == "text":
            return Got(stored)
        if par.kind == "switch":
            return Got(stored == par.on)
        if par.asset:
            return Got(None if stored == par.nothing else stored + 1)
        if par.choices:
            return self.load_choice(par, stored)
        return self.load_number(inst, par.scale.to_value(stored) if par.scale else stored)

    def load_choice(self, par, stored):
        if par.nothing is not None and stored == par.nothing:
            return Got(None)
        choices = self.release.choices[par.choices]
        if stored in choices:
            return Got(choices[stored])
        rule = par.rules.get("unknown-choice", "clamp")
        if rule == "keep":
            return Got(Unknown(stored), "out-of-range")
        if rule == "reset":
            return Got(par.default, "reset")
        if rule == "first":
            return Got(choices[min(choices)], "reset")
        assert stored > max(choices)
        return Got(choices[max(choices)], "clamped")

    def load_number(self, inst, value):
        par, range_ = inst.par, self.range_of(inst)
        if range_ is None:
            return Got(value)
        least, most = range_
        if value < least - 1e-9 or value > most + 1e-9:
            rule = par.rules.get("out-of-range", "clamp")
            if rule == "keep":
                low, high = par.plays or range_
                return Got(value, None if low <= value <= high else "out-of-range")
            return Got(par.default, "reset") if rule == "reset" else Got(least if value < least else most, "clamped")
        if par.step:
            share = (value - least) / par.step
            if abs(share - round(share)) > 1e-6:
                assert abs(share - math.floor(share) - 0.5) > 1e-3, (inst.ident, value, "half way")
                near = least + round(share) * par.step
                if "off-step" in par.rules:
                    return Got(near, "rounded")
                return Got(value, "unsure", near)
        return Got(value)

    # What is heard of it.

    def in_scene(self, block, what, scene):
        """On or alternate of a block like "amp[1]" in a scene."""
        override = f"scene[{scene}].{block.replace('[', '-').rstrip(']')}-{what}"
        value = self.value(override) if override in self.release.instances else BASE
        return self.value(f"{block}.{what}") if value is BASE else value

    def reachable(self, block, scene):
        return self.in_scene(block, "on", scene) or f"{block}.on" in self.switched

    def alternate_used(self, block, number):
        for scene in range(1, self.scenes + 1):
            if self.reachable(block, scene):
                if self.in_scene(block, "voice", scene) == number or f"{block}.voice" in self.switched:
                    return True
        return False

    def active(self, inst):
        """Whether anything can bring it in: by the group instance, but for scenes, where each override has its own target."""
        if inst.ident not in self.here:
            return False
        group = inst.ident if inst.par.overrides else inst.ident.rpartition(".")[0]
        if group not in self.used:
            self.used[group] = self.find_active(inst)
        return self.used[group]

    def find_active(self, inst):
        parts = inst.ident.split(".")
        kind = self.release.groups[inst.path[0][0]].kind if inst.path else None
        if kind in ("controller", "switch"):
            return self.value(parts[0] + ".target") is not None
        if kind == "scene":
            block = inst.par.overrides.rpartition(".")[0]
            return not block or bool(self.reachable(block, inst.path[0][1]))
        if kind != "block":
            return True
        if len(inst.path) > 1 and self.release.groups[inst.path[1][0]].kind == "alternate":
            return self.alternate_used(parts[0], inst.path[1][1])
        return any(self.reachable(parts[0], scene) for scene in range(1, self.scenes + 1))


def heavier(a, b):
    return max(a, b, key=WEIGHTS.index)


def graded(difference, jnd):
    """None up to the just-noticeable difference, slight up to three times, audible beyond. Not at the edge itself."""
    for edge in (jnd, 3 * jnd):
        assert difference == 0 or abs(difference - edge) > 1e-6 * max(edge, 1e-9), ("on the edge", difference, edge)
    return "none" if difference <= jnd else "slight" if difference <= 3 * jnd else "audible"


def shares(old, new, jnd):
    """Graded as a share of the old value; the convention must not matter."""
    answers = {graded(abs(new - old) / abs(base), jnd) for base in (old, new)} | {graded(abs(math.log(new / old)), math.log1p(jnd))}
    assert len(answers) == 1, ("depends on the convention", old, new)
    return answers.pop()


def number_weight(par, old, new, range_, new_unit):
    """How much a number that should be `old` differs where it is `new`."""
    if old == new:
        return "none"
    role = par.role
    if role == "level":
        return "severe" if new - old >= 6 else graded(abs(new - old), 1)
    if role == "pitch":
        return graded(abs(new - old) * CENTS[par.unit], 5)
    if role == "frequency":
        return graded(abs(1200 * math.log2(new / old)), 67)
    if role == "time":
        old, new = old * MILLISECONDS[par.unit], new * MILLISECONDS[new_unit]
        return graded(abs(new - old), 6) if old <= 240 else graded(abs(new - old) / old, 0.025)
    if role == "decay":
        return shares(old, new, 0.05)
    if role in ("rate", "tempo"):
        return shares(old, new, 0.03)
    assert role != "q" and (role is not None or par.unit != "dB" or abs(new - old) > 10)
    if role == "feedback" and old < 100 <= new:
        return "severe"
    return graded(abs(new - old), 0.02 * (range_[1] - range_[0]))


def capped(par, weight):
    return "slight" if par.role in ("name", "cosmetic") and weight != "none" else weight


def difference_weight(par, old, new, range_, new_unit=None):
    if par.kind in ("whole", "real") and BASE not in (old, new):
        return number_weight(par, old, new, range_, new_unit or par.unit)
    if par.kind == "text":
        return "slight"
    return capped(par, "severe" if par.role == "model" or par.asset else "audible")


def against_neutral(par, value, range_):
    """Of what stands alone on one side: lost, added, displaced."""
    if value is BASE:
        return "none"
    if par.neutral is None:
        return capped(par, "severe" if par.role == "model" else "slight" if par.kind == "text" else "audible")
    if value == par.neutral:
        return "none"
    return capped(par, difference_weight(par, value, par.neutral, range_))


def same(old, new, n, t):
    if isinstance(old, (int, float)) and isinstance(new, (int, float)) and not isinstance(old, bool):
        old, new = old * MILLISECONDS.get(n.unit, 1), new * MILLISECONDS.get(t.unit, 1)
        return old == new or math.isclose(old, new, rel_tol=1e-9, abs_tol=1e-9)
    return old == new


class Pair:
    """What can be said of a saved-on and a target release before any preset is seen."""

    def __init__(self, saved, target):
        self.saved, self.target = saved, target
        owners = {}
        for inst in saved.instances.values():
            for bit in inst.bits:
                owners[bit] = inst
        self.overlaps = {}
        for inst in target.instances.values():
            found = {owners[bit].ident for bit in inst.bits if bit in owners}
            partner = saved.by_key.get(inst.key)
            self.overlaps[inst.ident] = (found - {partner.ident} if partner else found, bool(partner and partner.ident in found))
        low, high = sorted((saved.order, target.order))
        self.revoiced = {}
        for release in RELEASES.values():
            if low < release.order <= high:
                self.revoiced.update(release.revoiced)


RELEASES = {}
PAIRS = {}


def set_up(releases):
    RELEASES.update(releases)
    for saved in releases.values():
        for target in releases.values():
            PAIRS[saved.name, target.name] = Pair(saved, target)


def matched(n, t, n_inst, t_inst, pair):
    """Outcome and weight of a parameter that both have; weight before activity."""
    old, got = n.value(n_inst.ident), t.got(t_inst.ident)
    new, par, range_ = got.value, n_inst.par, n.range_of(n_inst)
    others, own = pair.overlaps[t_inst.ident]
    others = {ident for ident in others if ident in n.here}
    equal = same(old, new, par, t_inst.par)
    weight = "none" if equal else difference_weight(par, old, new, range_, t_inst.par.unit)
    if others or (not own and not equal):
        return "displaced", weight
    if got.did == "unsure":
        return "unsure", difference_weight(par, old, got.other, range_, t_inst.par.unit)
    if got.did == "out-of-range":
        return "out-of-range", heavier("audible", weight)  # even though the number itself is as it was
    if equal:
        if par.asset and old is not None and old > t.release.impulse_responses:
            return "unfilled", "severe"
        if (par.key, old) in pair.revoiced:
            return "revoiced", pair.revoiced[par.key, old]
        return "kept", "none"
    if got.did:
        return got.did, weight
    if par.kind == "text":
        return "cut", weight
    if par.kind == "switch":
        return ("woken" if par.name == "on" and new else "swapped"), weight
    return ("rescaled" if par.kind in ("whole", "real") else "swapped"), weight


def ends(reading, target):
    """What the controllers of a reading make of a parameter at heel and toe."""
    out = {}
    for n, moved in reading.moved:
        if moved == target:
            inst = reading.release.instances[target]
            low, high = (inst.par.scale.to_stored(v) if inst.par.scale else v for v in reading.range_of(inst))
            for end in ("heel", "toe"):
                stored = low + (high - low) * reading.value(f"controller[{n}].{end}") / 100
                assert stored == round(stored), (target, "heel and toe must hit stored numbers")
                out[n, end] = inst.par.scale.to_value(stored) if inst.par.scale else stored
    return out


@functools.lru_cache(maxsize=64)
def read(release_name, body):
    return Reading(RELEASES[release_name], body)


def judge_as(saved_name, target_name, slot, body):
    """Verdict and findings of a preset that was saved on one named release."""
    pair = PAIRS[saved_name, target_name]
    saved, target = pair.saved, pair.target
    if target.slots_taken and slot > target.slots_taken:
        return "refused", {}
    if saved.slots_taken and slot > saved.slots_taken:
        return "undecided", {}
    n, t = read(saved_name, body), read(target_name, body)
    findings = {}
    for ident, inst in n.here.items():
        partner = target.by_key.get(inst.key)
        there = partner is not None and partner.ident in t.here
        if there:
            outcome, weight = matched(n, t, inst, partner, pair)
            before, after = ends(n, ident), ends(t, partner.ident)
            assert before.keys() == after.keys(), (ident, "moved on one side only")
            at_ends = "none"
            for end in before:
                if not same(before[end], after[end], inst.par, partner.par):
                    at_ends = heavier(at_ends, difference_weight(inst.par, before[end], after[end], n.range_of(inst), partner.par.unit))
                    outcome = "rescaled" if outcome == "kept" else outcome
            weight = heavier(weight, at_ends)
        else:
            outcome, weight = "lost", against_neutral(inst.par, n.value(ident), n.range_of(inst))
        if outcome != "kept":
            sounds = n.active(inst) or (there and t.active(partner))
            findings[ident] = (outcome, capped(inst.par, weight) if sounds else "none")
    for ident, inst in t.here.items():
        partner = saved.by_key.get(inst.key)
        if partner is None or partner.ident not in n.here:
            taken = any(other in n.here for other in pair.overlaps[ident][0])
            weight = against_neutral(inst.par, t.value(ident), t.range_of(inst))
            findings[ident] = ("displaced" if taken else "added", weight if t.active(inst) else "none")
    worst = {"none": "intact", "slight": "near", "audible": "altered", "severe": "altered"}
    settled = max((WEIGHTS.index(w) for o, w in findings.values() if o != "unsure"), default=0)
    at_worst = max((WEIGHTS.index(w) for _, w in findings.values()), default=0)
    best_verdict, worst_verdict = worst[WEIGHTS[settled]], worst[WEIGHTS[at_worst]]
    return (worst_verdict if best_verdict == worst_verdict else "undecided"), findings


def judge(stamp, target_name, slot, body):
    """Where a stamp names several releases the worst verdict stands; if they tie, that of the newer."""
    best = None
    for release in RELEASES.values():
        if release.stamp == stamp:
            found = judge_as(release.name, target_name, slot, body)
            if best is None or VERDICTS.index(found[0]) >= VERDICTS.index(best[0]):
                best = found
    return best
