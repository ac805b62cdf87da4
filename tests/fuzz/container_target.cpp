// Fuzz target: any bytes as what presets come in: a MIDI file, a gzip file, a zip archive. Promised: pieces lie in the
// file and nothing is sent twice; a failure has a reason; limits hold.
#include <set>

#include "base/limits.h"
#include "files/archive.h"
#include "files/kind.h"
#include "fuzz/target.h"
#include "midi/standard_midi_file.h"

namespace {

using namespace downfit;

void try_midi_file(ByteView bytes) {
    Problems noticed;
    const auto file = midi::read_standard_midi_file(bytes, noticed);
    for (const Problem& problem : noticed) {
        const auto& place = std::get<BytePlace>(problem.place);
        fuzz::require(!problem.what.empty() && place.offset <= bytes.size(), "what was noticed has a place and words");
    }
    if (!file) {
        fuzz::require(!file.problems().empty(), "a failure has a reason");
        return;
    }
    std::set<std::size_t> taken;
    std::size_t total = 0;
    for (const midi::FileMessage& message : file.value().messages) {
        fuzz::require(message.track < file.value().tracks.size(), "a message is on a track");
        for (const ByteSpan& piece : message.pieces) {
            fuzz::require(piece.offset + piece.length <= bytes.size(), "pieces lie in the file");
            for (std::size_t i = 0; i < piece.length; ++i) {
                fuzz::require(taken.insert(piece.offset + i).second, "no byte is sent twice");
            }
            total += piece.length;
        }
    }
    const Bytes stream = midi::stream_of(file.value().messages, bytes);
    fuzz::require(stream.size() == total, "every piece is sent");
}

template <class T>
void reasoned(const Result<T>& result) {
    if (!result)
        fuzz::require(!result.problems().empty() && !result.problems().front().what.empty(), "a failure has a reason");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const ByteView bytes(data, size);
    const files::Kind kind = files::kind_of(bytes);
    fuzz::require(files::row_of(kind).kind == kind, "every kind has a row");
    try_midi_file(bytes);
    const auto plain = files::unpack_gzip("fuzz.gz", bytes);
    reasoned(plain);
    fuzz::require(!plain || plain.value().size() <= limits::largest_file, "gzip keeps within its limit");
    const auto members = files::unpack_zip("fuzz.zip", bytes);
    reasoned(members);
    if (members) {
        for (const files::Member& member : members.value()) {
            fuzz::require(member.bytes.size() <= limits::largest_file, "zip keeps within its limit");
            fuzz::require(!files::is_hidden(member.name), "hidden files are left out");
        }
    }
    return 0;
}
