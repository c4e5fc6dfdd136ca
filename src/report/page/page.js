// SPDX-License-Identifier: GPL-3.0-or-later
//
// Puts plots that can be zoomed and read in place of those that the program drew. The drawn ones
// stay for print and for readers without script. All words come from the page itself; the data
// block holds numbers and keys alone.

const recordings = new Map();

// After so long the page looks whether somebody wants something of it.
const AT_A_STRETCH_MS = 40;
const rest = () => new Promise((resolve) => { setTimeout(resolve, 1); }); // behind what waits already

function bindSteps(table, recording) {
  table.classList.add("has-live");
  for (const head of table.querySelectorAll("tr[data-at] > :first-child")) {
    const button = make("button", "", head.textContent);
    button.type = "button";
    head.replaceChildren(button);
  }
  table.addEventListener("click", (event) => {
    const row = event.target.closest("tr[data-at]");
    if (row === null) return;
    for (const other of table.querySelectorAll("tr[aria-current]")) other.removeAttribute("aria-current");
    row.setAttribute("aria-current", "true");
    recording.marked = Number(row.dataset.at);
    recording.show(Number(row.dataset.from), Number(row.dataset.to));
    recording.point(recording.marked);
    recording.redraw();
    recording.figure.scrollIntoView({ block: "nearest", behavior: matchMedia("(prefers-reduced-motion: reduce)").matches ? "auto" : "smooth" });
  });
}

// Of a short recording all is there at once; of a long one plot after plot.
async function drawAll(plots) {
  let begun = performance.now();
  for (const plot of plots) {
    const figure = document.getElementById(plot.id);
    if (figure === null || recordings.has(plot.id)) continue;
    const recording = new Recording(figure, plot, document.getElementById(plot.loop?.id ?? ""));
    recordings.set(plot.id, recording);
    for (const _ of recording.draw()) {
      await null; // what was built is drawn now
      if (performance.now() - begun <= AT_A_STRETCH_MS) continue;
      await rest();
      begun = performance.now();
    }
    for (const table of document.querySelectorAll(`[data-plot="${plot.id}"]`)) bindSteps(table, recording);
  }
}

const source = document.getElementById("plot-data");
if (source !== null && typeof uPlot !== "undefined") {
  const isDrawn = drawAll(JSON.parse(source.textContent));
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => recordings.forEach((recording) => recording.redraw()));
  globalThis.platelag = { recordings, isDrawn }; // for whoever looks at the page with its tools, and for its tests
}
