#include <algorithm>
#include <array>
#include <utility>

#include "base/near_miss.h"
#include "schema/read_layout.h"

namespace downfit::schema {

namespace {

constexpr std::array<std::string_view, 5> image_keys{"of", "address", "unit", "size", "sparse"};
constexpr std::array<std::string_view, 3> run_keys{"count", "first", "pieces"};
constexpr std::array<std::string_view, 4> image_piece_keys{"at", "stride", "length", "by"};
constexpr std::array<std::string_view, 1> by_keys{"at"};
constexpr std::int64_t largest_unit = 1 << 16;

std::vector<std::string_view> capture_names(const MessagePattern& message) {
    std::vector<std::string_view> names;
    for (const PatternPart& part : message.parts) {
        if (part.kind == PatternPart::Kind::capture) names.push_back(part.name);
    }
    return names;
}

/// Every message with data must say its address.
void check_address(const Node& node, const ImageRule& image, const std::vector<MessagePattern>& messages,
                   Problems& problems) {
    for (const AssemblyPart& part : image.of) {
        const MessagePattern& message = messages[part.message];
        const auto names = capture_names(message);
        if (!captures(message, "data") || std::ranges::find(names, std::string_view(image.address)) != names.end())
            continue;
        report(problems, node.value_place(),
               "message " + quoted(message.name) + " has no capture " + quoted(image.address) + " of known length",
               names.empty() ? "a pattern with captures" : one_of(names), did_you_mean(image.address, names));
        return;
    }
}

class RunReader {
public:
    RunReader(std::size_t image_size, Problems& problems) : image_size_(image_size), problems_(problems) {}

    std::optional<PresetRun> read(const Node& node) {
        const ObjectReader reader(node, "a run of presets", run_keys, problems_);
        if (!reader.ok()) return std::nullopt;
        run_ = {};
        run_.count = static_cast<int>(reader.whole("count", {1, slot_numbers.most}).value_or(1));
        run_.first = static_cast<int>(reader.whole("first", slot_numbers).value_or(0));
        const Node* pieces = reader.need("pieces");
        const auto* items = pieces ? read_list(*pieces, "pieces", problems_) : nullptr;
        if (!items) return std::nullopt;
        if (items->empty()) report(problems_, pieces->value_place(), "a preset without pieces", "one piece or more");
        body_ = 0;
        body_known_ = true;
        bool whole = !items->empty();
        for (const NodePtr& item : *items) whole = read_piece(*item) && whole;
        const auto bytes = static_cast<std::int64_t>(body_) * run_.count;
        if (whole && bytes > limits::largest_presets) {
            report(problems_, node.value_place(), "the presets of a run have " + std::to_string(bytes) + " bytes",
                   "at most " + std::to_string(limits::largest_presets) + " in all");
            return std::nullopt;
        }
        return whole ? std::optional(std::move(run_)) : std::nullopt;
    }

private:
    bool read_piece(const Node& node) {
        const ObjectReader reader(node, "a piece of a preset", image_piece_keys, problems_);
        if (!reader.ok()) return false;
        const bool has_both = reader.need("at") && reader.need("length");
        const auto at = reader.whole("at", {0, largest_body});
        const auto length = reader.whole("length", {1, largest_body});
        const Node* by = reader.find("by");
        const bool repeats = run_.count > 1 || by;
        const auto stride = reader.whole("stride", any_place);
        const bool has_stride = !repeats || reader.need("stride");
        Piece piece{at.value_or(0), stride.value_or(0), static_cast<std::size_t>(length.value_or(0)), std::nullopt};
        bool good = has_both && at && length && has_stride && (stride || !reader.has("stride"));
        if (by) good = read_by(*by, piece) && good;
        if (good) check_ends(node, piece);
        body_ += piece.length;
        body_known_ = body_known_ && length;
        run_.pieces.push_back(piece);
        return good;
    }

    bool read_by(const Node& node, Piece& piece) {
        const ObjectReader reader(node, "where the item's number stands", by_keys, problems_);
        const Node* at = reader.need("at");
        const auto place = at ? read_whole(*at, {0, largest_body}, problems_) : std::nullopt;
        if (!place) return false;
        piece.by = static_cast<std::size_t>(*place);
        if (*piece.by < body_ || !body_known_) return true;
        report(problems_, at->value_place(), "byte " + std::to_string(*place) + " is not in the pieces before this one",
               body_ == 0 ? "\"by\" in a later piece" : "a byte from 0 to " + std::to_string(body_ - 1));
        return false;
    }

    /// The first and the last preset's piece inside the image. Items that a byte names are as many as a table has.
    void check_ends(const Node& node, const Piece& piece) {
        const std::int64_t last = piece.by ? piece.at : piece.at + piece.stride * (run_.count - 1);
        const std::int64_t low = std::min(piece.at, last);
        const std::int64_t high = std::max(piece.at, last) + static_cast<std::int64_t>(piece.length);
        if (low < 0) {
            report(problems_, node.value_place(),
                   name_of(node) + " starts at byte " + std::to_string(low) + " in the last preset",
                   "places from 0 up");
        } else if (image_size_ > 0 && high > static_cast<std::int64_t>(image_size_)) {
            report(problems_, node.value_place(), name_of(node) + " ends at byte " + std::to_string(high - 1),
                   "places below " + std::to_string(image_size_) + ", the image's size");
        }
    }

    std::size_t image_size_;
    Problems& problems_;
    PresetRun run_;
    std::size_t body_ = 0;  // bytes of the pieces so far
    bool body_known_ = true;
};

void check_slots(const Node& node, const PresetRun& run, const std::vector<PresetRun>& before, Problems& problems) {
    for (const PresetRun& other : before) {
        const int first = std::max(run.first, other.first);
        if (first >= std::min(run.first + run.count, other.first + other.count)) continue;
        report(problems, node.value_place(), "slot " + std::to_string(first) + " stands in two runs of presets",
               "each stored slot once");
        return;
    }
}

}  // namespace

std::optional<ImageRule> read_image(const Node& node, const std::vector<MessagePattern>& messages, Problems& problems) {
    const ObjectReader reader(node, "an image", image_keys, problems);
    const Node* of = reader.need("of");
    ImageRule image;
    image.address = reader.text("address");
    const Node* address = reader.find("address");
    image.unit = reader.whole("unit", {1, largest_unit}).value_or(1);
    image.size = static_cast<std::size_t>(reader.whole("size", {1, largest_body}).value_or(0));
    if (address) (void)reader.need("size");
    if (const Node* sparse = reader.find("sparse")) image.sparse = read_boolean(*sparse, problems).value_or(false);
    for (const std::string_view key : {"unit", "size", "sparse"}) {
        const Node* needless = address ? nullptr : reader.find(key);
        if (needless)
            report(problems, needless->key_place(), quoted(key) + " means nothing here",
                   quoted(key) + " only with \"address\"");
    }
    if (!of) return std::nullopt;
    ReadParts parts = read_parts(*of, messages, problems);
    image.of = std::move(parts.parts);
    if (!parts.whole) return std::nullopt;
    if (address && !image.address.empty()) check_address(*address, image, messages, problems);
    return image;
}

std::vector<PresetRun> read_preset_runs(const Node& node, std::size_t image_size, Problems& problems) {
    std::vector<PresetRun> runs;
    RunReader reader(image_size, problems);
    const auto add = [&](const Node& item) {
        auto run = reader.read(item);
        if (!run) return;
        check_slots(item, *run, runs, problems);
        runs.push_back(*std::move(run));
    };
    if (node.is(Node::Kind::object)) {
        add(node);
    } else if (node.is(Node::Kind::array) && !node.items.empty()) {
        for (const NodePtr& item : node.items) add(*item);
    } else {
        report_found(problems, node, "a run of presets, or a list of them");
    }
    return runs;
}

}  // namespace downfit::schema
