"""HTML reports, read by Python's own HTML parser: nothing is loaded, the content security policy names this very style
and script, names from dumps stay text, ids are there and unique, and presets are counted as JSON counts them.

html_test.py PROGRAM PROJECT
"""
import base64
import collections
import hashlib
import html
import html.parser
import json
import pathlib
import re
import subprocess
import sys
import unittest

PROGRAM, PROJECT = sys.argv[1], pathlib.Path(sys.argv[2])
del sys.argv[1:]
TAGS = set("html head meta title style body header main footer h1 h2 p ul ol li a b br span div table thead tbody tr th td details summary section h3 "
           "form label input select option fieldset legend output script svg path rect".split())
VOID = {"meta", "br", "input", "path", "rect"}
LETTERS = {"refused": "R", "undecided": "U", "near": "N", "intact": "I"}


class Page(html.parser.HTMLParser):
    def __init__(self, text):
        super().__init__()
        self.tags, self.open, self.wrong = [], [], []
        self.inline = collections.defaultdict(str)
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attributes):
        self.tags.append((tag, dict(attributes)))
        if len(dict(attributes)) != len(attributes):
            self.wrong.append(f"{tag} has an attribute twice")
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attributes):
        self.tags.append((tag, dict(attributes)))

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.wrong.append(f"{tag} ends where it should not")

    def handle_data(self, data):
        if self.open and self.open[-1] in ("style", "script"):
            self.inline[self.open[-1]] += data

    def of(self, tag):
        return [attributes for name, attributes in self.tags if name == tag]


def source(text):
    return "'sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode() + "'"


class Html(unittest.TestCase):
    def look_at(self, text):
        page = Page(text)
        self.assertEqual(page.wrong, [])
        self.assertEqual(page.open, [])
        self.assertLessEqual({tag for tag, _ in page.tags}, TAGS)
        for tag, attributes in page.tags:
            self.assertFalse([name for name in attributes if name.startswith("on") or name in ("style", "src", "srcdoc")], tag)
            self.assertTrue(attributes.get("href", "#").startswith("#"), attributes)
        policy = [meta["content"] for meta in page.of("meta") if meta.get("http-equiv") == "Content-Security-Policy"]
        self.assertEqual(len(policy), 1)
        self.assertIn("default-src 'none'", policy[0])
        self.assertIn("style-src " + source(page.inline["style"]) + ";", policy[0])
        self.assertIn("script-src " + source(page.inline["script"]) + ";", policy[0])
        self.assertNotIn("unsafe", policy[0])
        ids = [attributes["id"] for _, attributes in page.tags if "id" in attributes]
        self.assertEqual(len(ids), len(set(ids)))
        for link in page.of("a"):
            self.assertIn(link["href"][1:], ids)
        return page

    def test_golden_pages(self):
        for name in ("one-release", "all-releases", "hostile"):
            with self.subTest(name):
                self.look_at((PROJECT / "tests/report/golden" / f"{name}.html").read_text())

    def test_counts_are_those_of_json(self):
        for dumps, options in ((["bank-a.syx", "bank-b.syx"], ["--on", "2.10,1.00"]), (["pipit-a.syx"], ["--on", "all"])):
            call = [PROGRAM, "check", *(str(PROJECT / "demo/dumps" / dump) for dump in dumps), *options, "--schemas",
                    str(PROJECT / "schemas"), "--format"]
            page = self.look_at(subprocess.run([*call, "html"], capture_output=True, text=True, check=False).stdout)
            report = json.loads(subprocess.run([*call, "json"], capture_output=True, text=True, check=False).stdout)
            cards = page.of("details")
            self.assertEqual(len(cards), len(report["presets"]))
            there = collections.Counter((int(card["data-slot"]), card["data-name"]) for card in cards)
            self.assertEqual(there, collections.Counter((preset["slot"], preset["name"]) for preset in report["presets"]))
            for i in range(len(report["presets"][0]["targets"])):
                wanted = collections.Counter()
                for preset in report["presets"]:
                    target = preset["targets"][i]
                    severe = any(finding["weight"] == "severe" for finding in target["findings"])
                    wanted["D" if preset["state"] == "damaged" else
                           LETTERS.get(target["verdict"], "S" if severe else "A")] += 1
                self.assertEqual(collections.Counter(card["data-on"][i] for card in cards), wanted)

    def test_a_rig(self):
        call = [PROGRAM, "rig", str(PROJECT / "demo/rig.json"), "--schemas", str(PROJECT / "schemas"), "--format"]
        page = self.look_at(subprocess.run([*call, "html"], capture_output=True, text=True, check=False).stdout)
        report = json.loads(subprocess.run([*call, "json"], capture_output=True, text=True, check=False).stdout)
        plays = collections.Counter(unit["play"] for song in report["songs"] for unit in song["units"])
        marks = collections.Counter(span["class"] for span in page.of("span"))
        self.assertEqual(marks["mark I"], plays["intact"])
        self.assertEqual(marks["mark N"], plays["near"] + plays["substitute"])
        self.assertEqual(marks["mark A"] + marks["mark S"], plays["altered"])
        self.assertEqual(marks["mark U"], plays["undecided"])
        rows = [row for row in page.of("tr") if "data-on" in row]
        self.assertEqual([row["data-name"] for row in rows], [song["title"] for song in report["songs"]])
        letters = {"intact": "I", "near": "N", "substitute": "N", "undecided": "U", "refused": "R"}
        for row, song in zip(rows, report["songs"], strict=True):
            wanted = [letters.get(unit["play"], "AS" if unit["play"] == "altered" else "-") for unit in song["units"]]
            self.assertTrue(all(one in may for one, may in zip(row["data-on"], wanted, strict=True)), (row, song))
            self.assertEqual(row["data-s"], min(row["data-on"], key="INUASR-".index))
        told = [row["data-of"] for row in page.of("li") if "data-of" in row]
        self.assertTrue(told and set(told) <= {row["id"] for row in rows}, told)

    def test_changes(self):
        dump = str(PROJECT / "demo/dumps/bank-a.syx")
        for options in ([], ["--with", dump]):
            call = [PROGRAM, "changes", "2.10", "3.10", "--device", "dunlin-6", *options, "--schemas", str(PROJECT / "schemas"), "--format"]
            text = subprocess.run([*call, "html"], capture_output=True, text=True, check=True).stdout
            page = self.look_at(text)
            report = json.loads(subprocess.run([*call, "json"], capture_output=True, text=True, check=True).stdout)
            # Changes that are alike stand in one line: no effect is missing, and none is there that JSON does not have.
            effects = {change[way]["effect"] for change in report["changes"] for way in ("back", "forward")}
            lines = [row["data-s"] for row in page.of("tr") if "data-s" in row]
            self.assertEqual(set(lines), effects)
            self.assertLessEqual(len(lines), 2 * len(report["changes"]))
            self.assertIn(f"{len(report['changes'])} changes.", text)
            if options:
                for way in ("back", "forward"):
                    use = report["use"][way]
                    if use["presets"]:
                        self.assertIn(f"this way: {use['intact']} intact, {use['near']} near, {use['altered']} altered", text)
                touched = {preset["name"] for change in report["changes"] for preset in change["back"]["which"]}
                self.assertGreater(len(touched), 10)
                for name in touched:
                    self.assertIn(f"&quot;{html.escape(name, quote=True).replace('&#x27;', '&#39;')}&quot;</li>", text)

    def test_four_banks_weigh_less_than_three_megabytes(self):
        dumps = [str(PROJECT / "demo/dumps" / f"bank-{bank}.syx") for bank in "abcd"]
        page = subprocess.run([PROGRAM, "check", *dumps, "--on", "all", "--format", "html", "--schemas",
                               str(PROJECT / "schemas")], capture_output=True, check=False).stdout
        self.assertGreater(len(page), 100_000)
        self.assertLess(len(page), 3_000_000)
        self.assertRegex(page.decode(), re.compile("class=\"strip\""))


if __name__ == "__main__":
    unittest.main()
