#include <algorithm>
#include <array>
#include <set>
#include <utility>

#include "schema/ids.h"
#include "schema/marks.h"
#include "schema/read_parameter.h"
#include "schema/read_release.h"
#include "schema/reader.h"

namespace downfit::schema {

namespace {

constexpr std::array<std::string_view, 14> device_keys{
    "$schema", "format",   "device", "title",   "maker", "words",           "releases",
    "slots",   "variants", "assets", "layouts", "rules", "unlisted-stamps", "true-to-device"};
constexpr std::array<std::string_view, 4> unlisted{"neighbours", "older", "newer", "unknown"};
constexpr std::array<std::string_view, 6> word_keys{"preset", "scene", "block", "alternate", "slot", "bank"};
constexpr std::array<std::string_view, 3> listed_release_keys{"release", "stamp", "date"};

static_assert(static_cast<std::size_t>(UnlistedStamps::unknown) + 1 == unlisted.size());

std::map<std::string, std::string> read_words(const Node& node, Problems& problems) {
    std::map<std::string, std::string> words;
    const ObjectReader reader(node, "words for display", word_keys, problems);
    for (const std::string_view key : word_keys) {
        if (reader.has(key)) words.emplace(key, reader.text(key));
    }
    return words;
}

std::optional<ListedRelease> read_listed(const Node& node, Problems& problems) {
    ListedRelease listed;
    listed.place = node.value_place();
    const Node* name = &node;
    if (node.is(Node::Kind::object)) {
        const ObjectReader reader(node, "a release", listed_release_keys, problems);
        name = reader.need("release");
        if (const Node* stamp = reader.find("stamp")) listed.stamps = read_stamps(*stamp, problems);
        listed.date = reader.text("date");
    } else if (!node.is(Node::Kind::text)) {
        report_found(problems, node, "a release name, or an object with \"release\"");
        return std::nullopt;
    }
    const auto text = name ? read_text(*name, problems) : std::nullopt;
    if (!text) return std::nullopt;
    if (text->empty()) {
        report_found(problems, *name, "a release name");
        return std::nullopt;
    }
    listed.name = *text;
    return listed;
}

std::vector<ListedRelease> read_list_of_releases(const Node& node, Problems& problems) {
    std::vector<ListedRelease> releases;
    std::set<std::string> names;
    const auto* items = read_list(node, "releases, oldest first", problems);
    for (std::size_t i = 0; items && i < items->size(); ++i) {
        auto listed = read_listed(*(*items)[i], problems);
        if (!listed) continue;
        if (names.insert(listed->name).second) {
            releases.push_back(*std::move(listed));
        } else {
            report(problems, listed->place, "release " + quoted(listed->name) + " stands twice in the list",
                   "each release once");
        }
    }
    if (items && items->empty()) report(problems, node.value_place(), "a list without releases", "one release or more");
    return releases;
}

}  // namespace

ReadDevice read_device(const Node& node, Problems& problems) {
    ReadDevice read;
    Device& device = read.device;
    const ObjectReader reader(node, "a device", device_keys, problems);
    (void)reader.text("$schema");
    if (const Node* name = reader.need("device")) {
        device.name = reader.text("device");
        if (name->is(Node::Kind::text) && !is_name(name->text)) {
            report_found(problems, *name, "lower-case letters, digits and \"-\"");
        }
    }
    device.title = reader.text("title", device.name);
    device.maker = reader.text("maker");
    if (const Node* words = reader.find("words")) device.words = read_words(*words, problems);
    if (const Node* releases = reader.need("releases")) {
        const std::size_t before = problems.size();
        read.releases = read_list_of_releases(*releases, problems);
        read.list_complete = problems.size() == before;
    }
    device.unlisted_stamps = static_cast<UnlistedStamps>(reader.word("unlisted-stamps", unlisted).value_or(0));
    device.slots = read_slots(reader.find("slots"), problems);
    device.assets = read_assets(reader.find("assets"), problems);
    std::vector<std::string_view> assets;
    for (const AssetKind& kind : device.assets) assets.push_back(kind.name);
    if (const Node* layouts = reader.need("layouts")) read.layouts = read_layouts(*layouts, assets, false, problems);
    std::vector<std::string> names;
    for (const ListedRelease& listed : read.releases) names.push_back(listed.name);
    if (read.list_complete) (void)read_variants(reader.find("variants"), names, problems);
    if (const Node* rules = reader.find("rules")) (void)read_rules(*rules, false, problems);
    if (const Node* marks = reader.find("true-to-device")) check_marks(*marks, problems);
    return read;
}

}  // namespace downfit::schema
