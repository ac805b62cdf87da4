"""Loading on paper: what a release of the Pipit makes of a preset's bytes, and what is heard of it. Literal and slow."""

import functools

import weights
from history import RELEASES, saved_by
from pedal import END, RECORDS_FROM

NAMED = {}  # release name -> Release, set once by set_up
VERDICT = {"none": "intact", "slight": "near", "audible": "altered", "severe": "altered"}


def set_up(releases):
    NAMED.update(releases)


class Unknown:
    """A number that names nothing."""

    def __init__(self, number):
        self.number = number

    def __eq__(self, other):
        return isinstance(other, Unknown) and other.number == self.number


class Got:
    def __init__(self, value, did=None, stored=True):
        self.value, self.did, self.stored = value, did, stored


class Reading:
    """One release reading one body. `limits`: how many of a group the unit runs at once."""

    def __init__(self, release, body, limits=()):
        self.release, self.body, self.limits = release, body, dict(limits)
        self.saved_by = RELEASES.index(saved_by(int.from_bytes(body[1:3], "big")))
        self.found = {(): (0, len(body), None)}  # record -> first byte of its value, length, version
        self.find_records((), RECORDS_FROM, len(body), 3)
        self.known = {}
        self.here = {ident: inst for ident, inst in release.instances.items() if self.exists(inst)}
        self.switched = {self.value(ident) for ident in self.here if ident.startswith("footswitch") and ident.endswith("target")
                         and isinstance(self.value(ident), str)}

    def find_records(self, anchor, at, end, head):
        by_id = {}
        while at < end and self.body[at] != (END if head == 3 else None):
            length = self.body[at + head - 1]
            version = self.body[at + 1] if head == 3 else None
            assert at + head + length <= end
            by_id.setdefault(self.body[at], []).append((at + head, length, version))
            at += head + length
        for tag, count in self.release.takes.get(tuple(t for t, _ in anchor), {}).items():
            records = by_id.get(tag, [])
            for number, record in enumerate(records[-1:] if count == 1 else records[:count], 1):
                here = anchor + ((tag, number),)
                self.found[here] = record
                group = self.group_of(here)
                if group and group.records:
                    self.find_records(here, record[0], record[0] + record[1], 2)

    def group_of(self, anchor):
        tags = tuple(t for t, _ in anchor)
        return next((g for path, g in self.release.groups.items() if self.release.tags(path) == tags), None)

    def group_exists(self, path):
        """path: ((group, number), ...)"""
        anchor = ()
        for name, number in path:
            group = self.release.groups[name]
            anchor += ((group.tag, number),)
            if anchor not in self.found or number > self.limits.get(name, number):
                return False
            version = self.found[anchor][2]
            if group.version_at_most is not None and version > group.version_at_most:
                return False
            if group.count_by and number > self.value(self.label(path[:-1]) + "." + group.count_by):
                return False
        return True

    def label(self, path):
        return ".".join(self.release.label(group, number) for group, number in path)

    def exists(self, inst):
        if not self.group_exists(inst.path):
            return False
        if inst.par.when is None:
            return True
        name, wanted = inst.par.when
        if name == "record version":
            return self.found[inst.anchor[:len(inst.path)]][2] >= wanted
        return self.value(inst.sibling(name)) in wanted

    def value(self, ident):
        return self.got(ident).value

    def got(self, ident):
        if ident not in self.known:
            self.known[ident] = self.load(self.release.instances[ident])
        return self.known[ident]

    def attribute(self, inst, name):
        for sibling, labels, attribute, value in inst.par.varies:
            if attribute == name and self.value(inst.sibling(sibling)) in labels:
                return value
        return getattr(inst.par, name)

    def load(self, inst):
        par = inst.par
        place, scale = par.place, par.scale
        for before, old_place, old_scale in par.reads:
            if self.saved_by < RELEASES.index(before):
                place, scale = old_place, old_scale
        start, length, _ = self.found.get(inst.anchor, (0, 0, None))
        stored = place.read(self.body[start:start + length], inst.at)
        if stored is None:
            held = par.rules.get("missing-parameter") == "held"
            return Got(self.attribute(inst, "default"), "held" if held else "reset", stored=False)
        if par.kind == "text":
            return Got(stored)
        if par.kind == "switch":
            return Got(stored == 1)
        if par.choices:
            return self.load_choice(par, stored)
        return self.load_number(inst, scale.to_value(stored) if scale else stored)

    def load_choice(self, par, stored):
        if par.nothing is not None and stored == par.nothing:
            return Got(None)
        choices = self.release.choices[par.choices]
        if stored in choices:
            return Got(choices[stored])
        rule = par.rules.get("unknown-choice", "clamp")
        if rule == "keep":
            return Got(Unknown(stored), "out-of-range")
        if rule in ("reset", "first"):
            return Got(par.default if rule == "reset" else choices[min(choices)], "reset")
        assert stored > max(choices)
        return Got(choices[max(choices)], "clamped")

    def load_number(self, inst, value):
        par = inst.par
        if par.range is None:
            return Got(value)
        least, most = par.range
        if value < least - 1e-9 or value > most + 1e-9:
            if par.rules.get("out-of-range") == "reset":
                return Got(self.attribute(inst, "default"), "reset")
            return Got(least if value < least else most, "clamped")
        if par.step:
            steps = (value - least) / par.step
            if abs(steps - round(steps)) > 1e-6:
                assert abs(steps % 1 - 0.5) > 1e-3, (inst.ident, value, "half way")
                return Got(least + round(steps) * par.step, "rounded")
        return Got(value)

    def active(self, inst):
        """Whether anybody can hear it: in a block that is on, or that a footswitch can bring in."""
        if inst.ident not in self.here:
            return False
        if not inst.path:
            return True
        name, number = inst.path[0]
        block = self.release.label(name, number)
        if self.release.groups[name].kind in ("switch", "controller"):
            return self.value(block + ".target") is not None
        # The lists keep the block's first name.
        return self.value(block + ".on") or block.replace("squeeze", "comp") + ".on" in self.switched

    def ends(self, inst):
        """What the pedal makes of a parameter at heel and toe, if it moves it."""
        if "pedal.target" not in self.here or self.value("pedal.target") != inst.ident:
            return []
        stored = [inst.par.scale.to_stored(v) if inst.par.scale else v for v in inst.par.range]
        out = []
        for end in ("heel", "toe"):
            at = stored[0] + (stored[1] - stored[0]) * self.value("pedal." + end) / 100
            assert at == round(at), (inst.ident, "heel and toe must hit stored numbers")
            out.append(inst.par.scale.to_value(at) if inst.par.scale else at)
        return out


@functools.lru_cache(maxsize=None)
def owners(release_name):
    """(record, bit) -> the instance that lies there."""
    out = {}
    for inst in NAMED[release_name].instances.values():
        for bit in inst.par.place.bits(inst.at):
            assert (inst.anchor, bit) not in out, inst.ident
            out[inst.anchor, bit] = inst.ident
    return out


@functools.lru_cache(maxsize=None)
def lies_on(saved_name, target_name, ident):
    """What the saving release has where the target release looks for a parameter."""
    inst, lying = NAMED[target_name].instances[ident], owners(saved_name)
    return {lying[inst.anchor, bit] for bit in inst.par.place.bits(inst.at) if (inst.anchor, bit) in lying}


@functools.lru_cache(maxsize=None)
def revoicings(saved_name, target_name):
    low, high = sorted(RELEASES.index(name) for name in (saved_name, target_name))
    return {what: weight for name in RELEASES[low + 1:high + 1] for what, weight in NAMED[name].revoiced.items()}


def same(meant, there, par, par_there):
    if par.kind in ("whole", "real"):
        return weights.same_number(meant, there, par.unit, par_there.unit)
    return meant == there


def matched(n, t, inst, partner):
    """Outcome and weight of what both have, before activity."""
    got, meant, par = t.got(partner.ident), n.value(inst.ident), inst.par
    equal = same(meant, got.value, par, partner.par)
    weight = "none" if equal else weights.difference(par, meant, got.value, par.range, partner.par.unit)
    lying = lies_on(n.release.name, t.release.name, partner.ident)
    others = {ident for ident in lying - {inst.ident} if ident in n.here}
    if got.stored and (others or (inst.ident not in lying and not equal)):
        return "displaced", weight
    if got.did == "held":
        assert par.kind in ("whole", "real")
        return "unsure", weights.heavier(*(weights.of_numbers(par, meant, end, par.range, partner.par.unit) for end in partner.par.range))
    if got.did == "out-of-range":
        return "out-of-range", weights.heavier("audible", weight)
    if equal:
        return pedalled(n, t, inst, partner)
    assert not n.ends(inst) or not t.ends(partner), (inst.ident, "moved, and different already")
    if got.did:
        return got.did, weight
    if par.kind == "text":
        return "cut", weight
    if par.kind == "switch":
        return ("woken" if par.name == "on" and got.value else "swapped"), weight
    return ("rescaled" if par.kind in ("whole", "real") else "swapped"), weight


def pedalled(n, t, inst, partner):
    """Of what loads as it was: the model's voice, and heel and toe."""
    revoiced = revoicings(n.release.name, t.release.name).get((inst.par.key, n.value(inst.ident)))
    if revoiced:
        return "revoiced", revoiced
    worst, outcome = "none", "kept"
    for before, after in zip(n.ends(inst), t.ends(partner)):
        if not same(before, after, inst.par, partner.par):
            outcome = "rescaled"
            worst = weights.heavier(worst, weights.of_numbers(inst.par, before, after, inst.par.range, partner.par.unit))
    return outcome, worst


@functools.lru_cache(maxsize=8192)
def read(release_name, body, limits=()):
    return Reading(NAMED[release_name], body, limits)


def judge(target_name, body, limits=()):
    """Verdict and findings: parameter -> (outcome, weight)."""
    saved_name = saved_by(int.from_bytes(body[1:3], "big"))
    target = NAMED[target_name]
    if target.takes_up_to and RELEASES.index(saved_name) > RELEASES.index(target.takes_up_to):
        return "refused", {}
    n, t = read(saved_name, body), read(target_name, body, limits)
    findings = {}
    for ident, inst in n.here.items():
        partner = target.by_key.get(inst.key)
        there = partner is not None and partner.ident in t.here
        outcome, weight = matched(n, t, inst, partner) if there else \
            ("lost", weights.alone(inst.par, n.value(ident), inst.par.range, False))
        if outcome != "kept":
            heard = n.active(inst) or (there and t.active(partner))
            findings[ident] = (outcome, weights.capped(inst.par, weight) if heard else "none")
    for ident, inst in t.here.items():
        partner = n.release.by_key.get(inst.key)
        if partner is None or partner.ident not in n.here:
            taken = t.got(ident).stored and any(other in n.here for other in lies_on(saved_name, target_name, ident))
            assert t.got(ident).did != "held"
            weight = weights.alone(inst.par, t.value(ident), inst.par.range, True)
            findings[ident] = ("displaced" if taken else "added", weight if t.active(inst) else "none")
    settled = weights.heavier("none", *(weight for outcome, weight in findings.values() if outcome != "unsure"))
    worst = weights.heavier("none", *(weight for _, weight in findings.values()))
    return (VERDICT[worst] if VERDICT[settled] == VERDICT[worst] else "undecided"), findings
