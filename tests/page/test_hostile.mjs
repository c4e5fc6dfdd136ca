#!/usr/bin/env node
// SPDX-License-Identifier: GPL-3.0-or-later
//
// Names from a file nobody here wrote: markup, the end of a script, quotes, control characters and
// words from right to left stay text, in the page and in its plots; nothing runs, nothing is asked for.
import { copyFileSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { check, makePage, run, samples, scratch, policyHolds } from "./check.mjs";

const names = [
  `<script>globalThis.bad=1</script>`,
  `</script><script>globalThis.bad=2</script>`,
  `</style><img src=x onerror=globalThis.bad=3>`,
  `"'\`onmouseover=globalThis.bad=4 x='`,
  `<svg/onload=globalThis.bad=5>`,
  `--><!--]]>&lt;b&gt;&#60;i&#62;`,
  `esc\u001b[31m bell\u0007 turn\u202egnp.csv\u2066`,
  `\u05e9\u05e1\u05ea\u05d5\u05dd 23 \u0635\u0645\u0627\u0645`,
  `{{7*7}}\${7*7}<%= 7*7 %>`,
];
const shown = (name) => name.replace(/[\u0000-\u001f\u202a-\u202e\u2066-\u2069]/g, "\ufffd");
const quote = (text) => `"${text.replaceAll('"', '""')}"`;

// A capture whose command has a hostile name and unit.
function makeCapture(name, index) {
  const [head, ...rows] = readFileSync(join(samples, "shuttle05-sticking.csv"), "latin1").split(/\r?\n/);
  const columns = head.split(";");
  const command = columns.findIndex((column) => column.includes("Tastverh"));
  columns[command] = `Klappe Tastverh\u00e4ltnis ${name}`;
  const file = join(scratch, `hostile${index}.csv`);
  writeFileSync(file, [columns.map(quote).join(";"), ...rows].join("\n"));
  return [file, columns[command], columns.find((column) => /Klappe.*Position|Position/i.test(column))];
}

async function namesStayText(open) {
  for (const [index, name] of names.entries()) {
    const [file, command, position] = makeCapture(name, index);
    const page = await open(makePage(`name${index}.html`, "--command", command.replace(/\s*\([^()]*\)$/, ""), "--position", position.replace(/\s*\([^()]*\)$/, ""), file));
    const seen = await page.evaluate(`({ bad: globalThis.bad ?? null, text: document.body.textContent,
      scripts: document.scripts.length, images: document.images.length, handlers: document.querySelectorAll("[onerror], [onload], [onmouseover]").length,
      labels: [...document.querySelectorAll("svg text, .live .unit")].map((text) => text.textContent) })`);
    const text = shown(name).replace(/\s+/g, " ");
    check(seen.bad === null, `${name} ran: ${seen.bad}`);
    check(seen.scripts <= 2 && seen.images === 0 && seen.handlers === 0, `${name} became markup`);
    check(seen.labels.some((label) => label.replace(/\s+/g, " ").includes(text)), `${name} is no label: ${[...new Set(seen.labels.filter((label) => label.includes("Klappe")))]}`);
    await page.done();
  }
}

async function fileNamesStayText(open) {
  for (const [index, name] of names.filter((text) => !text.includes("/") && !text.includes("\u0000")).entries()) {
    const file = join(scratch, `${name}.csv`);
    copyFileSync(join(samples, "shuttle02-free.csv"), file);
    const page = await open(makePage(`file${index}.html`, file));
    const seen = await page.evaluate(`({ bad: globalThis.bad ?? null, text: document.querySelector(".reading").textContent, scripts: document.scripts.length })`);
    check(seen.bad === null && seen.scripts <= 2, `${name} ran`);
    check(seen.text.includes(`${shown(name)}.csv`), `${name} is not told: ${seen.text}`);
    await page.done();
  }
}

// Even what slipped through unescaped could not run: the policy lets in one script by its hash.
async function thePolicyHolds(open) {
  await policyHolds(open, makePage("policy.html", join(samples, "shuttle02-free.csv")), join(scratch, "broken.html"));
}

await run(namesStayText, fileNamesStayText, thePolicyHolds);
