// What is there after writing, or after writing was cut short: the whole new file, or what was there before.

#include "files/output.h"

#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>
#include <filesystem>
#include <string>

#include "support/catch.h"
#include "support/file.h"
#include "support/temp_dir.h"

using namespace downfit;
using namespace downfit::files;
using testing::read_text;
using testing::TempDir;

namespace {

const std::string large(1 << 20, 'x');

/// Writes more than the process may write to one file: the kernel kills it on the way. Its signal, 0 if it lived.
int killed_while_writing(const std::string& path, Existing existing) {
    const pid_t child = ::fork();
    if (child == 0) {
        const rlimit little{4096, 4096};
        ::setrlimit(RLIMIT_FSIZE, &little);
        const rlimit none{0, 0};
        ::setrlimit(RLIMIT_CORE, &none);
        std::signal(SIGXFSZ, SIG_DFL);
        const auto failed = write_file(path, large, existing);
        ::_exit(failed ? 1 : 0);
    }
    int status = 0;
    ::waitpid(child, &status, 0);
    return WIFSIGNALED(status) ? WTERMSIG(status) : 0;
}

}  // namespace

TEST_CASE("a new file is there whole, or is not there", "[files]") {
    const TempDir folder;
    const std::string path = (folder / "out.txt").string();
    CHECK(killed_while_writing(path, Existing::keep) == SIGXFSZ);
    CHECK_FALSE(std::filesystem::exists(path));
    REQUIRE_FALSE(write_file(path, large, Existing::keep));
    CHECK(read_text(path) == large);
}

TEST_CASE("a file that is there is replaced whole, or stays", "[files]") {
    const TempDir folder;
    const std::string path = (folder / "out.txt").string();
    REQUIRE_FALSE(write_file(path, "before", Existing::keep));
    const auto again = write_file(path, "after", Existing::keep);
    REQUIRE(again);
    CHECK(again->what == "is there already");
    CHECK(killed_while_writing(path, Existing::replace) == SIGXFSZ);
    CHECK(read_text(path) == "before");
    REQUIRE_FALSE(write_file(path, "after", Existing::replace));
    CHECK(read_text(path) == "after");
}
