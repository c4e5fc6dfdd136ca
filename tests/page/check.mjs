// SPDX-License-Identifier: GPL-3.0-or-later
//
// What the tests of the page share: making pages, opening them, telling what failed.
import { execFileSync } from "node:child_process";
import { mkdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { openBrowser } from "./browser.mjs";

export const [program, source, scratch] = process.argv.slice(2);
export const samples = join(source, "samples");
export const modules = process.env.PLATELAG_NODE_MODULES ?? "";

rmSync(scratch, { recursive: true, force: true });
mkdirSync(scratch, { recursive: true });

// Writes a page of the captures and options given; returns its path.
export function makePage(name, ...options) {
  const file = join(scratch, name);
  execFileSync(program, ["review", "--html", file, ...options], { stdio: ["ignore", "ignore", "inherit"], cwd: source });
  return file;
}

const failures = [];
let checks = 0;

export function check(holds, what) {
  checks++;
  if (!holds) failures.push(what);
  return holds;
}

export const near = (actual, expected, tolerance, what) =>
  check(Math.abs(actual - expected) <= tolerance, `${what}: ${actual}, expected ${expected} within ${tolerance}`);

// The page in `file` with foreign scripts and an image put in, written to `broken`: the policy lets none of
// them in and says so.
export async function policyHolds(open, file, broken) {
  writeFileSync(broken, readFileSync(file, "utf8").replace("<main>",
    `<main><script>globalThis.bad = 1</script><p onclick="globalThis.bad = 2" id="poke">x</p><img src="https://invalid.invalid/x.png"><p style="color:red">y</p>`));
  const page = await open(broken);
  await page.evaluate(`document.getElementById("poke").click()`);
  check(await page.evaluate("globalThis.bad ?? null") === null, "a foreign script ran");
  check(page.logs.length >= 3 && page.logs.every((line) => line.includes("Content Security Policy")), `the policy said: ${page.logs}`);
  page.logs.length = page.requests.length = 0; // those that the policy stopped
  await page.done();
}

// Runs each test with a browser of its own page by page; what a page logs or asks for fails the test.
export async function run(...tests) {
  const browser = await openBrowser();
  const open = async (file, look) => {
    const page = await browser.openPage(file, look);
    page.done = async () => {
      check(page.logs.length === 0, `${file}: the console says: ${page.logs.join(" | ")}`);
      check(page.requests.length === 0, `${file}: asks the network for ${page.requests.join(" ")}`);
      await page.close();
    };
    return page;
  };
  for (const test of tests) {
    try {
      await test(open);
    } catch (error) {
      failures.push(`${test.name}: ${error.stack}`);
    }
  }
  await browser.close();
  console.log(failures.length > 0 ? failures.join("\n") : `${checks} checks of ${tests.length} tests hold`);
  process.exitCode = failures.length > 0 ? 1 : 0;
}
