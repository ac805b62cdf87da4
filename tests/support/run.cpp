#include "support/run.h"

#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <memory>
#include <stdexcept>
#include <string_view>

#include "support/paths.h"

namespace downfit::testing {

namespace {

using File = std::unique_ptr<std::FILE, int (*)(std::FILE*)>;

/// Files, not pipes: nobody can block on a full one.
File nameless_file(std::string_view content = {}) {
    File file(std::tmpfile(), &std::fclose);
    if (!file) throw std::runtime_error("cannot make a temporary file");
    if (!content.empty()) std::fwrite(content.data(), 1, content.size(), file.get());
    std::rewind(file.get());
    return file;
}

std::string content_of(const File& file) {
    std::rewind(file.get());
    std::string content;
    std::array<char, 4096> part{};
    while (const std::size_t length = std::fread(part.data(), 1, part.size(), file.get())) {
        content.append(part.data(), length);
    }
    return content;
}

std::vector<std::string> environment_with(const std::map<std::string, std::string>& changes) {
    std::vector<std::string> all;
    for (char** entry = environ; *entry != nullptr; ++entry) {
        const std::string_view text = *entry;
        if (!changes.contains(std::string(text.substr(0, text.find('='))))) all.emplace_back(text);
    }
    for (const auto& [name, value] : changes) all.push_back(name + "=" + value);
    return all;
}

/// Pointers into `texts`, and a null at the end.
std::vector<char*> pointers(std::vector<std::string>& texts) {
    std::vector<char*> result;
    for (std::string& text : texts) result.push_back(text.data());
    result.push_back(nullptr);
    return result;
}

}  // namespace

Ran run_program(const std::filesystem::path& program, const std::vector<std::string>& arguments,
                const RunSettings& settings) {
    const File input = nameless_file(settings.input);
    const File output = nameless_file();
    const File errors = nameless_file();
    std::vector<std::string> words{program.string()};
    words.insert(words.end(), arguments.begin(), arguments.end());
    std::vector<std::string> environment = environment_with(settings.environment);

    posix_spawn_file_actions_t actions;
    ::posix_spawn_file_actions_init(&actions);
    ::posix_spawn_file_actions_adddup2(&actions, ::fileno(input.get()), STDIN_FILENO);
    ::posix_spawn_file_actions_adddup2(&actions, ::fileno(output.get()), STDOUT_FILENO);
    ::posix_spawn_file_actions_adddup2(&actions, ::fileno(errors.get()), STDERR_FILENO);
    if (!settings.folder.empty()) ::posix_spawn_file_actions_addchdir_np(&actions, settings.folder.c_str());
    pid_t child = 0;
    const int failure =
        ::posix_spawn(&child, program.c_str(), &actions, nullptr, pointers(words).data(), pointers(environment).data());
    ::posix_spawn_file_actions_destroy(&actions);
    if (failure != 0) throw std::runtime_error("cannot start " + program.string() + ": " + std::strerror(failure));

    int state = 0;
    while (::waitpid(child, &state, 0) < 0) {
        if (errno != EINTR) throw std::runtime_error("lost " + program.string() + ": " + std::strerror(errno));
    }
    const int status = WIFEXITED(state) ? WEXITSTATUS(state) : 128 + WTERMSIG(state);
    return {status, content_of(output), content_of(errors)};
}

Ran run_downfit(const std::vector<std::string>& arguments, const RunSettings& settings) {
    return run_program(downfit_program(), arguments, settings);
}

}  // namespace downfit::testing
