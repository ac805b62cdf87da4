#include <algorithm>
#include <array>

#include "base/text.h"
#include "schema/exclusive.h"
#include "schema/flaws.h"
#include "schema/instances.h"
#include "schema/reader.h"

namespace downfit::schema {

namespace {

/// All bits of a storage as numbers 8 * byte + bit; of a text all bits of its bytes.
template <class Visit>
void each_bit(const Storage& storage, Visit visit) {
    if (storage.coding == Coding::text) {
        for (std::int64_t bit = 0; bit < static_cast<std::int64_t>(storage.text_length) * 8; ++bit)
            visit(storage.text_at * 8 + bit);
        return;
    }
    for (const BitPiece& piece : storage.pieces) {
        for (int bit = piece.bit; bit < piece.bit + piece.width; ++bit) visit(piece.byte * 8 + bit);
    }
}

std::int64_t check_bytes(const CheckStep& step) {
    return (static_cast<std::int64_t>(midi::width(step.check)) + 7) / 8;
}

/// The record that places count from, as tags and numbers from the body inwards.
std::string record_of(const Instances& instances, int anchor) {
    std::string key;
    for (; anchor >= 0; anchor = instances.anchors()[static_cast<std::size_t>(anchor)].parent) {
        const Anchor& record = instances.anchors()[static_cast<std::size_t>(anchor)];
        key.insert(0, std::to_string(record.tag) + ':' + std::to_string(record.nth) + '/');
    }
    return key;
}

/// In place of a bit, of what stands by name.
constexpr std::int64_t no_bit = -1;

/// Where an anchor by name is, as paths and keys from the preset inwards.
std::string named_place(const Instances& instances, int anchor) {
    std::string key;
    for (; anchor >= 0; anchor = instances.anchors()[static_cast<std::size_t>(anchor)].parent) {
        const Anchor& at = instances.anchors()[static_cast<std::size_t>(anchor)];
        if (!at.pick) continue;
        key.insert(0, at.pick->place.path + '\n' + at.pick->place.by_path + '\n' + at.pick->key + '\n' +
                          std::to_string(at.nth) + '\n');
    }
    return key;
}

/// Finds fields that stand in the same bits, or at the same path.
class Overlaps {
public:
    Overlaps(const Proofed& at, Flaws& flaws) : at_(at), flaws_(flaws), instances_(at.release) {}

    void find() {
        find_by_name();
        for (const bool settings : {false, true}) {
            if (!used(settings ? Holds::unit_settings : Holds::presets)) continue;
            owners_.clear();
            for (const Field& field : instances_.fields()) {
                if ((instances_.parameter(field).scope == Scope::unit) == settings) place(field, settings);
            }
        }
    }

private:
    /// Whether any layout that holds such things stores them as this release has them. (Without layouts: as if.)
    bool used(Holds holds) const {
        if (at_.release.layouts.empty()) return true;
        for (std::size_t l = 0; l < at_.release.layouts.size(); ++l) {
            const Layout& layout = at_.release.layouts[l];
            const bool bytes = layout.notation == Notation::bytes;
            const bool same = at_.device.framings[layout.framing].holds == holds;
            // Parameters of a scope that no layout holds stand in those that there are.
            if (bytes && at_.stores(l) && (same || holds == Holds::unit_settings)) return true;
        }
        return false;
    }

    void place(const Field& field, bool settings) {
        const std::string record = record_of(instances_, field.anchor);
        auto& bits = owners_[record];
        if (record.empty() && !settings) look_at_checks(field);
        std::set<const Field*> met;
        each_bit(field.storage, [&](std::int64_t bit) {
            std::vector<const Field*>& here = bits[bit];
            for (const Field* other : here) {
                if (met.insert(other).second) meet(*other, field, bit);
            }
            here.push_back(&field);
        });
    }

    void find_by_name() {
        std::map<std::string, std::vector<const Field*>> owners;
        for (const Field& field : instances_.fields()) {
            if (field.anchor < 0 || field.storage.notation == Notation::bytes) continue;
            const auto& pick = instances_.anchors()[static_cast<std::size_t>(field.anchor)].pick;
            if (!pick || pick->nowhere) continue;
            std::vector<const Field*>& here = owners[named_place(instances_, field.anchor)];
            for (const Field* other : here) meet(*other, field, no_bit);
            here.push_back(&field);
        }
    }

    /// Each two parameters are told once, whatever their instances.
    void meet(const Field& a, const Field& b, std::int64_t bit) {
        if (!met_.emplace(std::min(a.parameter, b.parameter), std::max(a.parameter, b.parameter), &a == &b).second)
            return;
        const Parameter& first = instances_.parameter(a);
        const Parameter& second = instances_.parameter(b);
        if (&a != &b && never_together(at_.device, instances_, a, b)) {
            met_.erase({std::min(a.parameter, b.parameter), std::max(a.parameter, b.parameter), false});
            return;
        }
        const Parameter& later = is_later(first, second) ? first : second;
        Flaw flaw;
        flaw.fault = Fault::overlap;
        flaw.about = {first.id, second.id};
        for (const Parameter* parameter : {&first, &second}) {
            if (parameter->group >= 0)
                flaw.about.push_back(at_.release.groups[static_cast<std::size_t>(parameter->group)].path);
        }
        const std::string where = bit == no_bit
                                      ? ": " + later.path.value_or("")
                                      : ": bit " + std::to_string(bit % 8) + " of byte " + std::to_string(bit / 8);
        if (!at_.in_layout(first.id).empty() || !at_.in_layout(second.id).empty()) flaw.layout = at_.layout;
        const std::string in = flaw.layout.empty() ? "" : " in layout " + quoted(flaw.layout);
        flaw.problem = {place_of(at_, *at_.parameter(later.id), {"path", "at", "width", "as", "bit", "length", "list"}),
                        {},
                        "places of their own, or conditions that never hold together",
                        "mend the place, the width or the stride of one; where the value of another parameter decides "
                        "which of them stands there, say so with \"when\""};
        if (&a == &b) {
            flaw.problem.what = a.id + " takes the same bits twice" + in + where;
            flaw.problem.expected = "pieces apart from each other";
        } else {
            flaw.problem.what = a.id + " and " + b.id + " stand in the same place" + in + where;
        }
        flaws_.add(at_, std::move(flaw));
    }

    /// Whether `a` was written later than `b`: in the file of the release at hand, where the other was not.
    bool is_later(const Parameter& a, const Parameter& b) const {
        const bool a_here = a.place.file == at_.release.file, b_here = b.place.file == at_.release.file;
        if (a_here != b_here) return a_here;
        return a.place.line > b.place.line;
    }

    /// Checks and lengths of the joined data are made anew: what a parameter keeps there is lost.
    void look_at_checks(const Field& field) {
        for (std::size_t l = 0; l < at_.release.layouts.size(); ++l) {
            const Layout& layout = at_.release.layouts[l];
            const Framing& framing = at_.device.framings[layout.framing];
            if (!at_.stores(l)) continue;
            const bool unpacked = std::ranges::any_of(
                framing.steps, [](const Step& step) { return std::holds_alternative<UnpackStep>(step); });
            if (framing.holds != Holds::presets || unpacked || !framing.presets.empty() || layout.body_size == 0)
                continue;
            for (const Step& step : framing.steps) look_at_check(field, step, layout);
        }
    }

    void look_at_check(const Field& field, const Step& step, const Layout& layout) {
        std::int64_t at = 0, length = 0;
        if (const auto* check = std::get_if<CheckStep>(&step)) {
            at = check->at;
            length = check_bytes(*check);
        } else if (const auto* size = std::get_if<LengthStep>(&step)) {
            at = size->at;
            length = static_cast<std::int64_t>(size->width);
        }
        if (at < 0) at += static_cast<std::int64_t>(layout.body_size);
        bool inside = false;
        each_bit(field.storage, [&](std::int64_t bit) { inside = inside || (bit / 8 >= at && bit / 8 < at + length); });
        if (!inside || !checks_.insert(field.parameter).second) return;
        const Parameter& parameter = instances_.parameter(field);
        Flaw flaw;
        flaw.fault = Fault::overlap;
        flaw.about = {parameter.id};
        flaw.problem = {place_of(at_, *at_.parameter(parameter.id), {"at", "width", "as", "length"}),
                        field.id + " stands where layout " + quoted(layout.name) + " keeps a check or length: byte " +
                            std::to_string(at),
                        "a place of its own", "mend its place, or the body's size"};
        flaws_.add(at_, std::move(flaw));
    }

    const Proofed& at_;
    Flaws& flaws_;
    Instances instances_;
    std::map<std::string, std::map<std::int64_t, std::vector<const Field*>>> owners_;
    std::set<std::tuple<int, int, bool>> met_;
    std::set<int> checks_;
};

/// Marks the bytes of a body that something explains.
class Covered {
public:
    explicit Covered(std::size_t size) : bytes_(size, false) {}

    void add(std::int64_t at, std::int64_t length) {
        for (std::int64_t byte = std::max<std::int64_t>(at, 0); byte < at + length; ++byte) {
            if (byte < static_cast<std::int64_t>(bytes_.size())) bytes_[static_cast<std::size_t>(byte)] = true;
        }
    }

    void add(const Storage& storage) {
        each_bit(storage, [&](std::int64_t bit) { add(bit / 8, 1); });
    }

    void add(const Framing& framing) {
        const auto place = [&](std::int64_t at) { return at < 0 ? at + static_cast<std::int64_t>(bytes_.size()) : at; };
        for (const Step& step : framing.steps) {
            if (const auto* check = std::get_if<CheckStep>(&step)) add(place(check->at), check_bytes(*check));
            if (const auto* length = std::get_if<LengthStep>(&step))
                add(place(length->at), static_cast<std::int64_t>(length->width));
        }
        if (framing.stamp)
            add(static_cast<std::int64_t>(framing.stamp->at), static_cast<std::int64_t>(framing.stamp->length));
        for (const BodyBytes& test : framing.empty) add(test);
        if (framing.filled) add(*framing.filled);
    }

    [[nodiscard]] std::vector<std::size_t> gaps() const {
        std::vector<std::size_t> gaps;
        for (std::size_t byte = 0; byte < bytes_.size(); ++byte) {
            if (!bytes_[byte]) gaps.push_back(byte);
        }
        return gaps;
    }

private:
    void add(const BodyBytes& test) {
        add(static_cast<std::int64_t>(test.at), static_cast<std::int64_t>(test.bytes.size()));
    }

    std::vector<bool> bytes_;
};

/// "3, 5-8, 20-21 and 12 more places".
std::string runs_text(const std::vector<std::size_t>& bytes) {
    constexpr std::size_t most = 12;
    std::string text;
    std::size_t runs = 0;
    for (std::size_t i = 0; i < bytes.size();) {
        std::size_t end = i + 1;
        while (end < bytes.size() && bytes[end] == bytes[end - 1] + 1) ++end;
        if (++runs <= most) {
            text += (text.empty() ? "" : ", ") + std::to_string(bytes[i]);
            if (end > i + 1) text += "-" + std::to_string(bytes[end - 1]);
        }
        i = end;
    }
    if (runs > most) text += " and " + std::to_string(runs - most) + " more places";
    return text;
}

}  // namespace

void StorageProof::look_at(const Proofed& at, Flaws& flaws) {
    Overlaps(at, flaws).find();
    const Instances instances(at.release);
    for (std::size_t l = 0; l < at.release.layouts.size(); ++l) {
        const Layout& layout = at.release.layouts[l];
        const Framing& framing = at.device.framings[layout.framing];
        if (!at.stores(l) || framing.holds == Holds::asset || layout.records || layout.body_size == 0) continue;
        Covered covered(layout.body_size);
        for (const Field& field : instances.fields()) {
            const bool of_unit = instances.parameter(field).scope == Scope::unit;
            if (of_unit != (framing.holds == Holds::unit_settings) || field.anchor >= 0) continue;
            covered.add(field.storage);
            for (const Storage& read : field.reads) covered.add(read);
        }
        for (const ByteSpan span : layout.volatile_bytes)
            covered.add(static_cast<std::int64_t>(span.offset), static_cast<std::int64_t>(span.length));
        covered.add(framing);
        const bool more = told_.contains(layout.name);
        std::vector<std::size_t> fresh;
        for (const std::size_t byte : covered.gaps()) {
            if (told_[layout.name].insert(byte).second) fresh.push_back(byte);
        }
        if (fresh.empty()) continue;
        const Node* layouts = at.raw.layouts ? at.raw.layouts->find(layout.name) : nullptr;
        Flaw flaw;
        flaw.fault = Fault::gap;
        flaw.of_presets = framing.holds == Holds::presets;
        flaw.problem = {layouts ? place_of(at, *layouts, {"body"}) : at.raw.file->value_place(),
                        std::to_string(fresh.size()) + (more ? " more of the " : " of the ") +
                            std::to_string(layout.body_size) + " bytes of layout " + quoted(layout.name) +
                            " belong to no parameter in release " + quoted(at.release.name) + ": " + runs_text(fresh),
                        {},
                        "describe them where they mean something; \"schema coverage DUMP\" shows which of them vary"};
        flaws.add(at, std::move(flaw));
    }
}

}  // namespace downfit::schema
