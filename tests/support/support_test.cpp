// The helpers of the tests, tested: a check that cannot fail proves nothing.
#include <map>
#include <stdexcept>
#include <string>

#include "support/catch.h"
#include "support/file.h"
#include "support/hex.h"
#include "support/paths.h"
#include "support/property.h"
#include "support/run.h"
#include "support/temp_dir.h"

namespace downfit::testing {

namespace {

std::string message_of_hex(std::string_view text) {
    try {
        static_cast<void>(from_hex(text));
    } catch (const std::invalid_argument& error) {
        return error.what();
    }
    return "no error";
}

}  // namespace

TEST_CASE("hex text becomes bytes", "[support]") {
    CHECK(from_hex("") == Bytes{});
    CHECK(from_hex("F0 7d\n01# comment 02\n  F7") == Bytes{0xF0, 0x7D, 0x01, 0xF7});
    CHECK(from_hex("\"A# b\" 00") == Bytes{'A', '#', ' ', 'b', 0});
    CHECK(from_hex("01 02 *3 03") == Bytes{1, 2, 2, 2, 3});
    CHECK(from_hex("\"ab\" *2") == Bytes{'a', 'b', 'a', 'b'});
}

TEST_CASE("hex text that makes no sense is refused with its line", "[support]") {
    CHECK(message_of_hex("00\n123") == "line 2: \"123\" is not a byte");
    CHECK(message_of_hex("0x") == "line 1: \"0x\" is not a byte");
    CHECK(message_of_hex("\n\n\"open") == "line 3: a text is not closed");
    CHECK(message_of_hex("*2") == "line 1: \"*2\" repeats nothing, or not a number of times");
    CHECK(message_of_hex("00 *0") == "line 1: \"*0\" repeats nothing, or not a number of times");
    CHECK(message_of_hex("00 *2 *2") == "line 1: \"*2\" repeats nothing, or not a number of times");
}

TEST_CASE("bytes become hex text and come back", "[support]") {
    CHECK(to_hex(Bytes{0xF0, 0x0A}) == "F0 0A");
    holds("for any bytes", [](const Bytes& bytes) { RC_ASSERT(from_hex(to_hex(bytes)) == bytes); });
}

TEST_CASE("a temporary folder goes with its owner", "[support]") {
    std::filesystem::path path;
    {
        const TempDir folder;
        path = folder.path();
        write_bytes(folder / "deep/in/file.bin", Bytes{0, 0xFF, '\n', '\r'});
        CHECK(read_bytes(folder / "deep/in/file.bin") == Bytes{0, 0xFF, '\n', '\r'});
        CHECK_THROWS_AS(read_text(folder / "other"), std::runtime_error);
    }
    CHECK_FALSE(std::filesystem::exists(path));
}

TEST_CASE("a run gives back status, output and errors apart", "[support]") {
    const TempDir folder;
    const RunSettings settings{"from input\n", {{"DOWNFIT_WORD", "from environment"}}, folder.path()};
    const Ran ran =
        run_program("/bin/sh", {"-c", "cat; echo \"$DOWNFIT_WORD\"; pwd -P; echo wrong >&2; exit 3"}, settings);
    CHECK(ran.status == 3);
    CHECK(ran.output == "from input\nfrom environment\n" + std::filesystem::canonical(folder.path()).string() + "\n");
    CHECK(ran.errors == "wrong\n");
    CHECK(run_program("/bin/sh", {"-c", "kill -9 $$"}).status == 128 + 9);
    CHECK_THROWS_AS(run_program(folder / "nothing", {}), std::runtime_error);
}

TEST_CASE("the paths that the build gives are real", "[support]") {
    CHECK(std::filesystem::exists(project_folder() / "CMakeLists.txt"));
    CHECK(std::filesystem::exists(in_tests("support/paths.h")));
}

}  // namespace downfit::testing
