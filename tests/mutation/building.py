"""Builds test programs on an instrumented copy of a room: its objects come before the library that holds the originals."""
import json
import os
import pathlib
import re
import shlex
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor


def run(command, folder):
    done = subprocess.run(command, cwd=folder, shell=isinstance(command, str), capture_output=True, text=True)
    if done.returncode != 0:
        sys.exit(f"{command if isinstance(command, str) else ' '.join(command)}\nfailed in {folder}:\n"
                 + (done.stdout + done.stderr)[:5000])
    return done.stdout


def write_if_changed(path, data):
    path.parent.mkdir(parents=True, exist_ok=True)
    if not path.is_file() or path.read_bytes() != data:
        path.write_bytes(data)


def instrumented_command(command, root, source, copy, headers, target):
    """The compile command of a source, for its copy: changed headers first, without what is precompiled."""
    words = []
    skip = False
    for word in shlex.split(command):
        if skip:
            skip = False
        elif word in ("-o", "-include"):
            skip = True
        elif word.startswith("-W") or word == str(source):
            continue
        else:
            words.append(word)
    at = next(i for i, word in enumerate(words) if word.startswith("-I"))
    words[at:at] = ["-I" + str(headers), "-I" + str(root / "tests")]
    # What a mutant does out of bounds must not pass unnoticed.
    return words[:-1] + ["-w", "-O1", "-D_GLIBCXX_ASSERTIONS", "-c", str(copy), "-o", str(target)]


def compiled_alone(build, folder):
    """Whether there is a compile command for each source of the folder; with unity builds there is none."""
    path = build / "compile_commands.json"
    if not path.is_file():
        sys.exit(f"{build}: a build folder of Ninja is needed (docs/mutations.md)")
    commands = json.loads(path.read_text())
    return any(pathlib.Path(entry["file"]).parent == folder for entry in commands)


def newer(target, sources):
    return target.is_file() and all(target.stat().st_mtime_ns > path.stat().st_mtime_ns for path in sources)


class Builder:
    """Compiles the changed sources of what was found, and links programs with them."""

    def __init__(self, found, root, build, out):
        if not (build / "build.ninja").is_file():
            sys.exit(f"{build}: a build folder of Ninja is needed (cmake -G Ninja)")
        self.root = root
        self.build = build
        self.out = out
        self.commands = json.loads((build / "compile_commands.json").read_text())
        self.copies = out / "src" / found.folder.name
        for name, text in found.texts.items():
            write_if_changed(self.copies / name, text)
        self.headers = list(self.copies.glob("*.h")) + [root / "tests" / "mutation" / "switch.h"]
        self.headers += [path for folder in ("src", "tests") for path in (root / folder).rglob("*.h")
                         if path.parent != found.folder]
        copies = {}
        for entry in self.commands:
            source = pathlib.Path(entry["file"])
            if source.parent == found.folder:
                copies.setdefault(source, entry)
        self.objects = self.compile([(entry, source, self.copies / source.name, "copies")
                                     for source, entry in copies.items()])

    def compile(self, jobs):
        """Compiles (entry of the compile commands, source, what to compile instead, folder); the objects."""
        objects, commands = [], []
        for entry, source, copy, folder in jobs:
            target = self.out / "objects" / folder / (source.name + ".o")
            target.parent.mkdir(parents=True, exist_ok=True)
            objects.append(target)
            if not newer(target, self.headers + [copy]):
                commands.append(instrumented_command(entry["command"], self.root, source, copy, self.copies.parent,
                                                     target))
        with ThreadPoolExecutor(os.cpu_count()) as pool:
            list(pool.map(lambda command: run(command, self.build), commands))
        return objects

    def link(self, program, more=(), with_headers=False):
        """Links a program of the build anew, on the changed sources. `with_headers`: its own sources are compiled anew
        too, so that they see the changed headers. Returns the new program."""
        commands = run(["ninja", "-t", "commands", "-s", program], self.build).splitlines()
        words = shlex.split(next(line for line in reversed(commands) if f" -o {program} " in line))
        words = [word for word in words if word not in (":", "&&")]
        own = [word for word in words if word.endswith(".o")]
        objects = [self.build / word for word in own]
        if with_headers:
            by_output = {re.search(r"\s-o (\S+)", entry["command"])[1]: entry for entry in self.commands}
            sources = [(by_output[word], pathlib.Path(by_output[word]["file"])) for word in own]
            objects = self.compile([(entry, source, source, pathlib.Path(program).name) for entry, source in sources])
        objects = self.objects + list(more) + objects
        first = words.index(own[0])
        words[first:first] = map(str, objects)
        words = [word for word in words if word not in own]
        target = self.out / pathlib.Path(program).name
        words[words.index("-o") + 1] = str(target)
        if not newer(target, objects + [self.build / program]):
            run(words, self.build)
        return target
