#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <set>
#include <tuple>

#include "schema/ids.h"
#include "schema/policy.h"
#include "schema/read_user_file.h"
#include "schema/reader.h"

namespace downfit::schema {

namespace {

constexpr double infinite = std::numeric_limits<double>::infinity();
constexpr std::string_view policy_header = "downfit policy 1";
constexpr std::array<std::string_view, 9> policy_keys{"$schema", "format",     "title",    "notes",   "device",
                                                      "fails",   "tolerances", "releases", "accepted"};
constexpr std::array<std::string_view, 12> tolerance_keys{"level", "pitch",          "frequency",    "q",
                                                          "time",  "long-time-from", "long-time",    "decay",
                                                          "rate",  "range",          "slight-up-to", "louder"};
constexpr std::array<std::string_view, 1> policy_release_keys{"fails"};
constexpr std::array<std::string_view, 11> acceptance_keys{
    "fingerprint", "preset", "slot", "parameter", "outcome", "on", "weight", "cautions", "reason", "until", "notes"};
constexpr std::array<std::string_view, 4> fails_words{"near", "altered", "severe", "refused"};
static_assert(static_cast<std::size_t>(FailsFrom::refused) + 1 == fails_words.size());
constexpr std::array<std::string_view, 3> accepted_weights{"slight", "audible", "severe"};
constexpr std::array<std::string_view, 3> cautions{"louder", "feedback", "level-unknown"};
/// Those of compat/outcome.h that tell of a difference; tests/compat/policy_test.cpp compares the lists.
constexpr std::array<std::string_view, 14> outcomes{"rounded",  "clamped",   "reset", "lost",         "swapped",
                                                    "rescaled", "displaced", "woken", "out-of-range", "unfilled",
                                                    "revoiced", "cut",       "added", "unsure"};

bool is_fingerprint(std::string_view text) {
    const auto digit = [](char c) { return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f'); };
    return text.size() == 16 && std::ranges::all_of(text, digit);
}

bool is_blank(std::string_view text) {
    return text.find_first_not_of(" \t\r\n") == std::string_view::npos;
}

class PolicyReader {
public:
    explicit PolicyReader(Problems& problems) : problems_(problems) {}

    Policy read(const Node& document) {
        Policy policy;
        const ObjectReader reader(document, "a policy", policy_keys, problems_);
        for (const std::string_view key : {"$schema", "notes"}) (void)reader.text(key);
        policy.title = reader.text("title");
        if (const Node* device = reader.find("device")) read_device_name(*device, policy);
        policy.fails = read_fails(reader).value_or(FailsFrom::altered);
        if (const Node* tolerances = reader.find("tolerances")) read_tolerances(*tolerances, policy.tolerances);
        if (const Node* releases = reader.find("releases")) read_releases(*releases, policy);
        if (const Node* accepted = reader.find("accepted")) read_accepted(*accepted, policy);
        return policy;
    }

private:
    static std::optional<FailsFrom> read_fails(const ObjectReader& reader) {
        const auto word = reader.word("fails", fails_words);
        if (!word) return std::nullopt;
        return static_cast<FailsFrom>(*word);
    }

    void read_device_name(const Node& node, Policy& policy) {
        const auto name = read_text(node, problems_);
        if (!name) return;
        if (!is_name(*name)) return report_found(problems_, node, "lower-case letters, digits and \"-\"");
        policy.device = *name;
        policy.device_place = node.value_place();
    }

    /// A number above 0, in `least` to `most`; nothing where it is missing or does not fit.
    std::optional<double> tolerance(const ObjectReader& reader, std::string_view key, double least, double most,
                                    std::string_view unit, std::string_view why = {}) {
        const auto number = reader.number(key);
        if (!number || (std::isfinite(*number) && *number > 0 && *number >= least && *number <= most)) return number;
        std::string expected = "a number";
        expected += least > 0 ? " from " + number_text(least) : " above 0";
        if (most < infinite) expected += least > 0 ? " to " + number_text(most) : ", at most " + number_text(most);
        report_found(problems_, *reader.find(key), expected + std::string(unit), std::string(why));
        return std::nullopt;
    }

    void read_tolerances(const Node& node, Tolerances& read) {
        const ObjectReader reader(node, "tolerances", tolerance_keys, problems_);
        read.level = tolerance(reader, "level", 0, infinite, ": dB");
        read.pitch = tolerance(reader, "pitch", 0, infinite, ": cents");
        read.frequency = tolerance(reader, "frequency", 0, infinite, ": cents");
        read.q = tolerance(reader, "q", 0, 100, ": % of the bandwidth");
        read.time = tolerance(reader, "time", 0, infinite, ": ms");
        read.long_time_from = tolerance(reader, "long-time-from", 0, infinite, ": ms");
        read.long_time = tolerance(reader, "long-time", 0, 100, ": %");
        read.decay = tolerance(reader, "decay", 0, 100, ": %");
        read.rate = tolerance(reader, "rate", 0, 100, ": %");
        read.range = tolerance(reader, "range", 0, 100, ": % of the range");
        read.slight_up_to = tolerance(reader, "slight-up-to", 1, infinite, ": so many tolerances");
        read.louder = tolerance(reader, "louder", 0, 6, ": dB", "no policy hides that something comes out louder");
    }

    void read_releases(const Node& node, Policy& policy) {
        if (!node.is(Node::Kind::object)) return report_found(problems_, node, "an object: release names");
        for (const Member& member : node.members) {
            const ObjectReader reader(*member.value, "what fails on a release", policy_release_keys, problems_);
            if (member.key.empty()) {
                report(problems_, member.value->key_place(), "a release without a name", "a release name");
            }
            if (reader.ok()) (void)reader.need("fails");
            if (const auto fails = read_fails(reader))
                policy.releases.push_back({{member.key, member.value->key_place()}, *fails});
        }
    }

    void read_accepted(const Node& node, Policy& policy) {
        const auto* items = read_list(node, "what is accepted", problems_);
        if (!items) return;
        using Key =
            std::tuple<std::string, std::string, std::optional<int>, std::string, std::string, std::set<std::string>>;
        std::vector<std::pair<Key, const Node*>> seen;
        for (const NodePtr& item : *items) {
            const std::size_t before = problems_.size();
            Acceptance read = read_acceptance(*item);
            if (problems_.size() > before) continue;
            std::set<std::string> on;
            for (const NamedRelease& release : read.on) on.insert(release.name);
            Key key{read.fingerprint, read.preset, read.slot, read.parameter, read.outcome, std::move(on)};
            const auto same = std::ranges::find(seen, key, &std::pair<Key, const Node*>::first);
            if (same != seen.end()) {
                report(problems_, item->value_place(),
                       name_of(*item) + " accepts the same as " + name_of(*same->second), "each acceptance once");
                continue;
            }
            seen.emplace_back(std::move(key), item.get());
            policy.accepted.push_back(std::move(read));
        }
    }

    Acceptance read_acceptance(const Node& node) {
        Acceptance read;
        read.place = node.value_place();
        const ObjectReader reader(node, "an acceptance", acceptance_keys, problems_);
        if (!reader.ok()) return read;
        (void)reader.text("notes");
        read_subject(reader, read);
        if (const Node* on = reader.find("on")) read.on = read_on(*on, problems_);
        if (reader.need("weight") != nullptr) {
            if (const auto word = reader.word("weight", accepted_weights)) read.weight = accepted_weights[*word];
        }
        if (const Node* known = reader.find("cautions")) read_cautions(*known, read);
        if (const Node* reason = reader.need("reason")) {
            read.reason = reader.text("reason");
            if (reason->is(Node::Kind::text) && is_blank(read.reason))
                report_found(problems_, *reason, "why it is accepted, in a few words");
        }
        if (const Node* until = reader.find("until")) {
            read.until = reader.text("until");
            if (until->is(Node::Kind::text) && !is_date(read.until))
                report_found(problems_, *until, "a day of the calendar, as \"2026-12-31\"");
        }
        return read;
    }

    /// What is accepted: a finding, a parameter or a preset, and nothing between them.
    void read_subject(const ObjectReader& reader, Acceptance& read) {
        const bool finding = reader.has("fingerprint");
        if (!finding && !reader.has("preset") && !reader.has("parameter")) {
            report(problems_, reader.node().value_place(), name_of(reader.node()) + " does not say what is accepted",
                   "\"fingerprint\", \"preset\" or \"parameter\"");
        }
        const auto refuse = [&](std::string_view key, std::string_view why, std::string_view expected) {
            const Node* node = reader.find(key);
            if (node != nullptr)
                report(problems_, node->key_place(), quoted(key) + ' ' + std::string(why), std::string(expected));
        };
        for (const std::string_view key : {"preset", "slot", "parameter", "outcome"}) {
            if (finding) refuse(key, "stands beside \"fingerprint\", which says it already", "one of them");
        }
        if (!finding && !reader.has("preset")) refuse("slot", "stands without \"preset\"", "\"preset\" with it");
        if (!finding && !reader.has("parameter"))
            refuse("outcome", "stands without \"parameter\"", "\"parameter\" with it");
        if (!finding && reader.has("preset") && reader.has("parameter") && !reader.has("outcome")) {
            report(problems_, reader.node().key_place(), "\"outcome\" is missing",
                   "a finding: \"preset\", \"parameter\" and \"outcome\"");
        }
        if (const Node* node = reader.find("fingerprint")) {
            read.fingerprint = reader.text("fingerprint");
            if (node->is(Node::Kind::text) && !is_fingerprint(read.fingerprint))
                report_found(problems_, *node, "16 digits and letters a to f, as a report has them");
        }
        if (const Node* node = reader.find("preset")) {
            read.preset = reader.text("preset");
            if (node->is(Node::Kind::text) && read.preset.empty())
                report_found(problems_, *node, "the name of a preset");
        }
        if (const auto slot = reader.whole("slot", {0, 1 << 24})) read.slot = static_cast<int>(*slot);
        if (const Node* node = reader.find("parameter")) {
            read.parameter = reader.text("parameter");
            read.parameter_place = node->value_place();
            if (node->is(Node::Kind::text) && !parse_id(read.parameter))
                report_found(problems_, *node, "a parameter's id, such as \"amp.drive\" or \"amp[2].drive\"");
        }
        if (const auto word = reader.word("outcome", outcomes)) read.outcome = outcomes[*word];
    }

    void read_cautions(const Node& node, Acceptance& read) {
        const auto* items = read_list(node, "cautions", problems_);
        if (!items) return;
        for (const NodePtr& item : *items) {
            const auto word = read_word(*item, cautions, problems_);
            if (!word) continue;
            const std::string caution(cautions[*word]);
            if (std::ranges::find(read.cautions, caution) != read.cautions.end()) {
                report(problems_, item->value_place(), quoted(caution) + " stands twice in the list",
                       "each caution once");
            } else {
                read.cautions.push_back(caution);
            }
        }
    }

    Problems& problems_;
};

}  // namespace

std::string_view fails_name(FailsFrom fails) {
    return fails_words[static_cast<std::size_t>(fails)];
}

Result<Policy> read_policy(const SourceFile& file) {
    return read_user_file(
        file, policy_header, FileKind::policy, "the policy",
        [](const Node& document, Problems& problems) { return PolicyReader(problems).read(document); });
}

}  // namespace downfit::schema
