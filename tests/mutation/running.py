"""Runs mutants: which tests reach which mutants, then each mutant until the first test that notices it."""
import collections
import os
import re
import subprocess
import sys
import threading
import time
from concurrent.futures import ThreadPoolExecutor

REACHED, DIFFERED = 1, 3
HANG_SECONDS = 5
SECOND_PAIRS = 8  # of releases that the second loader is asked about: enough to be quick

Test = collections.namedtuple("Test", "name seconds marks")  # marks: by mutant


class Marks:
    """Which mutants any test reached, and for which of them any test saw another value."""

    def __init__(self):
        self.reached = set()
        self.differed = set()

    def take(self, marks):
        self.reached |= set(marks)
        self.differed |= {number for number, mark in marks.items() if mark == DIFFERED}


def marks_from(words):
    return {int(number): int(mark) for number, mark in (word.split(":") for word in words)}


def record_units(driver):
    """The units of the driver, with the mutants that each reaches."""
    done = subprocess.run([driver, "record"], capture_output=True, text=True)
    if done.returncode != 0:
        sys.exit(done.stderr + "the tests fail without any mutant")
    units = []
    for line in done.stdout.splitlines():
        name, microseconds, words = line.split("\t")
        units.append(Test(name, int(microseconds) / 1e6, marks_from(words.split())))
    return units


class Driver:
    """A driver that serves; one for each processor."""

    def __init__(self, program):
        self.process = subprocess.Popen([program, "serve", str(HANG_SECONDS)], stdin=subprocess.PIPE,
                                        stdout=subprocess.PIPE, text=True)

    def ask(self, number, units):
        self.process.stdin.write(f"{number} {' '.join(map(str, units))}\n")
        self.process.stdin.flush()
        words = self.process.stdout.readline().split()
        if len(words) < 2:
            sys.exit("the driver has stopped")
        return words[1], int(words[2]) if len(words) > 2 else None

    def close(self):
        self.process.stdin.close()
        self.process.wait()


def run_units(driver, units, numbers, killers, tell):
    """What becomes of each mutant: (outcome, name of the unit or None). `killers` are units that noticed it before."""
    at = {unit.name: i for i, unit in enumerate(units)}
    by_mutant = collections.defaultdict(list)
    for i, unit in sorted(enumerate(units), key=lambda each: each[1].seconds):
        for number, mark in unit.marks.items():
            if mark == DIFFERED:
                by_mutant[number].append(i)
    noticed_before = collections.Counter()
    results = {}
    waiting = list(reversed(numbers))
    lock = threading.Lock()

    def work():
        serving = Driver(driver)
        while True:
            with lock:
                if not waiting:
                    break
                number = waiting.pop()
                order = sorted(by_mutant[number], key=lambda unit: -noticed_before[unit])
            first = at.get(killers.get(number))
            if first is not None:
                order = [first] + [unit for unit in order if unit != first]
            outcome, unit = serving.ask(number, order)
            with lock:
                if unit is not None:
                    noticed_before[unit] += 1
                results[number] = (outcome, units[unit].name if unit is not None else None)
                tell(number, results[number])
        serving.close()

    with ThreadPoolExecutor(os.cpu_count()) as pool:
        for each in [pool.submit(work) for _ in range(os.cpu_count())]:
            each.result()
    return results


def run_case(program, case, number, marks_file, seconds):
    """Runs a test case of a Catch2 program with a mutant active (0: none). What became of it."""
    environment = dict(os.environ, RC_PARAMS="seed=6", DOWNFIT_PAIRS=str(SECOND_PAIRS), DOWNFIT_MUTANT=str(number),
                       DOWNFIT_PROGRAM=str(program.parent / "downfit"))
    if marks_file:
        environment["DOWNFIT_MUTANT_MARKS"] = str(marks_file)
    try:
        done = subprocess.run(["timeout", "-s", "KILL", str(seconds), program, "--abort", re.sub(r"([,\[\]\\*])", r"\\\1", case)],
                              env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    except OSError as error:
        sys.exit(str(error))
    if done.returncode == 0:
        return "survived"
    if done.returncode in (137, -9):
        return "hung"
    return "failed" if 0 < done.returncode < 128 else "crashed"


def cases_of(program):
    done = subprocess.run([program, "--list-test-names-only"], capture_output=True, text=True)
    return [line.strip() for line in done.stdout.splitlines() if line.strip()]


def record_cases(programs, skipped, out):
    """The cases of Catch2 programs, but for some, with the mutants that each reaches."""
    jobs = [(program, case) for program in programs for case in cases_of(program) if case not in skipped]

    def record(job):
        program, case = job
        marks_file = out / f"marks-{threading.get_ident()}"
        marks_file.unlink(missing_ok=True)
        start = time.monotonic()
        outcome = run_case(program, case, 0, marks_file, 60)
        seconds = time.monotonic() - start
        if outcome != "survived":
            sys.exit(f"{program} \"{case}\" fails without any mutant: {outcome}")
        marks = {}
        if marks_file.is_file():
            for line in marks_file.read_text().splitlines():
                number, mark = map(int, line.split())
                marks[number] = marks.get(number, 0) | mark
        return Test((program, case), seconds, marks)

    with ThreadPoolExecutor(os.cpu_count()) as pool:
        tests = list(pool.map(record, jobs))
    return [test for test in tests if test.marks]


def named(test):
    program, case = test.name
    return f"{program.name}: {case}"


def run_cases(tests, numbers, killers, tell):
    """As run_units, by Catch2 cases."""
    tests = sorted(tests, key=lambda test: test.seconds)

    def work(number):
        result = ("survived", None)
        before = killers.get(number)
        for test in sorted(tests, key=lambda test: named(test) != before):
            if test.marks.get(number) != DIFFERED:
                continue
            program, case = test.name
            outcome = run_case(program, case, number, None, max(HANG_SECONDS, 10 * test.seconds))
            if outcome != "survived":
                result = (outcome, named(test))
                break
        tell(number, result)
        return number, result

    with ThreadPoolExecutor(os.cpu_count()) as pool:
        return dict(pool.map(work, numbers))
