// The demo's dumps, refitted for every other release.
#include "refit/refit_laws.h"
#include "support/catch.h"
#include "support/demo_files.h"

using namespace downfit;
using namespace downfit::testing;

namespace {

void refit_for_all(const schema::Device& device, const std::string& file, RefitTally& tally) {
    const Bytes bytes = demo_dump(file);
    const dump::Dump dump = read_demo_dump(file, bytes, device);
    for (std::size_t target = 0; target < device.releases.size(); ++target) {
        CAPTURE(file, device.releases[target].name);
        refit::RefitOptions options = refit_options(target);
        if (device.name == "pipit") options.check.facts["variant"] = "pipit";
        const std::vector<std::string> broken = broken_laws(dump, bytes, options, tally);
        for (const std::string& law : broken) {
            INFO(law);
            CHECK(false);
        }
    }
}

}  // namespace

TEST_CASE("the Dunlin's banks keep the laws of refitting", "[refit][demo][heavy]") {
    const schema::Device device = load_device_folder("dunlin-6");
    for (const std::string letter : {"a", "b", "c", "d"}) {
        RefitTally tally;
        refit_for_all(device, "bank-" + letter + ".syx", tally);
        CAPTURE(letter, tally.presets, tally.written, tally.with_values, tally.left, tally.better, tally.unchanged);
        CHECK(tally.written > 0);
        CHECK(tally.with_values > 0);
        CHECK(tally.unchanged > 0);
        CHECK(tally.better > 0);
    }
}

TEST_CASE("the Pipit's banks and exports keep the laws of refitting", "[refit][demo][heavy]") {
    const schema::Device device = load_device_folder("pipit");
    for (const std::string file :
         {"pipit-a.syx", "pipit-b.syx", "pipit-a.json", "pipit-b.json", "pipit-a.xml", "pipit-b.xml"}) {
        RefitTally tally;
        refit_for_all(device, file, tally);
        CAPTURE(file, tally.presets, tally.written, tally.with_values, tally.left, tally.better, tally.unchanged);
        CHECK(tally.written > 0);
        CHECK(tally.unchanged > 0);
        CHECK(tally.with_values > 0);
        CHECK(tally.better > 0);
    }
}
