#include "dump/cut_records.h"

#include <algorithm>
#include <memory>

#include "base/text.h"
#include "dump/locate.h"

namespace downfit::dump {

namespace {

/// Finds cut records; keeps each release's instances for all entries.
class RecordFinder {
public:
    explicit RecordFinder(const schema::Device& device) : device_(device), instances_(device.releases.size()) {}

    /// The place of the record that is cut, by the newest release that may have saved the entry; nothing where one of
    /// these releases finds all records whole.
    std::optional<std::size_t> cut_at(const Entry& entry) {
        std::optional<std::size_t> place;
        for (const std::size_t release : candidates(entry)) {
            const schema::Layout& layout = device_.releases[release].schema->layouts[entry.layout];
            if (!layout.records) return std::nullopt;
            const Located located(instances_of(release), layout, entry.body);
            if (located.complete()) return std::nullopt;
            place = located.stopped_at();
        }
        return place;
    }

private:
    /// Releases that the stamp names and that know such dumps; without one, all that know them. Oldest first.
    std::vector<std::size_t> candidates(const Entry& entry) const {
        const std::vector<std::size_t> named =
            entry.stamp ? device_.releases_with(*entry.stamp) : std::vector<std::size_t>{};
        std::vector<std::size_t> all, likely;
        for (const schema::ReleaseEntry& release : device_.releases) {
            if (!release.schema || release.schema->layouts[entry.layout].framing != entry.framing) continue;
            all.push_back(release.schema->order);
            if (std::ranges::find(named, all.back()) != named.end()) likely.push_back(all.back());
        }
        return likely.empty() ? all : likely;
    }

    const schema::Instances& instances_of(std::size_t release) {
        auto& slot = instances_[release];
        if (!slot) slot = std::make_unique<schema::Instances>(*device_.releases[release].schema);
        return *slot;
    }

    const schema::Device& device_;
    std::vector<std::unique_ptr<schema::Instances>> instances_;
};

}  // namespace

void tell_cut_records(Dump& dump, ByteView original) {
    RecordFinder finder(*dump.device);
    for (Entry& entry : dump.entries) {
        if (entry.state != SlotState::filled) continue;
        const auto place = finder.cut_at(entry);
        if (!place) continue;
        const std::vector<std::size_t> offsets = origins(dump, entry, original);
        std::string what = "the record at byte ";
        append_number(what, static_cast<std::int64_t>(*place));
        what += " of the preset runs past its end";
        entry.damage.push_back({BytePlace{dump.file, *place < offsets.size() ? offsets[*place] : 0, 1, entry.slot},
                                std::move(what),
                                "records that end with the preset, or an id that ends them",
                                {}});
        entry.state = SlotState::damaged;
    }
}

}  // namespace downfit::dump
