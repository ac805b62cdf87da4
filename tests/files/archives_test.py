#!/usr/bin/env python3
"""Archives made by Python's own zipfile and gzip: downfit sees the same presets in them as in the plain dump, says what
is wrong with a damaged or encrypted one, and tells what an archive without presets holds instead."""

import gzip
import io
import json
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest
import zipfile

PROGRAM = sys.argv.pop(1)
PROJECT = pathlib.Path(sys.argv.pop(1))
DUMP = PROJECT / "demo" / "dumps" / "bank-a.syx"


class Archives(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory(prefix="downfit-test-")
        self.addCleanup(self.folder.cleanup)
        self.path = pathlib.Path(self.folder.name)

    def run_program(self, *arguments, stdin=None):
        return subprocess.run([PROGRAM, *map(str, arguments), "--schemas", str(PROJECT / "schemas")],
                              capture_output=True, timeout=240, check=False, input=stdin)

    def check(self, *paths, stdin=None):
        """Verdicts on 3.00 by slot and name, and the exit status."""
        ran = self.run_program("check", *paths, "--on", "3.00", "--format", "json", stdin=stdin)
        self.assertIn(ran.returncode, (0, 1, 3), ran.stderr.decode())
        report = json.loads(ran.stdout)
        # A fingerprint is made from the file's name too.
        presets = [(preset["slot"], preset["name"], preset["state"],
                    re.sub(r'"fingerprint": "[^"]*"', "", json.dumps(preset["targets"], sort_keys=True)))
                   for preset in report["presets"]]
        return ran.returncode, presets

    def zip(self, name, files, **options):
        with zipfile.ZipFile(self.path / name, "w", zipfile.ZIP_DEFLATED, **options) as archive:
            for inside, content in files:
                archive.writestr(inside, content)
        return self.path / name

    def test_the_same_presets_however_they_are_packed(self):
        content = DUMP.read_bytes()
        expected = self.check(DUMP)
        self.assertGreater(len(expected[1]), 100)
        (self.path / "a.syx.gz").write_bytes(gzip.compress(content))
        (self.path / "folder" / "inner").mkdir(parents=True)
        (self.path / "folder" / "inner" / "a.syx").write_bytes(content)
        inner = io.BytesIO()
        with zipfile.ZipFile(inner, "w") as archive:
            archive.writestr("deep/er/a.syx", content)
        for path in (self.path / "a.syx.gz", self.path / "folder",
                     self.zip("a.zip", [("a.syx", content)]),
                     self.zip("stored.zip", [("a/b/a.syx", content), ("__MACOSX/a.syx", b"no"), (".DS_Store", b"no")]),
                     self.zip("twice.zip", [("inner.zip", inner.getvalue())])):
            with self.subTest(path=path.name):
                self.assertEqual(self.check(path), expected)
        with self.subTest("standard input"):
            self.assertEqual(self.check("-", stdin=gzip.compress(content)), expected)

    def test_what_is_no_dump_is_left_out_and_told(self):
        path = self.zip("set.zip", [("a.syx", DUMP.read_bytes()), ("read me.txt", "Hello"),
                                    ("cover.png", b"\x89PNG\r\n\x1a\n")])
        ran = self.run_program("check", path, "--on", "3.00", "--summary")
        self.assertIn(ran.returncode, (0, 1, 3), ran.stderr.decode())
        self.assertIn("set.zip: 2 files in it are left out, for they are no dumps (1 picture, 1 text)",
                      ran.stderr.decode())

    def test_an_archive_without_presets_says_what_it_holds(self):
        firmware = bytes(range(256)) * 64
        path = self.zip("update.zip", [("dunlin-3.10.bin", firmware), ("release notes.txt", "New: more.")])
        ran = self.run_program("check", path, "--on", "3.00")
        self.assertEqual(ran.returncode, 2)
        self.assertIn("update.zip: holds no dump, but 1 text, 1 binary file, perhaps a firmware update",
                      ran.stderr.decode())
        for name, content, words in (("a.png", b"\x89PNG\r\n\x1a\n", "is a picture"), ("a.txt", b"Hello", "is a text"),
                                     ("a.bin", firmware, "is a binary file, perhaps a firmware update"),
                                     ("a.syx", b"", "is an empty file")):
            (self.path / name).write_bytes(content)
            ran = self.run_program("check", self.path / name, "--on", "3.00")
            self.assertEqual(ran.returncode, 2)
            self.assertIn(words, ran.stderr.decode())
        (self.path / "nothing").mkdir()
        ran = self.run_program("check", self.path / "nothing", "--on", "3.00")
        self.assertEqual(ran.returncode, 2)
        self.assertIn("nothing: holds no files", ran.stderr.decode())

    def test_damage_in_a_zip_archive_is_told(self):
        path = self.zip("a.zip", [("a.syx", DUMP.read_bytes())])
        whole = path.read_bytes()
        for length in range(4, len(whole), len(whole) // 40):
            path.write_bytes(whole[:length])
            ran = self.run_program("check", path, "--on", "3.00")
            self.assertEqual(ran.returncode, 2)
            self.assertIn("is a damaged zip archive", ran.stderr.decode())
        flipped = bytearray(whole)
        flipped[len(whole) // 2] ^= 0x10
        path.write_bytes(flipped)
        ran = self.run_program("check", path, "--on", "3.00")
        self.assertEqual(ran.returncode, 2)
        self.assertIn("a.zip/a.syx: ", ran.stderr.decode())

    def test_an_encrypted_file_in_a_zip_archive_is_told(self):
        path = self.zip("a.zip", [("a.syx", DUMP.read_bytes())])
        content = bytearray(path.read_bytes())
        # Bit 0 of the general purpose flag says that a file is encrypted (APPNOTE 4.4.4): in both headers.
        content[6] |= 1
        content[content.rindex(b"PK\1\2") + 8] |= 1
        path.write_bytes(content)
        ran = self.run_program("check", path, "--on", "3.00")
        self.assertEqual(ran.returncode, 2)
        self.assertIn("a.zip/a.syx: is encrypted in the archive", ran.stderr.decode())

    def test_a_zip_bomb_is_refused(self):
        path = self.zip("bomb.zip", [("a.syx", b"\xF0" + bytes(65 * 1024 * 1024))])
        self.assertLess(path.stat().st_size, 100_000)
        ran = self.run_program("check", path, "--on", "3.00")
        self.assertEqual(ran.returncode, 2)
        self.assertIn("unpacks to more than 64 MiB", ran.stderr.decode())


if __name__ == "__main__":
    unittest.main()
