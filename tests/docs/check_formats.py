"""docs/formats.md against schemas/format/: every fenced example validates, and every key that a schema names is shown in
one of them and told in the text.

check_formats.py [PROJECT] prints what is wrong and exits with 1 if anything is.
"""
import pathlib
import re
import sys

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "formats"))
from jsonschema_test import parse, validators  # noqa: E402

FILLING = {
    "device": {"format": "downfit device 1", "device": "wren", "releases": ["1.0"], "layouts": {}},
    "policy": {"format": "downfit policy 1"},
    "rig": {"format": "downfit rig 1", "dumps": {}, "units": [], "songs": []},
    "substitutes": {"format": "downfit substitutes 1", "device": "wren", "substitutes": []},
    "release": {"format": "downfit release 1", "device": "wren", "release": "1.0"},
}
MESSAGES = {"messages": {"block": {"bytes": "F0 7D 09 {data...} F7"}}, "preset": ["block"], "body": {"size": 64}}


class Walker:
    """Marks the keys of a schema that an example uses."""

    def __init__(self, judges):
        self.judges = judges
        self.schemas = {kind: judge.schema for kind, judge in judges.items()}
        self.seen = set()

    def at(self, kind, pointer):
        node = self.schemas[kind]
        for step in pointer.strip("/").split("/") if pointer else []:
            node = node[int(step)] if isinstance(node, list) else node[step.replace("~1", "/").replace("~0", "~")]
        return node

    def holds(self, kind, pointer, value):
        return self.judges[kind].evolve(schema=self.at(kind, pointer)).is_valid(value)

    def walk(self, kind, pointer, value):
        node = self.at(kind, pointer)
        if not isinstance(node, dict):
            return
        if "$ref" in node:
            file, _, target = node["$ref"].partition("#")
            return self.walk(file.split(".")[0] if file else kind, target, value)
        for word in ("allOf", "anyOf", "oneOf"):
            for index in range(len(node.get(word, []))):
                branch = f"{pointer}/{word}/{index}"
                if self.holds(kind, branch, value):
                    self.walk(kind, branch, value)
        if isinstance(value, dict):
            for key, member in value.items():
                if key in node.get("properties", {}):
                    self.seen.add((kind, pointer, key))
                    self.walk(kind, f"{pointer}/properties/{key}", member)
                elif "additionalProperties" in node:
                    self.walk(kind, f"{pointer}/additionalProperties", member)
        if isinstance(value, list) and isinstance(node.get("items"), dict):
            for member in value:
                self.walk(kind, f"{pointer}/items", member)


def named_keys(kind, node, pointer=""):
    """Every key that a schema names and describes, with the pointer of the object that has it."""
    if isinstance(node, list):
        for index, item in enumerate(node):
            yield from named_keys(kind, item, f"{pointer}/{index}")
    elif isinstance(node, dict):
        closed = node.get("additionalProperties") is not True
        for word, value in node.items():
            if word == "properties" and isinstance(value, dict):
                for key, member in value.items():
                    if closed and isinstance(member, dict) and member:
                        yield kind, pointer, key
                    yield from named_keys(kind, member, f"{pointer}/properties/{key}")
            elif word == "definitions":
                for name, member in value.items():
                    yield from named_keys(kind, member, f"{pointer}/definitions/{name}")
            elif word not in ("enum", "const", "required", "dependencies"):
                yield from named_keys(kind, value, f"{pointer}/{word}")


def as_file(text, schemas):
    """The kind of file that an example is of, and the example as a whole file of that kind."""
    document = parse(text if text.lstrip().startswith("{") else "{" + text + "}")
    if "format" in document:
        return document["format"].split()[1], document
    for kind in ("device", "release"):
        if set(document) <= set(schemas[kind]["properties"]):
            return kind, {**FILLING[kind], **document}
    layout = {**MESSAGES, **document}
    if "image" in document:
        del layout["preset"]
    return "device", {**FILLING["device"], "layouts": {"bank": layout}}


def problems(project):
    judges = validators(project)
    walker = Walker(judges)
    page = (project / "docs" / "formats.md").read_text(encoding="utf-8")
    blocks = re.findall(r"^```json\n(.*?)^```", page, re.S | re.M)
    if len(blocks) < 5:
        yield f"only {len(blocks)} examples"
    for number, block in enumerate(blocks, 1):
        try:
            kind, document = as_file(block, walker.schemas)
        except ValueError as error:
            yield f"example {number} is no JSON: {error}: {block.splitlines()[0]}"
            continue
        for error in judges[kind].iter_errors(document):
            yield f"example {number}: {error.json_path}: {error.message}"
        walker.walk(kind, "", document)
    told = set(re.findall(r"[\w$-]+", re.sub(r"^```json\n.*?^```", "", page, flags=re.S | re.M)))
    for kind, schema in walker.schemas.items():
        for name in sorted(set(named_keys(kind, schema))):
            if name not in walker.seen:
                yield f"no example shows {name[2]!r} of {kind}.schema.json#{name[1]}"
            if name[2] not in told:
                yield f"the text does not tell {name[2]!r} of {kind}.schema.json#{name[1]}"


if __name__ == "__main__":
    found = list(problems(pathlib.Path(sys.argv[1]) if len(sys.argv) > 1 else pathlib.Path(__file__).resolve().parents[2]))
    print("\n".join(found))
    sys.exit(1 if found else 0)
