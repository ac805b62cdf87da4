// What is in a dump, as text and as JSON: slots, names, stamps; of chosen presets the parameter tree.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "dump/dump.h"
#include "dump/tree.h"
#include "report/layout.h"

namespace downfit::report {

/// One entry of a dump. For the tree, `instances` must outlive it.
struct EntryContents {
    std::string holds;  ///< "presets", "unit-settings", or an asset kind
    int slot = -1;      ///< as shown; -1 where the dump does not number it
    std::string name;
    dump::SlotState state = dump::SlotState::filled;
    std::string stamp;                  ///< as stored; empty for none
    std::vector<std::string> saved_on;  ///< releases that the stamp may mean, oldest first
    Problems damage;
    std::string read_as;  ///< the release whose schema read it; empty where none could
    std::size_t body_bytes = 0, unexplained_bytes = 0;
    const schema::Instances* instances = nullptr;  ///< with the tree
    std::vector<dump::Leaf> tree;                  ///< empty where not asked for
};

struct ContentsReport {
    const schema::Device* device = nullptr;  ///< must outlive it
    std::string version;
    std::string file, digest;
    std::vector<EntryContents> entries;  ///< in file order, after filtering
    std::vector<int> absent;             ///< preset slots as shown
    Problems problems;
    bool all = false;  ///< also what is off, or does not exist with these settings
};

[[nodiscard]] std::string contents_text(const ContentsReport& report, const Style& style);

inline constexpr std::string_view contents_format = "downfit contents 1";
[[nodiscard]] std::string contents_json(const ContentsReport& report);

/// "filled", "empty", "absent", "damaged".
[[nodiscard]] std::string_view state_name(dump::SlotState state);

/// For every group instance whether it is a block that is off, or lies in one.
[[nodiscard]] std::vector<bool> groups_off(const EntryContents& entry);

}  // namespace downfit::report
