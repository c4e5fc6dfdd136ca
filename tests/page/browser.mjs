// SPDX-License-Identifier: GPL-3.0-or-later
//
// A real browser, headless, driven through its debugging pipe: pages from files, real mouse, touch
// and key events, values read back, and everything that it logs or asks the network for.
import { spawn } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";

const FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
  "--disable-component-update", "--disable-extensions", "--hide-scrollbars", "--disable-smooth-scrolling", "--remote-debugging-pipe"];

export async function openBrowser(program = "chromium") {
  const home = mkdtempSync(join(tmpdir(), "platelag-page-"));
  const child = spawn(program, [...FLAGS, `--user-data-dir=${home}`, "about:blank"],
    { stdio: ["ignore", "ignore", "ignore", "pipe", "pipe"] });
  const ended = new Promise((resolve) => child.once("close", resolve));
  const waiting = new Map(), listeners = new Set();
  let count = 0, rest = "";
  child.once("error", (error) => waiting.forEach(({ reject }) => reject(error)));
  child.once("close", () => waiting.forEach(({ reject }) => reject(new Error("the browser has ended"))));
  child.stdio[3].on("error", () => {});
  child.stdio[4].setEncoding("utf8");
  child.stdio[4].on("data", (text) => {
    const parts = (rest + text).split("\0");
    rest = parts.pop();
    for (const message of parts.map((part) => JSON.parse(part))) {
      if (message.id === undefined) {
        listeners.forEach((listener) => listener(message));
        continue;
      }
      const { resolve, reject } = waiting.get(message.id);
      waiting.delete(message.id);
      if (message.error) reject(new Error(message.error.message)); else resolve(message.result);
    }
  });
  const send = (method, params = {}, sessionId = undefined) => new Promise((resolve, reject) => {
    waiting.set(++count, { resolve, reject });
    child.stdio[3].write(JSON.stringify({ id: count, method, params, sessionId }) + "\0");
  });
  return {
    openPage: (file, look) => openPage(send, listeners, file, look),
    async close() {
      await send("Browser.close").catch(() => {});
      await ended;
      rmSync(home, { recursive: true, force: true });
    },
  };
}

// What `act` does, told by tasks: how long the longest of any page's main thread takes, in ms of processor
// time (the time of the clock is that of a busy machine's other work, too).
async function longestTask(send, listeners, act) {
  const events = [];
  let ended;
  const end = new Promise((resolve) => { ended = resolve; });
  const listener = ({ method, params }) => {
    if (method === "Tracing.dataCollected") events.push(...params.value);
    if (method === "Tracing.tracingComplete") ended();
  };
  listeners.add(listener);
  await send("Tracing.start", { transferMode: "ReportEvents", traceConfig: { includedCategories: ["toplevel", "__metadata"] } });
  await act();
  await send("Tracing.end");
  await end;
  listeners.delete(listener);
  const thread = ({ pid, tid }) => `${pid}.${tid}`;
  const mains = new Set(events.filter(({ name, args }) => name === "thread_name" && args.name === "CrRendererMain").map(thread));
  const tasks = events.filter((event) => event.ph === "X" && event.tdur !== undefined && mains.has(thread(event)));
  if (tasks.length === 0) throw new Error("no task was traced");
  return tasks.reduce((longest, { tdur }) => Math.max(longest, tdur / 1000), 0);
}

// `look`: width, height, dark, print, script (false: as for a reader without).
async function openPage(send, listeners, file, look = {}) {
  const { width = 1280, height = 900, dark = false, print = false, script = true, touch = false } = look;
  const { targetId } = await send("Target.createTarget", { url: "about:blank" });
  const { sessionId } = await send("Target.attachToTarget", { targetId, flatten: true });
  const ask = (method, params) => send(method, params, sessionId);
  const logs = [], requests = [];
  const url = pathToFileURL(file).href;
  let loaded;
  const ready = new Promise((resolve) => { loaded = resolve; });
  const listener = ({ method, params, sessionId: from }) => {
    if (from !== sessionId) return;
    if (method === "Runtime.consoleAPICalled") logs.push(params.args.map((a) => a.value ?? a.description).join(" "));
    if (method === "Runtime.exceptionThrown") logs.push(params.exceptionDetails.exception?.description ?? params.exceptionDetails.text);
    if (method === "Log.entryAdded") logs.push(params.entry.text);
    // What a page made itself (a worker, a file to save, the page of a frame) is asked of nobody.
    if (method === "Network.requestWillBeSent" && params.request.url !== url && !/^(blob:|about:srcdoc)/.test(params.request.url))
      requests.push(params.request.url);
    if (method === "Page.javascriptDialogOpening") logs.push(`dialog: ${params.message}`);
    if (method === "Page.loadEventFired") loaded();
  };
  listeners.add(listener);
  for (const domain of ["Page", "Runtime", "Log", "Network", "DOM"]) await ask(`${domain}.enable`);
  await ask("Emulation.setDeviceMetricsOverride", { width, height, deviceScaleFactor: 1, mobile: touch });
  if (touch) await ask("Emulation.setTouchEmulationEnabled", { enabled: true, maxTouchPoints: 2 });
  await ask("Emulation.setScriptExecutionDisabled", { value: !script });
  await ask("Emulation.setEmulatedMedia", { media: print ? "print" : "screen",
    features: [{ name: "prefers-color-scheme", value: dark ? "dark" : "light" }] });
  const begun = performance.now();
  await ask("Page.navigate", { url });
  await ready;
  const evaluate = async (expression) => {
    const { result, exceptionDetails } = await ask("Runtime.evaluate", { expression, returnByValue: true, awaitPromise: true });
    if (exceptionDetails) throw new Error(exceptionDetails.exception?.description ?? exceptionDetails.text);
    return result.value;
  };
  if (script) await evaluate("globalThis.platelag?.isDrawn"); // a long report draws its plots one after the other
  const readyMs = performance.now() - begun;
  const mouse = (type, x, y, more = {}) => ask("Input.dispatchMouseEvent", { type, x, y, ...more });
  return {
    longestTask: (act) => longestTask(send, listeners, act),
    logs, requests, readyMs, evaluate, ask, mouse,
    async click(x, y) {
      await mouse("mousePressed", x, y, { button: "left", clickCount: 1 });
      await mouse("mouseReleased", x, y, { button: "left", clickCount: 1 });
    },
    async drag(fromX, fromY, toX, toY) {
      await mouse("mouseMoved", fromX, fromY);
      await mouse("mousePressed", fromX, fromY, { button: "left", clickCount: 1 });
      for (let i = 1; i <= 5; i++)
        await mouse("mouseMoved", fromX + (toX - fromX) * i / 5, fromY + (toY - fromY) * i / 5, { button: "left", buttons: 1 });
      await mouse("mouseReleased", toX, toY, { button: "left", clickCount: 1 });
    },
    // Chooses files, as the file chooser does.
    async choose(selector, paths) {
      const { result } = await ask("Runtime.evaluate", { expression: `document.querySelector(${JSON.stringify(selector)})` });
      await ask("DOM.setFileInputFiles", { files: paths, objectId: result.objectId });
    },
    // Until nothing has scrolled for some frames.
    settle: () => evaluate(`(async () => {
      let last = -1, still = 0;
      while (still < 5) {
        await new Promise((resolve) => requestAnimationFrame(resolve));
        still = scrollY === last ? still + 1 : 0;
        last = scrollY;
      }
    })()`),
    touch: (type, points) => ask("Input.dispatchTouchEvent", { type, touchPoints: points.map(([x, y], id) => ({ x, y, id })) }),
    async key(key, modifiers = 0) {
      const code = { ArrowLeft: 37, ArrowRight: 39, Home: 36, End: 35, Escape: 27, Enter: 13, Tab: 9 }[key];
      await ask("Input.dispatchKeyEvent", { type: "keyDown", key, modifiers, windowsVirtualKeyCode: code, text: key === "Enter" ? "\r" : key.length === 1 ? key : undefined });
      await ask("Input.dispatchKeyEvent", { type: "keyUp", key, modifiers, windowsVirtualKeyCode: code });
    },
    async screenshot(whole = true) {
      const { data } = await ask("Page.captureScreenshot", { format: "png", captureBeyondViewport: whole,
        ...(whole ? { clip: { x: 0, y: 0, width, scale: 1, height: await evaluate("document.documentElement.scrollHeight") } } : {}) });
      return Buffer.from(data, "base64");
    },
    pdf: async () => Buffer.from((await ask("Page.printToPDF", { preferCSSPageSize: true, printBackground: false })).data, "base64"),
    async close() {
      listeners.delete(listener);
      await send("Target.closeTarget", { targetId });
    },
  };
}
