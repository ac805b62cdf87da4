// What a path stands for: folders, links, archives in archives, and what is no archive at all. That archives of other
// programs are opened is tested with Python's own zipfile and gzip (tests/files/archives_test.py).

#include "files/gather.h"

#include <zlib.h>

#include <array>
#include <filesystem>
#include <string>

#include "base/limits.h"
#include "files/kind.h"
#include "support/catch.h"
#include "support/file.h"
#include "support/hex.h"
#include "support/temp_dir.h"

using namespace downfit;
using namespace downfit::files;
using testing::from_hex;
using testing::TempDir;

namespace fs = std::filesystem;

namespace {

/// Names below `folder`, each with its text: "a.syx=one; b/c.syx=two".
std::string listed(const fs::path& path, const fs::path& folder) {
    const auto gathered = gather(path.string());
    if (!gathered)
        return "! " + std::get<std::string>(gathered.problems().front().place) + ' ' + gathered.problems().front().what;
    std::string text;
    for (const Source& source : gathered.value()) {
        text += (text.empty() ? "" : "; ") + source.name.substr(folder.string().size() + 1) + '=';
        text.append(source.bytes.begin(), source.bytes.end());
    }
    return text;
}

Bytes gzipped(const Bytes& plain) {
    z_stream stream{};
    constexpr int gzip = 16;
    REQUIRE(deflateInit2(&stream, 9, Z_DEFLATED, MAX_WBITS + gzip, 8, Z_DEFAULT_STRATEGY) == Z_OK);
    Bytes packed(deflateBound(&stream, plain.size()));
    stream.next_in = const_cast<Bytef*>(plain.data());
    stream.avail_in = static_cast<uInt>(plain.size());
    stream.next_out = packed.data();
    stream.avail_out = static_cast<uInt>(packed.size());
    REQUIRE(deflate(&stream, Z_FINISH) == Z_STREAM_END);
    packed.resize(stream.total_out);
    deflateEnd(&stream);
    return packed;
}

Bytes bytes_of(const std::string& text) {
    return {text.begin(), text.end()};
}

}  // namespace

TEST_CASE("a folder stands for the files in it, by name, folders in it too") {
    const TempDir folder;
    fs::create_directories(folder / "set/inner");
    testing::write_text(folder / "set/b.syx", "two");
    testing::write_text(folder / "set/a.syx", "one");
    testing::write_text(folder / "set/inner/c.syx", "three");
    testing::write_text(folder / "set/.hidden", "no");
    fs::create_directories(folder / "set/.hidden-too");
    testing::write_text(folder / "set/.hidden-too/d.syx", "no");
    CHECK(listed(folder / "set", folder.path()) == "set/a.syx=one; set/b.syx=two; set/inner/c.syx=three");
    fs::create_directories(folder / "nothing");
    CHECK(listed(folder / "nothing", folder.path()).empty());
}

TEST_CASE("links are not followed out of a folder, nor round in circles") {
    const TempDir folder;
    fs::create_directories(folder / "set/inner");
    testing::write_text(folder / "outside.syx", "no");
    testing::write_text(folder / "set/a.syx", "one");
    fs::create_symlink(folder / "outside.syx", folder / "set/out.syx");
    fs::create_symlink("../a.syx", folder / "set/inner/again.syx");
    fs::create_directory_symlink(folder.path(), folder / "set/up");
    fs::create_symlink("nowhere", folder / "set/dangling.syx");
    CHECK(listed(folder / "set", folder.path()) == "set/a.syx=one; set/inner/again.syx=one");
}

TEST_CASE("a gzip file is unpacked, one in another too, up to a depth") {
    const TempDir folder;
    Bytes bytes = bytes_of("one");
    for (std::size_t depth = 0; depth < limits::deepest_archive; ++depth) bytes = gzipped(bytes);
    testing::write_bytes(folder / "a.gz", bytes);
    CHECK(listed(folder / "a.gz", folder.path()) == "a.gz=one");
    testing::write_bytes(folder / "b.gz", gzipped(bytes));
    CHECK(listed(folder / "b.gz", folder.path()) ==
          "! " + (folder / "b.gz").string() + " is an archive inside too many others");
}

TEST_CASE("several gzip members are one file, and zeros after them are padding") {  // RFC 1952, 2.2; common practice
    const TempDir folder;
    Bytes two = gzipped(bytes_of("one "));
    const Bytes second = gzipped(bytes_of("two"));
    two.insert(two.end(), second.begin(), second.end());
    two.resize(two.size() + 512);
    testing::write_bytes(folder / "a.gz", two);
    CHECK(listed(folder / "a.gz", folder.path()) == "a.gz=one two");
}

TEST_CASE("a damaged gzip file says so, wherever the damage is") {
    const TempDir folder;
    const Bytes whole = gzipped(bytes_of("System Exclusive, as it were: one two three four five six seven"));
    const fs::path path = folder / "a.gz";
    for (std::size_t length = 2; length < whole.size(); ++length) {
        CAPTURE(length);
        testing::write_bytes(path, Bytes(whole.begin(), whole.begin() + static_cast<std::ptrdiff_t>(length)));
        CHECK(listed(path, folder.path()) == "! " + path.string() + " is a gzip file that is cut off");
    }
    Bytes wrong = whole;
    wrong[wrong.size() - 5] ^= 1;  // the CRC-32 of what was packed
    testing::write_bytes(path, wrong);
    CHECK(listed(path, folder.path()) == "! " + path.string() + " is a damaged gzip file: incorrect data check");
}

TEST_CASE("a gzip file that unpacks to more than any dump is refused") {
    const TempDir folder;
    testing::write_bytes(folder / "bomb.gz", gzipped(Bytes(limits::largest_file + 1)));
    CHECK(listed(folder / "bomb.gz", folder.path()) ==
          "! " + (folder / "bomb.gz").string() + " unpacks to more than 64 MiB, more than any dump");
}

TEST_CASE("files are told apart by how they begin") {
    const auto [begins, kind] = GENERATE(table<const char*, Kind>({
        {"", Kind::empty},
        {"F0 7D 01 F7", Kind::exclusive},
        {"4D 54 68 64 00 00 00 06", Kind::midi_file},
        {"1F 8B 08", Kind::gzip},
        {"50 4B 03 04 14", Kind::zip},
        {"50 4B 05 06 00", Kind::zip},
        {"37 7A BC AF 27 1C", Kind::other_archive},
        {"89 50 4E 47 0D 0A 1A 0A", Kind::picture},
        {"52 49 46 46 24 00 00 00 57 41 56 45", Kind::sound},
        {"25 50 44 46 2D 31", Kind::document},
        {"7F 45 4C 46 02", Kind::program},
        {"3A 31 30 30 30 30 30 30 30 30 30 0D 0A", Kind::hex_image},
        {"53 30 30 46 30 30 30 30 36 38 0A", Kind::hex_image},
        {"0A 0A 20 3C 3F 78 6D 6C", Kind::xml},
        {"EF BB BF 7B 7D", Kind::json},
        {"5B 31 5D", Kind::json},
        {"48 65 6C 6C 6F 0A", Kind::text},
        {"53 30 20 68 65 6C 6C 6F 20 79 6F 75", Kind::text},
        {"4B C3 B6 6E 69 67", Kind::text},
        {"00 01 02 03", Kind::other_bytes},
    }));
    CAPTURE(begins);
    CHECK(kind_of(from_hex(begins)) == kind);
    CHECK(row_of(kind).kind == kind);
}

TEST_CASE("kinds are counted in words") {
    const std::array<Kind, 4> some{Kind::text, Kind::picture, Kind::other_bytes, Kind::picture};
    CHECK(counted(some) == "2 pictures, 1 text, 1 binary file, perhaps a firmware update");
    CHECK(counted({}).empty());
}
