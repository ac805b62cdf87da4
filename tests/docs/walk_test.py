#!/usr/bin/env python3
"""Walks through docs/new-device.md as a newcomer does: writes the files that it shows, runs the commands in their order, and compares
what they print with what the page shows.

usage: walk_test.py PROGRAM PROJECT_FOLDER

```json FILE          is written to FILE as it stands
```json merge FILE    is merged into FILE (JSON Merge Patch, RFC 7396)
```console            commands after "$ ", and their output; a last line "..." stands for the rest

All in a folder of its own, in which demo/ and schemas/ are the project's. Exit status 1 and both texts where they differ.
"""
import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile

CRASHED = (70, 126, 127)


def merged(target, patch):
    """RFC 7396, section 2."""
    if not isinstance(patch, dict):
        return patch
    result = dict(target) if isinstance(target, dict) else {}
    for key, value in patch.items():
        if value is None:
            result.pop(key, None)
        else:
            result[key] = merged(result.get(key), value)
    return result


def without_comments(text):
    return re.sub(r"^\s*//.*$", "", text, flags=re.M)


def write(folder, info, text):
    words = info.split()
    file = folder / words[-1]
    file.parent.mkdir(parents=True, exist_ok=True)
    if words[0] == "merge":
        text = json.dumps(merged(json.loads(without_comments(file.read_text(encoding="utf-8"))), json.loads(text)), indent=2)
    file.write_text(text, encoding="utf-8")


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
