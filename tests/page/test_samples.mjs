#!/usr/bin/env node
// SPDX-License-Identifier: GPL-3.0-or-later
//
// The page of every sample, in a browser: no errors, no requests, every plot with its points, nothing
// wider than a telephone; plots that can be zoomed on a screen, drawn ones in print and without
// script.
import { readdirSync } from "node:fs";
import { join } from "node:path";
import { check, makePage, modules, run, samples } from "./check.mjs";

const live = modules !== "";
const spec = ["--spec", join(samples, "shuttle.ini")];
const sample = (name) => join(samples, name);
const pages = readdirSync(samples).filter((name) => name.endsWith(".csv")).sort()
  .map((name) => makePage(name.replace(/csv$/, "html"), sample(name)));
pages.push(makePage("repair.html", ...spec, "--road", sample("shuttle07-ridge.csv"), "--after", sample("shuttle07-ridge-after.csv")),
  makePage("sweep.html", "--road", sample("shuttle16-jam-past-stop.csv"), "--hand-sweep", sample("shuttle16-hand-sweep.csv")));

// What a page shows, told by the page.
const look = `(() => {
  const shown = (element) => element !== null && element.getClientRects().length > 0;
  return {
    figures: document.querySelectorAll("figure.plot").length,
    empty: [...document.querySelectorAll("figure.plot")].filter((figure) =>
      ![...figure.querySelectorAll("svg.panel svg path, svg.panel > rect.held")].some((path) => (path.getAttribute("d") ?? "").length > 4)
      && !figure.textContent.includes("Not held at all")).map((figure) => figure.id),
    times: document.querySelectorAll("figure.time").length,
    live: [...document.querySelectorAll("figure.is-live")].filter((figure) => shown(figure.querySelector(".live"))).length,
    drawn: [...document.querySelectorAll("figure.plot")].filter((figure) => shown(figure.querySelector(".panels"))).length,
    blank: [...document.querySelectorAll("figure canvas")].filter((canvas) => {
      const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
      return !data.some((value, i) => i % 4 === 3 && value > 0);
    }).length,
    points: globalThis.platelag === undefined ? [] : [...platelag.recordings.values()].map(({ position }) => position.y.filter((y) => y !== null).length),
    wide: document.documentElement.scrollWidth > document.documentElement.clientWidth, // innerWidth grows with what is too wide
    headings: [...document.querySelectorAll("h1, h2, h3, h4")].map((h) => Number(h.tagName[1])),
    title: document.title,
  };
})()`;

async function everyPageShowsItsPlots(open) {
  for (const file of pages) {
    const page = await open(file);
    const seen = await page.evaluate(look);
    check(seen.figures >= 2 && seen.empty.length === 0, `${file}: plots without points: ${seen.empty}`);
    check(seen.title.startsWith("Runner valve review - "), `${file}: title ${seen.title}`);
    check(seen.headings.every((level, i) => i === 0 ? level === 1 : level <= seen.headings[i - 1] + 1), `${file}: headings jump: ${seen.headings}`);
    if (live) {
      check(seen.points.length === seen.times && seen.points.every((count) => count > 300), `${file}: points of positions: ${seen.points}`);
      check(seen.live >= seen.times && seen.blank === 0, `${file}: ${seen.live} live plots of ${seen.times} recordings, ${seen.blank} blank`);
    }
    await page.done();
  }
}

async function nothingIsWiderThanATelephone(open) {
  for (const file of pages) {
    const page = await open(file, { width: 390, height: 800, touch: true });
    check(!(await page.evaluate(look)).wide, `${file}: must be scrolled sideways on 390 pixels`);
    await page.done();
  }
}

async function paperAndReadersWithoutScriptGetDrawnPlots(open) {
  for (const file of pages.slice(0, 3).concat(pages.slice(-2)))
    for (const how of [{ print: true }, { script: false }]) {
      const page = await open(file, how);
      const seen = how.script === false ? null : await page.evaluate(look);
      if (seen) check(seen.drawn === seen.figures && seen.live === 0, `${file}: ${seen.drawn} of ${seen.figures} plots in print, ${seen.live} live`);
      else {
        // Without script the page cannot be asked; its layout can.
        const { root } = await page.ask("DOM.getDocument");
        const { nodeIds } = await page.ask("DOM.querySelectorAll", { nodeId: root.nodeId, selector: "svg.panel" });
        for (const nodeId of nodeIds) {
          const { model } = await page.ask("DOM.getBoxModel", { nodeId });
          check(model.width > 100 && model.height > 40, `${file}: a plot of ${model.width} by ${model.height} without script`);
        }
        check(nodeIds.length >= 3, `${file}: ${nodeIds.length} panels without script`);
      }
      await page.done();
    }
}

await run(everyPageShowsItsPlots, nothingIsWiderThanATelephone, paperAndReadersWithoutScriptGetDrawnPlots);
