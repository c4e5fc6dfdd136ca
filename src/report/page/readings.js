// SPDX-License-Identifier: GPL-3.0-or-later
//
// The readings of a plot, from the data block.

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

// The values of a line at rising times, as valueAt gives each; a walk along both, for there may be many.
function valuesAt(line, times) {
  const { x, y, steps } = line;
  let i = -1;
  return times.map((time) => {
    while (i + 1 < x.length && x[i + 1] <= time) i++;
    const next = !steps && i + 1 < x.length && (i < 0 || x[i + 1] - time < time - x[i]) ? i + 1 : i;
    return next < 0 ? null : y[next] ?? null;
  });
}
