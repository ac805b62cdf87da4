"""What changed between every two neighbouring releases, and over the whole history: by the generator's own tables.

Each change is told in the words of `downfit changes`, and each of one step belongs to a line of the release notes.
"""

import lists

# What the tables do not say, from the release notes.
SHOWN = {("amp", "Ember 50"): ("2.10", "Ember 50 Lead")}
LOUDER = {"Crown 30": 2.5}
OLDEST = {"2.10": "1.10", "3.00": "2.10", "3.10": "2.10"}
ERASES = {"3.00": 1, "3.10": 2}

# A line of the release notes (its beginning), and what of a step it tells: kind, and a part of the subject or label.
NOTES = {
    "1.10": [
        ("128 presets", [("accepts", ""), ("group-count", "footswitch")]),
        ("New amps Twelve", [("choice-added", "amp"), ("choice-added", "delay")]),
        ("The tempo can come", [("parameter-added", "tempo-source")]),
        ("Presets whose tempo was tapped", [("repairs", "")])],
    "2.00 beta 1": [
        ("Four voices", [("group-count", ".alternate"), ("range", "voice")]),
        ("New block: filter", [("group-added", "filter"), ("parameter-added", "scene.filter-"), ("choice-added", "controller"), ("choice-added", "footswitch")]),
        ("Scenes have names", [("group-added", "label")]),
        ("New guitar amps", [("choice-inserted", "amp"), ("choice-added", "reverb")]),
        ("Finer attack", [("scale", "comp.alternate.attack")]),
        ("The cabinet's", [("parameter-renamed", "cab.alternate.high-cut")]),
        ("Presets are longer", [("body-size", "bank")])],
    "2.00": [
        ("Final release", []),
        ("Note divisions", [("choices-moved", "division")]),
        ("New drives", [("choice-added", ""), ("condition", "pitch.alternate.key")])],
    "2.10": [
        ("Preset names", [("width", "name"), ("group-count", "scene"), ("group-count", "label"), ("range", "start-scene")]),
        ("New guitar amps", [("choice-inserted", "amp"), ("choice-renamed", "amp")]),
        ("Crown 30", [("revoiced", "amp")]),
        ("The drive Paper Fuzz", [("choice-removed", "drive")]),
        ("New delay Ducked", [("choice-added", "delay"), ("choice-added", "pitch"), ("parameter-added", "pitch.alternate.glide")]),
        ("Modulation rate", [("range", "mod.alternate.rate")]),
        ("Pitch fine", [("step", "pitch.alternate.fine")]),
        ("The gate's", [("range", "gate.alternate.threshold"), ("default", "gate.alternate.release")]),
        ("Delay send", [("range", "delay.send"), ("range", "scene.delay-send")]),
        ("You can go back", [("returns-to", "")])],
    "3.00 beta 2": [
        ("New block: doubler", [("group-added", "doubler"), ("parameter-added", "scene.doubler-")]),
        ("128 slots", [("asset", "impulse-response")]),
        ("New guitar amps", [("choice-inserted", "amp"), ("choice-added", "amp"), ("parameter-added", "amp.alternate.valve-age")]),
        ("Every amp has a bite", [("parameter-added", "amp.alternate.bite"), ("parameter-removed", "amp.alternate.sag")]),
        ("The drive knob", [("range", "amp.alternate.drive")]),
        ("New drive Shale", [("choice-inserted", "drive"), ("choice-inserted", "delay")]),
        ("Modulations", [("choices-moved", "mod.alternate.model")]),
        ("New microphones", [("choice-added", "cab.alternate.mic"), ("choice-added", "colour")]),
        ("Delay times", [("unit", "delay.alternate.time"), ("range", "delay.alternate.feedback"), ("plays", "delay.alternate.feedback")]),
        ("Pitch: formant", [("parameter-added", "pitch.alternate.formant"), ("place", "pitch.alternate.tracking")]),
        ("Cabinets remember", [("width", "cab.on")]),
        ("Tempo", [("range", "tempo")]),
        ("Presets are longer", [("body-size", "bank")])],
    "3.00": [
        ("Final release", []),
        ("New drives", [("choice-added", "drive"), ("choice-added", "filter")]),
        ("New reverbs", [("choice-inserted", "reverb")]),
        ("Footswitches", [("choice-inserted", "footswitch")]),
        ("Presence", [("step", "amp.alternate.presence"), ("step", "drive.alternate.tone")]),
        ("Springs", [("range", "reverb.alternate.size")]),
        ("Quay 18", [("revoiced", "amp")]),
        ("Impulse responses", [("erases", ""), ("returns-to", "")])],
    "3.10": [
        ("New block: feedback notches", [("group-added", "notch"), ("parameter-added", "scene.notch-on")]),
        ("New amps Gale 50", [("choice-added", "")]),
        ("New delay Haze", [("choice-inserted", "delay")]),
        ("The ten equaliser", [("range", "eq.alternate.band-")]),
        ("Reverb decay", [("range", "reverb.alternate.decay")]),
        ("A new delay", [("default", "delay.alternate.width")]),
        ("Presets are longer", [("body-size", "bank")]),
        ("Installing", [("erases", ""), ("returns-to", "")])],
}
UNSAID = ("stamp",)  # the notes do not tell the number that presets carry


def number(value):
    return f"{value:.6g}"


def span(pair, unit):
    return f"{number(pair[0])}..{number(pair[1])}" + (f" {unit}" if unit and unit != "ratio" else "")


def with_unit(value, unit):
    return number(value) + (f" {unit}" if unit and unit != "ratio" else "")


def base(value, unit):
    return value / 1000 if unit == "ms" else value


def label(name, thing, release):
    since, shown = SHOWN.get((name, thing), (None, thing))
    return shown if since and lists.RELEASES.index(release.name) >= lists.RELEASES.index(since) else thing


def pieces(par):
    """The bytes (or bits) of a parameter, most significant first."""
    place = par.place
    if place.form == "bits":
        return [(par.at + byte, bit, width) for byte, bit, width in place.pieces]
    run = [(par.at + n, 0, 8) for n in range(place.size)]
    return run[::-1] if place.little else run


def place_words(par):
    if par.place.form == "text":
        return f"byte {par.at}"
    words = []
    for byte, bit, width in pieces(par):
        words.append(f"byte {byte}" if width == 8 else f"bit {bit} of byte {byte}" if width == 1 else f"bits {bit}-{bit + width - 1} of byte {byte}")
    return ", ".join(words)


def width_words(par):
    if par.place.form == "text":
        return f"{par.place.size} characters"
    coding = {"float": "float"}.get(par.place.form) or {False: "unsigned", "twos": "two's complement", "offset": "offset"}[par.place.signed]
    bits = par.place.width()
    return f"{bits} bit{'' if bits == 1 else 's'}, {coding}"


def law(par):
    """What a few stored numbers are, in base units."""
    probes = [0, 1, 7, 50, 100]
    return [round(base(par.scale.to_value(s) if par.scale else s, par.unit), 9) for s in probes]


def scale_words(par):
    scale = par.scale
    taper = {"Linear": "linear", "Logarithmic": "logarithmic"}[type(scale).__name__]
    return f"{taper}, stored {number(scale.s0)}..{number(scale.s1)} is {span((scale.v0, scale.v1), par.unit)}"


def change(kind, subjects, before="", after="", where="", holds=()):
    return {"kind": kind, "subjects": sorted(subjects), "where": where, "before": before, "after": after, "holds": sorted(holds)}


def group_changes(old, new):
    for name, group in new.groups.items():
        outer = name.rpartition(".")[0]
        if name not in old.groups:
            if not outer or outer in old.groups:
                inside = [one for one in list(new.groups) + list(new.pars) if one.startswith(name + ".")]
                yield change("group-added", [name], holds=inside)
        elif old.groups[name].count != group.count:
            yield change("group-count", [name], str(old.groups[name].count), str(group.count))


def same_range(a, a_unit, b, b_unit):
    if a is None or b is None:
        return a is b
    return all(abs(base(x, a_unit) - base(y, b_unit)) < 1e-9 for x, y in zip(a, b))


def meaning_changes(old, new):
    if law(old) != law(new):
        yield change("scale", [new.ident], scale_words(old), scale_words(new))
    elif old.unit != new.unit:
        yield change("unit", [new.ident], old.unit, new.unit)
    if not same_range(old.range, old.unit, new.range, new.unit):
        yield change("range", [new.ident], span(old.range, old.unit), span(new.range, new.unit))
    if not same_range(old.plays, old.unit, new.plays, new.unit):
        words = [span(par.plays, par.unit) if par.plays else "the range" for par in (old, new)]
        yield change("plays", [new.ident], *words)
    if old.step != new.step:
        words = [with_unit(par.step, par.unit) if par.step else "every stored number" for par in (old, new)]
        yield change("step", [new.ident], *words)
    numbers = isinstance(old.default, (int, float)) and not isinstance(old.default, bool)
    if numbers and abs(base(old.default, old.unit) - base(new.default, new.unit)) > 1e-9:
        yield change("default", [new.ident], with_unit(old.default, old.unit), with_unit(new.default, new.unit))
    was, now = dict((row[:2], row[3]) for row in old.varies), dict((row[:2], row[3]) for row in new.varies)
    for key in sorted(set(was) | set(now)):
        a, b = was.get(key, old.range), now.get(key, new.range)
        if not same_range(a, old.unit, b, new.unit):
            asked = new.group + "." + key[0]
            yield change("range", [new.ident], span(a, old.unit), span(b, new.unit), f"when {asked} is {' or '.join(key[1])}")


def conditions(par, release):
    """The things that let a parameter exist and that the release has."""
    if not par.when:
        return None
    asked = release.pars[par.group + "." + par.when[0]]
    if not asked.choices:
        return par.when[1]
    return [label(asked.choices, thing, release) for thing in par.when[1] if thing in release.choices[asked.choices].values()]


def parameter_changes(old, new):
    by_key = {par.key: par for par in old.pars.values()}
    for par in new.pars.values():
        was = by_key.pop(par.key, None)
        if was is None:
            if not par.group or par.group in old.groups:
                yield change("parameter-added", [par.ident], "", place_words(par))
            continue
        if was.ident != par.ident:
            yield change("parameter-renamed", [par.ident], was.ident, par.ident)
        if width_words(was) != width_words(par):
            yield change("width", [par.ident], width_words(was), width_words(par))
        elif place_words(was) != place_words(par):
            yield change("place", [par.ident], place_words(was), place_words(par))
        if par.place.form != "text" and not par.choices and par.kind != "switch":
            yield from meaning_changes(was, par)
        before, after = conditions(was, old), conditions(par, new)
        if before != after:
            asked = par.group + "." + par.when[0]
            yield change("condition", [par.ident], *(f"{asked} is {' or '.join(things)}" for things in (before, after)))
    for par in by_key.values():
        yield change("parameter-removed", [par.ident], place_words(par), "")


def list_changes(old, new, label=label):
    """Lists that parameters of both releases have."""
    keys = {par.key for par in old.pars.values()}
    users = {}
    for par in new.pars.values():
        if par.choices and par.key in keys:
            users.setdefault(par.choices, []).append(par.ident)
    for name, parameters in users.items():
        was = {thing: n for n, thing in old.choices[name].items()}
        now = {thing: n for n, thing in new.choices[name].items()}
        both = [thing for thing in was if thing in now]
        turned = [t for t in both if any((was[t] < was[o]) != (now[t] < now[o]) for o in both if o != t)]
        steady = [t for t in both if t not in turned]
        for thing, n in now.items():
            if thing not in was:
                pushes = any(now[o] > n and now[o] > was[o] for o in steady)
                shown = label(name, thing, new)
                yield change("choice-inserted" if pushes else "choice-added", parameters, "", f"{shown} ({n})", holds=[shown])
        for thing, n in was.items():
            if thing not in now:
                shown = label(name, thing, old)
                yield change("choice-removed", parameters, f"{shown} ({n})", "", holds=[shown])
        for thing in both:
            if label(name, thing, old) != label(name, thing, new):
                yield change("choice-renamed", parameters, label(name, thing, old), label(name, thing, new))
        if turned:
            turned.sort(key=now.get)
            yield change("choices-moved", parameters, *(", ".join(f"{label(name, t, release)} ({numbers[t]})" for t in turned)
                                                        for release, numbers in ((old, was), (new, now))), holds=turned)


def slots_words(release):
    return f"slot at most {release.slots_taken}, else the preset is refused" if release.slots_taken else "none"


def repairs_words(release):
    return ", ".join(f"{found:02X} at byte {at} is read as {read:02X}" for at, found, read in release.repairs) or "none"


def other_changes(old, new, between):
    if old.size != new.size:
        yield change("body-size", ["bank"], f"{old.size} bytes", f"{new.size} bytes")
    if old.stamp != new.stamp:
        yield change("stamp", [new.name], str(old.stamp), str(new.stamp))
    if old.impulse_responses != new.impulse_responses:
        yield change("asset", ["impulse-response"], f"1..{old.impulse_responses}", f"1..{new.impulse_responses}")
    for kind, words in (("accepts", slots_words), ("repairs", repairs_words)):
        if words(old) != words(new):
            yield change(kind, [new.name], words(old), words(new))
    for release in between:
        for (key, thing), weight in release.revoiced.items():
            louder = f", {number(LOUDER[thing])} dB louder" if thing in LOUDER else ""
            yield change("revoiced", [key], "", weight + louder, holds=[thing])
        if release.name in OLDEST:
            yield change("returns-to", [release.name], "", f"back to {OLDEST[release.name]} at the oldest")
        for _ in range(ERASES.get(release.name, 0)):
            yield change("erases", [release.name])


def compare(releases, first, last):
    names = list(releases)
    between = [releases[name] for name in names[names.index(first) + 1:names.index(last) + 1]]
    old, new = releases[first], releases[last]
    return [*group_changes(old, new), *parameter_changes(old, new), *list_changes(old, new), *other_changes(old, new, between)]


def same(a, b, meaning):
    """The same change, in a step and over the whole way: numbers and names may differ."""
    kinds = {"choice-inserted": "choice-added"}
    if kinds.get(a["kind"], a["kind"]) != kinds.get(b["kind"], b["kind"]) or a["where"] != b["where"]:
        return False
    if a["kind"] in ("stamp", "accepts", "repairs"):
        return True
    subjects = [sorted(meaning(subject) for subject in one["subjects"]) for one in (a, b)]
    if a["kind"].startswith("choice"):
        return subjects[0] == subjects[1] and (a["holds"] == b["holds"] if a["holds"] else a["after"] == b["after"])
    return subjects[0] == subjects[1] and (a["kind"] != "revoiced" or a["holds"] == b["holds"])


def check_notes(name, changes, notes):
    """Every change of a step stands in a line of the notes, and every line tells one (or nothing that is in a schema)."""
    told = {beginning: 0 for beginning, _ in NOTES[name]}
    for beginning in told:
        assert f"- {beginning}" in notes, (name, beginning)
    for one in changes:
        text = " ".join(one["subjects"])
        fits = [beginning for beginning, parts in NOTES[name] for kind, part in parts if kind == one["kind"] and part in text]
        assert fits or one["kind"] in UNSAID, (name, one)
        for beginning in fits:
            told[beginning] += 1
        if fits:
            one["note"] = fits[0]
    for beginning, parts in NOTES[name]:
        assert told[beginning] > 0 or not parts, (name, beginning)
    assert len(told) == sum(line.startswith("- ") for line in notes.splitlines()), name


def between(releases, first, last, compare=compare, meaning=str):
    """All changes from the one to the other, each with the releases that brought it. `meaning`: a name's oldest form."""
    names = list(releases)
    way = names[names.index(first):names.index(last) + 1]
    steps = {new: compare(releases, old, new) for old, new in zip(way, way[1:])}
    whole = compare(releases, first, last)
    for one in whole:
        if one["kind"] in ("returns-to", "erases"):
            one["releases"] = list(one["subjects"])
        else:
            one["releases"] = [new for new, parts in steps.items() if any(same(one, part, meaning) for part in parts)]
    return whole


def planted(releases, notes):
    """"OLD>NEW" -> changes: of every step, and last of the whole history."""
    names = list(releases)
    out = {}
    for old, new in zip(names, names[1:]):
        changes = between(releases, old, new)
        section = notes.split(f"\n## {new} (")[1].split("\n## ")[0]
        check_notes(new, changes, section)
        out[f"{old}>{new}"] = changes
    out[f"{names[0]}>{names[-1]}"] = between(releases, names[0], names[-1])
    return out
