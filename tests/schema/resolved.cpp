#include "schema/resolved.h"

#include <sstream>

namespace downfit::testing {

namespace {

using namespace schema;

class Teller {
public:
    template <class T>
    void tell(const char* name, const T& value) {
        text_ << name << '=';
        put(value);
        text_ << ' ';
    }
    void line() { text_ << '\n'; }
    [[nodiscard]] std::string text() const { return text_.str(); }

private:
    void put(const std::string& value) { text_ << '"' << value << '"'; }
    void put(double value) {
        text_.precision(17);
        text_ << value;
    }
    template <class T>
    requires std::is_integral_v<T> || std::is_enum_v<T>
    void put(T value) { text_ << static_cast<std::int64_t>(value); }
    template <class T>
    void put(const std::optional<T>& value) {
        if (value)
            put(*value);
        else
            text_ << '-';
    }
    template <class T>
    void put(const std::vector<T>& values) {
        text_ << '[';
        for (const T& value : values) {
            put(value);
            text_ << ' ';
        }
        text_ << ']';
    }
    template <class K, class V>
    void put(const std::map<K, V>& values) {
        text_ << '{';
        for (const auto& [key, value] : values) {
            put(key);
            text_ << ':';
            put(value);
            text_ << ' ';
        }
        text_ << '}';
    }
    template <class... T>
    void put(const std::variant<T...>& value) {
        std::visit([&](const auto& one) { put(one); }, value);
    }
    void put(const Range& range) {
        put(range.least);
        text_ << "..";
        put(range.most);
    }
    void put(const BitPiece& piece) {
        put(piece.byte);
        text_ << '.';
        put(piece.bit);
        text_ << '+';
        put(piece.width);
    }
    void put(const Storage& storage) {
        put(storage.coding);
        put(storage.pieces);
        put(storage.text_at);
        text_ << '+';
        put(storage.text_length);
        text_ << '/';
        put(storage.encoding);
        text_ << '/';
        put(storage.padding);
    }
    void put(const ScalePoint& point) {
        put(point.stored);
        text_ << ':';
        put(point.value);
    }
    void put(const Scale& scale) {
        put(scale.points);
        put(scale.taper);
        text_ << '/';
        put(scale.curve);
    }
    void put(const Choice& choice) {
        put(choice.number);
        put(choice.label);
        put(choice.meaning);
    }
    void put(const Condition& condition) {
        text_ << '(';
        put(condition.kind);
        put(condition.parts);
        put(condition.subject);
        put(condition.name);
        put(condition.op);
        put(condition.settings);
        put(condition.at);
        put(condition.bytes);
        text_ << ')';
    }
    void put(const Meaning& meaning) {
        tell("scale", meaning.scale);
        tell("unit", meaning.unit);
        tell("range", meaning.range);
        tell("plays", meaning.plays);
        tell("step", meaning.step);
        tell("default", meaning.preset_default);
        tell("neutral", meaning.neutral);
        if (meaning.choices) tell("choices", meaning.choices->choices);
        tell("role", meaning.role);
    }
    void put(const VariedMeaning& varied) {
        put(varied.when);
        put(varied.meaning);
    }
    void put(const Read& read) {
        put(read.when);
        put(read.storage);
        put(read.meaning);
    }
    void put(const Rules& rules) {
        for (const auto& action : rules.actions) put(action);
        put(rules.tolerance);
        put(rules.refuses);
    }
    void put(const HeadPart& part) {
        put(part.kind);
        put(part.width);
        put(part.little_endian);
    }
    void put(const Records& records) {
        put(records.from);
        put(records.head);
        put(records.value_length);
        put(records.counts_record);
        put(records.end);
    }
    void put(const Cost& cost) {
        put(cost.plain);
        put(cost.by);
        put(cost.costs);
    }
    void put(const BodyBytes& bytes) {
        put(bytes.at);
        put(bytes.bytes);
    }

    std::ostringstream text_;
};

void tell_parameter(Teller& teller, const Parameter& one) {
    teller.tell("parameter", one.id);
    teller.tell("meaning", one.meaning);
    teller.tell("group", one.group);
    teller.tell("kind", one.kind);
    teller.tell("storage", one.storage);
    teller.tell("plain", one.plain);
    teller.tell("varies", one.varies);
    teller.tell("reads", one.reads);
    teller.tell("tag", one.tag);
    teller.tell("list", one.list_count);
    teller.tell("stride", one.list_stride);
    teller.tell("count-by", one.count_by);
    teller.tell("when", one.when);
    teller.tell("on", one.on);
    teller.tell("refers-to", one.refers_to);
    teller.tell("refers-by", one.refers_by);
    teller.tell("nothing", one.nothing);
    teller.tell("overrides", one.overrides);
    teller.tell("as-base", one.as_base);
    teller.tell("scope", one.scope);
    teller.tell("rules", one.rules);
    teller.tell("observed", one.observed);
    teller.tell("title", one.title);
    teller.tell("source", one.source);
    teller.tell("note", one.note);
    teller.line();
}

void tell_group(Teller& teller, const Group& one) {
    teller.tell("group", one.path);
    teller.tell("meaning", one.meaning);
    teller.tell("parent", one.parent);
    teller.tell("kind", one.kind);
    teller.tell("at", one.at);
    teller.tell("count", one.count);
    teller.tell("stride", one.stride);
    teller.tell("by", std::vector{one.on_by, one.selected_by, one.start_by, one.controls, one.heel, one.toe});
    teller.tell("when", one.when);
    teller.tell("count-by", one.count_by);
    teller.tell("by-length", one.count_by_length);
    teller.tell("tag", one.tag);
    teller.tell("records", one.records);
    teller.tell("version-at-most", one.version_at_most);
    teller.tell("version-refuses", one.version_refuses);
    teller.tell("cost", one.cost);
    teller.tell("title", one.title);
    teller.tell("role", one.role);
    teller.line();
}

void tell_shared(Teller& teller, const Release& release) {
    teller.tell("slots", std::vector{release.slots.first, release.slots.count});
    for (const AssetKind& one : release.assets) {
        teller.tell("asset", one.name);
        teller.tell("title", one.title);
        teller.tell("slots", std::vector{one.first, one.count});
        teller.tell("contents", one.contents);
    }
    for (const Variant& one : release.variants) {
        teller.tell("variant", one.name);
        teller.tell("title", one.title);
        teller.tell("oldest", one.oldest_release);
        teller.tell("limits", one.limits);
        teller.tell("budget", one.budget);
        teller.tell("facts", one.facts);
    }
    for (const Layout& one : release.layouts) {
        teller.tell("layout", one.name);
        teller.tell("framing", one.framing);
        teller.tell("size", one.body_size);
        teller.tell("records", one.records);
        for (const ByteSpan& span : one.volatile_bytes) teller.tell("volatile", std::vector{span.offset, span.length});
    }
    teller.line();
}

}  // namespace

std::string resolved_text(const Release& release) {
    Teller teller;
    teller.tell("release", release.name);
    teller.tell("device", release.device);
    teller.tell("order", release.order);
    teller.tell("stamps", release.stamps);
    teller.tell("from", release.stamp_from);
    teller.tell("budget", release.budget);
    teller.tell("rules", release.rules);
    teller.tell("returns-to", release.returns_to);
    teller.tell("erases", release.erases);
    teller.line();
    for (const Accept& one : release.accepts) {
        teller.tell("accepts", one.stamp);
        teller.tell("bytes", one.bytes);
        teller.tell("slot", one.slot);
        teller.tell("refuses", one.refuses);
        teller.tell("why", one.why);
    }
    for (const Repair& one : release.repairs) {
        teller.tell("repairs", one.found);
        teller.tell("read-as", one.read_as);
        teller.tell("why", one.why);
    }
    for (const Revoiced& one : release.revoiced) {
        teller.tell("revoiced", one.parameter);
        teller.tell("label", one.label);
        teller.tell("weight", one.weight);
        teller.tell("level", one.level_change);
        teller.tell("note", one.note);
    }
    tell_shared(teller, release);
    for (const Group& one : release.groups) tell_group(teller, one);
    for (const Parameter& one : release.parameters) tell_parameter(teller, one);
    return teller.text();
}

std::string resolved_text(const Device& device) {
    std::string text = device.name + '\n';
    for (const ReleaseEntry& entry : device.releases) {
        text += entry.name + ' ' + entry.date + '\n';
        if (entry.schema) text += resolved_text(*entry.schema);
    }
    return text;
}

}  // namespace downfit::testing
