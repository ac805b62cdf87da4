#include "files/archive.h"

#include <zip.h>
#include <zlib.h>

#include <algorithm>
#include <array>
#include <memory>

#include "base/limits.h"
#include "files/file_problem.h"

namespace downfit::files {

namespace {

const std::string& get_again() {
    static const std::string text = "get the file again, from where it came or from a copy";
    return text;
}

Problem too_large(const std::string& name) {
    return file_problem(name, "unpacks to more than 64 MiB, more than any dump", "is it the right file?");
}

/// An inflating stream that ends itself.
class Inflater {
public:
    explicit Inflater(ByteView bytes) {
        stream_.next_in = const_cast<Bytef*>(bytes.data());  // zlib only reads there
        stream_.avail_in = static_cast<uInt>(bytes.size());
        constexpr int only_gzip = 16;
        ready_ = inflateInit2(&stream_, MAX_WBITS + only_gzip) == Z_OK;
    }
    ~Inflater() {
        if (ready_) inflateEnd(&stream_);
    }
    Inflater(const Inflater&) = delete;
    Inflater& operator=(const Inflater&) = delete;

    [[nodiscard]] bool ready() const { return ready_; }
    z_stream& stream() { return stream_; }

private:
    z_stream stream_{};
    bool ready_ = false;
};

struct CloseZip {
    void operator()(zip_t* archive) const { zip_discard(archive); }
};
struct CloseMember {
    void operator()(zip_file_t* file) const { zip_fclose(file); }
};
using Zip = std::unique_ptr<zip_t, CloseZip>;
using ZipMember = std::unique_ptr<zip_file_t, CloseMember>;

std::string text_of(zip_error_t& error) {
    std::string text = zip_error_strerror(&error);
    zip_error_fini(&error);
    return text;
}

Result<Zip> open(const std::string& name, ByteView bytes) {
    zip_error_t error;
    zip_error_init(&error);
    zip_source_t* source = zip_source_buffer_create(bytes.data(), bytes.size(), 0, &error);
    if (source == nullptr) return file_problem(name, "cannot be opened as a zip archive: " + text_of(error));
    Zip archive(zip_open_from_source(source, ZIP_RDONLY, &error));
    if (archive == nullptr) {
        zip_source_free(source);
        return file_problem(name, "is a damaged zip archive: " + text_of(error), get_again());
    }
    zip_error_fini(&error);
    return archive;
}

Result<Bytes> read_member(const std::string& name, zip_t& archive, const zip_stat_t& status) {
    if ((status.valid & ZIP_STAT_ENCRYPTION_METHOD) != 0 && status.encryption_method != ZIP_EM_NONE) {
        return file_problem(name, "is encrypted in the archive",
                            "unpack it with its password, then give what was unpacked");
    }
    if (status.size > limits::largest_file) return too_large(name);
    const ZipMember file(zip_fopen_index(&archive, status.index, 0));
    if (file == nullptr) {
        return file_problem(name, "cannot be unpacked: " + text_of(*zip_get_error(&archive)), get_again());
    }
    Bytes bytes;
    std::array<std::uint8_t, 65536> part{};
    while (true) {
        const zip_int64_t length = zip_fread(file.get(), part.data(), part.size());
        if (length < 0) {
            return file_problem(name, "is damaged in the archive: " + text_of(*zip_file_get_error(file.get())),
                                get_again());
        }
        if (length == 0) return bytes;
        bytes.insert(bytes.end(), part.begin(), part.begin() + length);
        if (bytes.size() > limits::largest_file) return too_large(name);
    }
}

}  // namespace

Result<Bytes> unpack_gzip(const std::string& name, ByteView bytes) {
    Inflater inflater(bytes);
    if (!inflater.ready()) return file_problem(name, "cannot be unpacked: there is no memory");
    z_stream& stream = inflater.stream();
    Bytes plain;
    std::array<std::uint8_t, 65536> part{};
    while (true) {
        stream.next_out = part.data();
        stream.avail_out = static_cast<uInt>(part.size());
        const int status = inflate(&stream, Z_NO_FLUSH);
        plain.insert(plain.end(), part.begin(), part.end() - static_cast<std::ptrdiff_t>(stream.avail_out));
        if (plain.size() > limits::largest_file) return too_large(name);
        if (status == Z_STREAM_END) {
            // Zeros after the last member are padding (gzip's manual, "--quiet"); anything else goes on.
            const bool more =
                std::any_of(stream.next_in, stream.next_in + stream.avail_in, [](Bytef b) { return b != 0; });
            if (!more) return plain;
            if (inflateReset(&stream) != Z_OK) return file_problem(name, "is a damaged gzip file", get_again());
        } else if (status == Z_BUF_ERROR || (status == Z_OK && stream.avail_in == 0 && stream.avail_out > 0)) {
            return file_problem(name, "is a gzip file that is cut off", get_again());
        } else if (status != Z_OK) {
            return file_problem(
                name,
                std::string("is a damaged gzip file: ") + (stream.msg != nullptr ? stream.msg : "no more is known"),
                get_again());
        }
    }
}

bool is_hidden(const std::string& path) {
    for (std::size_t at = 0; at < path.size();) {
        const std::size_t end = std::min(path.find('/', at), path.size());
        const std::string_view part = std::string_view(path).substr(at, end - at);
        if ((part.starts_with('.') && part != "." && part != "..") || part.starts_with("__")) return true;
        at = end + 1;
    }
    return false;
}

Result<std::vector<Member>> unpack_zip(const std::string& name, ByteView bytes) {
    const Result<Zip> opened = open(name, bytes);
    if (!opened) return opened.problems();
    zip_t& archive = *opened.value();
    const zip_int64_t count = zip_get_num_entries(&archive, 0);
    if (count > static_cast<zip_int64_t>(limits::most_files)) {
        return file_problem(name, "holds more than 20,000 files", "is it the right archive?");
    }
    std::vector<Member> members;
    Problems problems;
    std::size_t total = 0;
    for (zip_uint64_t i = 0; i < static_cast<zip_uint64_t>(count); ++i) {
        zip_stat_t status;
        zip_stat_init(&status);
        if (zip_stat_index(&archive, i, 0, &status) != 0 || (status.valid & ZIP_STAT_NAME) == 0) {
            return file_problem(name, "is a damaged zip archive: a file in it has no name", get_again());
        }
        const std::string member = status.name;
        if (member.ends_with('/') || is_hidden(member)) continue;
        std::string whole = name;
        whole.append(1, '/').append(member);
        Result<Bytes> read = read_member(whole, archive, status);
        if (!read) {
            problems.insert(problems.end(), read.problems().begin(), read.problems().end());
            continue;
        }
        total += read.value().size();
        if (total > limits::most_gathered)
            return file_problem(name, "unpacks to more than 512 MiB", "is it the right archive?");
        members.push_back({member, std::move(read).value()});
    }
    if (!problems.empty()) return problems;
    std::ranges::stable_sort(members, {}, &Member::name);
    return members;
}

}  // namespace downfit::files
