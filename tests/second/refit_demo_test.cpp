// Refitting the demo before the second loader: every bank of both devices, for every other release; with
// DOWNFIT_ONLY=RELEASE for that one.
#include <cstdlib>
#include <iostream>

#include "refit/refit.h"
#include "second/refitted.h"
#include "support/catch.h"
#include "support/demo_files.h"
#include "support/file.h"
#include "support/paths.h"

using namespace downfit;
using namespace downfit::testing;
using namespace downfit::testing::second;

namespace {

Shelf demo_shelf(const std::string& device) {
    std::vector<std::pair<std::string, std::string>> files;
    for (const auto& file : std::filesystem::directory_iterator(project_folder() / "schemas" / device)) {
        if (file.path().extension() == ".json")
            files.emplace_back(file.path().filename().string(), read_text(file.path()));
    }
    return shelf_of(files);
}

/// All presets of a bank, refitted for one release.
class Bank {
public:
    Bank(const schema::Device& device, const Shelf& shelf, const std::string& file)
        : device_(device),
          shelf_(shelf),
          file_(file),
          bytes_(demo_dump(file)),
          dump_(read_demo_dump(file, bytes_, device)) {}

    void refit_for(std::size_t target, RefitTally& tally) {
        refit::RefitOptions options;
        options.check.targets = {target};
        options.check.brought_by = false;
        if (device_.name == "pipit") options.check.facts["variant"] = "pipit";
        const auto refitted = refit::refit(dump_, bytes_, options);
        REQUIRE(refitted);
        const dump::Dump back = read_demo_dump(file_, refitted.value().bytes, device_);
        for (std::size_t i = 0; i < refitted.value().presets.size(); ++i)
            look_at(refitted.value(), back, i, target, tally);
    }

private:
    void look_at(const refit::RefitResult& result, const dump::Dump& back, std::size_t index, std::size_t target,
                 RefitTally& tally) {
        const compat::PresetCheck& check = result.check.presets[index];
        const refit::Refitted& told = result.presets[index];
        if (check.targets.empty() || check.state != dump::SlotState::filled || check.saved_on.size() != 1) return;
        const dump::Entry& was = dump_.entries[told.entry];
        const dump::Entry& is = back.entries[told.entry];
        const std::size_t saved = check.saved_on.front();
        const std::size_t stamped = told.fate == refit::Fate::written ? target : saved;
        const Refit refit =
            refit_told(result, index, {was.body, saved, check.slot, {}}, {is.body, stamped, check.slot, {}});
        const std::string broken = broken_by(pair(saved, target), shelf_, refit, 0, tally);
        INFO(file_ << " slot " << check.slot << " for " << device_.releases[target].name << ": " << broken);
        CHECK(broken.empty());
    }

    Pair& pair(std::size_t saved, std::size_t loading) {
        auto& slot = pairs_[{saved, loading}];
        if (!slot) {
            slot =
                std::make_unique<Pair>(pair_of(shelf_, device_.releases[saved].name, device_.releases[loading].name));
        }
        return *slot;
    }

    const schema::Device& device_;
    const Shelf& shelf_;
    std::string file_;
    Bytes bytes_;
    dump::Dump dump_;
    std::map<std::pair<std::size_t, std::size_t>, std::unique_ptr<Pair>> pairs_;
};

void refit_for_all(const std::string& name, const std::string& file) {
    const schema::Device device = load_device_folder(name);
    const Shelf shelf = demo_shelf(name);
    Bank bank(device, shelf, file);
    RefitTally tally;
    const char* only = std::getenv("DOWNFIT_ONLY");
    for (std::size_t target = 0; target < device.releases.size(); ++target) {
        if (only != nullptr && device.releases[target].name != only) continue;
        bank.refit_for(target, tally);
    }
    CAPTURE(file, tally.presets, tally.written, tally.better, tally.untouched, tally.remaining);
    if (only != nullptr) return;
    CHECK(tally.written > 0);
    CHECK(tally.better > 0);
}

}  // namespace

TEST_CASE("the Dunlin's refitted banks stand before the second loader", "[.long][refit][dunlin]") {
    for (const std::string letter : {"a", "b", "c", "d"}) refit_for_all("dunlin-6", "bank-" + letter + ".syx");
}

TEST_CASE("the Pipit's refitted banks stand before the second loader", "[.long][refit][pipit]") {
    for (const std::string file : {"pipit-a.syx", "pipit-b.syx"}) refit_for_all("pipit", file);
}
