// Small devices by name for tests: the Wheatear of tests/shapes/json.case in a few lines, and an XML one.
#pragma once

#include <string>
#include <string_view>

#include "schema/device.h"

namespace downfit::testing {

/// The Redstart: JSON or XML, presets with a level and a model in releases 1.0 and 2.0, as `parameters` says; `rules`
/// are those of the device.
[[nodiscard]] schema::Device redstart(std::string_view form, std::string_view rules, std::string_view older,
                                      std::string_view newer);

/// A file of one preset, saved on that release, with these members (JSON) or that content (XML).
[[nodiscard]] std::string redstart_file(std::string_view form, std::string_view release, std::string_view content);

/// What comes of that preset on that release, as compact_text tells it; a problem where the file cannot be read.
[[nodiscard]] std::string redstart_check(const schema::Device& device, const std::string& file,
                                         std::string_view release);

}  // namespace downfit::testing
