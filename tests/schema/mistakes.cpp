#include "schema/mistakes.h"

#include "schema/siskin.h"
#include "support/catch.h"

namespace downfit::testing {

void check_mistake(const Mistake& mistake) {
    check_mistake(siskin(), mistake);
}

void check_mistake(const std::vector<schema::SourceFile>& files, const Mistake& mistake) {
    CAPTURE(mistake.name);
    std::string expected;
    for (const Expected& problem : mistake.problems) {
        expected += problem.place + " | " + problem.what + " | " + problem.expected + " | " + problem.remedy + "\n";
    }
    CHECK(problem_lines(schema::load_device(files_with(files, mistake.file, mistake.find, mistake.put))) == expected);
}

}  // namespace downfit::testing
