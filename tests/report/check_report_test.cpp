// Whole reports on a result made by hand, compared with golden files; and what holds for every one of them.
#include <algorithm>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>

#include "report/check_json.h"
#include "report/check_text.h"
#include "report/sample_report.h"
#include "report/standing.h"
#include "report/summary.h"
#include "report/words.h"
#include "support/catch.h"
#include "support/golden.h"

namespace downfit::report {

namespace {

std::size_t lines_in(const std::string& text) {
    return static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n'));
}

std::string summary(const CheckReport& report, std::size_t width) {
    std::string out;
    append_summary(out, report, {width, false});
    return out;
}

}  // namespace

TEST_CASE("text reports", "[report]") {
    testing::check_golden(check_text(sample_report(), Extent::presets, {100, false}), "report/golden/one-release.txt");
    testing::check_golden(check_text(sample_report(), Extent::details, {80, false}),
                          "report/golden/one-release-detail-80.txt");
    testing::check_golden(check_text(sample_report_on_all(), Extent::presets, {100, false}),
                          "report/golden/all-releases.txt");
}

TEST_CASE("the JSON report", "[report]") {
    testing::check_golden(check_json(sample_report()), "report/golden/one-release.json");
    CHECK(check_json(sample_report()) == check_json(sample_report()));
    const auto json = nlohmann::json::parse(check_json(sample_report_on_all()));
    CHECK(json["presets"].size() == 8);
    CHECK(json["presets"][1]["targets"].size() == 3);
}

TEST_CASE("the summary has at most twelve lines and comes first", "[report]") {
    for (const CheckReport& report : {sample_report(), sample_report_on_all()}) {
        CHECK(lines_in(summary(report, 80)) <= 12);
        CHECK(check_text(report, Extent::details, {80, false}).starts_with(summary(report, 80)));
        const std::string alone = check_text(report, Extent::summary, {80, false});
        CHECK(alone.starts_with(summary(report, 80)));
        CHECK_THAT(alone, testing::ContainsSubstring("never promises"));
        CHECK(lines_in(alone) <= 12);
    }
}

TEST_CASE("no report lets a control character or a mark of direction through", "[report]") {
    for (const CheckReport& report : {sample_report(), sample_report_on_all()}) {
        const std::string text = check_text(report, Extent::details, {80, false});
        CHECK(text.find('\x1B') == std::string::npos);
        CHECK(text.find("\xE2\x80\xAE") == std::string::npos);
        const std::string json = check_json(report);
        CHECK(std::all_of(json.begin(), json.end(), [](char c) { return c == '\n' || (c >= ' ' && c < '\x7F'); }));
    }
}

TEST_CASE("without its colours a coloured report is the plain one", "[report]") {
    std::string text = check_text(sample_report(), Extent::details, {100, true});
    CHECK(text.find('\x1B') != std::string::npos);
    for (std::size_t at = text.find('\x1B'); at != std::string::npos; at = text.find('\x1B'))
        text.erase(at, text.find('m', at) + 1 - at);
    CHECK(text == check_text(sample_report(), Extent::details, {100, false}));
}

TEST_CASE("the promise and the cautions are in every report", "[report]") {
    CheckReport report = sample_report();
    report.presets.erase(report.presets.begin() + 1, report.presets.end());
    const std::string text = check_text(report, Extent::presets, {400, false});
    CHECK_THAT(text, testing::ContainsSubstring("It never promises that two releases sound alike."));
    CHECK_THAT(text, testing::ContainsSubstring("the maker's own instructions come first"));
    CHECK(text.find("MONITORS DOWN") == std::string::npos);
}

TEST_CASE("presets come worst first, silent before loud", "[report]") {
    const CheckReport report = sample_report();
    std::string slots;
    for (const std::size_t preset : preset_order(report, 0)) slots += std::to_string(report.presets[preset].check.slot);
    CHECK(slots == "52463178");
    const compat::Finding* main = main_finding(report.presets[1].check.targets[0]);
    REQUIRE(main != nullptr);
    CHECK(main->outcome == compat::Outcome::swapped);
    compat::Finding loud, silent;
    loud.outcome = compat::Outcome::reset;
    silent.outcome = compat::Outcome::displaced;
    loud.weight = silent.weight = compat::Weight::audible;
    CHECK(told_before(silent, loud));
    CHECK_FALSE(told_before(loud, silent));
    loud.weight = compat::Weight::severe;
    CHECK(told_before(loud, silent));
}

TEST_CASE("a smaller step back is only told where it helps", "[report]") {
    const CheckReport report = sample_report_on_all();
    const Step step = best_step(report);
    CHECK(report.targets[step.from] == 0);
    CHECK(report.targets[step.to] == 1);
    CHECK(step.gain == 1);
    CHECK(step.left == 4);
    CHECK(best_step(sample_report()).gain == 0);
}

TEST_CASE("commands to copy are quoted for the shell", "[report]") {
    CHECK(shell_word("bank-a.syx") == "bank-a.syx");
    CHECK(shell_word("my bank.syx") == "'my bank.syx'");
    CHECK(shell_word("it's") == "'it'\\''s'");
    CHECK(shell_word("$(rm x)") == "'$(rm x)'");
    CHECK(shell_word("") == "''");
    const CheckReport report = sample_report();
    CHECK(detail_command(report, report.presets[1], 0) ==
          "downfit check banks/a.syx settings.syx --on 2.10 --slot 2 --schemas 'my schemas' --detail");
}

TEST_CASE("parameters are shortened to where to look", "[report]") {
    CHECK(short_parameter("amp[1].alternate[2].model") == "amp[1] model");
    CHECK(short_parameter("tempo") == "tempo");
    CHECK(short_parameter("amp[2].on") == "amp[2] on");
}

}  // namespace downfit::report
