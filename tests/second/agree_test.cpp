// The loading simulation against the second loader, over random devices and presets: every outcome, value, weight and
// verdict. There is no published reference for this; the second loader is written from DESIGN.md section 3 and
// docs/loading.md alone and shares nothing with src/.
//
// A disagreement is shrunk and written as files. To see it again: DOWNFIT_REPLAY=FOLDER test_second. Those that
// were mended are kept in replays/.
#include <cstdlib>
#include <iostream>

#include "second/random_run.h"
#include "support/catch.h"
#include "support/paths.h"

using namespace downfit;
using namespace downfit::testing;
using namespace downfit::testing::second;

namespace {

void run_loads(int pairs, int presets) {
    Tally tally;
    run_random(pairs, presets, "disagreement",
               [&](const Scene& scene, const std::vector<Bits>& bodies) { return compare(scene, bodies, tally); });
    if (std::getenv("DOWNFIT_TALLY") == nullptr) return;
    std::cout << tally.presets << " presets, " << tally.parameters << " parameters, " << tally.unsure << " unsure\n";
    for (const auto* counted : {&tally.verdicts, &tally.outcomes, &tally.kinds}) {
        for (const auto& [name, count] : *counted) std::cout << name << " " << count << ", ";
        std::cout << "\n";
    }
}

void replay_load(const std::filesystem::path& folder) {
    const auto [scene, body] = read_case_folder(folder);
    Tally tally;
    const auto found = compare(scene, {body}, tally);
    INFO(folder.string() << "\n" << (found ? found->text : std::string()));
    CHECK_FALSE(found.has_value());
}

}  // namespace

TEST_CASE("the second loader agrees over random devices and presets") {
    if (const char* folder = std::getenv("DOWNFIT_REPLAY"))
        replay_load(folder);
    else
        run_loads(250, 20);
}

TEST_CASE("the two agree where they once did not") {
    std::size_t replayed = 0;
    for (const auto& folder : std::filesystem::directory_iterator(project_folder() / "tests" / "second" / "replays")) {
        replay_load(folder.path());
        ++replayed;
    }
    CHECK(replayed >= 2);
}

TEST_CASE("the second loader agrees over a million random presets", "[.long]") {
    run_loads(10000, 100);
}
