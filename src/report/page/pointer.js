// SPDX-License-Identifier: GPL-3.0-or-later
//
// Mouse and fingers on a plot over time.

function bindPointer(recording, u) {
  const over = u.over, timeAt = (event) => u.posToVal(event.clientX - over.getBoundingClientRect().left, "x");
  const perPixel = () => (recording.range[1] - recording.range[0]) / over.clientWidth;
  over.addEventListener("wheel", (event) => {
    if (event.ctrlKey) recording.zoom(Math.exp(event.deltaY / 300), timeAt(event));
    else if (Math.abs(event.deltaX) > Math.abs(event.deltaY) && recording.isZoomed) recording.pan(event.deltaX / over.clientWidth);
    else return;
    event.preventDefault();
  }, { passive: false });
  // Shift and the mouse: taken before the plot would begin to choose a part.
  u.root.addEventListener("mousedown", (event) => {
    if (!event.shiftKey || event.button !== 0) return;
    event.preventDefault();
    event.stopPropagation();
    const begin = event.clientX, range = [...recording.range], unit = perPixel();
    const moved = ({ clientX }) => recording.show(range[0] - (clientX - begin) * unit, range[1] - (clientX - begin) * unit);
    document.addEventListener("mousemove", moved);
    document.addEventListener("mouseup", () => document.removeEventListener("mousemove", moved), { once: true });
  }, { capture: true });
  // Fingers: one moves the part that is seen, or the cursor where all is seen; two zoom.
  const fingers = new Map();
  let base = null;
  const rebase = () => {
    const xs = [...fingers.values()];
    base = xs.length === 0 ? null : { xs, range: [...recording.range], unit: perPixel(),
      about: u.posToVal(xs.reduce((a, b) => a + b) / xs.length - over.getBoundingClientRect().left, "x") };
  };
  const end = (event) => { if (fingers.delete(event.pointerId)) rebase(); };
  over.addEventListener("pointerdown", (event) => {
    if (event.pointerType !== "touch") return;
    over.setPointerCapture(event.pointerId);
    fingers.set(event.pointerId, event.clientX);
    rebase();
    if (fingers.size === 1) recording.point(Math.min(Math.max(timeAt(event), recording.range[0]), recording.range[1]));
  });
  over.addEventListener("pointermove", (event) => {
    if (!fingers.has(event.pointerId)) return;
    fingers.set(event.pointerId, event.clientX);
    const xs = [...fingers.values()];
    if (xs.length === 1) {
      const by = (xs[0] - base.xs[0]) * base.unit;
      if (recording.isZoomed) recording.show(base.range[0] - by, base.range[1] - by);
      else recording.point(Math.min(Math.max(timeAt(event), recording.range[0]), recording.range[1]));
    } else {
      const apart = (list) => Math.max(Math.abs(list[0] - list[1]), 10);
      const factor = apart(base.xs) / apart(xs);
      recording.show(base.about - (base.about - base.range[0]) * factor, base.about + (base.range[1] - base.about) * factor);
    }
  });
  over.addEventListener("pointerup", end);
  over.addEventListener("pointercancel", end);
}
