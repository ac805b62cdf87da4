// Reads and writes tables for comparing with other readers. For each file of the call: FILE.json gets the cells as
// lists of texts (or the problem), FILE.again the same table written by us.
//
// Usage: csv_list SEPARATOR FILE... Exit code 2 if a file cannot be read. SEPARATOR: comma, semicolon, tab or auto.

#include <cstdio>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <string>

#include "base/csv.h"

using namespace downfit;

int main(int argc, char** argv) {
    const std::string name = argc > 1 ? argv[1] : "";
    std::optional<char> separator;
    if (name == "comma") separator = ',';
    if (name == "semicolon") separator = ';';
    if (name == "tab") separator = '\t';
    for (int i = 2; i < argc; ++i) {
        const std::string path = argv[i];
        std::ifstream file(path, std::ios::binary);
        if (!file) {
            std::fputs(("cannot read " + path + "\n").c_str(), stderr);
            return 2;
        }
        const std::string text{std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
        const Result<CsvTable> table = read_csv(path, text, separator);
        nlohmann::json json;
        std::string again;
        if (table) {
            json["separator"] = std::string(1, table.value().separator);
            json["rows"] = nlohmann::json::array();
            for (const CsvRow& row : table.value().rows) {
                std::vector<std::string> cells;
                for (const CsvCell& cell : row.cells) cells.push_back(cell.text);
                json["rows"].push_back(cells);
                if (cells.empty())
                    again += "\r\n";
                else
                    append_csv_row(again, cells, table.value().separator);
            }
        } else {
            json["problem"] = table.problems().front().what;
        }
        std::ofstream(path + ".json", std::ios::binary) << json.dump();
        std::ofstream(path + ".again", std::ios::binary) << again;
    }
    return 0;
}
