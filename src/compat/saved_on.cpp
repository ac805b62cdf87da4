#include "compat/saved_on.h"

#include <algorithm>

namespace downfit::compat {

std::vector<std::size_t> releases_that_saved(const schema::Device& device, const dump::Entry& entry,
                                             const std::optional<std::size_t>& named) {
    if (!entry.stamp) return named ? std::vector{*named} : std::vector<std::size_t>{};
    std::vector<std::size_t> releases = device.releases_with(*entry.stamp);
    if (named && std::ranges::find(releases, *named) != releases.end()) releases = {*named};
    return releases;
}

}  // namespace downfit::compat
