"""Debian packages whose files the tests read: fetched by apt when a test runs, unpacked into the build folder, never
installed and never part of the project."""

import pathlib
import subprocess
import sys

SKIPPED = 77


def unpacked(folder, *packages):
    """Where the files of all these packages lie. Ends the test as skipped where they cannot be had."""
    folder = pathlib.Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    roots = {}
    for package in packages:
        roots[package] = folder / package
        if roots[package].exists():
            continue
        ran = subprocess.run(["apt-get", "-q", "download", package], cwd=folder, capture_output=True, text=True,
                             check=False)
        found = sorted(folder.glob(f"{package}_*.deb"))
        if ran.returncode != 0 or not found:
            print(f"skipped: apt-get cannot download {package} here: {ran.stderr.strip()}")
            sys.exit(SKIPPED)
        half = folder / f"{package}.part"
        subprocess.run(["dpkg-deb", "-x", str(found[-1]), str(half)], check=True)
        half.rename(roots[package])
        found[-1].unlink()
    return roots
