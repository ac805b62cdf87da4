// Runs a fuzz target over a corpus without libFuzzer, so that any compiler can: every file as it is, then a fixed
// number of mutations of it that are the same on every run.
//
//     fuzz_TARGET CORPUS_FOLDER [MUTATIONS]     or     fuzz_TARGET FILE...
//
// Prints what was run; a broken promise, a crash or a sanitizer's report ends the program with the input's name.
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <csignal>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <string>
#include <vector>

#include "fuzz/target.h"
#include "support/file.h"

namespace {

using namespace downfit;

/// SplitMix64 (Steele, Lea & Flood 2014), from memory: a few lines that give the same numbers everywhere.
class Random {
public:
    explicit Random(std::uint64_t seed) : state_(seed) {}

    std::uint64_t next() {
        std::uint64_t z = (state_ += 0x9E3779B97F4A7C15);
        z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9;
        z = (z ^ (z >> 27)) * 0x94D049BB133111EB;
        return z ^ (z >> 31);
    }

    /// 0 to `count` - 1; 0 where there is nothing to choose from.
    std::size_t below(std::size_t count) { return count == 0 ? 0 : static_cast<std::size_t>(next() % count); }

    std::uint8_t byte() { return static_cast<std::uint8_t>(next()); }

private:
    std::uint64_t state_;
};

std::ptrdiff_t signed_of(std::size_t place) {
    return static_cast<std::ptrdiff_t>(place);
}

std::uint8_t telling_byte(Random& random) {
    constexpr std::uint8_t telling[] = {0x00, 0x01, 0x7F, 0x80, 0xFF, 0xF0, 0xF7, 0xF8, '"', '{', '[', '0', '-'};
    return telling[random.below(sizeof telling)];
}

/// One small change.
void change(Bytes& bytes, const Bytes& other, Random& random) {
    const std::size_t at = random.below(bytes.size());
    const std::size_t length = std::min(random.below(32) + 1, bytes.size() - at);
    const auto from = bytes.begin() + signed_of(at);
    switch (bytes.empty() ? 4 : random.below(8)) {
        case 0: bytes[at] ^= static_cast<std::uint8_t>(1u << random.below(8)); break;
        case 1: bytes[at] = telling_byte(random); break;
        case 2: bytes[at] = random.byte(); break;
        case 3: bytes.erase(from, from + signed_of(length)); break;
        case 4: bytes.insert(from, random.below(32) + 1, random.byte()); break;
        case 5: {
            const Bytes run(from, from + signed_of(length));
            bytes.insert(bytes.begin() + signed_of(random.below(bytes.size())), run.begin(), run.end());
            break;
        }
        case 6: bytes.resize(at); break;
        default: {
            const std::size_t start = random.below(other.size());
            const std::size_t count = std::min(random.below(256) + 1, other.size() - start);
            bytes.insert(from, other.begin() + signed_of(start), other.begin() + signed_of(start + count));
        }
    }
}

std::string running = "nothing yet";

/// Only what a signal handler may do.
void tell_input(int signal) {
    const char before[] = "ended while it ran: ";
    if (::write(STDERR_FILENO, before, sizeof before - 1) < 0) std::_Exit(1);
    if (::write(STDERR_FILENO, running.data(), running.size()) < 0) std::_Exit(1);
    if (::write(STDERR_FILENO, "\n", 1) < 0) std::_Exit(1);
    std::signal(signal, SIG_DFL);
    std::raise(signal);
}

struct Tally {
    std::size_t runs = 0;
    double slowest = 0;
    std::string slowest_name;
};

void run(const Bytes& bytes, std::string name, Tally& tally) {
    running = std::move(name);
    const auto start = std::chrono::steady_clock::now();
    // A copy of the exact size, on the heap: the sanitizer sees a read past its end.
    const std::vector<std::uint8_t> exact(bytes.begin(), bytes.end());
    LLVMFuzzerTestOneInput(exact.data(), exact.size());
    const double took = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
    ++tally.runs;
    if (took <= tally.slowest) return;
    tally.slowest = took;
    tally.slowest_name = running;
}

std::vector<std::filesystem::path> files_in(const std::filesystem::path& folder) {
    std::vector<std::filesystem::path> files;
    for (const auto& entry : std::filesystem::directory_iterator(folder)) {
        if (entry.is_regular_file()) files.push_back(entry.path());
    }
    std::sort(files.begin(), files.end());
    return files;
}

}  // namespace

int main(int count, char** arguments) {
    const std::vector<std::string> words(arguments + 1, arguments + count);
    if (words.empty()) {
        std::fputs("usage: fuzz_TARGET CORPUS_FOLDER [MUTATIONS], or fuzz_TARGET FILE...\n", stderr);
        return 2;
    }
    std::signal(SIGABRT, tell_input);
    std::vector<std::filesystem::path> paths(words.begin(), words.end());
    std::size_t mutations = 0;
    if (std::filesystem::is_directory(words[0])) {
        paths = files_in(words[0]);
        mutations = words.size() > 1 ? std::strtoul(words[1].c_str(), nullptr, 10) : 0;
    }
    std::vector<Bytes> corpus;
    for (const auto& path : paths) corpus.push_back(testing::read_bytes(path));
    Tally tally;
    for (std::size_t i = 0; i < corpus.size(); ++i) run(corpus[i], paths[i].string(), tally);
    const std::size_t files = tally.runs;
    for (std::size_t i = 0; i < corpus.size(); ++i) {
        Random random(i + 1);
        for (std::size_t m = 0; m < mutations; ++m) {
            Bytes bytes = corpus[i];
            const std::size_t changes = random.below(4) + 1;
            for (std::size_t c = 0; c < changes; ++c) change(bytes, corpus[random.below(corpus.size())], random);
            run(bytes, paths[i].string() + ", mutation " + std::to_string(m), tally);
        }
    }
    std::printf("%zu files and %zu mutations of them; the slowest took %.3f s: %s\n", files, tally.runs - files,
                tally.slowest, tally.slowest_name.c_str());
    if (files > 0) return 0;
    std::fputs("there is nothing to run\n", stderr);
    return 1;
}
