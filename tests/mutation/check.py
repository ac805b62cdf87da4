"""Mutation check of src/compat: does a test fail for every small fault that could be in it?

check.py [--build FOLDER] [--only FILE]... [--list] [--run NUMBER] [--quick] [--fresh] [--write]

Every comparison, constant, condition, enumerator, case and statement of src/compat is changed in every way that
mutants.py knows: one changed copy of the sources holds them all, each behind a number. A mutant is run with the tests
that it makes a difference to, until the first that fails (or crashes, or hangs). One that no test notices must stand in
docs/mutations.md, with the reason or as open; else this check fails. So does a row for a mutant that is noticed, or is no
more.

Results are kept in FOLDER/mutation/results.json: a run that was broken off is taken up again where nothing has
changed, and what noticed a mutant before is tried on it first.
"""
import argparse
import collections
import hashlib
import json
import pathlib
import pickle
import subprocess
import sys
import time

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent))
import building  # noqa: E402
try:
    import mutants  # noqa: E402
except ImportError as missing:
    print(f"skipped: {missing} (the package python3-clang-14, see .ci/packages)")
    sys.exit(77)
import page  # noqa: E402
import running  # noqa: E402

ROOT = pathlib.Path(__file__).resolve().parents[2]
FOLDER = "src/compat"
PROGRAMS = ["compat", "report", "cli", "demo", "second"]
WITH_HEADERS = ["tests/test_compat"]  # those that make values of the types of compat/ themselves
# What the driver runs itself, or what says nothing about compat/.
SKIPPED = {"each outcome comes out as its case file says",
           "what loading rules say, stated or not, comes out as its case file says",
           "each shape of dump decodes, loads and writes back as its case file says"}
# Named, not timed: which tests are asked must not depend on how busy the machine is.
SLOW = {"a check on several releases is the single checks, in any order",
        "stating any rule never widens the span between best and worst",
        "a floor is what the single checks say",
        "a wider range makes nothing worse",
        "stating a rule never widens the span between best and worst",
        "a policy makes no verdict better than its worst finding that nobody accepted",
        "where the stamp leaves several releases, the worst is told with the cautions of all",
        "what is kept is read the same after it was written there",
        "nothing is new since a report of the same check, and nothing else changes by comparing",
        "more acceptances never make anything fail, a stricter policy never makes it pass",
        "loading on its own release keeps everything, whatever the rules",
        "no tolerance takes a caution away",
        "what the older release has after loading is the same after a dump and a reading of it",
        "check: the summary of the demo",
        "schema commands: any damage to a dump ends in a status, never in a crash",
        "schema coverage: at any width lines are no longer than that",
        "a file with too many messages is refused, one with as many as may be is read",
        "of very many problems the first are told and the others counted",
        "damage to one preset is told, and touches no other",
        "the check finds in one bank of the Dunlin 6 demo what was planted there, and nothing else",
        "the check finds in the other banks of the Dunlin 6 demo what was planted there, and nothing else",
        "compare: one bank in three formats is the same sound"}


def digest_of(paths):
    digest = hashlib.sha256()
    for path in paths:
        digest.update(str(path).encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()


def found_mutants(build, out):
    """The mutants, from the last run where no source has changed since."""
    sources = sorted((ROOT / "src").rglob("*.h")) + sorted((ROOT / FOLDER).glob("*.cpp"))
    digest = digest_of(sources + [ROOT / "tests" / "mutation" / "mutants.py"])
    cache = out / "mutants.pickle"
    if cache.is_file():
        kept, found = pickle.loads(cache.read_bytes())
        if kept == digest:
            return found
    found = mutants.find(ROOT, FOLDER, build)
    cache.write_bytes(pickle.dumps((digest, found)))
    return found


def test_files():
    folders = ["outcomes", "rules", "shapes", "compat", "coverage", "report", "cli", "demo", "second"]
    paths = [path for folder in folders for path in (ROOT / "tests" / folder).rglob("*") if path.is_file()]
    return sorted(paths + list((ROOT / "demo").rglob("*.syx")) + list((ROOT / "schemas").rglob("*.json")))


class Results:
    """What became of each mutant, by name; kept in a file."""

    def __init__(self, path, digest, fresh):
        self.path = path
        self.digest = digest
        self.killers = {}  # of any earlier run
        self.valid = {}    # of one with the same sources and tests
        self.written = time.monotonic()
        if path.is_file():
            kept = json.loads(path.read_text())
            for name, outcome, by in kept["mutants"]:
                if by:
                    self.killers[tuple(name)] = by
                if kept["digest"] == digest and not fresh:
                    self.valid[tuple(name)] = (outcome, by)

    def put(self, name, result):
        self.valid[name] = result
        if time.monotonic() - self.written > 10:
            self.write()

    def write(self):
        rows = [[list(name), outcome, by] for name, (outcome, by) in sorted(self.valid.items())]
        building.write_if_changed(self.path, json.dumps({"digest": self.digest, "mutants": rows}, indent=0).encode())
        self.written = time.monotonic()


def run_all(chosen, programs, driver, results, out):
    """Runs the chosen mutants whose result is not known. The outcome of all, by number."""
    names = {mutant.id: mutants.name_of(mutant) for mutant in chosen}
    open_numbers = [number for number in names if names[number] not in results.valid]
    if not open_numbers:
        return
    units = running.record_units(driver)
    cases = running.record_cases(programs, SKIPPED | SLOW, out) if programs else []
    marks = running.Marks()
    for test in units + cases:
        marks.take(test.marks)
    for number in open_numbers:
        if number not in marks.differed:
            how = "unmoved" if number in marks.reached else "unreached"
            results.valid[names[number]] = (how, None)
    open_numbers = [number for number in open_numbers if number in marks.differed]
    done = collections.Counter()

    def tell(number, result):
        done[result[0]] += 1
        results.put(names[number], result)
        if sum(done.values()) % 500 == 0:
            print(f"{sum(done.values())} of {len(open_numbers)} mutants", flush=True)

    killers = {number: results.killers.get(names[number]) for number in open_numbers}
    by_unit = running.run_units(driver, units, open_numbers, killers, tell)
    left = [number for number, (outcome, _) in by_unit.items() if outcome == "survived"]
    if not programs:
        return
    for number in left:
        del results.valid[names[number]]
    print(f"{len(left)} mutants pass all case files and cells; now the other tests", flush=True)
    running.run_cases(cases, left, killers, tell)


NOT_NOTICED = {"survived": "no test fails", "unmoved": "no test sees another value", "unreached": "no test reaches it"}


def report(chosen, results, reasons, whole):
    """Prints what came out; whether all is well."""
    names = [mutants.name_of(mutant) for mutant in chosen]
    survivors = [mutant for mutant in chosen if results.valid[mutants.name_of(mutant)][0] in NOT_NOTICED]
    unexplained = [mutant for mutant in survivors if mutants.name_of(mutant) not in reasons]
    stale = []
    if whole:
        surviving = {mutants.name_of(mutant) for mutant in survivors}
        known = set(names)
        for name in reasons:
            if name not in surviving:
                stale.append((name, "is noticed by " + str(results.valid[name][1]) if name in known else "is no more"))
    for mutant in unexplained:
        how = NOT_NOTICED[results.valid[mutants.name_of(mutant)][0]]
        _, function, context, change = mutants.name_of(mutant)
        print(f"{FOLDER}/{mutant.file}:{mutant.line}: {function}: {context}: {change}: {how}")
    for name, why in stale:
        print(f"docs/mutations.md explains a mutant that {why}: {' | '.join(name)}")
    is_open = {mutant for mutant in survivors if reasons.get(mutants.name_of(mutant)) == page.OPEN}
    for file in sorted({mutant.file for mutant in chosen}):
        here = [mutant for mutant in chosen if mutant.file == file]
        left = [mutant for mutant in survivors if mutant.file == file]
        opened = sum(mutant in is_open for mutant in left)
        new = sum(mutant in unexplained for mutant in left)
        print(f"{file}: {len(here)} generated, {len(here) - len(left)} noticed, {len(left) - opened - new} equivalent, "
              f"{opened} open" + (f", {new} not listed" if new else ""))
    outcomes = collections.Counter(results.valid[name][0] for name in names)
    print("outcomes: " + ", ".join(f"{outcome} {count}" for outcome, count in outcomes.most_common()))
    print(f"{len(chosen)} generated, {len(chosen) - len(survivors)} noticed, "
          f"{len(survivors) - len(is_open) - len(unexplained)} equivalent, {len(is_open)} open, "
          f"{len(unexplained)} not listed, {len(stale)} stale")
    return not unexplained and not stale and not is_open


def build_programs(build, quick):
    """Builds the driver and, unless only that is wanted, the test programs and the program; these by their paths."""
    if quick:
        building.run(["cmake", "--build", str(build), "--target", "mutation_driver"], ROOT)
        return []
    known = subprocess.run(["ninja", "-C", str(build), "-t", "targets", "all"], capture_output=True, text=True).stdout
    names = ["src/downfit"] + [f"tests/test_{room}" for room in PROGRAMS if f"tests/test_{room}:" in known]
    targets = [pathlib.Path(name).name for name in names]
    building.run(["cmake", "--build", str(build), "--target", "mutation_driver", *targets], ROOT)
    return names


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--build", type=pathlib.Path, default=ROOT / "build" / "long")
    parser.add_argument("--only", action="append", metavar="FILE", help="mutants of this file, such as judge.cpp")
    parser.add_argument("--list", action="store_true", help="say which mutants there are")
    parser.add_argument("--run", type=int, metavar="NUMBER", help="run all tests with one mutant, and say which fail")
    parser.add_argument("--quick", action="store_true", help="run case files and cells only")
    parser.add_argument("--fresh", action="store_true", help="forget the results of earlier runs")
    parser.add_argument("--write", action="store_true", help="bring the tables of docs/mutations.md up to date")
    options = parser.parse_args()
    if options.write and (options.only or options.quick):
        parser.error("--write needs all mutants and all tests")
    build = options.build.resolve()
    if not building.compiled_alone(build, ROOT / FOLDER):
        print(f"skipped: {build} compiles sources of {FOLDER} together (CMAKE_UNITY_BUILD)")
        return 77
    out = build / "mutation"
    out.mkdir(parents=True, exist_ok=True)

    start = time.monotonic()
    names = build_programs(build, options.quick or options.list)
    found = found_mutants(build, out)
    chosen = [mutant for mutant in found.mutants if not options.only or mutant.file in options.only]
    if options.list:
        for mutant in chosen:
            print(mutant.id, f"{mutant.file}:{mutant.line}", *mutants.name_of(mutant)[1:], sep=" | ")
        return 0
    print(f"{len(found.mutants)} mutants, {time.monotonic() - start:.0f} s", flush=True)
    builder = building.Builder(found, ROOT, build, out)
    driver = builder.link("tests/mutation_driver", with_headers=True)
    switch = out / "objects" / "mutation_driver" / "switch.cpp.o"
    programs = [builder.link(name, [switch], name in WITH_HEADERS) for name in names][1:]
    print(f"built, {time.monotonic() - start:.0f} s", flush=True)
    if options.run is not None:
        return run_one(found, options.run, driver, programs)
    digest = digest_of(builder.objects + test_files())
    results = Results(out / ("quick.json" if options.quick else "results.json"), digest, options.fresh)
    run_all(chosen, [] if options.quick else programs, driver, results, out)
    results.write()
    path = ROOT / "docs" / "mutations.md"
    reasons = page.read(path.read_text(encoding="utf-8")) if path.is_file() else {}
    if options.write:
        left = [mutants.name_of(mutant) for mutant in found.mutants
                if results.valid[mutants.name_of(mutant)][0] in NOT_NOTICED]
        reasons = {name: reasons.get(name, page.OPEN) for name in left}
        path.write_text(page.written(path.read_text(encoding="utf-8"), left, reasons), encoding="utf-8")
    well = report(chosen, results, reasons, not options.only)
    print(f"{time.monotonic() - start:.0f} s")
    return 0 if well else 1


def run_one(found, number, driver, programs):
    mutant = found.mutants[number - 1]
    print(f"{FOLDER}/{mutant.file}:{mutant.line}:", *mutants.name_of(mutant)[1:])
    units = running.record_units(driver)
    serving = running.Driver(driver)
    for i, unit in enumerate(units):
        if unit.marks.get(number) == running.DIFFERED:
            print(unit.name, serving.ask(number, [i])[0])
    serving.close()
    for program in programs:
        for case in running.cases_of(program):
            if case not in SKIPPED:
                print(f"{program.name}: {case}", running.run_case(program, case, number, None, 60))
    return 0


if __name__ == "__main__":
    sys.exit(main())
