// The Redpoll, an invented device for the tests of schema/: addressed memory images, raw files, records and lists.
#pragma once

#include <string_view>
#include <vector>

#include "schema/load.h"

namespace downfit::testing {

/// device.json, 1.0.json and 1.1.json of the Redpoll; 1.1 extends 1.0.
[[nodiscard]] std::vector<schema::SourceFile> redpoll();

/// The Redpoll with `find` in one file replaced by `put`; see siskin_with.
[[nodiscard]] std::vector<schema::SourceFile> redpoll_with(std::string_view file, std::string_view find,
                                                           std::string_view put);

}  // namespace downfit::testing
