// A whole device: the first release, what the later ones change, and the presets.
#include <algorithm>
#include <bit>
#include <cmath>
#include <set>

#include "second/generate.h"

namespace downfit::testing::second {
namespace {

/// The first release, by places in the body.
class First {
public:
    First(Draws& draws, bool tagged) : draws_(draws), tagged_(tagged) {}

    json make() {
        file_ = {{"format", "downfit release 1"},
                 {"device", "wren"},
                 {"release", "1.0"},
                 {"parameters", json::object()},
                 {"groups", json::object()}};
        remember();
        const std::int64_t count = draws_.between(1, 4);
        for (std::int64_t i = 0; i < count; ++i) add_parameter("", at_);
        const std::int64_t blocks = draws_.below(5) - 2;
        for (std::int64_t i = 0; i < blocks; ++i) add_block();
        if (draws_.chance(35)) add_scenes();
        if (draws_.chance(35)) add_controls();
        size_ = at_;
        return file_;
    }

    std::int64_t size() const { return size_; }

private:
    void remember() {
        Shelf shelf;
        shelf.device = {{"releases", {"1.0", "2.0", "3.0"}}, {"layouts", json::object()}};
        shelf.releases["1.0"] = file_;
        known_ = manual_of(shelf, "1.0");
    }

    void add_parameter(const std::string& path, std::int64_t& at) {
        json says = make_parameter(draws_);
        const int number = next_++;
        if (tagged_ && path.empty())
            tag(says);
        else
            put(says, at);
        const json when = draws_.chance(25) ? make_condition(draws_, known_, number, path) : json();
        if (!when.is_null()) says["when"] = when;
        file_["parameters"][(path.empty() ? "" : path + ".") + "p" + std::to_string(number)] = says;
        remember();
    }

    std::string add(const std::string& path, const json& says) {
        const std::string id = (path.empty() ? "" : path + ".") + "p" + std::to_string(next_++);
        file_["parameters"][id] = says;
        remember();
        return id;
    }

    /// A record of its own.
    void tag(json& says) {
        says["tag"] = next_tag_++;
        if (says.contains("at") && says["at"].is_number()) says.erase("at");
    }

    /// Closes a group whose instances take `bytes` each.
    void close(const std::string& path, json group, std::int64_t count, std::int64_t bytes, std::int64_t& at) {
        bytes = std::max<std::int64_t>(bytes, 1);
        group["at"] = at;
        group["count"] = count;
        group["stride"] = bytes;
        if (tagged_ && path.find('.') == std::string::npos) {
            tag(group);
            group.erase("stride");
            file_["groups"][path] = group;
            return remember();
        }
        if (count > 1 && draws_.chance(10)) {
            group["at"] = at + bytes * (count - 1);
            group["stride"] = -bytes;
        }
        at += bytes * count;
        file_["groups"][path] = group;
        remember();
    }

    void add_block() {
        const int number = next_++;
        const std::string path = "g" + std::to_string(number);
        json group{{"kind", draws_.chance(85) ? "block" : "plain"}};
        file_["groups"][path] = group;
        std::int64_t inner = 0;
        if (group["kind"] == "block" && draws_.chance(80)) {
            json on{{"kind", "switch"}, {"at", inner++}};
            if (draws_.chance(30)) on["on"] = draws_.one_of({0, 2});
            if (draws_.chance(50)) on["default"] = draws_.chance(50);
            group["on-by"] = add(path, on);
        }
        const std::int64_t count = draws_.between(1, 2);
        for (std::int64_t i = 0; i < count; ++i) add_parameter(path, inner);
        if (group["kind"] == "block" && draws_.chance(35)) add_alternates(path, inner);
        if (draws_.chance(20)) {
            const json when = make_condition(draws_, known_, number, "");
            if (!when.is_null()) group["when"] = when;
        }
        close(path, group, draws_.between(1, 2), inner, at_);
    }

    void add_alternates(const std::string& block, std::int64_t& at) {
        const std::int64_t count = draws_.between(2, 3);
        json selector{{"at", at++}, {"range", {1, count}}, {"default", 1}};
        if (draws_.chance(50)) {
            selector["scale"] = {{"stored", {0, count - 1}}, {"value", {1, count}}};
        }
        json group{{"kind", "alternate"}, {"selected-by", add(block, selector)}};
        const std::string path = block + ".g" + std::to_string(next_++);
        file_["groups"][path] = group;
        std::int64_t inner = 0;
        add_parameter(path, inner);
        if (draws_.chance(30)) add_parameter(path, inner);
        close(path, group, count, inner, at);
    }

    /// A parameter by the name of one of its instances, or of all.
    std::string instance_of(const std::string& id) {
        std::string name;
        std::string path;
        for (std::size_t dot = id.find('.'); dot != std::string::npos; dot = id.find('.', dot + 1)) {
            path = id.substr(0, dot);
            const std::int64_t count = file_["groups"][path].value("count", 1);
            name = (name.empty() ? "" : name + ".") +
                   path.substr(path.rfind('.') == std::string::npos ? 0 : path.rfind('.') + 1);
            if (count > 1 || draws_.chance(20)) name += "[" + std::to_string(draws_.between(1, count)) + "]";
        }
        return (name.empty() ? "" : name + ".") + id.substr(id.rfind('.') == std::string::npos ? 0 : id.rfind('.') + 1);
    }

    std::vector<std::string> targets() const {
        std::vector<std::string> ids;
        for (const auto& [id, entry] : known_.parameters) {
            if (!entry.says.contains("overrides") && !entry.says.contains("refers-to") &&
                entry.says.value("as", "") != "text" && entry.says.value("at", json(0)).is_number())
                ids.push_back(id);
        }
        // Switches and selectors above all: they are what matters.
        for (const auto& [path, entry] : known_.groups) {
            for (const char* key : {"on-by", "selected-by"}) {
                if (entry.says.contains(key)) ids.insert(ids.end(), 2, entry.says[key]);
            }
        }
        return ids;
    }

    void add_scenes() {
        const std::vector<std::string> ids = targets();
        if (ids.empty()) return;
        json group{{"kind", "scene"}};
        if (draws_.chance(50)) {
            json start{{"at", at_++}, {"range", {1, 3}}, {"default", 1}};
            if (tagged_) tag(start);
            group["start-by"] = add("", start);
        }
        const std::string path = "g" + std::to_string(next_++);
        file_["groups"][path] = group;
        std::int64_t inner = 0;
        std::set<std::string> taken;
        for (std::int64_t i = draws_.between(1, 3); i > 0; --i) {
            const std::string id = draws_.one_of(ids);
            if (!taken.insert(id).second) continue;
            json says = file_["parameters"][id];
            for (const char* key : {"when", "varies", "reads", "rules", "nothing"}) says.erase(key);
            says["at"] = inner;
            inner += bytes_taken(says);
            says["overrides"] = instance_of(id);
            if (says.value("as", "").compare(0, 5, "float") != 0 && draws_.chance(90))
                says["as-base"] = static_cast<std::int64_t>(std::min(stored_ends(says).second, 127.0));
            add(path, says);
        }
        if (draws_.chance(20)) add_parameter(path, inner);
        close(path, group, draws_.between(1, 3), inner, at_);
    }

    void add_controls() {
        const std::vector<std::string> ids = targets();
        if (ids.empty()) return;
        const std::string path = "g" + std::to_string(next_++);
        json group{{"kind", draws_.chance(60) ? "controller" : "switch"}};
        file_["groups"][path] = group;
        json labels = json::object();
        const std::int64_t count = draws_.between(1, 3);
        for (std::int64_t i = 1; i <= count; ++i) labels[instance_of(draws_.one_of(ids))] = i;
        json reference{{"refers-to", "parameter"}, {"choices", labels}, {"at", 0}};
        if (draws_.chance(90)) reference["nothing"] = 0;
        std::int64_t inner = 1;
        group["controls"] = add(path, reference);
        if (group["kind"] == "controller" && draws_.chance(60)) {
            group["heel"] = add(path, {{"at", inner++}, {"range", {0, 100}}, {"unit", "%"}});
            group["toe"] = add(path, {{"at", inner++}, {"range", {0, 100}}, {"unit", "%"}, {"default", 100}});
        }
        close(path, group, draws_.between(1, 2), inner, at_);
    }

    static void put(json& says, std::int64_t& at) {
        if (says.contains("at") && says["at"].is_array()) {
            for (json& piece : says["at"]) piece["byte"] = piece["byte"].get<std::int64_t>() + at;
            at += 2;
            return;
        }
        says["at"] = at;
        at += bytes_taken(says);
    }

    Draws& draws_;
    bool tagged_;
    json file_;
    Manual known_;
    int next_ = 1;
    int next_tag_ = 1;
    std::int64_t at_ = 0, size_ = 0;
};

std::string stamp_of(const std::string& release) {
    return release.substr(0, 1);
}

}  // namespace

Scene make_scene(Draws& draws) {
    Scene scene;
    const bool tagged = draws.chance(30);
    First first(draws, tagged);
    const json one = first.make();
    json device{{"format", "downfit device 1"},
                {"device", "wren"},
                {"title", "Wren"},
                {"maker", "Quillfeather"},
                {"slots", {{"first", 1}, {"count", 128}}},
                {"assets", {{"impulse-response", {{"title", "impulse response"}, {"first", 1}, {"count", 8}}}}}};
    for (const char* release : {"1.0", "2.0", "3.0"})
        device["releases"].push_back({{"release", release}, {"stamp", std::stoi(stamp_of(release))}});
    device["layouts"]["preset"] = {{"messages",
                                    {{"preset",
                                      {{"bytes", "F0 7D 09 {slot} {stamp} {data...} F7"},
                                       {"steps", {{{"unpack", "nibbles"}, {"order", "high-first"}}}}}}}},
                                   {"preset", {"preset"}},
                                   {"body", {{"size", first.size() + draws.between(0, 3)}}}};
    if (tagged) {
        device["layouts"]["preset"]["body"] = {{"records", {{"head", {"id", "length"}}}}};
        scene.kinds.emplace_back("by tag");
    }
    device["rules"] = make_rules(draws);
    Shelf shelf;
    shelf.device = device;
    shelf.releases["1.0"] = one;
    shelf.releases["2.0"] = make_changes(draws, manual_of(shelf, "1.0"), "2.0", scene.kinds);
    const bool three = draws.chance(40);
    if (three) {
        const std::string from = draws.chance(25) ? "1.0" : "2.0";
        shelf.releases["3.0"] = make_changes(draws, manual_of(shelf, from), "3.0", scene.kinds);
    }
    for (auto& [name, file] : shelf.releases) {
        if (name == "1.0" || !draws.chance(15)) continue;
        give_revoicing(draws, manual_of(shelf, name), file);
        scene.kinds.emplace_back("revoiced");
    }
    scene.saved =
        three ? draws.one_of<std::string>({"3.0", "2.0", "1.0"}) : draws.one_of<std::string>({"2.0", "2.0", "1.0"});
    scene.loading =
        three ? draws.one_of<std::string>({"1.0", "2.0", "3.0"}) : draws.one_of<std::string>({"1.0", "2.0"});
    if (scene.loading == scene.saved && !draws.chance(5)) scene.loading = scene.saved == "1.0" ? "2.0" : "1.0";
    scene.files.emplace_back("device.json", device.dump(2));
    for (const auto& [name, file] : shelf.releases) scene.files.emplace_back(name + ".json", file.dump(2));
    return scene;
}

}  // namespace downfit::testing::second
