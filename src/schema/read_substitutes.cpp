#include <algorithm>
#include <array>
#include <set>

#include "schema/ids.h"
#include "schema/read_user_file.h"
#include "schema/reader.h"
#include "schema/substitutes.h"

namespace downfit::schema {

namespace {

constexpr std::size_t most_substitutes = 1000;
constexpr Limits any_number{0, 1 << 24};
constexpr std::string_view substitutes_header = "downfit substitutes 1";
constexpr std::array<std::string_view, 6> file_keys{"$schema", "format", "title", "notes", "device", "substitutes"};
constexpr std::array<std::string_view, 6> entry_keys{"parameter", "lost", "instead", "on", "reason", "notes"};

/// Whether there is a target release for which both hold.
bool meet(const Substitution& a, const Substitution& b) {
    if (a.on.empty() || b.on.empty()) return true;
    return std::ranges::any_of(a.on, [&](const NamedRelease& release) { return b.holds_on(release.name); });
}

class SubstitutesReader {
public:
    explicit SubstitutesReader(Problems& problems) : problems_(problems) {}

    Substitutes read(const Node& document) {
        Substitutes read;
        const ObjectReader reader(document, "substitutes", file_keys, problems_);
        for (const std::string_view key : {"$schema", "notes"}) (void)reader.text(key);
        read.title = reader.text("title");
        if (const Node* device = reader.need("device")) read_device_name(*device, read);
        if (const Node* list = reader.need("substitutes")) read_entries(*list, read);
        return read;
    }

private:
    void read_device_name(const Node& node, Substitutes& read) {
        const auto name = read_text(node, problems_);
        if (!name) return;
        if (!is_name(*name)) return report_found(problems_, node, "lower-case letters, digits and \"-\"");
        read.device = *name;
        read.device_place = node.value_place();
    }

    void read_entries(const Node& node, Substitutes& read) {
        const auto* items = read_list(node, "substitutes", problems_);
        if (!items) return;
        if (items->size() > most_substitutes)
            return report(problems_, node.value_place(),
                          name_of(node) + " has " + std::to_string(items->size()) + " items",
                          "at most " + std::to_string(most_substitutes) + " of them");
        std::vector<const Node*> nodes;
        for (const NodePtr& item : *items) {
            const std::size_t before = problems_.size();
            Substitution entry = read_entry(*item);
            if (problems_.size() > before) continue;
            const auto same = std::ranges::find_if(read.list, [&](const Substitution& other) {
                return other.parameter == entry.parameter && other.lost == entry.lost && meet(other, entry);
            });
            if (same != read.list.end()) {
                const Node& first = *nodes[static_cast<std::size_t>(same - read.list.begin())];
                report(problems_, item->value_place(),
                       name_of(*item) + " is about the same parameter and choice as " + name_of(first),
                       "one substitute for each; \"on\" tells releases apart");
                continue;
            }
            nodes.push_back(item.get());
            read.list.push_back(std::move(entry));
        }
    }

    Substitution read_entry(const Node& node) {
        Substitution read;
        const ObjectReader reader(node, "a substitute", entry_keys, problems_);
        if (!reader.ok()) return read;
        (void)reader.text("notes");
        if (const Node* parameter = reader.need("parameter")) {
            read.parameter = reader.text("parameter");
            read.parameter_place = parameter->value_place();
            if (parameter->is(Node::Kind::text) && !parse_id(read.parameter))
                report_found(problems_, *parameter, "a parameter's id, such as \"drive.model\" or \"drive[2].model\"");
        }
        read.lost_place = read_setting(reader, "lost", read.lost);
        read.instead_place = read_setting(reader, "instead", read.instead);
        if (const Node* instead = reader.find("instead");
            instead != nullptr && !is_none(read.lost) && read.lost == read.instead)
            report(problems_, instead->value_place(), "\"instead\" is the same as \"lost\"",
                   "something that the target release has");
        if (const Node* on = reader.find("on")) read.on = read_on(*on, problems_);
        read.reason = reader.text("reason");
        return read;
    }

    static bool is_none(const Setting& setting) {
        const auto* text = std::get_if<std::string>(&setting);
        return text != nullptr && text->empty();
    }

    TextPlace read_setting(const ObjectReader& reader, std::string_view key, Setting& setting) {
        setting = std::string();
        const Node* node = reader.need(key);
        if (node == nullptr) return {};
        if (node->is(Node::Kind::number)) {
            if (const auto number = read_whole(*node, any_number, problems_)) setting = static_cast<double>(*number);
        } else if (!node->is(Node::Kind::text) || node->text.empty()) {
            report_found(problems_, *node, "the label of a choice, or what a reference names");
        } else {
            setting = node->text;
        }
        return node->value_place();
    }

    Problems& problems_;
};

}  // namespace

Result<Substitutes> read_substitutes(const SourceFile& file) {
    return read_user_file(
        file, substitutes_header, FileKind::substitutes, "the substitutes",
        [](const Node& document, Problems& problems) { return SubstitutesReader(problems).read(document); });
}

}  // namespace downfit::schema
