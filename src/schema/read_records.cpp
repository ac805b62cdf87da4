#include <algorithm>
#include <array>
#include <utility>

#include "base/near_miss.h"
#include "schema/read_layout.h"

namespace downfit::schema {

namespace {

using HeadKind = HeadPart::Kind;

constexpr std::array<std::string_view, 5> record_keys{"from", "head", "value", "counts", "end"};
constexpr std::array<std::string_view, 3> head_words{"id", "length", "version"};
constexpr std::array<std::string_view, 2> counted{"value", "record"};

/// "length:2 little".
std::optional<HeadPart> read_head_part(const Node& node, Problems& problems) {
    HeadPart part;
    std::string_view text = node.is(Node::Kind::text) ? std::string_view(node.text) : std::string_view{};
    constexpr std::string_view little = " little";
    part.little_endian = text.ends_with(little);
    if (part.little_endian) text.remove_suffix(little.size());
    const std::size_t colon = text.find(':');
    const std::string_view word = text.substr(0, colon);
    bool good = true;
    if (colon != std::string_view::npos) {
        const std::string_view width = text.substr(colon + 1);
        good = width.size() == 1 && width[0] >= '1' && width[0] <= '4';
        if (good) part.width = static_cast<std::size_t>(width[0] - '0');
    }
    good = good && !(part.little_endian && part.width == 1);
    const auto at = std::ranges::find(head_words, word);
    if (good && at != head_words.end()) {
        part.kind = static_cast<HeadKind>(at - head_words.begin());
        return part;
    }
    report_found(problems, node, "\"id\", \"length\" or \"version\", perhaps with bytes, as in \"length:2 little\"",
                 at == head_words.end() ? did_you_mean(word, head_words) : "");
    return std::nullopt;
}

class RecordsReader {
public:
    RecordsReader(const Node& node, Problems& problems)
        : reader_(node, "a run of records", record_keys, problems), problems_(problems) {}

    std::optional<Records> read() {
        const Node* head = reader_.need("head");
        records_.from = static_cast<std::size_t>(reader_.whole("from", {0, largest_body}).value_or(0));
        const auto counts = reader_.word("counts", counted);
        records_.counts_record = counts == std::size_t{1};
        const auto value = reader_.whole("value", {1, largest_body});
        records_.value_length = static_cast<std::size_t>(value.value_or(0));
        if (!head || !read_head(*head)) return std::nullopt;
        const bool has_length = find(HeadKind::length) != nullptr;
        if (has_length) {
            misplaced("value", "\"value\" only where the head has no \"length\"");
        } else {
            misplaced("counts", "\"counts\" only where the head has a \"length\"");
            (void)reader_.need("value");
        }
        if (const Node* end = reader_.find("end")) read_end(*end);
        return records_;
    }

private:
    void misplaced(std::string_view key, std::string expected) {
        const Node* node = reader_.find(key);
        if (node) report(problems_, node->key_place(), quoted(key) + " means nothing here", std::move(expected));
    }

    const HeadPart* find(HeadKind kind) const {
        const auto at = std::ranges::find(records_.head, kind, &HeadPart::kind);
        return at == records_.head.end() ? nullptr : &*at;
    }

    bool read_head(const Node& node) {
        const auto* items = read_list(node, "what stands before a value, such as [\"id\", \"length\"]", problems_);
        if (!items) return false;
        bool good = true;
        for (const NodePtr& item : *items) {
            const auto part = read_head_part(*item, problems_);
            good = good && part;
            if (!part) continue;
            if (find(part->kind)) {
                const std::string word = quoted(head_words[static_cast<std::size_t>(part->kind)]);
                report(problems_, item->value_place(), word + " stands twice in the head", "each of them once");
                good = false;
            }
            records_.head.push_back(*part);
        }
        if (!good || find(HeadKind::id)) return good;
        report(problems_, node.value_place(), "a head without \"id\"", "exactly one \"id\"");
        return false;
    }

    /// The bytes of the id as they stand in the dump.
    void read_end(const Node& node) {
        const HeadPart id = *find(HeadKind::id);
        auto bytes = read_hex(node, problems_);
        if (!bytes) return;
        if (bytes->size() != id.width) {
            report_found(problems_, node,
                         id.width == 1 ? "one byte in hex, as the id has"
                                       : std::to_string(id.width) + " bytes in hex, as the id has");
            return;
        }
        if (id.little_endian) std::ranges::reverse(*bytes);
        std::int64_t number = 0;
        for (const std::uint8_t byte : *bytes) number = number * 256 + byte;
        records_.end = number;
    }

    ObjectReader reader_;
    Problems& problems_;
    Records records_;
};

}  // namespace

std::optional<Records> read_records(const Node& node, Problems& problems) {
    if (!node.is(Node::Kind::object)) {
        report_found(problems, node, "an object: a run of records");
        return std::nullopt;
    }
    return RecordsReader(node, problems).read();
}

}  // namespace downfit::schema
