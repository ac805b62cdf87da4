#include <algorithm>
#include <array>
#include <charconv>
#include <utility>

#include "base/near_miss.h"
#include "schema/format_check.h"
#include "schema/located_json.h"
#include "schema/reader.h"
#include "schema/table.h"
#include "schema/table_rows.h"
#include "schema/write_json.h"

namespace downfit::schema {

namespace {

constexpr std::size_t enough_problems = 100;

class Importer {
public:
    Importer(const SourceFile& table, const TableReading& reading)
        : reading_(reading), places_(std::make_shared<TablePlaces>()) {
        places_->file = table.name;
        places_->text = table.text;
    }

    Result<ImportedRelease> import() {
        const SourceFile table{places_->file, places_->text};
        Result<CsvTable> csv = read_csv(table.name, places_->text, reading_.separator);
        if (!csv) return csv.problems();
        places_->csv = std::move(csv).value();
        std::erase_if(places_->csv.rows, [](const CsvRow& row) {
            return std::ranges::all_of(row.cells, [](const CsvCell& cell) { return trimmed(cell.text).empty(); });
        });
        if (places_->csv.rows.empty())
            return Problem{table.name, "the table is empty", "a first line with the names of the columns", {}};
        const Header header = read_header(table, places_->csv, reading_, problems_);
        if (!problems_.empty()) return problems_;
        read_rows(header);
        if (!problems_.empty()) return problems_;
        return finish();
    }

private:
    void read_rows(const Header& header) {
        if (!find_release(header)) return;
        TableReading reading = reading_;
        if (!chosen_.empty()) reading.release = chosen_;
        RowReader rows(*places_, header, reading, problems_);
        const std::size_t width = places_->csv.rows.front().cells.size();
        for (std::size_t i = 1; i < places_->csv.rows.size(); ++i) {
            const CsvRow& row = places_->csv.rows[i];
            if (row.cells.size() == width) {
                rows.read(row);
            } else {
                report(problems_, {places_->file, row.line, 1, {}},
                       "the row has " + std::to_string(row.cells.size()) + " cells, the first line " +
                           std::to_string(width),
                       "as many in each row",
                       row.cells.size() > width ? "put quotes around cells with a separator in them"
                                                : "put quotes around cells with a line break in them");
            }
            if (problems_.size() > enough_problems) break;
        }
        release_ = rows.release;
        lists_ = rows.lists;
        groups_ = rows.groups;
        parameters_ = rows.parameters;
    }

    /// Which release of the table is meant.
    bool find_release(const Header& header) {
        const auto column = header[*find_column("release")];
        if (!column) return true;
        std::vector<std::string> names;
        Problems told_with_the_row;
        for (std::size_t i = 1; i < places_->csv.rows.size(); ++i) {
            const CsvRow& row = places_->csv.rows[i];
            if (*column >= row.cells.size() || trimmed(row.cells[*column].text).empty()) continue;
            const NodePtr name =
                CellReader({}, told_with_the_row).read_text({trimmed(row.cells[*column].text), nullptr, {}, nullptr});
            if (name != nullptr && std::ranges::find(names, name->text) == names.end()) names.push_back(name->text);
        }
        if (names.size() == 1) chosen_ = names.front();
        if (names.size() < 2 || std::ranges::find(names, reading_.release) != names.end()) return true;
        const std::vector<std::string_view> views(names.begin(), names.end());
        const std::string remedy = reading_.release.empty() ? "" : did_you_mean(reading_.release, views);
        report(problems_, csv_place(places_->file, places_->text, places_->csv.rows.front().cells[*column]),
               reading_.release.empty() ? "the table has several releases"
                                        : "the table has no release " + quoted(reading_.release),
               "one of " + one_of(views), remedy.empty() ? "--release NAME says which" : remedy);
        return false;
    }

    void set(std::string_view key, NodePtr value) {
        auto& members = release_->members;
        const auto at = std::ranges::find(members, key, &Member::key);
        places_->said.erase(pointer_step(key));
        if (at != members.end())
            at->value = std::move(value);
        else
            members.push_back({std::string(key), std::move(value)});
    }

    void lay_options_over() {
        auto& members = release_->members;
        if (release_->find("format") == nullptr)
            members.insert(members.begin(), {"format", text_node("downfit release 1")});
        if (reading_.device.empty() && !reading_.fallback_device.empty() && release_->find("device") == nullptr)
            set("device", text_node(reading_.fallback_device));
        if (!reading_.device.empty()) set("device", text_node(reading_.device));
        if (!reading_.release.empty()) set("release", text_node(reading_.release));
        if (!reading_.stamp.empty()) set("stamp", stamp());
        if (!reading_.extends.empty()) set("extends", text_node(reading_.extends));
        if (!reading_.date.empty()) set("date", text_node(reading_.date));
        if (!reading_.source.empty()) set("source", text_node(reading_.source));
    }

    NodePtr stamp() const {
        Problems no_json;
        NodePtr node = read_json({}, reading_.stamp, no_json);
        return node != nullptr && no_json.empty() ? node : text_node(reading_.stamp);
    }

    /// The text of a key that every release file needs.
    std::string needed(std::string_view key) {
        const Node* node = release_->find(key);
        if (node != nullptr && node->is(Node::Kind::text)) return node->text;
        report(problems_, node == nullptr ? TextPlace{places_->file, 1, 1, {}} : places_->find(pointer_step(key)),
               node == nullptr ? "the table does not say of which " + std::string(key) + " it is"
                               : quoted(key) + " is " + found(*node),
               "--" + std::string(key) + " NAME, or a row with \"release\" in \"entry\" and " + quoted(key) +
                   " in \"id\"");
        return {};
    }

    Result<ImportedRelease> finish() {
        lay_options_over();
        ImportedRelease made;
        made.device = needed("device");
        made.release = needed("release");
        if (!problems_.empty()) return problems_;
        for (const auto& [key, section] :
             {std::pair{"choice-lists", lists_}, std::pair{"groups", groups_}, std::pair{"parameters", parameters_}}) {
            if (section->members.empty()) continue;
            if (release_->find(key) != nullptr) {
                report(problems_, places_->find(pointer_step(key)),
                       "the table has " + quoted(key) + " as a whole and in rows of their own", "one of them");
            }
            release_->members.push_back({key, section});
        }
        if (!problems_.empty()) return problems_;
        made.text = json_file(*release_);
        made.choice_lists = lists_->members.size();
        made.groups = groups_->members.size();
        made.parameters = parameters_->members.size();
        made.places = places_;
        return made;
    }

    const TableReading& reading_;
    std::shared_ptr<TablePlaces> places_;
    std::string chosen_;
    Problems problems_;
    std::shared_ptr<Node> release_, lists_, groups_, parameters_;
};

}  // namespace

Problems ImportedRelease::in_table(const std::string& release_file, Problems problems) const {
    for (Problem& problem : problems) {
        const auto* place = std::get_if<TextPlace>(&problem.place);
        if (place == nullptr || place->file != release_file) continue;
        TextPlace in_table = places->find(place->pointer);
        in_table.pointer = place->pointer;
        problem.place = std::move(in_table);
    }
    return problems;
}

Result<ImportedRelease> import_table(const SourceFile& table, const TableReading& reading) {
    return Importer(table, reading).import();
}

Problems check_alone(const ImportedRelease& release, const std::string& release_file) {
    Problems problems;
    const NodePtr node = read_json(release_file, release.text, problems);
    if (node != nullptr && problems.empty()) {
        if (auto problem = check_format(*node, FileKind::release)) problems.push_back(*std::move(problem));
    }
    return release.in_table(release_file, std::move(problems));
}

}  // namespace downfit::schema
