#include "second/records.h"

#include <algorithm>
#include <set>

namespace downfit::testing::second {
namespace {

struct Found {
    std::int64_t id = 0;
    Run run;
};

std::vector<Found> records_in(const json& rule, const Bits& body, std::size_t begin, std::size_t length, bool& cut) {
    std::vector<Found> records;
    std::size_t at = begin + rule.value("from", std::size_t{0});
    const std::size_t end = begin + length;
    const auto number = [&](std::size_t place, std::size_t width, bool little) {
        std::int64_t sum = 0;
        for (std::size_t i = 0; i < width; ++i) sum = sum * 256 + body[place + (little ? width - 1 - i : i)];
        return sum;
    };
    // Behind the end mark stands what an earlier preset left.
    const std::int64_t mark = rule.contains("end") ? std::stoi(rule["end"].get<std::string>(), nullptr, 16) : -1;
    while (at < end && body[at] != mark) {
        Found found;
        std::size_t value = rule.value("value", std::size_t{0});
        std::size_t head = 0;
        bool whole = true;
        for (const json& part : rule.at("head")) {
            const std::string text = part;
            const std::string what = text.substr(0, text.find(':'));
            const std::size_t width = text.find(":2") == std::string::npos ? 1 : 2;
            if (at + head + width > end) {
                whole = false;
                break;
            }
            const std::int64_t there = number(at + head, width, text.find("little") != std::string::npos);
            if (what == "id") found.id = there;
            if (what == "length") value = static_cast<std::size_t>(there);
            if (what == "version") found.run.version = there;
            head += width;
        }
        if (!whole || at + head + value > end) {
            cut = true;
            break;
        }
        found.run.begin = at + head;
        found.run.length = value;
        records.push_back(found);
        at += head + value;
    }
    return records;
}

/// The name of a record's run cut in two: the run around it, and "tag:nth/".
std::pair<std::string, std::string> cut(const std::string& run) {
    const auto slash = run.rfind('/', run.size() - 2);
    const std::size_t from = slash == std::string::npos ? 0 : slash + 1;
    return {run.substr(0, from), run.substr(from)};
}

class Finder {
public:
    Finder(const Sheet& sheet, const Bits& body, bool last_counts) : sheet_(sheet), body_(body), last_(last_counts) {
        for (const auto& [name, spot] : sheet.spots) {
            if (!spot.run.empty()) wanted_.insert(spot.run);
            if (spot.entry->says.contains("records")) inner_[spot.run] = &spot.entry->says["records"];
        }
        for (const auto& [name, line] : sheet.lines) {
            if (!line.run.empty()) wanted_.insert(line.run);
        }
    }

    void look_in(const std::string& around, const json& rule, std::size_t begin, std::size_t length) {
        std::map<std::int64_t, std::vector<Run>> by_id;
        for (const Found& found : records_in(rule, body_, begin, length, runs.cut))
            by_id[found.id].push_back(found.run);
        std::map<std::int64_t, std::size_t> taken;
        for (const std::string& run : wanted_) {
            const auto [outer, own] = cut(run);
            if (outer != around) continue;
            const std::int64_t tag = std::stoll(own);
            const auto nth = static_cast<std::size_t>(std::stoll(own.substr(own.find(':') + 1)));
            taken[tag] = std::max(taken[tag], nth);
        }
        for (const auto& [id, records] : by_id) {
            if (taken.count(id) == 0) runs.unknown = true;
        }
        for (const std::string& run : wanted_) {
            const auto [outer, own] = cut(run);
            if (outer != around) continue;
            const std::int64_t tag = std::stoll(own);
            const auto nth = static_cast<std::size_t>(std::stoll(own.substr(own.find(':') + 1)));
            const std::vector<Run>& records = by_id[tag];
            if (records.size() < nth) continue;
            const Run found = last_ && taken[tag] == 1 ? records.back() : records[nth - 1];
            runs.found[run] = found;
            if (inner_.count(run) != 0) look_in(run, *inner_[run], found.begin, found.length);
        }
    }

    Runs runs;

private:
    const Sheet& sheet_;
    const Bits& body_;
    bool last_;
    std::set<std::string> wanted_;
    std::map<std::string, const json*> inner_;
};

}  // namespace

Runs find_runs(const Manual& manual, const Sheet& sheet, const Bits& body, bool last_counts) {
    if (!manual.body().contains("records")) return {};
    Finder finder(sheet, body, last_counts);
    finder.look_in("", manual.body()["records"], 0, body.size());
    return finder.runs;
}

std::vector<std::int64_t> bits_at(const std::vector<Place>& places, const Runs& runs) {
    std::vector<std::int64_t> bits;
    for (const auto& [run, bit] : places) {
        if (run.empty()) {
            bits.push_back(bit);
            continue;
        }
        const auto found = runs.found.find(run);
        if (found == runs.found.end() || bit >= static_cast<std::int64_t>(8 * found->second.length)) continue;
        bits.push_back(static_cast<std::int64_t>(8 * found->second.begin) + bit);
    }
    return bits;
}

bool is_cut(const Manual& manual, const Sheet& sheet, const Body& body) {
    return find_runs(manual, sheet, body.bytes, false).cut;
}

}  // namespace downfit::testing::second
