// What a later release changes.
#include <algorithm>
#include <cmath>
#include <set>

#include "second/curve.h"
#include "second/generate.h"

namespace downfit::testing::second {
namespace {

class Changes {
public:
    Changes(Draws& draws, const Manual& manual, const std::string& release, std::vector<std::string>& kinds)
        : draws_(draws), manual_(manual), release_(release), kinds_(kinds) {
        for (const auto& [id, entry] : manual.parameters) next_ = std::max(next_, number_in(id) + 1);
        for (const auto& [path, entry] : manual.groups) next_ = std::max(next_, number_in(path) + 1);
        for (const auto& [id, entry] : manual.parameters) is_free_[id] = true;
    }

    json make() {
        file_ = {{"format", "downfit release 1"}, {"device", "wren"}, {"release", release_}, {"extends", manual_.name}};
        change_size();
        const std::int64_t count = draws_.between(1, 3);
        for (std::int64_t i = 0; i < count; ++i) change_something();
        if (draws_.chance(10)) {
            note("release rules");
            give_rule(draws_, file_["rules"], false);
        }
        if (draws_.chance(6)) change_accepts();
        if (draws_.chance(6)) change_repairs();
        return file_;
    }

private:
    void note(const std::string& kind) { kinds_.push_back(kind); }

    std::int64_t size() const { return grown_ > 0 ? grown_ : manual_.body().value("size", std::int64_t{0}); }

    void change_size() {
        if (!manual_.body().contains("size") || !draws_.chance(25)) return;
        note("body longer");
        grown_ = manual_.body()["size"].get<std::int64_t>() + draws_.between(1, 4);
        file_["layouts"] = {{manual_.layouts.begin().key(), {{"body", {{"size", grown_}}}}}};
    }

    /// The changes of a parameter so far, in this file.
    json& changes_of(const std::string& id) { return file_["parameters"][id]; }

    void change_something() {
        std::vector<std::string> free;
        for (const auto& [id, is_free] : is_free_) {
            if (is_free) free.push_back(id);
        }
        if (!manual_.groups.empty() && draws_.chance(30)) return change_group();
        const std::int64_t what = draws_.below(20);
        if (free.empty() || what >= 18) return add_parameter();
        const std::string id = draws_.one_of(free);
        const Entry& entry = manual_.parameters.at(id);
        if (entry.says.contains("overrides") || entry.says.value("refers-to", "") == "parameter") return note("none");
        is_free_[id] = false;
        // What a new condition of this file asks for stays as it is.
        if (file_.dump().find("\"parameter\":\"" + id + "\"") != std::string::npos) return note("none");
        if (what >= 17) return rename(id);
        if (what >= 15) return remove(id);
        if (what >= 13) return move(id, entry);
        if (what >= 12) return change_when(id, entry);
        if (what >= 11) return change_rule(id);
        if (what >= 10) return change_varies(id, entry);
        if (what >= 9) return replace(id, entry);
        if (!entry.labels.empty()) return change_choices(id, entry);
        if (entry.says.value("kind", "") == "switch") return change_switch(id);
        if (entry.says.value("as", "") == "text") return change_text(id, entry);
        change_meaning(id, entry);
    }

    void change_meaning(const std::string& id, const Entry& entry) {
        json says = entry.says;
        give_meaning(draws_, says);
        if (entry.says.contains("refers-to")) {
            changes_of(id)["range"] = {1, draws_.between(2, 12)};
            return note("range");
        }
        const std::vector<std::string> keys{"range",   "range",   "scale", "step", "unit",
                                            "default", "neutral", "role",  "plays"};
        std::vector<std::string> chosen{draws_.one_of(keys)};
        if (chosen.front() == "scale" || draws_.chance(20))
            chosen = {"scale", "range", "plays", "step", "default", "neutral"};
        if (chosen.front() == "range") chosen.emplace_back("plays");
        json changes = json::object();
        for (const std::string& key : chosen) {
            if (key == "step" && says.contains("step") && chosen.size() == 1 && entry.says.contains("scale") &&
                !entry.says.contains("range"))
                continue;
            if (says.contains(key)) changes[key] = nullptr;
            if (entry.says.contains(key)) changes[key] = nullptr;
            if (says.contains(key)) changes[key] = says[key];
        }
        // A step that divides the scale evenly ends between two stored numbers, where rounding is a matter of digits.
        if (chosen.size() == 1 && chosen.front() == "step" && entry.says.contains("scale") && says.contains("step"))
            changes["step"] = draws_.one_of({1.37, 3.71, 0.093});
        changes_of(id) = whole(changes, entry);
        note(chosen.front());
    }

    /// A scale is merged into the old one key by key: what it does not say must be taken away.
    static json whole(json changes, const Entry& entry) {
        if (!changes.contains("scale") || !changes["scale"].is_object()) return changes;
        const json old = entry.says.value("scale", json::object());
        for (const auto& [key, value] : old.items()) {
            if (!changes["scale"].contains(key)) changes["scale"][key] = nullptr;
        }
        return changes;
    }

    void change_choices(const std::string& id, const Entry& entry) {
        json edits = json::object();
        const std::string label = draws_.one_of(entry.labels).label;
        const std::int64_t number = draws_.one_of(entry.labels).number;
        const std::string fresh = "n" + release_.substr(0, 1) + std::to_string(next_++);
        const std::string what =
            draws_.one_of<std::string>({"insert", "add", "remove", "close", "rename", "list", "numbers"});
        if ((what == "remove" || what == "close") && !spare(id, label)) return note("none");
        if (what == "rename" && varied_default(entry, label)) return note("none");
        if (what == "list") {
            for (const Label& one : entry.labels) {
                if (draws_.chance(70) || !spare(id, one.label)) edits[one.label] = one.number;
            }
            json list = json::array({fresh});
            for (const auto& [one, at] : edits.items())
                list.insert(list.begin() + draws_.below(static_cast<std::int64_t>(list.size()) + 1), one);
            edits = list;
        } else if (what == "numbers") {
            edits[label] = entry.labels.back().number + 1;
        } else if (what == "insert") {
            edits["insert"][fresh] = number;
        } else if (what == "add") {
            edits["add"][fresh] = entry.labels.back().number + draws_.between(1, 2);
        } else if (what == "rename") {
            edits["rename"][label] = fresh;
            if (draws_.chance(30)) edits["add"][label] = entry.labels.back().number + 1;
        } else {
            edits[what] = {label};
        }
        changes_of(id)["choices"] = edits;
        note("choices " + what);
    }

    /// Whether choices under a condition need that label as default or neutral: by another name they would lack it.
    static bool varied_default(const Entry& entry, const std::string& label) {
        if (entry.says.value("default", json()) != label && entry.says.value("neutral", json()) != label) return false;
        const json varies = entry.says.value("varies", json::array());
        return std::ranges::any_of(varies, [](const json& varied) { return varied.contains("choices"); });
    }

    /// Whether nothing names that label of that parameter: it may go.
    bool spare(const std::string& id, const std::string& label) const {
        if (manual_.parameters.at(id).labels.size() < 2) return false;
        const std::string quoted = "\"" + label + "\"";
        for (const char* key : {"default", "neutral"}) {
            if (manual_.parameters.at(id).says.value(key, json()) == label) return false;
        }
        for (const auto* entries : {&manual_.parameters, &manual_.groups}) {
            for (const auto& [other, entry] : *entries) {
                const std::string text = entry.says.dump();
                if (text.find("\"parameter\":\"" + id + "\"") != std::string::npos &&
                    text.find(quoted) != std::string::npos)
                    return false;
            }
        }
        if (file_.contains("parameters")) {
            const std::string text = file_["parameters"].dump();
            if (text.find("\"" + id + "\"") != std::string::npos) return false;
        }
        return true;
    }

    bool is_named(const std::string& id) const {
        const std::string quoted = "\"" + id + "\"";
        for (const auto* entries : {&manual_.parameters, &manual_.groups}) {
            for (const auto& [other, entry] : *entries) {
                if (entry.says.dump().find(quoted) != std::string::npos) return true;
                for (const Label& label : entry.labels) {
                    if (without_brackets(label.label) == id) return true;
                }
                if (entry.says.contains("overrides") && without_brackets(entry.says["overrides"]) == id) return true;
            }
        }
        return file_.dump().find(quoted) != std::string::npos;
    }

    void change_switch(const std::string& id) {
        if (draws_.chance(60))
            changes_of(id)["on"] = draws_.one_of({1, 0, 2, 127});
        else
            changes_of(id)["neutral"] = draws_.chance(50);
        note("switch");
    }

    void change_text(const std::string& id, const Entry& entry) {
        changes_of(id)["length"] = std::max<std::int64_t>(1, entry.says["length"].get<std::int64_t>() - 1);
        note("text length");
    }

    void rename(const std::string& id) {
        if (file_.dump().find("\"" + id + "\"") != std::string::npos) return note("none");
        const std::string now = id + "-" + release_.substr(0, 1);
        changes_of(now)["renamed-from"] = id;
        if (draws_.chance(30) && manual_.parameters.at(id).labels.empty()) {
            json says = manual_.parameters.at(id).says;
            for (const char* key : {"when", "varies", "reads", "overrides", "as-base"}) says.erase(key);
            changes_of(id) = says;
            note("rename, another under the old name");
            return;
        }
        note("rename");
    }

    void remove(const std::string& id) {
        if (is_named(id) || manual_.parameters.size() < 2) return note("none");
        changes_of(id) = nullptr;
        note("remove");
        if (draws_.chance(50)) add_parameter();
    }

    void move(const std::string& id, const Entry& entry) {
        if (entry.says.contains("tag") || !entry.says.value("at", json()).is_number() ||
            id.find('.') != std::string::npos)
            return note("none");
        changes_of(id)["at"] = draws_.below(std::max<std::int64_t>(1, size() - bytes_taken(entry.says) + 1));
        note("move");
    }

    void change_when(const std::string& id, const Entry& entry) {
        if (entry.says.contains("when")) {
            changes_of(id)["when"] = nullptr;
            return note("when lifted");
        }
        const json when = make_condition(draws_, manual_, number_in(id), group_of(id));
        if (when.is_null() || breaks(when)) return note("none");
        changes_of(id)["when"] = when;
        note("when");
    }

    static std::string group_of(const std::string& id) {
        const auto dot = id.rfind('.');
        return dot == std::string::npos ? "" : id.substr(0, dot);
    }

    /// Whether a condition asks for something that this file changes: labels may be gone, names others.
    bool breaks(const json& condition) const {
        if (condition.is_object() && condition.contains("parameter"))
            return !is_free_.at(without_brackets(condition["parameter"]));
        if (!condition.is_structured()) return false;
        return std::any_of(condition.begin(), condition.end(), [&](const json& part) { return breaks(part); });
    }

    void change_rule(const std::string& id) {
        give_rule(draws_, changes_of(id)["rules"], true);
        note("parameter rule");
    }

    void change_varies(const std::string& id, const Entry& entry) {
        const json when = make_condition(draws_, manual_, number_in(id), group_of(id));
        if (when.is_null() || breaks(when)) return note("none");
        json varied{{"when", when}};
        if (!entry.labels.empty()) {
            json labels = json::object();
            std::int64_t number = draws_.below(2);
            for (const Label& label : entry.labels) labels[label.label] = number++;
            if (draws_.chance(50)) labels["v" + release_.substr(0, 1) + std::to_string(next_++)] = number;
            varied["choices"] = labels;
        } else if (kind_of(entry.says, nullptr) == "number") {
            json says = entry.says;
            give_meaning(draws_, says);
            for (const char* key : {"range", "scale", "default", "neutral", "unit", "step"}) {
                if (says.contains(key)) varied[key] = says[key];
            }
            if (varied.contains("step") && !varied.contains("range")) varied.erase("step");
        } else {
            return note("none");
        }
        const bool read =
            draws_.chance(30) && entry.labels.empty() && !entry.says.contains("tag") && group_of(id).empty();
        if (read) {
            varied.erase("default");
            varied.erase("neutral");
            if (draws_.chance(70) && entry.says.value("at", json()).is_number()) {
                varied["at"] = draws_.below(std::max<std::int64_t>(1, size() - bytes_taken(entry.says) + 1));
                for (const char* key : {"as", "order", "bit", "width", "signed"}) {
                    if (entry.says.contains(key)) varied[key] = entry.says[key];
                }
            }
            for (const char* key : {"range", "step", "unit"}) varied.erase(key);
        }
        changes_of(id)[read ? "reads" : "varies"] = {varied};
        note(read ? "reads" : "varies");
    }

    /// Something quite different under the same name, at the same place.
    void replace(const std::string& id, const Entry& entry) {
        if (is_named(id) || entry.says.contains("tag")) return note("none");
        json says = make_parameter(draws_);
        if (says.contains("at") || !entry.says.value("at", json()).is_number()) return note("none");
        const std::int64_t room =
            group_of(id).empty() ? size() - entry.says["at"].get<std::int64_t>() : bytes_taken(entry.says);
        if (bytes_taken(says) > room) return note("none");
        json changes = json::object();
        for (const auto& [key, value] : entry.says.items()) changes[key] = nullptr;
        if (!entry.labels.empty()) changes["choices"] = nullptr;
        says["at"] = entry.says["at"];
        for (const auto& [key, value] : says.items()) changes[key] = value;
        if (changes["choices"].is_object()) {  // laid over the old ones, as all in a release that extends another
            for (const Label& old : entry.labels) {
                if (!changes["choices"].contains(old.label)) changes["choices"][old.label] = nullptr;
            }
        }
        changes_of(id) = whole(changes, entry);
        note("replaced");
    }

    void add_parameter() {
        json says = make_parameter(draws_);
        const std::int64_t taken = says.contains("at") ? 2 : bytes_taken(says);
        if (manual_.body().contains("records")) return add_tagged(says);
        if (taken > size()) return note("none");
        const bool fresh = grown_ > 0 && draws_.chance(60);
        const std::int64_t at = fresh ? size() - taken : draws_.below(size() - taken + 1);
        if (says.contains("at")) {
            for (json& piece : says["at"]) piece["byte"] = piece["byte"].get<std::int64_t>() + at;
        } else {
            says["at"] = at;
        }
        const int number = next_++;
        if (draws_.chance(40)) {
            const json when = make_condition(draws_, manual_, number, "");
            if (!when.is_null() && !breaks(when)) says["when"] = when;
        }
        changes_of("p" + std::to_string(number)) = says;
        note("add");
    }

    void add_tagged(json says) {
        // A record of its own, or one that the older release knows as something else.
        says["tag"] = 100 + next_;
        if (!manual_.parameters.empty()) {
            const std::string other =
                draws_.one_of<std::string>({manual_.parameters.begin()->first, manual_.parameters.rbegin()->first});
            if (draws_.chance(20)) says["tag"] = manual_.parameters.at(other).says.value("tag", 100 + next_);
        }
        changes_of("p" + std::to_string(next_++)) = says;
        note("add");
    }

    bool names_inside(const std::string& path) const {
        for (const auto& [id, is_free] : is_free_) {
            if (!is_free && id.compare(0, path.size() + 1, path + ".") == 0) return true;
        }
        return file_.dump().find("\"" + path) != std::string::npos;
    }

    void change_group() {
        std::vector<std::string> paths;
        for (const auto& [path, entry] : manual_.groups) paths.push_back(path);
        const std::string path = draws_.one_of(paths);
        const Entry& entry = manual_.groups.at(path);
        if (!changed_groups_.insert(path).second) return note("none");
        const bool inner = path.find('.') != std::string::npos;
        const std::int64_t what = draws_.below(10);
        if (what < 3) return change_count(path, entry);
        if (what < 5) return rename_group(path);
        if (what < 6) return remove_group(path);
        if (what < 7) {
            if (entry.says.contains("when")) {
                file_["groups"][path]["when"] = nullptr;
                return note("group when lifted");
            }
            const json when = make_condition(draws_, manual_, number_in(path), "");
            if (when.is_null() || breaks(when) || inner) return note("none");
            file_["groups"][path]["when"] = when;
            return note("group when");
        }
        if (what < 8 && (entry.says.contains("on-by") || entry.says.contains("selected-by"))) {
            file_["groups"][path][entry.says.contains("on-by") ? "on-by" : "selected-by"] = nullptr;
            return note("no switch or selector any more");
        }
        if (inner || grown_ == 0 || entry.says.value("stride", std::int64_t{1}) < 0) return note("none");
        const std::int64_t at = entry.says.value("at", std::int64_t{0});
        const std::int64_t length = entry.says.value("count", 1) * entry.says.value("stride", std::int64_t{1});
        file_["groups"][path]["at"] = std::min(at + 1, grown_ - length);
        note("group moved");
    }

    void change_count(const std::string& path, const Entry& entry) {
        const std::int64_t count = entry.says.value("count", 1);
        const std::int64_t stride = entry.says.value("stride", std::int64_t{1});
        const bool inner = path.find('.') != std::string::npos;
        const bool up = !inner && stride > 0 && draws_.chance(50);
        if (!up && (count < 2 || names_brackets(path))) return note("none");
        file_["groups"][path]["count"] = up ? count + 1 : count - 1;
        if (up && manual_.body().contains("size")) {
            grown_ = std::max(size(), entry.says.value("at", std::int64_t{0}) + stride * (count + 1));
            file_["layouts"] = {{manual_.layouts.begin().key(), {{"body", {{"size", grown_}}}}}};
        }
        note(up ? "group count up" : "group count down");
    }

    /// Whether somebody names an instance of a group.
    bool names_brackets(const std::string& path) const {
        for (const auto& [id, entry] : manual_.parameters) {
            const std::string text = without_brackets(entry.says.value("overrides", ""));
            if (text.compare(0, path.size() + 1, path + ".") == 0) return true;
            for (const Label& label : entry.labels) {
                if (without_brackets(label.label).compare(0, path.size() + 1, path + ".") == 0) return true;
            }
        }
        return false;
    }

    void rename_group(const std::string& path) {
        if (names_inside(path)) return note("none");
        file_["groups"][path + "-" + release_.substr(0, 1)]["renamed-from"] = path;
        forget(path);
        note("group renamed");
    }

    void remove_group(const std::string& path) {
        bool named = names_inside(path) || names_brackets(path);
        for (const auto* entries : {&manual_.parameters, &manual_.groups}) {
            for (const auto& [id, entry] : *entries) {
                const bool is_inside = id == path || id.compare(0, path.size() + 1, path + ".") == 0;
                named = named || (!is_inside && entry.says.dump().find("\"" + path + ".") != std::string::npos);
            }
        }
        if (named || manual_.groups.size() == manual_.parameters.size()) return note("none");
        file_["groups"][path] = nullptr;
        forget(path);
        note("group removed");
    }

    /// Nothing inside may be changed any more in this file, nor what is around.
    void forget(const std::string& path) {
        for (auto& [id, is_free] : is_free_) {
            if (id.compare(0, path.size() + 1, path + ".") == 0) is_free = false;
        }
        for (const auto& [other, entry] : manual_.groups) {
            const bool is_inside = other.compare(0, path.size() + 1, path + ".") == 0;
            const bool is_around = path.compare(0, other.size() + 1, other + ".") == 0;
            if (is_inside || is_around) changed_groups_.insert(other);
        }
    }

    void change_accepts() {
        json accept{{"refuses", "preset"}};
        const std::int64_t what = draws_.below(4);
        if (what == 0)
            accept["slot"] = {{"at-most", draws_.between(50, 100)}};
        else if (what == 1)
            accept["bytes"] = {{"at", 0}, {"are", "00"}};
        else if (what == 2)
            accept["stamp"] = {{draws_.one_of<std::string>({"at-most", "at-least", "is"}),
                                draws_.one_of<std::string>({"1.0", "2.0"})}};
        else
            accept["stamp"] = {{"is", {"1.0", draws_.one_of<std::string>({"2.0", "3.0"})}}};
        file_["accepts"] = json::array({accept});
        note("accepts");
    }

    void change_repairs() {
        file_["repairs"] = json::array({{{"if",
                                          {{"at", draws_.below(std::max<std::int64_t>(1, size() - 1))},
                                           {"bytes", draws_.one_of<std::string>({"00", "01", "03"})}}},
                                         {"read-as", draws_.one_of<std::string>({"02", "00"})}}});
        note("repairs");
    }

    Draws& draws_;
    const Manual& manual_;
    const std::string release_;
    std::vector<std::string>& kinds_;
    json file_;
    std::map<std::string, bool> is_free_;
    std::set<std::string> changed_groups_;
    int next_ = 1;
    std::int64_t grown_ = 0;
};

}  // namespace

json make_changes(Draws& draws, const Manual& manual, const std::string& release, std::vector<std::string>& kinds) {
    return Changes(draws, manual, release, kinds).make();
}

}  // namespace downfit::testing::second
