"""One preset being made: what is set by parameter, and the bytes that the saving release writes."""

from loader import Reading, same
from pedal import END
from storage import Logarithmic


class Sound:
    def __init__(self, release, stamp, name):
        self.release, self.stamp = release, stamp
        self.values = {"name": name, "category": "Clean"}
        self.extra = {}  # "drive[1]", or "" for the preset itself -> bytes that follow its records

    def set(self, ident, value):
        assert ident in self.release.instances, (self.release.name, ident)
        self.values[ident] = value
        return self

    def set_all(self, block, **values):
        """Settings of one block, which is then in the preset."""
        for name, value in values.items():
            self.set(f"{block}.{name.replace('_', '-')}", value)
        return self

    def has(self, ident):
        return ident in self.release.instances

    def offers(self, name, label):
        return label in self.release.choices[name].values()

    def present(self, path):
        label = ".".join(self.release.label(group, number) for group, number in path)
        return any(ident.startswith(label + ".") for ident in self.values)

    def default(self, inst):
        for sibling, labels, attribute, value in inst.par.varies:
            if attribute == "default" and self.values[inst.sibling(sibling)] in labels:
                return value
        return inst.par.default

    def stored(self, inst):
        """Stored number or text of one parameter; nothing where the release leaves it out."""
        par, value = inst.par, self.values.get(inst.ident)
        wanted = par.name in ("on", "model") or (inst.ident in self.values and value != self.default(inst))
        if par.rules.get("missing-parameter") == "held":
            wanted = True  # the release knows its own weakness
        if par.tag is not None and not wanted:
            return None
        if inst.ident not in self.values:
            value = None if par.kind == "reference" else self.default(inst)
        if par.kind in ("switch", "text"):
            return int(value) if par.kind == "switch" else value
        if par.choices:
            if value is None:
                return par.nothing
            return next(number for number, label in self.release.choices[par.choices].items() if label == value)
        return par.scale.to_stored(value) if par.scale else value

    def body(self):
        body = bytearray(16)
        body[0] = 0x50
        body[1:3] = self.stamp.to_bytes(2, "big")
        for ident in ("category", "name"):
            inst = self.release.instances[ident]
            inst.par.place.write(body, inst.at, self.stored(inst))
        return bytes(body) + self.records((), 3) + self.extra.get("", b"") + bytes([END])

    def records(self, path, head):
        """The run of records inside a group, or of the preset."""
        out = b""
        for inst in sorted((i for i in self.release.instances.values() if i.path == path and i.par.tag is not None),
                           key=lambda inst: inst.par.tag):
            stored = self.stored(inst)
            if stored is not None:
                value = bytearray(inst.par.place.size)
                inst.par.place.write(value, 0, stored)
                out += self.record(inst.par.tag, 1, value, head)
        outer = path[-1][0] if path else ""
        groups = sorted((g.tag, name) for name, g in self.release.groups.items() if name.rpartition(".")[0] == outer)
        for tag, name in groups:
            for number in range(1, self.release.groups[name].count + 1):
                inner = path + ((name, number),)
                if self.present(inner):
                    out += self.record(tag, self.version(name), self.value_of(inner), head)
        return out

    def version(self, group):
        newest = self.release.groups[group].version_at_most
        return 2 if newest == 2 and self.values["reverb.model"] == "Cloud" else 1

    def value_of(self, path):
        label = ".".join(self.release.label(group, number) for group, number in path)
        if self.release.groups[path[-1][0]].records:
            return self.records(path, 2) + self.extra.get(label, b"")
        plain = [inst for inst in self.release.instances.values() if inst.path == path]
        value = bytearray(max(inst.at + inst.par.place.end for inst in plain))
        for inst in plain:
            inst.par.place.write(value, inst.at, self.stored(inst))
        return bytes(value)

    @staticmethod
    def record(tag, version, value, head):
        assert len(value) < 256
        return bytes([tag, version, len(value)] if head == 3 else [tag, len(value)]) + bytes(value)

    def checked_body(self):
        """The body, after making sure that the release which saves it reads back just what was set."""
        body = self.body()
        reading = Reading(self.release, body)
        for ident, inst in reading.here.items():
            got = reading.got(ident)
            assert got.did is None or (got.did == "reset" and not got.stored), (self.values["name"], ident, got.value, got.did)
            if ident in self.values and ident not in self.overwritten():
                meant = self.values[ident]
                near = isinstance(inst.par.scale, Logarithmic) and abs(got.value / meant - 1) < 0.02
                assert near or same(meant, got.value, inst.par, inst.par), (self.values["name"], ident, got.value, meant)
        return body

    def overwritten(self):
        return {"drive[1].gain"} if "drive[1]" in self.extra else set()
