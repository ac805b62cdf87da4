"""The top level holds what it is meant to hold, and nothing that the build makes is committed.

check_top_level.py [PROJECT] prints every breach and exits with 1 if there is one.
"""
import pathlib
import subprocess
import sys

ALLOWED = ["CMakeLists.txt", "DEVELOPERS.md", "README.md", "bench", "demo", "docs", "schemas", "src", "tests"]


def top_names(project):
    """What git has or would take at the top; without git or a repository, what lies there."""
    # The folder may belong to another user than the one who runs the tests.
    command = ["git", "-c", "safe.directory=*", "-C", str(project), "ls-files", "-z",
               "--cached", "--others", "--exclude-standard"]
    try:
        listed = subprocess.run(command, capture_output=True, check=True, text=True).stdout
        return sorted({name.split("/")[0] for name in listed.split("\0") if name})
    except (OSError, subprocess.CalledProcessError):
        return sorted(path.name for path in pathlib.Path(project).iterdir() if path.name != "build")


def problems(project):
    names = top_names(project)
    found = [f"{name} does not belong at the top" for name in names
             if name not in ALLOWED and not name.startswith(".")]
    found += [f"{name} is missing" for name in ALLOWED if name not in names]
    return found


if __name__ == "__main__":
    breaches = problems(sys.argv[1] if len(sys.argv) > 1 else pathlib.Path(__file__).resolve().parents[2])
    print("\n".join(breaches))
    sys.exit(1 if breaches else 0)
