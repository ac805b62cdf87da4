// Every limit that keeps hostile or mistaken input from taking all memory or time (docs/limits.md). What exceeds one is
// refused with a clear problem, never cut off in silence.
#pragma once

#include <cstddef>
#include <cstdint>

namespace downfit::limits {

inline constexpr std::size_t mebibyte = std::size_t{1024} * 1024;

/// Bytes of any file that is read, and of standard input. No dump is anywhere near as large.
inline constexpr std::size_t largest_file = 64 * mebibyte;
/// Files in a folder or an archive, archives in archives counted with what is in them.
inline constexpr std::size_t most_files = 20'000;
/// Bytes of all files that one path stands for.
inline constexpr std::size_t most_gathered = 512 * mebibyte;
/// Archives inside each other.
inline constexpr std::size_t deepest_archive = 4;
/// Bytes of a device or release file.
inline constexpr std::size_t largest_schema_file = 16 * mebibyte;
/// Objects and lists inside each other in a JSON file.
inline constexpr std::size_t deepest_json = 64;
/// Keys and values in a JSON file.
inline constexpr std::size_t most_json_values = 500'000;
/// The same of a dump in JSON or XML: levels inside each other, and values or elements.
inline constexpr std::size_t deepest_document = 64;
inline constexpr std::size_t most_nodes = 4'000'000;
/// Problems told of one set of schema files; more are counted only.
inline constexpr std::size_t most_problems = 1000;
/// Groups in a release, and parameters, each counted once however many instances there are.
inline constexpr std::size_t most_groups = 2'000;
inline constexpr std::size_t most_parameters = 20'000;
/// Groups of a release that are like another.
inline constexpr std::size_t most_alike = 500;
/// Bytes of all places of a release's parameter instances together.
inline constexpr std::size_t most_placed_bytes = 1'000'000;
/// Pairs of parameter instances of a release that share a byte, counted for each byte.
inline constexpr std::size_t most_shared = 10'000'000;
/// Instances of groups, and of parameters, in a release.
inline constexpr std::int64_t most_instances = 100'000;
/// Choices in a list.
inline constexpr std::size_t most_choices = 16'384;

/// Bytes of a body, an image, and of places in either.
inline constexpr std::int64_t largest_body = 1 << 24;
/// Bytes of all presets that one layout cuts from an image.
inline constexpr std::int64_t largest_presets = 1 << 28;
/// System Exclusive messages (counted by their F0) in a file.
inline constexpr std::size_t most_messages = 100'000;
/// Bytes of a message; a longer one is told and not looked at.
inline constexpr std::size_t longest_message = 16 * mebibyte;
/// Bytes that one packed piece of data may unpack to.
inline constexpr std::uint32_t largest_unpacked = 1u << 24;
/// Bytes that all packed pieces of a dump together may unpack to.
inline constexpr std::size_t most_unpacked = 256 * mebibyte;

/// Combinations of possibilities of unstated rules and unknown facts that are tried for a preset on a release; with
/// more it is undecided.
inline constexpr std::size_t most_runs = 1000;
/// Findings that one check keeps.
inline constexpr std::size_t most_findings = 1'000'000;

/// Columns of a name, label or value in a text report, and of a sentence about a problem; JSON has them whole.
inline constexpr std::size_t widest_text = 200;
inline constexpr std::size_t widest_problem = 1000;

}  // namespace downfit::limits
