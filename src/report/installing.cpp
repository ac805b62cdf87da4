#include "report/installing.h"

#include <set>

#include "report/escape.h"

namespace downfit::report {

namespace {

std::string name_of(const CheckReport& report, std::size_t release) {
    return printable(report.release(release).name);
}

/// "3.00 and 3.10".
std::string listed(const std::vector<std::string>& names) {
    std::string text;
    for (std::size_t i = 0; i < names.size(); ++i) {
        if (i > 0) text += i + 1 == names.size() ? " and " : ", ";
        text += names[i];
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
    std::vector<ClosedWay> ways;
    std::vector<std::vector<std::string>> unreachable;  // for each way the targets that it shuts off
    for (const Installing& stated : installing(report)) {
        for (const ClosedWay& closed : stated.closed) {
            std::size_t at = 0;
            while (at < ways.size() && ways[at].from != closed.from) ++at;
            if (at == ways.size()) {
                ways.push_back(closed);
                unreachable.emplace_back();
            }
            unreachable[at].push_back(name_of(report, report.targets[stated.target]));
        }
    }
    for (std::size_t i = 0; i < ways.size(); ++i) {
        append_wrapped(out,
                       "No way back: a unit on " + name_of(report, ways[i].from) + " goes back to " +
                           name_of(report, ways[i].oldest) + " at the oldest, not to " + listed(unreachable[i]) + '.',
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
