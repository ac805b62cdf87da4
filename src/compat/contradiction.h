// What a unit showed after loading, as evidence about loading rules: which possibility of a rule gives what it shows.
#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <tuple>
#include <vector>

#include "compat/check.h"
#include "compat/explore.h"

namespace downfit::compat {

/// What one value says about one rule: the rule bears on it, since its possibilities would lead to different values.
struct RuleSeen {
    schema::Rule rule = schema::Rule::out_of_range;
    std::optional<schema::Action> stated;  ///< what the schema says; nothing where it says nothing
    std::vector<schema::Action> fits;      ///< possibilities that lead to what the unit shows, in the rule's own order
    bool of_parameter = false;             ///< stated by the parameter itself
    TextPlace place;                       ///< where it is stated; without file where it is not

    /// The unit did something else than what is stated.
    [[nodiscard]] bool contradicts() const;
};

/// One value that is otherwise than predicted, or that tells something about a rule.
struct ValueSeen {
    std::string parameter;  ///< instance id; empty for the whole preset (loaded or refused)
    std::string id;         ///< the same without instances: the parameter of the release file
    TextPlace place;        ///< where that stands
    std::string predicted;  ///< for people: "Hall", "12 dB", "not loaded"
    std::string shown;
    bool as_predicted = true;
    bool follows = false;    ///< it exists, or is read, by something else that is otherwise than predicted
    Act act = Act::nothing;  ///< what the prediction rests on
    std::vector<RuleSeen> rules;
};

/// All that one preset says: values that are otherwise than predicted, and values on which a rule bears.
using LoadingEvidence = std::vector<ValueSeen>;

/// Loads `sent` on its release under every possibility of every rule and holds the results against `shown`, which a
/// unit with that release saved. `base`: what is assumed of facts and of rules that nobody states. The two compiled
/// releases are one release, as either layout stores it.
[[nodiscard]] LoadingEvidence evidence_of(const CompiledRelease& sent_release, const Image& sent,
                                          const CompiledRelease& shown_release, const Image& shown,
                                          const Assumptions& base);

/// The same where the unit has nothing in that slot.
[[nodiscard]] LoadingEvidence evidence_of_refusal(const CompiledRelease& release, const Image& sent,
                                                  const Assumptions& base);

/// One value of one preset, as an example.
struct SeenIn {
    std::size_t preset = 0;  ///< whatever number its preset was given with
    ValueSeen value;
};

/// A rule about which a read-back says something.
struct RuleFault {
    schema::Rule rule = schema::Rule::out_of_range;
    std::optional<schema::Action> stated;  ///< nothing: nobody states it, and the unit has shown what it is
    TextPlace place;                       ///< where it is stated
    std::string own_parameter;             ///< the parameter whose own rule it is; empty: of the release or the device
    std::vector<schema::Action> fits;      ///< possibilities that explain all values below; may be several, or none
    std::vector<std::string> parameters;   ///< parameter ids concerned, sorted; empty where whole presets are
    std::size_t values = 0;                ///< how many values say so
    std::set<std::size_t> presets;
    std::size_t confirmed = 0;  ///< other values under the same statement that show it right
    std::vector<SeenIn> examples;
};

/// A parameter that is otherwise than predicted, and no rule explains it.
struct ValueFault {
    std::string parameter;  ///< id of the release file; empty for whole presets
    TextPlace place;
    Act act = Act::nothing;  ///< what the prediction rested on; of several the first
    std::size_t values = 0;
    std::set<std::size_t> presets;
    std::vector<SeenIn> examples;
};

/// Gathers what many presets say.
class Evidence {
public:
    void add(std::size_t preset, const LoadingEvidence& values);

    /// Stated rules that the unit contradicts, and rules nobody states that it has settled (`stated` empty).
    [[nodiscard]] std::vector<RuleFault> rule_faults() const;
    [[nodiscard]] std::vector<ValueFault> value_faults() const;

private:
    using Statement = std::tuple<schema::Rule, std::string, std::size_t, std::size_t>;  // rule and place
    std::map<Statement, std::vector<std::pair<SeenIn, RuleSeen>>> seen_;
    std::map<std::string, ValueFault> faults_;
};

}  // namespace downfit::compat
