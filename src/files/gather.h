// What a path stands for: a file, all files of a folder, and what is in archives, however deep.
#pragma once

#include <string>
#include <vector>

#include "base/bytes.h"
#include "base/result.h"

namespace downfit::files {

/// One file, unpacked.
struct Source {
    std::string name;  ///< for people: the path, and inside an archive the path there after a "/"
    Bytes bytes;
    bool chosen = true;  ///< the path names it, or a gzip file of it; false: found in a folder or a zip archive
    bool plain = true;   ///< its bytes are those of a file as it lies on the disk
};

/// The files that `path` ("-" for standard input) stands for, by name in byte order. Folders are looked into with all
/// folders in them; a link to a file outside of the folder, a link to a folder, and hidden files are left out. Content
/// decides what is an archive. Fails where anything cannot be read or unpacked, or a limit is passed (docs/limits.md);
/// an empty folder or archive gives an empty list.
[[nodiscard]] Result<std::vector<Source>> gather(const std::string& path);

}  // namespace downfit::files
