#include "schema/read_parameter.h"

#include <algorithm>
#include <array>
#include <map>
#include <utility>

#include "base/near_miss.h"
#include "schema/ids.h"
#include "schema/marks.h"
#include "schema/read_named.h"
#include "schema/words.h"

namespace downfit::schema {

namespace {

constexpr std::array<std::string_view, 41> parameter_keys{
    "at",        "as",           "order",      "bit",   "width",         "signed", "length",    "encoding", "padding",
    "kind",      "scale",        "unit",       "range", "plays",         "step",   "default",   "neutral",  "choices",
    "on",        "refers-to",    "nothing",    "role",  "when",          "varies", "overrides", "as-base",  "scope",
    "rules",     "renamed-from", "documented", "title", "source",        "note",   "tag",       "reads",    "list",
    "refers-by", "path",         "written",    "in",    "true-to-device"};
constexpr std::array<std::string_view, 10> varied_keys{"when", "scale",   "unit",    "range",   "plays",
                                                       "step", "default", "neutral", "choices", "role"};
constexpr std::array<std::string_view, 9> storage_keys{"at",     "as",     "order",    "bit",    "width",
                                                       "signed", "length", "encoding", "padding"};
constexpr std::array<std::string_view, 3> list_keys{"count", "stride", "count-by"};
constexpr std::array<std::string_view, 4> own_targets{"parameter", "scene", "block", "preset"};
constexpr std::int64_t longest_list = 100'000;

static_assert(static_cast<std::size_t>(Kind::opaque) + 1 == kind_words.size());
static_assert(static_cast<std::size_t>(Scope::unit) + 1 == scope_words.size());

static_assert(static_cast<std::size_t>(RefersBy::hash) + 1 == refers_by_words.size());

/// The keys of an item of `reads`: a place and what it means.
std::vector<std::string_view> read_keys() {
    std::vector<std::string_view> keys(varied_keys.begin(), varied_keys.end());
    keys.insert(keys.end(), storage_keys.begin(), storage_keys.end());
    return keys;
}

/// Whether scales and ranges make sense of it.
bool is_number(const Parameter& parameter) {
    if (parameter.kind == Kind::reference) return !parameter.plain.choices && parameter.refers_by == RefersBy::number;
    return parameter.kind == Kind::whole || parameter.kind == Kind::real || parameter.kind == Kind::opaque;
}

class ParameterReader {
public:
    ParameterReader(const Context& context, const std::vector<Group>& groups, const std::vector<std::string>& assets)
        : context_(context), problems_(context.problems), groups_(groups), shared_(context.release) {
        targets_.assign(own_targets.begin(), own_targets.end());
        targets_.insert(targets_.end(), assets.begin(), assets.end());
        for (std::size_t g = 0; g < groups.size(); ++g) group_index_.emplace(groups[g].path, static_cast<int>(g));
    }

    Parameter read(const RawEntry& entry) {
        Parameter parameter;
        parameter.id = entry.id;
        parameter.meaning = entry.meaning;
        parameter.place = entry.node->key_place();
        const ObjectReader reader(*entry.node, "a parameter", parameter_keys, problems_);
        if (!reader.ok()) return parameter;
        find_group(entry, parameter);
        (void)reader.word("kind", kind_words);
        parameter.kind = kind_of(context_.release, entry);
        const auto by = reader.word("refers-by", refers_by_words);
        if (by || reader.has("refers-by")) parameter.refers_by = static_cast<RefersBy>(by.value_or(1));
        parameter.tag = reader.whole("tag", tag_numbers);
        read_own_place(reader, parameter);
        read_meanings(reader, entry, parameter);
        read_words(reader, parameter);
        if (const Node* reads = reader.find("reads")) read_reads(*reads, entry, parameter);
        if (const Node* list = reader.find("list")) read_list_of_values(*list, parameter);
        read_reference_keys(reader, entry, parameter);
        read_scene_keys(reader, parameter);
        if (const Node* when = reader.find("when")) parameter.when = read_condition(*when, context_);
        parameter.on = whole_of(reader, "on", parameter.kind == Kind::on_off, "a switch").value_or(1);
        parameter.scope = static_cast<Scope>(reader.word("scope", scope_words).value_or(0));
        if (const Node* rules = reader.find("rules")) {
            parameter.rules = read_rules(*rules, true, problems_);
            parameter.rule_places = rule_places(*rules);
        }
        parameter.observed = reader.word("documented", documented_words) == std::size_t{1};
        parameter.title = reader.text("title");
        parameter.source = reader.text("source");
        parameter.note = reader.text("note");
        if (const Node* marks = reader.find("true-to-device")) check_marks(*marks, problems_);
        return parameter;
    }

private:
    void find_group(const RawEntry& entry, Parameter& parameter) {
        const auto steps = parse_id(entry.id);
        if (!steps || plain_id(*steps) != entry.id) {
            report(problems_, parameter.place, quoted(entry.id) + " is not a parameter id",
                   "names of lower-case letters, digits and \"-\", joined by points");
            return;
        }
        const std::string_view path = group_part(entry.id);
        if (path.empty()) return;
        const auto at = group_index_.find(std::string(path));
        if (at != group_index_.end()) {
            parameter.group = at->second;
            return;
        }
        report(problems_, parameter.place, "there is no group " + quoted(path) + " for " + quoted(entry.id),
               "a group described in \"groups\"", did_you_mean(path, context_.release.groups.ids()));
    }

    /// Where it stands: at a byte, in a record, at a path, or (in this layout) nowhere.
    void read_own_place(const ObjectReader& reader, Parameter& parameter) {
        if (const Node* path = reader.find("path")) {
            const bool pointer = !path->is(Node::Kind::text) || is_pointer(path->text);
            parameter.path = read_path(*path, pointer ? Notation::json : Notation::xml, true, problems_).value_or("");
            parameter.storage = read_named_storage(reader, parameter.kind, path->text);
            parameter.tag.reset();
            return;
        }
        if (reader.has("in") && !reader.has("at") && !reader.has("tag")) {
            parameter.storage.notation = Notation::json;
            if (parameter.kind == Kind::text) parameter.storage.coding = Coding::text;
            if (parameter.kind == Kind::real) parameter.storage.coding = Coding::float64;
            return;
        }
        parameter.storage = read_place(reader, parameter, !reader.has("tag"));
    }

    /// Which texts stand for the numbers of choices and switches.
    void read_words(const ObjectReader& reader, Parameter& parameter) {
        const Node* written = reader.find("written");
        const bool names = parameter.kind == Kind::on_off || (parameter.plain.choices && by_label(parameter));
        if (written && !(names && parameter.path)) {
            report(problems_, written->key_place(), "\"written\" means nothing here",
                   "\"written\" of a switch, or of a choice with \"as\": \"text\", that has a \"path\"");
        }
        if (!names || !parameter.path) return;
        const bool is_switch = parameter.kind == Kind::on_off;
        std::vector<Word> words;
        const auto add = [&](const std::string& label, std::int64_t number) {
            const Node* text = written ? written->find(label) : nullptr;
            const auto other = text ? read_text(*text, problems_) : std::nullopt;
            words.push_back({other.value_or(label), number});
        };
        if (is_switch) {
            if (written) add("on", parameter.on);
            if (written) add("off", parameter.on == 0 ? 1 : 0);
        } else {
            for (const Choice& choice : parameter.plain.choices->choices) add(choice.label, choice.number);
        }
        if (written) check_written(*written, is_switch, parameter);
        if (written) check_texts(*written, words, is_switch, parameter);
        if (words.empty()) return;
        parameter.storage.words = std::make_shared<const std::vector<Word>>(std::move(words));
        parameter.storage.coding = Coding::twos_complement;
    }

    static bool by_label(const Parameter& parameter) {
        return parameter.refers_by == RefersBy::number && parameter.storage.coding == Coding::text &&
               parameter.storage.notation != Notation::bytes;
    }

    void check_written(const Node& written, bool is_switch, const Parameter& parameter) {
        std::vector<std::string_view> labels;
        if (is_switch) labels = {"on", "off"};
        for (std::size_t i = 0; !is_switch && i < parameter.plain.choices->choices.size(); ++i) {
            labels.push_back(parameter.plain.choices->choices[i].label);
        }
        (void)ObjectReader(written, "how labels are written", labels, problems_);
    }

    /// One text for two labels: the second would never be read.
    void check_texts(const Node& written, const std::vector<Word>& words, bool is_switch, const Parameter& parameter) {
        const auto label = [&](std::size_t i) -> std::string {
            if (is_switch) return i == 0 ? "on" : "off";
            return parameter.plain.choices->choices[i].label;
        };
        std::map<std::string_view, std::size_t> first;
        for (std::size_t i = 0; i < words.size(); ++i) {
            const auto [at, fresh] = first.emplace(words[i].text, i);
            if (fresh) continue;
            const Node* own = written.find(label(i));
            const Node* other = own ? own : written.find(label(at->second));
            if (!other) continue;
            report(problems_, other->value_place(),
                   quoted(words[i].text) + " stands for " + quoted(label(at->second)) + " and for " + quoted(label(i)),
                   "one text for each label");
        }
    }

    Storage read_place(const ObjectReader& reader, const Parameter& parameter, bool at_needed) {
        const bool by_text = parameter.refers_by != RefersBy::number;
        const bool may_be_text = parameter.kind == Kind::text || parameter.kind == Kind::opaque || by_text;
        Storage storage = read_storage(reader, parameter.kind, may_be_text, at_needed);
        if (by_text && parameter.kind == Kind::reference && storage.coding != Coding::text) {
            report(problems_, reader.node().key_place(),
                   "a reference by " + quoted(word_of(parameter.refers_by)) + " stored as a number",
                   "\"as\": \"text\"");
        }
        return storage;
    }

    static std::string_view word_of(RefersBy by) { return refers_by_words[static_cast<std::size_t>(by)]; }

    void read_reads(const Node& node, const RawEntry& entry, Parameter& parameter) {
        const auto* items = read_list(node, "places with \"when\"", problems_);
        const std::vector<std::string_view> keys = read_keys();
        for (std::size_t i = 0; items && i < items->size(); ++i) {
            const ObjectReader reader(*(*items)[i], "a place that is tried first", keys, problems_);
            const Node* when = reader.need("when");
            const auto condition = when ? read_condition(*when, context_) : std::nullopt;
            Read read{condition.value_or(Condition{}), parameter.storage, {}};
            const auto has = [&](std::string_view key) { return reader.has(key); };
            if (parameter.path && std::ranges::any_of(storage_keys, has)) {
                const auto words = read.storage.words;
                read.storage = read_named_storage(reader, parameter.kind, *parameter.path);
                read.storage.words = words;
            } else if (std::ranges::any_of(storage_keys, has)) {
                read.storage = read_place(reader, parameter, !parameter.tag);
            }
            read.meaning = changed_meaning(reader, entry, parameter);
            parameter.reads.push_back(std::move(read));
        }
    }

    void read_list_of_values(const Node& node, Parameter& parameter) {
        const ObjectReader reader(node, "a list of values", list_keys, problems_);
        const Node* stride = reader.find("stride");
        if (parameter.path && stride) {
            report(problems_, stride->key_place(), "\"stride\" beside \"path\"", "one of the two");
        }
        const Node* count = reader.need("count");
        const auto most = count ? read_whole(*count, {1, longest_list}, problems_) : std::nullopt;
        parameter.list_count = static_cast<int>(most.value_or(1));
        const std::int64_t bytes = last_byte(parameter.storage) - first_byte(parameter.storage) + 1;
        parameter.list_stride = reader.whole("stride", any_place).value_or(bytes);
        if (parameter.list_stride == 0 && stride)
            report_found(problems_, *reader.find("stride"), "the bytes from one value to the next");
        const Node* by = reader.find("count-by");
        if (by && read_number_reference(*by, context_)) parameter.count_by = by->text;
    }

    /// A whole number that only some parameters have.
    std::optional<std::int64_t> whole_of(const ObjectReader& reader, std::string_view key, bool fits,
                                         std::string_view owner) {
        const Node* node = reader.find(key);
        if (!node) return std::nullopt;
        if (!fits)
            report(problems_, node->key_place(), quoted(key) + " means nothing here",
                   quoted(key) + " only of " + std::string(owner));
        return read_whole(*node, any_whole, problems_);
    }

    void read_meanings(const ObjectReader& reader, const RawEntry& entry, Parameter& parameter) {
        const auto own = context_.release.choices.find(entry.id);
        const bool has_choices = own != context_.release.choices.end();
        const bool may_have = parameter.kind == Kind::choice || parameter.kind == Kind::reference;
        if (has_choices && !may_have) {
            report(problems_, own->second.place, "choices of a parameter of kind " + quoted(kind_name(parameter.kind)),
                   "kind \"choice\" or \"reference\"");
        } else if (!has_choices && parameter.kind == Kind::choice) {
            report(problems_, parameter.place, "\"choices\" is missing", "a choice with \"choices\"");
        }
        if (has_choices) parameter.plain.choices = shared_.get(own->second, problems_);
        for (const std::string_view key : {"scale", "step", "range", "plays"}) {
            const Node* node = reader.find(key);
            if (!node || is_number(parameter)) continue;
            report(problems_, node->key_place(),
                   quoted(key) + " of a parameter of kind " + quoted(kind_name(parameter.kind)),
                   "kind \"whole\" or \"real\"");
        }
        const SettingTarget target = plain_target(entry, parameter);
        parameter.plain = read_meaning(reader, std::move(parameter.plain), target, problems_);
        if (const Node* varies = reader.find("varies")) read_varies(*varies, entry, parameter);
    }

    SettingTarget plain_target(const RawEntry& entry, const Parameter& parameter) const {
        const bool by_text = parameter.refers_by != RefersBy::number;
        return {by_text ? Kind::text : parameter.kind, context_.release.choices_of(entry.id), nothing_of(entry)};
    }

    void read_varies(const Node& node, const RawEntry& entry, Parameter& parameter) {
        const auto* items = read_list(node, "attributes with \"when\"", problems_);
        for (std::size_t i = 0; items && i < items->size(); ++i) {
            const ObjectReader reader(*(*items)[i], "attributes that vary", varied_keys, problems_);
            const Node* when = reader.need("when");
            const auto condition = when ? read_condition(*when, context_) : std::nullopt;
            parameter.varies.push_back({condition.value_or(Condition{}), changed_meaning(reader, entry, parameter)});
        }
    }

    /// The plain meaning with what `reader` says differently laid over it.
    Meaning changed_meaning(const ObjectReader& reader, const RawEntry& entry, const Parameter& parameter) {
        Meaning meaning = parameter.plain;
        SettingTarget target = plain_target(entry, parameter);
        WrittenChoices written;
        if (const Node* choices = reader.find("choices")) {
            const WrittenChoices named = named_in(*choices, target.choices);
            written = apply_choices(&named, *choices, false, context_.release.name, problems_);
            meaning.choices = shared_.get(written, problems_);
            const auto list = context_.release.lists.find(written.list);
            const bool known = written.shared() && list != context_.release.lists.end();
            target.choices = known ? &list->second : &written;
            check_settings_left(reader, target, meaning);
        }
        return read_meaning(reader, std::move(meaning), target, problems_);
    }

    /// The plain choices whose labels `written` has too. Choices that vary replace the plain ones, but mean the same.
    static WrittenChoices named_in(const Node& written, const WrittenChoices* plain) {
        WrittenChoices named;
        const auto is_named = [&](const WrittenChoice& entry) {
            const auto same = [&](const NodePtr& item) { return item->text == entry.choice.label; };
            return written.find(entry.choice.label) || std::ranges::any_of(written.items, same);
        };
        if (plain) std::ranges::copy_if(plain->entries, std::back_inserter(named.entries), is_named);
        return named;
    }

    /// A default or neutral that the plain choices know must be known to the varied ones too, or be stated anew.
    void check_settings_left(const ObjectReader& reader, const SettingTarget& target, const Meaning& meaning) {
        const auto check = [&](std::string_view key, const std::optional<Setting>& setting) {
            const auto* label = setting ? std::get_if<std::string>(&*setting) : nullptr;
            if (!label || reader.has(key) || target.choices->doubtful) return;
            const auto same = [&](const WrittenChoice& entry) { return entry.choice.label == *label; };
            if (std::ranges::any_of(target.choices->entries, same)) return;
            report(problems_, reader.node().value_place(),
                   "these choices have no " + quoted(*label) + ", the " + quoted(key),
                   quoted(key) + " beside these choices");
        };
        check("default", meaning.preset_default);
        check("neutral", meaning.neutral);
    }

    void read_reference_keys(const ObjectReader& reader, const RawEntry& entry, Parameter& parameter) {
        const bool is_reference = parameter.kind == Kind::reference;
        parameter.nothing = whole_of(reader, "nothing", is_reference, "a reference");
        const Node* by = reader.find("refers-by");
        if (by && !is_reference)
            report(problems_, by->key_place(), "\"refers-by\" means nothing here", "\"refers-by\" only of a reference");
        const Node* refers = is_reference ? reader.need("refers-to") : reader.find("refers-to");
        if (!refers) return;
        if (!is_reference) {
            report(problems_, refers->key_place(),
                   "\"refers-to\" of a parameter of kind " + quoted(kind_name(parameter.kind)), "kind \"reference\"");
            return;
        }
        const auto target = read_word(*refers, targets_, problems_);
        if (!target) return;
        parameter.refers_to = targets_[*target];
        check_refers_by(reader, *target >= own_targets.size(), parameter);
        if (parameter.refers_to == "parameter") check_labels(entry, parameter);
    }

    void check_refers_by(const ObjectReader& reader, bool to_asset, const Parameter& parameter) {
        if (parameter.refers_by == RefersBy::number) return;
        if (!to_asset) {
            report(problems_, reader.find("refers-by")->key_place(),
                   "a " + parameter.refers_to + " referred to by " + quoted(word_of(parameter.refers_by)),
                   "\"refers-by\" of a reference to an asset");
        }
        if (const Node* nothing = reader.find("nothing")) {
            report(problems_, nothing->key_place(), "\"nothing\" means nothing here",
                   "\"nothing\" only of references by number: an empty text points at nothing");
        }
    }

    void check_labels(const RawEntry& entry, const Parameter& parameter) {
        const WrittenChoices* choices = context_.release.choices_of(entry.id);
        if (!choices || choices->doubtful) return;
        for (const WrittenChoice& written : choices->entries) {
            if (written.choice.number == parameter.nothing) continue;
            const auto fault = fault_of_reference(written.choice.label, context_.release);
            if (fault) report(problems_, written.place, fault->what, fault->expected, fault->remedy);
        }
    }

    bool in_scene(int group) const {
        for (; group >= 0; group = groups_[static_cast<std::size_t>(group)].parent) {
            if (groups_[static_cast<std::size_t>(group)].kind == GroupKind::scene) return true;
        }
        return false;
    }

    void read_scene_keys(const ObjectReader& reader, Parameter& parameter) {
        const Node* overrides = reader.find("overrides");
        parameter.as_base = whole_of(reader, "as-base", overrides != nullptr, "a parameter with \"overrides\"");
        if (!overrides) return;
        if (!in_scene(parameter.group)) {
            report(problems_, overrides->key_place(), "\"overrides\" outside of scenes",
                   "a parameter in a group of kind \"scene\"");
        }
        const RawEntry* target = read_reference(*overrides, context_);
        if (!target) return;
        parameter.overrides = overrides->text;
        if (target->id == parameter.id) report_found(problems_, *overrides, "another parameter");
    }

    static std::string_view kind_name(Kind kind) { return kind_words[static_cast<std::size_t>(kind)]; }

    const Context& context_;
    Problems& problems_;
    const std::vector<Group>& groups_;
    SharedChoices shared_;
    std::vector<std::string_view> targets_;
    std::unordered_map<std::string, int> group_index_;
};

}  // namespace

std::shared_ptr<const ChoiceList> SharedChoices::get(const WrittenChoices& choices, Problems& problems) {
    if (!choices.shared()) return std::make_shared<const ChoiceList>(choices.sorted());
    auto& known = lists_[choices.list];
    if (known) return known;
    const auto list = release_.lists.find(choices.list);
    if (list == release_.lists.end()) {
        std::vector<std::string_view> names;
        for (const auto& [name, entries] : release_.lists) names.push_back(name);
        report(problems, choices.place, "there is no choice list " + quoted(choices.list),
               "a list described in \"choice-lists\"", did_you_mean(choices.list, names));
        return nullptr;
    }
    known = std::make_shared<const ChoiceList>(list->second.sorted());
    return known;
}

std::vector<Parameter> read_parameters(const Context& context, const std::vector<Group>& groups,
                                       const std::vector<std::string>& assets) {
    std::vector<Parameter> parameters;
    ParameterReader reader(context, groups, assets);
    for (const RawEntry& entry : context.release.parameters.all()) {
        if (context.release.in_doubt(entry.id)) continue;
        const std::size_t told = context.problems.size();
        parameters.push_back(reader.read(entry));
        if (entry.copied) forget_repeated(context.problems, told);
    }
    return parameters;
}

}  // namespace downfit::schema
