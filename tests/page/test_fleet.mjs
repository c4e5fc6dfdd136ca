#!/usr/bin/env node
// SPDX-License-Identifier: GPL-3.0-or-later
//
// The page of a fleet, in a browser: names stay text and nothing is asked for; columns sort, filters
// narrow, rows open by mouse and by key; reports are linked or their command is shown, and making one
// makes its link work; without script every row shows all its reasons.
import { execFileSync } from "node:child_process";
import { existsSync, mkdirSync, readFileSync, statSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { check, program, run, scratch, policyHolds } from "./check.mjs";
import { hostile, makeFleet } from "./fleet.mjs";

const fleet = makeFleet("fleet");
const VALVES = 7; // of six vehicles, one with two banks

const rows = `[...document.querySelectorAll("#ranking > tbody:not(.nothing)")]`;
const order = `${rows}.filter((body) => !body.hidden).map((body) => Number(body.rows[0].cells[0].textContent))`;
const cell = (name) => `${rows}.filter((body) => !body.hidden).map((body) => body.rows[0].cells[[...document.querySelectorAll("#ranking > thead th")].findIndex((head) => head.textContent === "${name}")].textContent)`;
const press = (name) => `[...document.querySelectorAll("#ranking > thead button")].find((button) => button.textContent === "${name}").click()`;
const sortOf = (name) => `[...document.querySelectorAll("#ranking > thead th")].find((head) => head.textContent === "${name}").getAttribute("aria-sort")`;
const rising = (list) => list.every((value, i) => i === 0 || list[i - 1] <= value);

async function namesStayText(open) {
  const page = await open(fleet.page);
  await page.evaluate(`document.querySelectorAll(".name").forEach((button) => button.click())`);
  const seen = await page.evaluate(`({ bad: globalThis.bad ?? null, text: document.body.textContent, title: document.title,
    images: document.images.length, marked: document.querySelectorAll("main :is(i, u, s), [onerror], [onload]").length,
    running: [...document.scripts].filter((script) => script.type === "").length })`);
  check(seen.bad === null && seen.images === 0 && seen.marked === 0 && seen.running === 1, `names became markup: ${JSON.stringify({ ...seen, text: "" })}`);
  for (const name of [...hostile, "captures <b>/v0-2026-11-09.csv", "plates & <b>pins</b>", "<u>broken.csv", "<i>six</i> 3.0"])
    check(seen.text.includes(name), `${name} is not told`);
  check(seen.title.startsWith("Runner valve fleet - 6 vehicles, 7 valves, 48 captures"), `title ${seen.title}`);
  check(seen.text.includes("A place in this list is a reason to look, not a repair order."), "the caution is not told");
  await page.done();
}

async function thePolicyHolds(open) {
  await policyHolds(open, fleet.page, join(scratch, "broken.html"));
}

async function columnsSort(open) {
  const page = await open(fleet.page);
  check((await page.evaluate(order)).join() === "1,2,3,4,5,6,7", "the ranking is not in order");
  check(await page.evaluate(sortOf("Rank")) === "ascending", "the order is not told");
  await page.evaluate(press("Vehicle"));
  const names = (await page.evaluate(cell("Vehicle"))).filter((name) => name.startsWith("shuttle"));
  check(names.join() === "shuttle 2,shuttle 10,shuttle 11bank 1,shuttle 11bank 2", `vehicles by name: ${names}`);
  check(await page.evaluate(sortOf("Vehicle")) === "ascending" && await page.evaluate(sortOf("Rank")) === null, "the new order is not told");
  await page.evaluate(press("Vehicle"));
  check(await page.evaluate(sortOf("Vehicle")) === "descending", "a second click does not turn the order");
  for (const name of ["Engine", "Standing", "Finding and why", "Figure to watch", "Next", "Last log", "Rank"]) {
    await page.evaluate(press(name));
    check((await page.evaluate(order)).length === VALVES, `sorting by ${name} loses rows`);
  }
  check(rising(await page.evaluate(order)), "rank does not bring the ranking back");
  await page.evaluate(press("Figure to watch"));
  const shares = await page.evaluate(`${rows}.map((body) => body.rows[0].querySelector("td[data-s]").dataset.s).filter((text) => text !== "").map(Number)`);
  check(shares.length > 2 && rising([...shares].reverse()), `not the nearest to its limit first: ${shares}`);
  await page.done();
}

async function filtersNarrow(open) {
  const page = await open(fleet.page);
  const shown = async () => [(await page.evaluate(order)).length, await page.evaluate(`document.getElementById("shown").textContent`)];
  const pick = (id, value) => page.evaluate(`(() => { const box = document.getElementById("${id}"); box.value = ${JSON.stringify(value)}; box.dispatchEvent(new Event("input")); box.dispatchEvent(new Event("change")); })()`);
  check((await shown()).join() === "7,7 valves", `at first: ${await shown()}`);
  await pick("find", "BANK 2");
  check((await shown()).join() === "1,1 of 7 valves", `by text: ${await shown()}`);
  await pick("find", "<IMG");
  check((await shown())[0] === 1, `by a hostile text: ${await shown()}`);
  await pick("find", "nobody");
  check((await shown())[0] === 0 && await page.evaluate(`!document.querySelector(".nothing").hidden`), "nothing found is not told");
  await page.evaluate(`document.getElementById("all").click()`);
  check((await shown())[0] === VALVES, `show all: ${await shown()}`);
  await pick("finding", "sticking");
  check((await page.evaluate(cell("Finding and why"))).every((text) => text.startsWith("sticking")) && (await shown())[0] > 0, "by finding");
  await pick("finding", "");
  await pick("engine", "four 1.8");
  check((await page.evaluate(cell("Engine"))).every((text) => text === "four 1.8") && (await shown())[0] === 4, `by engine: ${await shown()}`);
  await page.evaluate(`document.getElementById("all").click()`);
  await page.evaluate(`document.querySelector(".standings button").click()`);
  const standings = new Set(await page.evaluate(cell("Standing")));
  check(standings.size === 1 && await page.evaluate(`document.querySelector(".standings button").getAttribute("aria-pressed")`) === "true", `by standing: ${[...standings]}`);
  await page.evaluate(`document.querySelector(".standings button").click()`);
  check((await shown())[0] === VALVES, "a second click lets all in");
  const bars = await page.evaluate(`[...document.querySelectorAll(".spread svg")].map((svg) => [...svg.querySelectorAll("g")].map((bar) => {
    const count = () => document.querySelectorAll("#ranking > tbody:not(.nothing):not([hidden])").length;
    bar.dispatchEvent(new MouseEvent("click", { bubbles: true }));
    const shown = count(), chip = document.getElementById("bin").textContent;
    bar.dispatchEvent(new MouseEvent("click", { bubbles: true }));
    return [shown, Number(/: (\\d+) valve/.exec(bar.textContent)[1]), chip, count()];
  }))`);
  check(bars.length >= 6 && bars.flat().every(([shows, says, chip, all]) => shows === says && chip !== "" && all === VALVES), `bars show other valves than they count: ${JSON.stringify(bars)}`);
  check(bars.every((own) => own.reduce((sum, [, says]) => sum + says, 0) <= VALVES), "bars count a valve twice");
  await page.done();
}

async function rowsOpenByKey(open) {
  const page = await open(fleet.page);
  await page.evaluate(`document.querySelector(".name").focus()`);
  await page.key("Enter");
  const seen = await page.evaluate(`(() => {
    const body = document.querySelector("tbody.open");
    return { expanded: document.querySelector(".name").getAttribute("aria-expanded"), controls: document.getElementById(document.querySelector(".name").getAttribute("aria-controls")).getClientRects().length,
      reasons: body.querySelectorAll(".more li").length, figures: body.querySelectorAll(".inner")[0].querySelectorAll("th[scope=row]").length, plots: body.querySelectorAll("figure").length,
      points: body.querySelectorAll("figure")[0].querySelectorAll(".point").length, lines: body.querySelectorAll("figure")[0].querySelectorAll(".fit").length, limits: body.querySelectorAll(".limit-label").length,
      logs: body.querySelectorAll(".inner")[1].querySelectorAll("th[scope=row]").length, links: body.querySelectorAll("td.report a").length,
      commands: body.querySelectorAll("td.report button").length };
  })()`);
  check(seen.expanded === "true" && seen.controls > 0 && seen.reasons >= 2, `a row does not open by key: ${JSON.stringify(seen)}`);
  check(seen.figures === 9 && seen.plots === 9 && seen.points === 8 && seen.lines === 1 && seen.limits === 3, `what lies behind a row: ${JSON.stringify(seen)}`);
  check(seen.logs === 8 && seen.links === 1 && seen.commands === 7, `its logs: ${JSON.stringify(seen)}`);
  await page.key("Enter");
  check(await page.evaluate(`document.querySelector("tbody.open") === null`), "a row does not close by key");
  const repaired = await page.evaluate(`(() => {
    const name = [...document.querySelectorAll(".name")].find((button) => button.textContent === "shuttle 10");
    name.click();
    const plot = name.closest("tbody").querySelector("figure");
    return { old: plot.querySelectorAll(".point.old").length, now: plot.querySelectorAll(".point:not(.old)").length, repairs: plot.querySelectorAll(".repair").length };
  })()`);
  check(repaired.old === 5 && repaired.now === 3 && repaired.repairs === 1, `a repair parts the logs: ${JSON.stringify(repaired)}`);
  await page.done();
}

async function reportsAreLinkedOrTheirCommandIsShown(open) {
  const page = await open(fleet.page);
  const seen = await page.evaluate(`(() => {
    document.querySelector(".name").click();
    const body = document.querySelector("tbody.open");
    body.querySelector("td.report button").click();
    const row = body.querySelector(".command").closest("tr");
    return { there: body.querySelector("td.report a").getAttribute("href"), point: body.querySelector("a.point[href]")?.getAttribute("href"), hidden: row.hidden, command: row.querySelector("code").textContent, made: row.querySelector("a").getAttribute("href") };
  })()`);
  const at = (href) => join(dirname(fleet.page), decodeURIComponent(href));
  check(existsSync(at(seen.there)) && seen.point === seen.there, `the link leads nowhere: ${seen.there}`);
  check(!seen.hidden && seen.command.startsWith("platelag fleet --store 'it'\\''s.db' --capture ") && !existsSync(at(seen.made)), `the command: ${seen.command}`);
  execFileSync("sh", ["-c", seen.command.replace(/^platelag/, '"$0"'), program], { cwd: fleet.folder });
  check(existsSync(at(seen.made)), `the command did not make ${seen.made}`);
  // A click on a point whose report is not there shows its command.
  const shown = await page.evaluate(`(() => {
    const body = document.querySelector("tbody.open");
    body.querySelectorAll("a.point:not([href])")[0].dispatchEvent(new MouseEvent("click", { bubbles: true }));
    return [...body.querySelectorAll(".command")].filter((box) => box.getClientRects().length > 0).length;
  })()`);
  check(shown === 2, `a point shows ${shown} commands`);
  await page.done();
  // The page that is written anew knows the report.
  execFileSync(program, ["fleet", "--report", "--store", fleet.store, "--html", "fleet.html"], { cwd: fleet.folder, stdio: "ignore" });
  const again = await open(fleet.page);
  check(await again.evaluate(`(document.querySelector(".name").click(), document.querySelectorAll("tbody.open td.report a").length)`) >= 2, "the made report is not linked");
  await again.done();
}

async function screensOfAllWidthsAndPaper(open) {
  for (const look of [{ width: 390, height: 800, touch: true }, { width: 820, height: 1100 }, { width: 1180, height: 900 }]) {
    const page = await open(fleet.page, look);
    await page.evaluate(`document.querySelector(".name").click()`);
    check(!(await page.evaluate(`document.documentElement.scrollWidth > innerWidth`)), `must be scrolled sideways on ${look.width} pixels`);
    const thin = await page.evaluate(`[...document.querySelectorAll("#ranking > tbody:not(.nothing) > tr:first-child > :is(th, td)")].filter((cell) => cell.textContent.length > 20 && cell.getBoundingClientRect().width < 90).map((cell) => cell.textContent)`);
    check(thin.length === 0, `cells too thin to read on ${look.width} pixels: ${thin}`);
    await page.evaluate(`(() => { const find = document.getElementById("find"); find.value = "bank 2"; find.dispatchEvent(new Event("input")); })()`);
    check(await page.evaluate(`${rows}.filter((body) => body.getClientRects().length > 0).length`) === 1, `filtered rows stay in sight on ${look.width} pixels`);
    await page.done();
  }
  const page = await open(fleet.page, { print: true });
  check(await page.evaluate(`[".filters input", "thead button"].every((part) => document.querySelector(part).getClientRects().length === 0)`), "what can only be pressed is printed");
  await page.done();
}

async function withoutScriptEveryRowShowsItsReasons(open) {
  const page = await open(fleet.page, { script: false });
  const { root } = await page.ask("DOM.getDocument");
  const find = async (selector) => (await page.ask("DOM.querySelectorAll", { nodeId: root.nodeId, selector })).nodeIds;
  const isShown = async (nodeId) => page.ask("DOM.getBoxModel", { nodeId }).then(({ model }) => model.height > 10, () => false);
  check((await find("#ranking > tbody")).length === VALVES && (await find("svg.trend")).length === VALVES, "rows or plots are lacking");
  for (const selector of [".more", ".more .file", "svg.trend", ".spread svg", ".standings a", "a[href^='./fleet-captures/']"]) {
    const all = await find(selector);
    check(all.length > 0, `no ${selector}`);
    for (const nodeId of all) check(await isShown(nodeId), `${selector} is not shown without script`);
  }
  for (const nodeId of await find(".filters, .js")) check(!await isShown(nodeId), "filters are shown without script");
  await page.done();
}

async function aLargeFleetStaysSmallAndQuick(open) {
  // The rows of the small page many times over: a page of a thousand valves, without their captures.
  const text = readFileSync(fleet.page, "utf8");
  const from = text.indexOf("<tbody"), to = text.lastIndexOf("</tbody>", text.indexOf("</table></div>", from)) + 8;
  const bodies = text.slice(from, to).split(/(?<=<\/tbody>)\n/);
  const thousand = Array.from({ length: 1000 }, (_, i) => bodies[i % bodies.length].replace(/ id="s\d"/, "").replace(/<td>\d+<\/td>/, `<td>${i + 1}</td>`));
  mkdirSync(join(scratch, "large"), { recursive: true });
  const file = join(scratch, "large", "fleet.html");
  writeFileSync(file, text.slice(0, from) + thousand.join("\n") + text.slice(to));
  const bytes = statSync(file).size;
  check(bytes < 4e6, `${bytes} bytes for 1000 valves`);
  const page = await open(file);
  const times = await page.evaluate(`(async () => {
    const frame = () => new Promise((resolve) => requestAnimationFrame(() => setTimeout(resolve)));
    const time = async (act) => { await frame(); const begun = performance.now(); act(); document.body.offsetHeight; const spent = performance.now() - begun; await frame(); return Math.round(spent); };
    const find = document.getElementById("find");
    const type = (text) => { find.value = text; find.dispatchEvent(new Event("input")); };
    return { sort: await time(() => ${press("Vehicle")}), back: await time(() => ${press("Rank")}), filter: await time(() => type("shuttle 2")), all: await time(() => type("")),
      open: await time(() => document.querySelector(".name").click()) };
  })()`);
  console.log(`1000 valves x 8 logs: ${(bytes / 1e6).toFixed(2)} MB, ready in ${page.readyMs.toFixed(0)} ms; with layout: ${JSON.stringify(times)} ms`);
  await page.done();
}

await run(namesStayText, thePolicyHolds, columnsSort, filtersNarrow, rowsOpenByKey, reportsAreLinkedOrTheirCommandIsShown, screensOfAllWidthsAndPaper,
  withoutScriptEveryRowShowsItsReasons, aLargeFleetStaysSmallAndQuick);
