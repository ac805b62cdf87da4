"""Kills `downfit refit` at random points: FILE is there whole, or not at all.

kill_test.py PROGRAM PROJECT [KILLS] goes on until it has killed so many, half of them while FILE is written.
"""
import pathlib
import random
import subprocess
import sys
import tempfile
import time

KILLS = int(sys.argv[3]) if len(sys.argv) > 3 else 50
MOST_RUNS = 20 * KILLS


def start(program, project, out):
    # Its presets were saved on that release: there is little to compute, and all of it is written.
    return subprocess.Popen(
        [program, "refit", project / "demo/dumps/bank-a.syx", "--on", "3.10", "--out", out, "--summary",
         "--schemas", project / "schemas", "--device", "dunlin-6"],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def kill_after(process, seconds):
    try:
        process.wait(seconds)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()


def kill_while_writing(process, folder, seconds):
    """Waits until a file appears beside the output, then a little more."""
    while process.poll() is None and not any(folder.iterdir()):
        time.sleep(0.0002)
    kill_after(process, seconds)


def main():
    program, project = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2])
    random.seed(6)
    whole = killed = writing = run = 0
    with tempfile.TemporaryDirectory() as scratch:
        reference = pathlib.Path(scratch) / "reference.syx"
        began = time.monotonic()
        start(program, project, reference).wait()
        took = time.monotonic() - began
        expected = reference.read_bytes()
        while killed < KILLS and run < MOST_RUNS:
            run += 1
            folder = pathlib.Path(scratch) / str(run)
            folder.mkdir()
            out = folder / "out.syx"
            process = start(program, project, out)
            if run % 2:
                kill_while_writing(process, folder, random.uniform(0, 0.004))
            else:
                kill_after(process, random.uniform(0, took))
            killed += process.returncode == -9
            writing += any(path != out for path in folder.iterdir())
            if out.exists():
                whole += 1
                if out.read_bytes() != expected:
                    sys.exit(f"run {run}: {out.stat().st_size} bytes of {len(expected)} are there")
    print(f"{run} runs, {killed} killed, {writing} of them while writing, {whole} with the whole file")
    if killed < KILLS:
        sys.exit("hardly any run was killed in time: too little was tried")


if __name__ == "__main__":
    main()
