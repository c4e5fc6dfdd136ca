// SPDX-License-Identifier: GPL-3.0-or-later
//
// What the page's parts share: elements by name, and how sizes, shares, findings and repairs are told.

const byId = (id) => document.getElementById(id);
const make = (tag, text = "", look = "") => Object.assign(document.createElement(tag), { textContent: text, className: look });

const UNITS = ["bytes", "kB", "MB", "GB"];
function sizeOf(bytes) {
  let unit = 0;
  while (bytes >= 1000 && unit < UNITS.length - 1) {
    bytes /= 1000;
    unit++;
  }
  return `${unit > 0 && bytes < 10 ? bytes.toFixed(1) : bytes.toFixed(0)} ${UNITS[unit]}`;
}

// As the report tells it.
const share = (probability) => (probability > 0.99 ? "over 99 %" : `${(100 * probability).toFixed(0)} %`);

const count = (n, one) => `${n} ${one}${n === 1 ? "" : "s"}`;

const FINDINGS = {
  free: ["free", "good"], slow: ["slow", "bad"], sticking: ["sticking", "bad"], short_travel: ["short travel", "bad"],
  still: ["does not move", "bad"], signal_high: ["signal high", "bad"], signal_low: ["signal low", "bad"],
  signal_erratic: ["signal erratic", "bad"], signal_shifted: ["signal shifted", "bad"], undecided: ["undecided", "open"],
};
const REPAIRS = {
  repaired: ["repaired", "good"], better: ["better, not repaired", "open"], unchanged: ["unchanged after the repair", "bad"],
  worse: ["worse after the repair", "bad"], cannot_tell: ["cannot tell whether repaired", "open"],
};
const RING = "M22 12a10 10 0 1 1-20 0 10 10 0 1 1 20 0";
const MARKS = { good: `${RING}M7 12.5l3.5 3.5 6.5-7`, bad: "M12 2.5 22.5 21h-21zM12 9v5.5M12 17.5v.2", open: `${RING}M9.2 9.6a2.8 2.8 0 1 1 4.2 2.4c-1 .6-1.4 1-1.4 2M12 17v.2` };

function mark(look) {
  const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  svg.setAttribute("viewBox", "0 0 24 24");
  svg.setAttribute("aria-hidden", "true");
  const path = document.createElementNS("http://www.w3.org/2000/svg", "path");
  path.setAttribute("d", MARKS[look]);
  svg.append(path);
  return svg;
}
