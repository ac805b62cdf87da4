// A JSON report of an earlier check, read back as the baseline of this one.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "base/result.h"
#include "compat/baseline.h"

namespace downfit::report {

struct CheckReport;

/// What an earlier report told, and the digests of what it was made from.
struct BaselineFile {
    std::string file, digest;                     ///< of the report itself
    std::string device, version;                  ///< the program's version
    std::string policy;                           ///< digest; empty without a policy file
    std::map<std::string, std::string> dumps;     ///< by last part of the file name
    std::map<std::string, std::string> releases;  ///< digests of release files, by release; "" is the device file
    compat::Baseline known;
};

/// Reads what `downfit check --format json` wrote. Fails, with the place where one is known, where it is no JSON, no
/// such report, or not whole.
[[nodiscard]] Result<BaselineFile> read_baseline(const std::string& file, const std::string& text);

/// What is not as it was when the baseline was made.
struct Changed {
    std::vector<std::string> dumps;    ///< files whose bytes differ, or that it did not have
    std::vector<std::string> schemas;  ///< schema files that differ, are new or gone: "device.json", "release 2.10"
    bool policy = false, program = false;

    [[nodiscard]] bool nothing() const { return dumps.empty() && schemas.empty() && !policy && !program; }
};
/// The report must have a baseline.
[[nodiscard]] Changed changed_since(const CheckReport& report);

}  // namespace downfit::report
