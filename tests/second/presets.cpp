// Random presets for a release: bodies of places or of records.
#include <algorithm>
#include <bit>
#include <cmath>

#include "second/generate.h"

namespace downfit::testing::second {
namespace {

/// Zeros for the body, or for the value of each record that the release knows.
std::map<std::string, Bits> empty_values(const Manual& saved, const Sheet& sheet) {
    std::map<std::string, Bits> values;
    if (saved.body().contains("size")) values[""].resize(saved.body()["size"].get<std::size_t>());
    for (const auto& [name, line] : sheet.lines) {
        if (line.run.empty()) continue;
        Bits& value = values[line.run];
        for (const auto& [run, bit] : places_of(line.entry->says, line.run, line.base)) {
            value.resize(std::max(value.size(), static_cast<std::size_t>(bit / 8 + 1)));
        }
    }
    return values;
}

}  // namespace

Bits make_body(const Manual& saved, const Sheet& sheet, std::uint64_t seed, int number) {
    std::uint64_t state = seed * 0x9E3779B97F4A7C15U + static_cast<std::uint64_t>(number) * 0xBF58476D1CE4E5B9U + 1;
    const auto next = [&](std::uint64_t count) {
        state += 0x9E3779B97F4A7C15U;
        std::uint64_t mixed = state;
        mixed = (mixed ^ (mixed >> 30)) * 0xBF58476D1CE4E5B9U;
        mixed = (mixed ^ (mixed >> 27)) * 0x94D049BB133111EBU;
        return (mixed ^ (mixed >> 31)) % count;
    };
    std::map<std::string, Bits> values = empty_values(saved, sheet);
    const bool wild = next(4) == 0;
    for (auto& [run, value] : values) {
        for (std::uint8_t& byte : value) byte = static_cast<std::uint8_t>(wild ? next(256) : next(2) * next(4));
    }
    for (const auto& [name, line] : sheet.lines) {
        if (next(8) == 0) continue;
        const json& says = line.entry->says;
        Bits& body = values[line.run];
        const std::vector<Place> places = places_of(says, "", line.base);
        double wanted = static_cast<double>(next(12));
        if (!line.entry->labels.empty()) {
            wanted = static_cast<double>(line.entry->labels[next(line.entry->labels.size())].number) +
                     (next(10) == 0 ? 1 : 0);
        } else if (says.value("kind", "") == "switch") {
            wanted = next(3) == 0 ? static_cast<double>(next(3)) : says.value("on", 1.0);
        } else if (says.value("as", "") == "text") {
            for (std::size_t i = 0; i < places.size(); i += 8) {
                const auto byte = static_cast<std::size_t>(places[i].second / 8);
                if (byte < body.size()) body[byte] = static_cast<std::uint8_t>(next(12) == 0 ? 200 : "abc  "[next(5)]);
            }
            continue;
        } else if (says.value("as", "").compare(0, 5, "float") == 0) {
            const float real = static_cast<float>(next(5) == 0 ? 0.1 * static_cast<double>(next(100))
                                                               : static_cast<double>(next(15)) * 0.5);
            wanted = says["as"] == "float32" ? static_cast<double>(std::bit_cast<std::uint32_t>(real)) : 0;
            if (says["as"] == "float64") continue;
        } else if (const auto ends = stored_ends(says); next(4) != 0) {
            double low = ends.first;
            double high = ends.second;
            if (says.contains("range")) {
                low = static_cast<double>(stored_for(says["range"][0], says, nullptr).whole);
                high = static_cast<double>(stored_for(says["range"][1], says, nullptr).whole);
                if (low > high) std::swap(low, high);
            }
            const std::uint64_t what = next(8);
            wanted = what == 0   ? low
                     : what == 1 ? high
                     : what == 2 ? high + 1
                     : what == 3 ? low - 1
                                 : low + static_cast<double>(next(static_cast<std::uint64_t>(high - low) + 1));
            if (says.contains("nothing") && next(6) == 0) wanted = says["nothing"];
            if (says.value("signed", "") == "offset") wanted -= ends.first;
        }
        auto whole = static_cast<std::int64_t>(wanted);
        for (std::size_t i = places.size(); i > 0; --i, whole >>= 1) {
            const auto byte = static_cast<std::size_t>(places[i - 1].second / 8);
            if (byte >= body.size()) continue;
            const int bit = static_cast<int>(places[i - 1].second % 8);
            body[byte] = static_cast<std::uint8_t>((body[byte] & ~(1 << bit)) | static_cast<int>(whole & 1) << bit);
        }
    }
    if (!saved.body().contains("records")) return values[""];
    Bits joined;
    const auto put = [&](std::int64_t tag, const Bits& value) {
        joined.push_back(static_cast<std::uint8_t>(tag));
        joined.push_back(static_cast<std::uint8_t>(value.size()));
        joined.insert(joined.end(), value.begin(), value.end());
    };
    for (auto& [run, value] : values) {
        if (run.empty()) continue;
        const std::uint64_t what = next(24);
        if (what == 0) continue;
        if (what == 1 && !value.empty()) value.pop_back();
        if (what == 2) value.push_back(1);
        put(std::stoll(run), value);
        if (what != 3) continue;
        for (std::uint8_t& byte : value) byte = static_cast<std::uint8_t>(next(4));
        put(std::stoll(run), value);
    }
    if (next(12) == 0) put(200, {1, 2});
    if (joined.empty()) put(200, {});
    return joined;
}

}  // namespace downfit::testing::second
