// The loading simulation against the second loader, over random devices and presets: every outcome, value, weight and
// verdict. There is no published reference for this; the second loader is written from DESIGN.md section 3 and
// docs/loading.md alone and shares nothing with src/.
//
// A disagreement is shrunk and written as files. To see it again: DOWNFIT_REPLAY=FOLDER test_second. Those that
// were mended are kept in replays/loading/.
#include <cstdlib>
#include <iostream>

#include "second/random_run.h"
#include "support/catch.h"
#include "support/paths.h"

using namespace downfit;
using namespace downfit::testing;
using namespace downfit::testing::second;

namespace {

/// Compares, and says at its end how much, where DOWNFIT_TALLY is set.
class Comparing {
public:
    ~Comparing() {
        if (std::getenv("DOWNFIT_TALLY") == nullptr) return;
        std::cout << tally_.presets << " presets, " << tally_.parameters << " parameters, " << tally_.unsure
                  << " unsure\n";
        for (const auto* counted : {&tally_.verdicts, &tally_.outcomes, &tally_.kinds}) {
            for (const auto& [name, count] : *counted) std::cout << name << " " << count << ", ";
            std::cout << "\n";
        }
    }

    [[nodiscard]] LookAt look_at() {
        return [this](const Scene& scene, const std::vector<Bits>& bodies) { return compare(scene, bodies, tally_); };
    }

private:
    Tally tally_;
};

}  // namespace

TEST_CASE("the second loader agrees over random devices and presets") {
    run_random_or_replay(250, 20, "disagreement", Comparing().look_at());
}

TEST_CASE("the two agree where they once did not") {
    replay_all(project_folder() / "tests" / "second" / "replays" / "loading", Comparing().look_at());
}

TEST_CASE("the second loader agrees over a million random presets", "[.long]") {
    run_random(10000, 100, "disagreement", Comparing().look_at());
}
