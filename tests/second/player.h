// Plays the loader of one release over a body, line by line, as somebody would who holds the release file in hand.
#pragma once

#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "second/sheet.h"

namespace downfit::testing::second {

/// What stands somewhere: nothing, a whole number, a real, or a text.
struct Number {
    char form = '-';  ///< '-', 'w', 'r', 't'
    std::int64_t whole = 0;
    double real = 0;
    std::string text;

    [[nodiscard]] double plain() const { return form == 'r' ? real : static_cast<double>(whole); }
    bool operator==(const Number&) const = default;
};

/// The attributes of a line in force: those that it is written with, copied only where a condition changes some.
class Look {
public:
    Look() : says_(std::make_shared<const json>()) {}
    /// `says` must stay where it is.
    explicit Look(const json& says) : says_(std::shared_ptr<void>(), &says) {}

    operator const json&() const { return *says_; }
    [[nodiscard]] const json& operator[](const char* key) const { return (*says_)[key]; }
    [[nodiscard]] bool contains(const char* key) const { return says_->contains(key); }
    template <class Value>
    [[nodiscard]] auto value(const char* key, const Value& otherwise) const {
        return says_->value(key, otherwise);
    }
    void change(const std::function<void(json&)>& change) {
        json changed = *says_;
        change(changed);
        says_ = std::make_shared<const json>(std::move(changed));
        changed_ = true;
    }
    /// Tells looks of one line apart: what is written, where a condition changed some of it.
    [[nodiscard]] std::string mark() const { return changed_ ? says_->dump() : std::string(); }

private:
    std::shared_ptr<const json> says_;
    bool changed_ = false;
};

/// What a release has for one line after loading.
struct Had {
    bool exists = false;
    bool read = false;         ///< something was there
    bool meaningless = false;  ///< what stood there has no meaning
    bool beyond = false;       ///< kept beyond what plays
    std::string did;           ///< "", clamp, reset, wrap, keep, round, default, held, cut, refuse
    Look look;
    const std::vector<Label>* labels = nullptr;
    Number stood, now;
    double value = 0;
    std::string thing;                                 ///< origin of the choice
    std::vector<Place> places;                         ///< where it was read
    std::vector<std::int64_t> bits;                    ///< the same, counted from the start of the body
    std::shared_ptr<const std::vector<Label>> varied;  ///< what `labels` points at where choices vary
};

/// For rules that nobody stated: what this world says.
using World = std::map<std::string, std::string>;

/// What the unit held before, for lines that are left as they were, by name.
using HeldBefore = std::map<std::string, Number>;

struct Played {
    std::size_t world = 0;  ///< which, counted by whoever tries them
    bool refused = false;
    std::map<std::string, Had> had;
};

/// A preset to load.
struct Body {
    Bits bytes;
    std::optional<std::size_t> stamp;  ///< order of the release that saved it
    int slot = -1;                     ///< as shown
    Bits settings;                     ///< of the unit; empty where unknown
};

/// Where the records of a body stand; empty for bodies without.
struct Run {
    std::size_t begin = 0, length = 0;
    std::optional<std::int64_t> version;
};

/// Loads `body` on the release. Every rule that is unstated is looked up in `world`, and what the unit held before in
/// `held`; where that does not say, the line is left as "held".
[[nodiscard]] Played play(const Manual& manual, const Sheet& sheet, const Shelf& shelf, const Body& body,
                          const World& world, const HeldBefore& held);

/// Whether a body of records has one that runs past its end, as the release knows them.
[[nodiscard]] bool is_cut(const Manual& manual, const Sheet& sheet, const Body& body);

/// The rules that may be unstated, and what each may say.
[[nodiscard]] const std::map<std::string, std::vector<std::string>>& possibilities();

/// What kind of thing a parameter is: "number", "thing", "asset", "switch", "text".
[[nodiscard]] std::string kind_of(const json& look, const std::vector<Label>* labels);

/// Kinds of references by text.
[[nodiscard]] bool is_by_text(const json& look);

/// A reference that points at nothing, by its number.
[[nodiscard]] bool is_nothing(const json& look, const Number& number);

/// "As in the preset itself".
[[nodiscard]] bool is_as_base(const json& look, const Number& number);

/// Least and most whole number that a place can hold.
[[nodiscard]] std::pair<double, double> stored_ends(const json& look);

/// The least and the most of the range as values, or of what the place can hold; nothing for floats without a range.
[[nodiscard]] std::optional<std::pair<double, double>> value_ends(const json& look);

/// The stored number (or text) for a setting: a value, a label, true or false.
[[nodiscard]] Number stored_for(const json& setting, const json& look, const std::vector<Label>* labels);

}  // namespace downfit::testing::second
