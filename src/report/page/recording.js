// SPDX-License-Identifier: GPL-3.0-or-later
//
// One recording: its plots over time, zoomed and read together.

const LEAST_SPAN_S = 0.5;
const LOOP_WAITS_MS = 120;
const CROWDED_POINTS_A_PIXEL = 20; // of a line

class Recording {
  // `drawn` and `drawnLoop`: the figures that stand in the page; `plot`: its part of the data block. Nothing is
  // drawn before `draw` is.
  constructor(drawn, plot, drawnLoop) {
    this.figure = drawn;
    this.full = plot.x;
    this.range = [...plot.x];
    this.spans = plot.spans;
    this.panels = plot.panels.map((panel) => ({ ...panel, lines: [] }));
    this.time = null;    // of the cursor
    this.marked = null;  // a step that was chosen
    this.plots = [];
    this.loop = null;
    this.given = { lines: plot.panels.map((panel) => panel.lines), loop: plot.loop, drawnLoop };
    this.readNames();
  }

  get lines() {
    return this.panels.flatMap((panel) => panel.lines);
  }

  // Puts the plots in place of those that the program drew; yields between two pieces of that work, so that
  // the page can stay awake meanwhile.
  *draw() {
    for (const [index, lines] of this.given.lines.entries())
      for (const line of lines) {
        this.panels[index].lines.push(decodeLine(line));
        yield;
      }
    this.position = this.lines.find((line) => line.look === "position");
    const hosts = this.build();
    for (const [index, panel] of this.panels.entries()) {
      const data = align(panel.lines);
      yield;
      this.plots.push(this.buildPanel(panel, index, hosts[index], data));
      this.apply();
      yield;
    }
    new ResizeObserver(() => this.fit()).observe(this.live);
    const { loop, drawnLoop } = this.given;
    const command = this.lines.find((line) => line.look === "command");
    if (loop && command) {
      this.loop = new Loop(this, command, drawnLoop, loop);
      yield;
    }
    this.given = null;
  }

  // What lines and spans are called, from the legend and the labels of the drawn plot.
  readNames() {
    this.names = {};
    for (const item of this.figure.querySelectorAll(".legend li")) {
      const key = item.querySelector(".key > *").classList[0];
      this.names[key] = item.textContent.trim();
    }
    this.labels = [...this.figure.querySelectorAll("svg.panel")].map((svg) => ({
      y: unitsOf(svg).at(-1), marks: markLabels(svg), height: svg.getBoundingClientRect().height }));
  }

  // The frame of the plots over time; the places for these, as high as they will be.
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
    const hosts = this.panels.map((panel, index) => {
      panel.xHeight = index + 1 === this.panels.length ? 1.8 * remPixels() : 0;
      panel.height = this.labels[index].height + panel.xHeight;
      const host = make("div", "host");
      host.style.minHeight = `${panel.height}px`;
      this.live.append(make("p", "unit", this.labels[index].y), host);
      return host;
    });
    this.figure.classList.add("is-live");
    this.live.addEventListener("keydown", (event) => this.onKey(event));
    this.live.addEventListener("blur", () => this.live.removeAttribute("aria-live"));
    return hosts;
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

  buildPanel(panel, index, host, data) {
    const isLast = index + 1 === this.panels.length;
    const stepped = uPlot.paths.stepped({ align: 1 }), linear = uPlot.paths.linear();
    // Of many steps to a pixel nothing shows but how high they go; lines are drawn so at once.
    const steps = (u, series, from, to) => (to - from > 4 * u.bbox.width ? linear : stepped)(u, series, from, to);
    return new uPlot({
      width: Math.floor(this.live.clientWidth) || 400, height: panel.height, padding: [7, 2, isLast ? 0 : 4, 0], legend: { show: false },
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
        axis({ show: true, size: panel.xHeight, gap: 4, space: 70, incrs: clockSteps,
          values: (u, splits, k, space, step) => splits.map((at) => (isLast ? clock(at, decimalsOf(step)) : "")) }),
        axis({ size: 3.1 * remPixels(), gap: 6, space: panel.strip ? 22 : 40 }),
      ],
      hooks: {
        drawClear: [(u) => this.drawSpans(u)],
        draw: [(u) => drawMarks(u, panel.marks, this.labels[index].marks, this.marked)],
        setScale: [(u, key) => { if (key === "x") this.follow(u); }],
        setCursor: [(u) => this.onCursor(u)],
        ready: [(u) => bindPointer(this, u)],
      },
    }, data, host);
  }

  fit() {
    const width = Math.floor(this.live.clientWidth);
    if (width > 0) this.plots.filter((u) => u.width !== width).forEach((u) => u.setSize({ width, height: u.height }));
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
    if (this.loop?.isBehind) this.loopWaits = setTimeout(() => this.loop.redraw(), LOOP_WAITS_MS);
  }

  // One plot was zoomed by hand: all follow.
  follow(u) {
    const { min, max } = u.scales.x;
    if (min === null || min === undefined || (min === this.range[0] && max === this.range[1])) return;
    this.show(min, max);
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
    this.loop?.placeDot(time);
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

  redraw() {
    for (const u of this.plots) u.redraw();
    this.loop?.redraw();
  }
}
