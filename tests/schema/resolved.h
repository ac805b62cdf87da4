// What a release means once it is loaded, as text: everything but places in files and digests.
#pragma once

#include <string>

#include "schema/device.h"

namespace downfit::testing {

/// Two releases mean the same where these texts are the same.
[[nodiscard]] std::string resolved_text(const schema::Release& release);

/// The same of a device with all its releases.
[[nodiscard]] std::string resolved_text(const schema::Device& device);

}  // namespace downfit::testing
