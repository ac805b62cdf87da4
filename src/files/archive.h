// Archives in memory: gzip (zlib) and zip (libzip).
//
// Internal to files/.
#pragma once

#include <string>
#include <vector>

#include "base/bytes.h"
#include "base/result.h"

namespace downfit::files {

/// A file in an archive. `name` is as the archive has it, folders before it.
struct Member {
    std::string name;
    Bytes bytes;
};

/// What was compressed. Several members follow each other (RFC 1952, 2.2). `name` is for problems: damaged or cut off,
/// more than limits::largest_file.
[[nodiscard]] Result<Bytes> unpack_gzip(const std::string& name, ByteView bytes);

/// The files of a zip archive, by name in byte order; folders, and what computers add for themselves (names of which a
/// part begins with "." or "__"), are left out. Fails, naming the archive and the file in it: damaged, cut off,
/// encrypted, packed in a way that is not known here, over a limit.
[[nodiscard]] Result<std::vector<Member>> unpack_zip(const std::string& name, ByteView bytes);

/// Whether a part of this path is hidden: begins with "." or "__".
[[nodiscard]] bool is_hidden(const std::string& path);

}  // namespace downfit::files
