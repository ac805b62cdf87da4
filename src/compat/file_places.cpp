#include "compat/file_places.h"

#include <algorithm>

namespace downfit::compat {

std::vector<std::size_t> line_starts(ByteView text) {
    std::vector<std::size_t> starts{0};
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (text[i] == '\n') starts.push_back(i + 1);
    }
    return starts;
}

bool has_lines(const dump::Dump& dump) {
    return std::ranges::any_of(dump.entries, [](const dump::Entry& entry) { return entry.text.has_value(); });
}

FilePlaces::FilePlaces(const dump::Dump& dump, const dump::Entry& entry, ByteView original,
                       const std::vector<std::size_t>& lines, const dump::NamedBody* named)
    : origins_(dump::origins(dump, entry, original)), lines_(lines), named_(named) {}

void FilePlaces::add(const std::optional<std::size_t>& byte, std::optional<std::size_t>& offset, std::string& path,
                     std::size_t& line) const {
    if (!byte || *byte >= origins_.size()) return;
    offset = origins_[*byte];
    if (named_ == nullptr) return;
    path = named_->path_at(*byte);
    line = static_cast<std::size_t>(std::upper_bound(lines_.begin(), lines_.end(), *offset) - lines_.begin());
}

}  // namespace downfit::compat
