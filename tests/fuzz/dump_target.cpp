// Fuzz target: dumps. The first byte chooses the device and whether the rest is a whole file, or the body of a preset
// that is put into a sound dump, so that checks do not keep the fuzzer outside. Promised: whatever was read and not
// changed is written byte by byte; damage has a reason; spans cover the file.
#include "dump/dump.h"

#include <set>

#include "dump/tree.h"
#include "fuzz/devices.h"
#include "fuzz/target.h"
#include "schema/instances.h"

namespace {

using namespace downfit;

constexpr std::uint8_t as_body = 0x80;

const std::vector<schema::Instances>& instances_of(const schema::Device& device) {
    static std::map<const schema::Device*, std::vector<schema::Instances>> all;
    auto& list = all[&device];
    if (!list.empty()) return list;
    for (const schema::ReleaseEntry& release : device.releases) {
        if (release.schema) list.emplace_back(*release.schema);
    }
    return list;
}

void decode(const schema::Device& device, const dump::Entry& entry) {
    // One release a body is enough: which, the body says, so that the fuzzer reaches all.
    const std::vector<schema::Instances>& all = instances_of(device);
    const std::size_t chosen = entry.body.empty() ? 0 : entry.body[entry.body.size() / 2] % all.size();
    for (const std::size_t release : {chosen, all.size() - 1}) {
        const schema::Instances& instances = all[release];
        const auto stamps = entry.stamp ? device.releases_with(*entry.stamp) : std::vector<std::size_t>{};
        const auto stamped = stamps.empty() ? std::nullopt : std::optional(stamps.back());
        const auto tree = dump::decode_tree(instances, entry.body, stamped, &device, entry.layout);
        fuzz::require(tree.size() == instances.fields().size(), "the tree has a leaf for every field");
        static_cast<void>(dump::preset_name(instances, entry.body, entry.layout));
        for (const std::size_t byte : dump::unexplained_bytes(instances, entry.layout, entry.body, &device)) {
            fuzz::require(byte < entry.body.size(), "unexplained bytes lie in the body");
        }
    }
}

void inspect(const dump::Dump& dump, ByteView bytes) {
    std::size_t next = 0;
    for (const dump::Span& span : dump.spans) {
        fuzz::require(span.span.offset == next, "spans follow each other without gap or overlap");
        next += span.span.length;
    }
    fuzz::require(next == bytes.size(), "spans cover the file");
    for (const dump::Entry& entry : dump.entries) {
        fuzz::require((entry.state == dump::SlotState::damaged) == !entry.damage.empty(), "damage has a reason");
        const auto origins = dump::origins(dump, entry, bytes);
        if (entry.state != dump::SlotState::damaged) {
            fuzz::require(origins.size() == entry.body.size(), "every byte of a body has an origin");
        }
        for (const std::size_t origin : origins) fuzz::require(origin < bytes.size(), "origins lie in the file");
        static_cast<void>(dump::captured_name(dump, entry));
    }
    std::set<Bytes> seen;
    for (const dump::Entry& entry : dump.entries) {
        if (seen.size() < 2 && seen.insert(entry.body).second) decode(*dump.device, entry);
    }
    const auto written = dump::write(dump, bytes);
    fuzz::require(written.ok() && fuzz::same(written.value(), bytes), "an unchanged dump is written byte by byte");
}

void try_file(const schema::Device& device, ByteView bytes) {
    std::vector<const schema::Device*> all;
    for (const schema::Device& one : fuzz::devices()) all.push_back(&one);
    static_cast<void>(dump::recognise(bytes, all));
    const auto dump = dump::read("fuzz.syx", bytes, device);
    if (!dump) {
        fuzz::require(!dump.problems().empty(), "a failure has a reason");
        return;
    }
    inspect(dump.value(), bytes);
}

void try_body(const fuzz::Base& base, std::size_t index, ByteView body) {
    dump::Dump changed = base.dump;
    dump::Entry& entry = changed.entries[index % changed.entries.size()];
    const std::size_t size = entry.body.size();
    entry.body.assign(body.begin(), body.begin() + static_cast<std::ptrdiff_t>(std::min(size, body.size())));
    entry.body.resize(size);
    const auto written = dump::write(changed, base.bytes);
    if (!written) {
        fuzz::require(!written.problems().empty(), "a failure has a reason");
        return;
    }
    const auto again = dump::read("fuzz.syx", written.value(), *changed.device);
    fuzz::require(again.ok() && again.value().entries.size() == changed.entries.size(),
                  "a dump with another body can be read");
    const dump::Entry& read = again.value().entries[index % changed.entries.size()];
    // Records that any bytes make may well run past their end; that is damage, and nothing else may be.
    fuzz::require(std::ranges::all_of(
                      read.damage,
                      [](const Problem& problem) { return problem.what.ends_with("of the preset runs past its end"); }),
                  "a dump with another body has sound checks");
    // Checks inside the body were made anew; every other byte is what was put there.
    constexpr std::size_t longest_check = 4;
    std::size_t differing = 0;
    for (std::size_t i = 0; i < size && read.body.size() == size; ++i) differing += read.body[i] != entry.body[i];
    fuzz::require(read.body.size() == size && differing <= longest_check, "another body arrives");
    inspect(again.value(), written.value());
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    fuzz::Input input(data, size);
    const std::uint8_t control = input.byte();
    const schema::Device& device = fuzz::device_of(control & 0x03);
    if (control & as_body) {
        const std::uint8_t index = input.byte();
        const auto& bases = fuzz::bases_of(device);
        try_body(bases[(control >> 2 & 0x1F) % bases.size()], index, input.rest());
    } else {
        try_file(device, input.rest());
    }
    return 0;
}
