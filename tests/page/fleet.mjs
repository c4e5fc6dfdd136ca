// SPDX-License-Identifier: GPL-3.0-or-later
//
// A small fleet with names that nobody here would give: captures, a manifest, a page of them.
import { execFileSync } from "node:child_process";
import { mkdirSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { program, scratch } from "./check.mjs";

export const hostile = [
  `<img src=x onerror=globalThis.bad=1>`,
  `</script><script>globalThis.bad=2</script>`,
  `"'><svg/onload=globalThis.bad=3>`,
];
const dates = ["2026-04-06", "2026-05-04", "2026-06-08", "2026-07-13", "2026-08-17", "2026-09-14", "2026-10-12", "2026-11-09"];
const quote = (text) => `"${text.replaceAll('"', '""')}"`;

// What is wrong with each vehicle in its log `i`.
const vehicles = [
  { name: hostile[0], fault: (i) => ["sticking", 0.1 + 0.1 * i] },
  { name: hostile[1], fault: () => ["none", 0.6] },
  { name: hostile[2], fault: (i) => [i === 7 ? "dropouts" : "none", 0.6] },
  { name: "shuttle 2", fault: (i) => ["slow", 0.02 + 0.02 * i] },
  { name: "shuttle 10", fault: (i) => [i < 5 ? "ridge" : "none", 0.6], repair: "2026-09-01" },
  { name: "shuttle 11", fault: () => ["none", 0.6], banks: 2 },
];

// Returns the folder, the store's name in it and the page's.
export function makeFleet(name, ...options) {
  const folder = join(scratch, name), captures = join(folder, "captures <b>");
  rmSync(folder, { recursive: true, force: true });
  mkdirSync(captures, { recursive: true });
  const manifest = ["file,vehicle,engine,date,repair,valve"];
  vehicles.forEach(({ name: vehicle, fault, repair, banks }, v) => {
    dates.forEach((date, i) => {
      const [kind, severity] = fault(i);
      const file = `v${v}-${date}.csv`;
      execFileSync(program, ["practice", `--fault=${kind}`, `--severity=${severity}`, `--seed=${31 + v}`, `--drive-seed=${100 * v + i}`, "--minutes=4",
        `--valves=${banks ?? 1}`, join(captures, file)], { stdio: "ignore" });
      manifest.push([file, vehicle, v % 2 === 0 ? "<i>six</i> 3.0" : "four 1.8", date, "", ""].map(quote).join(","));
    });
    if (repair) manifest.push(["", vehicle, "", repair, "plates & <b>pins</b>", ""].map(quote).join(","));
  });
  for (const file of readdirSync(captures)) if (file.endsWith(".truth.json")) rmSync(join(captures, file));
  writeFileSync(join(captures, "<u>broken.csv"), "<s>no capture</s>\n");
  writeFileSync(join(folder, "manifest.csv"), manifest.join("\n"));
  execFileSync(program, ["fleet", "captures <b>", "--store", "it's.db", "--manifest", "manifest.csv", "--html", "fleet.html", "--reports", "1", "--jobs", "1", ...options],
    { stdio: ["ignore", "ignore", "ignore"], cwd: folder });
  return { folder, store: "it's.db", page: join(folder, "fleet.html") };
}
