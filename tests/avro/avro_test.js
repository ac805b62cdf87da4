// Loading by name against Apache Avro's schema resolution, by an independent implementation of it, avsc.
//
// A release that loads what another saved by name does what an Avro reader does with a writer's data, where the rules
// are "skip what is unknown, default for what is missing, default for an unknown choice, a whole number will do where a
// real one is wanted". Source: Apache Avro Specification 1.11.1, "Schema Resolution":
//   - "the ordering of fields may be different: fields are matched by name";
//   - "if the writer's record contains a field with a name not present in the reader's record, the writer's value for
//     that field is ignored";
//   - "if the reader's record schema has a field that contains a default value, and writer's schema does not have a
//     field with the same name, then the reader should use the default value from its field";
//   - "if the writer's symbol is not present in the reader's enum and the reader has a default value, then that value
//     is used";
//   - "int is promotable to long, float, or double; long is promotable to float or double; float is promotable to
//     double".
//
// What is not compared, since the two mean different things by it: aliases (an Avro reader finds a field under its old
// name; a declared rename links meanings and never makes firmware find a path); blocks that only the reader has (Avro
// has a default for a whole record; a block that is not there does not exist in that preset); unions and null.
//
// node avro_test.js DOWNFIT FOLDER_OF_AVSC [CASES [SEED]]
"use strict";
const fs = require("fs");
const os = require("os");
const path = require("path");
const { spawnSync } = require("child_process");

const [program, modules, wanted = "20000", seedText = String(Date.now() % 1000000)] = process.argv.slice(2);
const avro = require(path.resolve(modules, "node_modules", "avsc"));

const presetsOfAPair = 80;
const device = "wheatear";

// Mulberry32: common practice, no source; any generator with a seed would do.
let state = Number(seedText) >>> 0;
function random() {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
}
const below = (count) => Math.floor(random() * count);
const pick = (list) => list[below(list.length)];
const chance = (share) => random() < share;
function shuffled(list) {
    const copy = [...list];
    for (let i = copy.length - 1; i > 0; --i) {
        const j = below(i + 1);
        [copy[i], copy[j]] = [copy[j], copy[i]];
    }
    return copy;
}

const labels = ["Room", "Hall", "Plate", "Spring", "Cave", "Tank", "Barn", "Chapel"];
const words = ["", "Reed", "Salt & Straw", "Tide \u00e9", "two words", "\"quoted\"", "\u540d"];
const kinds = ["whole", "real", "single", "switch", "choice", "text"];

function randomValue(field) {
    switch (field.kind) {
        case "whole": return below(2001) - 1000;
        case "real":
        case "single": return (below(16001) - 8000) / 8;
        case "switch": return chance(0.5);
        case "choice": return pick(field.labels);
        default: return pick(words);
    }
}

function withDefault(field) {
    field.default = randomValue(field);
    return field;
}

function randomField(name) {
    const kind = pick(kinds);
    const field = { name, kind };
    if (kind === "choice") field.labels = shuffled(labels).slice(0, 1 + below(labels.length));
    return withDefault(field);
}

// A release: blocks ("" is the preset itself) with their fields.
function randomRelease() {
    const release = new Map();
    for (const block of ["", ...["amp", "delay", "mod"].slice(0, below(4))]) {
        const count = 1 + below(6);
        release.set(block, Array.from({ length: count }, (_, i) => randomField("p" + i)));
    }
    return release;
}

// The release that loads: each field gone, changed or as it was, new ones among them, all in another order.
function changed(release) {
    const other = new Map();
    for (const [block, fields] of release) {
        if (block !== "" && chance(0.1)) continue;
        const kept = fields.filter(() => !chance(0.2)).map((field) => {
            const copy = { ...field };
            if (copy.kind === "whole" && chance(0.4)) copy.kind = pick(["real", "single"]);
            if (copy.kind === "single" && chance(0.2)) copy.kind = "real";
            if (copy.kind === "choice" && chance(0.7)) copy.labels = shuffled(labels).slice(0, 1 + below(labels.length));
            return chance(0.5) || copy.kind !== field.kind || copy.kind === "choice" ? withDefault(copy) : copy;
        });
        for (let i = below(3); i > 0; --i) kept.push(randomField("q" + i));
        if (kept.length === 0) kept.push(randomField("q9"));
        other.set(block, shuffled(kept));
    }
    return other;
}

const avroTypes = { whole: "long", real: "double", single: "float", switch: "boolean", text: "string" };
function avroField(block, field) {
    const type = field.kind === "choice"
        ? { type: "enum", name: `${block}_${field.name}_choices`, symbols: field.labels, default: field.default }
        : avroTypes[field.kind];
    return { name: field.name, type, default: field.default };
}
function avroSchema(release) {
    const fields = release.get("").map((field) => avroField("preset", field));
    for (const [block, inner] of release) {
        if (block === "") continue;
        const record = { type: "record", name: block + "_block", fields: inner.map((field) => avroField(block, field)) };
        fields.push({ name: block, type: record });
    }
    return { type: "record", name: "preset", fields };
}

function parameter(field) {
    const says = { path: "/" + field.name, default: field.default };
    switch (field.kind) {
        case "whole": return { ...says, kind: "whole" };
        case "real": return { ...says, kind: "real" };
        case "single": return { ...says, kind: "real", as: "float32" };
        case "switch": return { ...says, kind: "switch" };
        case "choice": return { ...says, as: "text", choices: field.labels };
        default: return { ...says, kind: "text" };
    }
}
function releaseFile(name, release) {
    const file = { format: "downfit release 1", device, release: name, stamp: name, groups: {}, parameters: {} };
    for (const [block, fields] of release) {
        if (block !== "") file.groups[block] = { kind: "block", path: "/" + block };
        for (const field of fields) file.parameters[(block === "" ? "" : block + ".") + field.name] = parameter(field);
    }
    return file;
}
const deviceFile = {
    format: "downfit device 1", device, title: "Wheatear", maker: "Quillfeather", releases: ["1.0", "2.0"],
    slots: { first: 1, count: presetsOfAPair },
    layouts: { export: { as: "json", presets: "/sounds/*", stamp: "/firmware", slot: { by: "order" } } },
    rules: {
        "out-of-range": "clamp", "off-step": "round", "unknown-choice": "reset", "unknown-parameter": "skip",
        "missing-parameter": "default", "repeated-key": "last", "long-text": "cut", "newer-stamp": "load",
        "older-stamp": "load",
    },
};

function randomPreset(release) {
    const preset = {};
    for (const [block, fields] of release) {
        const here = block === "" ? preset : (preset[block] = {});
        for (const field of fields) here[field.name] = randomValue(field);
    }
    return preset;
}

// How a report writes a value.
function shown(kind, value) {
    if (kind === "switch") return value ? "On" : "Off";
    return String(value);
}

function flat(release, values) {
    const all = new Map();
    for (const [block, fields] of release) {
        for (const field of fields) {
            const value = (block === "" ? values : values[block])[field.name];
            all.set((block === "" ? "" : block + ".") + field.name, shown(field.kind, value));
        }
    }
    return all;
}

// What Downfit says is loaded: what it tells of, else as saved.
function loadedBy(target, saved) {
    const loaded = new Map(saved);
    for (const finding of target.findings) {
        if (finding.saved !== null) loaded.delete(finding.parameter);
        if (finding.loaded !== null) loaded.set(finding["parameter-there"], finding.loaded.value);
    }
    return loaded;
}

const seen = { pairs: 0, presets: 0, values: 0, told: {} };
const problems = [];
const folder = fs.mkdtempSync(path.join(os.tmpdir(), "downfit-avro-"));

function comparePair() {
    const saving = randomRelease();
    const loading = changed(saving);
    const [from, to] = chance(0.5) ? ["1.0", "2.0"] : ["2.0", "1.0"];
    const presets = Array.from({ length: presetsOfAPair }, () => randomPreset(saving));

    const writer = avro.Type.forSchema(avroSchema(saving));
    const reader = avro.Type.forSchema(avroSchema(loading));
    const resolver = reader.createResolver(writer);

    const schemas = path.join(folder, "schemas");
    fs.mkdirSync(schemas, { recursive: true });
    fs.writeFileSync(path.join(schemas, "device.json"), JSON.stringify(deviceFile));
    fs.writeFileSync(path.join(schemas, "from.json"), JSON.stringify(releaseFile(from, saving)));
    fs.writeFileSync(path.join(schemas, "to.json"), JSON.stringify(releaseFile(to, loading)));
    const dump = path.join(folder, "dump.json");
    fs.writeFileSync(dump, JSON.stringify({ sounds: presets.map((preset) => ({ firmware: from, ...preset })) }));
    const ran = spawnSync(program, ["check", dump, "--on", to, "--schemas", schemas, "--format", "json"],
        { encoding: "utf8", maxBuffer: 1 << 28 });
    if (![0, 1].includes(ran.status)) {
        problems.push(`exit status ${ran.status}: ${ran.stderr}\n${JSON.stringify([...saving])}\n${JSON.stringify([...loading])}`);
        return;
    }
    const report = JSON.parse(ran.stdout);
    if (report.presets.length !== presets.length) problems.push(`${report.presets.length} presets`);
    report.presets.forEach((told, i) => {
        const target = told.targets[0];
        const expected = flat(loading, reader.fromBuffer(writer.toBuffer(presets[i]), resolver));
        const found = loadedBy(target, flat(saving, presets[i]));
        const same = found.size === expected.size && [...expected].every(([id, value]) => found.get(id) === value);
        if (!same && problems.length < 5) {
            problems.push(`seed ${seedText}, pair ${seen.pairs}, preset ${i}\n  Avro    ${JSON.stringify([...expected].sort())}\n` +
                `  Downfit ${JSON.stringify([...found].sort())}\n  saved ${JSON.stringify(presets[i])}\n` +
                `  findings ${JSON.stringify(target.findings.map((one) => [one.parameter, one.outcome, one.saved, one.loaded]))}`);
        }
        ++seen.presets;
        seen.values += expected.size;
        for (const finding of target.findings) seen.told[finding.outcome] = (seen.told[finding.outcome] || 0) + 1;
    });
    ++seen.pairs;
}

try {
    while (seen.presets < Number(wanted) && problems.length === 0) comparePair();
} finally {
    fs.rmSync(folder, { recursive: true });
}
// A comparison in which nothing is lost, added or reset says nothing.
for (const outcome of ["lost", "added", "reset"]) {
    if (problems.length === 0 && !(seen.told[outcome] > seen.pairs)) problems.push(`hardly anything is ${outcome}`);
}
console.log(`seed ${seedText}: ${seen.pairs} pairs of releases, ${seen.presets} presets, ${seen.values} values; told: ` +
    Object.entries(seen.told).map(([outcome, count]) => `${outcome} ${count}`).join(", "));
for (const problem of problems) console.log(problem);
process.exit(problems.length === 0 ? 0 : 1);
