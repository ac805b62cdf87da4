"""docs/formats.md, "As a table": its example does what it shows, and its list of columns is the program's.

Usage: check_tables.py PROGRAM PROJECT. Prints what is wrong and exits with 1 if anything is.
"""
import pathlib
import re
import shlex
import subprocess
import sys
import tempfile
import textwrap


def blocks(section, kind):
    return re.findall(rf"^```{kind}\n(.*?)^```", section, re.S | re.M)


def example_problems(program, section):
    tables, commands, files = blocks(section, "csv"), blocks(section, "sh"), blocks(section, "json")
    if not len(tables) == len(commands) == len(files) >= 1:
        yield "each table wants a command and a file"
    for table, command, shown in zip(tables, commands, files):
        words = shlex.split(command.replace("\\\n", " "))
        with tempfile.TemporaryDirectory() as folder:
            folder = pathlib.Path(folder)
            (folder / words[3]).write_text(table, encoding="utf-8")
            done = subprocess.run([program, *words[1:]], cwd=folder, capture_output=True, text=True)
            made = folder / words[words.index("--out") + 1]
            if done.returncode != 0 or not made.exists():
                yield f"{command}: {done.stderr}"
            elif textwrap.indent(shown, "  ") not in made.read_text(encoding="utf-8"):
                yield f"{command} makes\n{made.read_text(encoding='utf-8')}"


def column_problems(project, section):
    source = (project / "src/schema/table_columns.h").read_text(encoding="utf-8")
    columns = re.findall(r'Column\{"([^"]+)"', source)
    rows = re.findall(r"^\| (`.*?) \| (.*?) \|$", section, re.M)
    told = [name for cell, _ in rows for name in re.findall(r"`([^`]+)`", cell)]
    told += [name for _, meaning in rows for name in re.findall(r"`((?:plays|scale)-[a-z]+)`", meaning)]
    if len(columns) < 50:
        yield "the list of columns was not found"
    for name in sorted(set(columns) ^ set(told)):
        yield f"column {name!r} stands in one of the page and the program only"
    for name in sorted({name for name in told if told.count(name) > 1}):
        yield f"column {name!r} is told twice"


def main(program, project):
    page = (project / "docs" / "formats.md").read_text(encoding="utf-8")
    section = page.partition("\n## As a table\n")[2].partition("\n## ")[0]
    found = list(example_problems(program, section)) + list(column_problems(project, section))
    print("\n".join(found) or "the table's example and columns are as told")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], pathlib.Path(sys.argv[2])))
