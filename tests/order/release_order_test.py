"""The order of releases beside two published rules for comparing versions.

Sources: dpkg --compare-versions, Debian Policy Manual 5.6.12; Semantic Versioning 2.0.0, section 11, as node-semver
(Debian's package) does it. What Downfit takes for older and newer is seen from what it loads: each release of a device
that is made here takes only presets of itself and of older ones.

Usage: release_order_test.py DOWNFIT PROJECT_FOLDER NODE
"""

import functools
import json
import pathlib
import random
import re
import subprocess
import sys
import tempfile
import unittest

PROGRAM, PROJECT, NODE = sys.argv[1], pathlib.Path(sys.argv[2]), sys.argv[3]
del sys.argv[1:]

RULES = {"out-of-range": "clamp", "off-step": "round", "unknown-choice": "clamp", "unknown-parameter": "skip", "missing-parameter": "default",
         "repeated-key": "last", "long-text": "cut", "newer-stamp": "load", "older-stamp": "load"}
COMPARE = """
const semver = require("semver");
const pairs = JSON.parse(require("fs").readFileSync(0, "utf8"));
console.log(JSON.stringify(pairs.map(([a, b]) => semver.compare(a, b))));
"""


def dpkg(one, other):
    """-1, 0 or 1"""
    def holds(relation):
        ran = subprocess.run(["dpkg", "--compare-versions", one, relation, other], capture_output=True, check=False)
        assert ran.returncode in (0, 1) and not ran.stderr, (one, other, ran.stderr)
        return ran.returncode == 0
    return -1 if holds("lt") else 1 if holds("gt") else 0


def semver(pairs):
    """-1, 0 or 1 for each pair"""
    ran = subprocess.run([NODE, "-e", COMPARE], input=json.dumps(pairs), capture_output=True, text=True, check=True,
                         env={"NODE_PATH": "/usr/share/nodejs", "PATH": "/usr/bin:/bin"})
    return json.loads(ran.stdout)


def as_semver(name):
    """Three numbers without leading zeros, then what follows the digits."""
    numbers, rest = re.fullmatch(r"(\d+(?:\.\d+){0,2})(.*)", name.replace(" ", "")).groups()
    parts = [str(int(part)) for part in numbers.split(".")]
    rest = rest.lstrip("~")
    if rest and rest[0] not in "-+":
        rest = "-" + rest
    return ".".join(parts + ["0"] * (3 - len(parts))) + rest


def as_debian(name):
    """"2.00 beta 1" as Debian writes it."""
    return re.sub(r" (beta|candidate) ?(\d+)", r"~\1\2", name)


def counted(name):
    """The same as SemVer counts it: a dot before the number."""
    return re.sub(r" ?(beta|candidate) ?(\d+)$", r"-\1.\2", name)


def release_lists():
    """Random names, each once however they are compared."""
    rng = random.Random(6)
    for _ in range(30):
        names, numbers = [], set()
        while len(names) < 8:
            parts = [rng.randrange(4), rng.choice([0, 1, 2, 9, 10, 11, 25, 100])] + [rng.randrange(12)] * rng.randrange(2)
            beta = rng.choice(["", "", " beta 1", " beta 2", " beta 10", " candidate 1"])
            key = (*parts, *([0] * (3 - len(parts))), beta)
            if key not in numbers:
                numbers.add(key)
                names.append(".".join(map(str, parts)) + beta)
        yield names


class ReleaseOrder(unittest.TestCase):
    def loads(self, names):
        """(saved on, loading release) -> whether it loads; releases are listed in that order."""
        with tempfile.TemporaryDirectory(prefix="downfit-test-") as folder:
            path = pathlib.Path(folder)
            device = {"format": "downfit device 1", "device": "wheatear", "title": "Wheatear", "maker": "Quillfeather", "releases": names,
                      "layouts": {"export": {"as": "json", "presets": "/sounds/*", "stamp": "/firmware", "slot": {"by": "order"}}}, "rules": RULES}
            (path / "schemas").mkdir()
            (path / "schemas" / "device.json").write_text(json.dumps(device))
            for number, name in enumerate(names):
                release = {"format": "downfit release 1", "device": "wheatear", "release": name, "stamp": "of " + name,
                           "accepts": [{"stamp": {"at-most": name}, "refuses": "preset", "why": "newer"}],
                           "parameters": {"volume": {"path": "/volume", "kind": "whole", "default": 0}}}
                (path / "schemas" / f"{number}.json").write_text(json.dumps(release))
            sounds = [{"firmware": "of " + name, "volume": 1} for name in names]
            (path / "dump.json").write_text(json.dumps({"sounds": sounds}))
            ran = subprocess.run([PROGRAM, "check", str(path / "dump.json"), "--on", "all", "--format", "json", "--schemas", str(path / "schemas")],
                                 capture_output=True, text=True, timeout=60, check=False)
            self.assertIn(ran.returncode, (0, 1), ran.stderr)
            found = {}
            for name, preset in zip(names, json.loads(ran.stdout)["presets"], strict=True):
                self.assertEqual(preset["saved-on"], [name])
                for target in preset["targets"]:
                    self.assertIn(target["verdict"], ("intact", "refused"))
                    found[name, target["release"]] = target["verdict"] == "intact"
            self.assertEqual(len(found), len(names) ** 2)
            return found

    def test_in_the_order_of_both_rules(self):
        for names in release_lists():
            ordered = sorted(names, key=functools.cmp_to_key(lambda a, b: dpkg(as_debian(a), as_debian(b))))
            found = self.loads(ordered)
            pairs = list(found)
            theirs = semver([(as_semver(counted(a)), as_semver(counted(b))) for a, b in pairs])
            for (saved, on), compared in zip(pairs, theirs, strict=True):
                with self.subTest(saved=saved, on=on):
                    self.assertEqual(found[saved, on], compared <= 0)
                    self.assertEqual(found[saved, on], dpkg(as_debian(saved), as_debian(on)) <= 0)

    def test_against_all_digits(self):
        rng = random.Random(7)
        for names in release_lists():
            rng.shuffle(names)
            found = self.loads(names)
            for (saved, on), does in found.items():
                self.assertEqual(does, names.index(saved) <= names.index(on), (names, saved, on))

    def test_the_demo_devices(self):
        for name in ("dunlin-6", "pipit"):
            text = (PROJECT / "schemas" / name / "device.json").read_text()
            text = re.sub(r'"(?:\\.|[^"\\])*"|//[^\n]*', lambda found: found.group() if found.group()[0] == '"' else "", text)
            names = [one if isinstance(one, str) else one["release"] for one in json.loads(text)["releases"]]
            self.assertGreater(len(names), 3)
            following = list(zip(names, names[1:]))
            self.assertEqual([dpkg(as_debian(a), as_debian(b)) for a, b in following], [-1] * len(following), names)
            self.assertEqual(semver([(as_semver(counted(a)), as_semver(counted(b))) for a, b in following]), [-1] * len(following), names)

    def test_the_page(self):
        """Every cell of the table in docs/release-order.md, and that each way to differ is there."""
        rows = re.findall(r"^\| `([^`]+)` \| `([^`]+)` \| (\w+) \| (\w+) \| (.+) \|$", (PROJECT / "docs" / "release-order.md").read_text(), re.M)
        self.assertGreater(len(rows), 12)
        word = {-1: "yes", 0: "equal", 1: "no"}
        theirs = semver([(as_semver(older), as_semver(newer)) for older, newer, *_ in rows])
        for (older, newer, debian, other, _), compared in zip(rows, theirs, strict=True):
            with self.subTest(older=older, newer=newer):
                self.assertEqual(debian, word[dpkg(older, newer)])
                self.assertEqual(other, word[compared])
        self.assertTrue({("no", "yes"), ("yes", "no"), ("no", "no"), ("yes", "yes")} <= {row[2:4] for row in rows})

    def test_as_listed_where_habit_differs(self):
        rows = re.findall(r"^\| `([^`]+)` \| `([^`]+)` \| \w+ \| \w+ \|", (PROJECT / "docs" / "release-order.md").read_text(), re.M)
        for older, newer in rows:
            found = self.loads([older, newer])
            self.assertTrue(found[older, newer], (older, newer))
            self.assertFalse(found[newer, older], (older, newer))


if __name__ == "__main__":
    unittest.main()
