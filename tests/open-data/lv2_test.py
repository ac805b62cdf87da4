"""Presets of the Debian packages mda-lv2 and calf-plugins, whose plugins describe their own ports: what is known to be wrong
with them is found, and nothing else.

Turtle is read by serdi (Debian package serdi). Of each plugin that has presets a device is made: a release file from its
ports (range, whole numbers, choices from its scale points), and a JSON dump of its presets. What a preset says that its
plugin cannot take is then worked out here, and by Downfit.

Counts: 14 values of calf-plugins for symbols that the plugin has no control port of (`Filter`, where the port is called
`filter`; two that only the stereo sibling of a plugin has; two more); 2 fractions in its ports of whole numbers (switches); 3 values of
mda-lv2 that are no scale point (one of them 0.666667 for 0.66666666); none out of range.

Usage: lv2_test.py DOWNFIT BUILD_FOLDER
"""

import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest

import packages

PROGRAM, BUILD = sys.argv[1], pathlib.Path(sys.argv[2])
del sys.argv[1:]
ROOTS = packages.unpacked(BUILD, "mda-lv2", "calf-plugins", "serdi", "libserd-0-0")

LV2 = "http://lv2plug.in/ns/lv2core#"
PRESETS = "http://lv2plug.in/ns/ext/presets#"
RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
LABEL = "http://www.w3.org/2000/01/rdf-schema#label"
TRIPLE = re.compile(r'(\S+) <([^>]*)> (?:<([^>]*)>|"((?:[^"\\]|\\.)*)"\S*|(_:\S+)) \.$')


def triples_of(path):
    """subject -> predicate -> objects, of one Turtle file; blank nodes carry the file's name."""
    library = next(ROOTS["libserd-0-0"].rglob("libserd-0.so.0")).parent
    ran = subprocess.run([ROOTS["serdi"] / "usr/bin/serdi", "-o", "ntriples", str(path)], capture_output=True, text=True,
                         env={**os.environ, "LD_LIBRARY_PATH": str(library)}, check=True)
    found = {}
    for line in ran.stdout.splitlines():
        match = TRIPLE.match(line)
        assert match, line
        subject, predicate, link, text, blank = match.groups()
        value = link if link is not None else text if text is not None else f"{path}{blank}"
        if subject.startswith("_:"):
            subject = f"{path}{subject}"
        found.setdefault(subject.strip("<>"), {}).setdefault(predicate, []).append(value)
    return found


def graph_of(package):
    graph = {}
    for path in sorted(ROOTS[package].rglob("*.ttl")):
        for subject, facts in triples_of(path).items():
            for predicate, objects in facts.items():
                graph.setdefault(subject, {}).setdefault(predicate, []).extend(objects)
    return graph


def number_text(text):
    """The number as both sides write it: 2.0 and 2 are one text."""
    number = float(text)
    return str(int(number)) if number == int(number) else repr(number)


class Port:
    def __init__(self, graph, facts):
        self.symbol = facts[LV2 + "symbol"][0]
        properties = facts.get(LV2 + "portProperty", [])
        self.whole = LV2 + "integer" in properties or LV2 + "toggled" in properties
        self.bounds = None
        if LV2 + "minimum" in facts and LV2 + "maximum" in facts and LV2 + "sampleRate" not in properties:
            self.bounds = [float(facts[LV2 + end][0]) for end in ("minimum", "maximum")]
        self.points = {}  # text -> label
        for point in facts.get(LV2 + "scalePoint", []):
            self.points[number_text(graph[point][RDF + "value"][0])] = graph[point][LABEL][0]

    def fault_of(self, value):
        """What is wrong with a value here, or None."""
        if self.points:
            return None if number_text(value) in self.points else "no scale point"
        if self.whole and float(value) != int(float(value)):
            return "fraction"
        if self.bounds and not self.bounds[0] <= float(value) <= self.bounds[1]:
            return "out of range"
        return None

    def parameter(self):
        described = {"path": "/values/" + self.symbol.replace("~", "~0").replace("/", "~1"), "title": self.symbol}
        if self.points:
            labels = [f"{label} ({text})" for text, label in self.points.items()]
            described.update({"as": "text", "choices": {label: n for n, label in enumerate(labels)},
                              "written": dict(zip(labels, self.points))})
            return described
        described["kind"] = "whole" if self.whole else "real"
        if self.bounds and self.bounds[0] < self.bounds[1]:
            described["range"] = self.bounds
        return described

    def written(self, value):
        return number_text(value) if self.points else float(value) if float(value) != int(float(value)) else int(float(value))


class Plugin:
    def __init__(self, graph, uri, number):
        self.uri = uri
        self.device = f"plugin-{number}"
        ports = [Port(graph, graph[port]) for port in graph[uri][LV2 + "port"]
                 if LV2 + "ControlPort" in graph[port].get(RDF + "type", [])]  # meters too: presets hold them
        self.ports = {port.symbol: port for port in ports}
        self.presets = []  # (name, [(symbol, value)])

    def ident(self, symbol):
        return "p-" + re.sub(r"[^a-z0-9]+", "-", symbol.lower()).strip("-")

    def write(self, folder):
        """Schemas of the device, and the dump; its path."""
        schemas = folder / "schemas"
        schemas.mkdir(parents=True)
        named = {self.ident(symbol): port.parameter() for symbol, port in self.ports.items()}
        assert len(named) == len(self.ports), self.uri
        files = {
            "device.json": {"format": "downfit device 1", "device": self.device, "title": self.uri, "releases": ["as-it-is", "strict"],
                            "layouts": {"presets": {"as": "json", "presets": "/presets/*", "slot": {"by": "order"},
                                                    "name": "/name", "recognised-by": {"/plugin": self.uri},
                                                    "volatile": ["/name"]}}},
            "as-it-is.json": {"format": "downfit release 1", "device": self.device, "release": "as-it-is", "stamp": 1,
                              "parameters": named, "rules": {"unknown-parameter": "skip", "missing-parameter": "default"}},
            "strict.json": {"format": "downfit release 1", "device": self.device, "release": "strict", "stamp": 2,
                            "extends": "as-it-is",
                            "rules": {"unknown-parameter": "refuse", "off-step": "keep", "unknown-choice": "keep",
                                      "out-of-range": "keep", "older-stamp": "load"}},
        }
        for name, content in files.items():
            (schemas / name).write_text(json.dumps(content))
        presets = []
        for name, values in self.presets:
            written = {symbol: self.ports[symbol].written(value) if symbol in self.ports else float(value)
                       for symbol, value in values}
            assert len(written) == len(values), name
            presets.append({"name": name, "values": written})
        dump = folder / "presets.json"
        dump.write_text(json.dumps({"plugin": self.uri, "presets": presets}))
        return schemas, dump


def plugins_of(package):
    graph = graph_of(package)
    found = {}
    for subject, facts in graph.items():
        if PRESETS + "Preset" not in facts.get(RDF + "type", []):
            continue
        uri = facts[LV2 + "appliesTo"][0]
        if uri not in found:
            found[uri] = Plugin(graph, uri, len(found) + 1)
        values = [(graph[port][LV2 + "symbol"][0], graph[port][PRESETS + "value"][0]) for port in facts.get(LV2 + "port", [])]
        found[uri].presets.append((facts.get(LABEL, [subject])[0], values))
    return list(found.values())


class Presets(unittest.TestCase):
    def check(self, schemas, dump):
        ran = subprocess.run([PROGRAM, "check", str(dump), "--saved-on", "as-it-is", "--on", "as-it-is,strict", "--schemas",
                              str(schemas), "--format", "json"], capture_output=True, timeout=240, check=False)
        self.assertIn(ran.returncode, (0, 1, 3), ran.stderr.decode())
        return json.loads(ran.stdout)["presets"]

    def told_by_downfit(self, plugin):
        """(preset, symbol, fault) of every value that Downfit finds something wrong with."""
        told = []
        symbols = {plugin.ident(symbol): symbol for symbol in plugin.ports}
        with tempfile.TemporaryDirectory(prefix="downfit-test-") as folder:
            schemas, dump = plugin.write(pathlib.Path(folder))
            presets = self.check(schemas, dump)
            self.assertEqual(len(presets), len(plugin.presets))
            for index, preset in enumerate(presets):
                for doubt in preset["targets"][0]["doubts"]:
                    port = plugin.ports[symbols[doubt["parameter"]]]
                    fraction = port.whole and not port.points and "." in doubt["stored"]
                    told.append((index, port.symbol, "no scale point" if port.points else
                                 "fraction" if fraction else "out of range"))
            # A refusal names the first value that the release does not know: taken out, it names the next.
            refused = True
            while refused:
                content = json.loads(dump.read_text())
                refused = [(index, preset["targets"][1]["reason"]) for index, preset in enumerate(self.check(schemas, dump))
                           if preset["targets"][1]["verdict"] == "refused"]
                for index, reason in refused:
                    path = re.fullmatch(r"it holds /values/(.*), which this release does not know", reason).group(1)
                    told.append((index, path, "no such port"))
                    del content["presets"][index]["values"][path]
                dump.write_text(json.dumps(content))
        return sorted(told)

    def worked_out(self, plugin):
        found = []
        for index, (_, values) in enumerate(plugin.presets):
            for symbol, value in values:
                fault = plugin.ports[symbol].fault_of(value) if symbol in plugin.ports else "no such port"
                if fault:
                    found.append((index, symbol, fault))
        return sorted(found)

    def faults(self, package):
        """fault -> how many values, once both agree on each."""
        counts, presets = {}, 0
        for plugin in plugins_of(package):
            presets += len(plugin.presets)
            told = self.told_by_downfit(plugin)
            self.assertEqual(told, self.worked_out(plugin), plugin.uri)
            for _, symbol, fault in told:
                key = (fault, symbol) if fault == "no such port" else fault
                counts[key] = counts.get(key, 0) + 1
        return presets, counts

    def test_mda(self):
        self.assertEqual(self.faults("mda-lv2"), (115, {"no scale point": 3}))

    def test_calf(self):
        unknown = {"Filter": 4, "detection": 4, "stereo_link": 4, "map_curve": 1, "perc_timbre": 1}
        self.assertEqual(sum(unknown.values()), 14)
        self.assertEqual(self.faults("calf-plugins"),
                         (77, {"fraction": 2, **{("no such port", symbol): count for symbol, count in unknown.items()}}))


if __name__ == "__main__":
    unittest.main()
