#include <algorithm>
#include <utility>

#include "dump/image.h"

namespace downfit::dump {

namespace {

using schema::Framing;
using schema::Piece;
using schema::PresetRun;

std::size_t end_of(ByteSpan span) {
    return span.length > open_length - span.offset ? open_length : span.offset + span.length;
}

bool overlap(ByteSpan a, ByteSpan b) {
    return a.offset < end_of(b) && b.offset < end_of(a);
}

/// Cuts the entries of one image.
class Cutter {
public:
    Cutter(const ImageSource& source, Laid laid)
        : source_(source), framing_(source.device.framings[source.framing]), laid_(std::move(laid)) {}

    CutImage cut() {
        unpack();
        image_.framing = source_.framing;
        image_.laid_size = laid_.bytes.size();
        image_.parts = laid_.parts;
        hurt_used_.resize(hurts_.size(), false);
        find_never_sent();
        if (framing_.presets.empty()) {
            cut_whole();
        } else {
            for (std::size_t r = 0; r < framing_.presets.size(); ++r) {
                for (int item = 0; item < framing_.presets[r].count; ++item) cut_item(r, item);
            }
        }
        for (std::size_t h = 0; h < hurts_.size(); ++h) {
            if (!hurt_used_[h] && !hurts_[h].only_if_needed) result_.problems.push_back(std::move(hurts_[h].problem));
        }
        result_.image = std::move(image_);
        return std::move(result_);
    }

private:
    void unpack() {
        for (Hurt& hurt : laid_.hurts) {
            for (ByteSpan& span : hurt.spans) span = carried(framing_.steps, 0, span);
            hurts_.push_back(std::move(hurt));
        }
        StepResult steps = read_layout_steps(framing_.steps, laid_.bytes);
        for (const StepFailure& failure : steps.failures) {
            const std::size_t offset = source_.offset_of(failure.at);
            const std::size_t end =
                failure.length == 0 ? offset : source_.offset_of(failure.at + failure.length - 1) + 1;
            Hurt hurt{{BytePlace{source_.file, offset, std::max(end, offset) - offset, -1},
                       failure.what,
                       failure.expected,
                       {}},
                      {},
                      false};
            for (const ByteSpan span : failure.covers) {
                hurt.spans.push_back(carried(framing_.steps, failure.step, span));
            }
            if (!failure.is_check) hurt.spans = {{0, open_length}};
            hurts_.push_back(std::move(hurt));
        }
        if (steps.unpacked) image_.bytes = std::move(steps.data);
    }

    Entry begin(int slot) const {
        Entry entry;
        entry.framing = source_.framing;
        entry.layout = layout_of(source_.device, source_.framing);
        entry.slot = slot;
        entry.stamp = source_.stamp;
        entry.cut.emplace();
        return entry;
    }

    void cut_whole() {
        Entry entry = begin(source_.slot.value_or(-1));
        entry.body = image_.bytes;
        entry.cut->pieces = {{0, image_.bytes.size()}};
        finish(std::move(entry), {{0, open_length}}, {});
    }

    void cut_item(std::size_t run, int item) {
        const PresetRun& rule = framing_.presets[run];
        if (is_absent(rule, item)) return;
        Entry entry = begin(rule.first + item);
        entry.cut->run = run;
        entry.cut->item = item;
        std::vector<ByteSpan> wanted;
        std::string lacking;
        for (const Piece& piece : rule.pieces) {
            const auto place = place_of(piece, item, entry.body);
            if (place) wanted.push_back(*place);
            if (!place || place->offset > image_.bytes.size() || place->length > image_.bytes.size() - place->offset) {
                lacking = "a piece of the preset lies outside the image";
                break;
            }
            entry.cut->pieces.push_back(*place);
            const auto from = image_.bytes.begin() + static_cast<std::ptrdiff_t>(place->offset);
            entry.body.insert(entry.body.end(), from, from + static_cast<std::ptrdiff_t>(place->length));
        }
        finish(std::move(entry), wanted, std::move(lacking));
    }

    /// What no part of the dump brought, in order and joined where it touches.
    void find_never_sent() {
        if (!framing_.image || !framing_.image->sparse) return;
        std::vector<ByteSpan> gaps;
        for (const Hurt& hurt : hurts_) {
            if (hurt.only_if_needed) gaps.insert(gaps.end(), hurt.spans.begin(), hurt.spans.end());
        }
        std::ranges::sort(gaps, {}, &ByteSpan::offset);
        for (const ByteSpan gap : gaps) {
            if (never_sent_.empty() || gap.offset > end_of(never_sent_.back())) {
                never_sent_.push_back(gap);
            } else {
                ByteSpan& last = never_sent_.back();
                last.length = std::max(end_of(last), end_of(gap)) - last.offset;
            }
        }
    }

    bool was_never_sent(ByteSpan place) const {
        const auto after = std::ranges::upper_bound(never_sent_, place.offset, {}, &ByteSpan::offset);
        return after != never_sent_.begin() && end_of(place) <= end_of(*std::prev(after));
    }

    /// Whether no part of a sparse dump brought a byte that belongs to this item alone.
    bool is_absent(const PresetRun& rule, int item) const {
        bool any = false;
        for (const Piece& piece : rule.pieces) {
            const bool shared = piece.by || (piece.stride == 0 && rule.count > 1);
            const auto place = shared ? std::nullopt : place_of(piece, item, {});
            if (!place) continue;
            any = true;
            if (!was_never_sent(*place)) return false;
        }
        return any;
    }

    void finish(Entry entry, const std::vector<ByteSpan>& wanted, std::string lacking) {
        for (std::size_t h = 0; h < hurts_.size(); ++h) {
            if (!spoils(hurts_[h], wanted)) continue;
            hurt_used_[h] = true;
            Problem problem = hurts_[h].problem;
            std::get<BytePlace>(problem.place).slot = entry.slot;
            entry.damage.push_back(std::move(problem));
        }
        // The junk of a slot that was never written may ask for pieces that are nowhere.
        const bool tells = lacking.empty() || !framing_.filled ||
                           entry.body.size() >= framing_.filled->at + framing_.filled->bytes.size();
        if (entry.damage.empty() && tells && looks_empty(framing_, entry.body)) {
            entry.state = SlotState::empty;
        } else if (entry.damage.empty() && !lacking.empty()) {
            entry.damage.push_back({BytePlace{source_.file, source_.offset_of(0), 0, entry.slot},
                                    std::move(lacking),
                                    "inside " + std::to_string(image_.bytes.size()) + " bytes",
                                    {}});
        }
        if (!entry.damage.empty()) entry.state = SlotState::damaged;
        if (!entry.stamp) entry.stamp = body_stamp(framing_, entry.body);
        result_.entries.push_back(std::move(entry));
    }

    static bool spoils(const Hurt& hurt, const std::vector<ByteSpan>& wanted) {
        return std::ranges::any_of(hurt.spans, [&](ByteSpan spoilt) {
            return std::ranges::any_of(wanted, [&](ByteSpan piece) { return overlap(spoilt, piece); });
        });
    }

    const ImageSource& source_;
    const Framing& framing_;
    Laid laid_;
    Image image_;
    std::vector<Hurt> hurts_;  // spans count in the image after all steps
    std::vector<bool> hurt_used_;
    std::vector<ByteSpan> never_sent_;  // only of sparse images
    CutImage result_;
};

}  // namespace

CutImage cut_image(const ImageSource& source, Laid laid) {
    return Cutter(source, std::move(laid)).cut();
}

std::optional<ByteSpan> place_of(const Piece& piece, int item, ByteView body) {
    std::int64_t number = item;
    if (piece.by) {
        if (*piece.by >= body.size()) return std::nullopt;
        number = body[*piece.by];
    }
    const std::int64_t at = piece.at + piece.stride * number;
    if (at < 0) return std::nullopt;
    return ByteSpan{static_cast<std::size_t>(at), piece.length};
}

bool is_needed(const Framing& framing, std::size_t at, bool both) {
    constexpr int table_size = 256;  // of what one byte can number
    const auto covers = [&](ByteSpan place) {
        return place.offset + (both ? 1 : 0) <= at && at < place.offset + place.length;
    };
    for (const PresetRun& run : framing.presets) {
        for (const Piece& piece : run.pieces) {
            const int count = piece.by ? table_size : run.count;
            Piece plain = piece;
            plain.by.reset();
            for (int item = 0; item < count; ++item) {
                const auto place = place_of(plain, item, {});
                if (place && covers(*place)) return true;
            }
        }
    }
    return framing.presets.empty();
}

std::size_t needed_size(const Framing& framing) {
    std::size_t size = 0;
    for (const PresetRun& run : framing.presets) {
        for (const Piece& piece : run.pieces) {
            if (piece.by || run.count <= 0) continue;
            for (const int item : {0, run.count - 1}) {
                if (const auto place = place_of(piece, item, {})) size = std::max(size, place->offset + place->length);
            }
        }
    }
    return size;
}

}  // namespace downfit::dump
