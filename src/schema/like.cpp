#include <algorithm>
#include <optional>
#include <set>
#include <utility>

#include "base/limits.h"
#include "base/near_miss.h"
#include "schema/ids.h"
#include "schema/inherit.h"
#include "schema/moves.h"
#include "schema/reader.h"

namespace downfit::schema {

namespace {

bool is_inside(std::string_view id, std::string_view path) {
    return id.size() > path.size() && id.starts_with(path) && id[path.size()] == '.';
}

/// A reference into the group `from` as one into the group `to`. Brackets name an instance of `from`: it stays.
std::string rerooted(const std::string& id, const std::string& from, const std::string& to) {
    return is_inside(id, from) ? to + id.substr(from.size()) : id;
}

class Copier {
public:
    Copier(RawRelease& release, Problems& problems) : release_(release), problems_(problems) {}

    void copy() {
        std::vector<std::string> paths;
        for (const RawEntry& entry : release_.groups.all()) {
            if (!entry.copied) paths.push_back(entry.id);
        }
        if (has_too_many_alike()) return;
        for (const std::string& path : paths) copy_into(path);
        const auto is_stale = [&](const RawEntry& entry) { return entry.copied && !fresh_.contains(entry.id); };
        for (const RawEntry& entry : release_.parameters.all()) {
            if (is_stale(entry)) release_.choices.erase(entry.id);
        }
        release_.parameters.remove(is_stale);
        release_.groups.remove(is_stale);
    }

private:
    bool has_too_many_alike() {
        std::size_t alike = 0;
        for (const RawEntry& entry : release_.groups.all()) {
            if (entry.copied || !entry.node->find("like")) continue;
            if (++alike <= limits::most_alike) continue;
            report(problems_, entry.node->key_place(), "too many groups are like another",
                   "at most " + std::to_string(limits::most_alike));
            return true;
        }
        return false;
    }

    /// What a group is like, and what is like something inside of it, has its own copies first.
    void copy_into(const std::string& path) {
        if (release_.too_large() || !done_.insert(path).second) return;
        const NodePtr like = release_.groups.find(path)->node->share("like");
        if (!like || !read_text(*like, problems_)) return;
        const std::string& from = like->text;
        if (!release_.groups.find(from)) {
            report(problems_, like->value_place(), "there is no group " + quoted(from), "the path of a group",
                   did_you_mean(from, release_.groups.ids()));
            release_.doubtful.insert(path);
            return;
        }
        if (goes_in_circle(path)) {
            report(problems_, like->value_place(), quoted(path) + " cannot be like " + quoted(from),
                   "a group that is not inside of it, around it or like it");
            release_.doubtful.insert(path);
            return;
        }
        std::vector<std::string> sources;
        for (const RawEntry& entry : release_.groups.all()) {
            if (!entry.copied && (entry.id == from || is_inside(entry.id, from))) sources.push_back(entry.id);
        }
        for (const std::string& source : sources) {
            copy_into(source);
            if (release_.doubtful.contains(source)) release_.doubtful.insert(path + source.substr(from.size()));
        }
        copy_entries(release_.groups, from, path);
        copy_entries(release_.parameters, from, path);
    }

    /// Whether a group, asked for what it needs, comes back to itself.
    bool goes_in_circle(const std::string& start) const {
        std::set<std::string> seen;
        std::vector<std::string> waiting{start};
        while (!waiting.empty()) {
            const std::string path = waiting.back();
            waiting.pop_back();
            for (const RawEntry& entry : release_.groups.all()) {
                if (entry.copied || (entry.id != path && !is_inside(entry.id, path))) continue;
                const Node* like = entry.node->find("like");
                if (!like || !like->is(Node::Kind::text)) continue;
                const std::string& next = like->text;
                if (next == start || is_inside(next, start) || is_inside(start, next)) return true;
                if (seen.insert(next).second) waiting.push_back(next);
            }
        }
        return false;
    }

    /// Where a copy is now: under another name where it was renamed; nothing where it was taken away.
    std::optional<std::string> place_of(const std::string& id) const {
        for (std::string_view outer = id; !outer.empty(); outer = group_part(outer)) {
            const auto moved = release_.moved_copies.find(outer);
            if (moved == release_.moved_copies.end()) continue;
            if (moved->second.empty()) return std::nullopt;
            return moved->second + id.substr(outer.size());
        }
        return id;
    }

    /// Copies what stands inside one group into another.
    void copy_entries(RawEntries& entries, const std::string& from, const std::string& to) {
        const auto replace = [&](const std::string& id) {
            const std::string inside = rerooted(id, from, to);
            return inside == id ? id : place_of(inside).value_or(inside);
        };
        std::set<std::string> meanings;
        std::vector<RawEntry> sources;
        for (const RawEntry& entry : entries.all()) {
            meanings.insert(entry.meaning);
            if (is_inside(entry.id, from) && (!entry.copied || fresh_.contains(entry.id))) sources.push_back(entry);
        }
        for (const RawEntry& source : sources) {
            if (release_.too_large()) return;
            const std::string copy = rerooted(source.id, from, to);
            const auto id = place_of(copy);
            RawEntry* known = id ? entries.find(*id) : nullptr;
            if (!id || (known && !known->copied)) continue;
            fresh_.insert(*id);
            if (&entries == &release_.parameters) copy_choices(source.id, *id);
            const NodePtr node = with_references(source.node, replace);
            if (known) {
                known->node = node;
                continue;
            }
            const bool taken = meanings.contains(copy);
            entries.add({*id, taken ? copy + "@" + release_.name : copy, node, true});
        }
    }

    void copy_choices(const std::string& source, const std::string& copy) {
        const auto own = release_.choices.find(source);
        if (own == release_.choices.end())
            release_.choices.erase(copy);
        else
            release_.choices[copy] = WrittenChoices(own->second);
    }

    RawRelease& release_;
    Problems& problems_;
    std::set<std::string> done_;
    std::set<std::string, std::less<>> fresh_;  // copied by this very release
};

}  // namespace

bool RawRelease::in_doubt(std::string_view id) const {
    const auto holds = [&](const std::string& path) { return is_inside(id, path); };
    return std::ranges::any_of(doubtful, holds);
}

void copy_alike(RawRelease& release, Problems& problems) {
    Copier(release, problems).copy();
}

}  // namespace downfit::schema
