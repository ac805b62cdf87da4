// The corpus of schema files: what is valid loads, what is broken gives the error that broken.json says, and the
// second judge (valijson, by the JSON Schemas of schemas/format/) agrees as far as a JSON Schema reaches.
#include <algorithm>
#include <filesystem>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>

#include "schema/format_check.h"
#include "schema/load.h"
#include "schema/located_json.h"
#include "schema/policy.h"
#include "schema/rig.h"
#include "schema/siskin.h"
#include "schema/substitutes.h"
#include "support/catch.h"
#include "support/file.h"
#include "support/paths.h"

namespace downfit::testing {

namespace {

using Json = nlohmann::json;
using schema::FileKind;
using schema::SourceFile;

std::filesystem::path corpus(const std::filesystem::path& path) {
    return in_tests("formats") / path;
}

SourceFile source(const std::filesystem::path& path, const std::string& name) {
    return {name, read_text(path)};
}

/// The broken file with what it needs beside it.
std::vector<SourceFile> with_neighbours(const std::string& file) {
    const std::string folder = file.substr(0, file.find('/'));
    const std::string device = folder.starts_with("dipper-") ? "dipper" : "wren";
    const auto beside = [&](const std::string& name) {
        return source(corpus("valid/" + device + "/" + name), device + "/" + name);
    };
    std::vector<SourceFile> files;
    if (!folder.ends_with("device")) files.push_back(beside("device.json"));
    if (folder.ends_with("1.1")) files.push_back(beside("1.0.json"));
    files.push_back(source(corpus("broken") / file, file));
    return files;
}

std::vector<std::filesystem::path> json_files(const std::filesystem::path& folder) {
    std::vector<std::filesystem::path> paths;
    for (const auto& entry : std::filesystem::directory_iterator(folder)) {
        if (entry.path().extension() == ".json") paths.push_back(entry.path());
    }
    std::ranges::sort(paths);
    return paths;
}

bool is_policy(const std::filesystem::path& file) {
    return file.parent_path().filename() == "policy";
}

bool is_rig(const std::filesystem::path& file) {
    return file.parent_path().filename() == "rig";
}

bool is_substitutes(const std::filesystem::path& file) {
    return file.parent_path().filename() == "substitutes";
}

/// What is wrong with a broken file.
Problems problems_with(const std::string& file) {
    if (is_policy(file)) {
        const auto read = schema::read_policy(source(corpus("broken") / file, file));
        return read.ok() ? Problems{} : read.problems();
    }
    if (is_rig(file)) {
        const auto read = schema::read_rig(source(corpus("broken") / file, file));
        return read.ok() ? Problems{} : read.problems();
    }
    if (is_substitutes(file)) {
        const auto read = schema::read_substitutes(source(corpus("broken") / file, file));
        return read.ok() ? Problems{} : read.problems();
    }
    const auto loaded = schema::load_device(with_neighbours(file));
    return loaded.ok() ? Problems{} : loaded.problems();
}

/// Whether the second judge allows a text; Downfit's reader of JSON must have no fault to find in it.
bool allowed(const SourceFile& file) {
    Problems problems;
    const schema::NodePtr node = schema::read_json(file.name, file.text, problems);
    REQUIRE(problems.empty());
    const schema::Node* format = node->find("format");
    const std::string text = format ? format->text : std::string();
    const FileKind kind = is_policy(file.name)                  ? FileKind::policy
                          : is_rig(file.name)                   ? FileKind::rig
                          : is_substitutes(file.name)           ? FileKind::substitutes
                          : text.starts_with("downfit release") ? FileKind::release
                                                                : FileKind::device;
    return !schema::check_format(*node, kind);
}

}  // namespace

TEST_CASE("broken files give the errors they must", "[formats]") {
    const Json list = Json::parse(read_text(corpus("broken.json")));
    REQUIRE(list.at("files").size() >= 80);
    for (const Json& row : list.at("files")) {
        const std::string file = row.at("file");
        CAPTURE(file);
        const Problems problems = problems_with(file);
        REQUIRE(!problems.empty());
        const Problem& first = problems.front();
        const TextPlace place{file, row.at("line"), row.at("column"), row.at("pointer")};
        CHECK(std::get<TextPlace>(first.place) == place);
        const std::string said = one_line(first), says = row.at("says");
        CAPTURE(said, says);
        CHECK(!says.empty());
        CHECK(said.find(says) != std::string::npos);
        CHECK(problems.size() == row.value("problems", 1u));
    }
}

TEST_CASE("the second judge sees what a JSON Schema can see, and no more", "[formats]") {
    const Json list = Json::parse(read_text(corpus("broken.json")));
    for (const Json& row : list.at("files")) {
        const std::string file = row.at("file"), told_by = row.at("told-by");
        CAPTURE(file);
        if (told_by == "grammar") continue;
        REQUIRE((told_by == "schema" || told_by == "meaning"));
        CHECK(allowed(source(corpus("broken") / file, file)) == (told_by == "meaning"));
    }
}

TEST_CASE("what the second judge tells has a place", "[formats]") {
    struct Row {
        std::string file;
        TextPlace place;
        std::string name;
    };
    const std::vector<Row> rows{
        {"choice-number-as-text", {"1.0.json", 10, 56, "/parameters/mode/choices/Hall"}, "\"Hall\""},
        {"group-key-misspelt", {"1.0.json", 5, 65, "/groups/amp/onby"}, "\"onby\""},
        {"release-missing", {"1.0.json", 1, 1, ""}, "the file"}};
    for (const Row& row : rows) {
        CAPTURE(row.file);
        const SourceFile file = source(corpus("broken/1.0") / (row.file + ".json"), "1.0.json");
        Problems problems;
        const schema::NodePtr node = schema::read_json(file.name, file.text, problems);
        const auto problem = schema::check_format(*node, FileKind::release);
        REQUIRE(problem);
        CHECK(std::get<TextPlace>(problem->place) == row.place);
        CHECK(problem->what == row.name + " is not what the JSON Schema of release files allows");
        CHECK(!problem->expected.empty());
        CHECK(problem->remedy == "see schemas/format/release.schema.json");
    }
}

TEST_CASE("texts too long for patterns are left to the reader", "[formats]") {
    const auto with_key = [](std::size_t bytes) {
        std::string key;
        for (std::size_t i = 0; i < bytes; ++i) key += " 5A";
        return files_with({source(corpus("valid/wren/device.json"), "device.json")}, "device.json",
                          R"({ "unpack": "seven-in-eight", "order": "first-high" })",
                          R"({ "unpack": "xor", "key": ")" + key + R"(" })");
    };
    CHECK(problem_lines(schema::load_device(with_key(100))).empty());
    CHECK(problem_lines(schema::load_device(with_key(200'000))).empty());
}

TEST_CASE("lists too long to compare are left to the reader", "[formats]") {
    const auto with_choices = [](std::size_t count) {
        std::string labels = "\"L0\"";
        for (std::size_t i = 1; i < count; ++i) labels += ", \"L" + std::to_string(i) + "\"";
        return files_with(corpus_device("wren"), "1.0.json", R"(["Brook", "Weir", "Mill"])",
                          R"(["Brook", "Weir", "Mill", )" + labels + "]");
    };
    CHECK(problem_lines(schema::load_device(with_choices(200))).empty());
    CHECK(problem_lines(schema::load_device(with_choices(16'000))).empty());
}

TEST_CASE("every file of the corpus is listed, and none twice", "[formats]") {
    const Json list = Json::parse(read_text(corpus("broken.json")));
    std::vector<std::string> listed, there;
    for (const Json& row : list.at("files")) listed.push_back(row.at("file"));
    for (const std::string folder :
         {"1.0", "1.1", "device", "dipper-1.0", "dipper-1.1", "dipper-device", "policy", "rig", "substitutes"}) {
        for (const auto& path : json_files(corpus("broken") / folder))
            there.push_back(folder + "/" + path.filename().string());
    }
    std::ranges::sort(listed);
    CHECK(listed == there);
}

TEST_CASE("valid files load", "[formats]") {
    std::vector<std::filesystem::path> folders;
    for (const auto& entry : std::filesystem::directory_iterator(corpus("valid"))) {
        const std::string name = entry.path().filename();
        if (name != "policy" && name != "rig" && name != "substitutes") folders.push_back(entry.path());
    }
    for (const char* demo : {"dunlin-6", "pipit"}) folders.push_back(project_folder() / "schemas" / demo);
    REQUIRE(folders.size() >= 3);
    for (const auto& folder : folders) {
        CAPTURE(folder.string());
        std::vector<SourceFile> files;
        for (const auto& path : json_files(folder)) {
            files.push_back(source(path, path.filename().string()));
            CAPTURE(path.string());
            CHECK(allowed(files.back()));
        }
        CHECK(files.size() >= 2);
        CHECK(problem_lines(schema::load_device(files)).empty());
    }
}

TEST_CASE("valid policies are read", "[formats]") {
    const auto paths = json_files(corpus("valid/policy"));
    CHECK(paths.size() >= 3);
    for (const auto& path : paths) {
        const SourceFile file = source(path, "policy/" + path.filename().string());
        CAPTURE(file.name);
        CHECK(allowed(file));
        const auto read = schema::read_policy(file);
        CHECK(problem_lines(read.ok() ? Problems{} : read.problems()).empty());
    }
}

TEST_CASE("valid substitutes are read", "[formats]") {
    std::vector<std::filesystem::path> paths = json_files(corpus("valid/substitutes"));
    paths.push_back(project_folder() / "demo" / "substitutes.json");
    CHECK(paths.size() >= 3);
    for (const auto& path : paths) {
        const SourceFile file = source(path, "substitutes/" + path.filename().string());
        CAPTURE(file.name);
        CHECK(allowed(file));
        const auto read = schema::read_substitutes(file);
        CHECK(problem_lines(read.ok() ? Problems{} : read.problems()).empty());
    }
}

TEST_CASE("valid rigs are read", "[formats]") {
    std::vector<std::filesystem::path> paths = json_files(corpus("valid/rig"));
    paths.push_back(project_folder() / "demo" / "rig.json");
    CHECK(paths.size() >= 3);
    for (const auto& path : paths) {
        const SourceFile file = source(path, "rig/" + path.filename().string());
        CAPTURE(file.name);
        CHECK(allowed(file));
        const auto read = schema::read_rig(file);
        CHECK(problem_lines(read.ok() ? Problems{} : read.problems()).empty());
    }
}

}  // namespace downfit::testing
