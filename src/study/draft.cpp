#include "study/draft.h"

#include <algorithm>

#include "dump/claims.h"
#include "dump/locate.h"
#include "study/draft_bytes.h"
#include "study/draft_named.h"

namespace downfit::study {

namespace {

constexpr std::size_t least_values = 3;  // that must all look like records
constexpr std::size_t most_depth = 4;

/// All records of one id in one run: their values, and the most of them that one run has.
struct Gathered {
    std::vector<ByteView> values;
    std::map<std::size_t, int> in_run;

    [[nodiscard]] int count() const {
        int most = 0;
        for (const auto& [run, number] : in_run) most = std::max(most, number);
        return most;
    }
};

std::map<std::int64_t, Gathered> gather_records(const schema::Records& rule, const std::vector<ByteView>& runs) {
    std::map<std::int64_t, Gathered> found;
    for (std::size_t i = 0; i < runs.size(); ++i) {
        for (const dump::Record& record : dump::split_records(rule, runs[i], 0).records) {
            Gathered& gathered = found[record.id];
            gathered.values.push_back(runs[i].subspan(record.value.offset, record.value.length));
            ++gathered.in_run[i];
        }
    }
    return found;
}

/// Whether every value is a whole run of such records with rising ids, with more than one in most.
bool all_are_runs(const schema::Records& rule, const std::vector<ByteView>& values) {
    std::size_t records = 0;
    for (const ByteView value : values) {
        const dump::RecordList list = dump::split_records(rule, value, 0);
        if (!list.complete || list.records.empty()) return false;
        for (std::size_t i = 1; i < list.records.size(); ++i) {
            if (list.records[i].id < list.records[i - 1].id) return false;
        }
        records += list.records.size();
    }
    return values.size() >= least_values && records >= 2 * values.size();
}

/// A rule by which the values are records themselves.
std::optional<schema::Records> rule_inside(const std::vector<ByteView>& values) {
    using Kind = schema::HeadPart::Kind;
    const std::vector<std::vector<Kind>> heads{
        {Kind::id, Kind::length}, {Kind::id, Kind::version, Kind::length}, {Kind::id, Kind::length, Kind::version}};
    for (const std::vector<Kind>& kinds : heads) {
        schema::Records rule;
        for (const Kind kind : kinds) rule.head.push_back({kind, 1, false});
        if (all_are_runs(rule, values)) return rule;
    }
    return std::nullopt;
}

class Maker {
public:
    Draft make(const schema::Layout& layout, const schema::Framing& framing,
               const std::vector<const dump::Entry*>& presets) {
        draft_.presets = presets.size();
        Rows plain;
        std::vector<ByteView> bodies;
        for (const dump::Entry* preset : presets) {
            const ByteView body(preset->body);
            bodies.push_back(body);
            plain.rows.push_back(layout.records ? body.first(std::min(layout.records->from, body.size())) : body);
            close(dump::claim_bytes(nullptr, layout, &framing, body), plain);
        }
        add(plain, {});
        if (layout.records) add_records(*layout.records, bodies, {}, 0);
        return std::move(draft_);
    }

private:
    /// What the layout itself explains is nothing to draft.
    static void close(const std::vector<dump::ClaimedByte>& claims, Rows& rows) {
        if (rows.closed.size() < claims.size()) rows.closed.resize(claims.size(), false);
        for (std::size_t i = 0; i < claims.size(); ++i) {
            if (claims[i].by != dump::Claim::nobody) rows.closed[i] = true;
        }
    }

    void add(const Rows& rows, const std::string& group) {
        const ColumnCount count = count_columns(rows);
        draft_.places += count.all;
        draft_.varying += count.varying;
        for (DraftParameter& parameter : draft_bytes(rows)) {
            if (!group.empty()) parameter.id = group + '.' + parameter.id;
            draft_.parameters.push_back(std::move(parameter));
        }
    }

    void add_records(const schema::Records& rule, const std::vector<ByteView>& runs, const std::string& group,
                     std::size_t depth) {
        for (const auto& [id, gathered] : gather_records(rule, runs)) {
            const std::string name = "record-" + std::to_string(id);
            const std::optional<schema::Records> inside =
                depth < most_depth ? rule_inside(gathered.values) : std::nullopt;
            Rows rows;
            rows.rows = gathered.values;
            if (!inside && gathered.count() == 1) {
                rows.prefix = name + '-';
                rows.whole = name;
                rows.tag = id;
                add(rows, group);
                continue;
            }
            const std::string path = group.empty() ? name : group + '.' + name;
            const std::size_t groups = draft_.groups.size();
            const std::size_t parameters = draft_.parameters.size();
            draft_.groups.push_back({path, id, gathered.count(), inside});
            if (inside) add_records(*inside, gathered.values, path, depth + 1);
            if (!inside) add(rows, path);
            // A group in which nothing differs says nothing.
            if (draft_.parameters.size() == parameters) draft_.groups.resize(groups);
        }
    }

    Draft draft_;
};

}  // namespace

std::size_t Draft::count(Sort sort) const {
    return static_cast<std::size_t>(
        std::count_if(parameters.begin(), parameters.end(),
                      [sort](const DraftParameter& parameter) { return parameter.sort == sort; }));
}

Draft make_draft(const schema::Device& device, std::size_t layout, const std::vector<const dump::Entry*>& presets) {
    const schema::Layout& here = device.layouts[layout];
    if (here.notation != schema::Notation::bytes) return draft_named(here, presets);
    return Maker().make(here, device.framings[here.framing], presets);
}

}  // namespace downfit::study
