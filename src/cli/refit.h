// downfit refit: a dump written anew for another release.
#pragma once

#include "cli/command.h"

namespace downfit::cli {

void declare_refit(options::options_description_easy_init add);
[[nodiscard]] Exit run_refit(const Call& call);

inline constexpr Command refit_command{
    "refit",
    "refit DUMP --on RELEASE --out FILE",
    "a dump for another release, with the nearest possible sound",
    "Writes a dump that loads on another release: with its stamp, parameters where it reads them, choices\n"
    "by the number that they have there, values held at the nearest that it can hold. Then the new file is\n"
    "read back and loaded on paper, and what still differs from the original is told as check tells it.\n"
    "A preset that would be worse off than as it is stays as it is. Nothing else in the file changes.\n"
    "\n"
    "  downfit refit bank.syx --on 2.10 --out bank-2.10.syx\n"
    "  downfit refit bank.syx --on 2.10 --out bank-2.10.syx --substitutes mine.json\n"
    "  downfit refit bank.syx --on 2.10 --out bank-2.10.syx --fill-from bank-last-year.syx\n"
    "\n"
    "Exit status as for check, of the new file: 0 all arrive, 1 some still change audibly or are refused,\n"
    "3 some are undecided, 2 the call or a dump is wrong or damaged.",
    declare_refit,
    run_refit,
};

}  // namespace downfit::cli
