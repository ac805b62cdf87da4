#include "files/gather.h"

#include <algorithm>
#include <filesystem>
#include <system_error>

#include "base/limits.h"
#include "files/archive.h"
#include "files/file_problem.h"
#include "files/input.h"
#include "files/kind.h"

namespace downfit::files {

namespace {

namespace fs = std::filesystem;

/// Collects files, opening archives on the way.
class Gatherer {
public:
    void add(Source source, std::size_t depth = 0) {
        const Kind kind = kind_of(source.bytes);
        if (kind != Kind::gzip && kind != Kind::zip) return keep(std::move(source));
        if (depth == limits::deepest_archive) {
            return fail({file_problem(source.name, "is an archive inside too many others",
                                      "unpack it, then give what is in it")});
        }
        if (kind == Kind::gzip) {
            Result<Bytes> plain = unpack_gzip(source.name, source.bytes);
            if (!plain) return fail(plain.problems());
            return add({source.name, std::move(plain).value(), source.chosen, false}, depth + 1);
        }
        Result<std::vector<Member>> members = unpack_zip(source.name, source.bytes);
        if (!members) return fail(members.problems());
        for (Member& member : members.value()) {
            add({source.name + '/' + member.name, std::move(member.bytes), false, false}, depth + 1);
        }
    }

    void fail(const Problems& problems) { problems_.insert(problems_.end(), problems.begin(), problems.end()); }

    Result<std::vector<Source>> result() && {
        if (!problems_.empty()) return std::move(problems_);
        return std::move(sources_);
    }

    /// Whether a limit was passed; nothing more is taken then.
    [[nodiscard]] bool full() const { return full_; }

private:
    void keep(Source source) {
        if (full_) return;
        total_ += source.bytes.size();
        if (sources_.size() >= limits::most_files || total_ > limits::most_gathered) {
            full_ = true;
            return fail({file_problem(source.name, "is one file too many: over 20,000, or over 512 MiB together",
                                      "give fewer files at once")});
        }
        sources_.push_back(std::move(source));
    }

    std::vector<Source> sources_;
    Problems problems_;
    std::size_t total_ = 0;
    bool full_ = false;
};

/// Whether `path` lies in `folder`, both without links.
bool lies_in(const fs::path& path, const fs::path& folder) {
    return std::mismatch(folder.begin(), folder.end(), path.begin(), path.end()).first == folder.end();
}

/// Paths of the files below `folder`, in byte order.
Result<std::vector<std::string>> files_below(const std::string& folder) {
    std::error_code error;
    const fs::path root = fs::canonical(folder, error);
    std::vector<std::string> paths;
    fs::recursive_directory_iterator at(folder, error);
    for (; !error && at != fs::recursive_directory_iterator(); at.increment(error)) {
        std::error_code gone;
        if (is_hidden(at->path().filename().string())) {
            at.disable_recursion_pending();
            continue;
        }
        if (!at->is_regular_file(gone)) continue;
        if (at->is_symlink(gone)) {
            const fs::path target = fs::canonical(at->path(), gone);
            if (gone || !lies_in(target, root)) continue;
        }
        paths.push_back(at->path().string());
    }
    if (error) return file_problem(folder, "cannot be listed: " + error.message());
    std::sort(paths.begin(), paths.end());
    return paths;
}

}  // namespace

Result<std::vector<Source>> gather(const std::string& path) {
    Gatherer gatherer;
    if (path != "-" && is_folder(path)) {
        const Result<std::vector<std::string>> paths = files_below(path);
        if (!paths) return paths.problems();
        for (const std::string& one : paths.value()) {
            if (gatherer.full()) break;
            Result<Bytes> bytes = read_file(one);
            if (bytes) {
                gatherer.add({one, std::move(bytes).value(), false, true});
            } else {
                gatherer.fail(bytes.problems());
            }
        }
    } else {
        Result<Bytes> bytes = read_file(path);
        if (!bytes) return bytes.problems();
        gatherer.add({path == "-" ? "standard input" : path, std::move(bytes).value(), true, true});
    }
    return std::move(gatherer).result();
}

}  // namespace downfit::files
