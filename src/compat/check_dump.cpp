// The part of checking that needs the whole file: refusals that take the whole dump along, offsets, fingerprints,
// absent slots.
#include <algorithm>
#include <map>

#include "base/digest.h"
#include "base/text.h"
#include "compat/fingerprint.h"
#include "compat/watch.h"
#include "dump/locate.h"

namespace downfit::compat {
namespace {

/// Where the lines of a text begin: what is found by name tells its line.
std::vector<std::size_t> line_starts(ByteView text) {
    std::vector<std::size_t> starts{0};
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (text[i] == '\n') starts.push_back(i + 1);
    }
    return starts;
}

/// Places in the file, and paths and lines, of what was found in one preset.
class Places {
public:
    Places(const std::vector<std::size_t>& origins, const std::vector<std::size_t>& lines, const dump::NamedBody* named)
        : origins_(origins), lines_(lines), named_(named) {}

    void add(const std::optional<std::size_t>& byte, std::optional<std::size_t>& offset, std::string& path,
             std::size_t& line) const {
        if (!byte || *byte >= origins_.size()) return;
        offset = origins_[*byte];
        if (named_ == nullptr) return;
        path = named_->path_at(*byte);
        line = static_cast<std::size_t>(std::upper_bound(lines_.begin(), lines_.end(), *offset) - lines_.begin());
    }

private:
    const std::vector<std::size_t>& origins_;
    const std::vector<std::size_t>& lines_;
    const dump::NamedBody* named_;
};

void add_offsets(const dump::Dump& dump, const dump::Entry& entry, ByteView original,
                 const std::vector<std::size_t>& lines, const dump::NamedBody* named, PresetCheck& preset) {
    const bool needed = std::any_of(preset.targets.begin(), preset.targets.end(),
                                    [](const TargetCheck& target) { return !target.findings.empty(); });
    if (!needed) return;
    const std::vector<std::size_t> origins = dump::origins(dump, entry, original);
    const Places places(origins, lines, named);
    for (TargetCheck& target : preset.targets) {
        for (Finding& finding : target.findings) {
            places.add(finding.saved_byte, finding.saved_offset, finding.saved_path, finding.saved_line);
            places.add(finding.loaded_byte, finding.loaded_offset, finding.loaded_path, finding.loaded_line);
        }
    }
}

void append(std::string& text, std::string_view part) {
    text += part;
    text += '\0';
}

std::string fingerprint_of(const std::string& text) {
    const auto* bytes = reinterpret_cast<const std::uint8_t*>(text.data());
    return sha256_hex(ByteView(bytes, text.size())).substr(0, 16);
}

/// Sets the fingerprints of one target and its findings; `preset` is what they have in common: device, file, preset.
void add_fingerprints(const schema::Device& device, const std::string& preset, TargetCheck& target) {
    std::string whole = preset;
    append(whole, device.releases[target.release].name);
    target.fingerprint = fingerprint_of(whole);
    std::string saved;
    if (target.saved_on) saved = device.releases[*target.saved_on].name;
    for (Finding& finding : target.findings) {
        std::string text = preset;
        append(text, finding.parameter);
        append(text, row_of(finding.outcome).name);
        append(text, saved);
        append(text, device.releases[target.release].name);
        finding.fingerprint = fingerprint_of(text);
    }
    for (TargetCheck& other : target.others) add_fingerprints(device, preset, other);
}

/// The preset whose refusal takes the dump along on a target, or may; one that does comes first.
const PresetCheck* taker_of(const std::vector<PresetCheck>& presets, std::size_t target) {
    const PresetCheck* found = nullptr;
    for (const PresetCheck& preset : presets) {
        if (target >= preset.targets.size() || !preset.targets[target].refuses_dump) continue;
        if (preset.targets[target].verdict == Verdict::refused) return &preset;
        if (found == nullptr) found = &preset;
    }
    return found;
}

/// What becomes of a preset on a target that refuses the dump it is in, for the sake of another.
TargetCheck taken_along(const TargetCheck& alone, const TargetCheck& taker, int slot) {
    const bool surely = taker.verdict == Verdict::refused;
    TargetCheck check = alone;
    check.worst = Verdict::refused;
    check.verdict = surely ? Verdict::refused : Verdict::undecided;
    check.reason = std::string(surely ? "the whole dump is refused" : "the whole dump may be refused") + " for slot " +
                   std::to_string(slot) + ": " + taker.reason;
    if (!surely) return check;
    check.best = Verdict::refused;
    check.findings.clear();
    check.causes.clear();
    check.cautions.clear();
    check.risks.clear();
    return check;
}

void take_along(const Checker& checker, std::vector<PresetCheck>& presets) {
    for (std::size_t target = 0; target < checker.options().targets.size(); ++target) {
        const PresetCheck* const taker = taker_of(presets, target);
        if (taker == nullptr) continue;
        const TargetCheck taking = taker->targets[target];
        const int slot = taker->slot;
        for (PresetCheck& preset : presets) {
            if (target >= preset.targets.size() || preset.targets[target].refuses_dump ||
                preset.targets[target].verdict == Verdict::refused)
                continue;
            preset.targets[target] = taken_along(preset.targets[target], taking, slot);
            checker.add_floors(preset);
        }
    }
}

}  // namespace

void add_fingerprints(const schema::Device& device, const std::string& file, bool name_is_unique, PresetCheck& preset) {
    std::string text;
    append(text, device.name);
    append(text, file);
    append(text, preset.name);
    if (!name_is_unique) append(text, std::to_string(preset.slot));
    for (TargetCheck& target : preset.targets) add_fingerprints(device, text, target);
}

DumpCheck check_dump(Checker& checker, const dump::Dump& dump, ByteView original) {
    return check_dump(checker, dump, original, {});
}

DumpCheck check_dump(Checker& checker, const dump::Dump& dump, ByteView original, const Watch& watch) {
    DumpCheck result;
    result.file = dump.file;
    result.digest = dump.digest;
    const bool by_name =
        std::ranges::any_of(dump.entries, [](const dump::Entry& entry) { return entry.text.has_value(); });
    const std::vector<std::size_t> lines = by_name ? line_starts(original) : std::vector<std::size_t>{};
    std::size_t findings = 0;
    for (std::size_t i = 0; i < dump.entries.size(); ++i) {
        const dump::Entry& entry = dump.entries[i];
        if (dump.device->framings[entry.framing].holds != schema::Holds::presets) continue;
        std::optional<dump::NamedBody> named;
        if (entry.text) named.emplace(dump.device->framings[entry.framing].named.notation, entry.body);
        PresetCheck preset = checker.check(entry, named ? &*named : nullptr);
        preset.entry = i;
        for (const TargetCheck& target : preset.targets) findings += target.findings.size();
        if (findings > checker.options().most_findings) {
            result.stopped = Problem{
                dump.file,
                "leads to more than " + number_text(static_cast<double>(checker.options().most_findings)) + " findings",
                "fewer presets or releases at once", "choose releases (--on) or split the dump"};
            break;
        }
        add_offsets(dump, entry, original, lines, named ? &*named : nullptr, preset);
        result.presets.push_back(std::move(preset));
        if (watch) watch(i + 1, dump.entries.size());
    }
    take_along(checker, result.presets);
    std::map<std::string, int> names;
    for (const PresetCheck& preset : result.presets) ++names[preset.name];
    // The folder that a file lies in says nothing about the preset.
    const std::string file = dump.file.substr(dump.file.find_last_of('/') + 1);
    for (PresetCheck& preset : result.presets) add_fingerprints(*dump.device, file, names[preset.name] == 1, preset);
    result.absent = dump::absent_slots(dump);
    return result;
}

}  // namespace downfit::compat
