"""downfit compare against units that the demo's generator plays: its own tables say what each release makes of each
preset, and its own encoder writes what the unit would save then. Neither reads a schema or any of Downfit's code.

What the unit shows must be what the schemas predict; and where a copy of the schemas states one rule otherwise, exactly
that rule must be named, with its file and line, and with what the unit does.

Usage: read_back_test.py DOWNFIT PROJECT_FOLDER
"""

import json
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import unittest

PROGRAM, PROJECT = sys.argv[1], pathlib.Path(sys.argv[2])
del sys.argv[1:]
DUMPS = PROJECT / "demo" / "dumps"
SCHEMAS = PROJECT / "schemas"
sys.dont_write_bytecode = True
sys.path[:0] = [str(PROJECT / "demo"), str(PROJECT / "demo" / "generate")]

import generate  # noqa: E402
import judge  # noqa: E402
import sysex  # noqa: E402
from sound import Sound  # noqa: E402

UNIT = "2.10"
judge.set_up(generate.RELEASES)


def played(release, body):
    """The body that a unit saves once it has loaded this one."""
    reading = judge.Reading(release, body)
    writer = Sound(release, "")
    out = bytearray(release.size)
    for ident, inst in reading.here.items():
        got = reading.got(ident)
        value, par = got.value, inst.par
        if isinstance(value, judge.Unknown):
            stored = value.number
        elif got.did in (None, "unsure", "out-of-range"):
            stored = par.place.read(reading.body, inst.at)  # as it was read
            if stored is None:
                stored = writer.stored(par, value)
        else:
            stored = writer.stored(par, value)
        par.place.write(out, inst.at, stored)
    return bytes(out)


def bank(name):
    """slot -> (release that saved it, body)"""
    return generate.build_bank(name)


class ReadBack(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory(prefix="downfit-test-")
        self.addCleanup(folder.cleanup)
        self.path = pathlib.Path(folder.name)

    def compare(self, first, second, *arguments, schemas=SCHEMAS):
        ran = subprocess.run([PROGRAM, "compare", str(first), str(second), "--schemas", str(schemas), "--device",
                              "dunlin-6", "--format", "json", *arguments],
                             capture_output=True, timeout=280, check=False)
        self.assertIn(ran.returncode, (0, 1, 3), ran.stderr.decode())
        return ran.returncode, json.loads(ran.stdout)

    def write_unit(self, presets):
        """What a unit with UNIT gives back of a bank: each preset called up, and what plays saved."""
        unit = generate.RELEASES[UNIT]
        data = bytearray()
        for slot, (_, body) in presets.items():
            data += sysex.preset(slot - 1, unit.stamp, played(unit, body))
        path = self.path / "back.syx"
        path.write_bytes(data)
        return path

    def copied(self, file, line_with, old, new):
        """A copy of the schemas with one rule stated otherwise; and the line it stands in."""
        shutil.copytree(SCHEMAS, self.path / "schemas")
        path = self.path / "schemas" / "dunlin-6" / file
        lines = path.read_text().splitlines(keepends=True)
        found = [n for n, line in enumerate(lines) if line_with in line and old in line]
        self.assertEqual(len(found), 1, found)
        lines[found[0]] = lines[found[0]].replace(old, new)
        path.write_text("".join(lines))
        return path, found[0] + 1

    def test_every_preset_is_as_predicted(self):
        for name in ("bank-a", "bank-b"):
            with self.subTest(bank=name):
                presets = bank(name)
                status, report = self.compare(DUMPS / f"{name}.syx", self.write_unit(presets), "--read-back", "loaded")
                self.assertEqual(report["request"]["on"], UNIT)
                self.assertEqual(report["matched-by"], "slot")
                self.assertEqual(report["summary"]["same"], len(presets), report["summary"])
                self.assertEqual(report["contradicted-rules"], [])
                self.assertEqual(report["unexplained-values"], [])
                self.assertEqual(status, 0)

    def test_a_rule_stated_wrong_is_named(self):
        # file, a word of the line, as it is, as the copy has it, whose own rule it is
        plants = [
            ("1.00.json", '"amp.alternate.model"', '"unknown-choice": "reset"', '"unknown-choice": "clamp"',
             "amp.alternate.model"),
            ("1.00.json", '"drive.alternate.model"', '"unknown-choice": "first"', '"unknown-choice": "clamp"',
             "drive.alternate.model"),
            ("1.00.json", '"amp.alternate.presence"', '"off-step": "round"', '"off-step": "keep"',
             "amp.alternate.presence"),
            ("1.00.json", '"delay.alternate.feedback"', '"out-of-range": "keep"', '"out-of-range": "clamp"',
             "delay.alternate.feedback"),
            ("device.json", '"out-of-range":   "clamp"', '"clamp"', '"keep"', None),
        ]
        back = self.write_unit(bank("bank-a"))
        for file, word, old, new, parameter in plants:
            with self.subTest(file=file, word=word):
                whole = word.replace(old, new) if parameter is None else new
                rule, stated = re.match(r'"([\w-]+)":\s*"(\w+)"', whole).groups()
                truth = re.search(r'"(\w+)"$', old).group(1)
                shutil.rmtree(self.path / "schemas", ignore_errors=True)
                path, line = self.copied(file, word, old, new)
                status, report = self.compare(DUMPS / "bank-a.syx", back, "--read-back", "loaded",
                                              schemas=self.path / "schemas")
                self.assertEqual(status, 1)
                self.assertEqual(report["unexplained-values"], [])
                self.assertEqual(len(report["contradicted-rules"]), 1, report["contradicted-rules"])
                fault = report["contradicted-rules"][0]
                self.assertEqual((fault["rule"], fault["stated"]), (rule, stated))
                self.assertEqual((fault["place"]["file"], fault["place"]["line"]), (str(path), line))
                self.assertIn(truth, fault["fits"])
                self.assertNotIn(stated, fault["fits"])
                self.assertEqual(fault["own-of"], parameter)
                if parameter:
                    self.assertEqual(fault["parameters"], [parameter])
                # The statement is inherited: the release that was read back gets one of its own.
                self.assertEqual(fault["remedy"]["file"], str(self.path / "schemas" / "dunlin-6" / "2.10.json"))
                self.assertIn(f'"{rule}": "{fault["fits"][0]}"', fault["remedy"]["write"])
                # What the report says to write, written: then nothing is contradicted any more.
                self.write_remedy(fault["remedy"])
                status, report = self.compare(DUMPS / "bank-a.syx", back, "--read-back", "loaded",
                                              schemas=self.path / "schemas")
                self.assertEqual((status, report["contradicted-rules"]), (0, []))

    def write_remedy(self, remedy):
        """Lays what is to be written over the release file, as its keys stand."""
        path = pathlib.Path(remedy["file"])
        text = re.sub(r"//[^\n]*", "", path.read_text())
        release = json.loads(text)
        patch = json.loads("{" + remedy["write"] + "}")

        def lay(over, into):
            for key, value in over.items():
                if isinstance(value, dict):
                    lay(value, into.setdefault(key, {}))
                else:
                    into[key] = value
        lay(patch, release)
        path.write_text(json.dumps(release, indent=2))

    def test_memory_proves_no_loading(self):
        status, report = self.compare(DUMPS / "bank-a.syx", DUMPS / "bank-a.syx", "--read-back", "stored")
        self.assertEqual(status, 0)
        self.assertEqual(report["summary"]["same-bytes"], report["summary"]["pairs"])
        self.assertTrue(all(pair["prediction"] is None for pair in report["pairs"]))


if __name__ == "__main__":
    unittest.main()
