"""One preset being built: values by parameter instance, and its body."""

from judge import BASE, Reading, same
from storage import Logarithmic, Volume


class Sound:
    def __init__(self, release, name):
        self.release = release
        self.values = {}
        for ident, inst in release.instances.items():
            par = inst.par
            self.values[ident] = BASE if par.as_base is not None else par.default
        for n in range(1, 5):
            self.values[f"controller[{n}].target"] = None
        for n in range(1, release.groups["footswitch"].count + 1):
            self.values[f"footswitch[{n}].target"] = None
        self.patches = []  # bytes that no parameter of this release has
        self.set("name", name)

    def has(self, ident):
        return ident in self.release.instances

    def set(self, ident, value):
        assert ident in self.release.instances, (self.release.name, ident)
        self.values[ident] = value
        return self

    def set_all(self, prefix, **values):
        for name, value in values.items():
            self.set(prefix + name.replace("_", "-"), value)
        return self

    def offers(self, choices, label):
        return label in self.release.choices[choices].values()

    def body(self):
        release = self.release
        body = bytearray(release.size)
        for ident, inst in release.instances.items():
            par, value = inst.par, self.values[ident]
            if par.when and self.values[inst.sibling(par.when[0])] not in par.when[1]:
                continue  # not there in this preset: nothing is stored
            par.place.write(body, inst.at, self.stored(par, value))
        for byte, number in self.patches:
            body[byte] = number
        return bytes(body)

    def stored(self, par, value):
        if value is BASE:
            return par.as_base
        if par.kind == "text":
            return value
        if par.kind == "switch":
            off = 0 if par.on else 1
            if par.as_base is not None:
                off = 1
            return par.on if value is True else off if value is False else value  # a number where off has several
        if par.asset:
            return par.nothing if value is None else value - 1
        if par.choices:
            if par.nothing is not None and value is None:
                return par.nothing
            return next(number for number, label in self.release.choices[par.choices].items() if label == value)
        return par.scale.to_stored(value) if par.scale else value if par.place.form == "float" else round(value)

    def checked_body(self):
        """The body, after making sure that the release which saves it reads back just what was set."""
        body = self.body()
        reading = Reading(self.release, body)
        for ident in reading.here:
            got = reading.got(ident)
            assert got.did is None, (self.values["name"], ident, got.value, got.did)
            meant, par = self.values[ident], self.release.instances[ident].par
            if par.kind in ("whole", "real") and meant is not BASE and not isinstance(par.scale, (Logarithmic, Volume)):
                assert abs(got.value - meant) < 1e-6, (self.values["name"], ident, got.value, meant)
            elif par.kind in ("choice", "text", "reference", "switch") or meant is BASE:
                if par.name != "on":
                    assert got.value is meant or same(got.value, meant, par, par), (ident, got.value, meant)
        return body
