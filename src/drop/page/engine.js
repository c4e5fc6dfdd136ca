// SPDX-License-Identifier: GPL-3.0-or-later
//
// The engine's worker, from the page's side. A browser makes fast code of what has run already, so the worker
// begins with the page and stays for the next review; after one that took much memory another takes its place,
// for a worker gives memory back when it ends.

const MOST_KEPT_BYTES = 64e6;

class Engine {
  // `on`: who is told, by the kind of message: progress, wrong, done; failed, with whether a review has failed.
  constructor(on) {
    this.on = on;
    this.url = URL.createObjectURL(new Blob([byId("worker").textContent], { type: "text/javascript" }));
    this.module = null; // compiled
    this.worker = null;
    this.isBusy = false;
  }

  start() {
    const mine = new Worker(this.url);
    this.worker = mine;
    mine.onmessage = ({ data }) => { if (this.worker === mine) this.take(data); };
    mine.onerror = (event) => {
      event.preventDefault();
      if (this.worker === mine) this.take({ kind: "failed", message: event.message ?? "the worker could not be started" });
    };
    mine.postMessage(this.module ? { kind: "engine", module: this.module } : { kind: "engine", base64: byId("wasm").textContent });
  }

  take(message) {
    const { kind } = message;
    if (kind === "compiled") this.module = message.module;
    else if (kind === "ready") performance.mark("platelag-ready");
    else if (kind === "progress") this.on.progress(message);
    else if (kind === "failed") this.fail(message);
    else {
      this.isBusy = false;
      if (message.bytes > MOST_KEPT_BYTES) this.end();
      this.on[kind](message);
    }
  }

  fail(message) {
    const wasBusy = this.isBusy;
    this.module = null; // it may be what failed
    this.end();
    this.on.failed(message, wasBusy);
  }

  end() {
    this.worker?.terminate();
    this.worker = null;
    this.isBusy = false;
  }

  // Has a worker ready for the next review.
  prepare() {
    if (this.worker === null) this.start();
  }

  review(request) {
    if (this.isBusy) this.end();
    this.prepare();
    this.isBusy = true;
    this.worker.postMessage({ kind: "review", ...request });
  }

  stop() {
    this.end();
    this.prepare();
  }
}
