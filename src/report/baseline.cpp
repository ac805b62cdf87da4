#include "report/baseline.h"

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>
#include <optional>

#include "base/digest.h"
#include "files/input.h"
#include "report/check_json.h"
#include "report/check_report.h"

namespace downfit::report {

namespace {

using Read = nlohmann::json;
using compat::CautionKind;
using compat::Verdict;

constexpr std::string_view made_by = "a report written by downfit check --format json";

Problem no_report(const std::string& file, std::string what) {
    return {file, std::move(what), std::string(made_by), {}};
}

Problem syntax_problem(const std::string& file, const std::string& text, std::size_t byte) {
    const std::size_t at = std::min(byte > 0 ? byte - 1 : 0, text.size());
    const auto line = static_cast<std::size_t>(std::count(text.begin(), text.begin() + static_cast<long>(at), '\n'));
    const std::size_t start = at == 0 ? std::string::npos : text.rfind('\n', at - 1);
    const std::size_t column = start == std::string::npos ? at + 1 : at - start;
    return {TextPlace{file, line + 1, column, {}}, "this is no JSON from here on", std::string(made_by), {}};
}

compat::Weight weight_of(const Read& json) {
    const auto weight = compat::find_weight(json.get_ref<const std::string&>());
    if (!weight) throw std::invalid_argument("no weight");
    return *weight;
}

Verdict verdict_of(const Read& json) {
    for (std::size_t i = 0; i < compat::verdict_count; ++i) {
        const auto verdict = static_cast<Verdict>(i);
        if (json.get_ref<const std::string&>() == compat::verdict_name(verdict)) return verdict;
    }
    throw std::invalid_argument("no verdict");
}

CautionKind caution_of(const Read& json) {
    for (const CautionKind kind : {CautionKind::louder, CautionKind::feedback, CautionKind::level_unknown}) {
        if (json.get_ref<const std::string&>() == compat::caution_key(kind)) return kind;
    }
    throw std::invalid_argument("no caution");
}

void add_target(const Read& json, compat::Baseline& known) {
    compat::TargetCheck check;
    check.fingerprint = json.at("fingerprint");
    for (const Read& one : json.at("cautions"))
        check.cautions.push_back({caution_of(one.at("kind")), one.at("parameter"), 0});
    for (const Read& one : json.at("findings")) {
        compat::Finding finding;
        finding.parameter = one.at("parameter");
        if (one.at("parameter-there").is_string()) finding.parameter_there = one.at("parameter-there");
        finding.weight = weight_of(one.at("weight"));
        finding.fingerprint = one.at("fingerprint");
        check.findings.push_back(std::move(finding));
    }
    known.add(check, verdict_of(json.at("verdict-left")), weight_of(json.at("weight-left")));
}

BaselineFile read_report(const Read& json) {
    BaselineFile read;
    read.device = json.at("device").at("device");
    read.version = json.at("program").at("version");
    if (json.at("policy").is_object()) read.policy = json.at("policy").at("sha-256");
    for (const Read& file : json.at("files"))
        read.dumps[files::last_part(file.at("file").get<std::string>())] = file.at("sha-256");
    for (const Read& file : json.at("schemas"))
        read.releases[file.value("release", std::string())] = file.at("sha-256");
    for (const Read& preset : json.at("presets")) {
        for (const Read& target : preset.at("targets")) add_target(target, read.known);
    }
    return read;
}

std::string schema_words(const std::string& release) {
    return release.empty() ? "the device file" : "release " + release;
}

}  // namespace

Result<BaselineFile> read_baseline(const std::string& file, const std::string& text) {
    try {
        const Read json = Read::parse(text);
        const Read format = json.is_object() ? json.value("format", Read()) : Read();
        if (!format.is_string()) return no_report(file, "the file is no report");
        if (format.get<std::string>() != check_format)
            return no_report(
                file, "its format is \"" + format.get<std::string>() + "\", not \"" + std::string(check_format) + '"');
        BaselineFile read = read_report(json);
        read.file = file;
        read.digest = sha256_hex(ByteView(reinterpret_cast<const std::uint8_t*>(text.data()), text.size()));
        return read;
    } catch (const Read::parse_error& error) {
        return syntax_problem(file, text, error.byte);
    } catch (const std::exception&) {
        return no_report(file, "the report is not whole, or from a version before baselines");
    }
}

Changed changed_since(const CheckReport& report) {
    const BaselineFile& then = *report.baseline;
    Changed changed;
    for (const InputFile& file : report.files) {
        const auto known = then.dumps.find(files::last_part(file.file));
        if (known == then.dumps.end() || known->second != file.digest) changed.dumps.push_back(file.file);
    }
    std::map<std::string, std::string> now{{std::string(), report.device->digest}};
    for (const schema::ReleaseEntry& release : report.device->releases) {
        if (release.schema) now[release.name] = release.schema->digest;
    }
    for (const auto& [release, digest] : now) {
        const auto known = then.releases.find(release);
        if (known == then.releases.end() || known->second != digest) changed.schemas.push_back(schema_words(release));
    }
    for (const auto& [release, digest] : then.releases) {
        if (!now.contains(release)) changed.schemas.push_back(schema_words(release));
    }
    changed.policy = then.policy != report.policy.policy.digest;
    changed.program = then.version != report.version;
    return changed;
}

}  // namespace downfit::report
