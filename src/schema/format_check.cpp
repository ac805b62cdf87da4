#include "schema/format_check.h"

#include <algorithm>
#include <array>
#include <string>
#include <string_view>
#include <utility>

#include <nlohmann/json.hpp>
#include <valijson/adapters/nlohmann_json_adapter.hpp>
#include <valijson/schema.hpp>
#include <valijson/schema_parser.hpp>
#include <valijson/validation_results.hpp>
#include <valijson/validator.hpp>

#include "schema/format_texts.h"
#include "schema/reader.h"

namespace downfit::schema {

namespace {

using Json = nlohmann::json;
using Adapter = valijson::adapters::NlohmannJsonAdapter;

constexpr std::size_t longest_matched = 1000;
constexpr std::size_t longest_compared = 1000;
constexpr std::array<std::string_view, 5> kind_names{"device", "release", "policy", "rig", "substitutes"};
constexpr std::string_view other_file = "device.schema.json#";
constexpr std::array<std::string_view, 8> for_people{"title", "maker", "source", "note",
                                                     "notes", "why",   "erases", "reason"};

/// Makes references into the device file's schema references into the schema itself.
void join_references(Json& schema) {
    if (schema.is_object()) {
        const auto reference = schema.find("$ref");
        if (reference != schema.end() && reference->is_string()) {
            const std::string text = reference->get<std::string>();
            if (text.starts_with(other_file)) *reference = text.substr(other_file.size() - 1);
        }
    }
    if (!schema.is_structured()) return;
    for (Json& part : schema) join_references(part);
}

void compile(const Json& text, valijson::Schema& schema) {
    valijson::SchemaParser parser(valijson::SchemaParser::kDraft7);
    parser.populateSchema(Adapter(text), schema);
}

/// The JSON Schemas, ready for use; never changed once made.
struct Formats {
    Formats() {
        const Json device_text = Json::parse(device_format());
        Json release_text = Json::parse(release_format());
        for (const auto& [name, definition] : device_text.at("definitions").items()) {
            release_text.at("definitions").emplace(name, definition);
        }
        join_references(release_text);
        compile(device_text, device);
        compile(release_text, release);
        compile(Json::parse(policy_format()), policy);
        compile(Json::parse(rig_format()), rig);
        compile(Json::parse(substitutes_format()), substitutes);
    }

    valijson::Schema device, release, policy, rig, substitutes;
};

const valijson::Schema& format_of(FileKind kind) {
    static const Formats formats;
    switch (kind) {
        case FileKind::device: return formats.device;
        case FileKind::release: return formats.release;
        case FileKind::policy: return formats.policy;
        case FileKind::rig: return formats.rig;
        case FileKind::substitutes: break;
    }
    return formats.substitutes;
}

bool judged(const Node& node) {
    if (node.text.size() > longest_matched || node.items.size() > longest_compared) return false;
    const auto member_judged = [](const Member& member) {
        if (std::ranges::find(for_people, std::string_view(member.key)) != for_people.end()) return true;
        return member.key.size() <= longest_matched && judged(*member.value);
    };
    return std::ranges::all_of(node.items, [](const NodePtr& item) { return judged(*item); }) &&
           std::ranges::all_of(node.members, member_judged);
}

/// The validator takes a zero byte for a text's end; no word, name or pattern has either character in it.
std::string without_zeros(std::string text) {
    std::ranges::replace(text, '\0', '\x01');
    return text;
}

Json plain(const Node& node) {
    switch (node.kind) {
        case Node::Kind::null: return nullptr;
        case Node::Kind::boolean: return node.boolean;
        case Node::Kind::number: return node.whole ? Json(*node.whole) : Json(node.number);
        case Node::Kind::text: return without_zeros(node.text);
        case Node::Kind::array: break;
        case Node::Kind::object: break;
    }
    Json json = node.is(Node::Kind::array) ? Json::array() : Json::object();
    for (const NodePtr& item : node.items) json.push_back(plain(*item));
    for (const Member& member : node.members) json.emplace(member.key, plain(*member.value));
    return json;
}

/// The value at a path of the validator's: "<root>", then "[key]" or "[index]" for each step.
const Node& value_at(const Node& document, const std::vector<std::string>& path) {
    const Node* node = &document;
    for (std::size_t i = 1; i < path.size(); ++i) {
        const std::string key = path[i].substr(1, path[i].size() - 2);
        const Node* next = node->find(key);
        for (const NodePtr& item : node->items) {
            if (item->pointer == node->pointer + "/" + key) next = item.get();
        }
        if (!next) break;
        node = next;
    }
    return *node;
}

/// The member that the validator's words end with: "... constraints: 'onby'."
const Node* named_member(const Node& node, const std::string& words) {
    const auto at = std::ranges::find_if(
        node.members, [&](const Member& member) { return words.ends_with("'" + member.key + "'."); });
    return at == node.members.end() ? nullptr : at->value.get();
}

Problem problem_of(const Node& document, FileKind kind, valijson::ValidationResults& results) {
    valijson::ValidationResults::Error innermost{{"<root>"}, "The JSON Schema does not allow it."};
    for (const auto& error : results) {
        if (error.context.size() > innermost.context.size()) innermost = error;
    }
    if (innermost.context.size() == 1 && results.numErrors() > 0) innermost = *results.begin();
    const Node& value = value_at(document, innermost.context);
    const Node* member = named_member(value, innermost.description);
    const Node& node = member ? *member : value;
    const std::string file(kind_names[static_cast<std::size_t>(kind)]);
    return {member ? node.key_place() : node.value_place(),
            name_of(node) + " is not what the JSON Schema of " + file + " files allows",
            std::move(innermost.description), "see schemas/format/" + file + ".schema.json"};
}

}  // namespace

std::optional<Problem> check_format(const Node& document, FileKind kind) {
    if (!judged(document)) return std::nullopt;
    const valijson::Schema& schema = format_of(kind);
    const Json json = plain(document);
    valijson::Validator validator;
    if (validator.validate(schema, Adapter(json), nullptr)) return std::nullopt;
    valijson::ValidationResults results;
    if (validator.validate(schema, Adapter(json), &results)) return std::nullopt;
    return problem_of(document, kind, results);
}

}  // namespace downfit::schema
