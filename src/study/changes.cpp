#include "study/changes.h"

#include <algorithm>

#include "study/comparing.h"

namespace downfit::study {

namespace {

/// Whether a change of one step is, or belongs to, one between the two ends.
bool belongs(const Change& step, const Change& whole) {
    if (step.key == whole.key) return true;
    // What came later into a group that is new.
    const bool inside = step.kind == ChangeKind::parameter_added || step.kind == ChangeKind::group_added;
    return inside && whole.kind == ChangeKind::group_added && step.subject.starts_with(whole.subject + '.');
}

/// The same thing and kind, whatever the details: where no step has exactly the change of the whole way.
bool resembles(const Change& step, const Change& whole) {
    return step.kind == whole.kind && step.touches == whole.touches && !whole.touches.empty();
}

}  // namespace

std::vector<Change> compare_releases(const schema::Device& device, std::size_t older, std::size_t newer) {
    Comparing comparing(device, *device.releases[older].schema, *device.releases[newer].schema);
    compare_groups(comparing);
    compare_parameters(comparing);
    compare_layouts(comparing);
    compare_choices(comparing);
    compare_rest(comparing);
    suggest_renames(comparing);
    return std::move(comparing.changes);
}

std::vector<Change> changes_between(const schema::Device& device, std::size_t older, std::size_t newer) {
    std::vector<Change> changes = compare_releases(device, older, newer);
    std::vector<std::pair<std::string, std::vector<Change>>> steps;
    std::size_t from = older;
    for (std::size_t to = older + 1; to <= newer; ++to) {
        if (!device.releases[to].schema) continue;
        steps.emplace_back(device.releases[to].name,
                           from == older && to == newer ? changes : compare_releases(device, from, to));
        from = to;
    }
    for (Change& change : changes) {
        if (!change.releases.empty()) continue;
        for (const auto fits : {&belongs, &resembles}) {
            if (!change.releases.empty()) break;
            for (const auto& [release, parts] : steps) {
                if (std::any_of(parts.begin(), parts.end(), [&](const Change& part) { return fits(part, change); }))
                    change.releases.push_back(release);
            }
        }
    }
    return changes;
}

}  // namespace downfit::study
