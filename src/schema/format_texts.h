// The JSON Schemas of schemas/format/ as built in: nothing has to be found when the program runs.
#pragma once

#include <string_view>

namespace downfit::schema {

/// All of schemas/format/device.schema.json.
[[nodiscard]] std::string_view device_format();
/// All of schemas/format/release.schema.json; it refers to the other one as "device.schema.json".
[[nodiscard]] std::string_view release_format();
/// All of schemas/format/policy.schema.json.
[[nodiscard]] std::string_view policy_format();
/// All of schemas/format/rig.schema.json.
[[nodiscard]] std::string_view rig_format();
/// All of schemas/format/substitutes.schema.json.
[[nodiscard]] std::string_view substitutes_format();

}  // namespace downfit::schema
