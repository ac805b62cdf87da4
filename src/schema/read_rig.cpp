#include <algorithm>
#include <array>
#include <map>

#include "base/near_miss.h"
#include "schema/ids.h"
#include "schema/read_user_file.h"
#include "schema/reader.h"
#include "schema/rig.h"

namespace downfit::schema {

namespace {

constexpr std::size_t most_units = 100;
constexpr std::size_t most_songs = 1000;
constexpr std::size_t most_presets = 100;
constexpr std::string_view rig_header = "downfit rig 1";
constexpr std::array<std::string_view, 7> rig_keys{"$schema", "format", "title", "notes", "dumps", "units", "songs"};
constexpr std::array<std::string_view, 4> dump_keys{"file", "saved-on", "layout", "notes"};
constexpr std::array<std::string_view, 8> unit_keys{"name",    "whose", "device", "variant",
                                                    "release", "dumps", "stays",  "notes"};
constexpr std::array<std::string_view, 3> song_keys{"title", "presets", "notes"};
constexpr std::array<std::string_view, 5> need_keys{"dump", "slot", "name", "substitutes", "notes"};
constexpr std::array<std::string_view, 4> substitute_keys{"dump", "slot", "name", "notes"};

class RigReader {
public:
    explicit RigReader(Problems& problems) : problems_(problems) {}

    Rig read(const Node& document) {
        const ObjectReader reader(document, "a rig", rig_keys, problems_);
        for (const std::string_view key : {"$schema", "notes"}) (void)reader.text(key);
        rig_.title = reader.text("title");
        // Dumps first: everything else names them.
        if (const Node* dumps = reader.need("dumps")) read_dumps(*dumps);
        if (const Node* units = reader.need("units")) read_units(*units);
        if (const Node* songs = reader.need("songs")) read_songs(*songs);
        return std::move(rig_);
    }

private:
    /// The text of a member, which must not be empty where it is there.
    std::string full_text(const ObjectReader& reader, std::string_view key, std::string_view expected) {
        const Node* node = reader.find(key);
        if (node == nullptr) return {};
        std::string text = reader.text(key);
        if (node->is(Node::Kind::text) && text.empty()) report_found(problems_, *node, std::string(expected));
        return text;
    }

    /// The same of one that must be there.
    std::string needed_text(const ObjectReader& reader, std::string_view key, std::string_view expected) {
        return reader.need(key) == nullptr ? std::string() : full_text(reader, key, expected);
    }

    static TextPlace place_of(const ObjectReader& reader, std::string_view key) {
        const Node* node = reader.find(key);
        return node == nullptr ? TextPlace() : node->value_place();
    }

    /// The items of a list of `least` to `most`; nullptr for anything else.
    const std::vector<NodePtr>* items_of(const Node& node, std::string_view of, std::size_t least, std::size_t most) {
        const auto* items = read_list(node, of, problems_);
        if (items == nullptr || (items->size() >= least && items->size() <= most)) return items;
        const std::string expected =
            items->size() < least ? "one or more" : "at most " + std::to_string(most) + " of them";
        report(problems_, node.value_place(),
               name_of(node) + " has " + (items->empty() ? "no items" : std::to_string(items->size()) + " items"),
               std::string(of) + ": " + expected);
        return nullptr;
    }

    void read_dumps(const Node& node) {
        if (!node.is(Node::Kind::object)) return report_found(problems_, node, "an object: names of dumps");
        dumps_read_ = true;
        for (const Member& member : node.members) {
            const Node& value = *member.value;
            if (member.key.empty()) report(problems_, value.key_place(), "a dump without a name", "a name");
            names_.push_back(member.key);  // a broken one too: what names it is right
            RigDump dump;
            dump.name = member.key;
            const ObjectReader reader(value, "a dump", dump_keys, problems_);
            if (reader.ok()) {
                (void)reader.text("notes");
                dump.file = needed_text(reader, "file", "the name of a file");
                dump.saved_on = full_text(reader, "saved-on", "a release name");
                dump.layout = full_text(reader, "layout", "the name of a layout");
                dump.place = place_of(reader, "file");
                dump.saved_on_place = place_of(reader, "saved-on");
            }
            rig_.dumps.push_back(std::move(dump));
        }
    }

    std::optional<std::size_t> dump_named(const Node& node) {
        const auto name = read_text(node, problems_);
        if (!name) return std::nullopt;
        const auto at = std::ranges::find(names_, *name);
        if (at != names_.end() && !name->empty()) return static_cast<std::size_t>(at - names_.begin());
        if (!dumps_read_) return std::nullopt;  // what is wrong with them has been told
        const std::vector<std::string_view> views(names_.begin(), names_.end());
        report(problems_, node.value_place(), "no dump of this rig is called " + quoted(*name),
               name->empty() ? "a name that stands in \"dumps\"" : one_of(views), did_you_mean(*name, views));
        return std::nullopt;
    }

    void read_units(const Node& node) {
        const auto* items = items_of(node, "units", 1, most_units);
        if (items == nullptr) return;
        std::map<std::string, const Node*> seen;
        for (const NodePtr& item : *items) {
            RigUnit unit = read_unit(*item);
            if (!unit.name.empty() && !seen.emplace(unit.name, item.get()).second)
                report(problems_, item->find("name")->value_place(),
                       quoted(unit.name) + " is the name of two units, " + name_of(*seen[unit.name]) + " and " +
                           name_of(*item),
                       "a name of its own for each");
            rig_.units.push_back(std::move(unit));
        }
    }

    RigUnit read_unit(const Node& node) {
        RigUnit unit;
        const ObjectReader reader(node, "a unit", unit_keys, problems_);
        if (!reader.ok()) return unit;
        (void)reader.text("notes");
        unit.name = needed_text(reader, "name", "what the unit is called");
        unit.whose = reader.text("whose");
        if (const Node* device = reader.need("device")) {
            unit.device = reader.text("device");
            unit.device_place = device->value_place();
            if (device->is(Node::Kind::text) && !is_name(unit.device))
                report_found(problems_, *device, "lower-case letters, digits and \"-\"");
        }
        unit.variant = full_text(reader, "variant", "the name of a variant");
        unit.variant_place = place_of(reader, "variant");
        unit.release = needed_text(reader, "release", "the release that the unit runs");
        unit.release_place = place_of(reader, "release");
        if (const Node* stays = reader.find("stays")) unit.stays = read_boolean(*stays, problems_).value_or(false);
        if (const Node* dumps = reader.find("dumps")) read_unit_dumps(*dumps, unit);
        return unit;
    }

    void read_unit_dumps(const Node& node, RigUnit& unit) {
        const auto* items = read_list(node, "names of dumps", problems_);
        if (items == nullptr) return;
        for (const NodePtr& item : *items) {
            const auto dump = dump_named(*item);
            if (!dump) continue;
            if (std::ranges::find(unit.dumps, *dump) != unit.dumps.end()) {
                report(problems_, item->value_place(), quoted(item->text) + " stands twice in the list",
                       "each dump once");
            } else {
                unit.dumps.push_back(*dump);
            }
        }
    }

    void read_songs(const Node& node) {
        const auto* items = items_of(node, "songs", 1, most_songs);
        if (items == nullptr) return;
        for (const NodePtr& item : *items) {
            const ObjectReader reader(*item, "a song", song_keys, problems_);
            if (!reader.ok()) continue;
            (void)reader.text("notes");
            RigSong song;
            song.title = needed_text(reader, "title", "what the song is called");
            const Node* presets = reader.need("presets");
            const auto* needs = presets == nullptr ? nullptr : items_of(*presets, "presets", 1, most_presets);
            if (needs != nullptr) {
                for (const NodePtr& need : *needs) read_need(*need, song);
            }
            rig_.songs.push_back(std::move(song));
        }
    }

    void read_need(const Node& node, RigSong& song) {
        RigNeed need;
        const ObjectReader reader(node, "a preset of a song", need_keys, problems_);
        if (!reader.ok()) return;
        read_preset(reader, need.preset);
        if (const Node* substitutes = reader.find("substitutes")) {
            if (const auto* items = items_of(*substitutes, "substitutes", 0, most_presets)) {
                for (const NodePtr& item : *items) {
                    const ObjectReader one(*item, "a substitute", substitute_keys, problems_);
                    if (one.ok()) read_preset(one, need.substitutes.emplace_back());
                }
            }
        }
        song.presets.push_back(std::move(need));
    }

    void read_preset(const ObjectReader& reader, RigPreset& preset) {
        (void)reader.text("notes");
        preset.place = reader.node().value_place();
        if (const Node* dump = reader.need("dump")) preset.dump = dump_named(*dump).value_or(0);
        if (const auto slot = reader.whole("slot", {0, 1 << 24})) preset.slot = static_cast<int>(*slot);
        preset.name = full_text(reader, "name", "the name of a preset");
        if (!reader.has("slot") && !reader.has("name"))
            report(problems_, preset.place, name_of(reader.node()) + " does not say which preset of the dump",
                   "\"slot\", \"name\" or both");
    }

    Problems& problems_;
    std::vector<std::string> names_;  ///< of dumps
    bool dumps_read_ = false;
    Rig rig_;
};

}  // namespace

Result<Rig> read_rig(const SourceFile& file) {
    return read_user_file(file, rig_header, FileKind::rig, "the rig",
                          [](const Node& document, Problems& problems) { return RigReader(problems).read(document); });
}

}  // namespace downfit::schema
