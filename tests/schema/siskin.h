// The Siskin, an invented device for the tests of schema/: small, but with something of everything. Also loading it
// with one thing changed, and problems as one line of text.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "schema/load.h"

namespace downfit::testing {

/// device.json, 1.0.json and 1.1.json of a device in tests/formats/valid/.
[[nodiscard]] std::vector<schema::SourceFile> corpus_device(const std::string& name);

/// Those of the Siskin; 1.1 extends 1.0.
[[nodiscard]] std::vector<schema::SourceFile> siskin();

/// The Siskin with `find` in one file replaced by `put`. `find` must stand there exactly once; an empty `find` replaces
/// the whole file. Throws std::logic_error otherwise.
[[nodiscard]] std::vector<schema::SourceFile> siskin_with(std::string_view file, std::string_view find,
                                                          std::string_view put);

/// The same of any files.
[[nodiscard]] std::vector<schema::SourceFile> files_with(std::vector<schema::SourceFile> files, std::string_view file,
                                                         std::string_view find, std::string_view put);

/// All of a problem: "1.0.json:3:14 /parameters/x | what | expected | remedy".
[[nodiscard]] std::string one_line(const Problem& problem);

/// The problems of a failed load, one in each line; empty if it did not fail.
[[nodiscard]] std::string problem_lines(const Result<schema::Device>& result);
[[nodiscard]] std::string problem_lines(const Problems& problems);

/// The device, which must load: throws std::logic_error with the problems if it does not.
[[nodiscard]] schema::Device must_load(const std::vector<schema::SourceFile>& files);

/// A device with one 64-byte body whose releases are `releases`: each a release name and what follows `"release":
/// NAME,` in its file.
struct SmallRelease {
    std::string name;
    std::string rest;
};
[[nodiscard]] std::vector<schema::SourceFile> wren(const std::vector<SmallRelease>& releases);

}  // namespace downfit::testing
