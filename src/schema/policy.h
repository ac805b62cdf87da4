// A policy: what somebody lets pass, kept in a file of its own (docs/formats.md, "Policy file"). Reading it; what it
// does to results is the business of compat/policy.h.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "schema/device.h"
#include "schema/load.h"

namespace downfit::schema {

/// Just-noticeable differences as written; what is missing keeps its default. All above zero and finite.
struct Tolerances {
    std::optional<double> level;           ///< dB
    std::optional<double> pitch;           ///< cents
    std::optional<double> frequency;       ///< cents
    std::optional<double> q;               ///< % of the bandwidth
    std::optional<double> time;            ///< ms, below long_time_from
    std::optional<double> long_time_from;  ///< ms
    std::optional<double> long_time;       ///< %
    std::optional<double> decay;           ///< %
    std::optional<double> rate;            ///< %
    std::optional<double> range;           ///< % of the saving release's range, for anything else
    std::optional<double> slight_up_to;    ///< so many of them; at least 1
    std::optional<double> louder;          ///< dB; at most 6: a policy may be more careful about loudness, never less
};

/// From what on a result fails. A refused preset always does.
enum class FailsFrom : std::uint8_t { near, altered, severe, refused };

/// A release that a policy names, and where.
struct NamedRelease {
    std::string name;
    TextPlace place;
};

/// What fails on one release.
struct ReleasePolicy {
    NamedRelease release;
    FailsFrom fails = FailsFrom::altered;
};

/// Something that was looked at and let pass: a finding (`fingerprint`, or all of `preset`, `parameter` and `outcome`),
/// a parameter in every preset, or everything in one preset.
struct Acceptance {
    std::string fingerprint;  ///< 16 hex digits; or empty
    std::string preset;       ///< its name; or empty
    std::optional<int> slot;  ///< as shown, where several presets have that name
    TextPlace parameter_place;
    std::string parameter;              ///< an id; steps without brackets mean every instance; or empty
    std::string outcome;                ///< or empty: any
    std::vector<NamedRelease> on;       ///< releases on which it holds; empty: all
    std::string weight;                 ///< the most that was accepted: slight, audible, severe
    std::vector<std::string> cautions;  ///< that were known: louder, feedback, level-unknown
    std::string reason;                 ///< never empty
    std::string until;                  ///< the last day on which it holds, YYYY-MM-DD; empty: for good
    TextPlace place;                    ///< where it stands in the policy file
};

struct Policy {
    std::string title;
    std::string device;  ///< the only one that it is for; empty: any
    TextPlace device_place;
    Tolerances tolerances;
    FailsFrom fails = FailsFrom::altered;
    std::vector<ReleasePolicy> releases;
    std::vector<Acceptance> accepted;
    std::string file;    ///< empty: there is no policy file, all is as if nothing were written
    std::string digest;  ///< SHA-256 of the file's bytes, hex
};

/// The word of a policy file for it.
[[nodiscard]] std::string_view fails_name(FailsFrom fails);

/// Reads a policy file. On failure every problem is returned, with file, line, column, JSON Pointer, what was expected
/// and, for a misspelt word, what may have been meant. What it lets through is then judged by
/// schemas/format/policy.schema.json as well. Never throws; reads no file itself.
[[nodiscard]] Result<Policy> read_policy(const SourceFile& file);

/// What in a policy does not fit the device: it is for another one, or names releases or parameters that this one has
/// not.
[[nodiscard]] Problems check_policy(const Policy& policy, const Device& device);

/// Whether a text is a day of the calendar, YYYY-MM-DD. Such texts sort as the days do.
[[nodiscard]] bool is_date(std::string_view text);

}  // namespace downfit::schema
