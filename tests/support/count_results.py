"""Sums up CTest's JUnit files: count_results.py FILE... prints "PASSED FAILED SKIPPED".

CTest counts programs; this counts test cases, from what Catch2 and unittest say at the end of their output. A
program that counts nothing itself is one case. One that fails after its own count was good (a leak found at
the end, say), or that ends before it has counted, is one failed case more.
"""
import re
import sys
import xml.etree.ElementTree as ElementTree

CATCH_GOOD = re.compile(r"^All tests passed \(\d+ assertions? in (\d+) test cases?\)", re.M)
CATCH_TABLE = re.compile(r"^test cases:\s*(\d+)\s*\|(.*)$", re.M)
UNITTEST = re.compile(r"^Ran (\d+) tests? in .*\n+(OK|FAILED)(?: \((.*)\))?", re.M)


def named_number(word, text):
    match = re.search(rf"\b(\d+) {word}\b|\b{word}=(\d+)", text or "")
    return int(match.group(1) or match.group(2)) if match else 0


def counts_in(output):
    """(passed, failed, skipped) by the program's own words, or None."""
    if match := CATCH_GOOD.search(output):
        return int(match.group(1)), 0, 0
    if match := CATCH_TABLE.search(output):
        as_expected = named_number("failed as expected", match.group(2))
        failed = named_number(r"failed(?! as expected)", match.group(2))
        return named_number("passed", match.group(2)) + as_expected, failed, named_number("skipped", match.group(2))
    if match := UNITTEST.search(output):
        failed = named_number("failures", match.group(3)) + named_number("errors", match.group(3))
        skipped = named_number("skipped", match.group(3))
        return int(match.group(1)) - failed - skipped, failed, skipped
    return None


def count_case(case):
    """(passed, failed, skipped) of one program as CTest ran it."""
    status = case.get("status")
    output = case.findtext("system-out") or ""
    if status in ("disabled", "notrun"):
        return (0, 0, 1) if case.find("skipped") is not None else (0, 1, 0)
    if re.search(r"^No tests ran", output, re.M):
        return 0, 1, 0
    passed, failed, skipped = counts_in(output) or ((1, 0, 0) if status == "run" else (0, 0, 0))
    if status != "run" and failed == 0:
        failed = 1
    return passed, failed, skipped


def count(paths):
    total = [0, 0, 0]
    for path in paths:
        for case in ElementTree.parse(path).iter("testcase"):
            total = [old + new for old, new in zip(total, count_case(case))]
    return tuple(total)


if __name__ == "__main__":
    print(*count(sys.argv[1:]))
