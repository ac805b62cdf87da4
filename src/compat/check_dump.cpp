// The part of checking that needs the whole file: offsets, fingerprints, absent slots, and which refusals take the
// whole dump along.
#include <algorithm>
#include <map>

#include "base/digest.h"
#include "base/text.h"
#include "compat/check.h"
#include "compat/file_places.h"
#include "compat/fingerprint.h"
#include "compat/taken_along.h"
#include "compat/watch.h"
#include "dump/locate.h"

namespace downfit::compat {
namespace {

/// A dump with all that tells where things stand in its file.
struct File {
    const dump::Dump& dump;
    ByteView bytes;
    std::vector<std::size_t> lines{};

    File(const dump::Dump& of, ByteView file) : dump(of), bytes(file) {
        if (has_lines(of)) lines = line_starts(file);
    }
    [[nodiscard]] FilePlaces places(const dump::Entry& entry, const dump::NamedBody* named) const {
        return {dump, entry, bytes, lines, named};
    }
};

void add_offsets(const FilePlaces& saved, const FilePlaces& loaded, PresetCheck& preset) {
    for (TargetCheck& target : preset.targets) {
        for (Finding& finding : target.findings) {
            saved.add_saved(finding);
            loaded.add_loaded(finding);
        }
    }
}

/// An entry's body by name, read once.
std::optional<dump::NamedBody>& read_named(const dump::Dump& dump, const dump::Entry& entry,
                                           std::optional<dump::NamedBody>& named) {
    if (entry.text) named.emplace(dump.device->framings[entry.framing].named.notation, entry.body);
    return named;
}

dump::NamedBody* pointer_to(std::optional<dump::NamedBody>& named) {
    return named ? &*named : nullptr;
}

/// Checks one entry, and says where in the files its findings stand.
PresetCheck check_entry(Checker& checker, const File& file, const File* written, std::size_t index, bool rewritten) {
    const dump::Entry& entry = file.dump.entries[index];
    std::optional<dump::NamedBody> named, written_named;
    read_named(file.dump, entry, named);
    const dump::Entry* there = rewritten ? &written->dump.entries[index] : nullptr;
    if (rewritten) read_named(written->dump, *there, written_named);
    PresetCheck preset = rewritten ? checker.check_rewritten(entry, pointer_to(named), *there,
                                                             pointer_to(written_named), checker.options().targets[0])
                                   : checker.check(entry, pointer_to(named));
    preset.entry = index;
    const bool any = std::any_of(preset.targets.begin(), preset.targets.end(),
                                 [](const TargetCheck& target) { return !target.findings.empty(); });
    if (!any) return preset;
    const FilePlaces saved = file.places(entry, pointer_to(named));
    if (rewritten) {
        add_offsets(saved, written->places(*there, pointer_to(written_named)), preset);
    } else {
        add_offsets(saved, saved, preset);
    }
    return preset;
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

DumpCheck check_all(Checker& checker, const dump::Dump& dump, ByteView original, const Rewriting* rewriting,
                    const Watch& watch) {
    DumpCheck result;
    result.file = dump.file;
    result.digest = dump.digest;
    const File read(dump, original);
    std::optional<File> written;
    if (rewriting != nullptr) written.emplace(rewriting->dump, rewriting->bytes);
    TakenAlong along;
    std::size_t findings = 0;
    for (std::size_t i = 0; i < dump.entries.size(); ++i) {
        if (dump.device->framings[dump.entries[i].framing].holds != schema::Holds::presets) continue;
        const bool rewritten = rewriting != nullptr && rewriting->entries[i];
        PresetCheck preset = check_entry(checker, read, written ? &*written : nullptr, i, rewritten);
        for (const TargetCheck& target : preset.targets) findings += target.findings.size();
        if (findings > checker.options().most_findings) {
            result.stopped = Problem{
                dump.file,
                "leads to more than " + number_text(static_cast<double>(checker.options().most_findings)) + " findings",
                "fewer presets or releases at once", "choose releases (--on) or split the dump"};
            break;
        }
        along.note(preset);
        result.presets.push_back(std::move(preset));
        if (watch) watch(i + 1, dump.entries.size());
    }
    for (PresetCheck& preset : result.presets) along.apply(checker, preset);
    std::map<std::string, int> names;
    for (const PresetCheck& preset : result.presets) ++names[preset.name];
    // The folder that a file lies in says nothing about the preset.
    const std::string file = dump.file.substr(dump.file.find_last_of('/') + 1);
    for (PresetCheck& preset : result.presets) add_fingerprints(*dump.device, file, names[preset.name] == 1, preset);
    result.absent = dump::absent_slots(dump);
    return result;
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

DumpCheck check_dump(Checker& checker, const dump::Dump& dump, ByteView original, const Rewriting* rewriting) {
    return check_all(checker, dump, original, rewriting, {});
}

DumpCheck check_dump(Checker& checker, const dump::Dump& dump, ByteView original, const Watch& watch) {
    return check_all(checker, dump, original, nullptr, watch);
}

}  // namespace downfit::compat
