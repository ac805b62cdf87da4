// What the parts of comparing two releases share. For the sources of study/ only.
#pragma once

#include <map>
#include <string>
#include <utility>
#include <vector>

#include "schema/device.h"
#include "study/change.h"

namespace downfit::study {

using schema::Device;
using schema::Group;
using schema::Meaning;
using schema::Parameter;
using schema::Release;

/// The two releases, their groups and parameters by meaning, and where changes go.
class Comparing {
public:
    Comparing(const Device& device, const Release& older, const Release& newer);

    const Device& device;
    const Release& older;
    const Release& newer;
    std::vector<Change> changes;

    [[nodiscard]] const Parameter* older_parameter(const std::string& meaning) const {
        return at(older_parameters_, meaning);
    }
    [[nodiscard]] const Parameter* newer_parameter(const std::string& meaning) const {
        return at(newer_parameters_, meaning);
    }
    [[nodiscard]] const Group* older_group(const std::string& meaning) const { return at(older_groups_, meaning); }
    [[nodiscard]] const Group* newer_group(const std::string& meaning) const { return at(newer_groups_, meaning); }

    /// Adds a change; its key is made of its kind and `key`.
    Change& add(ChangeKind kind, const std::string& key, std::string subject, std::string before, std::string after);
    /// A change of something that both releases have: its place is that of the newer.
    Change& add(ChangeKind kind, const std::string& detail, const Parameter& older, const Parameter& newer,
                std::string before, std::string after);
    Change& add(ChangeKind kind, const std::string& detail, const Group& older, const Group& newer, std::string before,
                std::string after);

    /// Meanings of all parameters of a group of that release and of those inside it.
    [[nodiscard]] std::vector<std::string> inside(const Release& release, const std::string& path) const;

private:
    template <class T>
    static const T* at(const std::map<std::string, const T*>& map, const std::string& key) {
        const auto found = map.find(key);
        return found == map.end() ? nullptr : found->second;
    }

    std::map<std::string, const Parameter*> older_parameters_, newer_parameters_;
    std::map<std::string, const Group*> older_groups_, newer_groups_;
};

/// A release's loading rule for one of its parameters; nothing where nobody states it.
[[nodiscard]] std::optional<schema::Action> rule_of(const Release& release, const Parameter* parameter,
                                                    schema::Rule rule);
/// What a refusal takes there.
[[nodiscard]] Effect refusal_of(const Release& release, const Parameter* parameter);
/// "amp[2].drive" as the meaning of what it names; itself where nothing has that name.
[[nodiscard]] std::string meaning_of(const Release& release, const std::string& reference);
/// A condition as text that is equal on two releases where it asks the same; and as people read it.
[[nodiscard]] std::string condition_key(const Release& release, const schema::Condition& condition);
[[nodiscard]] std::string condition_words(const Release& release, const schema::Condition& condition);
[[nodiscard]] std::string condition_words(const Release& release, const std::optional<schema::Condition>& condition);
/// "-60..12 dB", "0.05..12 Hz".
[[nodiscard]] std::string range_words(const schema::Range& range, schema::Unit unit);
[[nodiscard]] std::string setting_words(const std::optional<schema::Setting>& setting, const Meaning& meaning,
                                        const Parameter& parameter);
/// Whether a pedal or controller of that release can move it, as far as its choices of targets say.
[[nodiscard]] bool may_be_controlled(const Release& release, const Parameter& parameter);
/// "byte 12", "bits 0-3 of byte 12", "record 17, byte 0", "\"/volume\"".
[[nodiscard]] std::string place_words(const Parameter& parameter);
/// A list of texts with commas, "none" where empty.
[[nodiscard]] std::string joined(const std::vector<std::string>& texts);

/// What a value beyond T's range becomes there; `what` says which values.
[[nodiscard]] Way beyond_range(const Release& release, const Parameter& parameter, const std::string& what);
/// What an unknown choice becomes there.
[[nodiscard]] Way unknown_choice(const Release& release, const Parameter& parameter, const std::string& what);

/// Whether a parameter is found by name, in JSON or XML.
[[nodiscard]] bool stands_by_name(const Parameter& parameter);
/// "\"/amps/*\" by key: A, B".
[[nodiscard]] std::string named_place_words(const schema::NamedPlace& place);

void compare_groups(Comparing& comparing);
void compare_parameters(Comparing& comparing);
/// Attributes that may vary: of the plain meaning, or of one that varies (`where`).
void compare_meanings(Comparing& comparing, const Parameter& older, const Meaning& before, const Parameter& newer,
                      const Meaning& after, const std::string& where);
/// Where, and as what text, a parameter stands that is found by name on both releases.
void compare_named_storage(Comparing& comparing, const Parameter& older, const Parameter& newer);
/// What changed in single layouts only, after all that changed everywhere.
void compare_layouts(Comparing& comparing);
void compare_choices(Comparing& comparing);
void compare_rest(Comparing& comparing);
void suggest_renames(Comparing& comparing);

}  // namespace downfit::study
