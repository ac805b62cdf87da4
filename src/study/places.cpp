#include "study/places.h"

#include <map>
#include <optional>

#include "dump/locate.h"

namespace downfit::study {

namespace {

/// Names the bytes of one body.
class Namer {
public:
    Namer(const schema::Instances* instances, ByteView body)
        : instances_(instances), body_(body), places_(body.size()) {
        for (std::size_t i = 0; i < body.size(); ++i) places_[i].byte = i;
    }

    /// The run of records in `span`, which belongs to `anchor` (-1: the body), whose records so far are `path`.
    void name_run(const schema::Records& rule, ByteSpan span, int anchor, const std::vector<RecordStep>& path) {
        const dump::RecordList list = dump::split_records(rule, body_.subspan(span.offset, span.length), span.offset);
        std::map<std::int64_t, int> seen;
        for (const dump::Record& record : list.records) {
            std::vector<RecordStep> inside = path;
            inside.push_back({record.id, ++seen[record.id]});
            name(record.head, inside, Place::Part::head);
            name(record.value, inside, Place::Part::value);
            const std::optional<int> inner = anchor_of(anchor, inside.back());
            const schema::Records* nested = inner ? nested_in(*inner) : nullptr;
            if (nested != nullptr) name_run(*nested, record.value, *inner, inside);
        }
        name(list.rest, path, Place::Part::tail);
    }

    std::vector<Place> take() && { return std::move(places_); }

private:
    void name(ByteSpan span, const std::vector<RecordStep>& records, Place::Part part) {
        for (std::size_t i = 0; i < span.length; ++i) places_[span.offset + i] = {records, part, i};
    }

    [[nodiscard]] std::optional<int> anchor_of(int parent, const RecordStep& step) const {
        if (instances_ == nullptr) return std::nullopt;
        const std::vector<schema::Anchor>& anchors = instances_->anchors();
        for (std::size_t i = 0; i < anchors.size(); ++i) {
            if (anchors[i].parent == parent && anchors[i].tag == step.id && anchors[i].nth == step.nth &&
                anchors[i].group >= 0)
                return static_cast<int>(i);
        }
        return std::nullopt;
    }

    /// The rule by which an anchor's value is itself a run of records, or nullptr.
    [[nodiscard]] const schema::Records* nested_in(int anchor) const {
        const int instance = instances_->anchors()[static_cast<std::size_t>(anchor)].group;
        const int group = instances_->groups()[static_cast<std::size_t>(instance)].group;
        const auto& records = instances_->release().groups[static_cast<std::size_t>(group)].records;
        return records ? &*records : nullptr;
    }

    const schema::Instances* instances_;
    ByteView body_;
    std::vector<Place> places_;
};

}  // namespace

std::vector<Place> places_of(const schema::Instances* instances, const schema::Layout& layout, ByteView body) {
    Namer namer(instances, body);
    if (layout.records) namer.name_run(*layout.records, {0, body.size()}, -1, {});
    return std::move(namer).take();
}

std::string records_text(const std::vector<RecordStep>& records) {
    std::string text;
    for (const RecordStep& step : records) {
        if (!text.empty()) text += '.';
        text += std::to_string(step.id);
        if (step.nth > 1) text += '[' + std::to_string(step.nth) + ']';
    }
    return text;
}

std::string place_text(const Place& place) {
    std::string text;
    if (!place.records.empty()) text = "record " + records_text(place.records) + ' ';
    if (place.part == Place::Part::head) text += "head ";
    if (place.part == Place::Part::tail) text += "tail ";
    return text + "byte " + std::to_string(place.byte);
}

}  // namespace downfit::study
