// The loading simulation against the second loader, over random devices and presets: every outcome, value, weight and
// verdict. There is no published reference for this; the second loader is written from DESIGN.md section 3 and
// docs/loading.md alone and shares nothing with src/.
//
// A disagreement is shrunk and written as files. To see it again: DOWNFIT_REPLAY=FOLDER test_second.
#include <chrono>
#include <cstdlib>
#include <iostream>

#include "second/agree.h"
#include "support/property.h"
#include "support/temp_dir.h"

using namespace downfit;
using namespace downfit::testing;
using namespace downfit::testing::second;

namespace {

std::vector<Bits> bodies_of(const Scene& scene, std::uint64_t seed, int count) {
    const Shelf shelf = shelf_of(scene.files);
    const Manual saved = manual_of(shelf, scene.saved);
    const Sheet sheet = sheet_of(saved);
    std::vector<Bits> bodies;
    for (int i = 0; i < count; ++i) bodies.push_back(make_body(saved, sheet, seed, i));
    return bodies;
}

/// Makes single bytes simpler for as long as the two still disagree.
Bits shrunk(const Scene& scene, Bits body) {
    Tally tally;
    int tries = 200;
    for (bool again = true; again && tries > 0;) {
        again = false;
        for (std::size_t i = 0; i < body.size(); ++i) {
            for (const int simpler : {0, body[i] / 2, body[i] - 1}) {
                Bits other = body;
                other[i] = static_cast<std::uint8_t>(simpler);
                if (simpler >= body[i] || --tries < 0 || !compare(scene, {other}, tally)) continue;
                body = other;
                again = true;
                break;
            }
        }
    }
    return body;
}

struct Failed {
    Scene scene;
    Bits body;
    std::string text;
};

std::string told(const Failed& failed, const std::string& mark = "") {
    std::string text = failed.scene.saved + " loaded on " + failed.scene.loading + "\n" + failed.text;
    const char* keep = std::getenv("DOWNFIT_KEEP");
    const std::filesystem::path folder = keep != nullptr
                                             ? std::filesystem::path(keep + mark)
                                             : std::filesystem::temp_directory_path() / ("downfit-disagreement" + mark);
    write_case(folder, failed.scene, failed.body, failed.text);
    return text + "written to " + folder.string() + "; DOWNFIT_REPLAY=" + folder.string() + " runs it again\n";
}

/// Runs `pairs` random pairs with `presets` presets each.
void run(int pairs, int presets) {
    Tally tally;
    std::optional<Failed> failed;
    std::chrono::steady_clock::time_point until;
    // DOWNFIT_LIST=3: goes on until three pairs disagree, and prints each.
    const char* wanted = std::getenv("DOWNFIT_LIST");
    int list = wanted == nullptr ? -1 : std::atoi(wanted);
    const auto numbers = rc::gen::resize(300, rc::gen::container<std::vector<std::uint32_t>>(rc::gen::resize(
                                                  rc::kNominalSize, rc::gen::arbitrary<std::uint32_t>())));
    rc::detail::TestParams params = rc::detail::configuration().testParams;
    // DOWNFIT_PAIRS=500: as many pairs, instead.
    const char* many = std::getenv("DOWNFIT_PAIRS");
    params.maxSuccess = many == nullptr ? pairs : std::atoi(many);
    rc::detail::TestMetadata metadata;
    metadata.id = "second";
    const rc::detail::TestResult result = rc::detail::checkTestable(
        [&] {
            const auto seed = *rc::gen::noShrink(rc::gen::arbitrary<std::uint64_t>());
            Draws draws(*numbers);
            const Scene scene = make_scene(draws);
            const std::vector<Bits> bodies = bodies_of(scene, seed, presets);
            // Shrinking is worth a while, not an evening.
            if (failed && std::chrono::steady_clock::now() > until) return;
            const auto found = compare(scene, bodies, tally);
            if (!found) return;
            if (list > 0) {
                --list;
                Failed one{scene, found->preset < 0 ? Bits{} : bodies[static_cast<std::size_t>(found->preset)],
                           found->text};
                if (found->preset >= 0) one.body = shrunk(scene, one.body);
                std::cout << told(one, "-" + std::to_string(list)) << "\n";
                if (list > 0) return;
            }
            if (!failed) until = std::chrono::steady_clock::now() + std::chrono::seconds(list < 0 ? 15 : 0);
            failed = Failed{scene, found->preset < 0 ? Bits{} : bodies[static_cast<std::size_t>(found->preset)],
                            found->text};
            RC_FAIL(found->text);
        },
        metadata, params);
    std::ostringstream counts;
    for (const auto* counted : {&tally.verdicts, &tally.outcomes, &tally.kinds}) {
        for (const auto& [name, count] : *counted) counts << name << " " << count << ", ";
        counts << "\n";
    }
    if (std::getenv("DOWNFIT_TALLY") != nullptr)
        std::cout << tally.presets << " presets, " << tally.parameters << " parameters, " << tally.unsure << " unsure\n"
                  << counts.str();
    if (failed) {
        Tally ignored;
        if (!failed->body.empty()) failed->body = shrunk(failed->scene, failed->body);
        if (const auto last = compare(failed->scene, {failed->body}, ignored)) failed->text = last->text;
        INFO(told(*failed));
        CHECK_FALSE(failed.has_value());
    }
    std::ostringstream message;
    if (!failed) rc::detail::printResultMessage(result, message);
    INFO(message.str());
    CHECK(result.is<rc::detail::SuccessResult>());
}

}  // namespace

TEST_CASE("the second loader agrees over random devices and presets") {
    if (const char* folder = std::getenv("DOWNFIT_REPLAY")) {
        const auto [scene, body] = read_case_folder(folder);
        Tally tally;
        const auto found = compare(scene, {body}, tally);
        INFO((found ? found->text : std::string()));
        CHECK_FALSE(found.has_value());
        return;
    }
    run(250, 20);
}

TEST_CASE("the second loader agrees over a million random presets", "[.long]") {
    run(10000, 100);
}
