// Scales: from the stored number to the value that people read, and back.
#pragma once

#include <cstdint>
#include <vector>

namespace downfit::schema {

/// The law between two neighbouring points of a scale; formulas in docs/formats.md, "Scales".
enum class Taper : std::uint8_t { linear, logarithmic, audio, power, volume };

/// One point of a scale.
struct ScalePoint {
    double stored = 0;
    double value = 0;

    bool operator==(const ScalePoint&) const = default;
};

/// A stored-number-to-value law. Without points the value is the stored number itself. `points` are in rising
/// order of `stored`, at least two; their values rise or fall throughout (the loader checks both).
///
/// Sources: linear, audio and power laws: common practice, no source. Logarithmic a(b/a)^x: LV2 port-props
/// "logarithmic". volume 40 log10(v/most): MMA General MIDI Level 1 Developer Guidelines (1998), for CC 7.
struct Scale {
    std::vector<ScalePoint> points;
    Taper taper = Taper::linear;
    double curve = 0;  ///< c of audio, n of power; unused otherwise

    /// The value of a stored number. Beyond the outermost points the outermost law goes on. With `volume` and
    /// stored <= 0: minus infinity.
    [[nodiscard]] double value_of(double stored) const;

    /// The stored number of a value, not rounded: the inverse of value_of. NaN where no stored number has it
    /// (a logarithmic law never reaches the other sign).
    [[nodiscard]] double stored_of(double value) const;

    [[nodiscard]] bool identity() const { return points.empty(); }

    bool operator==(const Scale&) const = default;
};

}  // namespace downfit::schema
