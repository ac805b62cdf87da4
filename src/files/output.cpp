#include "files/output.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <filesystem>
#include <system_error>

#include "files/file_problem.h"

namespace downfit::files {

namespace {

Problem cannot_write(const std::string& path, int error) {
    return file_problem(path, "cannot be written: " + std::generic_category().message(error));
}

/// 0, or the error.
int write_all(int descriptor, std::string_view content) {
    while (!content.empty()) {
        const ssize_t length = ::write(descriptor, content.data(), content.size());
        if (length < 0 && errno == EINTR) continue;
        if (length < 0) return errno;
        content.remove_prefix(static_cast<std::size_t>(length));
    }
    return ::fsync(descriptor) == 0 ? 0 : errno;
}

/// A rename is only safe once the folder is on disk too. Some file systems cannot do that; nothing is lost then.
void settle_folder(const std::string& path) {
    const std::string folder = std::filesystem::path(path).parent_path().string();
    const int descriptor = ::open(folder.empty() ? "." : folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (descriptor < 0) return;
    static_cast<void>(::fsync(descriptor));
    ::close(descriptor);
}

/// Gives a file a name that must be free. 0, or the error.
int name_new(const std::string& beside, const std::string& path) {
    if (::link(beside.c_str(), path.c_str()) == 0) {
        ::unlink(beside.c_str());
        return 0;
    }
    if (errno != EPERM && errno != EOPNOTSUPP && errno != ENOSYS) return errno;
    // Here files have one name only: the name is taken at once, so that two runs cannot both believe that it is free.
    const int taken = ::open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (taken < 0) return errno;
    ::close(taken);
    if (std::rename(beside.c_str(), path.c_str()) == 0) return 0;
    const int error = errno;
    ::unlink(path.c_str());
    return error;
}

/// Writes beside `path` and gives it that name. 0, or the error.
int write_beside(const std::string& path, std::string_view content, mode_t mode, bool there) {
    const std::string beside = path + ".part-" + std::to_string(::getpid());
    const int descriptor = ::open(beside.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, mode);
    if (descriptor < 0) return errno;
    int error = write_all(descriptor, content);
    if (::close(descriptor) != 0 && error == 0) error = errno;
    if (error == 0 && !there) error = name_new(beside, path);
    if (error == 0 && there && std::rename(beside.c_str(), path.c_str()) != 0) error = errno;
    if (error != 0) ::unlink(beside.c_str());
    return error;
}

}  // namespace

std::optional<Problem> write_file(const std::string& path, std::string_view content, Existing existing) {
    struct stat status {};
    const bool there = ::stat(path.c_str(), &status) == 0;
    if (there && !S_ISREG(status.st_mode)) return file_problem(path, "is not a regular file; it is left as it is");
    if (there && existing == Existing::keep) return file_problem(path, "is there already", "--force replaces it");

    const int error = write_beside(path, content, there ? status.st_mode & 0777 : 0666, there);
    if (error == EEXIST && !there) return file_problem(path, "is there already", "--force replaces it");
    if (error != 0) return cannot_write(path, error);
    settle_folder(path);
    return std::nullopt;
}

}  // namespace downfit::files
