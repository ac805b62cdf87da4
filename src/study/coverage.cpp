#include "study/coverage.h"

#include <algorithm>
#include <map>
#include <set>
#include <string_view>
#include <tuple>
#include <utility>

#include "base/text.h"
#include "dump/locate.h"
#include "dump/named_values.h"
#include "dump/tree.h"

namespace downfit::study {

namespace {

constexpr std::uint8_t all_bits = 0xFF;

/// One place while presets are still coming.
struct Watched {
    std::uint8_t first = 0, differing = 0, least = 0, most = 0;
    std::uint8_t explained = all_bits;
    dump::Claim by = dump::Claim::changing;  ///< the weakest of all presets
    std::size_t presets = 0;

    void see(std::uint8_t byte, const dump::ClaimedByte& claim) {
        if (presets++ == 0) first = least = most = byte;
        differing |= static_cast<std::uint8_t>(byte ^ first);
        least = std::min(least, byte);
        most = std::max(most, byte);
        explained &= claim.bits;
        by = std::min(by, claim.by);
    }

    [[nodiscard]] Look look(bool comes_and_goes) const {
        using dump::Claim;
        if (by == Claim::nobody) return differing != 0 || comes_and_goes ? Look::unknown_varies : Look::unknown;
        if (by != Claim::parameter) return Look::framing;
        if ((differing & ~explained) != 0) return Look::partly;
        return differing != 0 ? Look::varying : Look::same;
    }
};

/// One parameter while presets are still coming.
struct Held {
    std::size_t presets = 0;
    std::size_t last = static_cast<std::size_t>(-1);  // number of the preset that was counted last
    bool ever_off_default = false;
    std::set<std::string> values;  // two are enough
    bool any_beyond = false;
    std::size_t beyond_last = static_cast<std::size_t>(-1);
    double least = 0, most = 0;
    Seen beyond;
};

/// A number that the release's own description of the parameter does not know.
bool is_unknown_choice(const schema::Parameter& parameter, const dump::Leaf& leaf) {
    return parameter.plain.choices && leaf.stored.kind == dump::Stored::Kind::whole && leaf.value == "?";
}

std::string shown_value(const dump::Leaf& leaf) {
    if (leaf.value != "?") return leaf.value;
    std::string text = "number ";
    append_number(text, leaf.stored.whole);
    return text;
}

/// Which characters of a path stand in quotes: a text that an attribute is compared with.
std::vector<bool> quoted_in(std::string_view path) {
    std::vector<bool> quoted(path.size(), false);
    char quote = 0;
    for (std::size_t i = 0; i < path.size(); ++i) {
        const bool opens = quote == 0 && i > 0 && path[i - 1] == '=' && (path[i] == '\'' || path[i] == '"');
        quoted[i] = quote != 0;
        if (opens) {
            quote = path[i];
        } else if (path[i] == quote) {
            quote = 0;
        }
    }
    return quoted;
}

/// Where the last step of a path begins, its slash included.
std::size_t last_step(std::string_view path) {
    const std::vector<bool> quoted = quoted_in(path);
    std::size_t last = path.size();
    while (last > 0 && (path[last - 1] != '/' || quoted[last - 1])) --last;
    return last == 0 ? 0 : last - 1;
}

std::size_t depth_of(std::string path) {
    std::size_t depth = 0;
    for (; !path.empty(); path.resize(last_step(path))) ++depth;
    return depth;
}

/// A path without the numbers of elements ("drive[2]/p[@id='3']/@v" as "drive/p[@id='3']/@v").
std::string unnumbered(const std::string& path) {
    const std::vector<bool> quoted = quoted_in(path);
    std::string plain;
    for (std::size_t i = 0; i < path.size(); ++i) {
        const bool opens = path[i] == '[' && !quoted[i];
        const std::size_t end = opens ? path.find_first_not_of("0123456789", i + 1) : std::string::npos;
        if (end != std::string::npos && path[end] == ']') {
            i = end;
        } else {
            plain += path[i];
        }
    }
    return plain;
}

/// The paths of all values of one preset and of all that they stand in.
using Standing = std::set<std::string>;

void add_to(Standing& standing, const std::string& path) {
    for (std::string at = unnumbered(path); !at.empty() && standing.insert(at).second;) at.resize(last_step(at));
}

/// Whether a preset leaves out a value, or something around it that nobody takes. Where it does not have one of the
/// outermost `known` steps, which the release takes, there is nothing to leave out.
bool is_missed(const std::string& path, std::size_t known, const Standing& preset) {
    std::string missing = unnumbered(path);
    if (preset.contains(missing)) return false;
    for (;;) {
        const std::string around = missing.substr(0, last_step(missing));
        if (around.empty() || preset.contains(around)) break;
        missing = around;
    }
    return depth_of(missing) > known;
}

/// The presets of one release in one layout.
class Watch {
public:
    Watch(const schema::Instances& instances, const schema::Device& device, std::size_t layout, bool settings)
        : instances_(instances), device_(device), layout_(layout), settings_(settings) {
        held_.resize(instances.release().parameters.size());
    }

    void see(const dump::Dump& dump, const dump::Entry& entry, bool values) {
        const schema::Layout& layout = instances_.release().layouts[layout_];
        if (layout.notation != schema::Notation::bytes) {
            named_.push_back(&entry);
            if (values) see_values(dump, entry);
            ++presets_;
            return;
        }
        const std::vector<dump::ClaimedByte> claims =
            dump::claim_bytes(&instances_, layout, &device_.framings[layout.framing], entry.body);
        std::vector<Place> places = places_of(&instances_, layout, entry.body);
        for (std::size_t i = 0; i < places.size(); ++i) {
            if (claims[i].by != dump::Claim::nobody) ++explained_;
            watched_[std::move(places[i])].see(entry.body[i], claims[i]);
        }
        body_bytes_ += entry.body.size();
        if (values) see_values(dump, entry);
        ++presets_;
    }

    [[nodiscard]] Covered told(bool values) const {
        Covered covered;
        covered.release = instances_.release().order;
        covered.layout = layout_;
        covered.presets = presets_;
        covered.body_bytes = body_bytes_;
        covered.explained_bytes = explained_;
        for (const auto& [place, seen] : watched_) {
            covered.bytes.push_back({place, seen.look(comes_and_goes(place, seen)), seen.explained, seen.differing,
                                     seen.least, seen.most, seen.presets});
        }
        if (!named_.empty()) covered.names_seen = see_names();
        name_records(covered);
        for (std::size_t p = 0; values && p < held_.size(); ++p) tell_values(p, covered);
        return covered;
    }

private:
    void see_values(const dump::Dump& dump, const dump::Entry& entry) {
        for (const dump::Leaf& leaf :
             dump::decode_tree(instances_, entry.body, instances_.release().order, &device_, layout_)) {
            const schema::Field& field = instances_.fields()[leaf.field];
            const schema::Parameter& parameter = instances_.parameter(field);
            if ((parameter.scope == schema::Scope::unit) != settings_) continue;
            if (!leaf.exists || leaf.stored.kind == dump::Stored::Kind::none) continue;
            Held& held = held_[static_cast<std::size_t>(field.parameter)];
            if (held.last != presets_) ++held.presets;
            held.last = presets_;
            if (!leaf.at_default) held.ever_off_default = true;
            if (held.values.size() < 2) held.values.insert(leaf.value);
            if (leaf.beyond_range || is_unknown_choice(parameter, leaf)) see_beyond(dump, entry, leaf, held);
        }
    }

    /// What stands in the presets by name, and how much of it the release takes.
    [[nodiscard]] SeenNames see_names() const {
        const schema::Layout& layout = instances_.release().layouts[layout_];
        dump::NamedValues reader(layout);
        for (const dump::Entry* entry : named_) reader.learn(entry->body);
        SeenNames seen;
        std::set<std::string> paths;
        std::vector<Standing> standing(named_.size());
        std::map<std::string, std::pair<SeenValue, std::size_t>> unexplained;  // with how many outer steps are taken
        for (std::size_t i = 0; i < named_.size(); ++i) {
            const dump::Entry* entry = named_[i];
            dump::NamedBody body(layout.notation, entry->body);
            const dump::Located& located = body.located(instances_, layout);
            for (const dump::NamedValue& value : reader.values_of(entry->body)) {
                if (value.aside) continue;
                ++seen.values;
                paths.insert(value.path);
                add_to(standing[i], value.path);
                const auto nobody =
                    std::find_if(located.unknown().begin(), located.unknown().end(), [&](const dump::Record& record) {
                        return value.span.offset >= record.head.offset &&
                               value.span.offset < record.head.offset + std::max<std::size_t>(record.head.length, 1);
                    });
                if (nobody == located.unknown().end()) {
                    ++seen.explained;
                    continue;
                }
                auto& [one, known] = unexplained[value.path];
                if (one.presets++ == 0) one = {value.path, value.raw, 1, false};
                one.differs = one.differs || one.text != value.raw;
                known = std::max(known, depth_of(body.path_at(nobody->head.offset)) - 1);
            }
        }
        seen.paths = paths.size();
        for (auto& [path, told] : unexplained) {
            auto& [one, known] = told;
            const bool is_null = layout.notation == schema::Notation::json && one.text == "null";  // as if left out
            const std::string& where = one.path;
            const std::size_t depth = known;
            const bool differs = std::any_of(standing.begin(), standing.end(),
                                             [&](const Standing& preset) { return is_missed(where, depth, preset); });
            one.differs = one.differs || (!is_null && differs);
            seen.unexplained.push_back(std::move(one));
        }
        return seen;
    }

    void see_beyond(const dump::Dump& dump, const dump::Entry& entry, const dump::Leaf& leaf, Held& held) {
        const double number = leaf.stored.number();
        if (!held.any_beyond) {
            held.beyond.field = instances_.fields()[leaf.field].id;
            held.beyond.file = dump.file;
            held.beyond.slot = dump::shown_slot(device_, entry);
            held.beyond.expected = leaf.beyond_range ? leaf.range : "one of the choices";
        }
        if (!held.any_beyond || number < held.least) {
            held.least = number;
            held.beyond.least = shown_value(leaf);
        }
        if (!held.any_beyond || number > held.most) {
            held.most = number;
            held.beyond.most = shown_value(leaf);
        }
        held.any_beyond = true;
        if (held.beyond_last != presets_) ++held.beyond.presets;
        held.beyond_last = presets_;
    }

    /// Whether the place is in a record that only some presets have, and that no parameter or group takes: that it is
    /// there says something too.
    [[nodiscard]] bool comes_and_goes(const Place& place, const Watched& seen) const {
        if (seen.presets == presets_ || place.records.empty()) return false;
        const auto head = watched_.find({place.records, Place::Part::head, 0});
        return head != watched_.end() && head->second.by == dump::Claim::nobody;
    }

    void name_records(Covered& covered) const {
        std::vector<std::vector<RecordStep>> paths;  // one an anchor; parents stand before
        for (const schema::Anchor& anchor : instances_.anchors()) {
            std::vector<RecordStep> path;
            if (anchor.parent >= 0) path = paths[static_cast<std::size_t>(anchor.parent)];
            path.push_back({anchor.tag, anchor.nth});
            if (anchor.group >= 0) covered.names[path] = instances_.groups()[static_cast<std::size_t>(anchor.group)].id;
            paths.push_back(std::move(path));
        }
        for (const schema::Field& field : instances_.fields()) {
            if (field.anchor >= 0) covered.names.try_emplace(paths[static_cast<std::size_t>(field.anchor)], field.id);
        }
    }

    void tell_values(std::size_t index, Covered& covered) const {
        const schema::Parameter& parameter = instances_.release().parameters[index];
        if ((parameter.scope == schema::Scope::unit) != settings_) return;
        const Held& held = held_[index];
        if (held.any_beyond) {
            covered.beyond.push_back(held.beyond);
            covered.beyond.back().parameter = parameter.id;
        }
        const bool never_off = held.presets == 0 || !held.ever_off_default;
        if (!never_off && held.values.size() > 1) return;
        covered.unmoved.push_back({parameter.id, held.presets, held.presets > 0 && !held.ever_off_default,
                                   held.values.size() == 1 ? *held.values.begin() : std::string()});
    }

    const schema::Instances& instances_;
    const schema::Device& device_;
    std::size_t layout_;
    bool settings_;
    std::size_t presets_ = 0, body_bytes_ = 0, explained_ = 0;
    std::vector<const dump::Entry*> named_;  // presets that are read by name
    std::map<Place, Watched> watched_;
    std::vector<Held> held_;  // one a parameter
};

}  // namespace

std::size_t SeenNames::varying() const {
    return static_cast<std::size_t>(
        std::count_if(unexplained.begin(), unexplained.end(), [](const SeenValue& value) { return value.differs; }));
}

std::size_t Covered::count(Look look) const {
    return static_cast<std::size_t>(
        std::count_if(bytes.begin(), bytes.end(), [look](const SeenByte& byte) { return byte.look == look; }));
}

Coverage find_coverage(const std::vector<const dump::Dump*>& dumps, Readers& readers, const CoverageOptions& options) {
    const schema::Device& device = readers.device();
    Coverage coverage;
    std::map<std::pair<std::size_t, std::size_t>, Watch> watches;
    for (const dump::Dump* dump : dumps) {
        for (const dump::Entry& entry : dump->entries) {
            const schema::Holds holds = device.framings[entry.framing].holds;
            const bool settings = holds == schema::Holds::unit_settings;
            if (holds == schema::Holds::asset || (settings && !options.settings)) continue;
            if (entry.state == dump::SlotState::damaged) ++coverage.damaged;
            if (entry.state != dump::SlotState::filled) continue;
            const std::optional<std::size_t> release = saving_release(device, entry, options.saved_on);
            if (!release) {
                ++coverage.without_release;
                continue;
            }
            const auto at = watches
                                .try_emplace(std::pair(*release, entry.layout), readers.of(*release, entry.layout),
                                             device, entry.layout, settings)
                                .first;
            at->second.see(*dump, entry, options.values);
        }
    }
    for (const auto& [key, watch] : watches) coverage.parts.push_back(watch.told(options.values));
    return coverage;
}

}  // namespace downfit::study
