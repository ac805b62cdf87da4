"""Hostile texts through the real program: names in dumps, labels and titles in schemas, file names, words of the call.

hostile_test.py PROGRAM [unittest options]. Whatever they hold, text output has no control character but the line
break and nothing that turns a line, and JSON output is JSON in UTF-8 that says the same.
"""
import json
import pathlib
import subprocess
import sys
import tempfile
import unicodedata
import unittest

PROGRAM = sys.argv.pop(1) if len(sys.argv) > 1 else "downfit"
NAME_BYTES = 4096  # the longest text that a parameter may be
LONG = 65536

# Unicode 15, Bidi_Control (PropList.txt), from memory.
TURNING = {0x61C, 0x200E, 0x200F, *range(0x202A, 0x202F), *range(0x2066, 0x206A)}

HOSTILE = {
    "terminal escape": b"\x1b[2J\x1b]0;owned\x07\x1b[31mRope Lead",
    "markup": b"<script>alert(1)</script>&amp;<b>\"'",
    "line breaks": b"one\nslot 1 intact\r\ntwo\x0b\x0c",
    "right to left": "\u202egnp.\u202cab\u200f\u2067x\u2069\u061c".encode(),
    "separators": "a\u2028b\u2029c\ufeffd\u00ad\u200b".encode(),
    "C1 controls": "\u009b31m\u0085\u0090".encode(),
    "C1 bytes": b"\x9b31m\x85\x90",
    "not UTF-8": b"\xff\xfe\xc0\xaf\xed\xa0\x80\xf5\x80\x80\x80\xe2\x82",
    "zero": b"before\0after",
    "marks": ("Z" + "\u0335\u0321\u0489" * 40).encode(),
    "tag characters": "\U000e0041\U000e007f".encode(),
    "wide": ("\u6e21" * 300).encode(),
    "long": b"Harbour " * 8192,
    "long word": b"x" * LONG,
    "JSON": b"\",\"verdict\":\"intact\\\\\",\\u0000{}[]",
}

# A reader of text can tell none of these from nothing at all.
LABELS = {what: text.decode("utf-8") for what, text in HOSTILE.items() if what not in ("C1 bytes", "not UTF-8")}


def device(title="Wren", maker="Quillfeather"):
    return {
        "format": "downfit device 1", "device": "wren", "title": title, "maker": maker,
        "releases": [{"release": "1.0", "stamp": 1}, {"release": "1.1", "stamp": 2}],
        "layouts": {"file": {"as": "raw", "begins-with": "57 52", "stamp": {"at": 2, "as": "uint8"},
                             "body": {"size": 8 + NAME_BYTES}}},
        "rules": {"out-of-range": "clamp", "unknown-choice": "clamp", "newer-stamp": "load", "long-text": "cut"},
    }


def release(name, label="Room", encoding="utf-8", **more):
    return {
        "format": "downfit release 1", "device": "wren", "release": name,
        "parameters": {
            "name": {"at": 8, "as": "text", "length": NAME_BYTES, "encoding": encoding, "role": "name"},
            "mode": {"at": 4, "choices": [label, "Hall"], "role": "model"},
        }, **more}


class Hostile(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)
        self.path = pathlib.Path(self.folder.name)

    def schemas(self, one_device, *releases):
        folder = self.path / "schemas" / "wren"
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "device.json").write_text(json.dumps(one_device), encoding="utf-8")
        for number, content in enumerate(releases):
            (folder / f"{number}.json").write_text(json.dumps(content), encoding="utf-8")

    def dump(self, name=b"Rope Lead", mode=0, file=b"bank.bin"):
        path = bytes(self.path) + b"/" + file
        text = name[:NAME_BYTES]
        with open(path, "wb") as out:
            out.write(b"WR\x02\0" + bytes([mode]) + b"\0\0\0" + text + b" " * (NAME_BYTES - len(text)))
        return path

    def run_program(self, *arguments):
        ran = subprocess.run([PROGRAM, *arguments, "--schemas", str(self.path / "schemas")],
                             capture_output=True, timeout=120, check=False)
        self.assertIn(ran.returncode, (0, 1, 2, 3), ran.stderr[:500])
        self.harmless(ran.stderr)
        return ran

    def harmless(self, output):
        text = output.decode("utf-8")  # strict: anything else fails the test
        for char in text:
            if char == "\n":
                continue
            kind = unicodedata.category(char)
            self.assertFalse(kind in ("Cc", "Zl", "Zp", "Cs") or ord(char) in TURNING, f"U+{ord(char):04X} in the output")

    def both(self, *arguments):
        """The text and the JSON of the same call."""
        told = self.run_program(*arguments)
        self.assertNotEqual(told.stdout, b"", told.stderr[:500])
        self.harmless(told.stdout)
        text = told.stdout.decode("utf-8")
        self.assertLess(max((len(line) for line in text.split("\n")), default=0), 2000, "a line without end")
        ran = self.run_program(*arguments, "--format", "json")
        self.harmless(ran.stdout)
        return text, json.loads(ran.stdout.decode("utf-8")) if ran.stdout else None

    def test_names(self):
        for encoding in ("utf-8", "latin-1", "ascii"):
            self.schemas(device(), release("1.0", "Plate", encoding), release("1.1", encoding=encoding))
            for what, name in HOSTILE.items():
                with self.subTest(what=what, encoding=encoding):
                    path = self.dump(name)
                    for call in (["check", path, "--on", "1.0"], ["check", path, "--on", "all"],
                                 ["check", path, "--on", "1.0", "--detail"], ["contents", path],
                                 ["contents", path, "--all", "--as", "1.0", "--name", ""]):
                        text, _ = self.both(*call)
                        shows_name = call[0] == "contents" or "changes" in text
                        if shows_name and len(name) > 1000:
                            self.assertIn("...", text, "nothing says that it was cut")

    def test_a_long_name_is_whole_in_json(self):
        self.schemas(device(), release("1.0"), release("1.1"))
        path = self.dump(b"y" * NAME_BYTES)
        _, report = self.both("check", path, "--on", "1.0")
        self.assertIn("y" * NAME_BYTES, json.dumps(report))
        text, contents = self.both("contents", path)
        self.assertIn("y" * NAME_BYTES, json.dumps(contents))
        self.assertNotIn("y" * 200, text)

    def test_a_long_name_in_a_message(self):
        self.schemas({**device(), "assets": {"sample": {"count": 128}}, "layouts": {
            "samples": {"holds": {"asset": "sample"}, "preset": ["sample"], "body": {"size": 0},
                        "messages": {"sample": {"bytes": "F0 7D 09 {slot} {name...} F7"}}},
            **device()["layouts"]}}, release("1.0"), release("1.1"))
        path = self.path / "samples.syx"
        for name in (b"z" * LONG, b"\x1b[2J" * 16384, b"\0\n" * 32768):
            path.write_bytes(b"\xF0\x7D\x09\x01" + name + b"\xF7")
            text, contents = self.both("contents", path)
            self.assertIn("...", text)
            self.assertGreaterEqual(len(contents["entries"][0]["name"]), LONG - 5)

    def test_labels(self):
        for what, label in LABELS.items():
            with self.subTest(what=what):
                self.schemas(device(), release("1.0", label), release("1.1", label + "!"))
                for call in (["check", self.dump(), "--on", "1.0", "--detail"], ["contents", self.dump(), "--all"],
                             ["contents", self.dump(), "--name", "Rope"]):
                    self.both(*call)

    def test_titles(self):
        for what, title in LABELS.items():
            with self.subTest(what=what):
                self.schemas(device(title, title), release("1.0", notes=title), release("1.1", erases=[title]))
                self.both("check", self.dump(), "--on", "1.0")
                self.both("contents", self.dump())

    def test_mistakes_in_schemas(self):
        """Problems quote what they speak of."""
        for what, text in LABELS.items():
            with self.subTest(what=what):
                self.schemas(device(), release("1.0"), {**release("1.1"), text: 1, "rules": {text: text}, "notes": [text]})
                self.assertEqual(self.run_program("check", self.dump(), "--on", "1.0").returncode, 2)
                self.schemas({**device(), "releases": [text, "1.0"]}, release("1.0"), release(text))
                self.run_program("check", self.dump(), "--on", text.replace("\0", ""))

    def test_broken_json(self):
        self.schemas(device(), release("1.0"))
        for what, text in HOSTILE.items():
            with self.subTest(what=what):
                (self.path / "schemas" / "wren" / "1.json").write_bytes(b'{"format": "downfit release 1", "' + text + b'": }')
                self.assertEqual(self.run_program("check", self.dump(), "--on", "1.0").returncode, 2)

    def test_file_names(self):
        self.schemas(device(), release("1.0"), release("1.1"))
        for what, name in HOSTILE.items():
            with self.subTest(what=what):
                path = self.dump(file=name.replace(b"/", b"").replace(b"\0", b"")[:200])
                _, report = self.both("check", path, "--on", "1.0")
                self.assertTrue(report["files"] if "files" in report else report)
                self.both("contents", path)
                self.assertEqual(self.run_program("check", path + b".bin", "--on", "1.0").returncode, 2)

    def test_words_of_the_call(self):
        self.schemas(device(), release("1.0"), release("1.1"))
        path = self.dump()
        for what, word in HOSTILE.items():
            with self.subTest(what=what):
                word = word.replace(b"\0", b"")
                for call in ([word], ["check", path, "--on", word], ["check", path, "--on", "1.0", "--name", word],
                             ["contents", path, "--slot", word], ["contents", path, "--as", word], ["about", word],
                             ["check", path, b"--" + word], ["check", path, "--on", "1.0", "--variant", word],
                             ["check", path, "--on", "1.0", "--width", word]):
                    ran = self.run_program(*call)
                    self.harmless(ran.stdout)


if __name__ == "__main__":
    unittest.main()
