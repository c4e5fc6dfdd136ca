// SPDX-License-Identifier: GPL-3.0-or-later
//
// Reviews, away from the page: unpacks what is packed, reads the files piece by piece, lets the
// engine judge them and hands back the texts. Each review has an engine of its own. A browser makes
// fast code of what has run already: before there is a recording the worker reviews one of its own
// making.
"use strict";

const MOST_UNPACKED = 2 ** 31; // bytes; beyond, it is no recording of one vehicle
const HIGHEST_RATE = 100000; // rows a second
const PIECE = 2 ** 20, HEAP_PIECE = 2 ** 24, TICK_MS = 100;
const encoder = new TextEncoder(), decoder = new TextDecoder();
const files = new FileReaderSync();

class Refusal extends Error {}

// Tells the page how far the work is, at most ten times a second.
let told = 0, isAsked = false;
function tell(progress, always = false) {
  const now = performance.now();
  if (!isAsked || (!always && now - told < TICK_MS)) return;
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

const readPiece = (blob, from) => new Uint8Array(files.readAsArrayBuffer(blob.slice(from, from + PIECE)));

// The bytes of a file, unpacked, and the first of them.
async function open(given) {
  let head;
  try {
    head = readPiece(given.file, 0);
  } catch {
    throw new Refusal("the browser could not read the file; was it moved or changed? Choose it again");
  }
  const begins = (magic) => magic.every((byte, i) => head[i] === byte);
  if (begins(MAGIC_ZSTD)) throw new Refusal("zstd-compressed, which a browser cannot unpack; unpack it first, or pack it as .gz");
  return begins(MAGIC_GZIP) ? { blob: await unpack(given), head: new Uint8Array(0) } : { blob: given.file, head };
}

// What the engine reads from: blobs, each from its beginning.
class Inputs {
  constructor(opened) {
    this.inputs = opened.map(({ name, blob, head }) => ({ name, blob, head, at: head.length, piece: head, from: 0 }));
    this.total = opened.reduce((sum, { blob }) => sum + blob.size, 0);
    this.done = opened.reduce((sum, { head }) => sum + head.length, 0);
  }

  rewind() {
    for (const input of this.inputs) [input.at, input.from, input.piece] = [input.head.length, 0, input.head];
  }

  // Copies up to `to.length` bytes; how many, 0 at the end, -1: the browser cannot read it.
  read(index, to) {
    const input = this.inputs[index];
    if (input.from === input.piece.length && input.at < input.blob.size) {
      try {
        input.piece = readPiece(input.blob, input.at);
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

// What the engine does not look at itself; "" where nothing is wrong.
function lookAt({ key, value }) {
  if (key === "code" && !/^[PBCU][0-3][0-9A-F]{3}$/.test(value)) return `a code is a letter and four digits such as P2017, found "${value}"`;
  const rate = Number(value);
  if (key === "rows_per_second" && !(rate > 0 && rate <= HIGHEST_RATE)) return `${key} is "${value}"; expected a number above 0 and at most 100,000`;
  return "";
}

// Sets all twice: of two keys that must fit each other the first may not fit the usual value of the
// second. What is wrong then is wrong.
function set(engine, settings) {
  const wrong = settings.map((one) => ({ field: one.field, message: lookAt(one) })).filter(({ message }) => message !== "");
  const meter = [];
  for (const turn of [0, 1])
    for (const { field, key, value } of settings.filter((one) => lookAt(one) === "")) {
      if (key === "code" && turn === 1) continue;
      if (engine.call("drop_set", key, value) !== 0 && (turn === 1 || key === "code")) wrong.push({ field, message: engine.message() });
      else if (key === "meter" && turn === 1) meter.push(value);
    }
  if (meter.length > 0) engine.call("drop_set", "meter", meter.join(","));
  return wrong;
}

// Of a text "column name".
function channelOf(text) {
  const at = text.indexOf(" ");
  return { column: Number(text.slice(0, at)), name: text.slice(at + 1) };
}

function describe(engine, count) {
  const captures = [];
  for (let i = 0; i < count; i++) {
    const isRefused = engine.calls.drop_refusal(engine.vehicle, i) !== 0;
    const refusal = isRefused ? { message: engine.message(), setting: engine.text("drop_setting") } : null;
    engine.inputs.rewind();
    const columns = engine.text("drop_write_columns", i);
    const channels = columns === null ? "" : engine.text("drop_write_channels", i);
    captures.push({ file: engine.calls.drop_file(engine.vehicle, i), refusal, columns, channels: channels.split("\0").slice(0, -1).map(channelOf) });
  }
  return captures;
}

async function review(module, { given, settings }) {
  const engine = new Engine(module);
  const wrong = set(engine, settings);
  if (wrong.length > 0) return { kind: "wrong", wrong, bytes: 0 };

  const opened = [], refused = [];
  for (const [file, one] of given.entries()) {
    try {
      opened.push({ file, name: one.name, condition: one.condition, ...await open(one) });
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      refused.push({ file, refusal: { message: `${one.name}: ${error.message}`, setting: "" }, columns: null, channels: [] });
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
  return { kind: "done", html, json, ms, bytes: engine.calls.memory.buffer.byteLength, captures: [...captures.map((one) => ({ ...one, file: opened[one.file].file })), ...refused] };
}

// --- before there is anything to review ----------------------------------------------------------

function bytesOf(base64) {
  const text = atob(base64.trim()), bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i++) bytes[i] = text.charCodeAt(i);
  return bytes;
}

function compile(base64) {
  const engine = new Blob([bytesOf(base64)]).stream().pipeThrough(new DecompressionStream("gzip"));
  return WebAssembly.compileStreaming(new Response(engine, { headers: { "Content-Type": "application/wasm" } }));
}

// Two minutes of a command that jumps and a position that follows and sticks.
function makeRecording() {
  const rows = ["Time (s),Intake runner duty (%),Intake runner position (V)"];
  let asked = 20, at = 20, shown = 20;
  for (let i = 0; i < 1200; i++) {
    if (i % 37 === 0) asked = asked > 50 ? 10 + (i * 13) % 23 : 70 + (i * 17) % 25;
    at += (asked - at) / 5;
    if (Math.abs(at - shown) > 4) shown = at;
    rows.push(`${(i / 10).toFixed(1)},${asked.toFixed(1)},${(1.2 + 0.025 * shown + 0.002 * ((i * 7) % 5)).toFixed(3)}`);
  }
  return new Blob([rows.join("\n")]);
}

const WARM_TURNS = 2;

// Whatever goes wrong here goes wrong again, and is told, where it matters.
async function warmUp(module) {
  try {
    for (let i = 0; i < WARM_TURNS && !isAsked; i++) {
      await review(module, { given: [{ file: makeRecording(), name: "warm", condition: 0 }], settings: [] });
      await new Promise((resolve) => { setTimeout(resolve, 0); }); // a review that is asked for comes first
    }
  } catch {}
}

let engineModule; // a promise

const act = {
  async engine({ module, base64 }) {
    engineModule = module ? Promise.resolve(module) : compile(base64);
    const compiled = await engineModule;
    if (!module) postMessage({ kind: "compiled", module: compiled });
    await warmUp(compiled);
    postMessage({ kind: "ready" });
  },
  async review(request) {
    isAsked = true;
    postMessage(await review(await engineModule, request));
  },
};

onmessage = async ({ data }) => {
  try {
    await act[data.kind](data);
  } catch (error) {
    postMessage({ kind: "failed", message: error.message, trap: error instanceof WebAssembly.RuntimeError || error instanceof RangeError });
  }
};
