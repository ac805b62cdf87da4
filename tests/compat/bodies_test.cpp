// Two dumps held against each other, and a prediction against what a unit shows: what of either counts, and what does
// not.
#include <string>
#include <utility>

#include "compat/case_file.h"
#include "compat/explore.h"
#include "compat/findings.h"
#include "compat/outcome.h"
#include "support/catch.h"
#include "support/hex.h"

using namespace downfit;
using namespace downfit::testing;
using compat::Bodies;

namespace {

/// Two releases, or ways of storing one, with a body each.
struct Two {
    explicit Two(const std::string& text, std::size_t saved = 1, std::size_t loading = 0, std::size_t saved_layout = 0,
                 std::size_t loading_layout = 0)
        : file(case_from(text, "bodies_test")),
          from(file.device, file.device.releases[saved].schema->in_layout(saved_layout)),
          to(file.device, file.device.releases[loading].schema->in_layout(loading_layout)),
          pair(from, to, file.device) {
        first.stamp_release = saved;
        first.layout = saved_layout;
        second.stamp_release = loading;
        second.layout = loading_layout;
    }

    /// Each finding: "PARAMETER OUTCOME WEIGHT", and what the saving release is said to make of it itself.
    [[nodiscard]] std::string told(const Bytes& saved, const Bytes& loading, Bodies bodies) {
        first.body = saved;
        second.body = loading;
        second.as_it_stands = bodies == Bodies::prediction;
        const compat::Exploration exploration =
            bodies == Bodies::one ? compat::explore(pair, first, file.options.facts, {}, {})
                                  : compat::explore(pair, first, second, bodies, file.options.facts, {});
        compat::TargetCheck check;
        compat::collect_findings(pair, exploration, check);
        std::string text;
        for (const compat::Finding& finding : check.findings) {
            text += finding.parameter + " " + std::string(compat::row_of(finding.outcome).name) + " " +
                    std::string(compat::weight_name(finding.weight));
            text += (finding.saved_overflow.empty() ? "" : ", " + finding.saved_overflow) + "\n";
        }
        return text;
    }

    CaseFile file;
    compat::CompiledRelease from, to;
    compat::ReleasePair pair;
    compat::Image first, second;
};

Bytes sixteen(const std::string& hex) {
    Bytes body = from_hex(hex);
    body.resize(16);
    return body;
}

}  // namespace

TEST_CASE("bodies: a variant's limits are those of what it loads, not of a dump that is there") {
    const std::string text = R"(== with
fact variant wren-mini
== release 1.0
"variants": { "wren-mini": { "limits": { "amp": 1 } } }, "groups": { "amp": { "kind": "block", "at": 0, "count": 2, "stride": 1 } },
"parameters": { "amp.drive": { "at": 0, "range": [0, 100] } }
== release 2.0
"extends": "1.0"
)";
    const Bytes body = sixteen("0A 14");
    CHECK(Two(text).told(body, body, Bodies::one) == "amp[2].drive lost audible\n");
    CHECK(Two(text).told(body, body, Bodies::two).empty());
    CHECK(Two(text).told(body, body, Bodies::prediction).empty());
}

TEST_CASE("bodies: where a dump keeps something is no matter of the other") {
    const std::string text = R"(== release 1.0
"parameters": { "drive": { "at": 0, "range": [0, 100] }, "tone": { "at": 1, "range": [0, 100] } }
== release 2.0
"parameters": { "drive": { "at": 4, "range": [0, 100] }, "tone": { "at": 0, "range": [0, 100] } }
)";
    const Bytes newer = sixteen("0A 00 00 00 14");
    CHECK(Two(text).told(newer, newer, Bodies::one) == "drive displaced audible\ntone displaced audible\n");
    CHECK(Two(text).told(newer, sixteen("3C 0A"), Bodies::two) == "drive rescaled audible\n");
    CHECK(Two(text).told(newer, sixteen("14 0A"), Bodies::two).empty());
}

TEST_CASE("bodies: what one way of storing has no place for is nothing to compare") {
    const std::string text = stored_both_ways(R"("1.0")") + R"(== release 1.0
"stamp": 1,
"parameters": { "drive": { "at": 0, "range": [0, 10], "in": { "export": { "path": "/drive" } } }, "gain": { "at": 1 },
                "tone": { "in": { "export": { "path": "/tone" } } } }
)";
    const Bytes body = from_hex("05 07 00 00");
    const std::string exported = R"({"drive": 6, "tone": 9})";
    const Bytes members(exported.begin(), exported.end());
    CHECK(Two(text, 0, 0, 0, 1).told(body, members, Bodies::two) == "drive rescaled audible\n");
    CHECK(Two(text, 0, 0, 1, 0).told(members, body, Bodies::two) == "drive rescaled audible\n");
    // Of one preset it is at its default on both sides, whatever the two releases put.
    const std::string releases = stored_both_ways(R"("1.0", "2.0")", R"(, "newer-stamp": "load")") + R"(== release 1.0
"stamp": 1, "parameters": { "drive": { "at": 0, "range": [0, 10], "in": { "export": { "path": "/drive" } } }, "gain": { "at": 1, "default": 7 } }
== release 2.0
"stamp": 2, "parameters": { "drive": { "at": 0, "range": [0, 10], "in": { "export": { "path": "/drive" } } }, "gain": { "at": 1, "default": 70 } }
)";
    CHECK(Two(releases, 1, 0, 1, 1).told(members, members, Bodies::one) == "gain reset audible\n");
    CHECK(Two(releases, 1, 0, 1, 1).told(members, members, Bodies::two).empty());
}

TEST_CASE("bodies: a slot that does not exist on one side counts, one that exists on neither does not") {
    const std::string text = R"(== release 1.0
"assets": { "impulse-response": { "count": 4 } }, "parameters": { "cabinet": { "at": 0, "refers-to": "impulse-response" } }
== release 2.0
"extends": "1.0", "assets": { "impulse-response": { "count": 8 } }
)";
    const auto told = [&](const std::string& hex, Bodies bodies) {
        return Two(text).told(sixteen(hex), sixteen(hex), bodies);
    };
    CHECK(told("06", Bodies::one) == "cabinet unfilled severe\n");
    CHECK(told("06", Bodies::two) == "cabinet unfilled severe\n");
    CHECK(told("06", Bodies::prediction).empty());
    CHECK(told("09", Bodies::one) == "cabinet unfilled severe\n");
    CHECK(told("09", Bodies::two).empty());
    CHECK(told("02", Bodies::two).empty());
}

TEST_CASE("bodies: a number that is read as a text is cut where that cannot be shown") {
    const std::string text = R"(== release 1.0
"parameters": { "mark": { "at": 0, "as": "text", "length": 1 } }
== release 2.0
"parameters": { "mark": { "at": 0, "range": [0, 200] } }
)";
    CHECK(Two(text).told(sixteen("80"), {}, Bodies::one) == "mark cut slight\n");
}

TEST_CASE("bodies: a choice that is a number there is unsure where the unit keeps what it had") {
    const std::string text = R"(== device
{ "format": "downfit device 1", "device": "wren", "title": "Wren", "maker": "Quillfeather", "releases": ["1.0", "2.0"],
  "layouts": { "preset": { "messages": { "preset": { "bytes": "F0 7D 09 {slot} {stamp} {data...} F7" } }, "preset": ["preset"],
               "body": { "records": { "head": ["id", "length"] } } } },
  "rules": { "out-of-range": "clamp", "unknown-choice": "clamp", "unknown-parameter": "skip", "missing-parameter": "held", "newer-stamp": "load" } }
== release 1.0
"stamp": 1, "parameters": { "mode": { "tag": 9, "range": [1, 1] } }
== release 2.0
"stamp": 2, "parameters": { "mode": { "tag": 1, "choices": ["Room", "Hall"] } }
)";
    CHECK(Two(text).told({1, 1, 1}, {}, Bodies::one) == "mode unsure audible\n");
}

TEST_CASE("bodies: how a prediction came about is told nowhere; what nobody knows of it is unsure") {
    const std::string text = R"(== rules
"out-of-range": "clamp", "shorter-image": "held", "unknown-choice": "keep"
== release 1.0
"parameters": { "drive": { "at": 0, "range": [0, 50] }, "tone": { "at": 1, "range": [0, 50], "rules": { "out-of-range": "refuse", "refuses": "parameter" } },
                "mode": { "at": 2, "choices": ["Room", "Hall"] }, "gain": { "at": 8, "range": [0, 50] } }
)";
    const auto told = [&](const std::string& sent, const std::string& shown) {
        return Two(text, 0, 0).told(from_hex(sent), sixteen(shown), Bodies::prediction);
    };
    const std::string unknown = "gain unsure audible\n";
    CHECK(told("3C 05 01 00 00 00", "32 05 01 00 00 00 00 00 07") == unknown);
    CHECK(told("3C 05 01 00 00 00", "28 05 01 00 00 00 00 00 07") == "drive rescaled audible\n" + unknown);
    CHECK(told("05 05 01 00 00 00", "28 05 01 00 00 00 00 00 07") == "drive rescaled audible\n" + unknown);
    CHECK(told("05 3C 01 00 00 00", "05 07 01 00 00 00 00 00 07") == "tone unsure audible\n" + unknown);
    CHECK(told("05 05 09 00 00 00", "05 05 09 00 00 00 00 00 07") == unknown);
    CHECK(told("05 05 09 00 00 00", "05 05 01 00 00 00 00 00 07") == "mode swapped audible\n" + unknown);
}
