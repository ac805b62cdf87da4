"""Every source is named in the build file of its part: one that is not would be silently left out.

check_listed.py [PROJECT] prints every breach and exits with 1 if there is one.
"""
import pathlib
import re
import sys

PARTS = ["src", "tests", "bench"]


def problems(project):
    found = []
    seen = 0
    for part in PARTS:
        folder = pathlib.Path(project) / part
        build = folder / "CMakeLists.txt"
        text = re.sub(r"#.*", "", build.read_text(encoding="utf-8")) if build.is_file() else ""
        if "GLOB" in text:
            found.append(f"{part}/CMakeLists.txt globs; name the sources")
        listed = set(re.findall(r"[\w./-]+\.cpp\b", text))
        for path in sorted(folder.rglob("*.cpp")):
            seen += 1
            name = path.relative_to(folder).as_posix()
            if name not in listed:
                found.append(f"{part}/{name} is not named in {part}/CMakeLists.txt")
    if not seen:
        found.append("there are no sources to look for")
    return found


if __name__ == "__main__":
    breaches = problems(sys.argv[1] if len(sys.argv) > 1 else pathlib.Path(__file__).resolve().parents[2])
    print("\n".join(breaches))
    sys.exit(1 if breaches else 0)
