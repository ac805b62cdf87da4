// The corpus of tests/formats/ by an independent validator, ajv (Debian's node-ajv): it must agree with Downfit as far
// as a JSON Schema reaches.
//
// NODE_PATH=/usr/share/nodejs node ajv_test.js [PROJECT] prints what is wrong and exits with 1 if anything is. (Debian
// keeps modules where only its own node looks by itself.)
"use strict";
const fs = require("fs");
const path = require("path");
const Ajv = require("ajv");

const project = process.argv[2] || path.resolve(__dirname, "..", "..");

function withoutComments(text) {
    const token = /"(?:\\[^]|[^"\\])*"|\/\/[^\n]*|\/\*[^]*?\*\//g;
    return text.replace(token, (found) => (found.startsWith('"') ? found : " "));
}

function read(file) {
    return JSON.parse(withoutComments(fs.readFileSync(file, "utf8").replace(/^\uFEFF/, "")));
}

function jsonFiles(folder) {
    return fs.readdirSync(folder).filter((name) => name.endsWith(".json")).sort().map((name) => path.join(folder, name));
}

function folders(folder) {
    return fs.readdirSync(folder).filter((name) => name !== "format").sort().map((name) => path.join(folder, name));
}

const kinds = ["device", "release", "policy", "rig", "substitutes"];

// Policies, rigs and substitutes lie in folders of their own, a device file says what it is by its name.
function kindOf(file) {
    const folder = path.basename(path.dirname(file));
    if (["policy", "rig", "substitutes"].includes(folder)) return folder;
    return path.basename(file) === "device.json" || folder.endsWith("device") ? "device" : "release";
}

const problems = [];
const format = path.join(project, "schemas", "format");
const ajv = new Ajv({ allErrors: true });
const schemas = {};
for (const kind of kinds) {
    schemas[kind] = read(path.join(format, `${kind}.schema.json`));
    if (!ajv.validateSchema(schemas[kind])) problems.push(`${kind}.schema.json: ${ajv.errorsText()}`);
    ajv.addSchema(schemas[kind]);
}
const judges = {};
for (const kind of kinds) judges[kind] = ajv.getSchema(schemas[kind].$id);

const corpus = path.join(project, "tests", "formats");
const rows = read(path.join(corpus, "broken.json")).files;
if (rows.length < 80) problems.push(`only ${rows.length} broken files`);
for (const row of rows) {
    let document;
    try {
        document = read(path.join(corpus, "broken", row.file));
    } catch (error) {
        if (row["told-by"] !== "grammar") problems.push(`${row.file} is no JSON: ${error.message}`);
        continue;
    }
    if (row["told-by"] === "grammar") {
        // JSON.parse takes the last of two equal keys without a word.
        if (!row.says.includes("stands twice")) problems.push(`${row.file} is read as JSON`);
        continue;
    }
    const allowed = judges[kindOf(row.file)](document);
    if (allowed !== (row["told-by"] === "meaning")) {
        problems.push(`${row.file} is ${allowed ? "let through" : "refused"}, but told by ${row["told-by"]}`);
    }
}

const valid = [...folders(path.join(corpus, "valid")), ...folders(path.join(project, "schemas"))].flatMap(jsonFiles);
if (valid.length < 10) problems.push(`only ${valid.length} valid files`);
for (const file of valid) {
    const judge = judges[kindOf(file)];
    if (!judge(read(file))) problems.push(`${path.relative(project, file)}: ${ajv.errorsText(judge.errors)}`);
}

console.log(problems.join("\n"));
process.exit(problems.length > 0 ? 1 : 0);
