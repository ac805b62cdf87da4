#include "cli/progress.h"

#include <algorithm>
#include <ostream>
#include <utility>

namespace downfit::cli {

namespace {

using std::chrono::milliseconds;

constexpr milliseconds patience{500}, between{100};
constexpr std::size_t most_cells = 30, least_cells = 5;

milliseconds steady() {
    return std::chrono::duration_cast<milliseconds>(std::chrono::steady_clock::now().time_since_epoch());
}

}  // namespace

Progress::Progress(const Call& call, std::string what, Clock clock)
    : call_(call), what_(std::move(what)), clock_(clock ? std::move(clock) : steady), start_(clock_()) {
    wanted_ = call.environment.error_width > 0 && call.environment.variable("TERM") != "dumb";
}

void Progress::show(std::size_t done, std::size_t of) {
    if (!wanted_ || of == 0) return;
    const milliseconds now = clock_();
    if (now - start_ <= patience || (columns_ > 0 && now - drawn_ < between)) return;
    drawn_ = now;
    const std::string words = ' ' + std::to_string(done) + " of " + std::to_string(of) + ' ' + what_;
    const std::size_t width = call_.environment.error_width;
    // The last column stays free: a terminal may break the line there.
    const std::size_t taken = words.size() + 3;
    const std::size_t cells = width > taken + least_cells ? std::min(most_cells, width - taken) : 0;
    std::string line;
    if (cells > 0) {
        const std::size_t full = std::min(done, of) * cells / of;
        line = '[' + std::string(full, '#') + std::string(cells - full, '.') + ']';
    }
    line += words.substr(cells > 0 ? 0 : 1);
    if (line.size() >= width) line.resize(width - 1);
    const std::size_t shorter = columns_ > line.size() ? columns_ - line.size() : 0;
    columns_ = line.size();
    call_.err << '\r' << line << std::string(shorter, ' ') << std::flush;
}

void Progress::finish() {
    if (columns_ == 0) return;
    call_.err << '\r' << std::string(columns_, ' ') << '\r' << std::flush;
    columns_ = 0;
}

}  // namespace downfit::cli
