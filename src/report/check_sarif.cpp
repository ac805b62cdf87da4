#include "report/check_sarif.h"

#include <algorithm>
#include <map>
#include <tuple>
#include <vector>

#include "base/digest.h"
#include "base/text.h"
#include "files/input.h"
#include "report/closing.h"
#include "report/json.h"
#include "report/problems.h"
#include "report/sarif_rules.h"
#include "report/standing.h"
#include "report/words.h"
#include "schema/ids.h"

namespace downfit::report {

namespace {

using compat::Finding;
using compat::TargetCheck;

constexpr std::string_view sarif_schema =
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";

/// One preset on one release.
struct Case {
    const PresetReport& preset;
    const TargetCheck& target;
    bool name_is_unique = true;
};

Json message(const std::string& text) {
    return Json{{"text", sarif_text(text)}};
}

Json artifact_location(const std::string& path) {
    return Json{{"uri", file_uri(path)}};
}

std::string parameter_id(const std::string& instance) {
    const auto steps = schema::parse_id(instance, true);
    return steps ? schema::plain_id(*steps) : instance;
}

class SarifWriter {
public:
    SarifWriter(const CheckReport& report, std::size_t most) : report_(report), most_(most) {}

    Json log() {
        Json results = all_results();
        Json run;
        run["tool"]["driver"] = Json{{"name", "downfit"}, {"version", report_.version}, {"rules", sarif_rules()}};
        run["automationDetails"] = Json{{"id", "downfit/" + report_.device->name + '/'}};
        run["invocations"] = Json::array(
            {Json{{"executionSuccessful", !report_.presets.empty()}, {"toolExecutionNotifications", notes()}}});
        run["artifacts"] = artifacts();
        run["columnKind"] = "utf16CodeUnits";
        run["properties"] = properties();
        run["results"] = std::move(results);
        Json json;
        json["$schema"] = sarif_schema;
        json["version"] = "2.1.0";
        json["runs"] = Json::array({std::move(run)});
        return json;
    }

private:
    /// Worst presets first, in each what is told first: what goes beyond the limit is what matters least.
    Json all_results() {
        std::map<std::pair<std::size_t, std::string>, int> names;
        for (const PresetReport& preset : report_.presets) ++names[{preset.file, preset.check.name}];
        std::vector<std::pair<int, Json>> ranked;
        for (const std::size_t index : preset_order(report_)) {
            const PresetReport& preset = report_.presets[index];
            const bool unique = names[{preset.file, preset.check.name}] == 1;
            for (const TargetCheck& target : preset.check.targets) add_case({preset, target, unique}, ranked);
        }
        std::stable_sort(ranked.begin(), ranked.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
        left_out_ = ranked.size() > most_ ? ranked.size() - most_ : 0;
        Json results = Json::array();
        for (std::size_t i = 0; i < std::min(ranked.size(), most_); ++i) results.push_back(std::move(ranked[i].second));
        return results;
    }

    void add_case(const Case& one, std::vector<std::pair<int, Json>>& ranked) const {
        const Standing standing = standing_of(one.preset.check, one.target);
        if (standing == Standing::refused || standing == Standing::undecided || standing == Standing::damaged)
            ranked.emplace_back(0, preset_result(one, standing));
        for (const compat::Caution& caution : one.target.cautions) ranked.emplace_back(0, caution_result(one, caution));
        for (const std::size_t index : finding_order(one.target)) {
            const Finding& finding = one.target.findings[index];
            if (finding.weight == compat::Weight::none) continue;
            ranked.emplace_back(3 - static_cast<int>(finding.weight), finding_result(one, finding));
        }
    }

    Json start(std::string_view rule, std::string_view level, const std::string& text) const {
        Json json;
        json["ruleId"] = rule;
        json["ruleIndex"] = sarif_rule(rule);
        json["kind"] = "fail";
        json["level"] = level;
        json["message"] = message(text);
        return json;
    }

    std::string where(const Case& one) const {
        return slot_words(one.preset) + ' ' + quoted_name(one.preset.check.name) + " on " +
               report_.release(one.target.release).name + ": ";
    }

    Json location(const Case& one, const std::optional<std::size_t>& offset, std::size_t length,
                  const std::string& inside) const {
        Json physical;
        physical["artifactLocation"] = artifact_location(report_.files[one.preset.file].file);
        physical["artifactLocation"]["index"] = one.preset.file;
        if (offset) physical["region"] = Json{{"byteOffset", *offset}, {"byteLength", length}};
        Json logical;
        logical["fullyQualifiedName"] = slot_label(one.preset) + (inside.empty() ? "" : '/' + inside);
        logical["kind"] = inside.empty() ? "preset" : "parameter";
        return Json{{"physicalLocation", std::move(physical)}, {"logicalLocations", Json::array({std::move(logical)})}};
    }

    Json properties_of(const Case& one) const {
        const compat::PresetCheck& check = one.preset.check;
        Json json;
        json["slot"] = check.slot >= 0 ? Json(check.slot) : Json();
        json["entry"] = check.entry + 1;
        json["name"] = check.name;
        json["saved-on"] = one.target.saved_on ? Json(report_.release(*one.target.saved_on).name) : Json();
        json["release"] = report_.release(one.target.release).name;
        json["verdict"] = compat::verdict_name(one.target.verdict);
        return json;
    }

    /// The parameter in the schema that explains it: of the release that loads, else of the one that saved.
    Json related(const Case& one, const std::string& here, const std::string& there, bool exists_there) const {
        const auto find = [&](std::optional<std::size_t> release, const std::string& instance) -> Json {
            if (!release || !report_.release(*release).schema) return nullptr;
            const schema::Parameter* parameter = report_.release(*release).schema->find(parameter_id(instance));
            if (parameter == nullptr || parameter->place.file.empty()) return nullptr;
            Json physical;
            physical["artifactLocation"] = artifact_location(parameter->place.file);
            physical["region"] = Json{{"startLine", std::max<std::size_t>(parameter->place.line, 1)}};
            return Json{{"id", 1},
                        {"physicalLocation", std::move(physical)},
                        {"message", message(parameter->id + " as " + report_.release(*release).name + " has it")}};
        };
        Json place = exists_there ? find(one.target.release, there.empty() ? here : there) : Json();
        return place.is_null() ? find(one.target.saved_on, here) : place;
    }

    Json finding_result(const Case& one, const Finding& finding) const {
        const compat::OutcomeRow& row = compat::row_of(finding.outcome);
        Json json = start(row.name, sarif_level(finding.weight),
                          where(one) + finding.parameter + ' ' + fate(finding) + '.' +
                              (row.silent ? " Silent: the unit shows nothing wrong." : ""));
        const auto offset = finding.saved_offset ? finding.saved_offset : finding.loaded_offset;
        json["locations"] = Json::array({location(one, offset, 1, finding.parameter)});
        Json place = related(one, finding.parameter, finding.parameter_there, finding.loaded.has_value());
        if (!place.is_null()) json["relatedLocations"] = Json::array({std::move(place)});
        json["partialFingerprints"] = Json{{"downfitFinding/v1", finding.fingerprint}};
        Json properties = properties_of(one);
        properties["parameter"] = finding.parameter;
        properties["weight"] = compat::weight_name(finding.weight);
        properties["best"] = compat::weight_name(finding.best);
        properties["activity"] = compat::activity_name(finding.activity);
        properties["silent"] = row.silent;
        properties["offset"] = finding.saved_offset ? Json(*finding.saved_offset) : Json();
        properties["rule"] = finding.rule;
        properties["brought-by"] = finding.brought_by.empty() ? Json() : Json(finding.brought_by);
        json["properties"] = std::move(properties);
        return json;
    }

    Json preset_result(const Case& one, Standing standing) const {
        const std::string_view word = standing_word(standing);
        const std::string reason = main_reason(one.preset, one.target);
        Json json = start(word, standing == Standing::undecided ? "warning" : "error",
                          where(one) + (reason.empty() ? std::string(word) : reason) + '.');
        const auto* place =
            one.preset.damage.empty() ? nullptr : std::get_if<BytePlace>(&one.preset.damage.front().place);
        const std::optional<std::size_t> offset = place == nullptr ? std::nullopt : std::optional(place->offset);
        json["locations"] = Json::array({location(one, offset, place == nullptr ? 0 : place->length, {})});
        json["partialFingerprints"] = Json{{"downfitPreset/v1", fingerprint(one, word)}};
        json["properties"] = properties_of(one);
        if (one.target.best != one.target.worst) {
            json["properties"]["best-verdict"] = compat::verdict_name(one.target.best);
            json["properties"]["worst-verdict"] = compat::verdict_name(one.target.worst);
        }
        return json;
    }

    Json caution_result(const Case& one, const compat::Caution& caution) const {
        const std::string_view id = compat::caution_key(caution.kind);
        const bool known = caution.kind != compat::CautionKind::level_unknown;
        Json json = start(id, known ? "error" : "warning",
                          where(one) + caution.parameter + ", " + caution_words(caution) + ". Monitors down.");
        json["locations"] = Json::array({location(one, std::nullopt, 0, caution.parameter)});
        json["partialFingerprints"] =
            Json{{"downfitPreset/v1", fingerprint(one, std::string(id) + '\0' + caution.parameter)}};
        json["properties"] = properties_of(one);
        return json;
    }

    /// Made as those of findings are: from device, file and name, the slot only where the name does not tell.
    std::string fingerprint(const Case& one, std::string_view what) const {
        std::string text;
        const auto add = [&](std::string_view part) {
            text += part;
            text += '\0';
        };
        add(report_.device->name);
        add(files::last_part(report_.files[one.preset.file].file));
        add(one.preset.check.name);
        if (!one.name_is_unique) add(slot_label(one.preset));
        add(what);
        add(one.target.saved_on ? report_.release(*one.target.saved_on).name : std::string());
        add(report_.release(one.target.release).name);
        return sha256_hex(ByteView(reinterpret_cast<const std::uint8_t*>(text.data()), text.size())).substr(0, 16);
    }

    Json note(std::string_view level, const std::string& text) const {
        return Json{{"level", level}, {"message", message(text)}};
    }

    Json notes() const {
        Json list = Json::array();
        if (report_.presets.empty()) list.push_back(note("error", "No preset was checked."));
        if (left_out_ > 0) {
            list.push_back(note("warning", counted(left_out_, "result is", "results are") +
                                               " left out: a run holds at most " + std::to_string(most_) +
                                               ". They weigh least; --format json has all."));
        }
        for (std::size_t i = 0; i < report_.files.size(); ++i) {
            for (const Problem& problem : report_.files[i].problems) {
                Json json = note(report_.files[i].damage.empty() ? "warning" : "error", problem_line(problem));
                Json physical{{"artifactLocation", artifact_location(report_.files[i].file)}};
                if (const auto* place = std::get_if<BytePlace>(&problem.place))
                    physical["region"] = Json{{"byteOffset", place->offset}, {"byteLength", place->length}};
                json["locations"] = Json::array({Json{{"physicalLocation", std::move(physical)}}});
                list.push_back(std::move(json));
            }
        }
        for (const UnsettledRule& rule : unsettled_rules(report_)) {
            list.push_back(note("note", "No schema file states the loading rule " +
                                            std::string(schema::row_of(rule.rule).name) + "; stating it might settle " +
                                            presets(rule.presets) + '.'));
        }
        list.push_back(note("note", std::string(promise())));
        return list;
    }

    Json artifacts() const {
        Json list = Json::array();
        const auto add = [&](const std::string& path, const std::string& digest, std::string_view role) {
            list.push_back(Json{{"location", artifact_location(path)},
                                {"roles", Json::array({role})},
                                {"hashes", Json{{"sha-256", digest}}}});
        };
        for (const InputFile& file : report_.files) add(file.file, file.digest, "analysisTarget");
        add(report_.device->file, report_.device->digest, "userSpecifiedConfiguration");
        for (const schema::ReleaseEntry& release : report_.device->releases) {
            if (release.schema) add(release.schema->file, release.schema->digest, "userSpecifiedConfiguration");
        }
        return list;
    }

    /// How many presets stand how, and how often each outcome came: of all, whatever the limit left out.
    Json properties() const {
        Json targets = Json::array();
        for (std::size_t i = 0; i < report_.targets.size(); ++i) {
            std::map<compat::Verdict, std::size_t> verdicts;
            std::vector<std::size_t> outcomes(compat::outcome_count);
            for (const PresetReport& preset : report_.presets) {
                ++verdicts[preset.check.targets[i].verdict];
                for (const Finding& finding : preset.check.targets[i].findings)
                    ++outcomes[static_cast<std::size_t>(finding.outcome)];
            }
            Json json{{"release", report_.release(report_.targets[i]).name}};
            for (const auto verdict : {compat::Verdict::intact, compat::Verdict::near, compat::Verdict::altered,
                                       compat::Verdict::refused, compat::Verdict::undecided})
                json["verdicts"][compat::verdict_name(verdict)] = verdicts[verdict];
            json["outcomes"] = Json::object();
            for (const compat::OutcomeRow& row : compat::outcome_table()) {
                const std::size_t count = outcomes[static_cast<std::size_t>(row.outcome)];
                if (count > 0) json["outcomes"][std::string(row.name)] = count;
            }
            targets.push_back(std::move(json));
        }
        return Json{{"device", report_.device->name}, {"results-left-out", left_out_}, {"targets", std::move(targets)}};
    }

    const CheckReport& report_;
    std::size_t most_, left_out_ = 0;
};

}  // namespace

std::string file_uri(const std::string& path) {
    constexpr std::string_view plain = "-._~/!$&'()*+,;=@";
    std::string uri;
    for (const char c : path) {
        const bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
        if (letter || plain.find(c) != std::string_view::npos)
            uri += c;
        else
            uri += '%' + hex_text(static_cast<unsigned char>(c), 2);
    }
    return path.starts_with('/') ? "file://" + uri : uri;
}

std::string check_sarif(const CheckReport& report, std::size_t most) {
    return json_text(SarifWriter(report, most).log());
}

}  // namespace downfit::report
