"""Presets of the Debian packages yoshimi-data (868 .xiz) and lmms-common (153 .xpf), in XML and stamped by the programs that
saved them, read by Downfit and by Python's own XML parser: every value is the same.

The device and release files beside this script say where things are; this script follows the same paths in the parsed tree by
means of its own. So what is compared is the reading of gzip, XML, stamps, instances and values.

Usage: xml_test.py DOWNFIT BUILD_FOLDER
"""

import collections
import gzip
import json
import pathlib
import re
import struct
import subprocess
import sys
import unittest
import xml.etree.ElementTree

import packages

PROGRAM, BUILD = sys.argv[1], pathlib.Path(sys.argv[2])
del sys.argv[1:]
HERE = pathlib.Path(__file__).resolve().parent
ROOTS = packages.unpacked(BUILD, "yoshimi-data", "lmms-common")


def parse(path):
    """The outermost element. Blank lines before the declaration, and a version "1.0f" in it, are not for this parser."""
    data = path.read_bytes()
    if data[:2] == b"\x1f\x8b":
        data = gzip.decompress(data)
    return xml.etree.ElementTree.fromstring(re.sub(rb"^\s*<\?xml[^>]*\?>", b"", data))


class Description:
    """A release file: ids to paths, copies (`like`) followed."""

    def __init__(self, path):
        text = re.sub(r"^\s*//.*$", "", path.read_text(), flags=re.MULTILINE)
        release = json.loads(text)
        self.groups = release["groups"]
        self.parameters = release["parameters"]
        for group, described in self.groups.copy().items():
            if "like" in described:
                self.copy(described["like"], group)

    def copy(self, source, target):
        for table in (self.parameters, self.groups):
            for ident, described in list(table.items()):
                if ident.startswith(source + "."):
                    table.setdefault(target + ident[len(source):], described)

    def elements(self, element, path):
        """All elements that a path (steps of names, alternatives) leads to, in the order of the file."""
        for alternative in path.split(" | "):
            found = element.findall(alternative)
            if found:
                return found
        return []

    def place(self, root, ident):
        """What an instance id ("kit.item[2].add.volume") names in a tree: a text, or None."""
        element, path = root, ""
        steps = ident.split(".")
        for step in steps[:-1]:
            name, _, index = step.partition("[")
            path = f"{path}.{name}" if path else name
            described = self.groups[path]
            found = self.elements(element, described["path"])
            number = int(index[:-1]) if index else 1
            if "by" in described:
                key = described["keys"][number - 1]
                found = [one for one in found if one.get(described["by"].lstrip("@")) == key]
                number = 1
            if len(found) < number:
                return None
            element = found[number - 1]
        described = self.parameters[f"{path}.{steps[-1]}"]
        *way, attribute = described["path"].split("/@") if "/@" in described["path"] else [described["path"]]
        if attribute.startswith("@"):
            return element.get(attribute[1:])
        found = element.findall((way or [attribute])[0])
        if not found:
            return None
        return found[0].get(attribute) if way else found[0].text or ""

    def expected(self, ident, text):
        """The stored number or text that stands for it."""
        described = self.parameters[re.sub(r"\[\d+\]", "", ident)]
        if text is None:
            return None
        if "written" in described:
            return {written: on for on, written in ((1, described["written"]["on"]), (0, described["written"]["off"]))}[text]
        if described.get("as") == "text":
            return text
        if described.get("as") == "float32":
            return struct.unpack("f", struct.pack("f", float(text)))[0]
        return float(text)


class XmlPresets(unittest.TestCase):
    def compare(self, folder, suffix, description, stamp_of):
        """How many files, values, and values not described; each value compared. And stamp -> files."""
        files = {str(path): path for path in sorted(folder.rglob("*" + suffix))}
        ran = subprocess.run([PROGRAM, "contents", *files, "--every", "--format", "json", "--schemas", str(description)],
                             capture_output=True, timeout=3000, check=False)
        self.assertEqual(ran.returncode, 0, ran.stderr.decode()[-2000:])
        reports = json.loads(ran.stdout)
        self.assertEqual(len(reports), len(files))
        described = Description(description / f"{json.loads(re.sub('//.*', '', (description / 'device.json').read_text()))['releases'][0]}.json")
        values, stamps = 0, collections.Counter()
        for report in reports:
            root = parse(next(path for name, path in files.items() if report["file"].startswith(name)))
            self.assertEqual(len(report["entries"]), 1)
            entry = report["entries"][0]
            self.assertEqual(entry["state"], "filled")
            self.assertEqual(entry["stamp"], stamp_of(root))
            self.assertEqual(entry["saved-on"], [entry["stamp"]])
            stamps[entry["stamp"]] += 1
            for parameter in entry["parameters"]:
                ident = parameter["parameter"]
                text = described.place(root, ident)
                wanted = described.expected(ident, text)
                stored = parameter["stored"]
                if isinstance(wanted, float):
                    stored = None if stored is None else float(stored)
                self.assertEqual(stored, wanted, (report["file"], ident, text))
                values += text is not None
        return values, stamps

    def test_yoshimi(self):
        def stamp_of(root):
            kind = "Yoshimi-" if "Yoshimi-major" in root.attrib else "version-"
            return root.get(kind + "major") + "." + root.get(kind + "minor")

        values, stamps = self.compare(ROOTS["yoshimi-data"], ".xiz", HERE / "yoshimi", stamp_of)
        self.assertEqual(sum(stamps.values()), 868)
        # Release candidates stamp their presets as such.
        self.assertLessEqual({"2.0 rc1", "2.0 rc2", "2.0 rc3"}, set(stamps))
        self.assertGreater(values, 250_000)
        print(f"yoshimi-data: {values} values of {sum(stamps.values())} presets, {dict(stamps)}")

    def test_lmms(self):
        values, stamps = self.compare(ROOTS["lmms-common"], ".xpf", HERE / "lmms",
                                      lambda root: root.get("creatorversion"))
        # With the templates, which are no presets, 1.2.0 has more.
        self.assertEqual((stamps["0.0.9"], stamps["1.0.2"], stamps["1.0.93"], stamps["1.0.98"], stamps["1.0.99"]),
                         (2, 51, 96, 2, 2))
        self.assertEqual(sum(stamps.values()), 153)
        self.assertGreater(values, 10_000)
        print(f"lmms-common: {values} values of {sum(stamps.values())} presets, {dict(stamps)}")


if __name__ == "__main__":
    unittest.main()
