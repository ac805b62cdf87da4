// A folder of its own for one test, gone when the test is over.
#pragma once

#include <filesystem>

namespace downfit::testing {

/// Makes an empty folder under the system's temporary folder; its destructor removes it and all in it.
class TempDir {
public:
    TempDir();
    ~TempDir();
    TempDir(const TempDir&) = delete;
    TempDir& operator=(const TempDir&) = delete;

    [[nodiscard]] const std::filesystem::path& path() const { return path_; }

    /// A path inside; nothing is made there.
    [[nodiscard]] std::filesystem::path operator/(const std::filesystem::path& inside) const { return path_ / inside; }

private:
    std::filesystem::path path_;
};

}  // namespace downfit::testing
