// Drafts: what dumps look like, and never more than was seen.
#include "study/draft.h"

#include <algorithm>
#include <functional>
#include <set>
#include <string>

#include "dump/fields.h"
#include "report/draft.h"
#include "schema/load.h"
#include "study/coverage.h"
#include "study/storage_text.h"
#include "study/study_devices.h"
#include "support/catch.h"
#include "support/property.h"

namespace downfit::testing {

namespace {

using study::DraftParameter;
using study::Sort;

study::Draft draft_of(const schema::Device& device, const dump::Dump& dump) {
    std::vector<const dump::Entry*> presets;
    for (const dump::Entry& entry : dump.entries) {
        if (entry.state == dump::SlotState::filled) presets.push_back(&entry);
    }
    return study::make_draft(device, 0, presets);
}

/// A draft from the Knot's bytes 2 to 14 of several presets.
study::Draft draft_of_rows(const schema::Device& device, const std::vector<Bytes>& rows) {
    Bytes bank;
    for (std::size_t i = 0; i < rows.size(); ++i) {
        const Bytes preset = knot_preset(static_cast<std::uint8_t>(i), in_a_row({{7}, rows[i]}));
        bank.insert(bank.end(), preset.begin(), preset.end());
    }
    return draft_of(device, read_dump(bank, device));
}

/// Rows that differ in their first bytes only.
std::vector<Bytes> rows_with(const std::vector<Bytes>& starts) {
    std::vector<Bytes> rows;
    for (const Bytes& start : starts) {
        rows.push_back(start);
        rows.back().resize(13, 0);
    }
    return rows;
}

std::string sort_word(Sort sort) {
    constexpr const char* words[] = {"switch", "choice", "number", "wide", "real", "text"};
    return words[static_cast<std::size_t>(sort)];
}

std::string told(const study::Draft& draft) {
    std::string text;
    for (const DraftParameter& one : draft.parameters) {
        text += one.id + ' ' + sort_word(one.sort) + ' ' + study::storage_text(one.storage);
        if (one.sort != Sort::text) {
            text +=
                ' ' + std::to_string(static_cast<int>(one.least)) + ".." + std::to_string(static_cast<int>(one.most));
        }
        text += '\n';
    }
    return text;
}

std::vector<Bytes> counting(std::size_t count, const std::function<Bytes(unsigned)>& row) {
    std::vector<Bytes> starts;
    for (unsigned i = 0; i < count; ++i) starts.push_back(row(i));
    return rows_with(starts);
}

std::uint8_t low(unsigned number) {
    return static_cast<std::uint8_t>(number & 0xFF);
}

}  // namespace

TEST_CASE("each kind of byte is drafted as what it looks like", "[study]") {
    const schema::Device device = device_of({knot_device});
    SECTION("switches") {
        CHECK(told(draft_of_rows(device, counting(8, [](unsigned i) { return Bytes{low(i % 2)}; }))) ==
              "byte-2 switch \"at\": 2 0..1\n");
        CHECK(told(draft_of_rows(device, counting(8, [](unsigned i) { return Bytes{low(i % 2 * 127)}; }))) ==
              "byte-2 switch \"at\": 2 0..127\n");
        CHECK(told(draft_of_rows(device, counting(8, [](unsigned i) { return Bytes{low(5 + i % 2 * 0x80)}; }))) ==
              "byte-2-bit-7 switch \"at\": 2, \"as\": \"bits\", \"bit\": 7, \"width\": 1 0..1\n");
    }
    SECTION("a small choice, and a number") {
        CHECK(told(draft_of_rows(device, counting(16,
                                                  [](unsigned i) {
                                                      return Bytes{low(i % 4), low(3 * i)};
                                                  }))) ==
              "byte-2 choice \"at\": 2 0..3\n"
              "byte-3 number \"at\": 3 0..45\n");
    }
    SECTION("a bit field: all that its parts can make together, and nothing between") {
        CHECK(told(draft_of_rows(device,
                                 counting(24, [](unsigned i) { return Bytes{low(i % 4 + i / 4 % 2 * 0x80)}; }))) ==
              "byte-2-bit-0 number \"at\": 2, \"as\": \"bits\", \"bit\": 0, \"width\": 2 0..3\n"
              "byte-2-bit-7 switch \"at\": 2, \"as\": \"bits\", \"bit\": 7, \"width\": 1 0..1\n");
    }
    SECTION("negative numbers") {
        CHECK(told(draft_of_rows(device, counting(20, [](unsigned i) { return Bytes{low(i - 10)}; }))) ==
              "byte-2 number \"at\": 2, \"as\": \"int8\" -10..9\n");
    }
    SECTION("wide numbers, either order") {
        CHECK(told(draft_of_rows(device, counting(40, [](unsigned i) {
                                     return Bytes{low(i * 37 >> 8), low(i * 37)};
                                 }))) == "bytes-2-3 wide \"at\": 2, \"as\": \"uint16\" 0..1443\n");
        CHECK(
            told(draft_of_rows(device, counting(40, [](unsigned i) {
                                   return Bytes{low(i * 37), low(i * 37 >> 8)};
                               }))) == "bytes-2-3 wide \"at\": 2, \"as\": \"uint16\", \"order\": \"little\" 0..1443\n");
    }
    SECTION("real numbers: 440 is 43 DC 00 00, 441.5 43 DC C0 00, 415 43 CF 80 00, 1 3F 80 00 00 (IEEE 754)") {
        CHECK(told(draft_of_rows(
                  device,
                  rows_with({{0x43, 0xDC, 0, 0}, {0x43, 0xDC, 0xC0, 0}, {0x43, 0xCF, 0x80, 0}, {0x3F, 0x80, 0, 0}}))) ==
              "bytes-2-5 real \"at\": 2, \"as\": \"float32\" 1..441\n");
    }
    SECTION("texts") {
        std::vector<Bytes> rows;
        for (const char* name : {"Alder       ", "Birch Lane  ", "Crown 30    ", "Dale        "}) {
            rows.emplace_back(name, name + 12);
        }
        CHECK(told(draft_of_rows(device, rows_with(rows))) ==
              "text-2 text \"at\": 2, \"as\": \"text\", \"length\": 10\n");
    }
    SECTION("nothing of one preset, or of equal ones") {
        CHECK(draft_of_rows(device, rows_with({{1, 2, 3}})).parameters.empty());
        CHECK(draft_of_rows(device, rows_with({{1, 2, 3}, {1, 2, 3}})).parameters.empty());
        CHECK(study::make_draft(device, 0, {}).parameters.empty());
    }
}

TEST_CASE("records, repeated ones, and records in them", "[study]") {
    const schema::Device device = device_of({serin_device});
    Bytes bank;
    for (std::uint8_t i = 0; i < 6; ++i) {
        Bytes records{1, 1, low(40 + 7U * i), 16, 6, 1, 1, low(10U * i), 2, 1, 5};
        if (i % 2 == 1) records = in_a_row({records, {16, 6, 1, 1, low(3U * i), 2, 1, low(i)}});
        const Bytes preset = serin_preset(i, records);
        bank.insert(bank.end(), preset.begin(), preset.end());
    }
    const study::Draft draft = draft_of(device, read_dump(bank, device));
    REQUIRE(draft.groups.size() == 1);
    CHECK(draft.groups[0].path == "record-16");
    CHECK(draft.groups[0].count == 2);
    CHECK(draft.groups[0].records.has_value());
    CHECK(told(draft) ==
          "record-1 number \"at\": 0 40..75\n"
          "record-16.record-1 number \"at\": 0 0..50\n"
          "record-16.record-2 number \"at\": 0 1..5\n");
}

TEST_CASE("a draft of anything", "[study]") {
    const schema::Device device = device_of({knot_device});
    // Few different bytes make switches, choices and bit fields likely; words make texts.
    const auto byte = rc::gen::weightedOneOf<std::uint8_t>({{3, rc::gen::inRange<std::uint8_t>(0, 4)},
                                                            {3, rc::gen::element<std::uint8_t>('a', 'e', 'K', ' ', 0)},
                                                            {2, rc::gen::element<std::uint8_t>(0x80, 0x81, 0xFE)},
                                                            {2, rc::gen::arbitrary<std::uint8_t>()}});
    holds("holds only what differs, its ranges hold all that was seen, and the loader takes it", [&] {
        const auto count = *rc::gen::inRange<std::size_t>(1, 40);
        std::vector<Bytes> rows;
        for (std::size_t i = 0; i < count; ++i) rows.push_back(*rc::gen::container<Bytes>(13, byte));
        // Some columns that never differ.
        for (const std::size_t still :
             *rc::gen::container<std::vector<std::size_t>>(3, rc::gen::inRange<std::size_t>(0, 13))) {
            for (Bytes& row : rows) row[still] = rows.front()[still];
        }
        const study::Draft draft = draft_of_rows(device, rows);
        std::vector<unsigned> differing(16, 0);
        for (const Bytes& row : rows) {
            for (std::size_t i = 0; i < row.size(); ++i) differing[i + 2] |= unsigned{row[i]} ^ rows.front()[i];
        }
        std::vector<bool> drafted(16, false);
        for (const DraftParameter& one : draft.parameters) {
            if (one.sort == Sort::text) {
                const auto at = static_cast<std::size_t>(one.storage.text_at);
                RC_ASSERT(differing[at] != 0 && differing[at + one.storage.text_length - 1] != 0);
                for (std::size_t i = at; i < at + one.storage.text_length; ++i) drafted[i] = true;
            }
            for (const schema::BitPiece& piece : one.storage.pieces) {
                const auto at = static_cast<std::size_t>(piece.byte);
                if (one.sort != Sort::real) RC_ASSERT(differing[at] != 0);
                drafted[at] = true;
            }
            for (const Bytes& row : rows) {
                const dump::Stored stored = dump::read_field(one.storage, in_a_row({{1, 7}, row}));
                if (stored.kind == dump::Stored::Kind::text) continue;
                RC_ASSERT(stored.number() >= one.least && stored.number() <= one.most);
                const bool listed = one.sort == Sort::on_off || one.sort == Sort::choice;
                RC_ASSERT(!listed || std::count(one.numbers.begin(), one.numbers.end(), stored.whole) == 1);
            }
        }
        for (std::size_t i = 2; i < 15; ++i) RC_ASSERT(differing[i] == 0 || drafted[i]);
        RC_ASSERT(!drafted[0] && !drafted[1] && !drafted[15]);

        report::DraftReport report;
        report.device = "knot";
        report.release = "1";
        report.stamp = std::int64_t{1};
        report.files = {"a\"b\\\n.syx"};
        report.draft = draft;
        const Result<schema::Device> loaded =
            schema::load_device({{"device.json", knot_device}, {"1.json", report::draft_file(report)}});
        RC_ASSERT(loaded.ok());
        for (const schema::Parameter& parameter : loaded.value().releases[0].schema->parameters)
            RC_ASSERT(parameter.observed);
    });
}

TEST_CASE("coverage by a draft: every byte that differs is explained, nothing is beyond range", "[study]") {
    const schema::Device device = device_of({knot_device});
    holds("of its own dump", [&] {
        const auto count = *rc::gen::inRange<std::size_t>(2, 12);
        Bytes bank;
        for (std::size_t i = 0; i < count; ++i) {
            const Bytes body = in_a_row({{7}, *rc::gen::container<Bytes>(13, rc::gen::arbitrary<std::uint8_t>())});
            const Bytes preset = knot_preset(static_cast<std::uint8_t>(i), body);
            bank.insert(bank.end(), preset.begin(), preset.end());
        }
        const dump::Dump dump = read_dump(bank, device);
        report::DraftReport report;
        report.device = "knot";
        report.release = "1";
        report.stamp = std::int64_t{1};
        report.draft = draft_of(device, dump);
        const schema::Device drafted = device_of({knot_device, report::draft_file(report)});
        const dump::Dump again = read_dump(bank, drafted);
        study::Readers readers(drafted);
        const study::Coverage coverage = study::find_coverage({&again}, readers, {});
        RC_ASSERT(coverage.parts.size() == 1U);
        RC_ASSERT(coverage.parts[0].unexplained_varying() == 0U);
        RC_ASSERT(coverage.parts[0].count(study::Look::partly) == 0U);
        RC_ASSERT(coverage.parts[0].beyond.empty());
    });
}

}  // namespace downfit::testing
