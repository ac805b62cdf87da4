#include "compat/judge.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <utility>

namespace downfit::compat {
namespace {

Side side_of(const CompiledRelease& release, const LoadedPreset& preset, int field) {
    if (field < 0) return {};
    const auto at = static_cast<std::size_t>(field);
    return {&release, &release.fields()[at], &preset.fields[at]};
}

/// What a group instance costs of the budget, by its choice where that decides.
double cost_of(const CompiledRelease& release, const LoadedPreset& preset, std::size_t g) {
    const BoundGroup& group = release.groups()[g];
    if (!group.group->cost) return 0;
    const schema::Cost& cost = *group.group->cost;
    if (group.cost_field < 0) return cost.plain;
    const Loaded& choice = preset.fields[static_cast<std::size_t>(group.cost_field)];
    if (choice.choice == nullptr) return cost.plain;
    const auto found = cost.costs.find(choice.choice->label);
    return found == cost.costs.end() ? cost.plain : found->second;
}

/// Whether T reads any of the bits that N's own field was read from. Of records with the same number they may take
/// different ones.
bool reads_own_place(const Link& link, const Side& n, const Side& t) {
    if (n.loaded->record != t.loaded->record) return false;
    if (t.field->field->storage.notation != schema::Notation::bytes) return true;
    const auto& places = link.under[t.loaded->read_index].own_places;
    return std::find(places.begin(), places.end(), n.loaded->read_index) != places.end();
}

/// The ends of what a number may be.
std::array<Amount, 2> ends_of_range(const Side& side) {
    const schema::Unit unit = side.meaning().meaning->unit;
    return {amount_of(side.meaning().least, unit), amount_of(side.meaning().most, unit)};
}

/// The value of a number, or the ends of what it may be.
std::array<Amount, 2> ends_of(const Side& side) {
    if (!side.loaded->unknown()) return {side.amount(), side.amount()};
    return ends_of_range(side);
}

}  // namespace

std::string variant_among(const std::map<std::string, std::string>& facts) {
    const auto variant = facts.find("variant");
    return variant == facts.end() ? std::string() : variant->second;
}

const schema::Variant* variant_of(const schema::Release& release, const std::string& name) {
    for (const schema::Variant& variant : release.variants) {
        if (variant.name == name) return &variant;
    }
    return nullptr;
}

const PlacedField* displaced_by(const Link& link, const Side& loading, const LoadedPreset& saved) {
    if (!loading.loaded->in_image || loading.field->parameter->scope == schema::Scope::unit) return nullptr;
    for (const PlacedField& other : link.under[loading.loaded->read_index].others) {
        const Loaded& there = saved.fields[static_cast<std::size_t>(other.field)];
        if (there.exists && there.in_image && there.read_index == other.place) return &other;
    }
    return nullptr;
}

Judge::Judge(const ReleasePair& pair, const LoadedPreset& saved, const LoadedPreset& loading, const Hearing& hearing,
             const KnownAssets& assets, std::string variant, Bodies bodies)
    : pair_(pair),
      saved_(saved),
      loading_(loading),
      hearing_(hearing),
      assets_(assets),
      variant_(std::move(variant)),
      bodies_(bodies),
      saved_activity_(pair.saved(), saved),
      loading_activity_(pair.loading(), loading) {
    find_beyond_limits();
}

void Judge::find_beyond_limits() {
    if (bodies_ != Bodies::one) return;
    const schema::Variant* named = variant_of(pair_.loading().release(), variant_);
    if (named == nullptr || named->limits.empty()) return;
    const auto& groups = pair_.loading().groups();
    beyond_limit_.assign(groups.size(), false);
    std::map<std::pair<std::string, int>, int> working;  // by path and parent
    for (std::size_t g = 0; g < groups.size(); ++g) {
        if (groups[g].parent >= 0 && beyond_limit_[static_cast<std::size_t>(groups[g].parent)]) {
            beyond_limit_[g] = true;
            continue;
        }
        const auto limit = named->limits.find(groups[g].group->path);
        if (limit == named->limits.end() || loading_activity_.of_group(g) == Activity::dormant) continue;
        if (!is_there(pair_.loading(), loading_, static_cast<int>(g))) continue;
        beyond_limit_[g] = ++working[{groups[g].group->path, groups[g].parent}] > limit->second;
    }
}

bool Judge::beyond_limit(int field) const {
    if (beyond_limit_.empty()) return false;
    const int group = pair_.loading().fields()[static_cast<std::size_t>(field)].group;
    return group >= 0 && beyond_limit_[static_cast<std::size_t>(group)];
}

std::vector<std::string> Judge::limited_groups() const {
    std::vector<std::string> names;
    for (std::size_t g = 0; g < beyond_limit_.size(); ++g) {
        const int parent = pair_.loading().groups()[g].parent;
        const bool with_parent = parent >= 0 && beyond_limit_[static_cast<std::size_t>(parent)];
        if (beyond_limit_[g] && !with_parent) names.push_back(pair_.loading().instances().groups()[g].id);
    }
    return names;
}

double Judge::cost() const {
    double most = 0;
    for (std::size_t scene = 0; scene < loading_activity_.scene_count(); ++scene) {
        double sum = 0;
        for (std::size_t g = 0; g < pair_.loading().groups().size(); ++g) {
            const double cost = cost_of(pair_.loading(), loading_, g);
            if (cost == 0 || !loading_activity_.on_in_scene(pair_.loading(), g, scene)) continue;
            if (is_there(pair_.loading(), loading_, static_cast<int>(g))) sum += cost;
        }
        most = std::max(most, sum);
    }
    return most;
}

Judgement Judge::judge(const Link& link) const {
    Judgement judgement;
    const Side n = side_of(pair_.saved(), saved_, link.saved);
    Side t = side_of(pair_.loading(), loading_, link.loading);
    if (t.exists() && beyond_limit(link.loading)) t = {};
    if (bodies_ != Bodies::one && (is_nowhere(n) || is_nowhere(t))) return judgement;  // nothing to compare it with
    if (n.exists()) judgement.activity = saved_activity_.of_field(static_cast<std::size_t>(link.saved));
    if (t.exists()) {
        judgement.activity =
            std::max(judgement.activity, loading_activity_.of_field(static_cast<std::size_t>(link.loading)));
    }
    if (n.exists() && t.field != nullptr && !t.exists() && t.field->parameter->scope == schema::Scope::unit) {
        // The unit's own setting stays in force, and nobody said what it is.
        judge_unsure(n, t, judgement);
        finish(n, judgement);
    } else if (n.exists() && t.exists()) {
        judge_both(link, n, t, judgement);
        finish(n, judgement);
    } else if (n.exists() || t.exists()) {
        judge_alone(link, n.exists() ? n : t, !n.exists(), judgement);
        finish(n.exists() ? n : t, judgement);
    }
    return judgement;
}

void Judge::judge_both(const Link& link, const Side& n, const Side& t, Judgement& judgement) const {
    const bool equal = same(n, t);
    // Both keep a number that neither can play: nothing changes.
    const bool alike = equal && n.loaded->act == Act::kept_out && t.loaded->act == Act::kept_out;
    const bool of_unit = t.field->parameter->scope == schema::Scope::unit;
    const bool apart = bodies_ != Bodies::one;
    const bool on_filler =
        !apart && !pair_.rewritten() && t.loaded->in_image && !equal && !of_unit && !reads_own_place(link, n, t);
    if ((!apart && displaced_by(link, t, saved_) != nullptr) || on_filler) {
        judgement.outcome = Outcome::displaced;
        judgement.worst = difference(n, t, hearing_, judgement);
    } else if (n.loaded->unknown() || (!n.loaded->known && !(equal && !t.loaded->known))) {
        judge_unsure(n, t, judgement);
        return;
    } else if (t.loaded->unknown()) {
        judge_unsure(n, t, judgement);
        return;
    } else if (n.loaded->act == Act::refused) {
        // What N has instead, nobody said; where T refuses it too, nothing changes.
        if (t.loaded->act != Act::refused) judge_unsure(n, t, judgement);
        return;
    } else if (t.loaded->act == Act::refused) {
        judgement.outcome = Outcome::lost;
        judgement.worst = difference_from_neutral(n, false, hearing_, judgement);
    } else if (!alike && (!equal || t.loaded->act == Act::kept_out)) {
        judgement.outcome = outcome_of(n, t);
        judgement.put =
            pair_.rewritten() && t.loaded->act == Act::nothing && !of_unit && !(n.loaded->read == t.loaded->read);
        judgement.worst = difference(n, t, hearing_, judgement);
        if (judgement.outcome == Outcome::out_of_range) {
            judgement.worst = std::max(judgement.worst, n.is_model() ? Weight::severe : Weight::audible);
        }
        judge_travels(link, n, t, judgement);
    } else if (unfilled(t) && (!apart || (bodies_ == Bodies::two && !unfilled(n)))) {
        judgement.outcome = Outcome::unfilled;
        judgement.worst = Weight::severe;
    } else {
        judge_revoicing(n, judgement);
        judge_travels(link, n, t, judgement);
        judge_use(link, n, t, judgement);
    }
    judgement.best = judgement.worst;
}

void Judge::judge_alone(const Link& link, const Side& side, bool on_loading, Judgement& judgement) const {
    judgement.outcome = Outcome::lost;
    if (on_loading) {
        const bool displaced = bodies_ == Bodies::one && displaced_by(link, side, saved_) != nullptr;
        judgement.outcome = displaced ? Outcome::displaced : Outcome::added;
        if (side.loaded->unknown()) judgement.outcome = Outcome::unsure;
    }
    judgement.worst = difference_from_neutral(side, on_loading, hearing_, judgement);
    if (judgement.outcome == Outcome::unsure) {
        judgement.worst = side.is_model() ? Weight::severe : Weight::audible;
        return;
    }
    if (on_loading && side.loaded->act == Act::kept_out) judgement.worst = std::max(judgement.worst, Weight::audible);
    judgement.best = judgement.worst;
}

Outcome Judge::outcome_of(const Side& n, const Side& t) const {
    if (t.field->parameter->scope == schema::Scope::unit) return Outcome::reset;  // the unit's own setting stays
    switch (t.loaded->act) {
        case Act::clamped: return Outcome::clamped;
        case Act::reset:
        case Act::defaulted: return Outcome::reset;
        case Act::kept_out: return Outcome::out_of_range;
        case Act::rounded: return Outcome::rounded;
        case Act::wrapped: return Outcome::rescaled;
        case Act::cut: return Outcome::cut;
        case Act::nothing:
        case Act::held:
        case Act::refused: break;
    }
    if (n.kind() == Class::text && t.kind() == Class::text) return Outcome::cut;
    if (t.field->is_switch_of_block && n.kind() == Class::on_off && t.kind() == Class::on_off) {
        return t.loaded->value != 0 ? Outcome::woken : Outcome::swapped;
    }
    const bool numbers = n.kind() == Class::number && t.kind() == Class::number && !n.as_base() && !t.as_base();
    if (numbers && pair_.rewritten() && n.amount().unit == t.amount().unit) {
        const auto [least, most] = ends_of_range(t);
        const bool beyond = n.amount().value < least.value || n.amount().value > most.value;
        return beyond && t.meaning().bounded ? Outcome::clamped : Outcome::rounded;
    }
    if (numbers) return Outcome::rescaled;
    return Outcome::swapped;
}

bool Judge::unfilled(const Side& t) const {
    if (t.kind() != Class::asset || t.at_nothing()) return false;
    const schema::AssetKind* asset = t.release->release().asset(t.field->parameter->refers_to);
    const auto known = assets_.find(asset->name);
    if (t.by_text()) {
        const bool from_factory = std::any_of(asset->contents.begin(), asset->contents.end(),
                                              [&](const auto& slot) { return slot.second == t.loaded->stored.text; });
        return known != assets_.end() && !from_factory && !known->second.names.contains(t.loaded->stored.text);
    }
    const int slot = static_cast<int>(std::lround(t.loaded->value));
    if (asset->count > 0 && (slot < asset->first || slot >= asset->first + asset->count)) return true;
    return known != assets_.end() && !known->second.slots.contains(slot) && !asset->contents.contains(slot);
}

void Judge::judge_revoicing(const Side& n, Judgement& judgement) const {
    if (n.loaded->choice == nullptr) return;
    const Revoicing* revoicing = pair_.revoicing(n.field->parameter->meaning, n.loaded->choice->meaning);
    if (revoicing == nullptr) return;
    judgement.outcome = Outcome::revoiced;
    judgement.worst = revoicing->weight;
    if (!revoicing->level_change_db) {
        judgement.caution = CautionKind::level_unknown;
    } else if (*revoicing->level_change_db >= hearing_.louder_db) {
        judgement.caution = CautionKind::louder;
        judgement.rise_db = *revoicing->level_change_db;
        judgement.worst = Weight::severe;
    }
}

void Judge::judge_travels(const Link& link, const Side& n, const Side& t, Judgement& judgement) const {
    if (n.kind() != Class::number || t.kind() != Class::number) return;
    const auto before = saved_activity_.travels_of(static_cast<std::size_t>(link.saved));
    const auto after = loading_activity_.travels_of(static_cast<std::size_t>(link.loading));
    for (std::size_t i = 0; i < std::min(before.size(), after.size()); ++i) {
        const std::pair<double, double> ends[] = {{before[i].heel, after[i].heel}, {before[i].toe, after[i].toe}};
        for (const auto& [from, to] : ends) {
            const Amount meant = amount_of(value_at_share(n, from), n.meaning().meaning->unit);
            const Amount there = amount_of(value_at_share(t, to), t.meaning().meaning->unit);
            if (same_amount(meant, there)) continue;
            if (judgement.outcome == Outcome::kept) {
                judgement.outcome = Outcome::rescaled;
                judgement.at_travel_end = true;
            }
            judgement.worst = std::max(judgement.worst, number_difference(n, meant, there, hearing_, judgement));
        }
    }
}

void Judge::judge_use(const Link& link, const Side& n, const Side& t, Judgement& judgement) const {
    if (judgement.outcome != Outcome::kept) return;
    bool woken = false;
    bool silenced = false;
    const auto& groups = pair_.saved().groups();
    for (std::size_t g = 0; link.other_state && g < groups.size(); ++g) {
        const auto kind = groups[g].group->kind;
        if (kind != schema::GroupKind::block && kind != schema::GroupKind::alternate) continue;
        const auto partner = pair_.loading().instances().find_group_key(pair_.saved().instances().groups()[g].key);
        if (!partner) continue;
        const bool before = saved_activity_.of_group(g) == Activity::sounding;
        const bool after = loading_activity_.of_group(*partner) == Activity::sounding;
        woken = woken || (!before && after);
        silenced = silenced || (before && !after);
    }
    // Both are equal: as in the preset itself on both sides, or on neither.
    const bool at_rest = n.as_base() || (n.at_nothing() && t.at_nothing());
    if (!woken && !silenced && !(link.other_target && !at_rest)) return;
    judgement.outcome = woken ? Outcome::woken : Outcome::swapped;
    judgement.worst = std::max(judgement.worst, Weight::audible);
    judgement.other_use = true;
}

void Judge::judge_unsure(const Side& n, const Side& t, Judgement& judgement) const {
    judgement.outcome = Outcome::unsure;
    const bool numbers = n.kind() == Class::number && t.kind() == Class::number;
    if (!numbers || !(n.loaded->unknown() || t.loaded->unknown())) {
        judgement.worst = n.is_model() ? Weight::severe : n.kind() == Class::text ? Weight::slight : Weight::audible;
        return;
    }
    // What the unit held before may be anything that its range allows.
    for (const Amount& before : ends_of(n)) {
        for (const Amount& after : ends_of(t)) {
            judgement.worst = std::max(judgement.worst, number_difference(n, before, after, hearing_, judgement));
        }
    }
}

void Judge::finish(const Side& side, Judgement& judgement) const {
    if (side.is_cosmetic() || judgement.outcome == Outcome::cut) {
        judgement.worst = std::min(judgement.worst, Weight::slight);
        judgement.best = std::min(judgement.best, Weight::slight);
        judgement.caution.reset();
    }
    if (judgement.activity == Activity::dormant) {
        judgement.best = judgement.worst = Weight::none;
        judgement.caution.reset();
        return;
    }
    const bool heard = !side.is_cosmetic();
    const bool differs = heard && judgement.worst != Weight::none;
    const bool unknown_level = (judgement.outcome == Outcome::swapped && differs) ||
                               (judgement.outcome == Outcome::out_of_range && heard) ||
                               (side.is_model() && differs &&
                                (judgement.outcome == Outcome::reset || judgement.outcome == Outcome::clamped ||
                                 judgement.outcome == Outcome::displaced || judgement.outcome == Outcome::unsure));
    if (unknown_level && !judgement.caution) judgement.caution = CautionKind::level_unknown;
    if (judgement.activity == Activity::standby) {
        judgement.worst = std::min(judgement.worst, Weight::slight);
        judgement.best = std::min(judgement.best, Weight::slight);
    }
}

std::vector<int> Judge::lost_protection() const {
    std::vector<int> lost;
    const auto& groups = pair_.saved().groups();
    for (std::size_t g = 0; g < groups.size(); ++g) {
        if (groups[g].group->role != "cabinet" && groups[g].group->role != "limiter") continue;
        if (saved_activity_.of_group(g) <= Activity::dormant || !is_there(pair_.saved(), saved_, static_cast<int>(g)))
            continue;
        const auto partner = pair_.loading().instances().find_group_key(pair_.saved().instances().groups()[g].key);
        // Off is lost where it sounded, though somebody might switch it on.
        const Activity needed =
            saved_activity_.of_group(g) == Activity::sounding ? Activity::sounding : Activity::standby;
        const bool kept = partner && loading_activity_.of_group(*partner) >= needed &&
                          (beyond_limit_.empty() || !beyond_limit_[*partner]) &&
                          is_there(pair_.loading(), loading_, static_cast<int>(*partner));
        if (!kept) lost.push_back(static_cast<int>(g));
    }
    return lost;
}

}  // namespace downfit::compat
