#include "compat/pair.h"

#include <algorithm>
#include <compare>
#include <utility>

namespace downfit::compat {
namespace {

/// All bits of a storage as numbers 8 * byte + bit; of a text all bits of its bytes.
template <class Visit>
void each_bit(const schema::Storage& storage, Visit visit) {
    if (storage.notation != schema::Notation::bytes) {
        visit(0);  // by name a parameter has a text of its own
        return;
    }
    if (storage.coding == schema::Coding::text) {
        const auto first = static_cast<std::size_t>(storage.text_at) * 8;
        for (std::size_t bit = first; bit < first + storage.text_length * 8; ++bit) visit(bit);
        return;
    }
    for (const schema::BitPiece& piece : storage.pieces) {
        const auto first = static_cast<std::size_t>(piece.byte) * 8 + piece.bit;
        for (std::size_t bit = first; bit < first + piece.width; ++bit) visit(bit);
    }
}

/// The same for a value found by name: its path, and what tells it from others there.
/// The same path in one step or in two gives the same.
std::string name_key(const schema::NamedPick& pick, int nth) {
    if (pick.nowhere) return "nowhere";
    std::string key = pick.place.path;
    if (pick.place.notation == schema::Notation::xml) key.insert(0, "/");
    if (!pick.key.empty()) key += '=' + std::to_string(static_cast<int>(pick.place.by)) + pick.place.by_path + pick.key;
    if (!pick.single) key += ':' + std::to_string(nth);
    return key;
}

/// The record that places count from, as tags and numbers from the body inwards: equal for the same record on both
/// releases.
std::string anchor_key(const schema::Instances& instances, int anchor) {
    std::string key;
    for (; anchor >= 0; anchor = instances.anchors()[static_cast<std::size_t>(anchor)].parent) {
        const schema::Anchor& record = instances.anchors()[static_cast<std::size_t>(anchor)];
        std::string own = record.pick ? name_key(*record.pick, record.nth)
                                      : std::to_string(record.tag) + ':' + std::to_string(record.nth) + '/';
        key.insert(0, own);
    }
    return key;
}

/// Visits all places of a field: its reads, then the plain one.
template <class Visit>
void each_place(const schema::Field& field, Visit visit) {
    for (std::size_t i = 0; i < field.reads.size(); ++i) visit(i, field.reads[i]);
    visit(field.reads.size(), field.storage);
}

/// Which fields keep something in each bit of a body, or of a record's value.
class Owners {
public:
    explicit Owners(const CompiledRelease& release) {
        for (std::size_t i = 0; i < release.fields().size(); ++i) {
            const BoundField& field = release.fields()[i];
            if (field.parameter->scope == schema::Scope::unit) continue;
            auto& run = runs_[anchor_key(release.instances(), field.field->anchor)];
            each_place(*field.field, [&](std::size_t place, const schema::Storage& storage) {
                each_bit(storage, [&](std::size_t bit) { run.push_back({bit, placed_.size()}); });
                placed_.push_back({static_cast<int>(i), place});
            });
        }
        for (auto& run : runs_) std::sort(run.second.begin(), run.second.end());
        seen_.resize(placed_.size(), 0);
    }

    /// What stands under a place; `own` is the linked field.
    [[nodiscard]] Underneath under(const std::string& anchor, const schema::Storage& storage, int own) {
        Underneath found;
        const auto run = runs_.find(anchor);
        if (run == runs_.end()) return found;
        ++asked_;
        each_bit(storage, [&](std::size_t bit) {
            auto at = std::lower_bound(run->second.begin(), run->second.end(), OwnedBit{bit, 0});
            for (; at != run->second.end() && at->bit == bit; ++at) {
                if (std::exchange(seen_[at->owner], asked_) == asked_) continue;
                const PlacedField& owner = placed_[at->owner];
                if (owner.field == own) {
                    found.own_places.push_back(owner.place);
                } else {
                    found.others.push_back(owner);
                }
            }
        });
        return found;
    }

private:
    struct OwnedBit {
        std::size_t bit = 0;
        std::size_t owner = 0;  // index into placed_

        auto operator<=>(const OwnedBit&) const = default;  // NOLINT(modernize-use-nullptr): no pointer is there
    };

    std::vector<PlacedField> placed_;
    std::map<std::string, std::vector<OwnedBit>> runs_;  // rising
    std::vector<std::size_t> seen_;                      // for each of placed_: the last question that met it
    std::size_t asked_ = 0;
};

std::vector<bool> groups_found(const CompiledRelease& of, const CompiledRelease& in) {
    std::vector<bool> found;
    for (const schema::GroupInstance& group : of.instances().groups()) {
        found.push_back(in.instances().find_group_key(group.key).has_value());
    }
    return found;
}

}  // namespace

ReleasePair::ReleasePair(const CompiledRelease& saved, const CompiledRelease& loading, const schema::Device& device,
                         bool rewritten)
    : saved_(saved), loading_(loading), rewritten_(rewritten) {
    link_fields();
    find_other_uses();
    find_revoicings(device);
    saved_group_on_loading_ = groups_found(saved, loading);
    loading_group_on_saved_ = groups_found(loading, saved);
}

void ReleasePair::link_fields() {
    Owners owners(saved_);
    std::vector<bool> linked(loading_.fields().size(), false);
    const auto complete = [&](Link link) {
        if (link.loading >= 0) {
            const schema::Field& field = *loading_.fields()[static_cast<std::size_t>(link.loading)].field;
            const std::string anchor = anchor_key(loading_.instances(), field.anchor);
            each_place(field, [&](std::size_t, const schema::Storage& storage) {
                link.under.push_back(rewritten_ ? Underneath{} : owners.under(anchor, storage, link.saved));
            });
        }
        links_.push_back(std::move(link));
    };
    for (std::size_t i = 0; i < saved_.fields().size(); ++i) {
        if (saved_.fields()[i].parameter->scope == schema::Scope::unit) continue;
        Link link;
        link.saved = static_cast<int>(i);
        if (const auto partner = loading_.instances().find_key(saved_.fields()[i].field->key)) {
            link.loading = static_cast<int>(*partner);
            linked[*partner] = true;
        }
        complete(std::move(link));
    }
    for (std::size_t i = 0; i < loading_.fields().size(); ++i) {
        if (linked[i] || loading_.fields()[i].parameter->scope == schema::Scope::unit) continue;
        Link link;
        link.loading = static_cast<int>(i);
        complete(std::move(link));
    }
}

void ReleasePair::find_other_uses() {
    std::vector<Link*> of_saved(saved_.fields().size()), of_loading(loading_.fields().size());
    for (Link& link : links_) {
        if (link.saved >= 0) of_saved[static_cast<std::size_t>(link.saved)] = &link;
        if (link.loading >= 0) of_loading[static_cast<std::size_t>(link.loading)] = &link;
    }
    const auto compare = [&](int saved, int loading, bool Link::*other) {
        Link* const left = saved < 0 ? nullptr : of_saved[static_cast<std::size_t>(saved)];
        Link* const right = loading < 0 ? nullptr : of_loading[static_cast<std::size_t>(loading)];
        if (left == right) return;
        for (Link* const link : {left, right}) {
            if (link != nullptr) link->*other = true;
        }
    };
    for (std::size_t g = 0; g < saved_.groups().size(); ++g) {
        const auto partner = loading_.instances().find_group_key(saved_.instances().groups()[g].key);
        if (!partner) continue;
        const BoundGroup& saved = saved_.groups()[g];
        const BoundGroup& loading = loading_.groups()[*partner];
        compare(saved.on_field, loading.on_field, &Link::other_state);
        compare(saved.selector_field, loading.selector_field, &Link::other_state);
        compare(saved.start_field, loading.start_field, &Link::other_state);
        compare(saved.reference_field, loading.reference_field, &Link::other_target);
    }
    for (Link& link : links_) {
        if (link.saved < 0 || link.loading < 0) continue;
        const int saved = saved_.fields()[static_cast<std::size_t>(link.saved)].overrides;
        const int loading = loading_.fields()[static_cast<std::size_t>(link.loading)].overrides;
        const Link* const left = saved < 0 ? nullptr : of_saved[static_cast<std::size_t>(saved)];
        const Link* const right = loading < 0 ? nullptr : of_loading[static_cast<std::size_t>(loading)];
        if (left != right) link.other_target = true;
    }
}

void ReleasePair::find_revoicings(const schema::Device& device) {
    const std::size_t from = saved_.release().order;
    const std::size_t to = loading_.release().order;
    const bool down = from > to;
    for (std::size_t order = std::min(from, to) + 1; order <= std::max(from, to); ++order) {
        if (!device.releases[order].schema) continue;
        const schema::Release& release = *device.releases[order].schema;
        for (const schema::Revoiced& revoiced : release.revoiced) {
            const schema::Parameter* parameter = release.find(revoiced.parameter);
            if (parameter == nullptr || parameter->plain.choices == nullptr) continue;
            const schema::Choice* choice = parameter->plain.choices->find(revoiced.label);
            if (choice == nullptr) continue;
            auto [at, fresh] = revoicings_.try_emplace({parameter->meaning, choice->meaning});
            Revoicing& sum = at->second;
            const Weight weight = find_weight(revoiced.weight).value_or(Weight::slight);
            sum.weight = fresh ? weight : std::max(sum.weight, weight);
            // One change of unknown size makes the whole way unknown.
            const double change = revoiced.level_change.value_or(0.0) * (down ? -1.0 : 1.0);
            if (!revoiced.level_change) {
                sum.level_change_db.reset();
            } else if (fresh) {
                sum.level_change_db = change;
            } else if (sum.level_change_db) {
                *sum.level_change_db += change;
            }
        }
    }
}

const Revoicing* ReleasePair::revoicing(const std::string& parameter, const std::string& model) const {
    if (revoicings_.empty()) return nullptr;
    const auto found = revoicings_.find({parameter, model});
    return found == revoicings_.end() ? nullptr : &found->second;
}

}  // namespace downfit::compat
