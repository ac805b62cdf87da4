#!/usr/bin/env python3
"""Runs the commands that README.md and docs/ show in ```console blocks, and compares what they print with what is shown there.

usage: check_examples.py PROGRAM PROJECT_FOLDER

A line "$ downfit ..." is run in the project's folder; the lines after it are its output, up to the next "$" or the end of the block. A
last line "..." stands for the rest. Exit status 1 and both texts where they differ.
"""
import os
import pathlib
import re
import shlex
import subprocess
import sys

program, project = sys.argv[1], pathlib.Path(sys.argv[2])


def examples(text):
    for block in re.findall(r"```console\n(.*?)```", text, re.S):
        for part in re.split(r"^\$ ", block, flags=re.M)[1:]:
            command, _, shown = part.partition("\n")
            yield command, shown


def run(command):
    words = shlex.split(command)
    if words[0] != "downfit":
        sys.exit(f"an example runs {words[0]}, not downfit")
    environment = {key: value for key, value in os.environ.items() if not key.startswith("DOWNFIT_")}
    done = subprocess.run([program, *words[1:]], cwd=project, env=environment, capture_output=True, text=True)
    return done.stdout + done.stderr


def matches(shown, printed):
    if shown.endswith("...\n"):
        return printed.startswith(shown[:-4])
    return shown == printed


ran = wrong = 0
for page in [project / "README.md", *sorted((project / "docs").glob("*.md"))]:
    if page.name == "new-device.md":
        continue  # its commands work on files that it writes: walk_test.py follows it
    for command, shown in examples(page.read_text(encoding="utf-8")):
        ran += 1
        printed = run(command)
        if not matches(shown, printed):
            wrong += 1
            print(f"{page.name}: $ {command}\n--- shown\n{shown}--- printed\n{printed}")
if ran == 0:
    sys.exit("no example was found")
print(f"{ran} examples run, {wrong} wrong")
sys.exit(1 if wrong else 0)
