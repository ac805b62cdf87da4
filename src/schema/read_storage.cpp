#include <algorithm>
#include <array>
#include <utility>

#include "schema/read_parameter.h"
#include "schema/words.h"

namespace downfit::schema {

namespace {

constexpr std::array<std::string_view, 3> bit_piece_keys{"byte", "bit", "width"};

/// A word of `storage_words`: its bytes (0: as many as the pieces have) and its coding.
struct Type {
    unsigned bytes = 1;
    Coding coding = Coding::unsigned_number;
};

Type type_of(std::string_view name) {
    if (name == "text") return {0, Coding::text};
    if (name == "bits") return {0, Coding::unsigned_number};
    if (name == "float32") return {4, Coding::float32};
    if (name == "float64") return {8, Coding::float64};
    const bool is_signed = name.starts_with("int");
    const unsigned bits = name.ends_with("32") ? 32 : name.ends_with("24") ? 24 : name.ends_with("16") ? 16 : 8;
    return {bits / 8, is_signed ? Coding::twos_complement : Coding::unsigned_number};
}

Node whole_node(std::int64_t number) {
    Node node;
    node.kind = Node::Kind::number;
    node.number = static_cast<double>(number);
    node.whole = number;
    return node;
}

class StorageReader {
public:
    StorageReader(const ObjectReader& reader, Kind kind, bool may_be_text)
        : reader_(reader), problems_(reader.problems()), kind_(kind), may_be_text_(may_be_text) {}

    Storage read(bool at_needed) {
        const Node* at = at_needed ? reader_.need("at") : reader_.find("at");
        if (!at && !at_needed) at = &start_;
        const std::size_t named = reader_.word("as", storage_words).value_or(0);
        const bool pieces = at && at->is(Node::Kind::array);
        const std::string_view name = pieces && !reader_.has("as") ? "bits" : storage_words[named];
        const Type type = type_of(name);
        Storage storage;
        storage.coding = type.coding;
        check_kind(name);
        check_keys(name, pieces);
        if (name == "text")
            read_text_place(at, storage);
        else if (pieces)
            read_pieces(*at, type, storage);
        else if (name == "bits")
            read_bits(at, storage);
        else if (at)
            read_bytes(*at, type, storage);
        if (name == "bits") storage.coding = read_sign();
        return storage;
    }

private:
    void misplaced(std::string_view key, std::string expected) {
        const Node* node = reader_.find(key);
        if (node) report(problems_, node->key_place(), quoted(key) + " means nothing here", std::move(expected));
    }

    void check_kind(std::string_view name) {
        const Node* as = reader_.find("as");
        const bool is_text = name == "text";
        if (kind_ == Kind::text && !is_text) {
            report(problems_, (as ? as : &reader_.node())->key_place(), "a text stored as " + quoted(name),
                   "\"as\": \"text\"");
        } else if (is_text && !may_be_text_) {
            report(problems_, as->value_place(), "only texts and opaque bytes are stored as \"text\"",
                   "a type of number");
        }
    }

    void check_keys(std::string_view name, bool pieces) {
        if (name != "bits") misplaced("signed", "\"signed\" only with \"as\": \"bits\"");
        if (name != "bits" || pieces) {
            misplaced("bit", "\"bit\" only with \"as\": \"bits\" and a plain \"at\"");
            misplaced("width", "\"width\" only with \"as\": \"bits\" and a plain \"at\"");
        }
        if (name == "bits" || name == "text" || pieces)
            misplaced("order", "\"order\" only with numbers of whole bytes");
        if (name == "text") return;
        for (const std::string_view key : {"length", "encoding", "padding"}) {
            misplaced(key, quoted(key) + " only with \"as\": \"text\"");
        }
    }

    void read_text_place(const Node* at, Storage& storage) {
        const Node* length = reader_.need("length");
        const auto bytes = length ? read_whole(*length, {1, 4096}, problems_) : std::nullopt;
        storage.text_length = static_cast<std::size_t>(bytes.value_or(1));
        if (at) storage.text_at = read_whole(*at, any_place, problems_).value_or(0);
        storage.encoding = static_cast<Encoding>(reader_.word("encoding", encoding_words).value_or(0));
        const Node* padding = reader_.find("padding");
        if (!padding) return;
        const bool one_byte = padding->is(Node::Kind::text) && padding->text.size() == 1 &&
                              static_cast<unsigned char>(padding->text[0]) < 0x80;
        if (one_byte)
            storage.padding = static_cast<std::uint8_t>(padding->text[0]);
        else
            report_found(problems_, *padding, "one ASCII character, such as \" \" or \"\\u0000\"");
    }

    void read_bytes(const Node& at, Type type, Storage& storage) {
        const bool little = reader_.word("order", endian_words) == std::size_t{1};
        const auto first = read_whole(at, any_place, problems_);
        for (unsigned i = 0; i < type.bytes; ++i) {
            storage.pieces.push_back({first.value_or(0) + (little ? type.bytes - 1 - i : i), 0, 8});
        }
    }

    std::optional<BitPiece> read_piece(const ObjectReader& from, const Node* byte) {
        const bool whole = from.need("bit") && from.need("width");
        const auto bit = from.whole("bit", {0, 7});
        const auto width = from.whole("width", {1, 8});
        const auto place = byte ? read_whole(*byte, any_place, problems_) : std::nullopt;
        if (!whole || !bit || !width || !place) return std::nullopt;
        if (*bit + *width > 8) {
            report(problems_, from.find("width")->value_place(),
                   std::to_string(*width) + " bits from bit " + std::to_string(*bit) + " go beyond the byte",
                   "bit and width together at most 8");
            return std::nullopt;
        }
        return BitPiece{*place, static_cast<std::uint8_t>(*bit), static_cast<std::uint8_t>(*width)};
    }

    void read_bits(const Node* at, Storage& storage) {
        const auto piece = read_piece(reader_, at);
        storage.pieces.push_back(piece.value_or(BitPiece{}));
    }

    void read_pieces(const Node& at, Type type, Storage& storage) {
        bool good = true;
        for (const NodePtr& item : at.items) {
            const ObjectReader reader(*item, "a piece of bits", bit_piece_keys, problems_);
            const auto piece = reader.ok() ? read_piece(reader, reader.need("byte")) : std::nullopt;
            if (piece) storage.pieces.push_back(*piece);
            good = good && piece;
        }
        if (!good) return;
        const unsigned width = storage.width();
        if (width == 0 || width > 64) {
            report(problems_, at.value_place(), "the pieces have " + std::to_string(width) + " bits", "1 to 64 bits");
        } else if (type.bytes > 0 && width != 8 * type.bytes) {
            report(problems_, at.value_place(), "the pieces have " + std::to_string(width) + " bits",
                   std::to_string(8 * type.bytes) + " bits, as \"as\" says");
        }
    }

    Coding read_sign() {
        const auto sign = reader_.word("signed", sign_words);
        if (!sign) return Coding::unsigned_number;
        constexpr std::array<Coding, 3> codings{Coding::twos_complement, Coding::offset_binary, Coding::sign_magnitude};
        return codings[*sign];
    }

    const ObjectReader& reader_;
    Problems& problems_;
    Kind kind_;
    bool may_be_text_;
    Node start_ = whole_node(0);
};

}  // namespace

Storage read_storage(const ObjectReader& reader, Kind kind, bool may_be_text, bool at_needed) {
    return StorageReader(reader, kind, may_be_text).read(at_needed);
}

std::int64_t first_byte(const Storage& storage) {
    if (storage.coding == Coding::text) return storage.text_at;
    const auto low = std::ranges::min_element(storage.pieces, {}, &BitPiece::byte);
    return low == storage.pieces.end() ? 0 : low->byte;
}

std::int64_t last_byte(const Storage& storage) {
    if (storage.coding == Coding::text) return storage.text_at + static_cast<std::int64_t>(storage.text_length) - 1;
    const auto high = std::ranges::max_element(storage.pieces, {}, &BitPiece::byte);
    return high == storage.pieces.end() ? 0 : high->byte;
}

}  // namespace downfit::schema
