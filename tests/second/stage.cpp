#include "second/stage.h"

#include <algorithm>
#include <cmath>

namespace downfit::testing::second {
namespace {

std::string says(const Spot& spot, const char* key) {
    return spot.entry->says.value(key, "");
}

bool is_control(const Spot& spot) {
    return says(spot, "kind") == "controller" || says(spot, "kind") == "switch";
}

}  // namespace

Stage::Stage(const Manual& manual, const Sheet& sheet, const Played& played)
    : manual_(manual), sheet_(sheet), played_(played) {
    std::vector<std::pair<std::vector<int>, std::string>> in_order;
    for (const auto& [name, spot] : sheet.spots) {
        if (is_control(spot)) controls_.emplace_back(&spot, target_of(spot));
        if (says(spot, "kind") != "scene") continue;
        for (const auto& [id, line] : sheet.lines) {
            if (line.spot == name && had(id).exists) {
                in_order.emplace_back(spot.numbers, name);
                break;
            }
        }
    }
    for (const auto& [name, line] : sheet.lines) {
        if (!line.entry->says.contains("overrides")) continue;
        const std::string target = sheet.meant(line.entry->says["overrides"], line.spot);
        for (const Spot* spot : sheet.around(line.spot)) overriding_[{target, spot->name}].push_back(name);
    }
    std::sort(in_order.begin(), in_order.end());
    for (const auto& [numbers, name] : in_order) scenes_.push_back(name);
    if (scenes_.empty()) {
        scenes_.emplace_back();
        start_ = scenes_.front();
        return;
    }
    start_ = scenes_.front();
    const Spot& first = sheet.spots.at(scenes_.front());
    const std::string by = sheet.meant(says(first, "start-by"), first.name);
    if (by.empty()) return;
    const auto wanted = std::llround(had(by).value);
    if (wanted >= 1 && wanted <= static_cast<long long>(scenes_.size()))
        start_ = scenes_[static_cast<std::size_t>(wanted - 1)];
}

const Had& Stage::had(const std::string& line) const {
    return played_.had.at(line);
}

std::string Stage::target_of(const Spot& control) const {
    const std::string reference = sheet_.meant(says(control, "controls"), control.name);
    if (reference.empty() || !had(reference).exists || is_nothing(had(reference).look, had(reference).now)) return {};
    for (const Label& label : *had(reference).labels) {
        if (label.number == had(reference).now.whole) return sheet_.meant(label.label, control.name);
    }
    return {};
}

bool Stage::is_idle(const Spot& control) const {
    const std::string reference = sheet_.meant(says(control, "controls"), control.name);
    return !reference.empty() && (!had(reference).exists || is_nothing(had(reference).look, had(reference).now));
}

bool Stage::is_moved(const std::string& line) const {
    return std::any_of(controls_.begin(), controls_.end(), [&](const auto& one) { return one.second == line; });
}

std::vector<Sweep> Stage::sweeps_of(const std::string& line) const {
    std::vector<Sweep> sweeps;
    std::vector<std::pair<std::vector<int>, const Spot*>> in_order;
    for (const auto& [spot, target] : controls_) {
        if (says(*spot, "kind") == "controller" && target == line) in_order.emplace_back(spot->numbers, spot);
    }
    std::sort(in_order.begin(), in_order.end());
    for (const auto& [numbers, spot] : in_order) {
        Sweep sweep;
        const std::string heel = sheet_.meant(says(*spot, "heel"), spot->name);
        const std::string toe = sheet_.meant(says(*spot, "toe"), spot->name);
        if (!heel.empty()) sweep.heel = had(heel).value / 100;
        if (!toe.empty()) sweep.toe = had(toe).value / 100;
        sweeps.push_back(sweep);
    }
    return sweeps;
}

/// The line that a scene has instead; null where it leaves it as in the preset.
const Had* Stage::overriding(const std::string& line, const std::string& scene) const {
    const auto found = overriding_.find({line, scene});
    if (found == overriding_.end()) return nullptr;
    for (const std::string& name : found->second) {
        if (had(name).exists && !is_as_base(had(name).look, had(name).now)) return &had(name);
    }
    return nullptr;
}

double Stage::in_scene(const std::string& line, const std::string& scene) const {
    const Had* instead = overriding(line, scene);
    return instead != nullptr ? instead->value : had(line).value;
}

bool Stage::is_met(const Spot& spot, const std::string& scene, bool& movable) const {
    movable = false;
    const std::string kind = says(spot, "kind");
    if (kind == "scene") return spot.name == scene;
    if (kind == "block" && spot.entry->says.contains("on-by")) {
        const std::string by = sheet_.meant(says(spot, "on-by"), spot.name);
        movable = is_moved(by);
        return in_scene(by, scene) != 0;
    }
    if (kind == "alternate" && spot.entry->says.contains("selected-by")) {
        const std::string by = sheet_.meant(says(spot, "selected-by"), spot.name);
        movable = is_moved(by);
        return std::llround(in_scene(by, scene)) == spot.numbers.back();
    }
    return true;
}

int Stage::heard_in(const std::string& spot, const Scenes& scenes) const {
    int best = dormant;
    for (const std::string& scene : scenes) {
        bool all_met = true;
        bool in_reach = true;
        for (const Spot* around : sheet_.around(spot)) {
            bool movable = false;
            const bool met = is_met(*around, scene, movable);
            all_met = all_met && met;
            in_reach = in_reach && (met || movable);
        }
        if (all_met && scene == start_) return sounding;
        if (in_reach) best = assigned;
    }
    if (best == dormant && !scenes.empty() && controls_.empty()) return standby;
    return best;
}

int Stage::activity_of_spot(const std::string& spot) const {
    for (const Spot* around : sheet_.around(spot)) {
        if (!is_control(*around)) continue;
        for (const Spot* outer : sheet_.around(spot)) {
            if (is_control(*outer) && is_idle(*outer)) return dormant;
        }
        return sounding;
    }
    return heard_in(spot, scenes_);
}

int Stage::activity_of(const std::string& name) const {
    const Line& line = sheet_.lines.at(name);
    if (line.entry->says.contains("overrides")) {
        const std::string target = sheet_.meant(line.entry->says["overrides"], line.spot);
        for (const Spot* around : sheet_.around(line.spot)) {
            if (says(*around, "kind") != "scene") continue;
            if (std::find(scenes_.begin(), scenes_.end(), around->name) == scenes_.end()) return dormant;
            return heard_in(sheet_.lines.at(target).spot, {around->name});
        }
    }
    Scenes left;
    for (const std::string& scene : scenes_) {
        if (overriding(name, scene) == nullptr) left.push_back(scene);
    }
    if (left.size() < scenes_.size()) return heard_in(line.spot, left);
    return line.spot.empty() ? static_cast<int>(sounding) : activity_of_spot(line.spot);
}

}  // namespace downfit::testing::second
