// What the program printed, read as JSON.
#pragma once

#include <nlohmann/json.hpp>

#include "support/catch.h"
#include "support/run.h"

namespace downfit::testing {

[[nodiscard]] inline nlohmann::json parsed(const Ran& ran) {
    CAPTURE(ran.errors);
    return nlohmann::json::parse(ran.output);
}

}  // namespace downfit::testing
