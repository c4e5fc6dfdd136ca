// SPDX-License-Identifier: GPL-3.0-or-later
//
// Puts plots that can be zoomed and read in place of those that the program drew. The drawn ones
// stay for print and for readers without script. All words come from the page itself; the data
// block holds numbers and keys alone.
(() => {
  "use strict";

  const source = document.getElementById("plot-data");
  if (source === null || typeof uPlot === "undefined") return;

  // --- data ----------------------------------------------------------------------------------

  // Whole numbers, each less the one before, in units of 10^-d; null is a gap.
  function decode({ d, v }) {
    const unit = 10 ** d, out = new Array(v.length);
    let last = 0;
    for (let i = 0; i < v.length; i++) {
      if (v[i] !== null) last += v[i];
      out[i] = v[i] === null ? null : last / unit;
    }
    return out;
  }

  // A gap has the time of the row before; it moves on by less than any clock tells.
  const decodeLine = (line) => {
    const x = decode(line.x), y = decode(line.y);
    for (let i = 1; i < x.length; i++) if (y[i] === null && x[i] <= x[i - 1]) x[i] = x[i - 1] + 1e-7;
    return { look: line.look, steps: line.steps === 1, x, y };
  };

  // One list of times for all lines of a panel: where a line has none of its own it is undefined,
  // which is passed over; null stays a gap.
  function align(lines) {
    if (lines.length === 1) return [lines[0].x, lines[0].y];
    const at = lines.map(() => 0), out = [[], ...lines.map(() => [])];
    for (;;) {
      let next = Infinity;
      lines.forEach(({ x }, k) => { if (at[k] < x.length && x[at[k]] < next) next = x[at[k]]; });
      if (next === Infinity) return out;
      out[0].push(next);
      lines.forEach(({ x, y }, k) => {
        out[k + 1].push(at[k] < x.length && x[at[k]] === next ? y[at[k]++] : undefined);
      });
    }
  }

  // Index of the last x at or before `value`, -1 for none.
  function indexBefore(x, value) {
    let low = 0, high = x.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (x[middle] <= value) low = middle + 1; else high = middle;
    }
    return low - 1;
  }

  // The value of a line at a time: that of its nearest reading, or the one that holds; null for none.
  function valueAt(line, time) {
    let i = indexBefore(line.x, time);
    if (!line.steps && i + 1 < line.x.length && (i < 0 || line.x[i + 1] - time < time - line.x[i])) i++;
    return i < 0 ? null : line.y[i] ?? null;
  }

  // --- looks ---------------------------------------------------------------------------------

  const looks = {
    position: { color: "--position", width: 2 },
    asked: { color: "--asked", width: 1.6, dash: [7, 3] },
    command: { color: "--asked", width: 1.6 },
    effort: { color: "--asked", width: 1.6, dash: [2, 2] },
    band: { color: "--held", width: 2.2, dash: [2, 3] },
  };
  const color = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  const font = () => `${0.8125 * parseFloat(getComputedStyle(document.documentElement).fontSize)}px ${getComputedStyle(document.body).fontFamily}`;

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

  // --- one capture: its plots over time, and the loop that follows them --------------------------

  const LEAST_SPAN_S = 0.5;
  const LOOP_WAITS_MS = 120;
  const LOOP_PATH_POINTS = 250;
  const CROWDED_POINTS_A_PIXEL = 20;

  class Recording {
    constructor(figure, plot, loopFigure, loop) {
      this.figure = figure;
      this.full = plot.x;
      this.range = [...plot.x];
      this.spans = plot.spans;
      this.panels = plot.panels.map((panel) => ({ ...panel, lines: panel.lines.map(decodeLine) }));
      this.lines = this.panels.flatMap((panel) => panel.lines);
      this.position = this.lines.find((line) => line.look === "position");
      this.time = null;    // of the cursor
      this.marked = null;  // a step that was chosen
      this.plots = [];
      this.readNames();
      this.build();
      if (loop && this.lines.some((line) => line.look === "command")) this.buildLoop(loopFigure, loop);
      this.follow();
    }

    // What lines and spans are called, from the legend and the labels of the drawn plot.
    readNames() {
      this.names = {};
      for (const item of this.figure.querySelectorAll(".legend li")) {
        const key = item.querySelector(".key > *").classList[0];
        this.names[key] = item.textContent.trim();
      }
      this.labels = [...this.figure.querySelectorAll("svg.panel")].map((svg) => ({
        y: svg.querySelector(":scope > .unit:last-of-type").textContent,
        marks: [...svg.querySelectorAll(".limit-label, .place-label")].map((text) => text.textContent),
        height: svg.getBoundingClientRect().height,
      }));
    }

    build() {
      const box = this.figure.querySelector(".panels");
      this.live = make("div", "live");
      this.live.tabIndex = 0;
      for (const [name, value] of Object.entries({ role: "slider", "aria-label": box.getAttribute("aria-label"),
        "aria-valuenow": this.full[0], "aria-valuetext": "no place is chosen", "aria-valuemin": this.full[0], "aria-valuemax": this.full[1], "aria-describedby": `${this.figure.id}-help` }))
        this.live.setAttribute(name, value);
      this.readout = make("p", "readout", "Point at the plot to read its values.");
      const tools = make("div", "tools");
      tools.append(this.buildButtons(), this.readout);
      box.before(tools);
      const help = make("p", "help", "Drag to zoom, drag with Shift to move, double click for all. Keys: arrows, + and -, 0 for all.");
      help.id = `${this.figure.id}-help`;
      box.after(this.live, help);
      this.panels.forEach((panel, index) => {
        this.live.append(make("p", "unit", this.labels[index].y));
        const host = make("div", "host");
        this.live.append(host);
        this.plots.push(this.buildPanel(panel, index, host));
      });
      this.figure.classList.add("is-live");
      this.fit();
      new ResizeObserver(() => this.fit()).observe(this.live);
      this.live.addEventListener("keydown", (event) => this.onKey(event));
      this.live.addEventListener("blur", () => this.live.removeAttribute("aria-live"));
    }

    buildButtons() {
      const bar = make("div", "buttons");
      const add = (text, label, act) => {
        const button = make("button", "", text);
        button.type = "button";
        button.setAttribute("aria-label", label);
        button.title = label;
        button.addEventListener("click", act);
        bar.append(button);
        return button;
      };
      add("+", "Zoom in", () => this.zoom(0.5));
      this.outButtons = [
        add("\u2212", "Zoom out", () => this.zoom(2)),
        add("\u2190", "Earlier", () => this.pan(-0.5)),
        add("\u2192", "Later", () => this.pan(0.5)),
        add("All", "The whole recording", () => this.show(...this.full)),
      ];
      return bar;
    }

    buildPanel(panel, index, host) {
      const isLast = index + 1 === this.panels.length;
      const rem = parseFloat(getComputedStyle(document.documentElement).fontSize);
      const xHeight = isLast ? 1.8 * rem : 0;
      panel.height = this.labels[index].height + xHeight;
      const data = align(panel.lines);
      const stepped = uPlot.paths.stepped({ align: 1 }), linear = uPlot.paths.linear();
      // Of many steps to a pixel nothing shows but how high they go; lines are drawn so at once.
      const steps = (u, series, from, to) => (to - from > 4 * u.bbox.width ? linear : stepped)(u, series, from, to);
      return new uPlot({
        width: 400, height: panel.height, padding: [7, 2, isLast ? 0 : 4, 0], legend: { show: false },
        cursor: { sync: { key: this.figure.id, setSeries: false }, drag: { x: true, y: false, dist: 4 },
          points: { size: 7, fill: (u, i) => u.series[i].stroke() } },
        scales: { x: { time: false }, y: { range: panel.y } },
        series: [{}, ...panel.lines.map((line) => {
          const look = looks[line.look];
          return { stroke: () => color(look.color), width: look.width, dash: look.dash, spanGaps: false, points: { show: false },
            paths: (u, series, from, to) => {
              // Where a pixel holds many readings dashes would show none of them, and take seconds.
              const isCrowded = to - from > CROWDED_POINTS_A_PIXEL * u.bbox.width;
              Object.assign(u.series[series], { width: isCrowded ? 1 / devicePixelRatio : look.width, dash: isCrowded ? [] : look.dash ?? [] });
              return (line.steps ? steps : linear)(u, series, from, to);
            } };
        })],
        axes: [
          axis({ show: true, size: xHeight, gap: 4, space: 70, incrs: clockSteps,
            values: (u, splits, k, space, step) => splits.map((at) => (isLast ? clock(at, decimalsOf(step)) : "")) }),
          axis({ size: 3.1 * rem, gap: 6, space: panel.strip ? 22 : 40 }),
        ],
        hooks: {
          drawClear: [(u) => this.drawSpans(u)],
          draw: [(u) => this.drawMarks(u, panel, index)],
          setScale: [(u, key) => { if (key === "x") this.follow(u); }],
          setCursor: [(u) => this.onCursor(u)],
          ready: [(u) => this.bindPointer(u)],
        },
      }, data, host);
    }

    fit() {
      const width = Math.floor(this.live.clientWidth);
      if (width > 0) this.plots.forEach((u, i) => u.setSize({ width, height: this.panels[i].height }));
    }

    drawSpans(u) {
      const { ctx, bbox } = u;
      ctx.save();
      ctx.beginPath();
      ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
      ctx.clip();
      for (const look of ["held", "void"]) {
        const spans = this.spans[look];
        if (!spans) continue;
        ctx.fillStyle = hatch(ctx, look);
        ctx.strokeStyle = color(`--${look}`);
        ctx.lineWidth = devicePixelRatio || 1;
        for (let i = 0, drawn = -Infinity; i < spans.length; i += 2) {
          if (spans[i + 1] < this.range[0] || spans[i] > this.range[1]) continue;
          const from = u.valToPos(spans[i], "x", true), to = u.valToPos(spans[i + 1], "x", true);
          if (to <= drawn) continue; // in a pixel that is hatched already
          drawn = Math.max(to, from + 1);
          ctx.fillRect(from, bbox.top, Math.max(to - from, 1), bbox.height);
          ctx.strokeRect(from, bbox.top - 2, Math.max(to - from, 1), bbox.height + 4);
        }
      }
      ctx.restore();
    }

    drawMarks(u, panel, index) {
      const { ctx, bbox } = u, ratio = devicePixelRatio || 1;
      ctx.save();
      ctx.setLineDash([]);
      ctx.strokeStyle = color("--rule");
      ctx.lineWidth = ratio;
      ctx.strokeRect(bbox.left, bbox.top, bbox.width, bbox.height);
      panel.marks.forEach(({ at, limit }, i) => {
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
        const place = [this.labels[index].marks[i], bbox.left + bbox.width - 4 * ratio, y + (ctx.textBaseline === "top" ? 3 : -3) * ratio];
        ctx.strokeText(...place);
        ctx.fillText(...place);
      });
      if (this.marked !== null) {
        const x = u.valToPos(this.marked, "x", true);
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

    // --- zoom and pan ---

    show(from, to) {
      const whole = this.full[1] - this.full[0];
      const span = Math.min(Math.max(to - from, Math.min(LEAST_SPAN_S, whole)), whole);
      let begin = (from + to - span) / 2;
      begin = Math.min(Math.max(begin, this.full[0]), this.full[1] - span);
      this.range = [begin, begin + span];
      this.apply();
    }

    zoom(factor, about = this.time ?? (this.range[0] + this.range[1]) / 2) {
      const [from, to] = this.range;
      const inside = Math.min(Math.max(about, from), to);
      this.show(inside - (inside - from) * factor, inside + (to - inside) * factor);
    }

    pan(share) {
      const by = share * (this.range[1] - this.range[0]);
      this.show(this.range[0] + by, this.range[1] + by);
    }

    get isZoomed() {
      return this.range[1] - this.range[0] < (this.full[1] - this.full[0]) * 0.9999;
    }

    apply() {
      const [min, max] = this.range;
      for (const u of this.plots)
        if (u.scales.x.min !== min || u.scales.x.max !== max) u.setScale("x", { min, max });
      this.outButtons.forEach((button) => { button.disabled = !this.isZoomed; });
      // The loop follows once the plots rest: it is drawn anew as a whole.
      clearTimeout(this.loopWaits);
      if (this.loop) this.loopWaits = setTimeout(() => this.loop.redraw(), LOOP_WAITS_MS);
    }

    // One plot was zoomed by hand: all follow.
    follow(u) {
      if (u === undefined) return this.show(...this.full);
      const { min, max } = u.scales.x;
      if (min === null || min === undefined || (min === this.range[0] && max === this.range[1])) return undefined;
      return this.show(min, max);
    }

    // --- the cursor ---

    onCursor(u) {
      if (u.cursor.left === null || u.cursor.left < 0) return;
      this.read(u.posToVal(u.cursor.left, "x"));
    }

    read(time) {
      if (time === this.time) return;
      this.time = time;
      const unit = (label) => (/\(([^()]*)\)$/.exec(label) ?? [])[1] ?? "";
      const words = this.panels.flatMap((panel, i) => panel.lines.map((line) => {
        const name = (this.names[line.look] ?? "").replace(/\s*\([^()]*\)$/, "");
        const value = valueAt(line, time);
        const sense = unit(line.look === "asked" || line.look === "position" ? this.labels[i].y : this.names[line.look] ?? "");
        return `${name} ${value === null ? "none" : `${Number(value.toPrecision(4))} ${sense}`.trim()}`;
      }));
      for (const look of ["held", "void"])
        for (let i = 0; i < (this.spans[look] ?? []).length; i += 2)
          if (this.spans[look][i] <= time && time <= this.spans[look][i + 1]) {
            words.push(this.names[look]);
            break;
          }
      this.words = `${clock(time, 2)}: ${words.join(", ")}`;
      this.readout.textContent = this.words;
      this.live.setAttribute("aria-valuenow", time.toFixed(3));
      this.live.setAttribute("aria-valuetext", this.words);
      if (this.loop) this.placeDot();
    }

    point(time) {
      const [from, to] = this.range;
      if (time < from || time > to) this.show(from + time - (time < from ? from : to), to + time - (time < from ? from : to));
      for (const u of this.plots) u.setCursor({ left: u.valToPos(time, "x"), top: u.over.clientHeight / 2 }, false);
      this.read(time);
    }

    onKey(event) {
      if (event.ctrlKey || event.metaKey || event.altKey) return;
      const x = this.position.x;
      const move = (by) => {
        const now = this.time === null ? indexBefore(x, (this.range[0] + this.range[1]) / 2) : indexBefore(x, this.time + 1e-6) + by;
        let to = Math.min(Math.max(now, 0), x.length - 1);
        if (this.position.y[to] === null) to = Math.min(Math.max(to + Math.sign(by || 1), 0), x.length - 1);
        this.point(x[to]);
      };
      const acts = {
        ArrowRight: () => move(event.shiftKey ? 20 : 1), ArrowLeft: () => move(event.shiftKey ? -20 : -1),
        Home: () => this.point(this.full[0]), End: () => this.point(this.full[1]),
        PageUp: () => this.pan(-0.5), PageDown: () => this.pan(0.5),
        "+": () => this.zoom(0.5), "=": () => this.zoom(0.5), "-": () => this.zoom(2),
        0: () => this.show(...this.full), Escape: () => this.show(...this.full),
      };
      const act = acts[event.key];
      if (!act) return;
      event.preventDefault();
      act();
    }

    bindPointer(u) {
      const over = u.over, timeAt = (event) => u.posToVal(event.clientX - over.getBoundingClientRect().left, "x");
      const perPixel = () => (this.range[1] - this.range[0]) / over.clientWidth;
      over.addEventListener("wheel", (event) => {
        if (event.ctrlKey) this.zoom(Math.exp(event.deltaY / 300), timeAt(event));
        else if (Math.abs(event.deltaX) > Math.abs(event.deltaY) && this.isZoomed) this.pan(event.deltaX / over.clientWidth);
        else return;
        event.preventDefault();
      }, { passive: false });
      // Shift and the mouse: taken before the plot would begin to choose a part.
      u.root.addEventListener("mousedown", (event) => {
        if (!event.shiftKey || event.button !== 0) return;
        event.preventDefault();
        event.stopPropagation();
        const begin = event.clientX, range = [...this.range], unit = perPixel();
        const moved = ({ clientX }) => this.show(range[0] - (clientX - begin) * unit, range[1] - (clientX - begin) * unit);
        document.addEventListener("mousemove", moved);
        document.addEventListener("mouseup", () => document.removeEventListener("mousemove", moved), { once: true });
      }, { capture: true });
      // Fingers: one moves the part that is seen, or the cursor where all is seen; two zoom.
      const fingers = new Map();
      let base = null;
      const rebase = () => {
        const xs = [...fingers.values()];
        base = xs.length === 0 ? null : { xs, range: [...this.range], unit: perPixel(),
          about: u.posToVal(xs.reduce((a, b) => a + b) / xs.length - over.getBoundingClientRect().left, "x") };
      };
      const end = (event) => { if (fingers.delete(event.pointerId)) rebase(); };
      over.addEventListener("pointerdown", (event) => {
        if (event.pointerType !== "touch") return;
        over.setPointerCapture(event.pointerId);
        fingers.set(event.pointerId, event.clientX);
        rebase();
        if (fingers.size === 1) this.point(Math.min(Math.max(timeAt(event), this.range[0]), this.range[1]));
      });
      over.addEventListener("pointermove", (event) => {
        if (!fingers.has(event.pointerId)) return;
        fingers.set(event.pointerId, event.clientX);
        const xs = [...fingers.values()];
        if (xs.length === 1) {
          const by = (xs[0] - base.xs[0]) * base.unit;
          if (this.isZoomed) this.show(base.range[0] - by, base.range[1] - by);
          else this.point(Math.min(Math.max(timeAt(event), this.range[0]), this.range[1]));
        } else {
          const apart = (list) => Math.max(Math.abs(list[0] - list[1]), 10);
          const factor = apart(base.xs) / apart(xs);
          this.show(base.about - (base.about - base.range[0]) * factor, base.about + (base.range[1] - base.about) * factor);
        }
      });
      over.addEventListener("pointerup", end);
      over.addEventListener("pointercancel", end);
    }

    // --- the loop ---

    buildLoop(figure, plot) {
      const command = this.lines.find((line) => line.look === "command");
      const x = this.position.x.map((time, i) => (this.position.y[i] === null ? null : valueAt(command, time)));
      const y = this.position.y;
      const panel = plot.panels[0];
      const box = figure.querySelector(".panels"), svg = figure.querySelector("svg.panel");
      const curves = panel.lines.map(decodeLine);
      const rem = parseFloat(getComputedStyle(document.documentElement).fontSize);
      const height = svg.getBoundingClientRect().height + 1.8 * rem;
      const live = make("div", "live");
      live.setAttribute("role", "img");
      live.setAttribute("aria-label", box.getAttribute("aria-label"));
      live.append(make("p", "unit", svg.querySelector(":scope > .unit:last-of-type").textContent));
      const host = make("div", "host");
      live.append(host, make("p", "unit below", [...svg.querySelectorAll(":scope > .unit")][0].textContent));
      box.after(live);
      figure.classList.add("is-live");
      // In short paths: of one long path a browser tries each stretch against all others.
      const drawTrack = (u, part, stroke) => {
        const { ctx, bbox } = u;
        const from = part ? Math.max(indexBefore(this.position.x, this.range[0]), 0) : 0;
        const to = part ? indexBefore(this.position.x, this.range[1]) : x.length - 1;
        ctx.save();
        ctx.beginPath();
        ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
        ctx.clip();
        ctx.strokeStyle = stroke;
        ctx.lineWidth = to - from > CROWDED_POINTS_A_PIXEL * bbox.width ? 1 : 1.2 * (devicePixelRatio || 1); // 1 is drawn fastest
        ctx.lineJoin = "round";
        ctx.beginPath();
        let down = false, lastX = 0, lastY = 0, length = 0;
        for (let i = from; i <= to; i++) {
          if (x[i] === null || y[i] === null) { down = false; continue; }
          const px = u.valToPos(x[i], "x", true), py = u.valToPos(y[i], "y", true);
          if (down && Math.abs(px - lastX) < 0.7 && Math.abs(py - lastY) < 0.7) continue; // no pixel further
          if (length >= LOOP_PATH_POINTS) {
            ctx.stroke();
            ctx.beginPath();
            ctx.moveTo(lastX, lastY);
            length = 0;
          }
          if (down) ctx.lineTo(px, py); else ctx.moveTo(px, py);
          length++;
          down = true;
          lastX = px;
          lastY = py;
        }
        ctx.stroke();
        ctx.restore();
      };
      const curve = (u, index) => {
        const path = new Path2D();
        uPlot.orient(u, index, (series, xs, ys, sx, sy, toX, toY, left, top, width, high) => {
          let draw = "moveTo";
          xs.forEach((at, i) => {
            if (at !== null && ys[i] !== null) path[draw](toX(at, sx, width, left), toY(ys[i], sy, high, top));
            draw = at !== null && ys[i] !== null ? "lineTo" : "moveTo";
          });
        });
        return { stroke: path, fill: null, clip: null, band: null, gaps: null, flags: 1 };
      };
      const facets = [{ scale: "x", auto: false }, { scale: "y", auto: false }];
      const labels = { marks: [...svg.querySelectorAll(".limit-label, .place-label")].map((text) => text.textContent) };
      this.labels.push(labels);
      const slot = this.labels.length - 1;
      this.loop = new uPlot({
        mode: 2, width: 400, height, padding: [7, 2, 0, 0], legend: { show: false }, cursor: { show: false },
        scales: { x: { time: false, range: plot.x }, y: { range: panel.y } },
        series: [null, { facets, paths: () => null }, ...curves.map(({ look }) => ({ facets, stroke: () => color(looks[look].color), width: looks[look].width, dash: looks[look].dash, paths: curve }))],
        axes: [axis({ size: 1.8 * rem, gap: 4, space: 60 }), axis({ size: 3.1 * rem, gap: 6, space: 40 })],
        hooks: { drawAxes: [(u) => {
          if (this.isZoomed) drawTrack(u, false, color("--range"));
          drawTrack(u, this.isZoomed, color("--position"));
        }], draw: [(u) => {
          const marked = this.marked;
          this.marked = null;
          this.drawMarks(u, panel, slot);
          this.marked = marked;
        }] },
      }, [null, [x, y], ...curves.map((curve) => [curve.x, curve.y])], host);
      this.dot = make("i", "dot");
      this.dot.hidden = true;
      this.loop.over.append(this.dot);
      this.track = { x, y };
      const fit = () => { if (live.clientWidth > 0) this.loop.setSize({ width: Math.floor(live.clientWidth), height }); };
      fit();
      new ResizeObserver(fit).observe(live);
    }

    placeDot() {
      const { x } = this.position;
      let i = indexBefore(x, this.time);
      if (i + 1 < x.length && (i < 0 || x[i + 1] - this.time < this.time - x[i])) i++;
      const there = i >= 0 && this.track.x[i] !== null && this.track.y[i] !== null;
      this.dot.hidden = !there;
      if (!there) return;
      this.dot.style.left = `${this.loop.valToPos(this.track.x[i], "x")}px`;
      this.dot.style.top = `${this.loop.valToPos(this.track.y[i], "y")}px`;
    }

    redraw() {
      for (const u of [...this.plots, ...(this.loop ? [this.loop] : [])]) u.redraw();
    }
  }

  // --- the page ------------------------------------------------------------------------------

  const recordings = new Map();

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

  for (const plot of JSON.parse(source.textContent)) {
    const figure = document.getElementById(plot.id);
    if (figure === null || recordings.has(plot.id)) continue;
    const recording = new Recording(figure, plot, document.getElementById(plot.loop?.id ?? ""), plot.loop);
    recordings.set(plot.id, recording);
    for (const table of document.querySelectorAll(`[data-plot="${plot.id}"]`)) bindSteps(table, recording);
  }
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => recordings.forEach((recording) => recording.redraw()));
  globalThis.platelag = { recordings }; // for whoever looks at the page with its tools, and for its tests
})();
