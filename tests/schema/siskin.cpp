#include "schema/siskin.h"

#include <stdexcept>
#include <variant>

#include "support/file.h"
#include "support/paths.h"

namespace downfit::testing {

std::vector<schema::SourceFile> corpus_device(const std::string& name) {
    std::vector<schema::SourceFile> files;
    for (const char* file : {"device.json", "1.0.json", "1.1.json"}) {
        files.push_back({file, read_text(in_tests("formats") / "valid" / name / file)});
    }
    return files;
}

std::vector<schema::SourceFile> siskin() {
    return corpus_device("siskin");
}

std::vector<schema::SourceFile> siskin_with(std::string_view file, std::string_view find, std::string_view put) {
    return files_with(siskin(), file, find, put);
}

std::vector<schema::SourceFile> files_with(std::vector<schema::SourceFile> files, std::string_view file,
                                           std::string_view find, std::string_view put) {
    for (schema::SourceFile& source : files) {
        if (source.name != file) continue;
        if (find.empty()) {
            source.text = put;
            return files;
        }
        const std::size_t at = source.text.find(find);
        if (at == std::string::npos || source.text.find(find, at + 1) != std::string::npos) break;
        source.text.replace(at, find.size(), put);
        return files;
    }
    throw std::logic_error("not exactly once in " + std::string(file) + ": " + std::string(find));
}

std::string one_line(const Problem& problem) {
    std::string line;
    if (const auto* place = std::get_if<TextPlace>(&problem.place)) {
        line = place->file + ":" + std::to_string(place->line) + ":" + std::to_string(place->column) + " " +
               place->pointer;
    } else if (const auto* file = std::get_if<std::string>(&problem.place)) {
        line = *file;
    }
    return line + " | " + problem.what + " | " + problem.expected + " | " + problem.remedy;
}

std::string problem_lines(const Problems& problems) {
    std::string lines;
    for (const Problem& problem : problems) lines += one_line(problem) + "\n";
    return lines;
}

std::string problem_lines(const Result<schema::Device>& result) {
    return result.ok() ? std::string() : problem_lines(result.problems());
}

schema::Device must_load(const std::vector<schema::SourceFile>& files) {
    auto result = schema::load_device(files);
    if (!result.ok()) throw std::logic_error(problem_lines(result));
    return std::move(result).value();
}

std::vector<schema::SourceFile> wren(const std::vector<SmallRelease>& releases) {
    std::string names;
    std::vector<schema::SourceFile> files{{"device.json", {}}};
    for (const SmallRelease& release : releases) {
        names += (names.empty() ? "\"" : ", \"") + release.name + "\"";
        files.push_back(
            {release.name + ".json", "{ \"format\": \"downfit release 1\", \"device\": \"wren\", \"release\": \"" +
                                         release.name + "\", " + release.rest + " }"});
    }
    files[0].text = "{ \"format\": \"downfit device 1\", \"device\": \"wren\", \"releases\": [" + names +
                    "],\n  \"layouts\": { \"preset\": { \"messages\": { \"preset\": { \"bytes\": \"F0 7D 09 {slot} "
                    "{data...} F7\" } },\n"
                    "  \"preset\": [\"preset\"], \"body\": { \"size\": 64 } } } }";
    return files;
}

}  // namespace downfit::testing
