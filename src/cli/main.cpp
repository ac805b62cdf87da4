#include <sys/ioctl.h>
#include <unistd.h>

#include <array>
#include <cstdlib>
#include <ctime>
#include <iostream>
#include <string>
#include <vector>

#include "cli/run.h"

namespace {

std::string program_folder() {
    std::array<char, 4096> path{};
    const ssize_t length = ::readlink("/proc/self/exe", path.data(), path.size());
    if (length <= 0) return {};
    const std::string whole(path.data(), static_cast<std::size_t>(length));
    return whole.substr(0, whole.find_last_of('/'));
}

std::string today() {
    const std::time_t now = std::time(nullptr);
    std::tm day{};
    std::array<char, 16> text{};
    if (::localtime_r(&now, &day) == nullptr) return {};
    return {text.data(), std::strftime(text.data(), text.size(), "%Y-%m-%d", &day)};
}

downfit::cli::Environment environment() {
    downfit::cli::Environment found;
    for (const char* name : {"DOWNFIT_SCHEMAS", "NO_COLOR", "TERM"}) {
        const char* value = std::getenv(name);
        if (value != nullptr) found.variables[name] = value;
    }
    found.output_is_terminal = ::isatty(STDOUT_FILENO) != 0;
    winsize size{};
    if (found.output_is_terminal && ::ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0) found.terminal_width = size.ws_col;
    if (::isatty(STDERR_FILENO) != 0) {
        constexpr std::size_t usual_width = 80;
        const bool known = ::ioctl(STDERR_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0;
        found.error_width = known ? size.ws_col : usual_width;
    }
    found.today = today();
    found.program_folder = program_folder();
    return found;
}

}  // namespace

int main(int count, char** words) {
    return downfit::cli::run(std::vector<std::string>(words + (count > 0 ? 1 : 0), words + count), std::cout, std::cerr,
                             environment());
}
