// SPDX-License-Identifier: GPL-3.0-or-later
//
// The loop of command and position: the whole recording, of which the part that the plots over time
// show stands out, and a dot at their cursor.

const LOOP_PATH_POINTS = 250;
const LOOP_CROWDED_POINTS_A_PIXEL = 20;

class Loop {
  // `drawn`: the figure in the page; `plot`: its part of the data block; `command`: the line that it runs along.
  constructor(recording, command, drawn, plot) {
    this.recording = recording;
    this.seen = null; // the range that it was drawn for
    const { position } = recording;
    const levels = valuesAt(command, position.x);
    this.y = position.y;
    this.x = levels.map((level, i) => (this.y[i] === null ? null : level));
    this.build(drawn, plot);
  }

  build(drawn, plot) {
    const box = drawn.querySelector(".panels"), svg = drawn.querySelector("svg.panel");
    const units = unitsOf(svg);
    this.height = svg.getBoundingClientRect().height + 1.8 * remPixels();
    this.live = make("div", "live");
    this.live.setAttribute("role", "img");
    this.live.setAttribute("aria-label", box.getAttribute("aria-label"));
    const host = make("div", "host");
    this.live.append(make("p", "unit", units.at(-1)), host, make("p", "unit below", units[0]));
    box.after(this.live);
    drawn.classList.add("is-live");
    this.plot = this.buildPlot(plot, markLabels(svg), host);
    this.dot = make("i", "dot");
    this.dot.hidden = true;
    this.plot.over.append(this.dot);
    new ResizeObserver(() => this.fit()).observe(this.live);
  }

  buildPlot({ x, panels: [panel] }, labels, host) {
    const curves = panel.lines.map(decodeLine);
    const facets = [{ scale: "x", auto: false }, { scale: "y", auto: false }];
    return new uPlot({
      mode: 2, width: Math.floor(this.live.clientWidth) || 400, height: this.height, padding: [7, 2, 0, 0], legend: { show: false }, cursor: { show: false },
      scales: { x: { time: false, range: x }, y: { range: panel.y } },
      series: [null, { facets, paths: () => null }, ...curves.map(({ look }) => ({ facets, stroke: () => color(looks[look].color), width: looks[look].width, dash: looks[look].dash, paths: drawCurve }))],
      axes: [axis({ size: 1.8 * remPixels(), gap: 4, space: 60 }), axis({ size: 3.1 * remPixels(), gap: 6, space: 40 })],
      hooks: { drawAxes: [(u) => this.drawTracks(u)], draw: [(u) => drawMarks(u, panel.marks, labels, null)] },
    }, [null, [this.x, this.y], ...curves.map((curve) => [curve.x, curve.y])], host);
  }

  fit() {
    const width = Math.floor(this.live.clientWidth);
    if (width > 0 && width !== this.plot.width) this.plot.setSize({ width, height: this.height });
  }

  drawTracks(u) {
    const { range, isZoomed, position } = this.recording;
    this.seen = range;
    if (isZoomed) this.drawTrack(u, 0, this.x.length - 1, color("--range"));
    const part = isZoomed ? [Math.max(indexBefore(position.x, range[0]), 0), indexBefore(position.x, range[1])] : [0, this.x.length - 1];
    this.drawTrack(u, ...part, color("--position"));
  }

  // In short paths: of one long path a browser tries each stretch against all others.
  drawTrack(u, from, to, stroke) {
    const { ctx, bbox } = u, { x, y } = this;
    ctx.save();
    ctx.beginPath();
    ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
    ctx.clip();
    ctx.strokeStyle = stroke;
    ctx.lineWidth = to - from > LOOP_CROWDED_POINTS_A_PIXEL * bbox.width ? 1 : 1.2 * (devicePixelRatio || 1); // 1 is drawn fastest
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
  }

  get isBehind() {
    return this.seen !== null && this.recording.range !== this.seen;
  }

  redraw() {
    this.plot.redraw();
  }

  // At the reading nearest to a time.
  placeDot(time) {
    const { x } = this.recording.position;
    let i = indexBefore(x, time);
    if (i + 1 < x.length && (i < 0 || x[i + 1] - time < time - x[i])) i++;
    const there = i >= 0 && this.x[i] !== null && this.y[i] !== null;
    this.dot.hidden = !there;
    if (!there) return;
    this.dot.style.left = `${this.plot.valToPos(this.x[i], "x")}px`;
    this.dot.style.top = `${this.plot.valToPos(this.y[i], "y")}px`;
  }
}

function drawCurve(u, index) {
  const path = new Path2D();
  uPlot.orient(u, index, (series, xs, ys, sx, sy, toX, toY, left, top, width, high) => {
    let draw = "moveTo";
    xs.forEach((at, i) => {
      if (at !== null && ys[i] !== null) path[draw](toX(at, sx, width, left), toY(ys[i], sy, high, top));
      draw = at !== null && ys[i] !== null ? "lineTo" : "moveTo";
    });
  });
  return { stroke: path, fill: null, clip: null, band: null, gaps: null, flags: 1 };
}
