#!/usr/bin/env python3
"""`schema coverage` and `schema moved` on JSON and XML dumps, held against Python's own readers of both.
Usage: by_name_studies_test.py PROGRAM PROJECT
"""

import collections
import json
import pathlib
import re
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as ElementTree

PROGRAM, PROJECT = sys.argv[1], pathlib.Path(sys.argv[2])
DUMPS = PROJECT / "demo" / "dumps"
STAMPS = {212: "2.0", 240: "2.1"}
OWN = {"json": {"/firmware", "/name"}, "xml": {"@firmware", "@name", "@perch"}}


def run(*words):
    return subprocess.run([PROGRAM, "schema", *words, "--schemas", PROJECT / "schemas"], capture_output=True, text=True, check=False)


def report(*words):
    ran = run(*words, "--format", "json")
    assert ran.returncode == 0, ran.stderr
    return json.loads(ran.stdout)


class Members(list):
    """An object as its members in order: a key may stand twice."""


def json_leaves(value, path=""):
    if isinstance(value, Members):
        for key, member in value:
            yield from json_leaves(member, f"{path}/{key}")
    elif isinstance(value, list):
        for index, item in enumerate(value):
            yield from json_leaves(item, f"{path}/{index}")
    else:
        yield path, value


def json_presets(file):
    for slot, sound in enumerate(dict(json.loads(file.read_text(), object_pairs_hook=Members))["sounds"]):
        if sound is not None:
            yield slot + 1, dict(sound)["firmware"], list(json_leaves(sound))


def xml_leaves(element, path=""):
    for name, text in element.attrib.items():
        if not (element.tag == "p" and name == "id"):
            yield f"{path}@{name}", text
    if element.text and element.text.strip():
        yield path.rstrip("/"), element.text
    counts = collections.Counter(child.tag for child in element)
    met = collections.Counter()
    for child in element:
        met[child.tag] += 1
        step = child.tag
        if child.tag == "p":
            step += f"[@id='{child.get('id')}']"
        elif counts[child.tag] > 1:
            step += f"[{met[child.tag]}]"
        yield from xml_leaves(child, f"{path}{step}/")


def xml_presets(file):
    for sound in ElementTree.parse(file).getroot().findall("sound"):
        yield int(sound.get("perch")), int(sound.get("firmware")), list(xml_leaves(sound))


READERS = {"json": json_presets, "xml": xml_presets}


def check_coverage(form, name, unknown):
    presets = list(READERS[form](DUMPS / f"{name}.{form}"))
    told = report("coverage", DUMPS / f"{name}.{form}")
    expected = collections.defaultdict(lambda: [0, 0, set(), collections.Counter()])
    for _, stamp, leaves in presets:
        one = expected[STAMPS[stamp]]
        one[0] += 1
        for path, _ in leaves:
            if path in OWN[form]:
                continue
            one[1] += 1
            one[2].add(path)
            if path in unknown:
                one[3][path] += 1
    assert {part["release"] for part in told["parts"]} == set(expected), told["parts"]
    for part in told["parts"]:
        presets_there, values, paths, missing = expected[part["release"]]
        seen = part["values"]
        assert part["presets"] == presets_there, part
        assert (seen["values"], seen["paths"]) == (values, len(paths)), (form, part["release"], seen, values, len(paths))
        assert seen["explained"] == values - sum(missing.values()), (seen, missing)
        assert {one["path"]: one["presets"] for one in seen["unexplained"]} == missing, (seen["unexplained"], missing)
        assert part["bytes"] == [] and part["body-bytes"] == 0
    return sum(part["values"]["values"] for part in told["parts"])


def check_moved(form, find, put, path, before, after, parameter, folder):
    file = DUMPS / f"pipit-a.{form}"
    text = file.read_text()
    assert text.count(find) >= 1
    turned = folder / f"turned.{form}"
    turned.write_text(text.replace(find, put, 1))
    ours = {slot: dict(leaves) for slot, _, leaves in READERS[form](file)}
    theirs = {slot: dict(leaves) for slot, _, leaves in READERS[form](turned)}
    moved = {(slot, where) for slot, leaves in theirs.items() for where in {*leaves, *ours[slot]} if leaves.get(where) != ours[slot].get(where)}
    told = report("moved", file, turned)
    values = [(entry["slot"][1], value) for entry in told["entries"] for value in entry["values"]]
    assert {(slot, value["path"]) for slot, value in values} == moved, (values, moved)
    assert [(value["path"], value["before"], value["after"]) for _, value in values] == [(path, before, after)], values
    assert [one["parameter"] for one in values[0][1]["parameters"]] == parameter, values
    shown = run("moved", file, turned).stdout
    assert f"{path}: {before or 'not there'} -> {after or 'not there'}" in shown, shown
    assert (f"is {parameter[0]}:" in shown) if parameter else ("no parameter takes it" in shown), shown


def main():
    values = check_coverage("json", "pipit-a", {"/122"}) + check_coverage("xml", "pipit-a", {"p[@id='122']/@v"})
    assert values > 5000, values
    text = run("coverage", DUMPS / "pipit-a.json").stdout
    assert re.search(r"values explained; of \d+ paths 1 is not, and 1 of these varies", text.replace("\n  ", " ")), text
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        check_moved("json", '"2": 0, "3": 76,', '"2": 0, "3": 81,', "/drive/0/3", "76", "81", ["drive[1].gain"], folder)
        check_moved("json", '"2": 115, "drive"', '"2": 115, "777": true, "drive"', "/777", None, "true", [], folder)
        check_moved("json", '"1": 880, "2": 115,', '"2": 115,', "/1", "880", None, ["tempo"], folder)
        check_moved("xml", '<p id="3" v="76"/>', '<p id="3" v="81"/>', "drive[1]/p[@id='3']/@v", "76", "81", ["drive[1].gain"], folder)
        same = run("moved", DUMPS / "pipit-a.xml", DUMPS / "pipit-a.xml").stdout
        assert "0 of 60 presets moved" in " ".join(same.split()), same
    print(f"{values} values")
    return 0


if __name__ == "__main__":
    sys.exit(main())
