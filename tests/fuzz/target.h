// What the fuzz targets share. A target is one source that defines LLVMFuzzerTestOneInput: any bytes in, 0 out, and
// never a crash, a hang or a broken promise. libFuzzer feeds it in tests/fuzz/run, replay.cpp in the ordinary tests.
#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <string_view>

#include "base/bytes.h"

/// The whole target. Returns 0; ends the program where the library breaks a promise.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

namespace downfit::fuzz {

/// Ends the program, saying `promise`, where it does not hold.
void require(bool holds, std::string_view promise);

/// The input, taken from its start.
class Input {
public:
    Input(const std::uint8_t* data, std::size_t size) : bytes_(data, size) {}

    /// The next byte, 0 at the end.
    [[nodiscard]] std::uint8_t byte() {
        if (bytes_.empty()) return 0;
        const std::uint8_t first = bytes_.front();
        bytes_ = bytes_.subspan(1);
        return first;
    }

    /// All that is left.
    [[nodiscard]] ByteView rest() const { return bytes_; }

private:
    ByteView bytes_;
};

/// Whether both hold the same bytes.
[[nodiscard]] inline bool same(ByteView a, ByteView b) {
    return std::equal(a.begin(), a.end(), b.begin(), b.end());
}

}  // namespace downfit::fuzz
