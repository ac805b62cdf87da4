// The JSON reports in a folder (NAME.report.json) against the schemas in schemas/format/, and the SARIF logs (NAME.sarif) against
// the schema in npm's @microsoft/jest-sarif, by ajv 8.
//
// ajv_test.js PROJECT NPM_FOLDER REPORT_FOLDER prints what is wrong and exits with 1 if anything is.
"use strict";
const fs = require("fs");
const path = require("path");

const [project, npm, reports] = process.argv.slice(2);
const Ajv = require(path.join(npm, "node_modules", "ajv", "dist", "2020")).default;

const kinds = {
    "downfit check 1": "report",
    "downfit rig-report 1": "rig-report",
    "downfit changes 1": "changes",
    "downfit schema proof 1": "schema-proof",
    "downfit contents 1": "contents",
    "downfit schema coverage 1": "schema-coverage",
    "downfit schema moved 1": "schema-moved",
    "downfit compare 1": "compare",
    "downfit refit 1": "refit",
};
const ajv = new Ajv({ allErrors: false, allowUnionTypes: true });
const judges = {};
// All of them first: that of `refit` refers to that of `check`.
for (const kind of Object.values(kinds)) {
    ajv.addSchema(JSON.parse(fs.readFileSync(path.join(project, "schemas", "format", `${kind}.schema.json`), "utf8")));
}
for (const [format, kind] of Object.entries(kinds)) judges[format] = ajv.getSchema(`${kind}.schema.json`);

const problems = [];
const seen = new Set();
const files = fs.readdirSync(reports).filter((name) => name.endsWith(".report.json")).sort();
for (const file of files) {
    const report = JSON.parse(fs.readFileSync(path.join(reports, file), "utf8"));
    const judge = judges[report.format];
    if (!judge) problems.push(`${file}: no schema for format ${report.format}`);
    else if (!judge(report)) problems.push(`${file}: ${ajv.errorsText(judge.errors)}`);
    seen.add(report.format);
    if (judge && judge({ ...report, surprise: 1 })) problems.push(`${file}: a key too many is let through`);
}

// That schema is of draft 4, in what ajv reads otherwise: "id" for "$id", and a pattern that is none under the u flag.
const text = fs.readFileSync(path.join(npm, "node_modules", "@microsoft", "jest-sarif", "lib", "schemas", "sarif-2.1.0-rtm.5.json"), "utf8");
const { $schema: draft, id, ...sarifSchema } = JSON.parse(text);
if (!draft.includes("draft-04")) problems.push(`the schema of SARIF is of ${draft}`);
const Ajv7 = require(path.join(npm, "node_modules", "ajv")).default;
const sarif = new Ajv7({ strict: false, unicodeRegExp: false, validateFormats: false }).compile({ $id: id, ...sarifSchema });
const logs = fs.readdirSync(reports).filter((name) => name.endsWith(".sarif")).sort();
let results = 0;
for (const file of logs) {
    const log = JSON.parse(fs.readFileSync(path.join(reports, file), "utf8"));
    if (!sarif(log)) problems.push(`${file}: ${ajv.errorsText(sarif.errors)}`);
    results += log.runs[0].results.length;
    log.runs[0].results.push({ message: {} });
    if (sarif(log)) problems.push(`${file}: a result without a message is let through`);
}
if (logs.length < 8 || results < 800) problems.push(`only ${logs.length} logs with ${results} results`);

for (const format of Object.keys(kinds)) if (!seen.has(format)) problems.push(`no report of format ${format}`);
console.log(problems.join("\n") || `ajv: ${files.length} reports of ${seen.size} formats and ${logs.length} SARIF logs are as their schemas say`);
process.exit(problems.length > 0 ? 1 : 0);
