#!/usr/bin/env node
// SPDX-License-Identifier: GPL-3.0-or-later
//
// The drop page, from a file and without a network: what is dropped on it gives what the program
// gives, to the finding and within one part in 10,000 of each figure; what it cannot take it says in
// place; it stays awake under 100 MB, and gives the memory back.
import { execFileSync, spawnSync } from "node:child_process";
import { closeSync, copyFileSync, existsSync, openSync, readFileSync, readdirSync, rmSync, statSync, writeFileSync, writeSync } from "node:fs";
import { join } from "node:path";
import { gunzipSync, gzipSync } from "node:zlib";
import { check, modules, program, run, samples, scratch, source } from "./check.mjs";

const drop = process.env.PLATELAG_DROP_PAGE ?? "";
if (drop === "" || !existsSync(drop)) {
  console.log(`skipped: PLATELAG_DROP_PAGE ${drop === "" ? "is not set" : `names no file: ${drop}`}; the page's build makes it`);
  process.exit(77);
}

if (statSync(drop).mtimeMs < statSync(program).mtimeMs) console.log("the page is older than the program: scripts/build-drop makes it anew");

// Wall-clock times are printed, and held to their limits where PLATELAG_TIMES=1 asks for it: a busy machine tells nothing.
const timesCount = process.env.PLATELAG_TIMES === "1";
const RELATIVE = 1e-4, MOST_PAGE_BYTES = 600e3, MOST_GAP_MS = 500, MOST_TASK_MS = 200, MOST_TIMES = 1.5, BIG_BYTES = 100e6, MOST_LEFT_BYTES = 200e6;
const sample = (name) => join(samples, `${name}.csv`);
const all = readdirSync(samples).filter((name) => name.endsWith(".csv")).sort();

// --- the page ------------------------------------------------------------------------------------

// Opens the page offline; what is saved goes to the scratch folder.
async function openDrop(open, look, file = drop) {
  const page = await open(file, look);
  await page.ask("Network.emulateNetworkConditions", { offline: true, latency: 0, downloadThroughput: -1, uploadThroughput: -1 });
  await page.ask("Page.setDownloadBehavior", { behavior: "allow", downloadPath: scratch });
  return page;
}

const IDLE = `new Promise((resolve, reject) => {
  const end = Date.now() + 300000;
  (function look() {
    if (document.getElementById("result").ariaBusy === "false") resolve(); else if (Date.now() > end) reject(new Error("no end of the review")); else setTimeout(look, 20);
  })();
})`;

const LOOK = `({
  summary: document.getElementById("summary").innerText,
  trouble: document.getElementById("trouble").innerText,
  note: document.getElementById("note").innerText,
  refusals: [...document.querySelectorAll("#files .trouble")].map((line) => line.innerText).filter((text) => text !== ""),
  conditions: [...document.querySelectorAll("#files select")].map(({ value }) => Number(value)),
  hasReport: !document.getElementById("report").hidden,
  tables: [...document.querySelectorAll("#tables pre")].map((table) => table.textContent),
})`;

// Neither the page nor the report in it is wider than the screen.
const FITS = `[document, document.getElementById("report").contentDocument].every(({ documentElement: { scrollWidth, clientWidth } }) => scrollWidth <= clientWidth)`;

const seen = async (page) => {
  await page.evaluate(IDLE);
  return page.evaluate(LOOK);
};

async function give(page, ...files) {
  await page.choose("#chooser", files);
  return seen(page);
}

const press = (page, id) => page.evaluate(`document.getElementById(${JSON.stringify(id)}).click()`);

async function fill(page, values) {
  for (const [name, value] of Object.entries(values))
    await page.evaluate(`(() => {
      const field = document.querySelector('[name="${name}"]');
      field.value = ${JSON.stringify(value)};
      field.dispatchEvent(new Event(field.tagName === "SELECT" ? "change" : "input", { bubbles: true }));
    })()`);
}

// Saves by the button and reads what came.
async function save(page, kind) {
  const ending = kind === "page" ? ".html" : ".json";
  for (const name of readdirSync(scratch).filter((one) => one.includes("-review"))) rmSync(join(scratch, name));
  await press(page, `save-${kind}`);
  for (let i = 0; i < 500; i++) {
    const name = readdirSync(scratch).find((one) => one.includes("-review") && one.endsWith(ending));
    const text = name ? readFileSync(join(scratch, name), "utf8") : "";
    if (text.trimEnd().endsWith(kind === "page" ? "</html>" : "}")) return text; // whole: the browser is done with it
    await new Promise((resolve) => setTimeout(resolve, 20));
  }
  throw new Error(`nothing was saved by save-${kind}`);
}

// --- comparing -----------------------------------------------------------------------------------

const ask = (...options) => execFileSync(program, ["review", ...options], { cwd: samples, encoding: "utf8", maxBuffer: 2 ** 30, stdio: ["ignore", "pipe", "ignore"] });

const NUMBER = /[-+]?\d+(?:\.\d+)?(?:e[-+]?\d+)?/g;

// Numbers written as text: the last digit may turn.
function isSameText(actual, expected) {
  if (actual === expected) return true;
  if (actual.replace(NUMBER, "#") !== expected.replace(NUMBER, "#")) return false;
  const [left, right] = [actual.match(NUMBER), expected.match(NUMBER)];
  return left.every((text, i) => {
    const digits = (right[i].match(/\.(\d+)/)?.[1] ?? "").length;
    return Math.abs(text - right[i]) <= Math.max(RELATIVE * Math.abs(right[i]), 1.001 * 10 ** -digits);
  });
}

// Where two documents differ; "" nowhere.
function difference(actual, expected, place = "") {
  if (typeof expected === "number" && typeof actual === "number")
    return Math.abs(actual - expected) <= RELATIVE * Math.abs(expected) + 1e-9 ? "" : `${place}: ${actual}, expected ${expected}`;
  if (typeof expected === "string" && typeof actual === "string" && place.endsWith(".what")) return isSameText(actual, expected) ? "" : `${place}: ${actual}, expected ${expected}`;
  if (expected === null || typeof expected !== "object" || actual === null || typeof actual !== "object")
    return actual === expected ? "" : `${place}: ${actual}, expected ${expected}`;
  const keys = [...new Set([...Object.keys(actual), ...Object.keys(expected)])];
  return keys.map((key) => difference(actual[key], expected[key], `${place}.${key}`)).find((found) => found !== "") ?? "";
}

const firstDifference = (actual, expected) => {
  const [left, right] = [actual.split("\n"), expected.split("\n")];
  const at = right.findIndex((line, i) => !isSameText(left[i] ?? "", line));
  return at < 0 ? `${left.length} lines, expected ${right.length}` : `line ${at + 1}: ${left[at]?.slice(0, 200)}, expected ${right[at].slice(0, 200)}`;
};

// The page's JSON and page against the program's.
async function compare(page, options, what) {
  const [json, wanted] = [JSON.parse(await save(page, "json")), JSON.parse(ask("--json", ...options))];
  const found = difference(json, wanted);
  check(found === "", `${what}: ${found}`);
  const [html, wantedHtml] = [await save(page, "page"), ask("--html=-", ...options)];
  check(isSameText(html, wantedHtml), `${what}: the saved page differs: ${firstDifference(html, wantedHtml)}`);
  return json;
}

const OPTIONS = ["--road", "--rest", "--hand-sweep", "--after"];

// --- tests ---------------------------------------------------------------------------------------

async function itIsSmallAndAlone() {
  const { size } = statSync(drop);
  check(size < MOST_PAGE_BYTES, `${drop}: ${size} bytes, at most ${MOST_PAGE_BYTES}`);
  console.log(`the page: ${(size / 1e3).toFixed(0)} kB`);
}

async function everySampleGivesTheProgramsFinding(open) {
  const page = await openDrop(open);
  for (const name of all) {
    const { summary, conditions, trouble } = await give(page, join(samples, name));
    check(conditions.length === 1 && trouble === "", `${name}: ${conditions.length} files, ${trouble}`);
    const json = await compare(page, [OPTIONS[conditions[0]], name], name);
    for (const { finding } of json.case)
      check(summary.includes({ still: "does not move" }[finding] ?? finding.replace("_", " ")), `${name}: ${finding} is told as ${summary}`);
    await press(page, "clear");
  }
  await page.done();
}

// Files that belong together; the conditions are told by the names alone.
async function casesOfTwo(open) {
  for (const [files, options, look] of [
    [["shuttle16-jam-past-stop", "shuttle16-hand-sweep"], ["--road", "shuttle16-jam-past-stop.csv", "--hand-sweep", "shuttle16-hand-sweep.csv"], {}],
    [["shuttle07-ridge", "shuttle07-ridge-after"], ["--road", "shuttle07-ridge.csv", "--after", "shuttle07-ridge-after.csv"], { width: 390, height: 800, touch: true, dark: true }]]) {
    const page = await openDrop(open, look);
    const { summary } = await give(page, ...files.map(sample));
    const json = await compare(page, options, files.join(" and "));
    check(json.captures.length === 2, `${files}: ${json.captures.length} captures`);
    if (json.case[0].repair === "repaired") check(summary.includes("repaired"), `the repair is told as ${summary}`);
    check(await page.evaluate(FITS), `${files}: must be scrolled sideways`);
    await page.done();
  }
}

async function whatElseIsKnownCounts(open) {
  const page = await openDrop(open);
  await fill(page, { closed_v: "1,20", open_v: "3.75", reference_v: "5.0", tolerance_v: "0.50" });
  await give(page, sample("shuttle13-short-travel"));
  const json = await compare(page, ["--spec", "shuttle.ini", "shuttle13-short-travel.csv"], "with a spec");
  check(json.case[0].finding === "short_travel", `with a spec: ${json.case[0].finding}`);
  await press(page, "clear");
  await fill(page, { code: "p2017, P2015", "meter.signal": "4.61", "meter.reference": "5.02", "meter.ground": "0.03" });
  await give(page, sample("shuttle19-open-wire"));
  await compare(page, ["--code", "P2017", "--code", "P2015", "--meter", "signal=4.61,reference=5.02,ground=0.03", "shuttle19-open-wire.csv"], "with codes and a meter");
  // Limits that fit each other, but not the usual ones.
  await fill(page, { high_limit_pct: "4.5", low_limit_pct: "2.5" });
  await press(page, "review");
  check((await seen(page)).trouble === "", `limits of 2.5 and 4.5 %: ${(await seen(page)).trouble}`);
  await page.done();
}

async function wrongValuesAreToldAtTheirFields(open) {
  const page = await openDrop(open);
  await give(page, sample("shuttle02-free"));
  for (const [values, field, says] of [
    [{ closed_v: "1.2O" }, "closed_v", "\u201cReading at the closed stop\u201d is \"1.2O\"; expected a number from -1,000,000 to 1,000,000, with a decimal point"],
    [{ closed_v: "3.1", open_v: "3.1" }, "open_v", "\u201cReading at the closed stop\u201d and \u201cReading at the open stop\u201d are the same; expected two readings that differ"],
    [{ closed_v: "", open_v: "", decide_at: "0.3" }, "decide_at", "from 0.5 to 1"],
    [{ decide_at: "", code: "P20170" }, "code", "a letter and four digits"],
    [{ code: "", "meter.ground": "99" }, "meter.ground", "from -48 to 48"],
    [{ "meter.ground": "", rows_per_second: "-3" }, "rows_per_second", "above 0"]]) {
    await fill(page, values);
    await press(page, "review");
    await page.evaluate(IDLE);
    const told = await page.evaluate(`(() => {
      const field = document.querySelector('[name="${field}"]');
      return { text: document.getElementById(field.getAttribute("aria-describedby"))?.innerText ?? "", marked: field.getAttribute("aria-invalid"), shown: field.getClientRects().length };
    })()`);
    check(told.text.includes(says) && told.marked === "true" && told.shown > 0, `${JSON.stringify(values)}: ${JSON.stringify(told)}`);
  }
  await fill(page, { closed_v: "x", code: "P20170", "meter.ground": "99" });
  await press(page, "review");
  await page.evaluate(IDLE);
  const told = await page.evaluate(`[...document.querySelectorAll("[aria-invalid]")].map(({ name }) => name).join()`);
  check(told === "closed_v,code,rows_per_second,meter.ground", `all that is wrong is told at once: ${told}`);
  await fill(page, { rows_per_second: "", closed_v: "", code: "", "meter.ground": "" });
  await press(page, "review");
  const { summary, trouble } = await seen(page);
  check(summary.includes("free") && trouble === "" && await page.evaluate(`document.querySelector("[aria-invalid]") === null`), `after all was right: ${summary} ${trouble}`);
  await page.done();
}

async function columnsAreSetByHand(open) {
  const page = await openDrop(open);
  const { tables } = await give(page, sample("shuttle24-two-banks"));
  const columns = execFileSync(program, ["columns", "shuttle24-two-banks.csv"], { cwd: samples, encoding: "utf8" });
  const words = (text) => text.replace(/\s+/g, "");
  check(tables.length === 1 && words(tables[0]).length > 0.9 * words(columns).length, "how the file was understood is told");
  await fill(page, { command: "Intake runner duty bank 2", position: "Intake runner position bank 2" });
  check((await seen(page)).note !== "", "a result from before the change says so");
  await press(page, "again");
  await seen(page);
  await compare(page, ["--command", "Intake runner duty bank 2", "--position", "Intake runner position bank 2", "shuttle24-two-banks.csv"], "columns by hand");
  await press(page, "clear");
  // Names that tell nothing: refused, and set by hand all the same.
  const blank = join(scratch, "blank.csv");
  const [head, ...rows] = readFileSync(sample("shuttle07-ridge"), "utf8").split("\n");
  writeFileSync(blank, [head.split(",").map((name, i) => (i === 0 ? name : `channel ${i}`)).join(","), ...rows].join("\n"));
  const refused = await give(page, blank);
  check(refused.refusals.length === 1 && refused.refusals[0].endsWith("; name the column of the position under \u201cHow the files were understood\u201d.")
    && refused.tables.length === 1, `names that tell nothing: ${refused.refusals}`);
  await fill(page, { command: "channel 5", position: "channel 6" });
  await press(page, "again");
  await seen(page);
  check(JSON.parse(await save(page, "json")).case[0].finding === "sticking", "columns of a refused file by hand");
  await press(page, "clear");
  // Names that stand twice, and none at all: by number.
  const twice = join(scratch, "twice.csv"), bare = join(scratch, "bare.csv");
  writeFileSync(twice, [head.split(",").map((name, i) => (i === 0 ? name : `channel ${i >> 1}`)).join(","), ...rows].join("\n"));
  writeFileSync(bare, rows.join("\n"));
  for (const [file, words] of [[twice, "channel 3 (column 7)"], [bare, "(column 7)"]]) {
    await give(page, file);
    const options = await page.evaluate(`[...document.querySelectorAll("[name=position] option")].map(({ value, textContent }) => [value, textContent])`);
    check(options.some(([value, text]) => value === "#7" && text === words), `${file}: ${JSON.stringify(options)}`);
    await fill(page, { command: "#6", position: "#7" });
    await press(page, "again");
    const { trouble, refusals } = await seen(page);
    check(trouble === "" && refusals.length === 0, `${file}: columns by number: ${trouble} ${refusals}`);
    check(JSON.parse(await save(page, "json")).case[0].finding === "sticking", `${file}: columns by number`);
    await press(page, "clear");
  }
  await page.done();
}

// What helps is named as the page names it; options of a command line help nobody here.
async function noWordIsOfTheCommandLine(open) {
  const page = await openDrop(open);
  const [head, ...rows] = readFileSync(sample("shuttle07-ridge"), "utf8").trimEnd().split("\n");
  const file = (name, lines) => {
    writeFileSync(join(scratch, name), lines.join("\n"));
    return join(scratch, name);
  };
  const cells = rows.map((row) => row.split(","));
  const noClock = file("no-clock.csv", [head, ...rows].map((line) => line.slice(line.indexOf(",") + 1)));
  const still = file("still-clock.csv", [head, ...cells.map((row) => ["2.385", ...row.slice(1)].join(","))]);
  const nameless = file("nameless.csv", [head.split(",").map((name, i) => (i === 0 ? name : `channel ${i}`)).join(","), ...rows]);
  const equal = file("equal.csv", [head.split(",").map((name, i) => (i === 4 ? "Intake runner position 2 (V)" : name)).join(","), ...rows]);
  const { refusals } = await give(page, noClock, still, nameless, equal, ...all.map((name) => join(samples, name)).slice(0, 12));
  check(refusals.filter((text) => text.endsWith(" under \u201cWhat else is known\u201d.")).length === 2, `without a clock: ${refusals}`);
  const words = await page.evaluate(`document.body.innerText + document.getElementById("tables").innerText + document.getElementById("report").contentDocument.body.innerText`);
  check(!/(^|\s)--[a-z]/.test(words), `an option of the program: ${words.match(/.{60}\s--[a-z].{40}/s)}`);
  check(!/[a-z]_(v|s|pct|at)\b/.test(words), `a key of a spec: ${words.match(/.{60}[a-z]_(v|s|pct|at)\b.{40}/s)}`);
  await press(page, "clear");
  await give(page, noClock);
  await page.evaluate(`document.querySelector("#files .trouble button").click()`);
  check(await page.evaluate(`document.activeElement.name === "rows_per_second" && document.activeElement.getClientRects().length > 0`), "the refusal leads to the field that it names");
  await fill(page, { rows_per_second: "10" });
  await press(page, "review");
  check((await seen(page)).refusals.length === 0, `a file without a clock, with its rate: ${(await seen(page)).refusals}`);
  await page.done();
}

async function hostileNamesStayText(open) {
  const page = await openDrop(open);
  const name = "<img src=x onerror=alert(1)>.csv";
  copyFileSync(sample("shuttle02-free"), join(scratch, name));
  const bad = join(scratch, "<b onclick=alert(2)>&lt;.csv");
  const columns = join(scratch, "columns.csv");
  writeFileSync(bad, "nothing");
  writeFileSync(columns, readFileSync(sample("shuttle07-ridge"), "utf8").replace("Intake runner duty", `Intake runner duty <img src=x onerror=alert(3)>`));
  const { refusals } = await give(page, join(scratch, name), bad, columns);
  check(refusals.length === 1 && refusals[0].includes("<b onclick=alert(2)>&lt;.csv"), `a refused hostile name: ${refusals}`);
  const text = await page.evaluate(`({ files: document.getElementById("files").innerText, tables: document.getElementById("tables").textContent,
    images: document.querySelectorAll("img, [onclick]").length + document.getElementById("report").contentDocument.querySelectorAll("img, [onclick]").length,
    options: [...document.querySelectorAll("#understood option")].map((option) => option.textContent) })`);
  check(text.files.includes(name) && text.tables.includes(name) && text.images === 0, `${JSON.stringify(text)}`);
  check(text.options.some((option) => option.includes("<img src=x onerror=alert(3)>")), `options: ${text.options}`);
  await page.done(); // what ran would have logged
}

async function refusedFilesSayWhyInPlace(open) {
  const page = await openDrop(open);
  const readme = join(source, "README.md");
  const { stderr } = spawnSync(program, ["review", "README.md"], { cwd: source, encoding: "utf8" });
  const message = stderr.trim().replace(/^platelag: /, "");
  const { refusals, hasReport, summary } = await give(page, readme);
  check(refusals.length === 1 && refusals[0].includes(message), `refused: ${refusals}, expected ${message}`);
  check(!hasReport && summary.includes("refused"), `nothing to report: ${summary}`);
  // The rest is done all the same; packed files are unpacked or refused.
  const file = (name, bytes) => {
    writeFileSync(join(scratch, name), bytes);
    return join(scratch, name);
  };
  const packed = gzipSync(readFileSync(sample("shuttle07-ridge")));
  const more = await give(page, file("ridge.csv.gz", packed), file("cut.csv.gz", packed.subarray(0, packed.length >> 1)),
    file("ridge.csv.zst", Buffer.from([0x28, 0xb5, 0x2f, 0xfd, 4, 0, 1, 0])), file("empty.csv", ""), file("noise.csv", Buffer.alloc(4096, 1)));
  check(more.refusals.length === 5 && more.hasReport && more.summary.includes("sticking"), `${more.refusals.length} refused, ${more.summary}`);
  check(more.refusals.some((text) => text.includes("cut.csv.gz: the packed file is damaged")), "a packed file that is cut off");
  check(more.refusals.some((text) => text.includes("ridge.csv.zst: zstd")), "a file packed by zstd");
  await page.done();
}

async function droppedFilesAreTaken(open) {
  const page = await openDrop(open);
  await page.evaluate(`(() => {
    const data = new DataTransfer();
    data.items.add(new File([${JSON.stringify(readFileSync(sample("shuttle07-ridge"), "utf8"))}], "shuttle07-ridge.csv"));
    const drop = document.getElementById("drop");
    for (const type of ["dragenter", "dragover", "drop"]) drop.dispatchEvent(new DragEvent(type, { dataTransfer: data, bubbles: true, cancelable: true }));
  })()`);
  await seen(page);
  await compare(page, ["shuttle07-ridge.csv"], "a file that was dropped");
  await page.done();
}

// --- a long capture ------------------------------------------------------------------------------

// Rows of a sample again and again, under a clock that goes on.
function makeBig(file) {
  const [head, ...rows] = readFileSync(sample("shuttle07-ridge"), "utf8").trimEnd().split("\n");
  const parts = rows.map((row) => [Number(row.slice(0, row.indexOf(","))), row.slice(row.indexOf(","))]);
  const period = parts.at(-1)[0] + 0.1, to = openSync(file, "w");
  for (let size = writeSync(to, `${head}\n`), turn = 0; size < BIG_BYTES; turn++)
    size += writeSync(to, `${parts.map(([time, rest]) => (time + turn * period).toFixed(3) + rest).join("\n")}\n`);
  closeSync(to);
  return file;
}

// Memory of the browser's tabs, and of what runs in them.
function tabBytes() {
  const about = (pid, name) => { try { return readFileSync(`/proc/${pid}/${name}`, "utf8"); } catch { return ""; } };
  const pids = readdirSync("/proc").filter((name) => /^\d+$/.test(name));
  const parent = new Map(pids.map((pid) => [pid, about(pid, "stat").replace(/^.*\) . /s, "").split(" ")[0]]));
  const isMine = (pid) => pid === String(process.pid) || (parent.has(pid) && isMine(parent.get(pid)));
  return pids.filter((pid) => about(pid, "cmdline").includes("--type=renderer") && isMine(pid))
    .reduce((sum, pid) => sum + 1024 * Number(about(pid, "status").match(/VmRSS:\s+(\d+)/)?.[1] ?? 0), 0);
}

const TICK = `globalThis.gap = 0; globalThis.drawing = 0; globalThis.words = new Set(); (() => {
  let last = performance.now();
  setInterval(() => {
    const now = performance.now();
    if (document.getElementById("result").ariaBusy === "false") drawing = Math.max(drawing, now - last); else gap = Math.max(gap, now - last);
    last = now;
    words.add(document.getElementById("doing").textContent);
  }, 10);
})()`;

async function aHundredMegabytesLeaveThePageAwake(open) {
  const big = makeBig(join(scratch, "big.csv"));
  const page = await openDrop(open);
  await give(page, sample("shuttle02-free"));
  await press(page, "clear");
  const before = tabBytes();
  await page.evaluate(TICK);
  await page.choose("#chooser", [big]);
  await new Promise((resolve) => setTimeout(resolve, 500));
  check(await page.evaluate(`!document.getElementById("work").hidden`), "how far the work is, is shown");
  await press(page, "stop");
  check((await page.evaluate(LOOK)).note.startsWith("Stopped.") && await page.evaluate(`document.getElementById("work").hidden`), "the stop button stops");
  await press(page, "review");
  const begun = performance.now();
  const { summary, trouble } = await seen(page);
  const seconds = (performance.now() - begun) / 1000;
  await new Promise((resolve) => setTimeout(resolve, 1500));
  const { gap, drawing, words } = await page.evaluate("({ gap, drawing, words: [...words] })");
  check(!timesCount || gap <= MOST_GAP_MS, `the page slept for ${gap.toFixed(0)} ms, at most ${MOST_GAP_MS}`);
  check(words.filter((text) => text.startsWith("Reading big.csv:")).length >= 5 && words.includes("Judging"), `progress: ${words.slice(0, 9)}`);
  const json = JSON.parse(await save(page, "json"));
  const { case: [wanted] } = JSON.parse(ask("--json", big));
  check(trouble === "" && json.case[0].finding === wanted.finding && summary.includes(wanted.finding), `100 MB: ${summary} ${trouble}, expected ${wanted.finding}`);
  await page.evaluate("new Promise((resolve) => setTimeout(resolve, 3000))");
  const left = tabBytes() - before;
  const longest = await page.longestTask(() => page.evaluate(`new Promise((resolve) => {
    const report = document.getElementById("report");
    report.addEventListener("load", () => resolve(report.contentWindow.platelag?.isDrawn), { once: true });
    report.srcdoc = report.srcdoc;
  })`));
  check(longest <= MOST_TASK_MS, `a task of ${longest.toFixed(0)} ms of processor time while the report was drawn, at most ${MOST_TASK_MS}`);
  check(left < MOST_LEFT_BYTES, `the tab holds ${(left / 1e6).toFixed(0)} MB more after 100 MB, at most ${MOST_LEFT_BYTES / 1e6}`);
  console.log(`100 MB: ${seconds.toFixed(1)} s, the page slept for ${gap.toFixed(0)} ms at most while it was read and judged, ${drawing.toFixed(0)} ms while the report was drawn, whose longest task takes ${longest.toFixed(0)} ms of processor time; the tab holds ${(left / 1e6).toFixed(0)} MB more than before`);
  rmSync(big);
  await page.done();
}

// --- how long it takes ---------------------------------------------------------------------------

const median = (list) => list.toSorted((a, b) => a - b)[list.length >> 1];
const isReady = (page) => page.evaluate(`new Promise((resolve) => {
  (function look() { if (performance.getEntriesByName("platelag-ready").length > 0) resolve(); else setTimeout(look, 10); })();
})`);

// From the moment that the file is chosen until the result stands, as the page's clock tells.
async function timeOf(page, file) {
  await page.evaluate(`(() => {
    const chooser = document.getElementById("chooser"), summary = document.getElementById("summary");
    chooser.addEventListener("change", () => { globalThis.begun = performance.now(); }, { once: true, capture: true });
    globalThis.shown = new Promise((resolve) => {
      const observer = new MutationObserver(() => {
        if (summary.childElementCount === 0) return;
        observer.disconnect();
        resolve(performance.now() - begun);
      });
      observer.observe(summary, { childList: true });
    });
  })()`);
  await page.choose("#chooser", [file]);
  const ms = await page.evaluate("shown");
  await seen(page);
  await page.evaluate(`new Promise((resolve) => {
    const { contentWindow } = document.getElementById("report");
    (function look() { if (contentWindow.platelag === undefined) setTimeout(look, 10); else resolve(contentWindow.platelag.isDrawn); })();
  })`);
  await press(page, "clear");
  return ms;
}

// Page and program by turns, so that what else the machine does falls on both.
async function aReviewIsNearlyAsFastAsTheProgram(open) {
  const TURNS = 15;
  const file = join(scratch, "ten.csv");
  execFileSync(program, ["practice", "--fault", "ridge", "--seed", "2385", "--minutes", "10", "--rows-per-second", "10", "--extra-channels", "2", file], { stdio: "ignore" });
  const cold = await openDrop(open);
  const first = await timeOf(cold, file);
  await cold.done();
  const page = await openDrop(open);
  await isReady(page);
  const here = [], there = [];
  for (let i = 0; i < TURNS; i++) {
    here.push(await timeOf(page, file));
    const begun = performance.now();
    execFileSync(program, ["review", "--html", "/dev/null", file], { stdio: "ignore" });
    there.push(performance.now() - begun);
  }
  const ratio = median(here) / median(there);
  console.log(`10 min, 10 rows/s, from the drop to the result: ${median(here).toFixed(0)} ms in the page, ${median(there).toFixed(0)} ms by the program, ${ratio.toFixed(2)} times (medians of ${TURNS}); ${first.toFixed(0)} ms in a page that was not yet ready`);
  check(!timesCount || ratio <= MOST_TIMES, `the page takes ${ratio.toFixed(2)} times the program's time, at most ${MOST_TIMES}`);
  await page.done();
}

// --- what goes wrong -----------------------------------------------------------------------------

const WASM = /(<script type="application\/octet-stream" id="wasm">)([^<]*)/;

function makePageWith(name, engine) {
  const text = readFileSync(drop, "utf8");
  writeFileSync(join(scratch, name), text.replace(WASM, (all, tag, base64) => tag + engine(Buffer.from(base64, "base64")).toString("base64")));
  return join(scratch, name);
}

// A number of WebAssembly's: seven bits a byte, the lowest first. Returns it and where it ends.
function readLeb(bytes, at) {
  let value = 0;
  for (let shift = 0; ; shift += 7) {
    value += (bytes[at] & 127) * 2 ** shift;
    if (bytes[at++] < 128) return [value, at];
  }
}

function leb(value) {
  const out = [];
  for (; value > 127; value = Math.floor(value / 128)) out.push((value % 128) + 128);
  return [...out, value];
}

// The engine with memory for the beginning and `more` pages of 64 kB alone.
function starve(packed, more) {
  const bytes = gunzipSync(packed);
  for (let at = 8; at < bytes.length;) {
    const [size, body] = readLeb(bytes, at + 1);
    if (bytes[at] === 5) {
      const [least] = readLeb(bytes, body + 2);
      const memory = [1, 1, ...leb(least), ...leb(least + more)];
      return gzipSync(Buffer.concat([bytes.subarray(0, at), Buffer.from([5, ...leb(memory.length), ...memory]), bytes.subarray(body + size)]));
    }
    at = body + size;
  }
  throw new Error("the engine has no memory of its own");
}

async function troubleIsToldAndThePageGoesOn(open) {
  for (const more of [2, 8]) {
    const poor = await openDrop(open, {}, makePageWith("poor.html", (packed) => starve(packed, more)));
    for (const turn of [1, 2]) {
      const { trouble, hasReport } = await give(poor, sample(turn === 1 ? "shuttle24-two-banks" : "shuttle07-ridge"));
      check(trouble.includes("memory") && !hasReport, `without memory, turn ${turn}: ${trouble}`);
    }
    check(await poor.evaluate(`document.getElementById("review").ariaDisabled === "false" && !document.getElementById("drop").disabled`), "the page can be used after a failure");
    await poor.done();
  }
  const broken = await openDrop(open, {}, makePageWith("broken.html", () => Buffer.from("no engine")));
  await broken.evaluate("new Promise((resolve) => setTimeout(resolve, 500))");
  check((await broken.evaluate(LOOK)).trouble.includes("cannot run the page"), "an engine that does not start");
  await broken.done();
}

// --- hands ---------------------------------------------------------------------------------------

async function keysAndFingersReachAll(open) {
  const page = await openDrop(open, { width: 390, height: 800, touch: true });
  await page.evaluate(`document.getElementById("chooser").addEventListener("click", (event) => { event.preventDefault(); globalThis.asked = true; })`);
  await page.key("Tab");
  check(await page.evaluate("document.activeElement.id") === "drop", "the first Tab reaches the drop zone");
  await page.key("Enter");
  check(await page.evaluate("globalThis.asked === true"), "Enter opens the file chooser");
  await give(page, sample("shuttle07-ridge"), join(source, "README.md"));
  await page.evaluate(`document.querySelectorAll("details").forEach((details) => { details.open = true; })`);
  const small = await page.evaluate(`[...document.querySelectorAll("button, select, input, summary")].filter((one) => one.getClientRects().length > 0)
    .filter((one) => one.getBoundingClientRect().height < 44 || one.getBoundingClientRect().width < 44).map((one) => one.outerHTML.slice(0, 80))`);
  check(small.length === 0, `too small for a finger: ${small}`);
  check(await page.evaluate(FITS), "must be scrolled sideways on 390 pixels");
  await page.evaluate(`document.getElementById("drop").focus()`);
  const wanted = await page.evaluate(`[...document.querySelectorAll("button:not(:disabled), select, input, summary, pre")].filter((one) => one.getClientRects().length > 0).length`);
  const reached = new Set();
  let bare = "";
  for (let i = 0; i < wanted && !reached.has("IFRAME"); i++) {
    const at = await page.evaluate(`(() => {
      const one = document.activeElement, { outlineStyle, outlineWidth } = getComputedStyle(one);
      return { tag: one.tagName, name: one.outerHTML.slice(0, 120), shows: outlineStyle !== "none" && parseFloat(outlineWidth) >= 2 };
    })()`);
    reached.add(at.tag === "IFRAME" ? "IFRAME" : at.name);
    if (!at.shows && at.tag !== "IFRAME") bare = at.name;
    await page.key("Tab");
  }
  check(reached.size >= wanted - 2, `Tab reaches ${reached.size} of ${wanted}`);
  check(bare === "", `no mark of where the keyboard is: ${bare}`);
  await page.done();
}

// Whoever asks by the keyboard is not thrown back to the page's beginning.
async function theKeyboardKeepsItsPlace(open) {
  const page = await openDrop(open);
  const place = () => page.evaluate("document.activeElement.id");
  await page.key("Tab");
  await give(page, sample("shuttle07-ridge"));
  check(await place() === "result-head", `after a file was chosen: ${await place()}`);
  for (const [from, to] of [["review", "result-head"], ["again", "again"]]) {
    await page.evaluate(`document.getElementById("understood").open = true; document.getElementById("${from}").focus()`);
    await page.key("Enter");
    await seen(page);
    check(await place() === to, `after ${from}: ${await place()}`);
  }
  await page.evaluate(`document.querySelector("#files button").focus()`);
  await page.key("Enter");
  check(await place() === "drop", `after the last file was removed: ${await place()}`);
  await page.done();
}

async function noRuleOfAccessIsBroken(open) {
  const axe = join(modules, "axe-core", "axe.min.js");
  if (modules === "" || !existsSync(axe)) return;
  for (const look of [{}, { dark: true }, { width: 390, height: 800 }]) {
    const page = await openDrop(open, look);
    await page.evaluate(readFileSync(axe, "utf8"));
    const broken = () => page.evaluate(`axe.run(document, { resultTypes: ["violations"], preload: false, iframes: false }).then(({ violations }) =>
      violations.map(({ id, nodes }) => id + ": " + nodes.slice(0, 3).map(({ html }) => html.slice(0, 160)).join(" / ")))`);
    check((await broken()).length === 0, `empty, ${JSON.stringify(look)}:\n  ${(await broken()).join("\n  ")}`);
    await give(page, sample("shuttle24-two-banks"), join(source, "README.md"));
    await fill(page, { closed_v: "x" });
    await press(page, "review");
    await page.evaluate(IDLE);
    await page.evaluate(`document.querySelectorAll("details").forEach((details) => { details.open = true; })`);
    check((await broken()).length === 0, `with a report, ${JSON.stringify(look)}:\n  ${(await broken()).join("\n  ")}`);
    await page.done();
  }
}

await run(itIsSmallAndAlone, everySampleGivesTheProgramsFinding, casesOfTwo, whatElseIsKnownCounts, wrongValuesAreToldAtTheirFields,
  columnsAreSetByHand, noWordIsOfTheCommandLine, hostileNamesStayText, refusedFilesSayWhyInPlace, droppedFilesAreTaken, aReviewIsNearlyAsFastAsTheProgram,
  aHundredMegabytesLeaveThePageAwake, troubleIsToldAndThePageGoesOn, keysAndFingersReachAll, theKeyboardKeepsItsPlace, noRuleOfAccessIsBroken);
