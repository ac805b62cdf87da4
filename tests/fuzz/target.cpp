#include "fuzz/target.h"

#include <cstdio>
#include <cstdlib>

namespace downfit::fuzz {

void require(bool holds, std::string_view promise) {
    if (holds) return;
    std::fprintf(stderr, "broken promise: %.*s\n", static_cast<int>(promise.size()), promise.data());
    std::abort();
}

}  // namespace downfit::fuzz
