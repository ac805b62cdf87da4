// What a report on `schema proof` is made from. Whoever calls gathers it; reports only show it.
#pragma once

#include <cstddef>
#include <map>
#include <string>
#include <vector>

#include "report/check_report.h"
#include "report/layout.h"
#include "schema/proof.h"

namespace downfit::report {

/// A schema file that was read.
struct ProofFile {
    std::string file;
    std::string digest;  ///< SHA-256, hex
};

/// One device's files, proofed.
struct ProofedDevice {
    std::string folder;
    std::vector<ProofFile> files;
    std::vector<std::string> only;  ///< files whose flaws alone are told; empty: all
    schema::Proof proof;
    bool looked_at = false;  ///< the dumps are of this device
};

/// Everything that a report on `schema proof` tells.
struct ProofReport {
    std::string version;
    std::vector<ProofedDevice> devices;
    std::vector<std::string> dumps;              ///< of --with
    std::size_t presets = 0;                     ///< filled ones in the dumps
    std::map<schema::Rule, std::size_t> unsure;  ///< presets that each unstated rule leaves unsure somewhere
    std::vector<Unexplained> unexplained;        ///< bytes that no parameter explains, by release

    [[nodiscard]] std::size_t errors() const;
    [[nodiscard]] std::size_t problems() const;
};

/// Whether a problem is to be told, where only some files are asked for.
[[nodiscard]] bool is_told(const ProofedDevice& device, const Place& place);

/// The report for people, and the one for programs.
[[nodiscard]] std::string proof_text(const ProofReport& report, const Style& style);
[[nodiscard]] std::string proof_json(const ProofReport& report);

}  // namespace downfit::report
