#include "support/file.h"

#include <fstream>
#include <iterator>
#include <stdexcept>

namespace downfit::testing {

std::string read_text(const std::filesystem::path& path) {
    std::ifstream in(path, std::ios::binary);
    if (!in) throw std::runtime_error("cannot read " + path.string());
    return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

Bytes read_bytes(const std::filesystem::path& path) {
    const std::string text = read_text(path);
    return {text.begin(), text.end()};
}

void write_text(const std::filesystem::path& path, std::string_view text) {
    std::filesystem::create_directories(path.parent_path());
    std::ofstream out(path, std::ios::binary | std::ios::trunc);
    out.write(text.data(), static_cast<std::streamsize>(text.size()));
    if (!out.flush()) throw std::runtime_error("cannot write " + path.string());
}

void write_bytes(const std::filesystem::path& path, ByteView bytes) {
    write_text(path, std::string(bytes.begin(), bytes.end()));
}

}  // namespace downfit::testing
