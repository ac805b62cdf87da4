// `schema import` and `schema export` as a user runs them: good tables, and every mistake with its place and remedy.
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "cli/small_rig.h"
#include "support/catch.h"
#include "support/golden.h"

namespace downfit::testing {

namespace {

using Words = std::vector<std::string>;

Words operator+(Words words, const Words& more) {
    words.insert(words.end(), more.begin(), more.end());
    return words;
}

struct Mistake {
    std::string name;
    std::string table;
    Words options;
    std::string told;
};

const Words for_release = {"--device", "wren", "--release", "1.0"};

// Each with file, line, column, what was expected and what to do.
const std::vector<Mistake> mistakes{
    {"nothing", "", for_release,
     "t.csv: the table is empty\n    expected: a first line with the names of the columns\n"},
    {"utf-16", std::string("\xFF\xFEi\0d\0", 6), for_release,
     "t.csv:1:1: the table is written in UTF-16\n    expected: UTF-8\n    save it again as \"CSV UTF-8\"\n"},
    {"latin-1", "id,at,title\ngain,0,Verst\xE4rkung\n", for_release,
     "t.csv:2:13: a byte that is not UTF-8\n    expected: a table in UTF-8\n    save it again as \"CSV UTF-8\"\n"},
    {"open quote", "id,at,note\ngain,0,\"loud\ntone,1,\n", for_release,
     "t.csv:2:8: nothing closes this quote\n    expected: a quote at the end of the cell\n"
     "    a quote inside the cell is written twice; the file may also be cut short\n"},
    {"behind a quote", "id,at,note\ngain,0,\"a\"b\n", for_release,
     "t.csv:2:11: something stands behind the closing quote of a cell\n"
     "    expected: the next cell, or the end of the line\n    a quote inside the cell is written twice\n"},
    {"columns missing", "Label,Byte\nGain,0\n", for_release + Words{"--ignore", "Label", "--ignore", "Byte"},
     "t.csv:1:1: needed columns are missing; there are \"Label\", \"Byte\"\n"
     "    expected: \"id\" (ids as they are to be) or \"name\" (names, of which ids are made); and \"at\" (the byte), "
     "\"tag\" (the number) or \"path\" (in JSON and XML dumps)\n"
     "    add a column \"name\" to the table\n"},
    {"a column that is there under another name", "Parameter,Address in dump\nGain,0\n", for_release,
     "t.csv:1:1: needed columns are missing; there are \"Parameter\", \"Address in dump\"\n"
     "    expected: \"at\" (the byte), \"tag\" (the number) or \"path\" (in JSON and XML dumps)\n"
     "    --column at=\"Address in dump\" says that the table's column \"Address in dump\" is our \"at\"\n"
     "t.csv:1:11: there is no column \"Address in dump\"\n    expected: a column that docs/formats.md names\n"
     "    --column OURS=\"Address in dump\" says which it is, --ignore \"Address in dump\" passes over it\n"},
    {"unknown column", "id,at,minimun\ngain,0,1\n", for_release,
     "t.csv:1:7: there is no column \"minimun\"\n    expected: a column that docs/formats.md names\n"
     "    did you mean \"minimum\"? --column OURS=\"minimun\" says which it is, --ignore \"minimun\" passes over it\n"},
    {"column twice", "id,at,Min,minimum\ngain,0,1,2\n", for_release,
     "t.csv:1:11: two columns fill \"minimum\": \"Min\" and \"minimum\"\n    expected: one column for each\n"
     "    --ignore \"minimum\" leaves one out, --column OURS=NAME gives it another meaning\n"},
    {"--column names none", "id,at,Low\ngain,0,1\n", for_release + Words{"--column", "minimum=Lo", "--ignore", "Low"},
     "t.csv:1:1: --column names a column \"Lo\", which the table does not have\n"
     "    expected: one of \"id\", \"at\", \"Low\"\n    did you mean \"Low\"?\n"},
    {"column without a name", "id,at,\ngain,0,x\n", for_release,
     "t.csv:1:7: column 3 has no name\n    expected: a name in the first line\n"
     "    delete the column if nothing stands in it\n"},
    {"too many cells", "id,at,maximum\ngain,0,1,5\n", for_release,
     "t.csv:2:1: the row has 4 cells, the first line 3\n    expected: as many in each row\n"
     "    put quotes around cells with a separator in them\n"},
    {"too few cells", "id,at,note\ngain,0,loud\nest\n", for_release,
     "t.csv:3:1: the row has 1 cells, the first line 3\n    expected: as many in each row\n"
     "    put quotes around cells with a line break in them\n"},
    {"decimal comma", "id;at;minimum;maximum\ngain;0;0,5;10\n", for_release,
     "t.csv:2:8: \"minimum\" is \"0,5\"\n    expected: a number, as 12 or -0.5\n"
     "    write 0.5 for 0,5, or say --decimal comma\n"},
    {"decimal point", "id;at;default\ngain;0;0.5\n", for_release + Words{"--decimal", "comma"},
     "t.csv:2:8: \"default\" is \"0.5\"\n    expected: a number, as 12 or -0,5\n"
     "    write it with a comma, or leave out --decimal comma\n"},
    {"thousands", "id,at,maximum,minimum\ngain,0,\"20,000.5\",1\n", for_release,
     "t.csv:2:8: \"maximum\" is \"20,000.5\"\n    expected: a number, as 12 or -0.5\n"
     "    write it without marks between the thousands\n"},
    {"unit in the number", "id,at,minimum,maximum\nrate,0,0.1 Hz,10\n", for_release,
     "t.csv:2:8: \"minimum\" is \"0.1 Hz\"\n    expected: a number, as 12 or -0.5\n"
     "    the number alone; a unit has its own column\n"},
    {"one end", "id,at,minimum,maximum\ngain,0,,10\n", for_release,
     "t.csv:2:9: \"maximum\" stands alone\n    expected: both ends, or neither\n    fill \"minimum\" too\n"},
    {"ends exchanged", "id,at,minimum,maximum\ngain,0,10,-10\n", for_release,
     "t.csv:2:8: \"minimum\" is above \"maximum\"\n    expected: the lower end first\n"
     "    exchange the two cells; a scale may fall, a range may not\n"},
    {"hexadecimal", "id,at\ngain,1F\n", for_release,
     "t.csv:2:6: \"at\" is \"1F\"\n    expected: a whole number, as 31, 0x1F or 1Fh\n"
     "    if all are hexadecimal, say --hex\n"},
    {"address of several bytes", "id,at\ngain,00 1F\n", for_release,
     "t.csv:2:6: \"at\" is \"00 1F\"\n    expected: a whole number, as 31, 0x1F or 1Fh\n"
     "    make one number of it: of bytes with 7 bits each, 128 times the first and the second\n"},
    {"no id", "id,at\nAmp Gain,0\n", for_release,
     "t.csv:2:1: \"id\" is \"Amp Gain\"\n"
     "    expected: lower-case letters, digits and \"-\", after the group's path and a point\n"
     "    write it as \"amp-gain\", or fill \"name\" instead: ids are made of names\n"},
    {"id twice", "name,at\nGain,0\nTone,1\n gain ,2\n", for_release,
     "t.csv:4:1: \"gain\" stands in two rows; the first is in line 2\n    expected: each once\n"
     "    tell them apart by their groups (column \"group\"), or give them ids\n"},
    {"heading", "name,at\nAMPLIFIER,\nGain,0\n", for_release,
     "t.csv:2:1: \"AMPLIFIER\" has no place\n    expected: the byte in \"at\", the number in \"tag\", or the \"path\" "
     "in JSON and XML dumps\n"
     "    delete rows that are only headings\n"},
    {"row without a name", "name,at\n,3\n", for_release,
     "t.csv:2:1: the row names nothing\n    expected: an id, or a name, in every row\n"
     "    delete rows that are only headings\n"},
    {"unknown word", "id,at,role\ngain,0,lewel\n", for_release,
     "t.csv:2:8: \"role\" is \"lewel\"\n"
     "    expected: \"level\", \"model\", \"pitch\", \"frequency\", \"q\", \"time\", \"decay\", \"rate\", \"tempo\", "
     "\"feedback\", \"mix\", \"pan\", \"tone\", \"name\" or \"cosmetic\"\n    did you mean \"level\"?\n"},
    {"choice twice", "id,at,choices\nmode,0,Room; Hall; Room\n", for_release,
     "t.csv:2:20: choice \"Room\" stands twice\n    expected: each label once\n"},
    {"choices half numbered", "id,at,choices\nmode,0,0=Room; Hall\n", for_release,
     "t.csv:2:16: choice \"Hall\" has no number\n    expected: a number before each choice or before none\n"},
    {"broken JSON", "id,at,when\nmode,0,\"{\"\"parameter\"\": \"\"volume\"\" \"\"is\"\": 3}\"\n", for_release,
     "t.csv:2:36: in the JSON of this cell: unexpected text \"is\"\n    expected: \",\" or \"}\"\n"
     "    is a comma missing before it?\n"},
    {"key twice", "id,at,json\nmode,0,\"{\"\"at\"\": 3}\"\n", for_release,
     "t.csv:2:8: key \"at\" stands in \"json\" and in a column of its own\n    expected: one of them\n"},
    {"unknown entry", "entry,id,at\nparametre,gain,0\n", for_release,
     "t.csv:2:1: \"entry\" is \"parametre\"\n"
     "    expected: \"release\", \"choices\", \"group\" or \"parameter\"\n    did you mean \"parameter\"?\n"},
    {"whose release",
     "id,at\ngain,0\n",
     {"--device", "wren"},
     "t.csv:1:1: the table does not say of which release it is\n"
     "    expected: --release NAME, or a row with \"release\" in \"entry\" and \"release\" in \"id\"\n"},
    {"what only the device knows: a place", "id,at,note\ngain,0,\nmode,7,\n", for_release,
     "t.csv:3:6: \"mode\" stands at byte 7 in release \"1.0\"\n    at /parameters/mode/at\n"
     "    expected: a byte from 0 to 1, inside the body\n"},
    {"what only the device knows: inside JSON",
     "id,at,when\ngain,0,\nmode,1,\"{\"\"parameter\"\": \"\"gian\"\", \"\"is\"\": 3}\"\n", for_release,
     "t.csv:3:25: release \"1.0\" has no parameter \"gian\"\n    at /parameters/mode/when/parameter\n"
     "    expected: the id of a parameter\n    did you mean \"gain\"?\n"},
    {"what only the device knows: a label", "id,at,choices,default\nmode,1,Room;Hall,Hal\n", for_release,
     "t.csv:2:18: \"default\" is text \"Hal\"\n    at /parameters/mode/default\n    expected: \"Room\" or \"Hall\"\n"
     "    did you mean \"Hall\"?\n"},
};

}  // namespace

TEST_CASE("schema import: every mistake has a place, what was expected and what to do", "[cli][table]") {
    const SmallRig rig;
    const std::string out = "schemas/wren/1.0.json", before = rig.read(out);
    // 1.1 must not be in the way: it extends 1.0.
    std::filesystem::remove(rig.path("schemas/wren/1.1.json"));
    for (const Mistake& mistake : mistakes) {
        INFO(mistake.name);
        rig.write("t.csv", mistake.table);
        const Ran ran = rig.run(Words{"schema", "import", "t.csv", "--out", out, "--force"} + mistake.options);
        CHECK(ran.status == 2);
        CHECK(ran.output == "");
        CHECK(ran.errors == mistake.told);
        CHECK(rig.read(out) == before);
    }
}

TEST_CASE("schema import and export: help", "[cli][table]") {
    const SmallRig rig;
    for (const std::string word : {"import", "export"}) {
        const Ran ran = rig.run({"schema", word, "--help"});
        CHECK(ran.status == 0);
        check_golden(ran.output, "cli/golden/help-schema-" + word + ".txt");
    }
    CHECK_THAT(rig.run({"schema", "inport", "x"}).errors, ContainsSubstring("did you mean \"schema import\"?"));
}

TEST_CASE("schema import: all mistakes of a table at once", "[cli][table]") {
    const SmallRig rig;
    rig.write("t.csv", "id,at,minimum,maximum\ngain,x,1,2\ntone,1,9,3\n,2,,\n");
    const Ran ran = rig.run(Words{"schema", "import", "t.csv", "--out", "r.json"} + for_release);
    CHECK(ran.status == 2);
    for (const char* place : {"t.csv:2:6: ", "t.csv:3:8: ", "t.csv:4:1: "})
        CHECK_THAT(ran.errors, ContainsSubstring(place));
    CHECK_FALSE(std::filesystem::exists(rig.path("r.json")));
}

TEST_CASE("schema import: calls that make no sense", "[cli][table]") {
    const SmallRig rig;
    rig.write("t.csv", "id,at\ngain,0\n");
    const Words call{"schema", "import", "t.csv"};
    const auto errors = [&](const Words& more) {
        const Ran ran = rig.run(call + more);
        CHECK(ran.status == 2);
        return ran.errors;
    };
    CHECK(errors({}) == "no file to write is named\n    downfit schema import TABLE.csv --out RELEASE.json\n");
    CHECK(errors({"--out", "t.csv"}) == "t.csv: is one of the files that are read; Downfit never changes those\n");
    CHECK(errors({"--out", "r.json", "--separator", "semicolons"}) ==
          "--separator cannot be \"semicolons\"\n    expected: one of comma, semicolon, tab\n"
          "    did you mean \"semicolon\"?\n");
    CHECK(errors({"--out", "r.json", "--column", "name"}) ==
          "--column cannot be \"name\"\n    expected: OURS=THEIRS, as name=\"Parameter\"\n");
    CHECK(errors(Words{"--out", "r.json", "--column", "nmae=id"} + for_release).find("did you mean \"name\"?") !=
          std::string::npos);
    CHECK(errors(Words{"--out", "no/r.json"} + for_release) ==
          "no: there is no such folder\n    expected: a folder for the release file\n    make it first\n");
    CHECK(errors(Words{"--out", "schemas/wren/1.0.json"} + for_release) ==
          "schemas/wren/1.0.json: is there already\n    --force replaces it\n");
    CHECK(rig.run({"schema", "import", "--out", "r.json"}).errors ==
          "name one table\n    downfit schema import TABLE.csv --out RELEASE.json\n");
    CHECK(rig.run({"schema", "import", "none.csv", "--out", "r.json"}).status == 2);
}

TEST_CASE("schema import: a table out of a manual", "[cli][table]") {
    const SmallRig rig;
    rig.write("manual.csv",
              "Parameter;Address;Min;Max;Default;Unit;Options;Sent;Shown;Remarks\r\n"
              "Output Volume;00h;-80;20,0;0;dB;;\"0; 100\";-80|20;\"all of it,\r\nafter the cabinet\"\r\n"
              ";;;;;;;;;\r\n"
              "Mode;0x01;;;Hall;;0: Room, 1: Hall, 5: Plate;;;\r\n");
    const Words call{"schema",   "import",   "manual.csv",     "--out", "new.json", "--schemas", "schemas",
                     "--device", "wren",     "--release",      "1.0",   "--stamp",  "1",         "--decimal",
                     "comma",    "--column", "choices=Options"};
    const Words rest{"--column", "note=Remarks",      "--column", "scale-stored=Sent",
                     "--column", "scale-value=Shown", "--source", "manual, page 12"};
    rig.write("manual.csv", rig.read("manual.csv"));
    std::filesystem::remove(rig.path("schemas/wren/1.0.json"));
    std::filesystem::remove(rig.path("schemas/wren/1.1.json"));
    const Ran ran = rig.run(call + rest);
    CHECK(ran.errors == "");
    CHECK(ran.status == 0);
    check_golden(ran.output + rig.read("new.json"), "cli/golden/schema-import.txt");
    CHECK(rig.run(call + rest).errors == "new.json: is there already\n    --force replaces it\n");
    CHECK(rig.run(call + rest + Words{"--force"}).output == ran.output);
}

TEST_CASE("schema import: parameters of a JSON dump, by their paths", "[cli][table]") {
    const SmallRig rig;
    rig.write("schemas/whinchat/device.json",
              R"({ "format": "downfit device 1", "device": "whinchat", "releases": ["1.0"],
                   "layouts": { "export": { "as": "json", "presets": "/sounds/*", "stamp": "/firmware" } } })");
    rig.write("paths.csv",
              "Parameter,Path,Min,Max,Choices,As\nOutput Volume,/volume,-80,20,,\nMode,/mode,,,Room; "
              "Hall,text\nLost,volume,,,,\n");
    const Words call{"schema",    "import", "paths.csv", "--out", "schemas/whinchat/1.0.json",
                     "--release", "1.0",    "--stamp",   "1"};
    CHECK(rig.run(call).errors ==
          "paths.csv:4:6: \"path\" is no place in any layout, whose dumps are JSON\n    at /parameters/lost/path\n"
          "    expected: \"path\": a JSON Pointer, such as \"/volume\"\n");
    rig.write("paths.csv",
              "Parameter,Path,Min,Max,Choices,As\nOutput Volume,/volume,-80,20,,\nMode,/mode,,,Room; Hall,text\n");
    const Ran ran = rig.run(call);
    CHECK(ran.errors == "");
    CHECK(
        nlohmann::json::parse(rig.read("schemas/whinchat/1.0.json")).at("parameters") ==
        nlohmann::json::parse(R"({ "output-volume": { "title": "Output Volume", "path": "/volume", "range": [-80, 20] },
              "mode": { "title": "Mode", "path": "/mode", "choices": ["Room", "Hall"], "as": "text" } })"));
}

TEST_CASE("schema export: releases by file or by name, and back", "[cli][table]") {
    const SmallRig rig;
    const Ran both = rig.run({"schema", "export", "schemas/wren/1.0.json", "1.1", "--out", "both.csv"});
    CHECK(both.status == 0);
    CHECK(both.output == "both.csv: 2 releases\n");
    check_golden(rig.read("both.csv"), "cli/golden/schema-export.csv");
    CHECK(rig.run({"schema", "export", "1.1", "--out", "both.csv"}).errors ==
          "both.csv: is there already\n    --force replaces it\n");
    for (const std::string release : {"1.0", "1.1"}) {
        const std::string file = "schemas/wren/" + release + ".json";
        const auto before = nlohmann::json::parse(rig.read(file));
        const Ran back = rig.run({"schema", "import", "both.csv", "--release", release, "--out", file, "--force"});
        CHECK(back.errors == "");
        CHECK_THAT(back.output, ContainsSubstring("It loads with the 2 files in schemas/wren.\n"));
        CHECK(nlohmann::json::parse(rig.read(file)) == before);
    }
    CHECK(rig.run({"schema", "export", "1.2", "--out", "x.csv"}).errors ==
          "schemas: there is neither a file nor a release \"1.2\"\n    did you mean \"1.0\"?\n");
    CHECK_THAT(rig.run({"schema", "export", "schemas/wren/device.json", "--out", "x.csv"}).errors,
               ContainsSubstring("schemas/wren/device.json:2:13: this is no release file"));
    rig.write("noted.json", "// first\n" + rig.read("schemas/wren/1.0.json"));
    CHECK(
        rig.run({"schema", "export", "noted.json", "--out", "noted.csv", "--separator", "semicolon", "--bom"}).output ==
        "noted.csv: 1 release\nComments stay behind: a table has no place for them.\n");
    CHECK(rig.read("noted.csv")
              .starts_with("\xEF\xBB\xBF"
                           "entry;id;"));
    CHECK(rig.run({"schema", "export", "--out", "x.csv"}).status == 2);
}

}  // namespace downfit::testing
