#include "report/installing.h"

#include <map>
#include <set>

#include "report/escape.h"

namespace downfit::report {

namespace {

std::string name_of(const CheckReport& report, std::size_t release) {
    return printable(report.release(release).name);
}

/// "3.00 and 3.10".
std::string listed(const CheckReport& report, const std::set<std::size_t>& releases) {
    std::string text;
    std::size_t left = releases.size();
    for (const std::size_t release : releases) {
        if (!text.empty()) text += left == 1 ? " and " : ", ";
        text += name_of(report, release);
        --left;
    }
    return text;
}

}  // namespace

std::vector<Installing> installing(const CheckReport& report) {
    std::set<std::size_t> saving;
    for (const PresetReport& preset : report.presets) {
        saving.insert(preset.check.saved_on.begin(), preset.check.saved_on.end());
    }
    std::vector<Installing> list;
    for (std::size_t target = 0; target < report.targets.size(); ++target) {
        const std::size_t release = report.targets[target];
        Installing stated{target, {}, {}};
        for (const std::size_t from : saving) {
            const schema::ReleaseEntry& entry = report.release(from);
            if (from <= release || !entry.schema || entry.schema->returns_to.empty()) continue;
            const auto oldest = report.device->find_release(entry.schema->returns_to);
            if (oldest && *oldest > release) stated.closed.push_back({from, *oldest});
        }
        const auto& schema = report.release(release).schema;
        if (schema) stated.erases = schema->erases;
        if (!stated.closed.empty() || !stated.erases.empty()) list.push_back(std::move(stated));
    }
    return list;
}

void append_closed_ways(std::string& out, const CheckReport& report, const Style& style) {
    struct Barrier {
        std::set<std::size_t> from, targets;  // orders of releases
    };
    std::map<std::size_t, Barrier> barriers;  // by the oldest release that may be gone back to
    for (const Installing& stated : installing(report)) {
        for (const ClosedWay& closed : stated.closed) {
            barriers[closed.oldest].from.insert(closed.from);
            barriers[closed.oldest].targets.insert(report.targets[stated.target]);
        }
    }
    for (const auto& [oldest, barrier] : barriers) {
        const std::string units = barrier.from.size() == 1 ? "a unit on " : "units on ";
        append_wrapped(out,
                       "No way back: " + units + listed(report, barrier.from) +
                           (barrier.from.size() == 1 ? " goes" : " go") + " back to " + name_of(report, oldest) +
                           " at the oldest, not to " + listed(report, barrier.targets) + '.',
                       style.width, 0, 2);
    }
}

void append_erased(std::string& out, const CheckReport& report, const Style& style) {
    for (const Installing& stated : installing(report)) {
        if (stated.erases.empty()) continue;
        std::string text = "- Installing " + name_of(report, report.targets[stated.target]) + ':';
        for (const std::string& sentence : stated.erases) text += ' ' + printable(sentence);
        append_wrapped(out, text, style.width, 0, 2);
    }
}

}  // namespace downfit::report
