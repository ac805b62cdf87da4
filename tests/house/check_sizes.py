"""Size budget: a file over it wants to be two ideas in two files. There are no exceptions.

check_sizes.py [PROJECT] prints every breach and exits with 1 if there is one.
"""
import pathlib
import sys

BUDGET = {".h": 200, ".cpp": 500}
FOLDERS = ["src", "tests", "bench"]
DEVELOPERS_BUDGET = 150


def lines_of(path):
    return len(path.read_text(encoding="utf-8").splitlines())


def problems(project):
    project = pathlib.Path(project)
    budgets = {project / "DEVELOPERS.md": DEVELOPERS_BUDGET}
    for folder in FOLDERS:
        for path in (project / folder).rglob("*"):
            if path.suffix in BUDGET:
                budgets[path] = BUDGET[path.suffix]
    found = []
    for path, budget in sorted(budgets.items()):
        if path.is_file() and lines_of(path) > budget:
            found.append(f"{path.relative_to(project)}: {lines_of(path)} lines, {budget} allowed")
    if len(budgets) == 1:
        found.append("there are no sources to measure")
    return found


if __name__ == "__main__":
    breaches = problems(sys.argv[1] if len(sys.argv) > 1 else pathlib.Path(__file__).resolve().parents[2])
    print("\n".join(breaches))
    sys.exit(1 if breaches else 0)
