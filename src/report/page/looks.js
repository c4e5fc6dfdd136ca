// SPDX-License-Identifier: GPL-3.0-or-later
//
// How plots look: colours by the style's names, words and ticks as the program writes them.

const looks = {
  position: { color: "--position", width: 2 },
  asked: { color: "--asked", width: 1.6, dash: [7, 3] },
  command: { color: "--asked", width: 1.6 },
  effort: { color: "--asked", width: 1.6, dash: [2, 2] },
  band: { color: "--held", width: 2.2, dash: [2, 3] },
};
const remPixels = () => parseFloat(getComputedStyle(document.documentElement).fontSize);
const color = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
const font = () => `${0.8125 * remPixels()}px ${getComputedStyle(document.body).fontFamily}`;

function hatch(context, look) {
  const ratio = devicePixelRatio || 1, size = look === "held" ? 9 : 10;
  const tile = document.createElement("canvas");
  tile.width = tile.height = Math.round(size * ratio);
  const pen = tile.getContext("2d");
  pen.scale(tile.width / size, tile.width / size);
  pen.fillStyle = color(`--${look}-ground`);
  pen.fillRect(0, 0, size, size);
  pen.strokeStyle = color(`--${look}`);
  pen.globalAlpha = look === "held" ? 1 : 0.6;
  pen.lineWidth = look === "held" ? 1.3 : 0.8;
  pen.beginPath();
  for (const shift of [-size, 0, size]) {
    pen.moveTo(shift - 1, size + 1);
    pen.lineTo(shift + size + 1, -1);
    if (look === "void") {
      pen.moveTo(shift - 1, -1);
      pen.lineTo(shift + size + 1, size + 1);
    }
  }
  pen.stroke();
  return context.createPattern(tile, "repeat");
}

// As the program writes times: 1:30, 1:02:30, tenths where the step has some.
function clock(seconds, decimals) {
  const size = Math.abs(seconds) + 1e-9, whole = Math.floor(size);
  const two = (n) => String(n).padStart(2, "0");
  const text = whole >= 3600 ? `${Math.floor(whole / 3600)}:${two(Math.floor(whole / 60) % 60)}:${two(whole % 60)}`
    : `${Math.floor(whole / 60)}:${two(whole % 60)}`;
  return (seconds < -1e-9 ? "-" : "") + text + (decimals > 0 ? (size - whole).toFixed(decimals).slice(1) : "");
}
const decimalsOf = (step) => (step >= 1 ? 0 : Math.ceil(-Math.log10(step) - 1e-9));
const clockSteps = [0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 10800, 21600, 43200, 86400];

const axis = (more) => ({
  stroke: () => color("--soft"), grid: { stroke: () => color("--grid"), width: 1 },
  ticks: { show: false }, font: font(), ...more,
});

function make(tag, className, text) {
  const element = document.createElement(tag);
  if (className) element.className = className;
  if (text) element.textContent = text;
  return element;
}

// Limits and places across a plot with their labels, and the moment of a chosen step (null: none).
function drawMarks(u, marks, labels, moment) {
  const { ctx, bbox } = u, ratio = devicePixelRatio || 1;
  ctx.save();
  ctx.setLineDash([]);
  ctx.strokeStyle = color("--rule");
  ctx.lineWidth = ratio;
  ctx.strokeRect(bbox.left, bbox.top, bbox.width, bbox.height);
  marks.forEach(({ at, limit }, i) => {
    const y = u.valToPos(at, "y", true);
    ctx.strokeStyle = color(limit ? "--bad" : "--soft");
    ctx.setLineDash((limit ? [10, 3, 2, 3] : [1, 3]).map((n) => n * ratio));
    ctx.beginPath();
    ctx.moveTo(bbox.left, y);
    ctx.lineTo(bbox.left + bbox.width, y);
    ctx.stroke();
    ctx.setLineDash([]);
    ctx.font = font().replace(/^[\d.]+/, (n) => n * ratio);
    ctx.textAlign = "right";
    ctx.textBaseline = y - bbox.top < 0.12 * bbox.height ? "top" : "bottom";
    ctx.strokeStyle = color("--sheet");
    ctx.lineWidth = 3 * ratio;
    ctx.lineJoin = "round";
    ctx.fillStyle = color(limit ? "--bad" : "--soft");
    const place = [labels[i], bbox.left + bbox.width - 4 * ratio, y + (ctx.textBaseline === "top" ? 3 : -3) * ratio];
    ctx.strokeText(...place);
    ctx.fillText(...place);
  });
  if (moment !== null) {
    const x = u.valToPos(moment, "x", true);
    if (x >= bbox.left && x <= bbox.left + bbox.width) {
      ctx.strokeStyle = color("--ink");
      ctx.lineWidth = 1.5 * ratio;
      ctx.beginPath();
      ctx.moveTo(x, bbox.top);
      ctx.lineTo(x, bbox.top + bbox.height);
      ctx.stroke();
    }
  }
  ctx.restore();
}

// The labels of the marks in a drawn plot.
const markLabels = (svg) => [...svg.querySelectorAll(".limit-label, .place-label")].map((text) => text.textContent);
const unitsOf = (svg) => [...svg.querySelectorAll(":scope > .unit")].map((text) => text.textContent);
