"""The corpus of tests/formats/ by an independent validator, python3-jsonschema: it must agree with Downfit as far as a
JSON Schema reaches.

jsonschema_test.py [PROJECT] prints what is wrong and exits with 1 if anything is.
"""
import json
import pathlib
import re
import sys

import jsonschema

TOKEN = re.compile(r'"(?:\\.|[^"\\])*"|//[^\n]*|/\*.*?\*/', re.DOTALL)


def without_comments(text):
    """JSON without // and /* */ comments; texts in quotes stay as they are."""
    return TOKEN.sub(lambda found: found[0] if found[0].startswith('"') else " ", text)


def each_key_once(members):
    if len({key for key, _ in members}) != len(members):
        raise ValueError("a key stands twice")
    return dict(members)


def no_constant(word):
    raise ValueError(f"{word} is no JSON")


def parse(text):
    """A document; raises ValueError where JSON has none, or a key stands twice."""
    return json.loads(without_comments(text), object_pairs_hook=each_key_once, parse_constant=no_constant)


def read(path):
    return parse(path.read_text(encoding="utf-8-sig"))


KINDS = ("device", "release", "policy", "rig", "substitutes")


def kind_of(path):
    """Policies, rigs and substitutes lie in folders of their own, a device file says what it is by its name."""
    if path.parent.name in ("policy", "rig", "substitutes"):
        return path.parent.name
    return "device" if path.name == "device.json" or path.parent.name.endswith("device") else "release"


def validators(project):
    """By the first words of `format`; a file without one is taken for what its name says."""
    folder = project / "schemas" / "format"
    schemas = {kind: read(folder / f"{kind}.schema.json") for kind in KINDS}
    store = {f"{kind}.schema.json": schema for kind, schema in schemas.items()}
    found = {}
    for kind, schema in schemas.items():
        jsonschema.Draft7Validator.check_schema(schema)
        resolver = jsonschema.RefResolver(f"{kind}.schema.json", schema, store=store)
        found[kind] = jsonschema.Draft7Validator(schema, resolver=resolver)
    return found


def valid_files(project):
    yield from sorted((project / "tests" / "formats" / "valid").glob("*/*.json"))
    yield from sorted(path for path in (project / "schemas").glob("*/*.json") if path.parent.name != "format")


def problems(project):
    judges = validators(project)
    corpus = project / "tests" / "formats"
    rows = read(corpus / "broken.json")["files"]
    told = {"grammar": 0, "schema": 0, "meaning": 0}
    for row in rows:
        told[row["told-by"]] += 1
        judge = judges[kind_of(pathlib.Path(row["file"]))]
        try:
            document = read(corpus / "broken" / row["file"])
        except ValueError:
            if row["told-by"] != "grammar":
                yield f"{row['file']} is no JSON"
            continue
        if row["told-by"] == "grammar":
            yield f"{row['file']} is read as JSON"
        elif judge.is_valid(document) != (row["told-by"] == "meaning"):
            yield f"{row['file']} is {'let through' if judge.is_valid(document) else 'refused'}, but told by {row['told-by']}"
    if min(told.values()) < 10:
        yield f"too few files of one sort: {told}"
    files = list(valid_files(project))
    if len(files) < 10:
        yield f"only {len(files)} valid files"
    for path in files:
        judge = judges[kind_of(path)]
        for error in judge.iter_errors(read(path)):
            yield f"{path.relative_to(project)}: {error.json_path}: {error.message}"


if __name__ == "__main__":
    found = list(problems(pathlib.Path(sys.argv[1]) if len(sys.argv) > 1 else pathlib.Path(__file__).resolve().parents[2]))
    print("\n".join(found))
    sys.exit(1 if found else 0)
