// Properties that must hold for random inputs, as test sections.
//
//     holds("packing and unpacking changes nothing", [](const Bytes& bytes) {
//         RC_ASSERT(unpack(pack(bytes)) == bytes);
//     });
//
// In ctest the random numbers start from a fixed seed; a failure prints the shrunk input and what to set
// RC_PARAMS to in order to see it again.
#pragma once

#include <rapidcheck.h>

#include <sstream>
#include <string>
#include <utility>

#include "support/catch.h"

namespace downfit::testing {

/// Runs `testable`, a function whose arguments RapidCheck makes up, in a section of its own.
template <class Testable>
void holds(const std::string& property, Testable&& testable) {
    SECTION(property) {
        const rc::detail::TestResult result = rc::detail::checkTestable(std::forward<Testable>(testable));
        std::ostringstream text;
        rc::detail::printResultMessage(result, text);
        INFO(text.str());
        CHECK(result.template is<rc::detail::SuccessResult>());
    }
}

}  // namespace downfit::testing
