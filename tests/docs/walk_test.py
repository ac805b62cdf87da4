#!/usr/bin/env python3
"""Walks through docs/new-device.md as a newcomer does: writes the files that it shows, runs the commands in their order, and compares
what they print with what the page shows.

usage: walk_test.py PROGRAM PROJECT_FOLDER

```json FILE          is written to FILE as it stands; the page names the file, and its folder is there by then
```console            commands after "$ ", and their output; a last line "..." stands for the rest

All in a folder of its own, in which demo/ and schemas/ are the project's. Exit status 1 and both texts where they differ.
"""
import os
import pathlib
import re
import subprocess
import sys
import tempfile

CRASHED = (70, 126, 127)


def write(folder, info, text):
    (folder / info.strip()).write_text(text, encoding="utf-8")


def run(folder, program, command):
    environment = {key: value for key, value in os.environ.items() if not key.startswith("DOWNFIT_")}
    environment["PATH"] = f"{program.parent}:{environment['PATH']}"
    done = subprocess.run(["bash", "-c", command], cwd=folder, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
                          text=True, check=False)
    if done.returncode in CRASHED or done.returncode < 0:
        return f"exit status {done.returncode}\n{done.stdout}"
    return done.stdout


def matches(shown, printed):
    if shown.endswith("...\n"):
        return printed.startswith(shown[:-4])
    return shown == printed


def walk(page, folder, program):
    """(command, what is shown, what was printed) of every command."""
    for language, info, text in re.findall(r"^```(\w+)([^\n]*)\n(.*?)^```", page, re.S | re.M):
        if language == "json":
            if f"`{info.strip()}`" not in page:
                yield f"(writes {info.strip()})", "a file that the text names\n", "a name that only the source has\n"
            write(folder, info, text)
            continue
        for part in re.split(r"^\$ ", text, flags=re.M)[1:]:
            command, _, shown = part.partition("\n")
            yield command, shown, run(folder, program, command)


def main():
    program, project = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]).resolve()
    page = (project / "docs" / "new-device.md").read_text(encoding="utf-8")
    ran = wrong = 0
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        for shared in ("demo", "schemas"):
            (folder / shared).symlink_to(project / shared)
        for command, shown, printed in walk(page, folder, program):
            ran += 1
            if not matches(shown, printed):
                wrong += 1
                print(f"$ {command}\n--- shown\n{shown}--- printed\n{printed}")
    print(f"{ran} commands run, {wrong} wrong")
    return 1 if wrong or ran < 10 else 0


if __name__ == "__main__":
    sys.exit(main())
