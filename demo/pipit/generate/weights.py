"""How much a difference is heard, by the thresholds of docs/loading.md, written out once more."""

import math

WEIGHTS = ["none", "slight", "audible", "severe"]
SECONDS = {"ms": 0.001, "s": 1}


def heavier(*weights):
    return max(weights, key=WEIGHTS.index)


def graded(difference, noticeable):
    """None up to the noticeable difference, slight up to three of them. No preset may stand on an edge."""
    for edge in (noticeable, 3 * noticeable):
        assert difference == 0 or math.isinf(difference) or abs(difference - edge) > 1e-6 * edge, ("on the edge", difference, edge)
    return "none" if difference <= noticeable else "slight" if difference <= 3 * noticeable else "audible"


def share_between(a, b):
    return math.inf if min(abs(a), abs(b)) == 0 or a * b < 0 else abs(a - b) / min(abs(a), abs(b))


def of_numbers(par, meant, there, range_, unit_there):
    """`meant` against `there`, of a parameter with this role, unit and range on the release that saved it."""
    if same_number(meant, there, par.unit, unit_there):
        return "none"
    if par.role == "level" and there - meant >= 6:
        return "severe"
    if par.role == "feedback" and meant < 100 <= there:
        return "severe"
    if par.unit == "dB":
        return graded(abs(there - meant), 1)
    if par.unit == "semitones":
        return graded(100 * abs(there - meant), 5)
    if par.role in ("rate", "tempo"):
        return graded(share_between(meant, there), 0.03)
    if par.unit == "Hz":
        return graded(abs(1200 * math.log2(there / meant)), 67)
    if par.unit in SECONDS:
        meant, there = meant * SECONDS[par.unit], there * SECONDS[unit_there]
        if par.role == "decay":
            return graded(share_between(meant, there), 0.05)
        longer = max(meant, there)
        return graded(abs(meant - there), 0.006 if longer < 0.24 else 0.025 * longer)
    return graded(abs(there - meant), 0.02 * (range_[1] - range_[0]))


def same_number(meant, there, unit, unit_there):
    return math.isclose(meant * SECONDS.get(unit, 1), there * SECONDS.get(unit_there, 1), rel_tol=1e-9, abs_tol=1e-12)


def capped(par, weight):
    return "slight" if par.role in ("name", "cosmetic") and weight != "none" else weight


def of_things(par):
    return capped(par, "severe" if par.role == "model" else "slight" if par.kind == "text" else "audible")


def difference(par, meant, there, range_, unit_there):
    if par.kind in ("whole", "real"):
        return of_numbers(par, meant, there, range_, unit_there)
    return of_things(par)


def alone(par, value, range_, on_target):
    """Lost, added or displaced: against the neutral setting."""
    if par.kind == "reference" and value is None:
        return "none"
    if par.neutral is None:
        return of_things(par)
    if value == par.neutral:
        return "none"
    pair = (par.neutral, value) if on_target else (value, par.neutral)
    return capped(par, difference(par, *pair, range_, par.unit))
