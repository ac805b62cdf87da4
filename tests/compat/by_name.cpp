#include "compat/by_name.h"

#include <stdexcept>

#include "compat/case_file.h"
#include "compat/check.h"
#include "dump/dump.h"
#include "schema/load.h"

namespace downfit::testing {

namespace {

std::string told(const Problems& problems) {
    std::string text;
    for (const Problem& problem : problems) {
        if (const auto* place = std::get_if<TextPlace>(&problem.place)) {
            text += std::to_string(place->line) + ":" + std::to_string(place->column) + " ";
        }
        text += problem.what + (problem.expected.empty() ? "" : " | " + problem.expected) + "\n";
    }
    return text;
}

}  // namespace

schema::Device redstart(std::string_view form, std::string_view rules, std::string_view older, std::string_view newer) {
    const bool json = form == "json";
    const std::string layout = json ? R"("presets": "/presets/*", "stamp": "/release", "slot": {"by": "order"})"
                                    : R"("presets": "bank/preset", "stamp": "@release", "slot": {"by": "order"})";
    const auto release = [](std::string_view name, std::string_view parameters) {
        return R"({"format": "downfit release 1", "device": "redstart", "release": ")" + std::string(name) +
               R"(", "stamp": ")" + std::string(name) + "\",\n" + std::string(parameters) + "}";
    };
    const auto loaded = schema::load_device(
        {{"device.json",
          R"({"format": "downfit device 1", "device": "redstart", "releases": ["1.0", "2.0"], "layouts": {"file": {"as": ")" +
              std::string(form) + "\", " + layout + R"(}}, "rules": {)" + std::string(rules) + "}}"},
         {"1.0.json", release("1.0", older)},
         {"2.0.json", release("2.0", newer)}});
    if (!loaded) throw std::runtime_error(told(loaded.problems()));
    return loaded.value();
}

std::string redstart_file(std::string_view form, std::string_view release, std::string_view content) {
    if (form == "json") {
        return R"({"presets": [{"release": ")" + std::string(release) + "\", " + std::string(content) + "}]}";
    }
    return R"(<bank><preset release=")" + std::string(release) + "\">" + std::string(content) + "</preset></bank>";
}

std::string redstart_check(const schema::Device& device, const std::string& file, std::string_view release) {
    const Bytes bytes(file.begin(), file.end());
    const auto dump = dump::read("a.file", bytes, device);
    if (!dump) return told(dump.problems());
    compat::CheckOptions options;
    options.targets = {device.find_release(release).value()};
    compat::Checker checker(device, options);
    std::string text;
    for (const compat::PresetCheck& preset : compat::check_dump(checker, dump.value(), bytes).presets) {
        for (const compat::TargetCheck& target : preset.targets) text += compact_text(target);
    }
    return text;
}

}  // namespace downfit::testing
