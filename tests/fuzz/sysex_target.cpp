// Fuzz target: any bytes as a System Exclusive stream. Promised: the items cover the input, and what is a message comes
// back byte by byte.
#include "fuzz/target.h"
#include "midi/identity.h"
#include "midi/manufacturer.h"
#include "midi/sysex.h"

namespace {

using namespace downfit;

void try_identity(const Bytes& content) {
    if (const auto asked = midi::requested_device(content)) {
        fuzz::require(midi::build_identity_request(*asked).value() == content, "an identity request comes back");
    }
    const auto identity = midi::parse_identity_reply(content);
    if (!identity) {
        fuzz::require(!identity.problems().empty(), "a failure has a reason");
        return;
    }
    fuzz::require(midi::is_identity_reply(content), "what can be read as a reply claims to be one");
    fuzz::require(midi::build_identity_reply(identity.value()).value() == content, "an identity reply comes back");
}

void try_item(const midi::Item& item, ByteView bytes) {
    fuzz::require(item.span.length > 0, "no item is empty");
    fuzz::require((item.kind == midi::ItemKind::damaged) == (item.damage != midi::Damage::none), "damage has a reason");
    if (item.kind == midi::ItemKind::junk) return;
    for (std::size_t i = 0; i < item.content.size(); ++i) {
        const std::size_t at = midi::content_offset(item, i);
        fuzz::require(at < bytes.size() && bytes[at] == item.content[i], "content stands where it is said to");
    }
    try_identity(item.content);
    if (item.kind != midi::ItemKind::message) return;
    const auto id = midi::parse_manufacturer_id(item.content);
    fuzz::require(id.has_value() && !midi::name(midi::id_group(*id)).empty(), "a message has a manufacturer id");
    const auto framed = midi::frame(item.content, item.real_time, item.span.offset);
    fuzz::require(framed.ok() && fuzz::same(framed.value(), bytes.subspan(item.span.offset, item.span.length)),
                  "a message comes back byte by byte");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const ByteView bytes(data, size);
    std::size_t next = 0;
    for (const midi::Item& item : midi::read_sysex(bytes)) {
        fuzz::require(item.span.offset == next, "items follow each other without gap or overlap");
        next += item.span.length;
        try_item(item, bytes);
    }
    fuzz::require(next == size, "items cover the input");
    if (size < 4096) try_identity(Bytes(data, data + size));
    // Framed as content, the input is refused or read back whole.
    if (const auto framed = midi::frame(bytes)) {
        const auto items = midi::read_sysex(framed.value());
        fuzz::require(
            items.size() == 1 && items[0].kind == midi::ItemKind::message && fuzz::same(items[0].content, bytes),
            "what was framed is read back");
    }
    return 0;
}
