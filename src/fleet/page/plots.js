// SPDX-License-Identifier: GPL-3.0-or-later
//
// What lies behind a row of the ranking: a valve's figures, their plots over its logs, and the logs
// with their reports. The page's data are texts and numbers; they enter the document as text only.
const plagDetail = (() => {
  "use strict";

  const DAY = 86400, YEAR = 365.25 * DAY;

  function make(name, props = {}, ...children) {
    const element = document.createElement(name);
    for (const [key, value] of Object.entries(props))
      if (key in element && key !== "role") element[key] = value; else element.setAttribute(key, value);
    element.append(...children);
    return element;
  }

  function draw(parent, name, attributes = {}, text = undefined) {
    const element = document.createElementNS("http://www.w3.org/2000/svg", name);
    for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
    if (text !== undefined) element.textContent = text;
    parent.append(element);
    return element;
  }

  const date = (seconds) => new Date(seconds * 1000).toISOString().slice(0, 10);
  const known = (value) => value !== null && value !== undefined;
  const words = (key) => key.replaceAll("_", " ");

  // --- data ----------------------------------------------------------------------------------

  function readPoint(text, decimals) {
    if (text === "") return null;
    const unit = 10 ** (decimals + 1);
    const [value, below, above] = text.replace("~", "").split(" ").map(Number);
    return { value: value / unit, low: (value - below) / unit, high: (value + above) / unit, isMiddle: text.endsWith("~") };
  }

  function readValve(json, fleet) {
    const { t, f, l } = JSON.parse(json);
    const logs = l.map(([key, file, at, series, condition, finding, sure, isThere, points]) => ({
      key, file: f + file, at, series, finding: words(fleet.findings[finding]), condition: words(fleet.conditions[condition]), sure,
      isThere: isThere === 1, onRoad: fleet.conditions[condition] === "road" || fleet.conditions[condition] === "after",
      points: points.split(",").map((text, figure) => readPoint(text, fleet.figures[figure][2])),
    }));
    const present = logs.length > 0 ? logs[logs.length - 1].series : 0;
    const figures = t.map((trend, index) => {
      const [name, unit, decimals] = fleet.figures[index];
      const shown = logs.filter((log) => log.onRoad && log.points[index] !== null);
      const now = shown.filter((log) => log.series === present);
      const [usual, slope, slopeLow, slopeHigh, p, level, limit, learned, crossing, earliest, latest] = trend || [];
      return { index, name, unit, decimals, logs: shown, now, last: now[now.length - 1]?.points[index] ?? null,
        usual, slope, slopeLow, slopeHigh, p, level, limit, isLearned: learned === 1, crossing, earliest, latest };
    });
    return { logs, present, figures };
  }

  const told = (figure, value) => value.toFixed(figure.decimals).replace(/^-(0(\.0*)?)$/, "$1");
  const range = (figure, low, high) => (!known(low) && !known(high) ? ", no bounds" : ` (${known(low) ? told(figure, low) : "open"} to ${known(high) ? told(figure, high) : "open"})`);
  const reading = (figure, point) =>
    (point.isMiddle ? `${told(figure, point.low)} to ${told(figure, point.high)}` : told(figure, point.value) + range(figure, point.low, point.high));
  const chance = (p) => (p < 0.0005 ? "under 0.1 %" : `${(100 * p).toFixed(1)} %`);

  // --- figures as a table --------------------------------------------------------------------

  const heads = ["Figure", "Last log (90 %)", "Drawn towards the family", "Change a year (90 %)", "By chance", "Limit", "At the limit on"];

  function figureCells(figure) {
    const { slope, limit, crossing, earliest, latest } = figure;
    return [
      `${figure.name}, ${figure.unit}`,
      figure.last ? reading(figure, figure.last) : "-",
      known(figure.usual) ? told(figure, figure.usual) : "-",
      known(slope) ? told(figure, slope) + range(figure, figure.slopeLow, figure.slopeHigh) : "-",
      known(figure.p) ? chance(figure.p) : "-",
      known(limit) ? told(figure, limit) + (figure.isLearned ? ", learned" : "") : "none",
      known(crossing) ? `${date(crossing)} (${known(earliest) ? date(earliest) : "open"} to ${known(latest) ? date(latest) : "never"})` : "-",
    ];
  }

  function makeTable(label, headings, rows) {
    const head = make("tr", {}, ...headings.map((text) => make("th", { scope: "col", className: text === "Report" ? "report" : "" }, text)));
    return make("div", { className: "inner", tabIndex: 0, role: "region", "aria-label": label },
      make("table", {}, make("thead", {}, head), make("tbody", {}, ...rows)));
  }

  function figureTable(valve, name) {
    const rows = valve.figures.filter((figure) => figure.logs.length > 0).map((figure) => {
      const [first, ...rest] = figureCells(figure);
      return make("tr", {}, make("th", { scope: "row" }, first), ...rest.map((text) => make("td", {}, text)));
    });
    return makeTable(`Figures of ${name}`, heads, rows);
  }

  // --- a plot --------------------------------------------------------------------------------

  function roundStep(least) {
    const power = 10 ** Math.floor(Math.log10(least)), share = least / power;
    return power * (share <= 1.0000001 ? 1 : share <= 2.0000001 ? 2 : share <= 5.0000001 ? 5 : 10);
  }

  // Firsts of months, at most six.
  function monthTicks(from, to) {
    const months = (to - from) / (30.44 * DAY), ticks = [];
    const step = [1, 2, 3, 6, 12, 24, 60, 120].find((each) => months / each <= 6) ?? 240;
    const begin = new Date(from * 1000);
    const first = Math.ceil((begin.getUTCFullYear() * 12 + begin.getUTCMonth()) / step) * step;
    for (let month = first; ticks.length < 14; month += step) {
      const at = Date.UTC(Math.floor(month / 12), month % 12) / 1000;
      if (at > to) break;
      if (at >= from) ticks.push([at, step >= 12 ? String(Math.floor(month / 12)) : date(at).slice(0, 7)]);
    }
    return ticks.length > 0 ? ticks : [[from, date(from)]];
  }

  // Where a log lies across: by its date, or by its place where none is dated.
  function placeLogs(figure) {
    const isDated = figure.logs.some(({ at }) => at !== null);
    return { isDated, placed: figure.logs.map((log, i) => ({ log, x: isDated ? log.at : i + 1, point: log.points[figure.index] })).filter(({ x }) => x !== null) };
  }

  // The crossing is drawn where it does not press the logs together.
  const showsCrossing = (figure, from, to) => known(figure.crossing) && figure.crossing - to <= Math.max(1.5 * (to - from), 0.5 * YEAR);

  function frame(figure) {
    const { isDated, placed } = placeLogs(figure);
    const xs = placed.map(({ x }) => x), ys = placed.flatMap(({ point }) => [point.low, point.high]);
    let from = Math.min(...xs), to = Math.max(...xs);
    const crosses = isDated && showsCrossing(figure, from, to);
    if (crosses) to = Math.max(to, figure.crossing);
    const pad = 0.04 * (to - from) || (isDated ? 15 * DAY : 0.5);
    if (known(figure.limit)) ys.push(figure.limit);
    let low = Math.min(...ys), high = Math.max(...ys);
    const room = 0.08 * (high - low) || 0.1 * Math.abs(high) || 1;
    low = low >= 0 ? Math.max(0, low - room) : low - room;
    high += room;
    from -= pad;
    to += pad;
    const x = (at) => `${(100 * (at - from) / (to - from)).toFixed(2)}%`;
    const y = (value) => `${(100 - 100 * Math.min(Math.max((value - low) / (high - low), 0), 1)).toFixed(2)}%`;
    return { isDated, placed, crosses, from, to, low, high, x, y };
  }

  function drawAxes(svg, { isDated, placed, from, to, low, high, x, y }) {
    const step = roundStep((high - low) / 4), decimals = step >= 1 ? 0 : Math.ceil(-Math.log10(step) - 1e-9);
    for (let i = Math.ceil(low / step - 1e-9); i * step <= high; i++) {
      draw(svg, "line", { class: "grid", x2: "100%", y1: y(i * step), y2: y(i * step) });
      draw(svg, "text", { "text-anchor": "end", x: -6, dy: ".35em", y: y(i * step) }, (i * step).toFixed(decimals));
    }
    const ticks = isDated ? monthTicks(from, to) : placed.map(({ x: at }) => [at, `log ${at}`]);
    ticks.forEach(([at, text], i) => {
      draw(svg, "line", { class: "grid", y2: "100%", x1: x(at), x2: x(at) });
      draw(svg, "text", { class: i % 2 === 1 ? "tick odd" : "tick", "text-anchor": "middle", x: x(at), y: "100%", dy: "1.3em" }, text);
    });
    draw(svg, "rect", { class: "ground", width: "100%", height: "100%" });
  }

  function drawLimit(svg, figure, { x, y, to, crosses }) {
    if (!known(figure.limit)) return;
    draw(svg, "line", { class: "limit", x2: "100%", y1: y(figure.limit), y2: y(figure.limit) });
    if (!crosses) return;
    if (known(figure.earliest))
      draw(svg, "line", { class: "crossing-range", x1: x(figure.earliest), x2: x(Math.min(figure.latest ?? to, to)), y1: y(figure.limit), y2: y(figure.limit) });
    const mark = draw(svg, "svg", { class: "crossing", x: x(figure.crossing), y: y(figure.limit), overflow: "visible" });
    draw(draw(mark, "path", { d: "M0-7L7 0 0 7-7 0z" }), "title", {}, `at the limit on ${date(figure.crossing)}`);
  }

  // Last, so that its letters stand before bars and lines.
  function drawLimitLabel(svg, figure, { y }) {
    if (!known(figure.limit)) return;
    draw(svg, "text", { class: "limit-label", x: 4, dy: parseFloat(y(figure.limit)) < 12 ? "1.1em" : "-.35em", y: y(figure.limit) },
      `${figure.isLearned ? "learned limit" : "limit"} ${told(figure, figure.limit)}`);
  }

  function drawRepairs(svg, { placed, x }) {
    for (let i = 1; i < placed.length; i++)
      if (placed[i].log.series !== placed[i - 1].log.series) {
        const at = x((placed[i].x + placed[i - 1].x) / 2);
        draw(svg, "line", { class: "repair", y2: "100%", x1: at, x2: at });
        draw(svg, "text", { class: "place-label", x: at, dx: 4, y: "100%", dy: "-.4em" }, "repair");
      }
  }

  // The Theil-Sen line through the present series, on to the limit where it meets it.
  function drawLine(svg, figure, present, { isDated, placed, crosses, x, y }) {
    const own = placed.filter(({ log }) => log.series === present);
    if (!isDated || !known(figure.slope) || !known(figure.level) || own.length < 2) return;
    const last = own[own.length - 1].x, from = own[0].x, to = crosses ? figure.crossing : last;
    const level = (at) => figure.level + figure.slope * (at - last) / YEAR;
    draw(svg, "line", { class: "line fit", x1: x(from), x2: x(to), y1: y(level(from)), y2: y(level(to)) });
  }

  function drawPoints(svg, figure, valve, open, { placed, x, y }) {
    for (const { log, x: at, point } of placed) {
      draw(svg, "line", { class: "bar", x1: x(at), x2: x(at), y1: y(point.low), y2: y(point.high) });
      const says = `${log.at === null ? "no date" : date(log.at)}: ${figure.name} ${reading(figure, point)} ${figure.unit}; ${log.finding}`;
      const link = draw(svg, "a", { class: log.series === valve.present ? "point" : "point old", tabindex: -1, "aria-label": says });
      const box = draw(link, "svg", { x: x(at), y: y(point.value), overflow: "visible" });
      draw(box, "circle", { class: "hit", r: 11 });
      if (point.isMiddle) draw(box, "path", { d: "M-5 0H5" }); else draw(box, "circle", { r: 5 });
      draw(link, "title", {}, says);
      if (log.isThere) link.setAttribute("href", open.address(log)); else link.addEventListener("click", () => open.show(log));
    }
  }

  function plot(figure, valve, open) {
    const view = frame(figure);
    const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    svg.setAttribute("class", "panel");
    svg.setAttribute("role", "group");
    svg.setAttribute("aria-label", `${figure.name} over the logs`);
    drawAxes(svg, view);
    drawRepairs(svg, view);
    drawLimit(svg, figure, view);
    drawLine(svg, figure, valve.present, view);
    drawPoints(svg, figure, valve, open, view);
    drawLimitLabel(svg, figure, view);
    const slope = known(figure.slope) ? `${told(figure, figure.slope)} a year${range(figure, figure.slopeLow, figure.slopeHigh)}, by chance in ${chance(figure.p)}` : "too few logs for a trend";
    const crossing = known(figure.crossing) ? `; at the limit on ${date(figure.crossing)}` : "";
    return make("figure", {}, make("figcaption", {}, make("h4", {}, `${figure.name}, ${figure.unit}`), make("p", {}, slope + crossing)),
      make("div", { className: "panels" }, svg));
  }

  return { make, date, readValve, figureTable, makeTable, plot, known };
})();
