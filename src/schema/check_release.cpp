#include <algorithm>
#include <unordered_map>
#include <utility>

#include "schema/circles.h"
#include "schema/ids.h"
#include "schema/read_release.h"
#include "schema/reader.h"

namespace downfit::schema {

namespace {

constexpr std::int64_t most_instances = 100'000;

/// The lowest and the highest base of a group's instances, and their ids.
struct Extent {
    std::int64_t lowest = 0, highest = 0;
    std::string lowest_id, highest_id;
    std::int64_t instances = 1;
};

class ReleaseChecker {
public:
    ReleaseChecker(const ReadRelease& read, const Context& context)
        : release_(read.release), layouts_(read.layouts), context_(context), problems_(context.problems) {}

    void check() {
        measure_groups();
        check_instances();
        check_circles();
        for (const Parameter& parameter : release_.parameters) check_place(parameter);
        check_bytes();
    }

private:
    void measure_groups() {
        for (const Group& group : release_.groups) {
            Extent extent = group.parent < 0 ? Extent{} : extents_[static_cast<std::size_t>(group.parent)];
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

    Extent extent_of(const Parameter& parameter) const {
        return parameter.group < 0 ? Extent{} : extents_[static_cast<std::size_t>(parameter.group)];
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
               "at most 100000");
    }

    /// The things on a circle: parameters first, then groups.
    std::string thing_name(std::size_t thing) const {
        const std::size_t parameters = release_.parameters.size();
        return thing < parameters ? release_.parameters[thing].id : "group " + release_.groups[thing - parameters].path;
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
        }
        for (std::size_t g = 0; g < release_.groups.size(); ++g) {
            const Group& group = release_.groups[g];
            if (group.parent >= 0) asks[parameters + g].push_back(parameters + static_cast<std::size_t>(group.parent));
            if (group.when) add(*group.when, asks[parameters + g]);
        }
        for (const auto& circle : find_circles(asks)) {
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
        const auto steps = about_parameter ? parse_id(condition.name) : std::nullopt;
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

    void check_place(const Parameter& parameter) {
        const std::int64_t size = static_cast<std::int64_t>(body_for(parameter.scope));
        if (size == 0) return;
        std::int64_t first = parameter.storage.text_at;
        std::int64_t last = first + static_cast<std::int64_t>(parameter.storage.text_length) - 1;
        if (parameter.storage.coding != Coding::text) {
            const auto [low, high] = std::ranges::minmax_element(parameter.storage.pieces, {}, &BitPiece::byte);
            if (low == parameter.storage.pieces.end()) return;
            first = low->byte;
            last = high->byte;
        }
        const Extent extent = extent_of(parameter);
        const bool before = extent.lowest + first < 0;
        if (!before && extent.highest + last < size) return;
        const Node* at = context_.release.parameters.find(parameter.id)->node->find("at");
        std::string id = before ? extent.lowest_id : extent.highest_id;
        id += (id.empty() ? "" : ".") + std::string(name_part(parameter.id));
        const std::int64_t byte = before ? extent.lowest + first : extent.highest + last;
        report(problems_, at ? at->value_place() : parameter.place,
               quoted(id) + " stands at byte " + std::to_string(byte) + " in release " + quoted(release_.name),
               "a byte from 0 to " + std::to_string(size - 1) + ", inside the body");
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
};

}  // namespace

void check_release(const ReadRelease& read, const Context& context) {
    ReleaseChecker(read, context).check();
}

}  // namespace downfit::schema
