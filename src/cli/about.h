// downfit about: what the words of the reports mean.
#pragma once

#include "cli/command.h"

namespace downfit::cli {

void declare_about(options::options_description_easy_init add);
[[nodiscard]] Exit run_about(const Call& call);

inline constexpr Command about_command{
    "about",
    "about [WORD]",
    "what an outcome, a verdict or another word of the reports means",
    "Tells what a word of the reports means, with an example and what to do. Without a word: all of them.",
    declare_about,
    run_about,
};

}  // namespace downfit::cli
