// Refitting before the second loader, over random devices and presets: what was written is at least as good as the
// original left alone, what arrives is not touched, and what still differs has no nearer place. There is no published
// reference for this; the second loader shares nothing with src/.
//
// DOWNFIT_REPLAY=FOLDER test_second runs one case again. Those that were mended are kept in replays/refit/.
#include <cstdlib>
#include <iostream>

#include "second/random_run.h"
#include "second/refitted.h"
#include "support/catch.h"
#include "support/paths.h"

using namespace downfit;
using namespace downfit::testing;
using namespace downfit::testing::second;

namespace {

void look_at_many(int pairs, int presets) {
    RefitTally tally;
    run_random_or_replay(pairs, presets, "refit", [&](const Scene& scene, const std::vector<Bits>& bodies) {
        return look_at_refit(scene, bodies, tally);
    });
    if (std::getenv("DOWNFIT_REPLAY") != nullptr) return;
    CAPTURE(tally.presets, tally.written, tally.better, tally.untouched, tally.remaining, tally.tried);
    CHECK(tally.better > 0);
    CHECK(tally.untouched > 0);
    CHECK(tally.tried > 0);
    if (std::getenv("DOWNFIT_TALLY") == nullptr) return;
    std::cout << tally.presets << " presets, " << tally.written << " written, " << tally.better << " better, "
              << tally.untouched << " untouched, " << tally.remaining << " parameters differ, " << tally.tried
              << " of them tried with every number\n";
}

}  // namespace

TEST_CASE("refitted presets stand before the second loader", "[refit][heavy]") {
    look_at_many(200, 10);
}

TEST_CASE("refitted presets stand where they once did not", "[refit]") {
    RefitTally tally;
    replay_all(
        project_folder() / "tests" / "second" / "replays" / "refit",
        [&](const Scene& scene, const std::vector<Bits>& bodies) { return look_at_refit(scene, bodies, tally); });
}

TEST_CASE("many refitted presets stand before the second loader", "[.long][refit]") {
    look_at_many(3000, 20);
}
