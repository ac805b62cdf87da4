"""Compares the table reader and writer with Python's csv module, an independent implementation of RFC 4180.

Usage: csv_crosscheck.py PATH_TO_csv_list

Random tables, written by Python in every separator, line end and quoting style, must have the same cells in both; what
we write of them Python must read as the same again. Then the examples of RFC 4180 section 2, and broken tables, which
Python's strict mode refuses too. Exit code 1 on any mismatch.
"""
import csv
import io
import json
import pathlib
import random
import subprocess
import sys
import tempfile

SEPARATORS = {"comma": ",", "semicolon": ";", "tab": "\t"}
PIECES = ["a", "Bb", "0", "-1.5", ",", ";", "\t", '"', '""', "\n", "\r\n", "\r", " ", "  ", "=1+1", "@x", "'", "é", "€", "𝄞", "{", "}", "|", "\\", ""]

# RFC 4180 section 2 (2005), and its erratum-free text: input, cells.
EXAMPLES = [
    ("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),
    ("aaa,bbb,ccc\r\nzzz,yyy,xxx", [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),
    ('"aaa","bbb","ccc"\r\nzzz,yyy,xxx', [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),
    ('"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx', [["aaa", "b\r\nbb", "ccc"], ["zzz", "yyy", "xxx"]]),
    ('"aaa","b""bb","ccc"', [["aaa", 'b"bb', "ccc"]]),
    (" a , b \r\n", [[" a ", " b "]]),
]

# Broken: what we say of it. Python's strict mode is asked too; "a quote inside a plain cell" it lets pass.
BROKEN = [
    ('a,"b\r\nc', "nothing closes this quote", True),
    ('a,"b"c\r\n', "something stands behind the closing quote of a cell", True),
    ('a,b"c,d\r\n', "a quote inside a cell that does not begin with one", False),
]


def random_table(rng):
    width = rng.randint(1, 6)
    return [["".join(rng.choices(PIECES, k=rng.randint(0, 5))) for _ in range(width)] for _ in range(rng.randint(1, 8))]


def written(table, rng, separator):
    text = io.StringIO(newline="")
    writer = csv.writer(text, delimiter=separator, lineterminator=rng.choice(["\r\n", "\n", "\r"]),
                        quoting=rng.choice([csv.QUOTE_MINIMAL, csv.QUOTE_ALL, csv.QUOTE_NONNUMERIC]))
    writer.writerows(table)
    return text.getvalue()


def read_by_python(text, separator):
    return list(csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True))


def run(program, separator, paths):
    subprocess.run([program, separator, *map(str, paths)], check=True)
    return [json.loads(pathlib.Path(f"{path}.json").read_text()) for path in paths]


def random_tables(program, folder, rng):
    for name, separator in SEPARATORS.items():
        tables, paths = [], []
        for number in range(400):
            tables.append(random_table(rng))
            paths.append(folder / f"{name}-{number}.csv")
            text = written(tables[-1], rng, separator)
            while read_by_python(text, separator) != tables[-1]:  # it leaves a CR unquoted where lines end in LF
                text = written(tables[-1], rng, separator)
            paths[-1].write_bytes((rng.choice(["", "\ufeff"]) + text).encode())
        for table, path, read in zip(tables, paths, run(program, name, paths)):
            if read.get("rows") != table:
                yield f"{path.read_bytes()!r}: {read} for {table}"
            again = pathlib.Path(f"{path}.again").read_bytes().decode()
            if read_by_python(again, separator) != table:
                yield f"we write {again!r} for {table}"


def fixed_tables(program, folder):
    texts = [text for text, _ in EXAMPLES] + [text for text, _, _ in BROKEN]
    paths = [folder / f"fixed-{number}.csv" for number in range(len(texts))]
    for path, text in zip(paths, texts):
        path.write_bytes(text.encode())
    answers = run(program, "auto", paths)
    for (text, cells), read in zip(EXAMPLES, answers):
        if read.get("rows") != cells or read_by_python(text, ",") != cells:
            yield f"{text!r}: {read}"
    for (text, what, refused), read in zip(BROKEN, answers[len(EXAMPLES):]):
        if read.get("problem") != what:
            yield f"{text!r}: {read}"
        try:
            read_by_python(text, ",")
            python_refuses = False
        except csv.Error:
            python_refuses = True
        if python_refuses != refused:
            yield f"{text!r}: Python {'refuses' if python_refuses else 'takes'} it"


def main(program):
    rng = random.Random(4180)
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        found = list(random_tables(program, folder, rng)) + list(fixed_tables(program, folder))
    print("\n".join(found[:20]) or "1200 random tables and 9 fixed ones: no difference")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
