#include "schema/read_release.h"

#include <algorithm>
#include <array>
#include <utility>

#include "base/near_miss.h"
#include "schema/marks.h"
#include "schema/read_parameter.h"
#include "schema/reader.h"

namespace downfit::schema {

namespace {

constexpr std::array<std::string_view, 24> release_keys{
    "$schema",    "format",     "device", "release",      "stamp",  "extends", "date",    "source",
    "notes",      "parameters", "groups", "choice-lists", "rules",  "accepts", "repairs", "revoiced",
    "returns-to", "erases",     "slots",  "variants",     "assets", "layouts", "budget",  "true-to-device"};
constexpr std::array<std::string_view, 5> accept_keys{"stamp", "bytes", "slot", "refuses", "why"};
constexpr std::array<std::string_view, 3> repair_keys{"if", "read-as", "why"};
constexpr std::array<std::string_view, 3> revoiced_keys{"weight", "level-change", "note"};
constexpr std::array<std::string_view, 4> revoiced_weights{"none", "slight", "audible", "severe"};

class ReleaseReader {
public:
    explicit ReleaseReader(const Context& context)
        : context_(context), raw_(context.release), problems_(context.problems) {}

    ReadRelease read(std::size_t order) {
        ReadRelease read;
        Release& release = read.release;
        const ObjectReader file(*raw_.file, "a release", release_keys, problems_);
        release.device = file.text("device");
        release.name = raw_.name;
        release.order = order;
        release.file = raw_.file->file ? *raw_.file->file : std::string{};
        if (const Node* stamp = file.find("stamp")) read_stamp(*stamp, release);
        for (const std::string_view key : {"$schema", "date", "source"}) (void)file.text(key);
        if (const Node* notes = file.find("notes")) (void)read_sentences(*notes);
        read_inherited(read);
        if (const Node* revoiced = file.find("revoiced")) read_revoiced(*revoiced, release);
        if (const Node* back = file.find("returns-to")) read_returns_to(*back, release);
        if (const Node* erases = file.find("erases")) release.erases = read_sentences(*erases);
        return read;
    }

private:
    void read_stamp(const Node& node, Release& release) {
        ReadStamps stamps = read_stamps(node, problems_);
        release.stamps = std::move(stamps.stamps);
        release.stamp_from = stamps.from;
    }

    void read_inherited(ReadRelease& read) {
        Release& release = read.release;
        release.slots = read_slots(raw_.slots.get(), problems_);
        release.assets = read_assets(raw_.assets.get(), problems_);
        release.variants = read_variants(raw_.variants.get(), context_.releases, problems_);
        if (raw_.marks) check_marks(*raw_.marks, problems_);
        if (raw_.budget) release.budget = read_budget(*raw_.budget, problems_);
        if (raw_.rules) {
            release.rules = read_rules(*raw_.rules, false, problems_);
            release.rule_places = rule_places(*raw_.rules);
        }
        std::vector<std::string> assets;
        for (const AssetKind& kind : release.assets) assets.push_back(kind.name);
        const std::vector<std::string_view> names(assets.begin(), assets.end());
        if (raw_.layouts) read.layouts = read_layouts(*raw_.layouts, names, true, problems_);
        release.groups = read_groups(context_);
        release.parameters = read_parameters(context_, release.groups, assets);
        if (raw_.accepts) read_accepts(*raw_.accepts, release);
        if (raw_.repairs) read_repairs(*raw_.repairs, release);
    }

    std::vector<std::string> read_sentences(const Node& node) {
        if (node.is(Node::Kind::text)) return {node.text};
        std::vector<std::string> sentences;
        const auto* items = read_list(node, "texts", problems_);
        for (std::size_t i = 0; items && i < items->size(); ++i) {
            auto text = read_text(*(*items)[i], problems_);
            if (text) sentences.push_back(*std::move(text));
        }
        return sentences;
    }

    void read_accepts(const Node& node, Release& release) {
        const auto* items = read_list(node, "objects with \"stamp\", \"bytes\" or \"slot\"", problems_);
        for (std::size_t i = 0; items && i < items->size(); ++i) {
            const Node& item = *(*items)[i];
            const ObjectReader reader(item, "what is accepted", accept_keys, problems_);
            if (!reader.ok()) continue;
            Accept accept;
            accept.place = item.value_place();
            const Node* stamp = reader.find("stamp");
            const Node* bytes = reader.find("bytes");
            const Node* slot = reader.find("slot");
            const int tests = (stamp ? 1 : 0) + (bytes ? 1 : 0) + (slot ? 1 : 0);
            if (tests != 1) {
                report(problems_, accept.place, std::to_string(tests) + " tests in one object",
                       "exactly one of \"stamp\", \"bytes\" or \"slot\"");
                continue;
            }
            if (stamp) accept.stamp = read_comparison(*stamp, Condition::Subject::stamp, context_);
            if (slot) accept.slot = read_comparison(*slot, Condition::Subject::parameter, context_);
            if (bytes) accept.bytes = read_body_bytes(*bytes, "are", "bytes that must stand in the body", problems_);
            accept.refuses = read_refuses(reader).value_or(Refuses::preset);
            accept.why = reader.text("why");
            release.accepts.push_back(std::move(accept));
        }
    }

    void read_repairs(const Node& node, Release& release) {
        const auto* items = read_list(node, "objects with \"if\" and \"read-as\"", problems_);
        for (std::size_t i = 0; items && i < items->size(); ++i) {
            const Node& item = *(*items)[i];
            const ObjectReader reader(item, "a repair", repair_keys, problems_);
            const Node* test = reader.need("if");
            const Node* read_as = reader.need("read-as");
            auto found_bytes = test ? read_body_bytes(*test, "bytes", "the bytes to repair", problems_) : std::nullopt;
            auto bytes = read_as ? read_hex(*read_as, problems_) : std::nullopt;
            if (!found_bytes || !bytes) continue;
            if (found_bytes->bytes.size() != bytes->size()) {
                report(
                    problems_, read_as->value_place(),
                    std::to_string(bytes->size()) + " bytes in place of " + std::to_string(found_bytes->bytes.size()),
                    "as many bytes as are repaired");
                continue;
            }
            release.repairs.push_back(
                {*std::move(found_bytes), *std::move(bytes), reader.text("why"), item.value_place()});
        }
    }

    void read_revoiced(const Node& node, Release& release) {
        if (!node.is(Node::Kind::object))
            report_found(problems_, node, "an object: parameters with their revoiced models");
        for (const Member& member : node.members) {
            const auto fault = fault_of_reference(member.key, raw_);
            const WrittenChoices* choices = raw_.choices_of(member.key);
            if (!fault && raw_.choices.contains(member.key) && !choices)
                continue;  // its list is missing, told elsewhere
            if (fault || !choices) {
                report(problems_, member.value->key_place(),
                       fault ? fault->what : quoted(member.key) + " has no choices",
                       "the id of a parameter with choices", fault ? fault->remedy : "");
                continue;
            }
            if (!member.value->is(Node::Kind::object))
                report_found(problems_, *member.value, "an object: labels of models");
            for (const Member& label : member.value->members) read_revoiced_label(member.key, label, *choices, release);
        }
    }

    void read_revoiced_label(const std::string& parameter, const Member& label, const WrittenChoices& choices,
                             Release& release) {
        std::vector<std::string_view> labels;
        for (const WrittenChoice& entry : choices.entries) labels.push_back(entry.choice.label);
        if (!choices.doubtful && std::ranges::find(labels, std::string_view(label.key)) == labels.end()) {
            report(problems_, label.value->key_place(), quoted(parameter) + " has no choice " + quoted(label.key),
                   "one of its labels", did_you_mean(label.key, labels));
        }
        const ObjectReader reader(*label.value, "a revoiced model", revoiced_keys, problems_);
        Revoiced revoiced{parameter, label.key, "slight", reader.number("level-change"), reader.text("note")};
        if (const auto weight = reader.word("weight", revoiced_weights)) revoiced.weight = revoiced_weights[*weight];
        release.revoiced.push_back(std::move(revoiced));
    }

    void read_returns_to(const Node& node, Release& release) {
        const auto index = read_release_name(node, context_.releases, problems_);
        if (!index) return;
        release.returns_to = context_.releases[*index];
        if (*index > release.order) report_found(problems_, node, "a release that is not newer than this one");
    }

    const Context& context_;
    const RawRelease& raw_;
    Problems& problems_;
};

}  // namespace

ReadRelease read_release(const Context& context, std::size_t order) {
    return ReleaseReader(context).read(order);
}

}  // namespace downfit::schema
