#include "refit/body.h"

#include <algorithm>
#include <limits>
#include <set>

#include "dump/edit.h"
#include "refit/nearest.h"
#include "schema/ids.h"

namespace downfit::refit {

namespace {

using compat::Act;
using compat::BoundField;
using compat::CompiledRelease;
using compat::Link;
using compat::Loaded;
using compat::LoadedPreset;
using compat::Side;
using dump::Stored;
using schema::Action;
using schema::Rule;

/// More passes than any preset needs: each one settles what the one before brought into being.
constexpr int most_passes = 400;
/// A field is written again where what it hangs on changed, but not for ever.
constexpr int most_writes = 4;

bool same_stored(const Stored& a, const Stored& b) {
    if (a.kind != b.kind) return false;
    return a.kind == Stored::Kind::text ? a.text == b.text : a.whole == b.whole && a.real == b.real;
}

/// Whether an id ("amp.drive", "amp[2].drive") means that instance: steps without brackets mean every one.
bool means(const std::string& named, const std::string& id) {
    const auto wanted = schema::parse_id(named);
    const auto steps = schema::parse_id(id);
    if (!wanted || !steps) return named == id;
    return std::equal(wanted->begin(), wanted->end(), steps->begin(), steps->end(),
                      [](const schema::IdStep& want, const schema::IdStep& step) {
                          return want.name == step.name && (want.index == 0 || want.index == std::max(step.index, 1));
                      });
}

class Writer {
public:
    Writer(const Writing& writing, const LoadedPreset& saved, const compat::Assumptions& assumptions, Bytes body)
        : writing_(writing),
          taker_(writing.taker),
          layout_(taker_.release().layouts[writing.layout]),
          saved_(saved),
          assumptions_(assumptions),
          body_(std::move(body)),
          links_(taker_.fields().size(), nullptr),
          writes_(taker_.fields().size(), 0) {
        for (const Link& link : writing.pair.links()) {
            if (link.loading >= 0) links_[static_cast<std::size_t>(link.loading)] = &link;
        }
    }

    WrittenBody write() {
        settle_size();
        // What a condition says of bytes may be otherwise without the records that T refuses.
        for (bool again = true; again; again = drop_what_is_refused()) {
            for (int pass = 0; pass < most_passes && !settled(); ++pass) {
            }
        }
        return {std::move(body_), std::move(notes_), changed_.size() + records_, std::move(changed_)};
    }

private:
    const schema::Rules& rules() const { return writing_.pair.loading().release().rules; }

    /// Records that T does not know and refuses. True where there were some.
    bool drop_what_is_refused() {
        if (rules().actions[static_cast<std::size_t>(Rule::unknown_parameter)] != Action::refuse) return false;
        dump::BodyEditor editor = edit();
        if (editor.located().unknown().empty() || !editor.drop_unknown()) return false;
        ++records_;
        return true;
    }

    dump::BodyEditor edit() {
        const bool last = taker_.release().rules[Rule::repeated_key] == Action::last && last_wins_;
        return {taker_.instances(), layout_, {writing_.framing, last, writing_.fixed}, body_};
    }

    /// A body that is longer or shorter than T takes gets T's size where T would refuse it.
    void settle_size() {
        if (layout_.records || layout_.notation != schema::Notation::bytes || layout_.body_size == 0) return;
        const std::size_t before = body_.size();
        const bool longer = before > layout_.body_size;
        const Rule rule = longer ? Rule::longer_image : Rule::shorter_image;
        if (before == layout_.body_size || rules()[rule] != Action::refuse) return;
        if (edit().resize(layout_.body_size) && !longer) fresh_from_ = before;
    }

    /// One pass. True where nothing was left to do.
    bool settled() {
        last_wins_ = !edit().located().repeated().empty();
        const compat::Image image{body_,         writing_.layout,   writing_.pair.loading().release().order,
                                  writing_.slot, writing_.settings, nullptr,
                                  nullptr};
        there_ = compat::load(taker_, image, assumptions_);
        if (there_.refused) return true;
        if (lower_version() || add_group()) return false;
        for (const int index : taker_.order()) {
            const auto field = static_cast<std::size_t>(index);
            if (writes_[field] >= most_writes || writing_.left.contains(field)) continue;
            const std::size_t size = body_.size();
            if (!write_field(field)) continue;
            // What exists, and what reads mean, may be otherwise now.
            if (taker_.fields()[field].bearing == compat::Bearing::more || body_.size() != size || restart_) {
                restart_ = false;
                return false;
            }
        }
        return true;
    }

    Side side_there(std::size_t field) const { return {&taker_, &taker_.fields()[field], &there_.fields[field]}; }

    Side side_saved(const Link* link) const {
        if (link == nullptr || link->saved < 0) return {};
        const auto at = static_cast<std::size_t>(link->saved);
        return {&writing_.pair.saved(), &writing_.pair.saved().fields()[at], &saved_.fields[at]};
    }

    Side side_older(std::size_t field) const {
        if (writing_.older.release == nullptr) return {};
        const auto found = writing_.older.release->instances().find_key(taker_.fields()[field].field->key);
        if (!found) return {};
        return {writing_.older.release, &writing_.older.release->fields()[*found],
                &writing_.older.preset->fields[*found]};
    }

    /// Whether T itself, by the rules that it states, ends with what the lenient loading has.
    bool is_stated(const Side& t) const {
        const schema::Rules& real = writing_.pair.loading().fields()[index_of(t)].rules;
        const auto states = [&](Rule rule) { return real[rule] && real[rule] != Action::refuse; };
        switch (t.loaded->act) {
            case Act::nothing: return true;
            case Act::kept_out: return false;  // nobody knows what the engine does with it
            case Act::defaulted: {
                const Rule rule = t.field->field->anchor >= 0 ? Rule::missing_parameter : Rule::shorter_image;
                return real[rule] == Action::use_default;
            }
            case Act::rounded: return states(Rule::off_step);
            case Act::cut: return states(Rule::long_text);
            default:
                return compat::names_things(*t.field->parameter, *t.meaning().meaning) ? states(Rule::unknown_choice)
                                                                                       : states(Rule::out_of_range);
        }
    }

    std::size_t index_of(const Side& t) const { return static_cast<std::size_t>(t.field - taker_.fields().data()); }

    /// Nothing that can be known, or nothing of the preset.
    static bool is_unknown(const Side& n) {
        return n.loaded->unknown() || !n.loaded->known || n.loaded->act == Act::refused ||
               n.loaded->act == Act::kept_out;
    }

    bool write_field(std::size_t field) {
        const Side t = side_there(field);
        if (!t.exists() || t.field->parameter->scope == schema::Scope::unit) return false;
        const Side n = side_saved(links_[field]);
        const Side older = side_older(field);
        if (lies_in_filled(t.field->group) && older.exists() && !is_unknown(older)) return fill(field, older, t);
        if (n.exists() && n.loaded->act == Act::kept_out) return write_beyond(field, n, t);
        if (n.exists()) return is_unknown(n) ? false : write_meant(field, n, t);
        if (older.exists() && !is_unknown(older)) return fill(field, older, t);
        return write_unmeant(field, t);
    }

    bool write_meant(std::size_t field, const Side& n, const Side& t) {
        if (compat::same(n, t) && is_stated(t)) return false;
        const auto wanted = nearest_stored(n, t, writing_.hearing);
        if (!wanted) return write_in_its_place(field, n, t);
        const Loaded loaded = loaded_with(t, *wanted);
        const double now = distance(n, t, writing_.hearing);
        const double then = distance(n, {&taker_, t.field, &loaded}, writing_.hearing);
        if (t.loaded->act == Act::nothing && then >= now) return false;
        return put(field, t, *wanted);
    }

    /// A number beyond what N plays, kept as it stands: the same one where T keeps it too, else the nearest that it
    /// plays.
    bool write_beyond(std::size_t field, const Side& n, const Side& t) {
        if (n.loaded->unknown() || !n.loaded->known || compat::same(n, t)) return false;
        if (t.field->rules[Rule::out_of_range] == Action::keep) {
            const auto same = same_number(n, t);
            return same && put(field, t, *same);
        }
        return n.kind() == compat::Class::number && write_meant(field, n, t);
    }

    /// T has no such thing: the user's substitute, else what the older copy has.
    bool write_in_its_place(std::size_t field, const Side& n, const Side& t) {
        for (std::size_t i = 0; i < writing_.substitutes.size(); ++i) {
            const Substitute& substitute = writing_.substitutes[i];
            const bool named =
                means(substitute.parameter, n.field->field->id) || means(substitute.parameter, t.field->field->id);
            if (!named || !has(n, substitute.lost)) continue;
            const auto wanted = stored_setting(substitute.instead, t);
            if (!wanted) continue;
            const bool stands = t.loaded->in_image && same_stored(t.loaded->read, *wanted);
            const bool done = !stands && put(field, t, *wanted);
            if (stands || done) note({Note::Kind::substituted, t.field->field->id, i});
            return done;
        }
        const Side older = side_older(field);
        if (!older.exists() || is_unknown(older)) return false;
        // The settings of a model go with the model.
        if (n.is_model() && t.field->group >= 0 && filled_.insert(t.field->group).second) restart_ = true;
        return fill(field, older, t);
    }

    static bool has(const Side& side, const schema::Setting& setting) {
        if (const auto* label = std::get_if<std::string>(&setting)) {
            if (side.loaded->choice != nullptr) return side.loaded->choice->label == *label;
            return side.kind() == compat::Class::asset && side.by_text() && side.loaded->stored.text == *label;
        }
        return side.kind() == compat::Class::asset && !side.by_text() &&
               side.loaded->value == std::get<double>(setting);
    }

    bool fill(std::size_t field, const Side& older, const Side& t) {
        if (compat::same(older, t) && is_stated(t)) return false;
        const auto wanted = nearest_stored(older, t, writing_.hearing);
        if (!wanted || (t.loaded->in_image && same_stored(t.loaded->read, *wanted)) || !put(field, t, *wanted))
            return false;
        note({Note::Kind::filled, t.field->field->id, 0});
        return true;
    }

    /// Notes what became of a parameter, once.
    void note(Note made) {
        const auto same = std::find_if(notes_.begin(), notes_.end(), [&](const Note& other) {
            return other.kind == made.kind && other.parameter == made.parameter;
        });
        if (same == notes_.end()) notes_.push_back(std::move(made));
    }

    bool lies_in_filled(int group) const {
        for (; group >= 0; group = taker_.groups()[static_cast<std::size_t>(group)].parent) {
            if (filled_.contains(group)) return true;
        }
        return false;
    }

    /// N has nothing for it. What stands there is something else, or nobody's: T gets what changes nothing.
    bool write_unmeant(std::size_t field, const Side& t) {
        compat::Judgement judgement;
        const bool differs =
            compat::difference_from_neutral(t, true, writing_.hearing, judgement) != compat::Weight::none;
        const bool is_fresh = t.loaded->in_image && lies_in_fresh(t);
        // What is as in the preset itself or points at nothing is as good as not there, as is a block that is off.
        if (differs && t.loaded->in_image) {
            if (const auto base = stored_as_base(t)) return put(field, t, *base);
            const bool points = t.field->parameter->kind == schema::Kind::reference;
            if (const auto nothing = points ? stored_nothing(t) : std::nullopt) return put(field, t, *nothing);
        }
        if (t.meaning().neutral || !t.meaning().neutral_meaning.empty() || t.meaning().neutral_text) {
            if (!differs) return false;
            if (const auto neutral = neutral_of(t)) return put(field, t, *neutral);
            return false;
        }
        const auto off =
            differs && t.loaded->in_image && t.field->is_switch_of_block ? stored_setting(0.0, t) : std::nullopt;
        if (off && put(field, t, *off)) return true;
        const bool is_foreign = compat::displaced_by(*links_[field], t, saved_) != nullptr;
        const Stored& own = t.meaning().default_stored;
        if (!(is_foreign || is_fresh) || own.kind == Stored::Kind::none || same_stored(own, t.loaded->stored))
            return false;
        return put(field, t, own);
    }

    static std::optional<Stored> neutral_of(const Side& t) {
        return t.meaning().meaning->neutral ? stored_setting(*t.meaning().meaning->neutral, t) : std::nullopt;
    }

    bool lies_in_fresh(const Side& t) const {
        const schema::Field& field = *t.field->field;
        if (field.anchor >= 0) return fresh_.contains(field.anchor);
        return dump::reach_of(storage_of(t)) > fresh_from_;
    }

    bool put(std::size_t field, const Side& t, const Stored& stored) {
        if (t.loaded->in_image && same_stored(t.loaded->read, stored)) return false;
        const schema::Field& own = *t.field->field;
        const bool was_there = own.anchor < 0 || edit().located().present(own.anchor);
        const std::size_t size = body_.size();
        ++writes_[field];
        const bool done = edit().put(own, t.loaded->read_index, stored);
        if (!done) {
            writes_[field] = most_writes;
            return false;
        }
        if (!was_there) fresh_.insert(own.anchor);
        const bool grew = own.anchor < 0 && body_.size() > size && layout_.notation == schema::Notation::bytes;
        if (grew) fresh_from_ = std::min(fresh_from_, size);
        changed_.insert(field);
        return true;
    }

    /// A group whose record T does not find, though N has it.
    bool add_group() {
        for (std::size_t field = 0; field < taker_.fields().size(); ++field) {
            const BoundField& bound = taker_.fields()[field];
            if (bound.group < 0 || there_.fields[field].exists || !side_saved(links_[field]).exists()) continue;
            for (int group = bound.group; group >= 0; group = taker_.groups()[static_cast<std::size_t>(group)].parent) {
                const auto& instance = taker_.instances().groups()[static_cast<std::size_t>(group)];
                const auto& described = taker_.release().groups[static_cast<std::size_t>(instance.group)];
                if (!described.tag || edit().located().present(instance.anchor)) continue;
                if (!tried_.insert(instance.anchor).second || !edit().add(instance.anchor)) continue;
                fresh_.insert(instance.anchor);
                if (described.version_at_most)
                    static_cast<void>(edit().set_version(instance.anchor, *described.version_at_most));
                return true;
            }
        }
        return false;
    }

    /// A group whose record says a version that T does not take.
    bool lower_version() {
        bool lowered = false;
        for (const schema::GroupInstance& instance : taker_.instances().groups()) {
            const auto& described = taker_.release().groups[static_cast<std::size_t>(instance.group)];
            if (!described.version_at_most || instance.anchor < 0) continue;
            const auto version = edit().located().version_of(instance.anchor);
            if (!version || *version <= *described.version_at_most) continue;
            if (!edit().set_version(instance.anchor, *described.version_at_most)) continue;
            lowered = true;
            ++records_;
        }
        return lowered;
    }

    const Writing& writing_;
    const CompiledRelease& taker_;
    const schema::Layout& layout_;
    const LoadedPreset& saved_;
    const compat::Assumptions& assumptions_;
    Bytes body_;
    std::vector<const Link*> links_;  // by field of T
    std::vector<int> writes_;
    LoadedPreset there_;
    bool last_wins_ = false;
    bool restart_ = false;
    std::set<std::size_t> changed_;
    std::size_t records_ = 0;  // otherwise changed
    std::set<int> filled_;     // groups of T that are taken from the older copy
    std::set<int> fresh_;      // anchors that were made
    std::set<int> tried_;
    std::size_t fresh_from_ = std::numeric_limits<std::size_t>::max();
    std::vector<Note> notes_;
};

}  // namespace

WrittenBody write_body(const Writing& writing, const LoadedPreset& saved, const compat::Assumptions& assumptions,
                       Bytes body) {
    return Writer(writing, saved, assumptions, std::move(body)).write();
}

}  // namespace downfit::refit
