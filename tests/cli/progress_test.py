"""The progress bar of long work, through a pseudo-terminal.

progress_test.py PROGRAM PROJECT: drawn on standard error only, only where that is a terminal, only past half a second; wiped away
in the end; never part of the report.
"""
import os
import pty
import re
import subprocess
import sys
import unittest

PROGRAM, PROJECT = sys.argv[1], sys.argv[2]
del sys.argv[1:3]
LONG = ["check", *(f"demo/dumps/bank-{bank}.syx" for bank in "abcd"), "--on", "2.10,2.00,1.10", "--summary", "--schemas", "schemas"]
BAR = re.compile(r"\[#*\.*\] (\d+) of (\d+) presets")


def run(words, terminal=True, **variables):
    """Standard output, and what a terminal on standard error saw."""
    environment = {key: value for key, value in os.environ.items() if key not in ("NO_COLOR", "TERM")} | {"TERM": "xterm", **variables}
    ours, theirs = pty.openpty() if terminal else os.pipe()
    process = subprocess.Popen([PROGRAM, *words], cwd=PROJECT, env=environment, stdout=subprocess.PIPE, stderr=theirs)
    os.close(theirs)
    output, seen = b"", b""
    while True:
        try:
            part = os.read(ours, 65536)
        except OSError:  # the other end of a pseudo-terminal is closed
            break
        if not part:
            break
        seen += part
    output = process.stdout.read()
    process.stdout.close()
    process.wait()
    os.close(ours)
    return output.decode(), seen.decode()


class Progress(unittest.TestCase):
    def test_a_terminal_sees_it_and_is_left_clean(self):
        output, seen = run(LONG)
        steps = [tuple(map(int, step)) for step in BAR.findall(seen)]
        self.assertGreater(len(steps), 1, seen)
        self.assertEqual([done for done, _ in steps], sorted(done for done, _ in steps))
        self.assertEqual(len({of for _, of in steps}), 1)
        self.assertTrue(all(done <= of for done, of in steps))
        self.assertNotIn("\n", seen)
        self.assertRegex(seen, r"\r +\r$")  # wiped away
        self.assertNotIn("\x1b", seen)
        self.assertNotRegex(output, BAR)
        self.assertIn("presets", output)
        without, _ = run(LONG, terminal=False)
        self.assertEqual(output, without)

    def test_nobody_else_sees_it(self):
        self.assertEqual(run(LONG, terminal=False)[1], "")
        self.assertEqual(run(LONG, TERM="dumb")[1], "")

    def test_no_bar_for_no_work(self):
        self.assertEqual(run(["about", "swapped"])[1], "")


if __name__ == "__main__":
    unittest.main()
