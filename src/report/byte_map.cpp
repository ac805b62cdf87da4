#include "report/byte_map.h"

#include <algorithm>
#include <array>

#include "report/escape.h"

namespace downfit::report {

namespace {

using study::Look;
using study::SeenByte;

constexpr std::size_t map_indent = 2;
constexpr std::size_t offset_columns = 6;
constexpr std::size_t label_columns = 28;
constexpr std::size_t in_column = 10;
constexpr std::size_t most_in_row = 100;

constexpr std::array<LookRow, study::look_count> look_table{{
    {Look::framing, "framing", '=', "the layout's own: stamp, marks, checks, heads and ends of records", Tone::faint},
    {Look::same, "same", '-', "explained, the same in all presets", Tone::plain},
    {Look::varying, "varying", '#', "explained, differs between presets", Tone::good},
    {Look::partly, "partly", '%', "explained in part; other bits of it differ between presets", Tone::bad},
    {Look::unknown, "unexplained", '.', "not explained, the same in all presets", Tone::unknown},
    {Look::unknown_varies, "unexplained-varying", '?', "NOT EXPLAINED, differs between presets", Tone::worst},
}};

/// Symbols in a row, neighbours of one colour painted together.
class Row {
public:
    explicit Row(const Style& style) : style_(style) {}

    void add(Look look) {
        const LookRow& row = row_of(look);
        if (!run_.empty() && row.tone != tone_) flush();
        tone_ = row.tone;
        run_ += row.symbol;
        ++columns_;
    }

    void space() {
        flush();
        text_ += ' ';
        ++columns_;
    }

    [[nodiscard]] std::size_t columns() const { return columns_; }

    [[nodiscard]] std::string take() {
        flush();
        columns_ = 0;
        return std::move(text_);
    }

private:
    void flush() {
        if (!run_.empty()) text_ += paint(run_, tone_, style_);
        run_.clear();
    }

    const Style& style_;
    std::string text_, run_;
    Tone tone_ = Tone::plain;
    std::size_t columns_ = 0;
};

void append_plain(std::string& out, const std::vector<const SeenByte*>& bytes, const Style& style) {
    const std::size_t room =
        style.width > map_indent + offset_columns + 2 ? style.width - map_indent - offset_columns - 2 : 1;
    const std::size_t in_row = std::clamp(room / (in_column + 1) * in_column, in_column, most_in_row);
    Row row(style);
    std::size_t start = 0;
    const auto end_row = [&] {
        if (row.columns() == 0) return;
        append_line(out,
                    std::string(map_indent, ' ') + right(std::to_string(start), offset_columns) + "  " + row.take());
    };
    for (std::size_t i = 0; i < bytes.size(); ++i) {
        const std::size_t at = bytes[i]->place.byte;
        const bool follows = i > 0 && at == bytes[i - 1]->place.byte + 1;
        if (i == 0 || !follows || at % in_row == 0) {
            end_row();
            start = at;
        } else if (at % in_column == 0) {
            row.space();
        }
        row.add(bytes[i]->look);
    }
    end_row();
}

/// The values of one outermost record, those inside it apart.
void append_record(std::string& out, const std::vector<const SeenByte*>& bytes, const study::Covered& part,
                   const Style& style) {
    const std::vector<study::RecordStep> path{bytes.front()->place.records.front()};
    const auto name = part.names.find(path);
    std::string label = right(study::records_text(path), offset_columns);
    if (name != part.names.end()) label += "  " + printable(name->second);
    label = std::string(map_indent, ' ') + left(label, label_columns);
    const std::size_t room =
        style.width > label_columns + map_indent + in_column ? style.width - label_columns - map_indent - 1 : in_column;
    Row row(style);
    const auto end_row = [&] {
        append_line(out, label + ' ' + row.take());
        label = std::string(label_columns + map_indent, ' ');
    };
    const std::vector<study::RecordStep>* inside = nullptr;
    for (const SeenByte* byte : bytes) {
        if (inside != nullptr && byte->place.records != *inside && row.columns() > 0) row.space();
        inside = &byte->place.records;
        if (row.columns() >= room) end_row();
        row.add(byte->look);
    }
    end_row();
}

void append_key(std::string& out, const study::Covered& part, const Style& style) {
    for (const LookRow& row : look_table) {
        const std::size_t count = part.count(row.look);
        if (count == 0) continue;
        constexpr std::size_t hang = map_indent + offset_columns + 2 + offset_columns + 2;
        std::string lines;
        append_wrapped(lines, row.meaning, style.width, hang, hang);
        out += std::string(map_indent + offset_columns - 1, ' ') + paint(std::string(1, row.symbol), row.tone, style) +
               "  " + right(std::to_string(count), offset_columns) + "  " + lines.substr(hang);
    }
}

}  // namespace

const LookRow& row_of(Look look) {
    return look_table[static_cast<std::size_t>(look)];
}

void append_byte_map(std::string& out, const study::Covered& part, const Style& style) {
    std::vector<const SeenByte*> plain;
    std::vector<std::vector<const SeenByte*>> records;
    for (const SeenByte& byte : part.bytes) {
        if (byte.place.records.empty()) {
            if (byte.place.part == study::Place::Part::value) plain.push_back(&byte);
            continue;
        }
        if (byte.place.part != study::Place::Part::value) continue;
        const bool same =
            !records.empty() && records.back().front()->place.records.front() == byte.place.records.front();
        if (!same) records.emplace_back();
        records.back().push_back(&byte);
    }
    append_plain(out, plain, style);
    if (!records.empty()) append_line(out, std::string(map_indent, ' ') + right("record", offset_columns));
    for (const auto& record : records) append_record(out, record, part, style);
    append_key(out, part, style);
}

}  // namespace downfit::report
