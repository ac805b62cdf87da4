#include "second/sheet.h"

#include <algorithm>

#include "second/held.h"

namespace downfit::testing::second {
namespace {

std::vector<std::string> steps_of(const std::string& id) {
    std::vector<std::string> steps(1);
    for (const char c : id) {
        if (c == '.')
            steps.emplace_back();
        else
            steps.back() += c;
    }
    return steps;
}

std::string path_around(const std::string& id) {
    const auto dot = id.rfind('.');
    return dot == std::string::npos ? std::string() : id.substr(0, dot);
}

std::string last_step(const std::string& id) {
    return steps_of(id).back();
}

std::string joined(const std::vector<int>& numbers) {
    std::string text;
    for (const int number : numbers) text += "#" + std::to_string(number);
    return text;
}

std::string record(const std::string& run, std::int64_t tag, int nth) {
    return run + std::to_string(tag) + ":" + std::to_string(nth) + "/";
}

/// Which record with its tag an instance of a group takes: the how-manieth instance it is in its run.
class Sheets {
public:
    explicit Sheets(const Manual& manual) : manual_(manual) {}

    Sheet make() {
        add_groups("", nullptr);
        for (const auto& [id, entry] : manual_.parameters) {
            const std::string path = path_around(id);
            if (path.empty()) add_line(id, entry, nullptr);
            for (const std::string& name : in_order_) {
                if (sheet_.spots[name].path == path && !path.empty()) add_line(id, entry, &sheet_.spots[name]);
            }
        }
        return sheet_;
    }

private:
    void add_groups(const std::string& path, const Spot* parent) {
        for (const auto& [inner, entry] : manual_.groups) {
            if (path_around(inner) != path) continue;
            const int count = entry.says.value("count", 1);
            for (int number = 1; number <= count; ++number) {
                Spot spot;
                spot.path = inner;
                spot.entry = &entry;
                spot.name = last_step(inner) + (count > 1 ? "[" + std::to_string(number) + "]" : "");
                spot.base = entry.says.value("at", std::int64_t{0}) +
                            entry.says.value("stride", std::int64_t{0}) * (number - 1);
                if (parent != nullptr) {
                    spot.name = parent->name + "." + spot.name;
                    spot.parent = parent->name;
                    spot.numbers = parent->numbers;
                    spot.run = parent->run;
                    spot.inner_run = parent->inner_run;
                    if (!entry.says.contains("tag")) spot.base += parent->base;
                }
                spot.numbers.push_back(number);
                if (entry.says.contains("tag")) {
                    const std::string around = spot.inner_run;
                    const std::int64_t tag = entry.says["tag"];
                    spot.run = record(around, tag, ++groups_met_[{around, inner}]);
                }
                if (entry.says.contains("records")) spot.inner_run = spot.run;
                spot.key = entry.origin + joined(spot.numbers);
                const std::string name = spot.name;
                sheet_.spots[name] = spot;
                in_order_.push_back(name);
                add_groups(inner, &spot);
            }
        }
    }

    void add_line(const std::string& id, const Entry& entry, const Spot* spot) {
        Line line;
        line.id = id;
        line.entry = &entry;
        line.name = last_step(id);
        line.key = entry.origin;
        std::string around;
        if (spot != nullptr) {
            line.name = spot->name + "." + line.name;
            line.spot = spot->name;
            line.run = spot->run;
            line.base = spot->base;
            line.key += joined(spot->numbers);
            around = spot->inner_run;
        }
        if (entry.says.contains("tag")) {
            line.run = record(around, entry.says["tag"], ++lines_met_[{around, id}]);
            line.base = 0;
        }
        const int elements = entry.says.contains("list") ? entry.says["list"].value("count", 1) : 0;
        if (elements == 0) sheet_.lines[line.name] = line;
        for (int element = 1; element <= elements; ++element) {
            Line one = line;
            one.element = element;
            one.name += "[" + std::to_string(element) + "]";
            one.key += "/" + std::to_string(element);
            one.base += entry.says["list"].value("stride", std::int64_t{1}) * (element - 1);
            sheet_.lines[one.name] = one;
        }
    }

    const Manual& manual_;
    Sheet sheet_;
    std::vector<std::string> in_order_;
    std::map<std::pair<std::string, std::string>, int> groups_met_, lines_met_;
};

std::int64_t bytes_of(const std::string& as) {
    if (as == "uint16" || as == "int16") return 2;
    if (as == "uint24" || as == "int24") return 3;
    if (as == "uint32" || as == "int32" || as == "float32") return 4;
    return as == "float64" ? 8 : 1;
}

}  // namespace

std::string Sheet::meant(const std::string& id, const std::string& from) const {
    std::vector<std::string> steps = steps_of(id);
    std::string path;
    std::string name;
    for (std::size_t i = 0; i + 1 < steps.size(); ++i) {
        const std::string plain = without_brackets(steps[i]);
        path += (i == 0 ? "" : ".") + plain;
        // The own instance, where the paths agree or a group is called the same; else the first.
        std::string number = steps[i] == plain ? "" : steps[i].substr(plain.size());
        if (number.empty()) {
            for (const Spot* spot : around(from)) {
                if (spot->path == path && number.empty()) number = "[" + std::to_string(spot->numbers.back()) + "]";
            }
            for (const Spot* spot : around(from)) {
                if (last_step(spot->path) == plain && number.empty())
                    number = "[" + std::to_string(spot->numbers.back()) + "]";
            }
        }
        if (number.empty()) number = "[1]";
        const std::string before = name.empty() ? "" : name + ".";
        if (spots.count(before + plain + number) != 0)
            name = before + plain + number;
        else if (number == "[1]" && spots.count(before + plain) != 0)
            name = before + plain;
        else
            return {};
    }
    name += (name.empty() ? "" : ".") + steps.back();
    return lines.count(name) != 0 ? name : std::string();
}

std::vector<const Spot*> Sheet::around(const std::string& spot) const {
    std::vector<const Spot*> chain;
    for (std::string at = spot; !at.empty(); at = spots.at(at).parent) chain.push_back(&spots.at(at));
    return chain;
}

Sheet sheet_of(const Manual& manual) {
    Sheet sheet = Sheets(manual).make();
    sheet.hangs = bearing_lines(sheet);
    return sheet;
}

std::vector<Place> places_of(const json& says, const std::string& run, std::int64_t base) {
    std::vector<Place> places;
    const auto add = [&](std::int64_t byte, std::int64_t bit, std::int64_t width) {
        for (std::int64_t i = width - 1; i >= 0; --i) places.emplace_back(run, (base + byte) * 8 + bit + i);
    };
    const json at = says.value("at", json(0));
    const std::string as = says.value("as", "uint8");
    if (at.is_array()) {
        for (const json& piece : at) add(piece.at("byte"), piece.value("bit", 0), piece.value("width", 8));
    } else if (as == "text") {
        for (std::int64_t i = 0; i < says.at("length").get<std::int64_t>(); ++i) add(at.get<std::int64_t>() + i, 0, 8);
    } else if (as == "bits") {
        add(at, says.value("bit", 0), says.value("width", 1));
    } else {
        const std::int64_t count = bytes_of(as);
        const bool little = says.value("order", "big") == "little";
        for (std::int64_t i = 0; i < count; ++i) {
            add(at.get<std::int64_t>() + (little ? count - 1 - i : i), 0, 8);
        }
    }
    return places;
}

}  // namespace downfit::testing::second
