// Layouts and message patterns from JSON. For the sources of schema/ only.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "base/limits.h"
#include "base/problem.h"
#include "schema/layout.h"
#include "schema/node.h"
#include "schema/reader.h"

namespace downfit::schema {

/// One layout; its framing is not yet among the device's.
struct ReadLayout {
    std::string name;
    Framing framing;
    std::size_t body_size = 0;  ///< 0 where it is not given
    std::optional<Records> records;
    std::vector<ByteSpan> volatile_bytes;
    TextPlace place;
    Notation notation = Notation::bytes;
    std::vector<std::string> other_paths;  ///< by name: as Layout::other_paths
};

/// The parts of a message pattern: "F0 7D 09 {slot} {data...} F7". Nothing if it is no pattern (reported).
[[nodiscard]] std::optional<std::vector<PatternPart>> read_pattern(const Node& node, Problems& problems);

/// The steps of a message (`message` true) or of a layout. `parts` is the message's pattern.
[[nodiscard]] std::vector<Step> read_steps(const Node& node, bool message, const std::vector<PatternPart>& parts,
                                           Problems& problems);

/// A list of messages: names, "part..." for one or more. `whole` is false where any could not be read (reported).
/// `presets_at` is how many stand before an item "...", which is taken only `with_presets`.
struct ReadParts {
    std::vector<AssemblyPart> parts;
    bool whole = true;
    std::optional<std::size_t> presets_at;
};
[[nodiscard]] ReadParts read_parts(const Node& node, const std::vector<MessagePattern>& messages, Problems& problems,
                                   bool with_presets = false);

/// Whether a message has a capture of that name.
[[nodiscard]] bool captures(const MessagePattern& message, std::string_view name);

/// `image`; nothing if its messages could not be read (reported).
[[nodiscard]] std::optional<ImageRule> read_image(const Node& node, const std::vector<MessagePattern>& messages,
                                                  Problems& problems);

/// `presets`: one run or a list of runs. `image_size` is that of the image as cut; 0 where it is not known.
[[nodiscard]] std::vector<PresetRun> read_preset_runs(const Node& node, std::size_t image_size, Problems& problems);

/// `records`, of a body or of a group's value; nothing if its head is wrong (reported).
[[nodiscard]] std::optional<Records> read_records(const Node& node, Problems& problems);

/// All layouts in an object, in order. `assets` are the names of asset kinds; with `body_needed`, each must say its
/// body's size or that it is a run of records.
[[nodiscard]] std::vector<ReadLayout> read_layouts(const Node& node, Names assets, bool body_needed,
                                                   Problems& problems);

/// `{"at": 0, KEY: "44 36"}`.
[[nodiscard]] std::optional<BodyBytes> read_body_bytes(const Node& node, std::string_view key, std::string_view thing,
                                                       Problems& problems);

/// The largest body that a layout may name.
using limits::largest_body;

}  // namespace downfit::schema
