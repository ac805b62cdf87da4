// Proofing: what is wrong, or looks wrong, with schema files, all of it at once. Errors of loading come first; beside
// them everything that contradicts itself in what could be read all the same.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "base/problem.h"
#include "schema/device.h"
#include "schema/faults.h"
#include "schema/load.h"

namespace downfit::schema {

/// One thing that looks wrong. Told once, at the oldest release that has it so.
struct Flaw {
    Fault fault = Fault::overlap;
    Problem problem;                     ///< `remedy` says how to mend it; the place has line and pointer
    std::string release;                 ///< the oldest that has it; empty: of the device file
    std::vector<std::string> about;      ///< ids of parameters or paths of groups concerned
    std::string layout;                  ///< of overlap: the one layout that has it; empty for all
    std::optional<std::string> marked;   ///< as true to the device: the reason that the user gives
    std::optional<Rule> rule;            ///< of rule_missing
    bool of_presets = false;             ///< of gap: in presets, not in unit settings
    std::vector<std::string> unsettled;  ///< of rule_missing: releases for which nobody states it, oldest first
};

/// What proofing found.
struct Proof {
    Problems errors;               ///< the device does not load as long as there is one
    std::vector<Flaw> flaws;       ///< problems and notes, by file and place
    std::size_t proofed = 0;       ///< releases that were looked at
    std::size_t left_out = 0;      ///< release files that could not be, because of errors
    std::optional<Device> device;  ///< where it loads

    /// How many flaws are problems (no notes) that are not marked.
    [[nodiscard]] std::size_t problems() const;
    [[nodiscard]] std::size_t notes() const;
    [[nodiscard]] std::size_t marked() const;
};

/// Proofs one device: its device file and release files, as load_device takes them. Reads no files; never throws. With
/// errors in the device file nothing else is looked at; a release with errors of its own, or that starts from one, is
/// left out.
[[nodiscard]] Proof proof_device(const std::vector<SourceFile>& files);

}  // namespace downfit::schema
