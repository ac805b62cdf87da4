"""What changed between the Pipit's releases, by the generator's own tables, in the words of `downfit changes`."""

from changes import base, between, change, law, list_changes, place_words, same_range, scale_words, span, width_words, with_unit

import history

# What the tables do not say, from the release notes.
SHOWN = {("cab", "Direct"): ("2.0", "Flat")}
LOUDER = {"Old Gorse": ", 2 dB louder"}
OLDEST = {"2.0": "1.1", "2.1": "1.1"}
ERASES = ["2.1"]
RENAMED = {"squeeze": "comp", "reverb.high-cut": "reverb.cut"}


def meaning(name):
    for now, was in RENAMED.items():
        if name == now or name.startswith(now + "."):
            return was + name[len(now):]
    return name


def label(name, thing, release):
    since, shown = SHOWN.get((name, thing), (None, thing))
    return shown if since and release.order >= history.RELEASES.index(since) else thing


def where(par):
    return ("" if par.tag is None else f"record {par.tag}, ") + place_words(par)


def group_changes(old, new):
    by_key = {meaning(path): (path, group) for path, group in old.groups.items()}
    for path, group in new.groups.items():
        if meaning(path) not in by_key:
            yield change("group-added", [path], holds=[one for one in list(new.groups) + list(new.pars) if one.startswith(path + ".")])
            continue
        before, was = by_key[meaning(path)]
        if before != path:
            yield change("group-renamed", [path], before, path)
        if was.count != group.count:
            yield change("group-count", [path], str(was.count), str(group.count))
        if was.version_at_most != group.version_at_most:
            yield change("group-version", [path], str(was.version_at_most), str(group.version_at_most))


def defaults(par):
    return {(sibling, values): value for sibling, values, attribute, value in par.varies if attribute == "default"}


def value_changes(was, par):
    if law(was) != law(par):
        yield "scale", *(scale_words(one) if one.scale else f"the stored number in {one.unit}" for one in (was, par)), ""
    if not same_range(was.range, was.unit, par.range, par.unit):
        yield "range", span(was.range, was.unit), span(par.range, par.unit), ""
    if was.step != par.step:
        yield "step", with_unit(was.step, was.unit), with_unit(par.step, par.unit), ""
    for key in sorted(set(defaults(was)) | set(defaults(par))):
        a, b = defaults(was).get(key, was.default), defaults(par).get(key, par.default)
        if abs(base(a, was.unit) - base(b, par.unit)) > 1e-9:
            yield "default", with_unit(a, was.unit), with_unit(b, par.unit), f"when {par.group}.{key[0]} is {' or '.join(key[1])}"


def condition(par):
    if not par.when:
        return "always"
    assert par.when[1] in ((True,), (False,))
    return f"{par.group}.{par.when[0]} is {'on' if par.when[1][0] else 'off'}"


def rules(par, others):
    names = {name for name in {**par.rules, **others.rules} if par.rules.get(name) != others.rules.get(name)}
    return ", ".join(f"{name}: {par.rules.get(name, 'as the release has it')}" for name in sorted(names))


def parameter_changes(old, new):
    by_key = {par.key: par for par in old.pars.values()}
    groups = {meaning(path) for path in old.groups}
    for par in new.pars.values():
        was = by_key.pop(par.key, None)
        if was is None:
            if not par.group or meaning(par.group) in groups:
                yield change("parameter-added", [par.ident], "", where(par))
            continue
        if was.name != par.name:
            yield change("parameter-renamed", [par.ident], was.ident, par.ident)
        if was.count != par.count:
            yield change("list-count", [par.ident], str(was.count), str(par.count))
        if len(was.reads) != len(par.reads):
            yield change("reads", [par.ident], str(len(was.reads)), str(len(par.reads)))
        if width_words(was) != width_words(par):
            yield change("width", [par.ident], width_words(was), width_words(par))
        if par.kind in ("whole", "real"):
            for kind, before, after, asked in value_changes(was, par):
                yield change(kind, [par.ident], before, after, asked)
        if condition(was) != condition(par):
            yield change("condition", [par.ident], condition(was), condition(par))
        if was.rules != par.rules:
            yield change("rule", [par.ident], rules(was, par), rules(par, was))
    for par in by_key.values():
        yield change("parameter-removed", [par.ident], where(par), "")


def stamps(release):
    return f"{release.stamp[0]} and higher" if len(release.stamp) > 1 else str(release.stamp[0])


def accepts(release):
    return f"stamp at most {release.takes_up_to}, else the preset is refused" if release.takes_up_to else "none"


def compare(releases, first, last):
    names = list(releases)
    old, new = releases[first], releases[last]
    out = [*group_changes(old, new), *parameter_changes(old, new), *list_changes(old, new, label)]
    if stamps(old) != stamps(new):
        out.append(change("stamp", [last], stamps(old), stamps(new)))
    if accepts(old) != accepts(new):
        out.append(change("accepts", [last], accepts(old), accepts(new)))
    told = {}
    for name in names[names.index(first) + 1:names.index(last) + 1]:
        for (ident, thing), weight in releases[name].revoiced.items():
            if told.get((ident, thing)) != weight and (ident, thing) not in old.revoiced:
                told[ident, thing] = weight
                out.append(change("revoiced", [ident], "", weight + LOUDER.get(thing, ""), holds=[thing]))
        if name in OLDEST:
            out.append(change("returns-to", [name], "", f"back to {OLDEST[name]} at the oldest"))
        if name in ERASES:
            out.append(change("erases", [name]))
    return out


def planted():
    """"OLD>NEW" -> changes, for every pair of releases."""
    releases, names = history.all_releases(), history.RELEASES
    return {f"{old}>{new}": between(releases, old, new, compare, meaning) for i, old in enumerate(names) for new in names[i + 1:]}
