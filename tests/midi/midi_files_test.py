"""Standard MIDI Files by others: written by mido, and written here at random with messages in packets, which midicsv reads
too. Sources: the file's rules are those of the Standard MIDI-File Format Specification 1.1; mido and midicsv are
independent programs.

Usage: midi_files_test.py SYSEX_LIST DOWNFIT PROJECT_FOLDER
"""

import json
import pathlib
import random
import re
import subprocess
import sys
import tempfile
import unittest

import mido

SYSEX_LIST, PROGRAM, PROJECT = sys.argv[1], sys.argv[2], pathlib.Path(sys.argv[3])
del sys.argv[1:]
DUMPS = sorted((PROJECT / "demo" / "dumps").glob("bank-[ab].syx"))


def quantity(value):
    parts = [value & 0x7F]
    while value > 0x7F:
        value >>= 7
        parts.append(value & 0x7F | 0x80)
    return bytes(reversed(parts))


def track(events):
    events += b"\0\xFF\x2F\0"
    return b"MTrk" + len(events).to_bytes(4, "big") + events


def exclusive(kind, content, delta=0):
    return quantity(delta) + bytes([kind]) + quantity(len(content)) + content


def listed(path):
    """Contents of the messages in the file, in order, and what was said of damage."""
    ran = subprocess.run([SYSEX_LIST, str(path)], capture_output=True, text=True, timeout=60, check=True)
    kinds = [line.split()[0] for line in ran.stdout.splitlines()]
    messages = [bytes.fromhex("".join(line.split()[3:])) for line in ran.stdout.splitlines()]
    return kinds, messages, ran.stderr


class MidiFiles(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory(prefix="downfit-test-")
        self.addCleanup(folder.cleanup)
        self.path = pathlib.Path(folder.name) / "a.mid"

    def write_with_mido(self, messages, kind):
        """The messages on one track, or dealt out to four with times that keep their order."""
        file = mido.MidiFile(type=kind)
        tracks = [file.add_track() for _ in range(4 if kind == 1 else 1)]
        last = [0] * len(tracks)
        for i, content in enumerate(messages):
            to = i % len(tracks)
            tracks[to].append(mido.Message("sysex", data=content, time=10 * i - last[to]))
            last[to] = 10 * i
        file.save(self.path)

    def test_messages_that_mido_wrote_arrive(self):
        for dump in DUMPS:
            messages = [message.data for message in mido.parse_all(dump.read_bytes()) if message.type == "sysex"]
            self.assertGreater(len(messages), 100)
            for kind in (0, 1):
                with self.subTest(dump=dump.name, kind=kind):
                    self.write_with_mido(messages, kind)
                    kinds, found, noticed = listed(self.path)
                    self.assertEqual((set(kinds), noticed), ({"message"}, ""))
                    self.assertEqual(found, [bytes(message) for message in messages])

    def test_a_check_of_a_midi_file_is_that_of_its_messages(self):
        def verdicts(path):
            ran = subprocess.run([PROGRAM, "check", str(path), "--on", "2.10", "--format", "json", "--schemas",
                                  str(PROJECT / "schemas")], capture_output=True, timeout=240, check=False)
            self.assertIn(ran.returncode, (0, 1, 3), ran.stderr.decode())
            return [(preset["slot"], preset["name"], re.sub(r'"fingerprint": "[^"]*"', "", json.dumps(preset["targets"])))
                    for preset in json.loads(ran.stdout)["presets"]]
        expected = verdicts(DUMPS[0])
        messages = [message.data for message in mido.parse_all(DUMPS[0].read_bytes()) if message.type == "sysex"]
        for kind in (0, 1):
            self.write_with_mido(messages, kind)
            self.assertEqual(verdicts(self.path), expected)

    def test_packets_agree_with_midicsv(self):
        seed = random.randrange(1 << 32)
        draw = random.Random(seed)
        split = 0
        for case in range(150):
            messages, events = [], b""
            for _ in range(draw.randrange(1, 8)):
                content = b"\x7D" + bytes(draw.randrange(0x80) for _ in range(draw.randrange(300)))
                messages.append(content)
                rest, kind = content + b"\xF7", 0xF0
                while rest:
                    # midicsv takes a first packet without bytes for none.
                    cut = len(rest) if draw.random() < 0.4 else draw.randrange(1, len(rest) + 1)
                    events += exclusive(kind, rest[:cut], draw.randrange(300))
                    split += kind == 0xF7
                    rest, kind = rest[cut:], 0xF7
                if draw.random() < 0.5:  # what is between messages, running status too
                    events += b"\0\x90\x40\x7F\x05\x41\x7F\0\xFF\x01\x02hi"
            self.path.write_bytes(b"MThd\0\0\0\x06\0\0\0\x01\0\x60" + track(events))
            kinds, found, noticed = listed(self.path)
            self.assertEqual((set(kinds), noticed), ({"message"}, ""), f"seed {seed}, case {case}")
            self.assertEqual(found, messages, f"seed {seed}, case {case}")
            table = subprocess.run(["midicsv", str(self.path)], capture_output=True, timeout=60, check=True).stdout
            theirs = []
            for line in table.decode("latin-1").splitlines():
                fields = [field.strip() for field in line.split(",")]
                if fields[2] == "System_exclusive":
                    theirs.append(b"")
                if fields[2].startswith("System_exclusive"):
                    theirs[-1] += bytes(int(field) for field in fields[4:])
            self.assertEqual(theirs, [message + b"\xF7" for message in messages], f"seed {seed}, case {case}")
        self.assertGreater(split, 300)


if __name__ == "__main__":
    unittest.main()
