"""What a spreadsheet program makes of the CSV reports: Gnumeric's ssconvert opens them, and nothing in them may have
become a formula, however presets are called; every cell says what Python's csv reads.

spreadsheet_test.py PROGRAM PROJECT. Without ssconvert it is skipped (77). Prints what is wrong and exits with 1 if anything is.
"""
import csv
import gzip
import io
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
from xml.etree import ElementTree

NAMESPACE = "{http://www.gnumeric.org/v10.dtd}"
FORMULA = None  # the type of a cell that holds one: Gnumeric's files give it none
# What the program must be seen to take for a formula, or the check could not fail.
DANGEROUS = "name,value\n=1+1,2\n\"=HYPERLINK(\"\"http://example.com\"\",\"\"x\"\")\",3\n"


def opened(text, folder):
    """The cells of the only sheet, by (row, column): type of the value and text."""
    table, sheet = folder / "table.csv", folder / "table.gnumeric"
    table.write_bytes(text)
    subprocess.run(["ssconvert", "--import-type=Gnumeric_stf:stf_csvtab", str(table), str(sheet)], check=True, capture_output=True)
    # U+FFFE stands in the file as it is, which XML does not allow.
    root = ElementTree.fromstring(gzip.decompress(sheet.read_bytes()).replace("\ufffe".encode(), b"?"))
    return {(int(cell.get("Row")), int(cell.get("Col"))): (cell.get("ValueType"), cell.text or "")
            for cell in root.iter(f"{NAMESPACE}Cell")}


def problems(name, text, folder):
    cells = opened(text, folder)
    rows = list(csv.reader(io.StringIO(text.decode(), newline=""), strict=True))
    if len(rows) < 2 or len(cells) < len(rows[0]) * 2:
        yield f"{name}: {len(rows)} rows, {len(cells)} cells"
    for place, (kind, shown) in cells.items():
        if kind is FORMULA:
            yield f"{name}: row {place[0] + 1}, column {place[1] + 1} is a formula: {shown}"
    for number, row in enumerate(rows):
        for column, cell in enumerate(row):
            kind, shown = cells.get((number, column), ("", ""))
            # A leading apostrophe is how a table says that a text is one; the program does not show it.
            wanted = (cell[1:] if re.match(r"'[=+\-@'\t\r]", cell) else cell).replace("\ufffe", "?")
            if kind == "40":  # a number, or what reads as one to it: "12 %"
                if re.fullmatch(r"-?[\d.]+", cell) and float(shown) != float(cell):
                    yield f"{name}: row {number + 1}, column {column + 1}: {shown} for {cell!r}"
            elif kind == "60" and shown != wanted:
                yield f"{name}: row {number + 1}, column {column + 1}: {shown!r} for {cell!r}"


def main(program, project):
    if shutil.which("ssconvert") is None:
        print("skipped: ssconvert (Debian's gnumeric) is not installed")
        return 77
    golden = project / "tests" / "report" / "golden"
    texts = {"hostile names": (golden / "hostile.csv").read_bytes()}
    calls = {"pedal": ["check", "demo/dumps/pipit-a.syx", "--on", "1.1", "--format", "csv"],
             "bank": ["check", "demo/dumps/bank-d.syx", "--on", "2.10", "--format", "csv"]}
    with tempfile.TemporaryDirectory() as scratch:
        folder = pathlib.Path(scratch)
        for name, call in calls.items():
            ran = subprocess.run([program, *call, "--schemas", "schemas"], cwd=project, capture_output=True, check=False)
            texts[name] = ran.stdout
        table = folder / "release.csv"
        subprocess.run([program, "schema", "export", "schemas/dunlin-6/1.00.json", "--out", str(table)], cwd=project,
                       capture_output=True, check=True)
        texts["a release as a table"] = table.read_bytes()
        found = [problem for name, text in texts.items() for problem in problems(name, text, folder)]
        formulas = sum(kind is FORMULA for kind, _ in opened(DANGEROUS.encode(), folder).values())
    if formulas != 2:
        found.append(f"{formulas} of 2 formulas in a table without protection were noticed")
    print("\n".join(found[:40]) or f"{len(texts)} tables opened by a spreadsheet program hold no formula")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main(str(pathlib.Path(sys.argv[1]).resolve()), pathlib.Path(sys.argv[2]).resolve()))
