// Parameters and groups of one release, resolved (inheritance and choice edits done), not yet repeated by their groups'
// counts.
#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "base/problem.h"
#include "schema/choices.h"
#include "schema/condition.h"
#include "schema/layout.h"
#include "schema/rules.h"
#include "schema/scale.h"

namespace downfit::schema {

enum class Kind : std::uint8_t { whole, real, on_off, choice, text, reference, opaque };
enum class Role : std::uint8_t {
    none,
    level,
    model,
    pitch,
    frequency,
    q,
    time,
    decay,
    rate,
    tempo,
    feedback,
    mix,
    pan,
    tone,
    name,
    cosmetic,
};
enum class Unit : std::uint8_t { none, db, hz, khz, ms, s, cents, semitones, bpm, percent, ratio, degrees };
enum class Scope : std::uint8_t { preset, scene, bank, unit };

/// How bits become a number or a text.
enum class Coding : std::uint8_t {
    unsigned_number,
    twos_complement,
    offset_binary,
    sign_magnitude,
    float32,
    float64,
    text
};
enum class Encoding : std::uint8_t { ascii, latin1, utf8 };

/// A run of bits in one byte: `width` bits (1 to 8) of byte `byte`, the lowest of them bit `bit` (0 = least
/// significant).
struct BitPiece {
    std::int64_t byte = 0;
    std::uint8_t bit = 0;
    std::uint8_t width = 8;

    bool operator==(const BitPiece&) const = default;
};

/// Where a parameter stands and how it is coded. Numbers: `pieces`, most significant first, 64 bits at most. Texts:
/// `text_at` and `text_length`.
struct Storage {
    Coding coding = Coding::unsigned_number;
    std::vector<BitPiece> pieces;
    std::int64_t text_at = 0;
    std::size_t text_length = 0;
    Encoding encoding = Encoding::ascii;
    std::uint8_t padding = ' ';
    Notation notation = Notation::bytes;  ///< by name: all of the text at the parameter's path; no pieces then
    bool may_round = false;               ///< by name: a whole number that a text with a fraction can be rounded to
    std::shared_ptr<const std::vector<Word>> words;  ///< by name: texts that stand for numbers; null without

    [[nodiscard]] unsigned width() const;  ///< bits of all pieces
    bool operator==(const Storage&) const = default;
};

struct Range {
    double least = 0;
    double most = 0;

    bool operator==(const Range&) const = default;
};

/// The attributes that `varies` may replace.
struct Meaning {
    Scale scale;
    Unit unit = Unit::none;
    std::optional<Range> range;
    std::optional<Range> plays;
    std::optional<double> step;
    std::optional<Setting> preset_default;  ///< `default`
    std::optional<Setting> neutral;
    std::shared_ptr<const ChoiceList> choices;  ///< null without choices; shared between parameters, never changed
    Role role = Role::none;
};

struct VariedMeaning {
    Condition when;
    Meaning meaning;
};

/// One of the ordered reads of a parameter: a place and coding that the release tries where `when` holds.
struct Read {
    Condition when;
    Storage storage;
    Meaning meaning;  ///< the plain one with what the read says differently
};

/// How a reference names its target.
enum class RefersBy : std::uint8_t { number, name, hash };

/// Where a loading rule was stated.
struct RulePlace {
    Rule rule = Rule::out_of_range;
    TextPlace place;
};

/// One parameter of a release.
struct Parameter {
    std::string id;       ///< "amp.alternate.drive"
    std::string meaning;  ///< equal for what is the same thing in another release (renames keep it)
    int group = -1;       ///< index into Release::groups, -1 for none
    Kind kind = Kind::whole;
    Storage storage;  ///< places relative to the group
    Meaning plain;
    std::vector<VariedMeaning> varies;  ///< the first that holds replaces `plain`
    std::vector<Read> reads;            ///< tried before `storage` with `plain`; the first that holds wins
    std::optional<std::int64_t> tag;    ///< the id of its record, in the nearest run of records around it
    std::optional<std::string> path;    ///< by name: from its group; storage.notation without it: not in these dumps
    int list_count = 0;                 ///< of a list: elements; 0: no list
    std::int64_t list_stride = 0;       ///< bytes from one element to the next
    std::string count_by;               ///< of a list: the parameter that says how many elements exist; empty: all
    std::optional<Condition> when;
    std::int64_t on = 1;    ///< of a switch
    std::string refers_to;  ///< of a reference: "parameter", "scene", "block", "preset" or an asset kind
    RefersBy refers_by = RefersBy::number;
    std::optional<std::int64_t> nothing;  ///< of a reference: the stored number that points at nothing
    std::string overrides;                ///< id of the parameter that this one overrides in its scene; empty for none
    std::optional<std::int64_t> as_base;
    Scope scope = Scope::preset;
    Rules rules;                         ///< this parameter's own only
    std::vector<RulePlace> rule_places;  ///< of those that have a list of possibilities, in the order of the table
    bool observed = false;
    std::string title, source, note;
    TextPlace place;  ///< of its key in the release file that last changed it
};

enum class GroupKind : std::uint8_t { plain, block, alternate, scene, controller, control_switch };

/// What a block costs of the processing budget.
struct Cost {
    double plain = 0;
    std::string by;                       ///< id of the choice that it depends on; empty for none
    std::map<std::string, double> costs;  ///< by label; others cost `plain`
};

/// One group of a release. The parameter ids in it are full ids; empty where not given.
struct Group {
    std::string path;     ///< "amp.alternate"
    std::string meaning;  ///< like Parameter::meaning
    int parent = -1;      ///< index into Release::groups; always lower than the own index
    GroupKind kind = GroupKind::plain;
    std::int64_t at = 0;
    int count = 1;
    std::int64_t stride = 0;
    std::string on_by, selected_by, start_by, controls, heel, toe;
    std::optional<Condition> when;
    std::string count_by;             ///< the parameter that says how many instances exist; empty: all
    bool count_by_length = false;     ///< as many exist as the body holds
    std::optional<std::int64_t> tag;  ///< each record with this id is one instance; places count from its value
    std::optional<Records> records;   ///< the value is itself a run of records
    std::optional<NamedPlace> named;  ///< by name; without it the group stands where the one around it does
    std::optional<std::int64_t> version_at_most;  ///< a record with a higher version is refused
    Refuses version_refuses = Refuses::block;     ///< what that refusal takes
    std::optional<Cost> cost;
    std::string title;
    std::string role;  ///< "cabinet", "limiter" or empty
    TextPlace place;
};

}  // namespace downfit::schema
