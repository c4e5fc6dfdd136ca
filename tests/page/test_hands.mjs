#!/usr/bin/env node
// SPDX-License-Identifier: GPL-3.0-or-later
//
// Plots answer to hands: zoom by dragging, moving, wheel, buttons, keys and fingers; the cursor reads
// in all panels what the file holds; a click on a step shows that step; captures side by side each
// keep their own time. A build without the plotting library has none of this to test.
import { readFileSync } from "node:fs";
import { execFileSync } from "node:child_process";
import { join } from "node:path";
import { check, makePage, modules, near, program, run, samples, source } from "./check.mjs";

if (modules === "") {
  console.log("1 passed, 0 failed: without the plotting library there are no plots to zoom");
  process.exit(0);
}

const file = join(samples, "shuttle02-free.csv");
const page02 = makePage("free.html", file);
const repair = makePage("repair.html", "--spec", join(samples, "shuttle.ini"), "--road",
  join(samples, "shuttle07-ridge.csv"), "--after", join(samples, "shuttle07-ridge-after.csv"));

// Where the plotting area of panel `index` of recording `which` lies, and how times map to it.
const area = (which, index = 0) => `(() => {
  const recording = [...platelag.recordings.values()][${which}];
  recording.figure.scrollIntoView({ block: "center", behavior: "instant" });
  const box = recording.plots[${index}].over.getBoundingClientRect();
  return { left: box.left, top: box.top, width: box.width, height: box.height, range: recording.range, full: recording.full };
})()`;
const state = (which) => `(() => {
  const recording = [...platelag.recordings.values()][${which}];
  return { range: recording.range, full: recording.full, time: recording.time, words: recording.readout.textContent,
    spoken: recording.live.getAttribute("aria-valuetext"),
    scales: recording.plots.map((u) => [u.scales.x.min, u.scales.x.max]),
    disabled: recording.outButtons.map((button) => button.disabled), cursors: recording.plots.map((u) => u.cursor.left),
    dot: recording.loop.dot.hidden ? null : [parseFloat(recording.loop.dot.style.left), parseFloat(recording.loop.dot.style.top)] };
})()`;
const span = ([from, to]) => to - from;
const xOf = (at, time) => at.left + at.width * (time - at.range[0]) / span(at.range);
const middle = (at) => at.top + at.height / 2;

async function draggingZoomsAllPanels(open) {
  const page = await open(page02);
  const at = await page.evaluate(area(0));
  await page.drag(xOf(at, 40), middle(at), xOf(at, 70), middle(at));
  const now = await page.evaluate(state(0));
  near(now.range[0], 40, 0.4, "zoomed from");
  near(now.range[1], 70, 0.4, "zoomed to");
  for (const scale of now.scales) check(scale[0] === now.range[0] && scale[1] === now.range[1], `a panel stayed at ${scale}`);
  check(now.disabled.every((off) => !off), "buttons stayed off after zooming");
  await page.drag(xOf(at, 40), middle(at), xOf(at, 41), middle(at)); // of the zoomed part by now
  check(span((await page.evaluate(state(0))).range) < 3, "zooming twice goes deeper");
  await page.mouse("mousePressed", at.left + 50, middle(at), { button: "left", clickCount: 1 });
  await page.mouse("mouseReleased", at.left + 50, middle(at), { button: "left", clickCount: 1 });
  await page.mouse("mousePressed", at.left + 50, middle(at), { button: "left", clickCount: 2 });
  await page.mouse("mouseReleased", at.left + 50, middle(at), { button: "left", clickCount: 2 });
  const all = await page.evaluate(state(0));
  near(span(all.range), span(all.full), 1e-6, "a double click shows all");
  await page.done();
}

async function movingWheelAndButtons(open) {
  const page = await open(page02);
  let at = await page.evaluate(area(0));
  const buttons = `[...document.querySelectorAll(".buttons button")].map((b) => { const r = b.getBoundingClientRect(); return [r.left + r.width / 2, r.top + r.height / 2, r.width, r.height]; })`;
  const [more, less, earlier, later, all] = await page.evaluate(buttons);
  check([more, less, earlier, later, all].every(([, , width, height]) => width >= 24 && height >= 24), "buttons are too small for a finger");
  await page.click(more[0], more[1]);
  await page.click(more[0], more[1]);
  let now = await page.evaluate(state(0));
  near(span(now.range), span(now.full) / 4, 1e-3, "two presses of + show a quarter");
  const before = now.range[0];
  await page.click(later[0], later[1]);
  now = await page.evaluate(state(0));
  near(now.range[0] - before, span(now.range) / 2, 0.2, "later moves by half of what is seen");
  await page.click(earlier[0], earlier[1]);
  near((await page.evaluate(state(0))).range[0], before, 1e-3, "earlier goes back");
  at = await page.evaluate(area(0));
  await page.mouse("mouseMoved", at.left + 300, middle(at));
  await page.mouse("mousePressed", at.left + 300, middle(at), { button: "left", clickCount: 1, modifiers: 8 });
  await page.mouse("mouseMoved", at.left + 200, middle(at), { button: "left", buttons: 1, modifiers: 8 });
  await page.mouse("mouseReleased", at.left + 200, middle(at), { button: "left", clickCount: 1, modifiers: 8 });
  near((await page.evaluate(state(0))).range[0], before + 100 / at.width * span(at.range), 0.1, "Shift and dragging moves");
  const deep = span((await page.evaluate(state(0))).range);
  await page.mouse("mouseWheel", at.left + 300, middle(at), { deltaX: 0, deltaY: -150, modifiers: 2 });
  check(span((await page.evaluate(state(0))).range) < deep * 0.8, "Ctrl and the wheel zooms");
  const kept = (await page.evaluate(state(0))).range;
  await page.mouse("mouseWheel", at.left + 300, middle(at), { deltaX: 0, deltaY: 100 });
  near((await page.evaluate(state(0))).range[0], kept[0], 1e-9, "the wheel alone leaves the plot as it is");
  await page.settle();
  await page.evaluate(area(0));
  const again = (await page.evaluate(buttons))[4];
  await page.click(again[0], again[1]);
  now = await page.evaluate(state(0));
  near(span(now.range), span(now.full), 1e-6, "All shows all");
  check(now.disabled.every((off) => off), "there is nothing to zoom out of");
  await page.done();
}

// The file's own numbers, by the scale that the JSON report tells.
async function theCursorReadsWhatTheFileHolds(open) {
  const json = JSON.parse(execFileSync(program, ["review", "--json", file]));
  const { closed_v: closed, open_v: opened } = json.captures[0].valves[0].travel;
  const [head, ...rows] = readFileSync(file, "utf8").trim().split("\n").map((line) => line.split(","));
  const columns = ["Time", "runner duty", "runner position"].map((word) => head.findIndex((name) => name.includes(word)));
  check(columns.every((column) => column >= 0), `columns of ${head}`);
  const page = await open(page02);
  const at = await page.evaluate(area(0));
  let read = 0;
  for (const row of [311, 702, 1303]) {
    const [time, duty, volts] = columns.map((column) => Number(rows[row][column]));
    const x = xOf(at, time - Number(rows[0][columns[0]]));
    await page.mouse("mouseMoved", x, middle(at));
    const now = await page.evaluate(state(0));
    near(now.time, time - Number(rows[0][columns[0]]), span(at.full) / at.width, "time under the mouse");
    const said = /position (-?[\d.]+) % of travel/.exec(now.words), commanded = /duty (-?[\d.]+) %/.exec(now.words);
    if (!check(said !== null && commanded !== null, `the readout says: ${now.words}`)) continue;
    // One pixel is a row or two: near the reading, and near the readings beside it.
    const beside = [-2, -1, 0, 1, 2].map((k) => 100 * (Number(rows[row + k][columns[2]]) - closed) / (opened - closed));
    check(beside.some((pct) => Math.abs(pct - Number(said[1])) < 0.06), `${now.words}: the file holds ${beside.map((n) => n.toFixed(2))}`);
    check([-2, -1, 0, 1, 2].some((k) => Math.abs(Number(rows[row + k][columns[1]]) - Number(commanded[1])) < 0.06), `${now.words}: the file holds ${duty}`);
    check(now.cursors.every((left) => Math.abs(left - now.cursors[0]) < 0.5), `panels' cursors at ${now.cursors}`);
    check(now.dot !== null && now.dot.every(Number.isFinite), "the loop has no dot");
    read += volts > 0;
  }
  check(read === 3, "rows were read");
  await page.done();
}

async function keysReadAndZoom(open) {
  const page = await open(page02);
  await page.evaluate(area(0));
  await page.evaluate(`document.querySelector(".live[role=slider]").focus()`);
  await page.key("ArrowRight");
  const first = await page.evaluate(state(0));
  await page.key("ArrowRight");
  const second = await page.evaluate(state(0));
  check(second.time > first.time && second.time - first.time < 0.3, `arrows go from reading to reading: ${first.time}, ${second.time}`);
  check(second.spoken === second.words && second.words.includes("position"), `spoken: ${second.spoken}`);
  await page.key("ArrowLeft");
  near((await page.evaluate(state(0))).time, first.time, 1e-6, "and back");
  await page.key("+");
  check(span((await page.evaluate(state(0))).range) < 0.6 * span(first.full), "+ zooms");
  await page.key("End");
  const end = await page.evaluate(state(0));
  near(end.range[1], end.full[1], 0.2, "the part that is seen follows the cursor to the end");
  await page.key("0");
  near(span((await page.evaluate(state(0))).range), span(first.full), 1e-6, "0 shows all");
  await page.done();
}

async function fingersZoomMoveAndRead(open) {
  const page = await open(page02, { width: 800, height: 1000, touch: true });
  const at = await page.evaluate(area(0)), y = middle(at), x = at.left + at.width / 2;
  await page.touch("touchStart", [[x, y]]);
  await page.touch("touchEnd", []);
  check((await page.evaluate(state(0))).time !== null, "a touch reads");
  await page.touch("touchStart", [[x - 40, y], [x + 40, y]]);
  for (const by of [60, 90, 120, 160]) await page.touch("touchMove", [[x - by, y], [x + by, y]]);
  await page.touch("touchEnd", []);
  const zoomed = await page.evaluate(state(0));
  near(span(zoomed.range), span(zoomed.full) / 4, 0.06 * span(zoomed.full), "two fingers four times as far apart show a quarter");
  await page.touch("touchStart", [[x, y]]);
  for (const by of [20, 50, 100]) await page.touch("touchMove", [[x - by, y]]);
  await page.touch("touchEnd", []);
  const moved = await page.evaluate(state(0));
  near(moved.range[0] - zoomed.range[0], 100 / at.width * span(zoomed.range), 0.05 * span(zoomed.range), "one finger moves");
  await page.done();
}

async function aStepIsShown(open) {
  const page = await open(page02);
  const before = await page.evaluate(`(() => {
    const row = document.querySelectorAll(".steps tr[data-at]")[2], button = row.querySelector("button");
    row.scrollIntoView({ block: "center", behavior: "instant" });
    const box = button.getBoundingClientRect();
    return { at: Number(row.dataset.at), x: box.left + box.width / 2, y: box.top + box.height / 2 };
  })()`);
  await page.click(before.x, before.y);
  const now = await page.evaluate(state(0));
  check(now.range[0] <= before.at && before.at <= now.range[1] && span(now.range) < 12, `a step at ${before.at} s shows ${now.range}`);
  near(now.time, before.at, 1e-6, "the cursor stands on the step");
  check(await page.evaluate(`document.querySelectorAll("tr[aria-current=true]").length`) === 1, "one row is marked");
  await page.evaluate(`document.querySelectorAll(".steps tr[data-at] button")[4].focus()`);
  await page.key("Enter");
  const other = await page.evaluate(`Number(document.querySelectorAll(".steps tr[data-at]")[4].dataset.at)`);
  near((await page.evaluate(state(0))).time, other, 1e-6, "Enter on another step shows it");
  await page.done();
}

async function capturesKeepTheirOwnTime(open) {
  const page = await open(repair);
  check(await page.evaluate("platelag.recordings.size") === 2, "two recordings side by side");
  const sides = await page.evaluate(`[...platelag.recordings.values()].map(({ figure }) => figure.getBoundingClientRect().top)`);
  near(sides[0], sides[1], 1, "they stand side by side");
  const at = await page.evaluate(area(1));
  await page.drag(xOf(at, 30), middle(at), xOf(at, 60), middle(at));
  const [one, other] = [await page.evaluate(state(0)), await page.evaluate(state(1))];
  near(span(one.range), span(one.full), 1e-6, "the first stays whole");
  near(span(other.range), 30, 4 * span(at.range) / at.width, "the second is zoomed");
  const axes = await page.evaluate(`[...platelag.recordings.values()].map(({ plots }) => [plots[0].scales.y.min, plots[0].scales.y.max].join())`);
  check(axes[0] === axes[1], `travel has one scale in both: ${axes}`);
  await page.done();
}

check(source.length > 0, "the source folder is given");
await run(draggingZoomsAllPanels, movingWheelAndButtons, theCursorReadsWhatTheFileHolds, keysReadAndZoom,
  fingersZoomMoveAndRead, aStepIsShown, capturesKeepTheirOwnTime);
