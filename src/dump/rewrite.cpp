#include "dump/rewrite.h"

#include <algorithm>
#include <utility>

#include "dump/image.h"

namespace downfit::dump {

namespace {

/// Puts entries back into one image.
class Rewriter {
public:
    Rewriter(const Dump& dump, std::size_t index, ByteView original)
        : dump_(dump),
          index_(index),
          image_(dump.images[index]),
          framing_(dump.device->framings[image_.framing]),
          original_(original),
          bytes_(image_.bytes),
          owner_(image_.bytes.size(), nobody) {}

    Result<Rewritten> rewrite() {
        for (std::size_t e = 0; e < dump_.entries.size(); ++e) {
            const Entry& entry = dump_.entries[e];
            if (!entry.cut || entry.cut->image != index_ || entry.state == SlotState::damaged) continue;
            if (auto wrong = put(e)) problems_.push_back(*std::move(wrong));
        }
        if (!problems_.empty()) return problems_;
        if (bytes_ == image_.bytes) return Rewritten{};
        const Result<Bytes> was = write_layout_steps(framing_.steps, image_.bytes);
        if (!was) return was.problems();
        const Result<Bytes> now = write_layout_steps(framing_.steps, bytes_);
        if (!now) return now.problems();
        if (length_varies(framing_.steps)) return replaced(now.value());
        return patched(was.value(), now.value());
    }

private:
    static constexpr std::size_t nobody = static_cast<std::size_t>(-1);

    Problem cannot_write(const Entry& entry, std::string what, std::string expected) const {
        const std::size_t offset = entry.messages.empty() ? 0 : dump_.messages[entry.messages.front()].span.offset;
        return {BytePlace{dump_.file, offset, 0, entry.slot}, std::move(what), std::move(expected), {}};
    }

    /// Where the pieces of an entry's body belong now: a changed number of a shared block leads elsewhere.
    std::vector<ByteSpan> pieces_of(const Entry& entry) const {
        if (framing_.presets.empty()) return {{0, bytes_.size()}};
        std::vector<ByteSpan> pieces;
        std::size_t used = 0;
        for (const schema::Piece& piece : framing_.presets[entry.cut->run].pieces) {
            const auto place = place_of(piece, entry.cut->item, ByteView(entry.body).first(used));
            if (!place || place->offset > bytes_.size() || place->length > bytes_.size() - place->offset) break;
            if (place->length > entry.body.size() - used) break;
            used += place->length;
            pieces.push_back(*place);
        }
        return pieces;
    }

    std::optional<Problem> put(std::size_t index) {
        const Entry& entry = dump_.entries[index];
        std::size_t used = 0;
        for (const ByteSpan piece : pieces_of(entry)) {
            const std::size_t length = std::min(piece.length, entry.body.size() - used);
            for (std::size_t i = 0; i < length; ++i) {
                std::uint8_t& byte = bytes_[piece.offset + i];
                std::size_t& owner = owner_[piece.offset + i];
                const std::uint8_t wanted = entry.body[used + i];
                if (owner != nobody && byte != wanted) {
                    return cannot_write(entry,
                                        "the preset shares byte " + std::to_string(piece.offset + i) +
                                            " of the image with slot " + std::to_string(dump_.entries[owner].slot) +
                                            ", which holds another value there",
                                        "the same value in both");
                }
                byte = wanted;
                owner = index;
            }
            used += length;
        }
        if (used == entry.body.size() && (!framing_.presets.empty() || used == bytes_.size())) return std::nullopt;
        return cannot_write(
            entry, "the preset no longer fits its image: it has " + std::to_string(entry.body.size()) + " bytes",
            std::to_string(used) + " bytes");
    }

    /// Only what differs is put in, so that bits that mean nothing, and checks that fail elsewhere, stay as they are.
    Result<Rewritten> patched(const Bytes& was, const Bytes& now) const {
        Rewritten rewritten;
        const bool is_raw = framing_.raw;
        if (is_raw) rewritten.file = Bytes(original_.begin(), original_.end());
        for (std::size_t at = 0; at < now.size() && at < was.size(); ++at) {
            if (was[at] == now[at]) continue;
            if (is_raw && at < rewritten.file->size()) (*rewritten.file)[at] = now[at];
            for (const ImagePart& part : image_.parts) {
                const Bytes& old = dump_.messages[part.message].payload;
                if (at < part.at || at - part.at >= old.size()) continue;
                Bytes& payload = rewritten.payloads.try_emplace(part.message, old).first->second;
                payload[at - part.at] = now[at];
            }
        }
        return rewritten;
    }

    /// Where packing moves everything: all data anew.
    Result<Rewritten> replaced(const Bytes& now) const {
        Rewritten rewritten;
        if (framing_.raw) {
            rewritten.file = now;
            return rewritten;
        }
        if (image_.parts.size() == 1 && image_.parts.front().at == 0) {
            rewritten.payloads.emplace(image_.parts.front().message, now);
            return rewritten;
        }
        if (now.size() != image_.laid_size) {
            return Problem{
                dump_.file,
                "the presets no longer fit their messages: packed, they have " + std::to_string(now.size()) + " bytes",
                std::to_string(image_.laid_size) + " bytes",
                {}};
        }
        for (const ImagePart& part : image_.parts) {
            const auto from = now.begin() + static_cast<std::ptrdiff_t>(part.at);
            const auto length = static_cast<std::ptrdiff_t>(dump_.messages[part.message].payload.size());
            rewritten.payloads.emplace(part.message, Bytes(from, from + length));
        }
        return rewritten;
    }

    const Dump& dump_;
    std::size_t index_;
    const Image& image_;
    const schema::Framing& framing_;
    ByteView original_;
    Bytes bytes_;
    std::vector<std::size_t> owner_;  // of each byte: the entry that put it there
    Problems problems_;
};

}  // namespace

Result<Rewritten> rewrite_image(const Dump& dump, std::size_t image, ByteView original) {
    return Rewriter(dump, image, original).rewrite();
}

}  // namespace downfit::dump
