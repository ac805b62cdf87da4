"""Arrows point down only: which room of src/ may include what, and which words belong to one room alone.

check_layers.py [PROJECT] prints every breach and exits with 1 if there is one.
"""
import pathlib
import re
import sys

# Lowest first. A room may include itself and any room on a lower floor, never its neighbours.
FLOORS = [["base"], ["files", "midi"], ["schema"], ["dump"], ["compat"], ["refit", "study"], ["rig", "backup"], ["report"], ["cli"]]
FLOOR = {room: number for number, rooms in enumerate(FLOORS) for room in rooms}

# (what an #include <...> looks like, rooms that may have it, reason)
SYSTEM_INCLUDES = [
    (r"boost/", ["cli"], "options are the command line's business"),
    (r"(filesystem|fstream|dirent\.h|fcntl\.h|sys/stat\.h)$", ["files"], "only files/ touches the file system"),
    (r"(iostream|unistd\.h)$", ["files", "cli"], "the library does not print"),
    (r"(thread|future|stop_token)$", [], "the library starts no thread of its own"),
]

# (what it looks like in code, rooms that may have it, reason)
CODE_WORDS = [
    (r"\bstd::(cout|cerr|clog|cin)\b", ["cli"], "the library does not print"),
    (r"(?<![\w.>])(printf|fprintf|vprintf|vfprintf|puts|putchar|perror)\s*\(", ["cli"], "the library does not print"),
    (r"(?<![\w.>])(exit|_exit|_Exit|quick_exit|abort|terminate)\s*\(", ["cli"], "the library does not end the program"),
    (r"(?<![\w.>])(fopen|freopen|tmpfile)\s*\(", ["files"], "only files/ touches the file system"),
]

COMMENT_OR_TEXT = re.compile(r'//[^\n]*|/\*.*?\*/|"(?:\\.|[^"\\\n])*"|\'(?:\\.|[^\'\\\n])+\'', re.S)
INCLUDE = re.compile(r'^\s*#\s*include\s*([<"])([^>"]+)[>"]')


def blank(match):
    """The same number of lines, so that line numbers stay."""
    return re.sub(r"[^\n]", " ", match.group())


def include_problem(room, source, bracket, target):
    if bracket == "<":
        for pattern, rooms, reason in SYSTEM_INCLUDES:
            if re.match(pattern, target) and room not in rooms:
                return f"{room}/ includes <{target}>: {reason}"
        return None
    other = target.split("/")[0]
    if other not in FLOOR or not (source / target).is_file():
        return f'"{target}" is no file of a room; write "room/file.h"'
    if other != room and FLOOR[other] >= FLOOR[room]:
        return f'{room}/ includes "{target}", which is not below it'
    return None


def problems(project):
    source = pathlib.Path(project) / "src"
    found = []
    files = sorted(path for path in source.rglob("*") if path.suffix in (".h", ".cpp"))
    for path in files:
        room = path.relative_to(source).parts[0]
        where = path.relative_to(project)
        if room not in FLOOR:
            found.append(f"{where}: {room}/ is not a room of the house")
            continue
        text = path.read_text(encoding="utf-8")
        for number, line in enumerate(text.splitlines(), 1):
            if match := INCLUDE.match(line):
                if problem := include_problem(room, source, *match.groups()):
                    found.append(f"{where}:{number}: {problem}")
        for number, line in enumerate(COMMENT_OR_TEXT.sub(blank, text).splitlines(), 1):
            for pattern, rooms, reason in CODE_WORDS:
                if room not in rooms and (match := re.search(pattern, line)):
                    found.append(f"{where}:{number}: {room}/ says {match.group().strip()}: {reason}")
    tests = pathlib.Path(project) / "tests"
    for path in sorted(tests.rglob("*.h")):
        if (source / path.relative_to(tests)).exists():
            found.append(f"{path.relative_to(project)} hides the header of the same name in src/")
    if not files:
        found.append("src/ holds no sources")
    return found


if __name__ == "__main__":
    breaches = problems(sys.argv[1] if len(sys.argv) > 1 else pathlib.Path(__file__).resolve().parents[2])
    print("\n".join(breaches))
    sys.exit(1 if breaches else 0)
