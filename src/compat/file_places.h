// Where in the file what was found in a preset stands: offset, and of what is found by name path and line.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "compat/check.h"
#include "dump/dump.h"
#include "dump/locate.h"

namespace downfit::compat {

/// Where the lines of a text begin: what is found by name tells its line.
[[nodiscard]] std::vector<std::size_t> line_starts(ByteView text);

/// Whether any entry of the dump is found by name, so that lines are wanted.
[[nodiscard]] bool has_lines(const dump::Dump& dump);

/// Places of one preset. Refers to everything it is given.
class FilePlaces {
public:
    /// `lines`: line_starts of the file, where it has lines. `named`: the body, where it is one by name.
    FilePlaces(const dump::Dump& dump, const dump::Entry& entry, ByteView original,
               const std::vector<std::size_t>& lines, const dump::NamedBody* named);

    void add_saved(Finding& finding) const {
        add(finding.saved_byte, finding.saved_offset, finding.saved_path, finding.saved_line);
    }
    void add_loaded(Finding& finding) const {
        add(finding.loaded_byte, finding.loaded_offset, finding.loaded_path, finding.loaded_line);
    }

private:
    void add(const std::optional<std::size_t>& byte, std::optional<std::size_t>& offset, std::string& path,
             std::size_t& line) const;

    std::vector<std::size_t> origins_;
    const std::vector<std::size_t>& lines_;
    const dump::NamedBody* named_;
};

}  // namespace downfit::compat
