#!/usr/bin/env python3
"""`schema draft` of the Pipit's JSON and XML exports, held against Python's own readers of both: what is drafted, which
range and which choices, and that nothing that varies is left out. Both exports hold the same presets, so both drafts must
explain the same. Usage: draft_by_name_test.py PROGRAM PROJECT
"""

import collections
import gzip
import json
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree as ElementTree
import zipfile

PROGRAM, PROJECT = sys.argv[1], pathlib.Path(sys.argv[2])
del sys.argv[1:]
DUMPS = PROJECT / "demo" / "dumps"
DEVICE = PROJECT / "schemas" / "pipit" / "device.json"
STAMP, RELEASE = 240, "2.1"
ABSENT = object()


def run(*words):
    return subprocess.run([PROGRAM, *words], capture_output=True, text=True, check=False)


def loaded(file):
    text = file.read_text()
    assert text.startswith("// Drafted from dumps: every range and choice is one that was seen, none is documented.\n")
    return json.loads(text.split("\n", 1)[1])


class Members(list):
    """An object as its members in order: a key may stand twice."""


class Json:
    """A path leads from one value to those that it finds."""

    @staticmethod
    def presets(file):
        whole = dict(json.loads(file.read_text(), object_pairs_hook=Members))
        return [sound for sound in whole["sounds"] if sound and dict(sound)["firmware"] == STAMP]

    @staticmethod
    def find(value, path):
        found = [value]
        for step in path.split("/")[1:]:
            inner = []
            for one in found:
                if isinstance(one, Members):
                    inner += [member for key, member in one if key == step]
                elif isinstance(one, list):
                    inner += one if step == "*" else one[int(step):int(step) + 1]
            found = inner
        return found

    @staticmethod
    def leaves(value):
        """Names of values right in it."""
        return {f"/{key}": one for key, one in value if not isinstance(one, list)}

    own = {"/firmware", "/name"}

    @staticmethod
    def number(value):
        return value


class Xml:
    @staticmethod
    def presets(file):
        return [sound for sound in ElementTree.parse(file).getroot().findall("sound") if sound.get("firmware") == str(STAMP)]

    @staticmethod
    def find(value, path):
        if not re.search(r"(^|/)@", path):
            return [one.text for one in value.findall(path)] if path == "curve" else value.findall(path)
        steps, _, attribute = path.rpartition("@")
        found = value.findall(steps.rstrip("/")) if steps else [value]
        return [one.get(attribute) for one in found if one.get(attribute) is not None]

    @staticmethod
    def leaves(value):
        leaves = {f"@{key}": one for key, one in value.attrib.items()}
        for one in value.findall("p"):
            leaves[f"p[@id='{one.get('id')}']/@v"] = one.get("v")
        return leaves

    own = {"@firmware", "@name", "@perch"}

    @staticmethod
    def number(value):
        return {"on": True, "off": False}.get(value) if value in ("on", "off") else int(value)


FORMS = {"json": Json, "xml": Xml}


def instances(form, presets, draft, group):
    """All that a group's path finds, in all presets; the presets themselves for no group."""
    if not group:
        return presets
    around, _, _ = group.rpartition(".")
    path = draft["groups"][group]["path"]
    return [one for outer in instances(form, presets, draft, around) for one in form.find(outer, path)]


def plain(name):
    """Ids as both exports give them: the XML's "p-3" is the JSON's "3"."""
    return re.sub(r"\bp-(\d+)$", r"\1", name)


class DraftsByName(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = pathlib.Path(tempfile.mkdtemp(prefix="downfit-test-"))
        cls.drafts, cls.told = {}, {}
        for name in FORMS:
            (cls.folder / name).mkdir()
            shutil.copy(DEVICE, cls.folder / name / "device.json")
            ran = run("schema", "draft", "--device", cls.folder / name / "device.json", DUMPS / f"pipit-a.{name}", "--release", RELEASE,
                      "--stamp", str(STAMP), "--out", cls.folder / name / f"{RELEASE}.json")
            assert ran.returncode == 0, ran.stdout + ran.stderr
            cls.told[name] = ran.stdout
            cls.drafts[name] = loaded(cls.folder / name / f"{RELEASE}.json")

    @classmethod
    def tearDownClass(cls):
        shutil.rmtree(cls.folder)

    def test_ranges_and_choices_are_what_was_seen(self):
        for name, form in FORMS.items():
            draft, presets = self.drafts[name], form.presets(DUMPS / f"pipit-a.{name}")
            self.assertGreater(len(draft["parameters"]), 40)
            for parameter, entry in draft["parameters"].items():
                with self.subTest(form=name, parameter=parameter):
                    group, _, _ = parameter.rpartition(".")
                    where = instances(form, presets, draft, group)
                    seen = [form.number(value) for one in where for value in form.find(one, entry["path"])]
                    self.assertEqual(entry["documented"], "observed")
                    count = int(re.search(r"seen in (\d+) ", entry["note"]).group(1))
                    self.assertEqual(len(seen), count)
                    if entry.get("kind") == "switch":
                        self.assertLessEqual(set(seen), {False, True})
                    elif "choices" in entry:
                        self.assertEqual(set(entry["choices"].values()), set(seen))
                    else:
                        self.assertEqual(entry["range"], [min(seen), max(seen)])
                    if "list" in entry:
                        self.assertEqual(entry["list"]["count"], max(len(form.find(one, entry["path"])) for one in where))

    def test_nothing_that_varies_is_left_out_and_nothing_else_is_in(self):
        for name, form in FORMS.items():
            draft, presets = self.drafts[name], form.presets(DUMPS / f"pipit-a.{name}")
            for group in ["", *draft["groups"]]:
                held = collections.defaultdict(list)
                where = instances(form, presets, draft, group)
                for one in where:
                    for path, value in form.leaves(one).items():
                        held[path].append(value)
                varying = {path for path, values in held.items() if len(set(values)) > 1 or len(values) < len(where)} - form.own
                drafted = {entry["path"] for parameter, entry in draft["parameters"].items()
                           if parameter.rpartition(".")[0] == group and "list" not in entry}
                with self.subTest(form=name, group=group):
                    self.assertEqual(drafted, varying)

    def test_both_explain_the_same(self):
        def explained(draft):
            return {plain(name): (entry.get("kind"), entry.get("range"), entry.get("choices"), entry.get("list"),
                                  re.sub("texts", "numbers", entry["note"])) for name, entry in draft["parameters"].items()}
        self.assertEqual(explained(self.drafts["json"]), explained(self.drafts["xml"]))
        self.assertEqual({name: group.get("count") for name, group in self.drafts["json"]["groups"].items()},
                         {name: group.get("count") for name, group in self.drafts["xml"]["groups"].items()})
        self.assertEqual(self.told["json"].replace("/json/", "/xml/"), self.told["xml"])
        self.assertIn("54 of 66 values differ between presets; they became 54 parameters:", self.told["json"])

    def test_what_hand_written_files_say_stands_where_the_draft_says(self):
        """Every place that is drafted is one of a parameter, or of a version, in the schema files kept by hand."""
        places = {"json": collections.defaultdict(set), "xml": collections.defaultdict(set)}
        for file in sorted((PROJECT / "schemas" / "pipit").glob("[0-9]*.json")):
            text = re.sub(r"^\s*//.*$|(?<=[,{\]}]) *//.*$", "", file.read_text(), flags=re.M)
            release = json.loads(text)
            for ident, entry in {**release.get("groups", {}), **release.get("parameters", {})}.items():
                for name, layout in (("json", "export"), ("xml", "library")):
                    place = ((entry or {}).get("in") or {}).get(layout, {})
                    around = ident if ident in release.get("groups", {}) and "version" in place else ident.rpartition(".")[0]
                    for key in ("path", "version"):
                        if key in place:
                            places[name][around].add(place[key])
        unknown = {"/122", "p[@id='122']/@v"}  # planted: no release knows it
        for name, draft in self.drafts.items():
            for parameter, entry in draft["parameters"].items():
                if entry["path"] not in unknown:
                    self.assertIn(entry["path"], places[name][parameter.rpartition(".")[0]], (name, parameter))

    def test_coverage_and_check_take_it(self):
        for name in FORMS:
            with self.subTest(form=name):
                dump, schemas = DUMPS / f"pipit-a.{name}", self.folder / name
                coverage = json.loads(run("schema", "coverage", dump, "--schemas", schemas, "--format", "json").stdout)
                part, = coverage["parts"]
                self.assertEqual((part["presets"], part["beyond-range"]), (56, []))
                self.assertEqual([one["path"] for one in part["values"]["unexplained"] if one["differs"]], [])
                checked = run("check", dump, "--on", RELEASE, "--variant", "pipit", "--schemas", schemas, "--format", "json")
                presets = [one for one in json.loads(checked.stdout)["presets"] if one["stamp"] == str(STAMP)]
                self.assertEqual(len(presets), 56)
                for one in presets:
                    target, = one["targets"]
                    self.assertEqual(target["verdict"], "intact", (one["name"], target["findings"]))
                    self.assertGreater(target["observed-parameters"], 0)
                shown = run("check", dump, "--on", RELEASE, "--schemas", schemas)
                self.assertRegex(shown.stdout, r"Only observed, not documented: up to \d+ parameters of \d+ presets")
                self.assertIn("safe means here that no change is known", " ".join(shown.stdout.split()))
                self.assertNotIn("then load", shown.stdout)

    def test_a_stamp_that_is_nowhere_is_told(self):
        for name, wrong in (("json", "/firm"), ("xml", "firmware")):
            with self.subTest(form=name):
                where = self.folder / f"stampless-{name}"
                where.mkdir()
                text = DEVICE.read_text()
                right = "/firmware" if name == "json" else "@firmware"
                text = text.replace(f'"stamp": "{right}"', f'"stamp": "{wrong}"')
                (where / "device.json").write_text(text)
                ran = run("schema", "draft", "--device", where / "device.json", DUMPS / f"pipit-a.{name}", "--release", RELEASE, "--out",
                          where / "draft.json")
                self.assertEqual(ran.returncode, 2, ran.stdout)
                self.assertIn(f'no preset has a stamp at "{wrong}"', ran.stderr)
                self.assertIn('"@firmware" is an attribute' if name == "xml" else 'such as "/firmware"', ran.stderr)
                self.assertFalse((where / "draft.json").exists())

    def test_folders_archives_and_packed_files_are_read_too(self):
        plain = (self.folder / "json" / f"{RELEASE}.json").read_text()
        where = self.folder / "packed"
        where.mkdir()
        (where / "notes.txt").write_text("left out")
        shutil.copy(DUMPS / "pipit-a.json", where)
        packed, zipped = self.folder / "a.json.gz", self.folder / "a.zip"
        packed.write_bytes(gzip.compress((DUMPS / "pipit-a.json").read_bytes()))
        with zipfile.ZipFile(zipped, "w") as archive:
            archive.write(DUMPS / "pipit-a.json", "sounds/pipit-a.json")

        def draft(dump, out, *more):
            return run("schema", "draft", "--device", self.folder / "json" / "device.json", dump, "--release", RELEASE, "--stamp", str(STAMP),
                       "--out", out, *more)
        for dump in (where, packed, zipped):
            with self.subTest(dump=dump.name):
                out = self.folder / f"{dump.name}.draft"
                ran = draft(dump, out)
                self.assertEqual(ran.returncode, 0, ran.stderr)
                self.assertEqual("1 file in it is left out" in ran.stderr, dump == where)
                self.assertEqual(re.sub(r'"source": .*', "", out.read_text()), re.sub(r'"source": .*', "", plain))
        # What lies in the folder that is read is never written over, forced or not.
        before = (where / "pipit-a.json").read_bytes()
        ran = draft(where, where / "pipit-a.json", "--force")
        self.assertEqual(ran.returncode, 2)
        self.assertIn("is one of the files that are read", ran.stderr)
        self.assertEqual((where / "pipit-a.json").read_bytes(), before)


if __name__ == "__main__":
    unittest.main()
