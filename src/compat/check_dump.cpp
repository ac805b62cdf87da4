// The part of checking that needs the whole file: offsets, fingerprints, absent slots.
#include <algorithm>
#include <map>

#include "base/digest.h"
#include "base/text.h"
#include "compat/check.h"

namespace downfit::compat {
namespace {

void add_offsets(const dump::Dump& dump, const dump::Entry& entry, ByteView original, PresetCheck& preset) {
    const bool needed = std::any_of(preset.targets.begin(), preset.targets.end(),
                                    [](const TargetCheck& target) { return !target.findings.empty(); });
    if (!needed) return;
    const std::vector<std::size_t> origins = dump::origins(dump, entry, original);
    const auto origin = [&](const std::optional<std::size_t>& byte) -> std::optional<std::size_t> {
        if (!byte || *byte >= origins.size()) return std::nullopt;
        return origins[*byte];
    };
    for (TargetCheck& target : preset.targets) {
        for (Finding& finding : target.findings) {
            finding.saved_offset = origin(finding.saved_byte);
            finding.loaded_offset = origin(finding.loaded_byte);
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

void add_fingerprints(const schema::Device& device, const std::string& file, bool name_is_unique, PresetCheck& preset) {
    std::string text;
    append(text, device.name);
    append(text, file);
    append(text, preset.name);
    if (!name_is_unique) append(text, std::to_string(preset.slot));
    for (TargetCheck& target : preset.targets) add_fingerprints(device, text, target);
}

}  // namespace

DumpCheck check_dump(Checker& checker, const dump::Dump& dump, ByteView original) {
    DumpCheck result;
    result.file = dump.file;
    result.digest = dump.digest;
    std::size_t findings = 0;
    for (std::size_t i = 0; i < dump.entries.size(); ++i) {
        const dump::Entry& entry = dump.entries[i];
        if (dump.device->framings[entry.framing].holds != schema::Holds::presets) continue;
        PresetCheck preset = checker.check(entry);
        preset.entry = i;
        for (const TargetCheck& target : preset.targets) findings += target.findings.size();
        if (findings > checker.options().most_findings) {
            result.stopped = Problem{
                dump.file,
                "leads to more than " + number_text(static_cast<double>(checker.options().most_findings)) + " findings",
                "fewer presets or releases at once", "choose releases (--on) or split the dump"};
            break;
        }
        add_offsets(dump, entry, original, preset);
        result.presets.push_back(std::move(preset));
    }
    std::map<std::string, int> names;
    for (const PresetCheck& preset : result.presets) ++names[preset.name];
    // The folder that a file lies in says nothing about the preset.
    const std::string file = dump.file.substr(dump.file.find_last_of('/') + 1);
    for (PresetCheck& preset : result.presets) add_fingerprints(*dump.device, file, names[preset.name] == 1, preset);
    result.absent = dump::absent_slots(dump);
    return result;
}

}  // namespace downfit::compat
