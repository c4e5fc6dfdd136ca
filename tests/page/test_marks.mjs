#!/usr/bin/env node
// SPDX-License-Identifier: GPL-3.0-or-later
//
// The pages of a marked class. The instructor's is complete without script and sorts and opens by
// keyboard with it; a student's page holds nothing of another student and nothing that is the
// instructor's; hostile names stay text; everybody can read both; a student's fits two sheets.
import { execFileSync } from "node:child_process";
import { existsSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { check, modules, program, run, scratch, source, policyHolds } from "./check.mjs";

const STUDENTS = 15, COPIES = 2;
const folder = join(scratch, "class");
execFileSync(join(source, "scripts/make-class"), [folder, `${STUDENTS}`, `${COPIES}`, "2385"],
  { stdio: ["ignore", "ignore", "inherit"], env: { ...process.env, PLATELAG: program } });

const hostile = [
  `<script>globalThis.bad=1</script>`,
  `"><img src=x onerror=globalThis.bad=2>`,
  `' onmouseover='globalThis.bad=3' x='`,
  `</title></style><svg onload=globalThis.bad=4>`,
  `esc\u001b[31m turn\u202egnp.x\u2066`,
  `\u05e9\u05e1\u05ea\u05d5\u05dd \u0635\u0645\u0627\u0645`,
];
const shown = (name) => name.replace(/[\u0000-\u001f\u202a-\u202e\u2066-\u2069]/g, "\ufffd");
const quote = (text) => `"${text.replaceAll('"', '""')}"`;

// Every student gets a name that stands nowhere else; two say what is not understood, three hand in
// what cannot be marked.
const [head, ...rows] = readFileSync(join(folder, "answers.csv"), "utf8").trim().split("\n").map((line) => line.split(","));
const names = new Map();
for (const row of rows) {
  if (!names.has(row[0])) names.set(row[0], `Xq${names.size}z ${names.size < hostile.length ? hostile[names.size] : row[0]}`);
  row[0] = names.get(row[0]);
}
const extra = ["Xqnofile", "Xqnokey", "Xqgone"];
rows[0][4] = "stuckish";
rows.push([extra[0], rows[0][1], "", "", "sticking", "", "", ""], [extra[1], "tractor 38", rows[0][2], "road", "sticking", "", "", ""],
  [extra[2], rows[0][1], "gone.csv", "road", "sticking", "", "", ""]);
writeFileSync(join(folder, "answers.csv"), [head, ...rows].map((row) => row.map(quote).join(",")).join("\n"));
const all = [...names.values(), ...extra];

const pageOfClass = join(scratch, "class.html"), students = join(scratch, "students");
execFileSync(program, ["mark", "--key", join(folder, "key.csv"), "--answers", join(folder, "answers.csv"), join(folder, "recordings"),
  "--html", pageOfClass, "--students", students], { stdio: ["ignore", "ignore", "inherit"] });
const pages = readdirSync(students).map((name) => join(students, name));
const tag = (name) => name.match(/Xq\w+/)[0];

async function theClassIsAllThere(open) {
  const page = await open(pageOfClass);
  const seen = await page.evaluate(`({ bad: globalThis.bad ?? null, title: document.title, rows: document.querySelectorAll(".submissions tbody tr").length,
    details: document.querySelectorAll("details").length, unmarked: document.getElementById("unmarked").closest("section").textContent,
    alike: document.getElementById("alike").closest("section").textContent, likenesses: document.querySelectorAll("section:has(#alike) tbody tr").length,
    remarks: document.getElementById("remarks").closest("section").textContent, names: [...document.querySelectorAll(".submissions tbody th")].map((th) => th.textContent),
    foreign: document.querySelectorAll("img, [onerror], [onload], [onmouseover], .submissions script, header script").length, scripts: document.scripts.length,
    bars: document.querySelectorAll(".spread .bars").length, headings: [...document.querySelectorAll("h1, h2, h3")].map((h) => Number(h.tagName[1])) })`);
  check(seen.bad === null && seen.foreign === 0 && seen.scripts === 1, `a name ran or became markup: ${JSON.stringify(seen)}`);
  check(seen.rows === all.length && seen.details === all.length, `${seen.rows} rows and ${seen.details} details of ${all.length} submissions`);
  for (const name of all) check(seen.names.includes(shown(name)), `${name} is not in the table`);
  for (const name of extra) check(seen.unmarked.includes(name), `${name} is not told as not marked`);
  check(seen.unmarked.includes("tractor 38") && seen.unmarked.includes("could be read"), `reasons: ${seen.unmarked}`);
  check(seen.likenesses >= COPIES && /never a verdict/.test(seen.alike) && /correlation|agrees/.test(seen.alike), `likenesses: ${seen.alike}`);
  check(seen.remarks.includes("stuckish"), `remarks: ${seen.remarks}`);
  check(seen.bars >= 1 && seen.title.startsWith("Class marks - "), `bars ${seen.bars}, title ${seen.title}`);
  check(seen.headings.every((level, i) => i === 0 ? level === 1 : level <= seen.headings[i - 1] + 1), `headings jump: ${seen.headings}`);
  await page.done();
}

async function headingsSortByKeyboard(open) {
  const page = await open(pageOfClass);
  const column = (index) => page.evaluate(`[...document.querySelectorAll(".submissions tbody tr")].map((row) => row.cells[${index}].dataset.value ?? row.cells[${index}].textContent)`);
  const press = async (index) => {
    await page.evaluate(`document.querySelector(".submissions thead tr").cells[${index}].querySelector("button").focus()`);
    await page.key("Enter");
    return page.evaluate(`document.querySelector(".submissions thead tr").cells[${index}].getAttribute("aria-sort")`);
  };
  const numbers = (list) => list.map(Number.parseFloat).filter((value) => !Number.isNaN(value));
  const sorted = (list, direction) => list.every((value, i) => i === 0 || direction * (value - list[i - 1]) >= 0);
  for (const index of [2, 3, 5]) {
    check(await press(index) === "ascending", `column ${index}: not told as ascending`);
    const up = await column(index);
    check(sorted(numbers(up), 1) && numbers(up).length > 5, `column ${index} does not rise: ${up}`);
    check(Number.isNaN(Number.parseFloat(up.at(-1))), `column ${index}: what was not marked is not last: ${up}`);
    check(await press(index) === "descending", `column ${index}: not told as descending`);
    check(sorted(numbers(await column(index)), -1), `column ${index} does not fall`);
  }
  await press(0);
  const students = await column(0);
  check([...students].sort((a, b) => a.localeCompare(b, undefined, { numeric: true })).join() === students.join(), `students are not sorted: ${students}`);
  check(await page.evaluate(`document.querySelectorAll("[aria-sort]").length`) === 1, "more than one column is told as sorted");
  await page.done();
}

async function submissionsOpenByKeyboard(open) {
  const page = await open(pageOfClass);
  await page.evaluate(`document.querySelectorAll("summary")[1].focus()`);
  await page.key("Enter");
  check(await page.evaluate(`document.querySelectorAll("details")[1].open`), "Enter does not open a submission");
  await page.evaluate(`document.querySelectorAll(".submissions tbody a")[3].focus()`);
  await page.key("Enter");
  await page.settle();
  const at = await page.evaluate(`({ open: document.querySelectorAll("details")[3].open, focus: document.querySelectorAll("summary")[3] === document.activeElement,
    top: document.querySelectorAll("summary")[3].getBoundingClientRect().top })`);
  check(at.open && at.focus && at.top >= -1 && at.top < 900, `a name does not lead to its submission: ${JSON.stringify(at)}`);
  for (const [index, wanted] of [[0, all.length], [1, 0]]) {
    await page.evaluate(`document.querySelectorAll(".each .buttons button")[${index}].focus()`);
    await page.key("Enter");
    const count = await page.evaluate(`document.querySelectorAll("details[open]").length`);
    check(count === wanted, `${count} submissions are open, expected ${wanted}`);
  }
  await page.done();
}

async function itIsCompleteWithoutScript(open) {
  const page = await open(pageOfClass, { script: false });
  const { root } = await page.ask("DOM.getDocument");
  const count = async (selector) => (await page.ask("DOM.querySelectorAll", { nodeId: root.nodeId, selector })).nodeIds.length;
  check(await count(".submissions tbody tr") === all.length && await count("details > summary") === all.length, "submissions lack without script");
  check(await count("button") === 0, "buttons that nothing answers to");
  await page.done();
}

// What a student has no need to read, and what would hurt.
const never = /likeness|alike|remark|copied|median|class|instructor alone|\bwrong|\bfail|blame|mistake|\bbad\b|\bpoor/i;

async function aStudentSeesWhatIsTheStudents(open) {
  check(pages.length === all.length, `${pages.length} pages of ${all.length} students`);
  for (const file of pages) {
    const page = await open(file);
    const seen = await page.evaluate(`({ bad: globalThis.bad ?? null, who: document.querySelector(".who").textContent, title: document.title, text: document.body.textContent,
      scripts: document.scripts.length, foreign: document.querySelectorAll("img, [onerror], [onload], [onmouseover]").length, wide: document.documentElement.scrollWidth > innerWidth })`);
    const own = all.find((name) => shown(name) === seen.who);
    check(own !== undefined && seen.title === `Feedback for ${seen.who}`, `${file}: whose page is it? ${seen.who} ${seen.title}`);
    check(seen.bad === null && seen.scripts === 0 && seen.foreign === 0, `${file}: a name ran or became markup`);
    const source = readFileSync(file, "utf8"), words = own === undefined ? "" : seen.text.replaceAll(shown(own), "");
    for (const other of all.filter((name) => name !== own)) check(!source.includes(tag(other) + (other === tag(other) ? "" : " ")), `${file} tells of ${tag(other)}`);
    for (const row of rows.filter((one) => one[0] !== own && one[2] !== "" && !rows.some((mine) => mine[0] === own && mine[2] === one[2])))
      check(!source.includes(row[2]), `${file} names ${row[2]} of ${row[0]}`);
    check(!never.test(words), `${file} says "${words.match(never)?.[0]}"`);
    await page.done();
  }
}

async function goodComesFirstThenAdvice(open) {
  for (const file of pages.filter((name) => !extra.some((one) => name.includes(one)))) {
    const page = await open(file);
    const seen = await page.evaluate(`({ headings: [...document.querySelectorAll("h3")].map((h) => h.textContent), next: document.querySelectorAll(".next li").length,
      last: document.querySelector("main > :last-child").className, gains: [...document.querySelectorAll(".gains .points")].map((one) => one.textContent) })`);
    const lost = seen.gains.map((text) => { const [points, of] = text.split(" of ").map(Number.parseFloat); return of - points; });
    check(seen.headings[0] === "What was good" && seen.last === "next", `${file}: ${seen.headings}, then ${seen.last}`);
    check(seen.next <= 3 && (lost.length === 0 || seen.next >= 1), `${file}: ${seen.next} pieces of advice`);
    check(lost.every((value, i) => i === 0 || value <= lost[i - 1] + 0.11), `${file}: what earns most is not first: ${seen.gains}`);
    await page.done();
  }
}

async function sheetsAndTelephones(open) {
  for (const [file, most] of [[pageOfClass, 12], ...pages.map((one) => [one, 2])]) {
    const page = await open(file, { print: true });
    const sheets = (await page.pdf()).toString("latin1").match(/\/Type\s*\/Page\b/g)?.length ?? 0;
    check(sheets >= 1 && sheets <= most, `${file}: ${sheets} sheets, at most ${most}`);
    await page.done();
    const narrow = await open(file, { width: 390, height: 800, touch: true });
    check(await narrow.evaluate("document.documentElement.scrollWidth <= innerWidth"), `${file}: must be scrolled sideways on 390 pixels`);
    await narrow.done();
  }
}

const axe = join(modules, "axe-core", "axe.min.js");

async function noRuleIsBroken(open) {
  if (modules === "" || !existsSync(axe)) return;
  const rules = readFileSync(axe, "utf8");
  for (const file of [pageOfClass, pages[0], pages.at(-1)])
    for (const look of [{}, { dark: true }, { width: 390, height: 800 }]) {
      const page = await open(file, look);
      await page.evaluate(`document.querySelectorAll("details").forEach((one, i) => { one.open = i < 2; })`);
      await page.evaluate(rules);
      const broken = await page.evaluate(`axe.run(document, { resultTypes: ["violations"], preload: false }).then(({ violations }) =>
        violations.map(({ id, nodes }) => id + ": " + nodes.slice(0, 3).map(({ html, failureSummary }) => html.slice(0, 160) + " (" + failureSummary.replace(/\\s+/g, " ").slice(0, 260) + ")").join(" / ")))`);
      check(broken.length === 0, `${file} ${JSON.stringify(look)}:\n  ${broken.join("\n  ")}`);
      await page.done();
    }
}

// Even what slipped through unescaped could not run.
async function thePolicyHolds(open) {
  for (const file of [pageOfClass, pages[0]]) await policyHolds(open, file, join(scratch, "broken.html"));
}

await run(theClassIsAllThere, headingsSortByKeyboard, submissionsOpenByKeyboard, itIsCompleteWithoutScript, aStudentSeesWhatIsTheStudents,
  goodComesFirstThenAdvice, sheetsAndTelephones, noRuleIsBroken, thePolicyHolds);
