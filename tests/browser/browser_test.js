// HTML reports in headless Chromium: opened without a network, no errors, filters and order, keyboard alone, axe-core in light and
// dark, 375 px, on paper, hostile names and texts, time to read.
//
// browser_test.js PROJECT FOLDER [PART...], a part by its function's name; `run` makes what it reads. Prints what is wrong and exits with 1 if anything is.
"use strict";
const { execFileSync } = require("child_process");
const fs = require("fs");
const path = require("path");
const zlib = require("zlib");

const [project, folder, ...only] = process.argv.slice(2);
const { chromium } = require(path.join(folder, "node_modules", "playwright-core"));
const axe = fs.readFileSync(path.join(folder, "node_modules", "axe-core", "axe.min.js"), "utf8");
const pages = ["four-banks", "one-bank", "rig", "changes"];
// Made of texts that users write (hostile_files.py): names of presets, songs, units and releases, labels, reasons.
const hostilePages = ["hostile-rig", "hostile-changes"];
const problems = [];
let checks = 0;

function expect(good, words) {
    ++checks;
    if (!good) problems.push(words);
}

const address = (name) => `file://${path.join(folder, name)}.html`;

// A page that tells of every error, dialog, and request but that for itself. The content security policy stays in force.
async function open(browser, name, options = {}) {
    const context = await browser.newContext({ offline: true, viewport: { width: 1280, height: 900 }, ...options });
    const page = await context.newPage();
    page.on("console", (message) => problems.push(`${name}: the console says ${message.type()}: ${message.text()}`));
    page.on("pageerror", (error) => problems.push(`${name}: ${error.message}`));
    page.on("dialog", (dialog) => { problems.push(`${name}: a dialog: ${dialog.message()}`); dialog.dismiss(); });
    page.on("request", (request) => {
        if (request.url().split("#")[0] !== address(name)) problems.push(`${name}: asks for ${request.url()}`);
    });
    await page.goto(address(name));
    return page;
}

const shownCards = (page) => page.$$eval("#presets > details", (cards) =>
    cards.filter((card) => card.checkVisibility()).map((card) => ({
        id: card.id, s: card.dataset.s, on: card.dataset.on, slot: Number(card.dataset.slot), name: card.dataset.name,
        text: card.textContent.toLowerCase() })));

const same = (a, b) => JSON.stringify(a) === JSON.stringify(b);

async function filters(browser) {
    const page = await open(browser, "four-banks");
    const all = await shownCards(page);
    expect(all.length > 450, `only ${all.length} cards`);
    const ids = async () => (await shownCards(page)).map((card) => card.id).sort();
    const wanted = (fits) => all.filter(fits).map((card) => card.id).sort();
    await page.fill("input[name=text]", "Lead");
    expect(same(await ids(), wanted((card) => card.text.includes("lead"))), "the text does not filter");
    await page.fill("input[name=text]", "");
    for (const box of await page.$$("input[name=s]")) {
        if ((await box.getAttribute("value")) !== "S") await box.uncheck();
    }
    expect(same(await ids(), wanted((card) => card.s === "S")), "verdicts do not filter");
    const cells = await page.$$eval(".grid li[data-of]", (list) => list.filter((one) => one.checkVisibility()).map((one) => one.dataset.of).sort());
    expect(same(cells, await ids()), "the grid does not follow the filter");
    const rows = await page.$$eval(".matrix tr[data-of]", (list) => list.filter((one) => one.checkVisibility()).map((one) => one.dataset.of).sort());
    expect(same(rows, await ids()), "the matrix does not follow the filter");
    expect((await page.textContent("#shown")) === `${cells.length} of ${all.length} shown`, "the count is wrong");
    await page.selectOption("select[name=on]", "0");
    expect(same(await ids(), wanted((card) => card.on[0] === "S")), "the release does not filter");
    await page.selectOption("select[name=on]", "");
    for (const box of await page.$$("input[name=s]")) await box.check();
    await page.selectOption("select[name=sort]", "slot");
    const slots = (await shownCards(page)).map((card) => card.slot);
    expect(same(slots, [...slots].sort((a, b) => a - b)) && slots.length === all.length, "not in order of slots");
    await page.selectOption("select[name=sort]", "name");
    const names = (await shownCards(page)).map((card) => card.name.toLowerCase());
    expect(same(names, [...names].sort()), "not in order of names");
    await page.selectOption("select[name=sort]", "worst");
    expect(same((await shownCards(page)).map((card) => card.id), all.map((card) => card.id)), "not back in the first order");
    await page.context().close();
}

async function filtersOfChanges(browser) {
    const page = await open(browser, "changes");
    const rows = () => page.$$eval("tr[data-s]", (list) => list.filter((one) => one.checkVisibility()).map((one) => one.dataset.s));
    const all = await rows();
    expect(all.length > 20, `only ${all.length} changes`);
    const effect = all[0];
    for (const box of await page.$$("input[name=s]")) {
        if ((await box.getAttribute("value")) !== effect) await box.uncheck();
    }
    expect(same(await rows(), all.filter((one) => one === effect)), "effects do not filter");
    const empty = await page.$$eval("section[data-group]", (list) =>
        list.filter((one) => one.checkVisibility() && !one.querySelector("tr[data-s]:not([hidden])")).length);
    expect(empty === 0, "a heading stands over nothing");
    await page.fill("input[name=text]", "no such words");
    expect((await rows()).length === 0, "the text does not filter changes");
    await page.context().close();
}

async function filtersOfRig(browser) {
    const page = await open(browser, "rig");
    const rows = () => page.$$eval("#presets > tr", (list) => list.filter((one) => one.checkVisibility()).map((one) => ({
        id: one.id, s: one.dataset.s, on: one.dataset.on, slot: Number(one.dataset.slot), name: one.dataset.name.toLowerCase(),
        title: one.querySelector("th").textContent.toLowerCase().replace(/^\d+\. /, ""),
        marks: [...one.querySelectorAll("td")].map((cell) => (cell.querySelector(".mark") ? cell.querySelector(".mark").classList[1] : "-")).join("") })));
    const ids = async () => (await rows()).map((row) => row.id);
    const all = await rows();
    expect(all.length === 13, `${all.length} songs`);
    const order = "INUASR-";
    for (const row of all) {
        expect(row.on === row.marks && row.name === row.title, `a row goes by what it does not show: ${JSON.stringify(row)}`);
        expect(row.s === [...row.marks].sort((a, b) => order.indexOf(a) - order.indexOf(b))[0], `not the best unit: ${JSON.stringify(row)}`);
    }
    expect(new Set(all.map((row) => row.s)).size > 2, "songs that stand too much alike to test with");
    const reasons = () => page.$$eval("li[data-of]", (list) => list.filter((one) => one.checkVisibility()).map((one) => one.dataset.of));
    const allReasons = await reasons();
    for (const box of await page.$$("input[name=s]")) {
        if ((await box.getAttribute("value")) !== "S") await box.uncheck();
    }
    expect(same(await ids(), all.filter((row) => row.s === "S").map((row) => row.id)), "standings do not filter songs");
    const left = new Set(await ids());
    expect(left.size > 0 && same(await reasons(), allReasons.filter((of) => left.has(of))), "reasons do not follow their songs");
    expect((await page.textContent("#shown")) === `${left.size} of 13 shown`, "the count of songs is wrong");
    await page.selectOption("select[name=on]", "1");
    expect(same((await ids()).sort(), all.filter((row) => row.on[1] === "S").map((row) => row.id).sort()), "the unit does not filter");
    for (const box of await page.$$("input[name=s]")) await box.check();
    await page.selectOption("select[name=sort]", "worst");
    const worst = (await rows()).map((row) => "RSAUDNI-".indexOf(row.on[1]));
    expect(same(worst, [...worst].sort((a, b) => a - b)) && worst.length === 13, "not worst first");
    await page.selectOption("select[name=sort]", "name");
    const names = (await rows()).map((row) => row.name);
    expect(same(names, [...names].sort()), "not in order of titles");
    await page.selectOption("select[name=sort]", "slot");
    expect(same(await ids(), all.map((row) => row.id)), "not back in playing order");
    const [told, of] = await page.$eval("li[data-of]", (line) => [line.textContent, line.dataset.of]);
    await page.fill("input[name=text]", told);
    expect(same(await ids(), [of]), "what stands in a song's way does not find it");
    await page.context().close();
}

// Tab until a focused element fits; null if none does.
async function tabTo(page, selector, most = 700) {
    for (let i = 0; i < most; ++i) {
        await page.keyboard.press("Tab");
        if (await page.evaluate((wanted) => document.activeElement.matches(wanted), selector)) return true;
    }
    return false;
}

async function keyboard(browser) {
    const page = await open(browser, "one-bank");
    expect(await tabTo(page, ".scroll"), "a scrolled table cannot be reached");
    expect(await tabTo(page, ".grid a.A, .grid a.S"), "a slot cannot be reached");
    const id = (await page.evaluate(() => document.activeElement.hash)).slice(1);
    const outlined = await page.evaluate(() => getComputedStyle(document.activeElement).outlineStyle);
    expect(outlined !== "none", "focus is not seen");
    await page.keyboard.press("Enter");
    await page.waitForFunction((card) => document.getElementById(card).open, id);
    expect(await page.evaluate((card) => document.activeElement === document.getElementById(card).querySelector("summary"), id),
        "focus does not go to the preset that was opened");
    await page.keyboard.press("Enter");
    expect(!(await page.evaluate((card) => document.getElementById(card).open, id)), "Enter does not close a preset");
    await page.reload();
    expect(await tabTo(page, "input[name=text]"), "the text cannot be reached");
    await page.keyboard.type("a");
    expect(await tabTo(page, "select[name=on]", 3), "the releases cannot be reached");
    expect(await tabTo(page, "select[name=sort]", 3), "the order cannot be reached");
    await page.keyboard.press("ArrowDown");
    expect((await page.inputValue("select[name=sort]")) === "slot", "the order cannot be chosen");
    expect(await tabTo(page, "input[name=s]", 3), "the verdicts cannot be reached");
    const before = (await shownCards(page)).length;
    await page.keyboard.press("Space");
    expect((await shownCards(page)).length < before, "a verdict cannot be taken away");
    expect(await tabTo(page, "#presets summary", 20), "the presets cannot be reached");
    await page.context().close();
}

async function access(browser) {
    for (const name of [...pages, "hostile", ...hostilePages]) {
        for (const colorScheme of ["light", "dark"]) {
            const page = await open(browser, name, { colorScheme });
            await page.evaluate(() => {
                // Hundreds of presets alike take minutes: a dozen of each kind, opened.
                const counts = {};
                for (const card of document.querySelectorAll("#presets > details")) {
                    counts[card.dataset.s] = (counts[card.dataset.s] || 0) + 1;
                    if (counts[card.dataset.s] > 12) card.remove();
                }
                const left = new Set([...document.querySelectorAll("details")].map((card) => card.id));
                for (const cell of document.querySelectorAll("[data-of]")) if (!left.has(cell.dataset.of)) cell.remove();
                for (const card of document.querySelectorAll("details")) card.open = true;
            });
            await page.screenshot({ path: path.join(folder, `${name}-${colorScheme}.png`) });
            await page.evaluate(axe);
            const found = await page.evaluate(() => axe.run(document, { resultTypes: ["violations"] }));
            expect(found.passes.length > 10, `${name}: axe looked at ${found.passes.length} rules`);
            for (const one of found.violations) {
                problems.push(`${name}, ${colorScheme}: ${one.id}: ${one.help}: ${one.nodes.length} times, ${one.nodes[0].html.slice(0, 200)}`);
            }
            await page.context().close();
        }
    }
}

async function narrow(browser) {
    for (const name of [...pages, "hostile", ...hostilePages]) {
        const page = await open(browser, name, { viewport: { width: 375, height: 800 }, isMobile: true, hasTouch: true });
        await page.evaluate(() => { for (const one of document.querySelectorAll("details")) one.open = true; });
        const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
        expect(over <= 0, `${name}: ${over} px wider than a phone`);
        const small = await page.$$eval("p, li, td, th, summary, label, h1, h2", (list) =>
            list.filter((one) => one.checkVisibility() && parseFloat(getComputedStyle(one).fontSize) < 13).length);
        expect(small === 0, `${name}: ${small} elements in letters below 13 px on a phone`);
        await page.screenshot({ path: path.join(folder, `${name}-phone.png`) });
        await page.context().close();
    }
}

async function withoutScript(browser) {
    for (const name of pages) {
        const page = await open(browser, name, { javaScriptEnabled: false });
        expect(await page.isVisible("h1"), `${name}: no heading without scripts`);
        expect(!(await page.isVisible("form >> nth=0").catch(() => false)), `${name}: a form that does nothing is shown`);
        expect((await page.innerText("main")).length > 1500, `${name}: little to read without scripts`);
        if (name === "one-bank") {
            await page.click("#presets summary >> nth=0");
            expect(await page.isVisible("#presets details >> nth=0 >> table"), "a preset does not open without scripts");
        }
        await page.context().close();
    }
}

// How many paths a PDF file paints: operators of its content streams (ISO 32000-1, table 60).
function painted(pdf) {
    let count = 0;
    const text = pdf.toString("latin1");
    for (let at = text.indexOf("stream\n"); at >= 0; at = text.indexOf("stream\n", at + 7)) {
        const end = text.indexOf("endstream", at);
        try {
            const content = zlib.inflateSync(pdf.subarray(at + 7, end)).toString("latin1");
            count += (content.match(/^(S|s|f|F|f\*|B|B\*|b|b\*)$/gm) || []).length;
        } catch { /* no deflated stream */ }
    }
    return count;
}

async function onPaper(browser) {
    for (const [name, javaScriptEnabled] of [["one-bank", true], ["one-bank", false], ["rig", true], ["changes", true]]) {
        for (const [format, size] of [["A4", "595 x 842"], ["Letter", "612 x 792"]]) {
            const what = `${name} on ${format}${javaScriptEnabled ? "" : " without scripts"}`;
            const page = await open(browser, name, { javaScriptEnabled, colorScheme: "dark" });
            const file = path.join(folder, `${name}-${format}${javaScriptEnabled ? "" : "-without-scripts"}.pdf`);
            const pdf = await page.pdf({ format, path: file, printBackground: false, preferCSSPageSize: false });
            const info = execFileSync("pdfinfo", [file], { encoding: "utf8" });
            const [width, height] = size.split(" x ");
            expect(new RegExp(`Page size:\\s+${width}[.0-9]* x ${height}|Page size:\\s+${width - 1}\\.9[0-9]* x ${height - 1}\\.`).test(info),
                `${what}: ${/Page size.*/.exec(info)}`);
            const words = execFileSync("pdftotext", [file, "-"], { encoding: "utf8" });
            const heading = await page.textContent("h1");
            expect(words.replace(/\s+/g, " ").includes(heading.trim().replace(/\s+/g, " ").slice(0, 40)), `${what}: no heading`);
            if (name === "one-bank") {
                const strips = await page.locator(".strip").count();
                expect(strips > 10, `${what}: only ${strips} strips in the page`);
                await page.locator(".strip").evaluateAll((list) => { for (const one of list) one.remove(); });
                const bare = await page.pdf({ format, printBackground: false });
                const kept = painted(pdf) - painted(bare);
                expect(kept >= 3 * strips, `${what}: ${kept} paths painted for ${strips} strips`);
            }
            await page.context().close();
        }
    }
}

// Nothing in a page runs, loads, or leads out of it, but its own script and style.
async function expectUnharmed(page, name) {
    const odd = await page.$$eval("*", (list) => list.filter((one) => [...one.attributes].some((a) =>
        a.name.startsWith("on") || ["src", "srcdoc", "style", "action", "formaction", "autofocus"].includes(a.name) ||
        (a.name === "href" && !a.value.startsWith("#")) ||
        (!a.name.startsWith("data-") && /^\s*javascript:/i.test(a.value)))).length);
    expect(odd === 0, `${name}: ${odd} elements with attributes that run or load`);
    for (const tag of ["script", "style", "title", "body", "h1"]) {
        expect((await page.locator(tag).count()) === 1, `${name}: not just its own ${tag}`);
    }
    expect((await page.locator("base, link, meta[http-equiv=refresh], iframe, img, object, embed, button").count()) === 0, `${name}: foreign elements`);
    expect(!(await page.evaluate(() => Boolean(document.activeElement !== document.body && document.activeElement))), `${name}: something took the focus`);
    // Nothing that is put into the page afterwards runs either: the content security policy is in force.
    const ran = await page.evaluate(() => {
        const script = document.createElement("script");
        script.textContent = "window.ran = true";
        document.body.append(script);
        return Boolean(window.ran);
    });
    expect(!ran, `${name}: the content security policy lets a foreign script run`);
    while (problems.length > 0 && /Content Security Policy/.test(problems.at(-1))) problems.pop();
}

// The pages of `rig` and `changes`, where users write hostile texts.
async function hostileTexts(browser) {
    const wanted = JSON.parse(fs.readFileSync(path.join(folder, "hostile-files", "texts.json"), "utf8"));
    const usual = new Set();
    for (const name of pages) {
        const page = await open(browser, name);
        for (const tag of await page.$$eval("*", (list) => list.map((one) => one.localName))) usual.add(tag);
        await page.context().close();
    }
    for (const name of hostilePages) {
        const page = await open(browser, name);
        const tags = await page.$$eval("*", (list) => [...new Set(list.map((one) => one.localName))]);
        expect(tags.every((tag) => usual.has(tag)), `${name}: elements from texts: ${tags.filter((tag) => !usual.has(tag))}`);
        const shown = await page.evaluate(() => document.body.textContent + document.title);
        const plain = wanted[name].filter((text) => /^[\x20-\x7e]+$/.test(text));
        expect(plain.length > 4, `${name}: only ${plain.length} texts looked for`);
        for (const text of plain) expect(shown.includes(text), `${name}: ${text} is not shown as it is`);
        const turning = shown.match(/[\0\u061c\u200b-\u200f\u2028-\u202e\u2066-\u2069\ufeff]/g) || [];
        expect(turning.length === 0, `${name}: ${turning.length} characters that turn or break a line`);
        expect(await page.isVisible("h1"), `${name}: a style from a text is in force`);
        await page.mouse.move(400, 300);
        for (const link of (await page.$$("main a")).slice(0, 5)) await link.click();
        expect(page.url().split("#")[0] === address(name), `${name}: a click leads to ${page.url()}`);
        await page.reload();
        await expectUnharmed(page, name);
        await page.context().close();
    }
}

async function hostile(browser) {
    const names = JSON.parse(fs.readFileSync(path.join(project, "tests/report/golden/hostile.json"), "utf8")).presets.map((one) => one.name);
    const page = await open(browser, "hostile");
    const cards = await shownCards(page);
    expect(cards.length === names.length && names.length > 30, `${cards.length} cards of ${names.length} hostile names`);
    for (const [i, name] of names.entries()) {
        if (!/^[\x20-\x7e]+$/.test(name)) continue;
        expect(cards.some((card) => card.name === name), `the name ${name} of preset ${i} is not as it was`);
    }
    const tags = await page.$$eval("body *", (list) => [...new Set(list.map((one) => one.localName))].sort());
    const plain = await open(browser, "one-bank");
    const usual = new Set(await plain.$$eval("body *", (list) => list.map((one) => one.localName)));
    expect(tags.every((tag) => usual.has(tag)), `elements from names: ${tags.filter((tag) => !usual.has(tag))}`);
    await expectUnharmed(page, "hostile");
    const markdown = await open(browser, "hostile-markdown");
    expect((await markdown.locator("script, img, iframe, a, object, embed, svg, form, input, style, link").count()) === 0, "hostile names make elements of Markdown");
    await page.context().close();
    await plain.context().close();
    await markdown.context().close();
}

// From asking for the page until its first words are painted, the least of several tries, in turn with an empty page.
async function timeToRead(browser) {
    fs.writeFileSync(path.join(folder, "empty.html"), "<!doctype html><html lang=en><title>Empty</title><p>Empty.</p>");
    const times = { empty: [], "four-banks": [] };
    for (let i = 0; i < 25; ++i) {
        for (const name of Object.keys(times)) {
            const context = await browser.newContext({ offline: true, viewport: { width: 1280, height: 900 } });
            const page = await context.newPage();
            const asked = Date.now();
            await page.goto(address(name), { waitUntil: "commit" });
            const painted = await page.evaluate(() => new Promise((done) => {
                new PerformanceObserver((list, self) => {
                    const paint = list.getEntriesByName("first-contentful-paint")[0];
                    if (paint) { self.disconnect(); done(performance.timeOrigin + paint.startTime); }
                }).observe({ type: "paint", buffered: true });
            }));
            times[name].push(painted - asked);
            await page.context().close();
        }
    }
    const least = (list) => Math.min(...list);
    console.log(`first words: ${least(times["four-banks"]).toFixed(0)} ms of four banks, ${least(times.empty).toFixed(0)} ms of an empty page`);
    expect(least(times["four-banks"]) <= 3 * least(times.empty), "four banks take more than three times as long as an empty page");
    const bytes = fs.statSync(path.join(folder, "four-banks.html")).size;
    expect(bytes > 200000 && bytes < 3000000, `four banks take ${bytes} bytes`);
}

(async () => {
    // Without a sandbox where there are no rights for one (root); nothing foreign is opened.
    const args = process.getuid() === 0 ? ["--no-sandbox"] : [];
    const browser = await chromium.launch({ executablePath: "/usr/bin/chromium", args });
    for (const part of [timeToRead, filters, filtersOfChanges, filtersOfRig, keyboard, withoutScript, narrow, onPaper, hostile, hostileTexts, access]) {
        if (only.length > 0 && !only.includes(part.name)) continue;
        const before = problems.length;
        const start = Date.now();
        try {
            await part(browser);
        } catch (error) {
            problems.push(`${part.name}: ${error.message}`);
        }
        console.log(`${part.name}: ${problems.length - before} problems, ${((Date.now() - start) / 1000).toFixed(0)} s`);
    }
    await browser.close();
    console.log([...new Set(problems)].slice(0, 40).join("\n") || `${checks} checks, nothing wrong`);
    process.exit(problems.length > 0 ? 1 : 0);
})();
