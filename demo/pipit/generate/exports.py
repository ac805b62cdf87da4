"""The Pipit's presets as its editor would export them: the same records and numbers, found by name. One JSON and one XML file a bank.

A preset's own records and those of its blocks stand under their number, what a block keeps in plain bytes under its name. Numbers are
as stored, but the reverb's pre-delay, which is in milliseconds whatever release saved it. Slots that are empty are null in JSON and
left out of XML. Records that the saving release does not know are exported too.
"""

import json
import struct
from xml.sax.saxutils import quoteattr

from pedal import END, RECORDS_FROM

NAMES = {0x10: "drive", 0x18: "comp", 0x1C: "gate", 0x20: "mod", 0x30: "delay", 0x40: "tap", 0x38: "reverb", 0x48: "eq",
         0x50: "cab", 0x58: "footswitch", 0x5C: "pedal"}
PRE_DELAY = ("reverb", 4)


class Node:
    """A preset or a block: (key, number, text, truth or node) in order; a key may come twice."""

    def __init__(self):
        self.members = []

    def add(self, key, value):
        self.members.append((str(key), value))


def single(raw):
    """The shortest decimal that is this 32-bit number."""
    number = struct.unpack(">f", raw)[0]
    for digits in range(1, 10):
        text = f"{number:.{digits}g}"
        if struct.pack(">f", float(text)) == raw:
            return float(text)
    return number


def split(raw, head):
    """(tag, version, value) of each record of a run."""
    at = 0
    while at < len(raw) and not (head == 3 and raw[at] == END):
        length = raw[at + head - 1]
        yield raw[at], raw[at + 1] if head == 3 else None, raw[at + head:at + head + length]
        at += head + length


def number_of(par, raw):
    if par is None or par.place.end != len(raw):
        return int.from_bytes(raw, "big")  # nothing that this release knows
    if par.place.form == "float":
        return single(raw)
    stored = par.place.read(raw, 0)
    return bool(stored) if par.kind == "switch" else stored


def plain(release, group, raw):
    """A block of plain bytes."""
    node = Node()
    for par in (par for par in release.pars.values() if par.group == group):
        for element in range(max(1, par.count)):
            if par.at + element + par.place.end > len(raw):
                continue
            stored = par.place.read(raw, par.at + element)
            node.add(par.name, bool(stored) if par.kind == "switch" else stored)
    return node


def pre_delay(par, raw):
    stored = int.from_bytes(raw, "big")
    value = par.scale.to_value(stored) if par.scale else stored
    return int(value) if value == int(value) else value


def records(release, outer, raw, head, node):
    tagged = {par.tag: par for par in release.pars.values() if par.group == outer and par.tag is not None}
    inner = {group.tag: path for path, group in release.groups.items() if path.rpartition(".")[0] == outer}
    for tag, version, value in split(raw, head):
        path = inner.get(tag)
        if path is None:
            par = tagged.get(tag)
            here = (NAMES.get(release.groups[outer].tag), tag) if outer else None
            node.add(tag, pre_delay(par, value) if here == PRE_DELAY else number_of(par, value))
        elif release.groups[path].records:
            block = Node()
            if version is not None:
                block.add("version", version)
            records(release, path, value, 2, block)
            node.add(NAMES[tag], block)
        else:
            node.add(NAMES[tag], plain(release, path, value))


def tree(release, body):
    node = Node()
    node.add("firmware", int.from_bytes(body[1:3], "big"))
    for name in ("name", "category"):
        par = release.pars[name]
        node.add(name, par.place.read(body, par.at))
    records(release, "", body[RECORDS_FROM:], 3, node)
    return node


LISTS = {*NAMES.values()} - {"comp", "gate", "mod", "reverb", "eq", "cab", "pedal"}  # these may stand there more than once


def as_json(node):
    """Blocks that there may be several of are lists, and so is a curve; any other key that comes twice does."""
    parts, done = [], set()
    for key, value in node.members:
        if key in done:
            continue
        if key in LISTS or key == "curve":
            done.add(key)
            items = [as_json(v) if isinstance(v, Node) else json.dumps(v) for k, v in node.members if k == key]
            parts.append(f"{json.dumps(key)}: [{', '.join(items)}]")
        else:
            parts.append(f"{json.dumps(key)}: {as_json(value) if isinstance(value, Node) else json.dumps(value)}")
    return "{" + ", ".join(parts) + "}"


def text(value):
    return ("on" if value else "off") if isinstance(value, bool) else str(value)


def as_xml(name, node, depth, attributes=""):
    indent, inside = "  " * depth, []
    for key, value in node.members:
        if isinstance(value, Node):
            inside.append(as_xml(key, value, depth + 1))
        elif key.isdigit():
            inside.append(f'{indent}  <p id="{key}" v={quoteattr(text(value))}/>\n')
        elif key == "curve":
            inside.append(f"{indent}  <curve>{value}</curve>\n")
        else:
            attributes += f" {key}={quoteattr(text(value))}"
    if not inside:
        return f"{indent}<{name}{attributes}/>\n"
    return f"{indent}<{name}{attributes}>\n" + "".join(inside) + f"{indent}</{name}>\n"


def export_json(title, slots, sounds):
    """`sounds`: slot -> Node; all slots from 1 to `slots` stand in the list."""
    rows = ",\n".join(as_json(sounds[slot]) if slot in sounds else "null" for slot in range(1, slots + 1))
    return f'{{"device": "Pipit", "title": {json.dumps(title)}, "sounds": [\n{rows}\n]}}\n'


def export_xml(title, sounds):
    rows = "".join(as_xml("sound", node, 1, f' perch="{slot}"') for slot, node in sorted(sounds.items()))
    return f'<?xml version="1.0" encoding="UTF-8"?>\n<pipit title={quoteattr(title)}>\n{rows}</pipit>\n'
