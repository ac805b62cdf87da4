#include "second/random_run.h"

#include <chrono>
#include <cstdlib>
#include <iostream>
#include <sstream>

#include "support/property.h"

namespace downfit::testing::second {
namespace {

std::vector<Bits> bodies_of(const Scene& scene, std::uint64_t seed, int count) {
    const Shelf shelf = shelf_of(scene.files);
    const Manual saved = manual_of(shelf, scene.saved);
    const Sheet sheet = sheet_of(saved);
    std::vector<Bits> bodies;
    for (int i = 0; i < count; ++i) bodies.push_back(make_body(saved, sheet, seed, i));
    return bodies;
}

/// Makes single bytes simpler for as long as something is wrong.
Bits shrunk(const Scene& scene, Bits body, const LookAt& look_at) {
    int tries = 200;
    for (bool again = true; again && tries > 0;) {
        again = false;
        for (std::size_t i = 0; i < body.size(); ++i) {
            for (const int simpler : {0, body[i] / 2, body[i] - 1}) {
                Bits other = body;
                other[i] = static_cast<std::uint8_t>(simpler);
                if (simpler >= body[i] || --tries < 0 || !look_at(scene, {other})) continue;
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

Failed failed_with(const Scene& scene, const std::vector<Bits>& bodies, const Disagreement& found) {
    return {scene, found.preset < 0 ? Bits{} : bodies[static_cast<std::size_t>(found.preset)], found.text};
}

std::string told(const Failed& failed, const std::string& id, const std::string& mark = "") {
    const char* keep = std::getenv("DOWNFIT_KEEP");
    const std::filesystem::path folder = keep != nullptr
                                             ? std::filesystem::path(keep + mark)
                                             : std::filesystem::temp_directory_path() / ("downfit-" + id + mark);
    write_case(folder, failed.scene, failed.body, failed.text);
    return failed.scene.saved + " loaded on " + failed.scene.loading + "\n" + failed.text + "written to " +
           folder.string() + "; DOWNFIT_REPLAY=" + folder.string() + " runs it again\n";
}

int from_environment(const char* name, int otherwise) {
    const char* said = std::getenv(name);
    return said == nullptr ? otherwise : std::atoi(said);
}

void replay(const std::filesystem::path& folder, const LookAt& look_at) {
    const auto [scene, body] = read_case_folder(folder);
    const auto found = look_at(scene, {body});
    INFO(folder.string() << "\n" << (found ? found->text : std::string()));
    CHECK_FALSE(found.has_value());
}

}  // namespace

void run_random(int pairs, int presets, const std::string& id, const LookAt& look_at) {
    std::optional<Failed> failed;
    std::chrono::steady_clock::time_point until;
    int list = from_environment("DOWNFIT_LIST", -1);
    const auto numbers = rc::gen::resize(300, rc::gen::container<std::vector<std::uint32_t>>(rc::gen::resize(
                                                  rc::kNominalSize, rc::gen::arbitrary<std::uint32_t>())));
    rc::detail::TestParams params = rc::detail::configuration().testParams;
    params.maxSuccess = from_environment("DOWNFIT_PAIRS", pairs);
    rc::detail::TestMetadata metadata;
    metadata.id = id;
    const rc::detail::TestResult result = rc::detail::checkTestable(
        [&] {
            const auto seed = *rc::gen::noShrink(rc::gen::arbitrary<std::uint64_t>());
            Draws draws(*numbers);
            const Scene scene = make_scene(draws);
            const std::vector<Bits> bodies = bodies_of(scene, seed, presets);
            // Shrinking is worth a while, not an evening.
            if (failed && std::chrono::steady_clock::now() > until) return;
            const auto found = look_at(scene, bodies);
            if (!found) return;
            if (list > 0) {
                --list;
                Failed one = failed_with(scene, bodies, *found);
                if (found->preset >= 0) one.body = shrunk(scene, one.body, look_at);
                std::cout << told(one, id, "-" + std::to_string(list)) << "\n";
                if (list > 0) return;
            }
            if (!failed) until = std::chrono::steady_clock::now() + std::chrono::seconds(list < 0 ? 15 : 0);
            failed = failed_with(scene, bodies, *found);
            RC_FAIL(found->text);
        },
        metadata, params);
    if (failed) {
        if (!failed->body.empty()) failed->body = shrunk(failed->scene, failed->body, look_at);
        if (const auto last = look_at(failed->scene, {failed->body})) failed->text = last->text;
        INFO(told(*failed, id));
        CHECK_FALSE(failed.has_value());
    }
    std::ostringstream message;
    if (!failed) rc::detail::printResultMessage(result, message);
    INFO(message.str());
    CHECK(result.is<rc::detail::SuccessResult>());
}

void run_random_or_replay(int pairs, int presets, const std::string& id, const LookAt& look_at) {
    if (const char* folder = std::getenv("DOWNFIT_REPLAY"))
        replay(folder, look_at);
    else
        run_random(pairs, presets, id, look_at);
}

void replay_all(const std::filesystem::path& folder, const LookAt& look_at) {
    std::size_t replayed = 0;
    for (const auto& one : std::filesystem::directory_iterator(folder)) {
        replay(one.path(), look_at);
        ++replayed;
    }
    CHECK(replayed > 0);
}

}  // namespace downfit::testing::second
