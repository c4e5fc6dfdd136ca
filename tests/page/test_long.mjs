#!/usr/bin/env node
// SPDX-License-Identifier: GPL-3.0-or-later
//
// Pages of long captures: ten minutes at ten rows a second stay small, and plots of more than 100,000
// points can be zoomed. How soon a page is ready and how long a frame takes is printed, for machines differ.
import { execFileSync } from "node:child_process";
import { statSync } from "node:fs";
import { join } from "node:path";
import { check, makePage, modules, program, run, scratch } from "./check.mjs";

const MOST_BYTES = 1.5e6, MOST_TASK_MS = 200;

function makeCapture(name, ...options) {
  const file = join(scratch, name);
  execFileSync(program, ["practice", "--fault", "ridge", "--seed", "2385", ...options, file], { stdio: "ignore" });
  return file;
}

async function tenMinutesMakeASmallPage(open) {
  const file = makePage("ten.html", makeCapture("ten.csv", "--minutes", "10", "--rows-per-second", "10", "--extra-channels", "2"));
  const bytes = statSync(file).size;
  check(bytes < MOST_BYTES, `${file}: ${bytes} bytes, at most ${MOST_BYTES}`);
  const page = await open(file);
  console.log(`10 min, 10 rows/s: ${(bytes / 1e3).toFixed(0)} kB, ready in ${page.readyMs.toFixed(0)} ms`);
  await page.done();
}

// Loads the page anew, until its plots are drawn.
async function drawAgain(page) {
  const before = await page.evaluate("performance.timeOrigin");
  await page.ask("Page.reload");
  for (;;) {
    const isNew = await page.evaluate(`document.readyState === "complete" && performance.timeOrigin !== ${before}`).catch(() => false); // between two pages
    if (isNew) return page.evaluate("platelag.isDrawn");
    await new Promise((resolve) => setTimeout(resolve, 20));
  }
}

// Zooms in and out by the keys, a frame each; returns the frames' lengths in ms.
const zoom = `(async () => {
  const live = document.querySelector("figure.is-live .live");
  const frame = () => new Promise(requestAnimationFrame);
  const lengths = [];
  live.focus();
  for (const key of [..."++++----++++----", "ArrowRight", "ArrowRight", "ArrowLeft"]) {
    const begun = performance.now();
    live.dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true }));
    await frame();
    lengths.push(performance.now() - begun);
  }
  const points = [...platelag.recordings.values()].reduce((sum, { panels }) => sum + panels.reduce((all, { lines }) => all + lines.reduce((n, { x }) => n + x.length, 0), 0), 0);
  return { points, lengths };
})()`;

async function aHundredThousandPointsCanBeZoomed(open) {
  if (modules === "") return;
  const page = await open(makePage("long.html", makeCapture("long.csv", "--minutes", "90", "--rows-per-second", "30")));
  const longest = await page.longestTask(() => drawAgain(page));
  check(longest <= MOST_TASK_MS, `a task of ${longest.toFixed(0)} ms of processor time while the page was drawn, at most ${MOST_TASK_MS}`);
  const { points, lengths } = await page.evaluate(zoom);
  lengths.sort((a, b) => a - b);
  check(points > 100000, `points of the long recording: ${points}`);
  console.log(`${points} points: ready in ${page.readyMs.toFixed(0)} ms, of which no task takes more than ${longest.toFixed(0)} ms of processor time, a zoomed frame in ${lengths[lengths.length >> 1].toFixed(0)} ms (median), ${lengths.at(-1).toFixed(0)} ms at most`);
  await page.done();
}

await run(tenMinutesMakeASmallPage, aHundredThousandPointsCanBeZoomed);
