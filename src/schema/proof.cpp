#include "schema/proof.h"

#include <algorithm>
#include <exception>
#include <memory>

#include "schema/flaws.h"
#include "schema/read_named.h"
#include "schema/reader.h"

namespace downfit::schema {

namespace {

constexpr std::string_view mark_key = "true-to-device";

const Node* marks_of(const Node* node) {
    return node ? node->find(mark_key) : nullptr;
}

void sort_flaws(const std::vector<SourceFile>& files, std::vector<Flaw>& flaws) {
    std::map<std::string, std::size_t> rank;
    for (const SourceFile& file : files) rank.emplace(file.name, rank.size());
    const auto key = [&](const Flaw& flaw) {
        const auto* place = std::get_if<TextPlace>(&flaw.problem.place);
        const auto at = place ? rank.find(place->file) : rank.end();
        return std::tuple(at == rank.end() ? rank.size() : at->second, place ? place->line : 0,
                          place ? place->column : 0, flaw.fault);
    };
    std::ranges::stable_sort(flaws, {}, key);
}

/// Releases as single layouts store them, where that differs from the rest. Keeps what they are made of.
class StoredReleases {
public:
    explicit StoredReleases(const std::vector<Proofed>& releases) {
        for (const Proofed& at : releases) {
            for (std::size_t l = 0; l < at.release.layouts.size(); ++l) add(at, l);
        }
    }

    [[nodiscard]] const std::vector<Proofed>& all() const { return stored_; }

private:
    void add(const Proofed& at, std::size_t l) {
        const Release& release = at.release.in_layout(l);
        const Layout& layout = at.release.layouts[l];
        auto raw = view_of(at.raw, layout.name, layout.notation);
        if (&release == &at.release || !raw) return;
        raws_.push_back(std::make_unique<RawRelease>(*std::move(raw)));
        stored_.push_back({at.device, release, *raws_.back(), &at.release, layout.name});
    }

    std::vector<std::unique_ptr<RawRelease>> raws_;
    std::vector<Proofed> stored_;
};

Proof proof_parts(const std::vector<SourceFile>& files) {
    Proof proof;
    LoadedParts parts = load_parts(files);
    proof.errors = std::move(parts.problems);
    proof.left_out = parts.releases.size();
    if (!parts.device) return proof;
    Flaws flaws;
    StorageProof storage;
    std::vector<Proofed> proofed;
    for (const ResolvedRelease& release : parts.releases) {
        if (release.clean)
            proofed.push_back({*parts.device, *parts.device->releases[release.order].schema, release.raw, nullptr, {}});
    }
    const StoredReleases stored(proofed);
    flaws.see_marks(marks_of(parts.device_node.get()));
    for (const Proofed& at : proofed) {
        flaws.see_marks(at);
        proof_values(at, flaws);
        storage.look_at(at, flaws);
    }
    for (const Proofed& at : stored.all()) {
        proof_values(at, flaws);
        storage.look_at(at, flaws);
    }
    // What nobody states or uses may stand where something is wrong.
    if (proof.errors.empty()) proof_whole(proofed, stored.all(), *parts.device_node, flaws);
    proof.flaws = flaws.take();
    if (!proof.errors.empty())
        std::erase_if(proof.flaws, [](const Flaw& flaw) { return flaw.fault == Fault::mark_unused; });
    sort_flaws(files, proof.flaws);
    proof.proofed = proofed.size();
    proof.left_out -= proofed.size();
    if (proof.errors.empty()) proof.device = std::move(parts.device);
    return proof;
}

}  // namespace

const Node* Proofed::parameter(const std::string& id) const {
    const RawEntry* entry = raw.parameters.find(id);
    return entry ? entry->node.get() : nullptr;
}

const Node* Proofed::group(const std::string& path) const {
    const RawEntry* entry = raw.groups.find(path);
    return entry ? entry->node.get() : nullptr;
}

bool Proofed::stores(std::size_t l) const {
    if (whole) return release.layouts[l].name == layout;
    return &release.in_layout(l) == &release;
}

std::string Proofed::in_layout(const std::string& id) const {
    if (!whole) return {};
    const Node* node = parameter(id);
    const Node* in = node ? node->find("in") : nullptr;
    return in && in->members.empty() ? " in layout " + quoted(layout) : std::string{};
}

namespace {

/// What a flaw is about, the same in all releases whatever they call it: a rename makes no new flaw.
std::string subject_of(const Proofed& at, const Flaw& flaw) {
    std::vector<std::string> meanings;
    std::string subject = flaw.problem.what;
    for (const std::string& id : flaw.about) {
        const RawEntry* entry = at.raw.parameters.find(id);
        if (!entry) continue;
        meanings.push_back(entry->meaning);
        for (std::size_t from = subject.find(id); id != entry->meaning && from != std::string::npos;
             from = subject.find(id, from + entry->meaning.size()))
            subject.replace(from, id.size(), entry->meaning);
    }
    if (flaw.fault != Fault::overlap) return subject;
    std::ranges::sort(meanings);
    subject = flaw.layout + '\n';
    for (const std::string& meaning : meanings) subject += meaning + '\n';
    return subject;
}

}  // namespace

Flaws::Spot Flaws::spot_of(const TextPlace& place) {
    return {place.file, place.line, place.column};
}

void Flaws::put(Flaw flaw, const std::string& subject, const std::optional<Mark>& mark) {
    if (mark) {
        flaw.marked = mark->reason;
        used_.insert(spot_of(mark->place));
    }
    // Which of two parameters an overlap is told at may change from release to release.
    const auto* place = flaw.fault == Fault::overlap ? nullptr : std::get_if<TextPlace>(&flaw.problem.place);
    const bool fresh = told_.emplace(flaw.fault, place ? spot_of(*place) : Spot{}, subject, mark.has_value()).second;
    if (fresh) flaws_.push_back(std::move(flaw));
}

void Flaws::add(const Proofed& at, Flaw flaw) {
    std::optional<Mark> mark;
    for (const std::string& id : flaw.about) {
        for (const Node* node : {at.parameter(id), at.group(id)}) {
            if (!mark) mark = mark_in(marks_of(node), flaw.fault);
        }
    }
    if (!mark) mark = mark_in(at.raw.marks.get(), flaw.fault);
    flaw.release = at.release.name;
    const std::string subject = subject_of(at, flaw);
    put(std::move(flaw), subject, mark);
}

void Flaws::add(const Node& device, Flaw flaw) {
    const auto mark = mark_in(marks_of(&device), flaw.fault);
    const std::string subject = flaw.problem.what;
    put(std::move(flaw), subject, mark);
}

void Flaws::see_marks(const Proofed& at) {
    for (const RawEntry& entry : at.raw.parameters.all()) see_marks(marks_of(entry.node.get()));
    for (const RawEntry& entry : at.raw.groups.all()) see_marks(marks_of(entry.node.get()));
    see_marks(at.raw.marks.get());
}

void Flaws::see_marks(const Node* marks) {
    if (!marks) return;
    for (const Member& member : marks->members) {
        const TextPlace place = member.value->key_place();
        marks_.emplace(spot_of(place), std::pair(place, member.key));
    }
}

std::vector<Flaw> Flaws::take() {
    for (const auto& [spot, mark] : marks_) {
        if (used_.contains(spot)) continue;
        Flaw flaw;
        flaw.fault = Fault::mark_unused;
        flaw.problem = {mark.first, "nothing here is " + quoted(mark.second) + " any more",
                        "a mark beside what it is about", "take the mark away"};
        flaws_.push_back(std::move(flaw));
    }
    return std::move(flaws_);
}

TextPlace place_of(const Proofed& at, const Node& node, const std::vector<std::string_view>& keys) {
    const Node* first = nullptr;
    for (const std::string_view key : keys) {
        const Node* member = node.find(key);
        if (!member) continue;
        if (member->file && *member->file == at.release.file) return member->value_place();
        if (!first) first = member;
    }
    return first ? first->value_place() : node.key_place();
}

std::size_t Proof::problems() const {
    return static_cast<std::size_t>(
        std::ranges::count_if(flaws, [](const Flaw& flaw) { return !flaw.marked && !row_of(flaw.fault).note; }));
}

std::size_t Proof::notes() const {
    return static_cast<std::size_t>(
        std::ranges::count_if(flaws, [](const Flaw& flaw) { return !flaw.marked && row_of(flaw.fault).note; }));
}

std::size_t Proof::marked() const {
    return static_cast<std::size_t>(
        std::ranges::count_if(flaws, [](const Flaw& flaw) { return flaw.marked.has_value(); }));
}

Proof proof_device(const std::vector<SourceFile>& files) {
    try {
        return proof_parts(files);
    } catch (const std::exception& error) {
        Proof proof;
        proof.errors.push_back({std::monostate{}, "proofing the schema files failed", {}, error.what()});
        return proof;
    }
}

}  // namespace downfit::schema
