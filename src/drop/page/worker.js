// SPDX-License-Identifier: GPL-3.0-or-later
//
// One review, away from the page: unpacks what is packed, reads the files piece by piece, lets the
// engine judge them and hands back the texts. The page ends this worker when it is done, and the
// engine's memory with it.
"use strict";

const MOST_UNPACKED = 2 ** 31; // bytes; beyond, it is no recording of one vehicle
const PIECE = 2 ** 20, HEAP_PIECE = 2 ** 24, TICK_MS = 100;
const encoder = new TextEncoder(), decoder = new TextDecoder();
const files = new FileReaderSync();

class Refusal extends Error {}

// Tells the page how far the work is, at most ten times a second.
let told = 0;
function tell(progress, always = false) {
  const now = performance.now();
  if (!always && now - told < TICK_MS) return;
  told = now;
  postMessage({ kind: "progress", ...progress });
}

// --- files ---------------------------------------------------------------------------------------

async function unpack({ file, name }) {
  const reader = file.stream().pipeThrough(new DecompressionStream("gzip")).getReader();
  const blobs = [];
  let pieces = [], inHeap = 0, size = 0;
  try {
    for (;;) {
      const { done, value } = await reader.read();
      if (done) return new Blob([...blobs, ...pieces]);
      pieces.push(value);
      inHeap += value.length;
      size += value.length;
      if (size > MOST_UNPACKED) throw new Refusal("more than 2 GB unpacked; a recording of one vehicle was expected");
      if (inHeap > HEAP_PIECE) {
        blobs.push(new Blob(pieces)); // which the browser may put on disk
        [pieces, inHeap] = [[], 0];
      }
      tell({ stage: "unpack", name, done: size });
    }
  } catch (error) {
    reader.cancel().catch(() => {});
    throw error instanceof Refusal ? error : new Refusal(`the packed file is damaged or cut off (${error.message})`);
  }
}

const MAGIC_GZIP = [0x1f, 0x8b], MAGIC_ZSTD = [0x28, 0xb5, 0x2f, 0xfd];

// The bytes of a file, unpacked.
async function open(given) {
  let head;
  try {
    head = new Uint8Array(files.readAsArrayBuffer(given.file.slice(0, 4)));
  } catch {
    throw new Refusal("the browser could not read the file; was it moved or changed? Choose it again");
  }
  const begins = (magic) => magic.every((byte, i) => head[i] === byte);
  if (begins(MAGIC_ZSTD)) throw new Refusal("zstd-compressed, which a browser cannot unpack; unpack it first, or pack it as .gz");
  return begins(MAGIC_GZIP) ? unpack(given) : given.file;
}

// What the engine reads from: blobs, each from its beginning.
class Inputs {
  constructor(opened) {
    this.inputs = opened.map(({ name, blob }) => ({ name, blob, at: 0, piece: new Uint8Array(0), from: 0 }));
    this.total = opened.reduce((sum, { blob }) => sum + blob.size, 0);
    this.done = 0;
  }

  rewind() {
    for (const input of this.inputs) [input.at, input.from, input.piece] = [0, 0, new Uint8Array(0)];
  }

  // Copies up to `to.length` bytes; how many, 0 at the end, -1: the browser cannot read it.
  read(index, to) {
    const input = this.inputs[index];
    if (input.from === input.piece.length && input.at < input.blob.size) {
      try {
        input.piece = new Uint8Array(files.readAsArrayBuffer(input.blob.slice(input.at, input.at + PIECE)));
      } catch {
        return -1;
      }
      input.from = 0;
      input.at += input.piece.length;
      this.done += input.piece.length;
      tell({ stage: "read", name: input.name, done: this.done, total: this.total });
    }
    const bytes = input.piece.subarray(input.from, input.from + to.length);
    to.set(bytes);
    input.from += bytes.length;
    if (bytes.length === 0 && to.length > 0 && index === this.inputs.length - 1) tell({ stage: "judge" }, true);
    return bytes.length;
  }
}

// --- the engine ----------------------------------------------------------------------------------

class Engine {
  // `inputs` may be set later.
  constructor(module) {
    const here = this;
    this.written = [];
    const page = {
      read: (index, at, size) => here.inputs.read(index, here.bytes(at, size)),
      write: (at, size) => { here.written.push(here.bytes(at, size).slice()); },
    };
    // The C library's few wishes: no environment, a clock that stands, no files.
    const system = {
      environ_get: () => 0,
      environ_sizes_get: (count, size) => { here.view().setUint32(count, 0, true); here.view().setUint32(size, 0, true); return 0; },
      clock_time_get: (id, precision, at) => { here.view().setBigUint64(at, 0n, true); return 0; },
      proc_exit: (status) => { throw new Error(`the engine ended with status ${status}`); },
    };
    const none = () => 52; // not supported
    const wasi = {};
    for (const { module: from, name } of WebAssembly.Module.imports(module)) if (from !== "page") wasi[name] = system[name] ?? none;
    this.calls = new WebAssembly.Instance(module, { page, wasi_snapshot_preview1: wasi }).exports;
    this.calls._initialize?.();
    this.vehicle = this.calls.drop_begin();
    if (this.vehicle === 0) throw new Error("no memory left");
  }

  // Memory moves when it grows: no view of it is kept.
  bytes(at, size) { return new Uint8Array(this.calls.memory.buffer, at, size); }
  view() { return new DataView(this.calls.memory.buffer); }

  // Calls with texts, which the engine borrows for the call.
  call(name, ...values) {
    const lent = [];
    const given = values.map((value) => {
      if (typeof value !== "string") return value;
      const bytes = encoder.encode(value.replaceAll("\0", "\ufffd") + "\0");
      const at = this.calls.drop_take(bytes.length);
      if (at === 0) throw new Error("no memory left");
      lent.push(at);
      this.bytes(at, bytes.length).set(bytes);
      return at;
    });
    const result = this.calls[name](this.vehicle, ...given);
    lent.forEach((at) => this.calls.drop_give_back(at));
    return result;
  }

  // What a call writes, as bytes in a list; null where it failed.
  write(name, ...values) {
    this.written = [];
    const failed = this.call(name, ...values);
    const pieces = this.written;
    this.written = [];
    return failed ? null : pieces;
  }

  text(name, ...values) {
    const pieces = this.write(name, ...values);
    return pieces && pieces.map((piece) => decoder.decode(piece, { stream: true })).join("") + decoder.decode();
  }

  message() { return this.text("drop_message"); }
}

// --- a review ------------------------------------------------------------------------------------

// Sets all twice: of two keys that must fit each other the first may not fit the usual value of the
// second. What is wrong then is wrong.
function set(engine, settings) {
  const wrong = [];
  const meter = [];
  for (const turn of [0, 1])
    for (const { field, key, value } of settings) {
      if (key === "code" && turn === 1) continue;
      if (engine.call("drop_set", key, value) !== 0 && (turn === 1 || key === "code")) wrong.push({ field, message: engine.message() });
      else if (key === "meter" && turn === 1) meter.push(value);
    }
  if (meter.length > 0) engine.call("drop_set", "meter", meter.join(","));
  return wrong;
}

function describe(engine, count) {
  const captures = [];
  for (let i = 0; i < count; i++) {
    const refusal = engine.calls.drop_refusal(engine.vehicle, i) === 0 ? null : engine.message();
    engine.inputs.rewind();
    const columns = engine.text("drop_write_columns", i);
    const channels = columns === null ? "" : engine.text("drop_write_channels", i);
    captures.push({ file: engine.calls.drop_file(engine.vehicle, i), refusal, columns, channels: channels.split("\n").filter((name) => name !== "") });
  }
  return captures;
}

async function review(module, { given, settings }) {
  const engine = new Engine(module);
  const wrong = set(engine, settings);
  if (wrong.length > 0) return { kind: "wrong", wrong };

  const opened = [], refused = [];
  for (const [file, one] of given.entries()) {
    try {
      opened.push({ file, name: one.name, condition: one.condition, blob: await open(one) });
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      refused.push({ file, refusal: `${one.name}: ${error.message}`, columns: null, channels: [] });
    }
  }

  const begun = performance.now();
  engine.inputs = new Inputs(opened);
  opened.forEach(({ condition, name }, index) => {
    if (engine.call("drop_add", index, condition, name) !== 0) throw new Error(`${name} could not be added`);
  });
  if (engine.call("drop_review") !== 0) throw new Error(engine.message());
  const cases = engine.calls.drop_cases(engine.vehicle);
  const html = cases > 0 ? engine.text("drop_write_html") : null;
  const ms = performance.now() - begun;
  const json = cases > 0 ? engine.text("drop_write_json") : null;
  if (cases > 0 && (html === null || json === null)) throw new Error(engine.message());
  const captures = describe(engine, engine.calls.drop_captures(engine.vehicle));
  return { kind: "done", html, json, ms, captures: [...captures.map((one) => ({ ...one, file: opened[one.file].file })), ...refused] };
}

async function compile(base64) {
  const text = atob(base64.trim());
  const packed = Uint8Array.from(text, (letter) => letter.charCodeAt(0));
  const bytes = await new Response(new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"))).arrayBuffer();
  return WebAssembly.compile(bytes);
}

let engineModule; // a promise

onmessage = async ({ data }) => {
  try {
    if (data.kind === "engine") {
      engineModule = data.module ? Promise.resolve(data.module) : compile(data.base64);
      const module = await engineModule;
      if (!data.module) postMessage({ kind: "ready", module });
    } else postMessage(await review(await engineModule, data));
  } catch (error) {
    postMessage({ kind: "failed", message: error.message, trap: error instanceof WebAssembly.RuntimeError || error instanceof RangeError });
  }
};
