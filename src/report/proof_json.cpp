#include "report/json.h"
#include "report/proof_report.h"

namespace downfit::report {

namespace {

Json error_json(const Problem& error) {
    Json json = problem_json(error);
    json["why"] = schema::why_of_error(error);
    return json;
}

Json unexplained_json(const ProofReport& report, const std::string& release) {
    for (const Unexplained& one : report.unexplained) {
        if (one.release == release)
            return Json{{"bytes", one.bytes}, {"varying", one.varying}, {"presets", one.presets}};
    }
    return nullptr;
}

Json flaw_json(const ProofReport& report, const ProofedDevice& device, const schema::Flaw& flaw) {
    const schema::FaultRow& row = schema::row_of(flaw.fault);
    Json json;
    json["fault"] = row.name;
    json["note"] = row.note;
    json.update(problem_json(flaw.problem));
    json["why"] = row.why;
    json["release"] = flaw.release.empty() ? Json() : Json(flaw.release);
    json["about"] = flaw.about;
    json["true-to-device"] = flaw.marked ? Json(*flaw.marked) : Json();
    if (flaw.rule) {
        json["rule"] = schema::row_of(*flaw.rule).name;
        json["releases"] = flaw.unsettled;
        const auto at = report.unsure.find(*flaw.rule);
        json["presets-unsure"] = device.looked_at ? Json(at == report.unsure.end() ? 0 : at->second) : Json();
    }
    if (flaw.fault == schema::Fault::gap)
        json["unexplained"] = device.looked_at && flaw.of_presets ? unexplained_json(report, flaw.release) : Json();
    return json;
}

Json device_proof_json(const ProofReport& report, const ProofedDevice& device) {
    Json json;
    json["folder"] = device.folder;
    json["files"] = Json::array();
    for (const ProofFile& file : device.files) json["files"].push_back({{"file", file.file}, {"sha-256", file.digest}});
    json["releases-proofed"] = device.proof.proofed;
    json["releases-left-out"] = device.proof.left_out;
    json["errors"] = Json::array();
    for (const Problem& error : device.proof.errors) {
        if (is_told(device, error.place)) json["errors"].push_back(error_json(error));
    }
    json["flaws"] = Json::array();
    for (const schema::Flaw& flaw : device.proof.flaws) {
        if (is_told(device, flaw.problem.place)) json["flaws"].push_back(flaw_json(report, device, flaw));
    }
    return json;
}

}  // namespace

std::string proof_json(const ProofReport& report) {
    Json json;
    json["format"] = "downfit schema proof 1";
    json["program"] = {{"name", "downfit"}, {"version", report.version}};
    json["summary"] = {{"errors", report.errors()}, {"problems", report.problems()}};
    json["dumps"] = report.dumps;
    json["presets"] = report.dumps.empty() ? Json() : Json(report.presets);
    json["devices"] = Json::array();
    for (const ProofedDevice& device : report.devices) json["devices"].push_back(device_proof_json(report, device));
    return json_text(json);
}

}  // namespace downfit::report
