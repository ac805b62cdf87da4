// `downfit refit --fill-from`: which older copies are taken for the same preset, and what comes from them, end to end.
#include <algorithm>
#include <filesystem>
#include <map>

#include <nlohmann/json.hpp>

#include "dump/tree.h"
#include "refit/run_refit.h"
#include "support/catch.h"
#include "support/demo_files.h"
#include "support/file.h"
#include "support/temp_dir.h"

using namespace downfit;
using namespace downfit::testing;

namespace {

using Json = nlohmann::json;

constexpr int paper_slot = 81;  // "Old Paper", whose Paper Fuzz 3.10 does not have

/// The bank of leftovers as it was when somebody put Wool Fuzz into slot 81 by hand, with other names where `names`
/// says so.
class OlderBank {
public:
    OlderBank() : device_(load_device_folder("dunlin-6")) {
        const Ran ran = run_refit({demo("bank-d.syx"), "--on", "3.10", "--out", (folder_ / "whole.syx").string(),
                                   "--substitutes", (project_folder() / "demo" / "substitutes.json").string()});
        if (!ran.errors.empty()) throw std::runtime_error(ran.errors);
    }

    std::string named(const std::map<int, std::string>& names) {
        const Bytes bytes = read_bytes(folder_ / "whole.syx");
        dump::Dump dump = read_demo_dump("whole.syx", bytes, device_);
        for (dump::Entry& entry : dump.entries) {
            const auto name = names.find(dump::shown_slot(device_, entry));
            if (name == names.end()) continue;
            for (std::size_t i = 0; i < 16; ++i)
                entry.body[i] = i < name->second.size() ? static_cast<std::uint8_t>(name->second[i]) : 0;
        }
        const auto written = dump::write(dump, bytes);
        if (!written) throw std::runtime_error(written.problems().front().what);
        write_bytes(folder_ / "older.syx", written.value());
        return (folder_ / "older.syx").string();
    }

    /// Only the messages of one slot.
    std::string single(const std::string& file, const std::string& as) const {
        const Bytes bytes = read_bytes(file);
        Bytes one;
        for (std::size_t from = 0; from < bytes.size();) {
            const auto end = std::find(bytes.begin() + static_cast<std::ptrdiff_t>(from), bytes.end(), 0xF7);
            const auto to = static_cast<std::size_t>(end - bytes.begin()) + 1;
            // F0 7D 06 unit kind slot:2
            if (bytes[from + 5] == 0 && bytes[from + 6] == paper_slot - 1)
                one.insert(one.end(), bytes.begin() + static_cast<std::ptrdiff_t>(from),
                           bytes.begin() + static_cast<std::ptrdiff_t>(to));
            from = to;
        }
        write_bytes(folder_ / as, one);
        return (folder_ / as).string();
    }

    /// What is told of slot 81, refitted with that older copy.
    Json told(const std::string& dump, const std::string& older) const {
        const Ran ran =
            run_refit({dump, "--on", "3.10", "--out", out(), "--force", "--fill-from", older, "--format", "json"});
        CHECK(ran.errors.empty());
        const Json report = Json::parse(ran.output);
        for (const Json& preset : report.at("presets")) {
            if (preset.at("slot") == paper_slot) return preset;
        }
        return {};
    }

    std::string out() const { return (folder_ / "out.syx").string(); }

    bool has_wool_fuzz() const {
        const Ran ran = run_downfit({"contents", out(), "--slot", std::to_string(paper_slot), "--schemas",
                                     (project_folder() / "schemas").string()});
        return says(ran.output, "Wool Fuzz");
    }

private:
    TempDir folder_;
    schema::Device device_;
};

}  // namespace

TEST_CASE("what is lost comes from an older copy of the same name", "[refit][fill][heavy]") {
    OlderBank bank;
    const std::string older = bank.named({});
    const Json preset = bank.told(demo("bank-d.syx"), older);
    CHECK(preset.at("older-copy") ==
          Json{{"file", older}, {"slot", paper_slot}, {"name", "Old Paper"}, {"found-by", "name"}});
    CHECK(preset.at("filled").front() == "drive[1].alternate[1].model");
    CHECK(bank.has_wool_fuzz());
    const Ran text =
        run_refit({demo("bank-d.syx"), "--on", "3.10", "--out", bank.out(), "--force", "--fill-from", older});
    CHECK(says(text.output, "filled from the older copies in " + older));
    CHECK(says(text.output, "Older copies: "));
    CHECK(says(text.output, " found by name"));
    SECTION("a dump without presets offers none") {
        const Ran other = run_refit({demo("bank-d.syx"), "--on", "3.10", "--out", bank.out(), "--force", "--fill-from",
                                     demo("impulse-responses.syx")});
        CHECK(says(other.output, demo("impulse-responses.syx") + " holds no preset of this kind"));
        CHECK(!says(text.output, "holds no preset of this kind"));
    }
    SECTION("in another slot too, but the one in its own slot is the nearer") {
        CHECK(bank.told(demo("bank-d.syx"), bank.named({{80, "Old Paper"}})).at("older-copy").at("slot") == paper_slot);
        const Json moved = bank.told(demo("bank-d.syx"), bank.named({{80, "Old Paper"}, {paper_slot, "Something"}}));
        CHECK(moved.at("older-copy").at("slot") == 80);
        CHECK(moved.at("older-copy").at("found-by") == "name");
    }
}

TEST_CASE("another name in the same slot is another preset", "[refit][fill][heavy]") {
    OlderBank bank;
    const Json preset = bank.told(demo("bank-d.syx"), bank.named({{paper_slot, "Something"}}));
    CHECK(preset.at("older-copy").is_null());
    CHECK(preset.at("filled").empty());
    CHECK(!bank.has_wool_fuzz());
    SECTION("but one without any name may be the same") {
        const Json nameless = bank.told(demo("bank-d.syx"), bank.named({{paper_slot, ""}}));
        CHECK(nameless.at("older-copy").at("found-by") == "slot");
        CHECK(!nameless.at("filled").empty());
        CHECK(bank.has_wool_fuzz());
    }
    SECTION("and where both dumps hold one preset, that is meant") {
        const std::string older = bank.single(bank.named({{paper_slot, "Something"}}), "one-older.syx");
        const std::string now = bank.single(demo("bank-d.syx"), "one.syx");
        const Json single = bank.told(now, older);
        CHECK(single.at("older-copy").at("found-by") == "only");
        CHECK(single.at("older-copy").at("name") == "Something");
        CHECK(bank.has_wool_fuzz());
        CHECK(bank.told(demo("bank-d.syx"), older).at("older-copy").is_null());
    }
}

TEST_CASE("a substitute goes before an older copy", "[refit][fill][substitutes][heavy]") {
    OlderBank bank;
    const std::string older = bank.named({});
    const TempDir folder;
    const auto mine = folder / "mine.json";
    write_text(mine, R"({ "format": "downfit substitutes 1", "device": "dunlin-6", "substitutes": [
        { "parameter": "drive.alternate.model", "lost": "Paper Fuzz", "instead": "Gravel" } ] })");
    const Ran ran = run_refit({demo("bank-d.syx"), "--on", "3.10", "--out", bank.out(), "--force", "--fill-from", older,
                               "--substitutes", mine.string()});
    CHECK(ran.errors.empty());
    CHECK(!bank.has_wool_fuzz());
    CHECK(says(ran.output, "\"Gravel\" instead of \"Paper Fuzz\": "));
}
