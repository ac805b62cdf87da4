#include "files/input.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <filesystem>
#include <system_error>

#include "base/limits.h"
#include "files/file_problem.h"

namespace downfit::files {

namespace {

namespace fs = std::filesystem;

std::string reason(int error) {
    return std::generic_category().message(error);
}

Result<Bytes> read_all(int descriptor, const std::string& name) {
    Bytes bytes;
    std::array<std::uint8_t, 65536> part{};
    while (true) {
        const ssize_t length = ::read(descriptor, part.data(), part.size());
        if (length < 0 && errno == EINTR) continue;
        if (length < 0) return file_problem(name, "cannot be read: " + reason(errno));
        if (length == 0) return bytes;
        bytes.insert(bytes.end(), part.begin(), part.begin() + length);
        if (bytes.size() > limits::largest_file) {
            return file_problem(name, "is larger than 64 MiB, more than any dump", "is it the right file?");
        }
    }
}

template <class Wanted>
Result<std::vector<std::string>> list(const std::string& folder, const Wanted& wanted) {
    std::vector<std::string> paths;
    std::error_code error;
    fs::directory_iterator at(folder, error);
    for (; !error && at != fs::directory_iterator(); at.increment(error)) {
        if (wanted(*at)) paths.push_back(at->path().string());
    }
    if (error) return file_problem(folder, "cannot be listed: " + error.message());
    std::sort(paths.begin(), paths.end());
    return paths;
}

}  // namespace

Result<Bytes> read_file(const std::string& path) {
    if (path == "-") return read_all(STDIN_FILENO, "standard input");
    const int descriptor = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
    if (descriptor < 0) {
        return errno == ENOENT ? file_problem(path, "there is no such file")
                               : file_problem(path, "cannot be read: " + reason(errno));
    }
    struct stat status {};
    Result<Bytes> bytes = ::fstat(descriptor, &status) == 0 && S_ISDIR(status.st_mode)
                              ? Result<Bytes>(file_problem(path, "is a folder, not a file", "name the files in it"))
                              : read_all(descriptor, path);
    ::close(descriptor);
    return bytes;
}

Result<std::string> read_text(const std::string& path) {
    const Result<Bytes> bytes = read_file(path);
    if (!bytes) return bytes.problems();
    return std::string(bytes.value().begin(), bytes.value().end());
}

bool is_folder(const std::string& path) {
    std::error_code ignored;
    return fs::is_directory(path, ignored);
}

bool exists(const std::string& path) {
    std::error_code ignored;
    return fs::exists(path, ignored);
}

bool is_same_file(const std::string& a, const std::string& b) {
    std::error_code error;
    return fs::equivalent(a, b, error) && !error;
}

std::string join(const std::string& folder, const std::string& name) {
    return (fs::path(folder) / name).string();
}

std::string folder_of(const std::string& path) {
    const std::size_t slash = path.rfind('/');
    if (slash == std::string::npos) return ".";
    return slash == 0 ? "/" : path.substr(0, slash);
}

std::string last_part(const std::string& path) {
    const fs::path whole(path);
    return whole.has_filename() ? whole.filename().string() : whole.parent_path().filename().string();
}

Result<std::vector<std::string>> json_files(const std::string& folder) {
    return list(folder, [](const fs::directory_entry& entry) {
        std::error_code ignored;
        return entry.path().extension() == ".json" && entry.is_regular_file(ignored);
    });
}

Result<std::vector<std::string>> folders(const std::string& folder) {
    return list(folder, [](const fs::directory_entry& entry) {
        std::error_code ignored;
        return entry.is_directory(ignored) && entry.path().filename().string().front() != '.';
    });
}

}  // namespace downfit::files
