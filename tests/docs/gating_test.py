#!/usr/bin/env python3
"""Follows docs/gating.md: a small preset library of the smallest device of docs/formats.md, kept with git, gated by the script as
the page shows it, through good and bad changes.

usage: gating_test.py PROGRAM PROJECT_FOLDER [unittest options]
"""
import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree as ElementTree

PROGRAM, PROJECT = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]).resolve()
del sys.argv[1:3]

PAGE = (PROJECT / "docs" / "gating.md").read_text(encoding="utf-8")
FORMATS = (PROJECT / "docs" / "formats.md").read_text(encoding="utf-8")
ROOM, PLATE, HALL = 0, 1, 2  # of 1.1; 1.0 has no Plate, and 1 is Hall there


def blocks(text, kind):
    """What stands behind ```KIND, and the block's text."""
    return re.findall(rf"^```{kind}([^\n]*)\n(.*?)^```", text, re.S | re.M)


def block(info):
    return next(text for kind in ("sh", "json") for words, text in blocks(PAGE, kind) if f"{kind}{words}" == info)


def preset(slot, stamp, volume, mode):
    return bytes([0xF0, 0x7D, 0x09, slot, stamp, volume, mode, 0xF7])


class Gate(unittest.TestCase):
    def setUp(self):
        self.scratch = tempfile.TemporaryDirectory()
        self.addCleanup(self.scratch.cleanup)
        self.library = pathlib.Path(self.scratch.name) / "a library"
        self.write("gate", block("sh gate"))
        (self.library / "gate").chmod(0o755)
        self.write("policy.json", block("json policy.json"))
        section = FORMATS.partition("\n## The smallest device\n")[2].partition("\n## ")[0]
        for (_, text), name in zip(blocks(section, "json"), ("device", "1.0", "1.1")):
            self.write(f"schemas/wren/{name}.json", text.replace('"newer-stamp": "load"', '"newer-stamp": "load", "older-stamp": "load"'))
        self.write("presets/verse.syx", preset(0, 1, 80, ROOM) + preset(1, 1, 70, ROOM))
        self.write(".gitignore", "gate-reports/\n")
        self.git("init", "-q", "-b", "main")
        self.commit("the first presets")

    def write(self, name, content):
        path = self.library / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content if isinstance(content, bytes) else content.encode())

    def git(self, *words):
        subprocess.run(["git", "-c", "user.name=Half Past Harbour", "-c", "user.email=band@example.org", *words], cwd=self.library,
                       env={**os.environ, "GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_SYSTEM": os.devnull}, check=True)

    def commit(self, message):
        self.git("add", "-A")
        self.git("commit", "-q", "-m", message)

    def change(self, name, files):
        """A branch off what is checked out, with these files."""
        self.git("checkout", "-q", "-b", re.sub("[^a-z0-9.]+", "-", name))
        for file, content in files.items():
            self.write(file, content)
        self.commit(name)

    def gate(self, path=True):
        environment = {key: value for key, value in os.environ.items() if not key.startswith("DOWNFIT_")}
        if path:
            environment["PATH"] = f"{PROGRAM.parent}:{environment['PATH']}"
        # As a server does it: a fresh clone, called from elsewhere.
        clone = pathlib.Path(tempfile.mkdtemp(dir=self.scratch.name)) / "clone"
        self.git("clone", "-q", ".", str(clone))
        run = subprocess.run(["sh", str(clone / "gate")], cwd="/", env=environment, capture_output=True, text=True, check=False)
        self.reports = clone / "gate-reports"
        return run

    def says(self, status, words):
        run = self.gate()
        self.assertEqual(run.returncode, status, run.stdout + run.stderr)
        self.assertIn(words, run.stdout)
        self.assertEqual(sorted(path.name for path in self.reports.iterdir()),
                         ["presets.html", "presets.json", "presets.junit", "presets.sarif"])
        suites = ElementTree.parse(self.reports / "presets.junit").getroot()
        bad = int(suites.get("failures")) + int(suites.get("errors"))
        self.assertEqual(bad == 0, status == 0, "the page of test results says otherwise")
        return run

    def test_a_good_change_goes_in(self):
        self.says(0, "gate: the change may go in")
        self.change("another preset", {"presets/chorus/one.syx": preset(2, 2, 60, ROOM)})
        self.says(0, "gate: the change may go in")

    def test_a_bad_change_stays_out_until_it_is_accepted(self):
        self.change("a plate", {"presets/chorus.syx": preset(2, 2, 60, PLATE)})
        self.says(1, "changes audibly")
        report = json.loads((self.reports / "presets.json").read_text())
        failing = [(one["slot"], target["release"]) for one in report["presets"] for target in one["targets"] if target["fails"]]
        self.assertEqual(failing, [(3, "1.0")])
        accepted = {**json.loads(block("json policy.json")), **json.loads(block("json merge policy.json"))}
        self.change("a plate, accepted", {"policy.json": json.dumps(accepted)})
        run = self.gate()
        self.assertEqual(run.returncode, 0, run.stdout + run.stderr)
        self.assertIn("monitors down", run.stdout.lower(), "a policy hides no caution")

    def test_a_damaged_dump_stays_out(self):
        self.change("cut short", {"presets/chorus.syx": preset(2, 2, 60, ROOM) + preset(3, 2, 60, ROOM)[:-3]})
        self.says(2, "wrong or damaged")

    def test_what_cannot_be_decided_stays_out(self):
        self.change("a hall of 1.1", {"presets/chorus.syx": preset(2, 2, 60, HALL)})
        self.says(3, "could not be decided")

    def test_a_broken_policy_or_schema_stays_out(self):
        for file in ("policy.json", "schemas/wren/1.0.json"):
            self.git("checkout", "-q", "main")
            self.change(f"broken {pathlib.Path(file).name}", {file: "{"})
            run = self.gate()
            self.assertNotIn(run.returncode, (0, 1), run.stdout + run.stderr)
            self.assertNotIn("may go in", run.stdout)

    def test_no_program_is_no_pass(self):
        run = self.gate(path=False)
        self.assertGreaterEqual(run.returncode, 70)
        self.assertNotIn("may go in", run.stdout)

    def test_a_baseline_lets_only_what_was_there(self):
        self.change("a plate", {"presets/chorus.syx": preset(2, 2, 60, PLATE)})
        self.gate()
        self.change("a baseline", {"baseline.json": (self.reports / "presets.json").read_bytes()})
        self.assertEqual(self.gate().returncode, 0)
        self.change("one more", {"presets/outro.syx": preset(4, 2, 60, PLATE)})
        self.assertEqual(self.gate().returncode, 1)


if __name__ == "__main__":
    unittest.main()
