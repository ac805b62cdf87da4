// Runs the case files (tests/outcomes, tests/rules, tests/shapes) and the cells of the coverage table with one mutant
// after the other. All schemas are loaded once; each mutant then gets a process of its own, forked from this one.
//
//     mutation_driver record         runs every unit without mutants; prints, for each, a line
//                                    "NAME<tab>MICROSECONDS<tab>ID:MARK ID:MARK …"
//     mutation_driver serve SECONDS  reads lines "ID UNIT UNIT …" (units by their place in that list), answers each
//     with
//                                    "ID survived", or "ID failed UNIT", "ID crashed UNIT", "ID hung UNIT"
#include <sys/mman.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <csignal>
#include <cstring>
#include <functional>
#include <iostream>
#include <memory>
#include <set>
#include <sstream>

#include "compat/case_file.h"
#include "coverage/table.h"
#include "mutation/switch.h"
#include "support/paths.h"

using namespace downfit;
using namespace downfit::testing;

namespace {

/// What is run at once: a case file, or a cell.
struct Unit {
    std::string name;
    std::function<bool()> passes;
};

bool all_come_out(const CaseFile& file) {
    for (const ExpectedCheck& check : file.checks) {
        if (check_compact(file, file.dumps.at(check.dump), check.release) != check.expected) return false;
    }
    for (const ExpectedCheck& told : file.told) {
        if (check_told(file, file.dumps.at(told.dump), told.release) != told.expected) return false;
    }
    for (const ExpectedCheck& floors : file.floors) {
        if (floors_compact(file, file.dumps.at(floors.dump)) != floors.expected) return false;
    }
    return true;
}

void add_cases(const std::string& folder, std::vector<Unit>& units) {
    std::set<std::filesystem::path> paths;
    for (const auto& entry : std::filesystem::directory_iterator(in_tests(folder))) {
        if (entry.path().extension() == ".case") paths.insert(entry.path().filename());
    }
    for (const auto& path : paths) {
        const auto file = std::make_shared<CaseFile>(read_case(folder / path));
        units.push_back({(folder / path).string(), [file] { return all_come_out(*file); }});
    }
}

void add_cells(const Table& table, std::vector<Unit>& units) {
    for (const Cell& cell : cells_of(table.axes)) {
        const ChangeFile& changes = table.files.at(cell.change->name);
        const auto entries = changes.entries_of(cell);
        if (entries.empty() || !entries.front()->held_file.empty()) continue;
        const auto file = std::make_shared<CaseFile>(case_from(case_text(changes, cell), cell.test_name()));
        file->checks.push_back({"breaking", changes.target_of(*changes.preset("breaking", cell.way)), ""});
        file->checks.back().expected = entries.front()->expected;
        for (const ForWays& check : changes.checks) {
            if (!check.holds_for(cell.way)) continue;
            file->checks.push_back({check.head, changes.target_of(*changes.preset(check.head, cell.way)), check.text});
        }
        units.push_back({"coverage/" + cell.test_name(), [file] { return all_come_out(*file); }});
    }
}

int record(const std::vector<Unit>& units) {
    for (const Unit& unit : units) {
        std::memset(mutation::marks, 0, sizeof mutation::marks);
        const auto start = std::chrono::steady_clock::now();
        if (!unit.passes()) {
            std::cerr << unit.name << " fails without any mutant\n";
            return 1;
        }
        const auto took = std::chrono::steady_clock::now() - start;
        std::cout << unit.name << "\t" << std::chrono::duration_cast<std::chrono::microseconds>(took).count() << "\t";
        for (int id = 0; id < mutation::most; ++id) {
            if (mutation::marks[id] != 0) std::cout << id << ":" << int{mutation::marks[id]} << " ";
        }
        std::cout << "\n";
    }
    return 0;
}

constexpr int failed = 1;
constexpr rlim_t most_memory = rlim_t{3} << 30;

[[noreturn]] void run_mutant(const std::vector<Unit>& units, const std::vector<std::size_t>& chosen, unsigned seconds,
                             volatile std::size_t& now) {
    const rlimit memory{most_memory, most_memory};
    setrlimit(RLIMIT_AS, &memory);
    alarm(seconds);
    for (const std::size_t unit : chosen) {
        now = unit;
        bool passes = false;
        try {
            passes = units[unit].passes();
        } catch (...) {
            passes = false;
        }
        if (!passes) _exit(failed);
    }
    _exit(0);
}

std::string outcome_of(int status) {
    if (WIFSIGNALED(status)) return WTERMSIG(status) == SIGALRM ? "hung" : "crashed";
    return WEXITSTATUS(status) == 0 ? "survived" : "failed";
}

int serve(const std::vector<Unit>& units, unsigned seconds) {
    void* shared = mmap(nullptr, sizeof(std::size_t), PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    if (shared == MAP_FAILED) return 1;
    auto& now = *static_cast<volatile std::size_t*>(shared);
    std::string line;
    while (std::getline(std::cin, line)) {
        std::istringstream words(line);
        int id = 0;
        words >> id;
        std::vector<std::size_t> chosen;
        for (std::size_t unit = 0; words >> unit;) chosen.push_back(unit);
        const pid_t child = fork();
        if (child < 0) return 1;
        if (child == 0) {
            mutation::active = id;
            std::freopen("/dev/null", "w", stderr);
            run_mutant(units, chosen, seconds, now);
        }
        int status = 0;
        waitpid(child, &status, 0);
        const std::string outcome = outcome_of(status);
        std::cout << id << " " << outcome;
        if (outcome != "survived") std::cout << " " << now;
        std::cout << std::endl;
    }
    return 0;
}

}  // namespace

int main(int count, char** words) {
    const std::vector<std::string> call(words + 1, words + count);
    std::vector<Unit> units;
    for (const std::string folder : {"outcomes", "rules", "shapes"}) add_cases(folder, units);
    const Table table = read_table();
    add_cells(table, units);
    if (call == std::vector<std::string>{"record"}) return record(units);
    if (call.size() == 2 && call[0] == "serve") return serve(units, static_cast<unsigned>(std::stoul(call[1])));
    std::cerr << "mutation_driver record, or mutation_driver serve SECONDS\n";
    return 2;
}
