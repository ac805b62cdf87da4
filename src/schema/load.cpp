#include "schema/load.h"

#include <algorithm>
#include <array>
#include <deque>
#include <exception>
#include <map>
#include <set>
#include <utility>

#include "base/limits.h"
#include "base/near_miss.h"
#include "schema/circles.h"
#include "schema/format_check.h"
#include "schema/inherit.h"
#include "schema/load_parts.h"
#include "schema/located_json.h"
#include "schema/read_named.h"
#include "schema/read_release.h"
#include "schema/read_user_file.h"
#include "schema/reader.h"

namespace downfit::schema {

namespace {

constexpr std::array<std::string_view, 2> formats{"downfit device 1", "downfit release 1"};

/// Adds what is wrong with one release, leaving out what was told of the same place for an earlier one.
class Collector {
public:
    explicit Collector(Problems& problems) : problems_(problems) {
        for (const Problem& problem : problems) remember(problem);
    }

    void add(Problems fresh) {
        std::erase_if(fresh, [&](const Problem& problem) {
            const auto* place = std::get_if<TextPlace>(&problem.place);
            return place && told_.contains({place->file, place->line, place->column});
        });
        std::map<std::pair<std::size_t, std::size_t>, std::vector<const Problem*>> by_spot;
        for (const Problem& problem : fresh) {
            const auto* place = std::get_if<TextPlace>(&problem.place);
            auto& same = by_spot[place ? std::pair(place->line, place->column) : std::pair<std::size_t, std::size_t>()];
            if (std::ranges::any_of(same, [&](const Problem* other) { return *other == problem; })) continue;
            same.push_back(&problem);
            problems_.push_back(problem);
        }
        for (const Problem& problem : fresh) remember(problem);
    }

private:
    void remember(const Problem& problem) {
        const auto* place = std::get_if<TextPlace>(&problem.place);
        if (place) told_.insert({place->file, place->line, place->column});
    }

    Problems& problems_;
    std::set<std::tuple<std::string, std::size_t, std::size_t>> told_;
};

/// A release file and its place in the device's list.
struct ReleaseFile {
    const SourceFile* source = nullptr;
    NodePtr node;
    std::size_t order = 0;
    std::optional<std::size_t> extends;  // order of the release that it extends
    bool broken = false;                 // cannot be resolved: what it extends is missing or in a circle
};

class DeviceLoader {
public:
    explicit DeviceLoader(const std::vector<SourceFile>& files) : files_(files) {}

    Result<Device> load() {
        read_all();
        if (problems_.empty()) return finish();
        return std::move(problems_);
    }

    LoadedParts load_parts() {
        read_all();
        LoadedParts parts;
        parts.device_node = device_node_;
        if (device_node_ && read_.list_complete && device_file_sound()) {
            parts.device = finish();
            for (auto& [order, raw] : raw_)
                parts.releases.push_back({order, std::move(raw), problems_.empty() || clean_.contains(order)});
        }
        parts.problems = std::move(problems_);
        return parts;
    }

private:
    void read_all() {
        sort_files();
        if (device_node_) {
            read_ = read_device(*device_node_, problems_);
            for (const ListedRelease& listed : read_.releases) names_.push_back(listed.name);
            if (read_.list_complete) load_releases();
        }
        if (problems_.empty()) check_formats();
        sort_problems();
        leave_out_problems();
    }

    /// Whether nothing is wrong with the device file, nor with the files as a set.
    bool device_file_sound() const {
        return std::ranges::none_of(problems_, [&](const Problem& problem) {
            const auto* place = std::get_if<TextPlace>(&problem.place);
            return !place || place->file == device_source_->name;
        });
    }

    void load_releases() {
        place_releases();
        find_extends();
        resolve_all();
        join_layouts();
    }

    void sort_files() {
        for (const SourceFile& file : files_) {
            if (file.text.size() > limits::largest_schema_file) {
                problems_.push_back(
                    {file.name, "the file has " + std::to_string(file.text.size()) + " bytes", "at most 16 MiB", {}});
                continue;
            }
            const NodePtr node = read_json(file.name, file.text, problems_);
            if (node)
                sort_file(file, node);
            else
                ++unreadable_;
        }
        if (device_node_ || unreadable_ > 0) return;
        problems_.push_back({std::monostate{},
                             "none of the files describes the device",
                             "one file with \"format\": \"downfit device 1\"",
                             {}});
    }

    void sort_file(const SourceFile& file, const NodePtr& node) {
        const Node* format = node->find("format");
        if (!node->is(Node::Kind::object) || !format) {
            report(problems_, node->value_place(),
                   node->is(Node::Kind::object) ? "\"format\" is missing" : "the file is " + found(*node),
                   "an object with \"format\": " + one_of(formats));
            ++unreadable_;
            return;
        }
        const auto word = read_word(*format, formats, problems_);
        if (!word) {
            ++unreadable_;
        } else if (*word == 1) {
            releases_.push_back({&file, node, 0, std::nullopt, false});
        } else if (device_node_) {
            report(problems_, format->value_place(),
                   "a second device file; the first is " + quoted(*device_node_->file),
                   "one device file with its release files");
        } else {
            device_node_ = node;
            device_source_ = &file;
        }
    }

    /// Finds each release file's place in the list; files without one are reported and left out.
    void place_releases() {
        std::map<std::size_t, std::string> taken;
        std::erase_if(releases_, [&](ReleaseFile& file) {
            const Node* device = file.node->find("device");
            const Node* name = file.node->find("release");
            for (const auto& [key, node] : {std::pair{"device", device}, std::pair{"release", name}}) {
                if (!node)
                    report(problems_, file.node->key_place(), quoted(key) + " is missing",
                           "a release with " + quoted(key));
            }
            if (device && !read_.device.name.empty() && read_text(*device, problems_) &&
                device->text != read_.device.name) {
                report_found(problems_, *device, quoted(read_.device.name) + ", the device of these files");
            }
            const auto order = name ? read_release_name(*name, names_, problems_) : std::nullopt;
            if (!order) return true;
            file.order = *order;
            const auto [first, fresh] = taken.emplace(*order, file.source->name);
            if (fresh) return false;
            report(problems_, name->value_place(),
                   "a second file for release " + quoted(name->text) + "; the first is " + quoted(first->second),
                   "one file for each release");
            return true;
        });
        std::ranges::sort(releases_, {}, &ReleaseFile::order);
    }

    const ReleaseFile* file_of(std::size_t order) const {
        const auto at = std::ranges::lower_bound(releases_, order, {}, &ReleaseFile::order);
        return at != releases_.end() && at->order == order ? &*at : nullptr;
    }

    void find_extends() {
        std::vector<std::vector<std::size_t>> asks(names_.size());
        for (ReleaseFile& file : releases_) {
            const Node* extends = file.node->find("extends");
            if (!extends) continue;
            file.extends = read_release_name(*extends, names_, problems_);
            if (file.extends && !file_of(*file.extends)) {
                if (unreadable_ == 0)
                    report(problems_, extends->value_place(), "there is no file for release " + quoted(extends->text),
                           "a release whose file is given too");
                file.extends.reset();
            }
            file.broken = !file.extends;
            if (file.extends) asks[file.order].push_back(*file.extends);
        }
        for (const auto& circle : find_circles(asks)) {
            std::string path;
            for (const std::size_t order : circle) path += quoted(names_[order]) + " -> ";
            const Node& first = *file_of(circle.front())->node->find("extends");
            report(problems_, first.value_place(),
                   "\"extends\" goes in a circle: " + path + quoted(names_[circle.front()]),
                   "releases that start from others than themselves");
            for (const std::size_t order : circle) broken_.insert(order);
        }
    }

    /// Each release after the one that it extends.
    void resolve_all() {
        Collector collector(problems_);
        const RawRelease start = device_start(*device_node_);
        for (bool going = true; going;) {
            going = false;
            for (const ReleaseFile& file : releases_) {
                if (file.broken || broken_.contains(file.order) || raw_.contains(file.order)) continue;
                if (file.extends && !raw_.contains(*file.extends)) continue;
                resolve(file, file.extends ? raw_.at(*file.extends) : start, collector);
                going = true;
            }
        }
        std::vector<const RawRelease*> all;
        for (const auto& [order, raw] : raw_) all.push_back(&raw);
        Problems limits;
        if (!all.empty() && raw_.size() == releases_.size()) check_limits(all, limits);
        collector.add(std::move(limits));
    }

    void resolve(const ReleaseFile& file, const RawRelease& base, Collector& collector) {
        Problems fresh;
        const RawRelease& raw =
            raw_.emplace(file.order, inherit(base, file.node, names_[file.order], fresh)).first->second;
        const Context context{raw, names_, fresh};
        ReadRelease read = read_release(context, file.order);
        check_release(read, context);
        join_stamps(*file.node, read.release, fresh);
        check_layout_names(*file.node, read, fresh);
        if (fresh.empty()) check_overlaps(read.release, file.node->key_place(), fresh);
        read.release.digest = digest_of(*file.source);
        check_views(raw, read.layouts, fresh);
        resolve_views(raw, read, fresh);
        done_.emplace(file.order, std::move(read));
        if (fresh.empty()) clean_.insert(file.order);
        collector.add(std::move(fresh));
    }

    /// The release once more for each layout that stores things otherwise; what is wrong is told once.
    void resolve_views(const RawRelease& raw, const ReadRelease& read, Problems& problems) {
        for (std::size_t l = 0; l < read.layouts.size(); ++l) {
            const auto view = view_of(raw, read.layouts[l].name, read.layouts[l].notation);
            if (!view) continue;
            const std::size_t told = problems.size();
            const Context context{*view, names_, problems};
            ReadRelease stored = read_release(context, read.release.order);
            check_release(stored, context);
            forget_repeated(problems, told);
            views_[{read.release.order, l}] = {std::move(stored.release.groups), std::move(stored.release.parameters)};
        }
    }

    /// Joins each release with how its layouts store it.
    void add_views(Release& release) const {
        std::vector<std::shared_ptr<const Release>> views(release.layouts.size());
        bool any = false;
        for (std::size_t l = 0; l < views.size(); ++l) {
            const auto at = views_.find({release.order, l});
            if (at == views_.end()) continue;
            auto view = std::make_shared<Release>(release);
            view->groups = at->second.first;
            view->parameters = at->second.second;
            views[l] = std::move(view);
            any = true;
        }
        if (any) release.views = std::move(views);
    }

    void join_stamps(const Node& node, Release& release, Problems& problems) const {
        const ReadStamps& listed = read_.releases[release.order].stamps;
        if (release.stamps.empty()) {
            release.stamps = listed.stamps;
            release.stamp_from = listed.from;
        }
        if (listed.stamps.empty()) return;
        if (std::ranges::is_permutation(listed.stamps, release.stamps) && listed.from == release.stamp_from) return;
        report(problems, node.find("stamp")->value_place(), "the stamp differs from the one in the device file",
               "the same stamp in both, or in one of them only");
    }

    void check_layout_names(const Node& file, const ReadRelease& read, Problems& problems) const {
        const auto same = [](const ReadLayout& a, const ReadLayout& b) { return a.name == b.name; };
        if (std::ranges::equal(read.layouts, read_.layouts, same)) return;
        const Node* layouts = file.find("layouts");
        std::vector<std::string_view> names;
        for (const ReadLayout& layout : read_.layouts) names.push_back(layout.name);
        if (!layouts) return;
        for (const Member& member : layouts->members) {
            const bool known = std::ranges::find(names, std::string_view(member.key)) != names.end();
            if (known && !member.value->is(Node::Kind::null)) continue;
            std::erase_if(problems, [&](const Problem& problem) {
                const auto* place = std::get_if<TextPlace>(&problem.place);
                return place && *place == member.value->key_place();
            });
            report(problems, member.value->key_place(),
                   known ? "layout " + quoted(member.key) + " is removed"
                         : "the device file has no layout " + quoted(member.key),
                   "changes of the device's layouts only", known ? "" : did_you_mean(member.key, names));
        }
    }

    std::size_t framing_of(const Framing& framing) {
        auto& framings = read_.device.framings;
        const auto at = std::ranges::find(framings, framing);
        const auto index = static_cast<std::size_t>(at - framings.begin());
        if (at == framings.end()) framings.push_back(framing);
        return index;
    }

    void join_layouts() {
        const auto join = [&](const std::vector<ReadLayout>& from, std::vector<Layout>& to) {
            for (const ReadLayout& layout : from) {
                to.push_back({layout.name, framing_of(layout.framing), layout.body_size, layout.records,
                              layout.volatile_bytes, layout.notation, layout.other_paths});
            }
        };
        join(read_.layouts, read_.device.layouts);
        for (auto& [order, read] : done_) join(read.layouts, read.release.layouts);
    }

    Device finish() {
        Device& device = read_.device;
        device.file = device_source_->name;
        device.digest = digest_of(*device_source_);
        for (std::size_t order = 0; order < names_.size(); ++order) {
            const ListedRelease& listed = read_.releases[order];
            ReleaseEntry entry{listed.name, listed.stamps.stamps, listed.stamps.from, listed.date, std::nullopt};
            if (const auto at = done_.find(order); at != done_.end()) {
                const Node* date = file_of(order)->node->find("date");
                if (date) entry.date = date->text;
                entry.stamps = at->second.release.stamps;
                entry.stamp_from = at->second.release.stamp_from;
                entry.schema = std::move(at->second.release);
                add_views(*entry.schema);
            }
            device.releases.push_back(std::move(entry));
        }
        return std::move(device);
    }

    /// What our own reader let through, judged once more.
    void check_formats() {
        const auto check = [&](const Node& node, FileKind kind) {
            if (auto problem = check_format(node, kind)) problems_.push_back(*std::move(problem));
        };
        check(*device_node_, FileKind::device);
        for (const ReleaseFile& file : releases_) check(*file.node, FileKind::release);
    }

    /// By file, as given, then by place; what has no place last.
    void sort_problems() {
        std::map<std::string, std::size_t> rank;
        for (const SourceFile& file : files_) rank.emplace(file.name, rank.size());
        const auto key = [&](const Problem& problem) {
            const auto* place = std::get_if<TextPlace>(&problem.place);
            const auto* name = std::get_if<std::string>(&problem.place);
            const std::string& file = place ? place->file : name ? *name : std::string{};
            const auto at = rank.find(file);
            return std::tuple(at == rank.end() ? rank.size() : at->second, place ? place->line : 0,
                              place ? place->column : 0);
        };
        std::ranges::stable_sort(problems_, {}, key);
    }

    void leave_out_problems() {
        if (problems_.size() <= limits::most_problems) return;
        const std::size_t more = problems_.size() - limits::most_problems;
        problems_.resize(limits::most_problems);
        problems_.push_back({std::monostate{}, "and " + std::to_string(more) + " more problems", {}, {}});
    }

    const std::vector<SourceFile>& files_;
    Problems problems_;
    std::size_t unreadable_ = 0;
    const SourceFile* device_source_ = nullptr;
    NodePtr device_node_;
    ReadDevice read_;
    std::vector<std::string> names_;
    std::vector<ReleaseFile> releases_;
    std::set<std::size_t> broken_, clean_;
    std::map<std::size_t, RawRelease> raw_;
    std::map<std::size_t, ReadRelease> done_;
    std::map<std::pair<std::size_t, std::size_t>, std::pair<std::vector<Group>, std::vector<Parameter>>> views_;
};

}  // namespace

Result<Device> load_device(const std::vector<SourceFile>& files) {
    try {
        return DeviceLoader(files).load();
    } catch (const std::exception& error) {
        return Problem{std::monostate{}, "loading the schema files failed", {}, error.what()};
    }
}

LoadedParts load_parts(const std::vector<SourceFile>& files) {
    try {
        return DeviceLoader(files).load_parts();
    } catch (const std::exception& error) {
        LoadedParts parts;
        parts.problems.push_back({std::monostate{}, "loading the schema files failed", {}, error.what()});
        return parts;
    }
}

}  // namespace downfit::schema
