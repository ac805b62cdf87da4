#include <algorithm>
#include <unordered_map>
#include <utility>

#include "base/limits.h"
#include "schema/circles.h"
#include "schema/ids.h"
#include "schema/read_parameter.h"
#include "schema/read_release.h"
#include "schema/reader.h"

namespace downfit::schema {

namespace {

using limits::most_instances;

/// The lowest and the highest base of a group's instances, and their ids.
struct Extent {
    std::int64_t lowest = 0, highest = 0;
    std::string lowest_id, highest_id;
    std::int64_t instances = 1;
    bool in_record = false;  // places count from a record's value
    bool records = false;    // that value is a run of records
};

class ReleaseChecker {
public:
    ReleaseChecker(const ReadRelease& read, const Context& context)
        : release_(read.release), layouts_(read.layouts), context_(context), problems_(context.problems) {}

    void check() {
        measure_groups();
        check_instances();
        check_circles();
        for (const Parameter& parameter : release_.parameters) check_places(parameter);
        check_bytes();
    }

private:
    void measure_groups() {
        for (const Group& group : release_.groups) {
            Extent extent = group.parent < 0 ? Extent{} : extents_[static_cast<std::size_t>(group.parent)];
            if (group.tag) {
                check_tag(group.place, group.path, extent);
                extent.lowest = extent.highest = 0;
                extent.in_record = true;
            }
            extent.records = extent.records || group.records;
            const std::int64_t span = group.stride * (group.count - 1);
            const auto step = [&](std::string& id, bool last) {
                id += (id.empty() ? "" : ".") + std::string(name_part(group.path));
                if (group.count > 1) id += "[" + std::to_string(last ? group.count : 1) + "]";
            };
            step(extent.lowest_id, span < 0);
            step(extent.highest_id, span >= 0);
            extent.lowest += group.at + std::min<std::int64_t>(span, 0);
            extent.highest += group.at + std::max<std::int64_t>(span, 0);
            extent.instances = std::min(extent.instances * group.count, most_instances + 1);
            extents_.push_back(std::move(extent));
        }
    }

    /// A tag needs a run of records around it.
    void check_tag(const TextPlace& place, const std::string& id, const Extent& outer) {
        const auto has_records = [](const ReadLayout& layout) {
            return layout.records || layout.notation != Notation::bytes ||
                   (layout.framing.holds != Holds::asset && layout.body_size == 0);
        };
        if (tags_told_ || outer.records || std::ranges::any_of(layouts_, has_records)) return;
        tags_told_ = true;
        report(problems_, place, quoted(id) + " has a tag, but no run of records around it",
               "\"records\" in the body of a layout, or in a group around it");
    }

    Extent extent_of(const Parameter& parameter) const {
        Extent extent = parameter.group < 0 ? Extent{} : extents_[static_cast<std::size_t>(parameter.group)];
        if (parameter.tag) {
            extent.lowest = extent.highest = 0;
            extent.in_record = true;
        }
        extent.instances = std::min(extent.instances * std::max(parameter.list_count, 1), most_instances + 1);
        return extent;
    }

    void check_instances() {
        std::int64_t groups = 0, parameters = 0;
        for (const Extent& extent : extents_) groups += extent.instances;
        for (const Parameter& parameter : release_.parameters) parameters += extent_of(parameter).instances;
        if (std::max(groups, parameters) <= most_instances) return;
        const auto most = std::ranges::max_element(extents_, {}, &Extent::instances);
        const bool grouped = most != extents_.end();
        const TextPlace place = grouped ? release_.groups[static_cast<std::size_t>(most - extents_.begin())].place
                                        : context_.release.file->key_place();
        report(problems_, place, "release " + quoted(release_.name) + " has too many instances of groups or parameters",
               "at most " + std::to_string(most_instances));
    }

    /// The things on a circle: parameters first, then groups.
    std::string thing_name(std::size_t thing) const {
        const std::size_t parameters = release_.parameters.size();
        return thing < parameters ? release_.parameters[thing].id : "group " + release_.groups[thing - parameters].path;
    }

    /// Whether it is a copy of something that has the same circle.
    bool is_copied(std::size_t thing) const {
        const std::size_t parameters = release_.parameters.size();
        if (thing < parameters) return context_.release.parameters.find(release_.parameters[thing].id)->copied;
        return context_.release.groups.find(release_.groups[thing - parameters].path)->copied;
    }

    void check_circles() {
        const std::size_t parameters = release_.parameters.size();
        std::unordered_map<std::string, std::size_t> index;
        for (std::size_t p = 0; p < parameters; ++p) index.emplace(release_.parameters[p].id, p);
        std::vector<std::vector<std::size_t>> asks(parameters + release_.groups.size());
        const auto add = [&](const Condition& condition, std::vector<std::size_t>& asked) {
            add_asked(condition, index, asked);
        };
        for (std::size_t p = 0; p < parameters; ++p) {
            const Parameter& parameter = release_.parameters[p];
            if (parameter.group >= 0) asks[p].push_back(parameters + static_cast<std::size_t>(parameter.group));
            if (parameter.when) add(*parameter.when, asks[p]);
            for (const VariedMeaning& varied : parameter.varies) add(varied.when, asks[p]);
            for (const Read& read : parameter.reads) add(read.when, asks[p]);
            add_reference(parameter.count_by, index, asks[p]);
        }
        for (std::size_t g = 0; g < release_.groups.size(); ++g) {
            const Group& group = release_.groups[g];
            if (group.parent >= 0) asks[parameters + g].push_back(parameters + static_cast<std::size_t>(group.parent));
            if (group.when) add(*group.when, asks[parameters + g]);
            add_reference(group.count_by, index, asks[parameters + g]);
        }
        for (const auto& circle : find_circles(asks)) {
            if (std::ranges::all_of(circle, [&](std::size_t thing) { return is_copied(thing); })) continue;
            std::string path;
            for (const std::size_t thing : circle) path += thing_name(thing) + " -> ";
            const std::size_t first = circle.front();
            const TextPlace& place =
                first < parameters ? release_.parameters[first].place : release_.groups[first - parameters].place;
            report(problems_, place, "conditions go in circles: " + path + thing_name(first),
                   "conditions that do not come back to themselves");
        }
    }

    static void add_asked(const Condition& condition, const std::unordered_map<std::string, std::size_t>& index,
                          std::vector<std::size_t>& asked) {
        for (const Condition& part : condition.parts) add_asked(part, index, asked);
        const bool about_parameter =
            condition.kind == Condition::Kind::comparison && condition.subject == Condition::Subject::parameter;
        if (about_parameter) add_reference(condition.name, index, asked);
    }

    static void add_reference(const std::string& id, const std::unordered_map<std::string, std::size_t>& index,
                              std::vector<std::size_t>& asked) {
        const auto steps = parse_id(id);
        const auto at = steps ? index.find(plain_id(*steps)) : index.end();
        if (at != index.end()) asked.push_back(at->second);
    }

    /// The size of the largest body that may hold a parameter of that scope; 0 if there is none.
    std::size_t body_for(Scope scope) const {
        std::size_t presets = 0, settings = 0;
        for (const ReadLayout& layout : layouts_) {
            if (layout.framing.holds == Holds::presets) presets = std::max(presets, layout.body_size);
            if (layout.framing.holds == Holds::unit_settings) settings = std::max(settings, layout.body_size);
        }
        return scope == Scope::unit && settings > 0 ? settings : presets;
    }

    void check_places(const Parameter& parameter) {
        const Node& node = *context_.release.parameters.find(parameter.id)->node;
        if (parameter.tag) {
            const Extent around = parameter.group < 0 ? Extent{} : extents_[static_cast<std::size_t>(parameter.group)];
            check_tag(node.find("tag")->value_place(), parameter.id, around);
        }
        const Node* reads = node.find("reads");
        bool fits = check_place(parameter, parameter.storage, node.find("at"));
        for (std::size_t i = 0; fits && i < parameter.reads.size(); ++i) {
            const Node* at = reads->items.size() > i ? reads->items[i]->find("at") : nullptr;
            fits = check_place(parameter, parameter.reads[i].storage, at);
        }
    }

    /// How long a record's value is, nobody knows beforehand.
    bool check_place(const Parameter& parameter, const Storage& storage, const Node* at) {
        if (storage.notation != Notation::bytes) return true;
        const Extent extent = extent_of(parameter);
        const std::int64_t size = extent.in_record ? 0 : static_cast<std::int64_t>(body_for(parameter.scope));
        const std::int64_t list = parameter.list_stride * std::max(parameter.list_count - 1, 0);
        const std::int64_t first = extent.lowest + first_byte(storage) + std::min<std::int64_t>(list, 0);
        const std::int64_t last = extent.highest + last_byte(storage) + std::max<std::int64_t>(list, 0);
        if (first >= 0 && (size == 0 || last < size)) return true;
        if (size == 0 && !extent.in_record && !has_records()) return true;
        std::string id = first < 0 ? extent.lowest_id : extent.highest_id;
        id += (id.empty() ? "" : ".") + std::string(name_part(parameter.id));
        const std::string byte = std::to_string(first < 0 ? first : last);
        report(problems_, at ? at->value_place() : parameter.place,
               quoted(id) + " stands at byte " + byte + " in release " + quoted(release_.name),
               size == 0 ? "a byte from 0 up" : "a byte from 0 to " + std::to_string(size - 1) + ", inside the body");
        return false;
    }

    bool has_records() const {
        return std::ranges::any_of(layouts_, [](const ReadLayout& layout) { return layout.records.has_value(); });
    }

    void check_bytes() {
        const std::size_t size = body_for(Scope::preset);
        const auto check = [&](const BodyBytes& bytes, const TextPlace& place) {
            if (size == 0 || bytes.at + bytes.bytes.size() <= size) return;
            report(problems_, place, "the bytes end at byte " + std::to_string(bytes.at + bytes.bytes.size() - 1),
                   "places below " + std::to_string(size) + ", the body's size");
        };
        for (const Accept& accept : release_.accepts) {
            if (accept.bytes) check(*accept.bytes, accept.place);
        }
        for (const Repair& repair : release_.repairs) check(repair.found, repair.place);
    }

    const Release& release_;
    const std::vector<ReadLayout>& layouts_;
    const Context& context_;
    Problems& problems_;
    std::vector<Extent> extents_;
    bool tags_told_ = false;  // one problem is enough
};

}  // namespace

void check_release(const ReadRelease& read, const Context& context) {
    ReleaseChecker(read, context).check();
}

}  // namespace downfit::schema
