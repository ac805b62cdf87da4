// Refitting before the second loader, over random devices and presets: what was written is at least as good as the
// original left alone, what arrives is not touched, and what still differs has no nearer place. There is no published
// reference for this; the second loader shares nothing with src/.
//
// DOWNFIT_REPLAY=FOLDER test_second runs one case again.
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

void run_refits(int pairs, int presets) {
    RefitTally tally;
    run_random(pairs, presets, "refit", [&](const Scene& scene, const std::vector<Bits>& bodies) {
        return look_at_refit(scene, bodies, tally);
    });
    CAPTURE(tally.presets, tally.written, tally.better, tally.untouched, tally.remaining, tally.tried);
    CHECK(tally.better > 0);
    CHECK(tally.untouched > 0);
    CHECK(tally.tried > 0);
    if (std::getenv("DOWNFIT_TALLY") == nullptr) return;
    std::cout << tally.presets << " presets, " << tally.written << " written, " << tally.better << " better, "
              << tally.untouched << " untouched, " << tally.remaining << " parameters differ, " << tally.tried
              << " of them tried with every number\n";
}

void replay_refit(const std::filesystem::path& folder) {
    const auto [scene, body] = read_case_folder(folder);
    RefitTally tally;
    const auto found = look_at_refit(scene, {body}, tally);
    INFO(folder.string() << "\n" << (found ? found->text : std::string()));
    CHECK_FALSE(found.has_value());
}

}  // namespace

TEST_CASE("refitted presets stand before the second loader", "[refit][heavy]") {
    if (const char* folder = std::getenv("DOWNFIT_REPLAY"))
        replay_refit(folder);
    else
        run_refits(200, 10);
}

TEST_CASE("many refitted presets stand before the second loader", "[.long][refit]") {
    run_refits(3000, 20);
}
