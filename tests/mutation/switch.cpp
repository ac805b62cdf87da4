// The switch of the mutants. $DOWNFIT_MUTANT says which is active; at the program's end the marks are added to the file
// that $DOWNFIT_MUTANT_MARKS names, as "ID MARK" lines: a test may start other programs, which add theirs.
#include "mutation/switch.h"

#include <cstdio>
#include <cstdlib>

namespace downfit::mutation {
namespace {

int from_environment() {
    const char* number = std::getenv("DOWNFIT_MUTANT");
    return number == nullptr ? 0 : std::atoi(number);
}

/// Writes the marks when the program ends.
struct AtEnd {
    ~AtEnd() {
        const char* path = std::getenv("DOWNFIT_MUTANT_MARKS");
        if (path == nullptr) return;
        std::FILE* file = std::fopen(path, "a");
        if (file == nullptr) return;
        for (int id = 0; id < most; ++id) {
            if (marks[id] != 0) std::fprintf(file, "%d %d\n", id, marks[id]);
        }
        std::fclose(file);
    }
};

const AtEnd at_end;

}  // namespace

int active = from_environment();
unsigned char marks[most];

}  // namespace downfit::mutation
