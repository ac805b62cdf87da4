// Lists what the System Exclusive reader makes of a file, one item a line: kind, offset, length, and the item's
// bytes in hex, real-time bytes left out of messages. Of a Standard MIDI File: what would be sent. For comparing with
// other readers.
//
// Usage: sysex_list FILE. Exit code 2 if the file cannot be read.

#include <cstdint>
#include <cstdio>
#include <fstream>
#include <iterator>

#include "midi/standard_midi_file.h"
#include "midi/sysex.h"

using namespace downfit;
using namespace downfit::midi;

int main(int argc, char** argv) {
    std::ifstream file(argc == 2 ? argv[1] : "", std::ios::binary);
    if (!file) {
        std::fputs("usage: sysex_list FILE\n", stderr);
        return 2;
    }
    Bytes bytes{std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
    if (is_standard_midi_file(bytes)) {
        Problems noticed;
        const Result<StandardMidiFile> read = read_standard_midi_file(bytes, noticed);
        if (!read) return 2;
        for (const Problem& problem : noticed) std::fprintf(stderr, "%s\n", problem.what.c_str());
        bytes = stream_of(read.value().messages, bytes);
    }
    for (const Item& item : read_sysex(bytes)) {
        static constexpr const char* kinds[] = {"message", "damaged", "junk"};
        const bool junk = item.kind == ItemKind::junk;
        const ByteView whole = ByteView(bytes).subspan(item.span.offset, item.span.length);
        const ByteView shown = junk ? whole : ByteView(item.content);
        std::printf("%s %zu %zu", kinds[static_cast<int>(item.kind)], item.span.offset, item.span.length);
        for (const std::uint8_t byte : shown) std::printf(" %02X", byte);
        std::printf("\n");
    }
    return 0;
}
