"""docs/mutations.md: the mutants that no test notices, each with the reason. Read here, so that it cannot go stale."""
import re

TABLES = "<!-- tables: written by check.py --write, the reasons by hand -->"
# | function | statement | change | why |
ROW = re.compile(r"^\|(?P<cells>.*)\|\s*$")


def cells_of(line):
    """The cells of a table row; code spans may hold `\\|`."""
    cells = re.split(r"(?<!\\)\|", line.strip().strip("|"))
    return [cell.strip().replace("\\|", "|").strip("`").strip() for cell in cells]


def read(text):
    """The reasons by name of the mutant (mutants.name_of)."""
    reasons = {}
    file = None
    for line in text.splitlines():
        heading = re.match(r"^#+ `?([a-z_]+\.(?:cpp|h))`?$", line)
        if heading:
            file = heading[1]
        elif line.startswith("#"):
            file = None
        elif file and line.startswith("|") and not re.match(r"^\|[-| ]+\|$", line):
            cells = cells_of(line)
            if len(cells) == 4 and cells[0] != "function":
                reasons[(file, cells[0], cells[1], cells[2])] = cells[3]
    return reasons


OPEN = "open"  # in place of a reason: nobody has written the test, or found out that there can be none


def written(text, names, reasons):
    """The page with a table per file of these mutants, in this order; what has no reason is open."""
    kept = text[:text.index(TABLES) + len(TABLES)] + "\n"
    file = None
    for name in names:
        if name[0] != file:
            file = name[0]
            kept += f"\n### {file}\n\n| function | statement | change | why |\n| --- | --- | --- | --- |\n"
        kept += row(name, reasons.get(name, OPEN)) + "\n"
    return kept


def span(text):
    escaped = text.replace("|", "\\|")
    return f"`` {escaped} ``" if "`" in text else f"`{escaped}`"


def row(name, reason):
    _, function, context, change = name
    return f"| {span(function)} | {span(context)} | {span(change)} | {reason} |"
