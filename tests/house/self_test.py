"""Each check of the house, and the counting of results, shown a small project in which it must find something."""
import pathlib
import subprocess
import sys
import tempfile
import unittest

HERE = pathlib.Path(__file__).resolve().parent
sys.dont_write_bytecode = True
sys.path[:0] = [str(HERE), str(HERE.parent / "support")]
import check_layers  # noqa: E402
import check_listed  # noqa: E402
import check_sizes  # noqa: E402
import check_top_level  # noqa: E402
import count_results  # noqa: E402


class InTempProject(unittest.TestCase):
    def setUp(self):
        holder = tempfile.TemporaryDirectory(prefix="downfit-house-")
        self.addCleanup(holder.cleanup)
        self.project = pathlib.Path(holder.name)

    def write(self, name, text=""):
        path = self.project / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
        return path


class Layers(InTempProject):
    def found(self, name, text):
        self.write("src/base/bytes.h")
        self.write("src/midi/sysex.h")
        self.write("src/cli/options.h")
        self.write(name, text)
        return check_layers.problems(self.project)

    def test_downward_is_fine(self):
        text = '#include <vector>\n#include "base/bytes.h"\n#include "midi/sysex.h"\n'
        self.assertEqual(self.found("src/schema/load.cpp", text), [])

    def test_upward_is_not(self):
        self.assertEqual(self.found("src/schema/load.cpp", '\n#include "cli/options.h"\n'),
                         ['src/schema/load.cpp:2: schema/ includes "cli/options.h", which is not below it'])

    def test_sideways_is_not(self):
        self.assertEqual(self.found("src/files/zip.cpp", '#include "midi/sysex.h"\n'),
                         ['src/files/zip.cpp:1: files/ includes "midi/sysex.h", which is not below it'])

    def test_relative_or_missing_is_not(self):
        for target in ("../base/bytes.h", "bytes.h", "base/none.h"):
            with self.subTest(target):
                self.assertEqual(self.found("src/schema/load.cpp", f'#include "{target}"\n'),
                                 [f'src/schema/load.cpp:1: "{target}" is no file of a room; write "room/file.h"'])

    def test_system_includes_of_other_rooms(self):
        for target in ("boost/program_options.hpp", "filesystem", "fstream", "iostream", "thread"):
            with self.subTest(target):
                self.assertEqual(len(self.found("src/schema/load.cpp", f"#include <{target}>\n")), 1)
        self.assertEqual(self.found("src/schema/load.cpp", "#include <vector>\n"), [])
        self.assertEqual(self.found("src/cli/main.cpp", "#include <boost/program_options.hpp>\n"), [])
        self.assertEqual(self.found("src/files/folder.cpp", "#include <filesystem>\n#include <fstream>\n"), [])

    def test_printing_and_ending(self):
        for code in ("std::cout << 1;", "std::cerr << 1;", 'printf("x");', "std::exit(1);", "exit (1);", "abort();"):
            with self.subTest(code):
                self.assertEqual(len(self.found("src/schema/load.cpp", f"void f() {{ {code} }}\n")), 1)
                self.assertEqual(self.found("src/schema/load.cpp", ""), [])
                self.assertEqual(self.found("src/cli/main.cpp", f"void f() {{ {code} }}\n"), [])

    def test_words_in_comments_and_texts_do_not_count(self):
        text = '// exit(1) and std::cout\n/* printf(\n abort() */\nauto s = "std::cout exit(1) \\" puts(";\nloop.exit();\n'
        self.assertEqual(self.found("src/schema/load.cpp", text), [])

    def test_a_header_of_tests_must_not_hide_one_of_ours(self):
        self.assertEqual(self.found("tests/midi/other.h", ""), [])
        self.assertEqual(self.found("tests/midi/sysex.h", ""),
                         ["tests/midi/sysex.h hides the header of the same name in src/"])

    def test_unknown_room_and_empty_house(self):
        self.assertEqual(self.found("src/attic/box.cpp", ""), ["src/attic/box.cpp: attic/ is not a room of the house"])
        with tempfile.TemporaryDirectory() as empty:
            self.assertEqual(check_layers.problems(empty), ["src/ holds no sources"])


class Sizes(InTempProject):
    def test_budget(self):
        self.write("src/base/fits.h", "\n" * 200)
        self.write("src/base/fits.cpp", "\n" * 500)
        self.assertEqual(check_sizes.problems(self.project), [])
        self.write("src/base/long.h", "\n" * 201)
        self.write("tests/base/long.cpp", "\n" * 501)
        self.write("DEVELOPERS.md", "\n" * 151)
        self.assertEqual(check_sizes.problems(self.project),
                         ["DEVELOPERS.md: 151 lines, 150 allowed", "src/base/long.h: 201 lines, 200 allowed",
                          "tests/base/long.cpp: 501 lines, 500 allowed"])

    def test_nothing_is_suspicious(self):
        self.assertEqual(check_sizes.problems(self.project), ["there are no sources to measure"])


class Listed(InTempProject):
    def test_every_source_is_named(self):
        self.write("src/CMakeLists.txt", "add_library(x base/one.cpp  # base/two.cpp\n)")
        self.write("src/base/one.cpp")
        self.assertEqual(check_listed.problems(self.project), [])
        self.write("src/base/two.cpp")
        self.write("tests/base/one_test.cpp")
        self.assertEqual(check_listed.problems(self.project),
                         ["src/base/two.cpp is not named in src/CMakeLists.txt",
                          "tests/base/one_test.cpp is not named in tests/CMakeLists.txt"])

    def test_globs_and_nothing(self):
        self.assertEqual(check_listed.problems(self.project), ["there are no sources to look for"])
        self.write("src/CMakeLists.txt", "file(GLOB sources *.cpp)\nadd_library(x base/one.cpp)")
        self.write("src/base/one.cpp")
        self.assertEqual(check_listed.problems(self.project), ["src/CMakeLists.txt globs; name the sources"])


class TopLevel(InTempProject):
    def fill(self):
        for name in check_top_level.ALLOWED:
            self.write(name if "." in name else f"{name}/file")

    def test_without_git(self):
        self.fill()
        self.write("build/made")
        self.write(".hidden")
        self.assertEqual(check_top_level.problems(self.project), [])
        self.write("notes.txt")
        (self.project / "README.md").unlink()
        self.assertEqual(check_top_level.problems(self.project),
                         ["notes.txt does not belong at the top", "README.md is missing"])

    def test_with_git(self):
        self.fill()
        self.write(".gitignore", "/build/\n")
        self.write("build/made")
        subprocess.run(["git", "init", "-q", str(self.project)], check=True)
        self.assertEqual(check_top_level.problems(self.project), [])
        self.write("scratch/file")
        self.assertEqual(check_top_level.problems(self.project), ["scratch does not belong at the top"])


class Counting(InTempProject):
    def count(self, *cases):
        body = "".join(f'<testcase status="{status}"><system-out>{output}</system-out>{more}</testcase>'
                       for status, output, more in cases)
        return count_results.count([self.write("junit.xml", f"<testsuite>{body}</testsuite>")])

    def test_catch(self):
        self.assertEqual(self.count(("run", "x\nAll tests passed (9 assertions in 4 test cases)\n", "")), (4, 0, 0))
        self.assertEqual(self.count(("run", "All tests passed (1 assertion in 1 test case)", "")), (1, 0, 0))
        table = "test cases: 7 | 4 passed | 2 failed | 1 failed as expected\nassertions: 9 | 1 passed | 8 failed\n"
        self.assertEqual(self.count(("fail", table, "")), (5, 2, 0))
        self.assertEqual(self.count(("fail", "test cases: 2 | 2 failed\n", "")), (0, 2, 0))
        self.assertEqual(self.count(("run", "test cases:  3 |  2 passed |  1 skipped\n", "")), (2, 0, 1))

    def test_unittest(self):
        self.assertEqual(self.count(("run", "Ran 12 tests in 0.1s\n\nOK\n", "")), (12, 0, 0))
        self.assertEqual(self.count(("run", "Ran 12 tests in 0.1s\n\nOK (skipped=2)\n", "")), (10, 0, 2))
        self.assertEqual(self.count(("fail", "Ran 5 tests in 1s\n\nFAILED (failures=2, errors=1)\n", "")), (2, 3, 0))

    def test_programs_that_do_not_count(self):
        self.assertEqual(self.count(("run", "", ""), ("fail", "killed", "")), (1, 1, 0))
        self.assertEqual(self.count(("notrun", "", "<skipped/>")), (0, 0, 1))
        self.assertEqual(self.count(("notrun", "", "")), (0, 1, 0))

    def test_a_good_count_does_not_hide_a_failure(self):
        self.assertEqual(self.count(("fail", "All tests passed (9 assertions in 4 test cases)", "")), (4, 1, 0))
        self.assertEqual(self.count(("run", "No tests ran\n", "")), (0, 1, 0))


if __name__ == "__main__":
    unittest.main()
