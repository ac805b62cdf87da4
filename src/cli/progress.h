// How far a long work has come, drawn on standard error for whoever waits at a terminal.
#pragma once

#include <chrono>
#include <cstddef>
#include <functional>
#include <string>

#include "cli/command.h"

namespace downfit::cli {

/// A bar in one line, which is drawn over and in the end wiped away. Only where standard error is a terminal that can
/// do that, and only once the work takes more than half a second; else nothing is ever written.
class Progress {
public:
    using Clock = std::function<std::chrono::milliseconds()>;

    /// `what` is counted: "presets". The call must outlive it. `clock` is for tests; the time since any start.
    Progress(const Call& call, std::string what, Clock clock = {});
    ~Progress() { finish(); }
    Progress(const Progress&) = delete;
    Progress& operator=(const Progress&) = delete;

    /// `done` of `of` are done.
    void show(std::size_t done, std::size_t of);

    /// Wipes the bar away. What is shown later is drawn again.
    void finish();

private:
    const Call& call_;
    std::string what_;
    Clock clock_;
    std::chrono::milliseconds start_, drawn_{0};
    std::size_t columns_ = 0;  ///< drawn now
    bool wanted_ = false;
};

}  // namespace downfit::cli
