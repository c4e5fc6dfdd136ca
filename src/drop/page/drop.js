// SPDX-License-Identifier: GPL-3.0-or-later
//
// The drop page: recordings in, a review out. The work is done by a worker, one for each review, so
// that the page stays awake and the engine's memory ends with it. Words from files are put in as
// text alone; the report is a page of its own in a frame, under this page's policy and its own.
(() => {
  "use strict";

  const MOST_FILES = 16, HIGHEST_RATE = 100000;
  const ROAD = "0", REST = "1", SWEEP = "2", AFTER = "3";
  const byId = (id) => document.getElementById(id);
  const make = (tag, text = "", look = "") => Object.assign(document.createElement(tag), { textContent: text, className: look });

  const files = []; // { file, row, select, trouble }
  let made = null; // the last review that was done: { html, json, name }
  let engineModule = null; // compiled, for the next worker
  let worker = null, busy = false;

  // --- words -----------------------------------------------------------------------------------

  const UNITS = ["bytes", "kB", "MB", "GB"];
  function sizeOf(bytes) {
    let unit = 0;
    while (bytes >= 1000 && unit < UNITS.length - 1) {
      bytes /= 1000;
      unit++;
    }
    return `${unit > 0 && bytes < 10 ? bytes.toFixed(1) : bytes.toFixed(0)} ${UNITS[unit]}`;
  }

  // As the report tells it.
  const share = (probability) => (probability > 0.99 ? "over 99 %" : `${(100 * probability).toFixed(0)} %`);

  const count = (n, one) => `${n} ${one}${n === 1 ? "" : "s"}`;

  const FINDINGS = {
    free: ["free", "good"], slow: ["slow", "bad"], sticking: ["sticking", "bad"], short_travel: ["short travel", "bad"],
    still: ["does not move", "bad"], signal_high: ["signal high", "bad"], signal_low: ["signal low", "bad"],
    signal_erratic: ["signal erratic", "bad"], signal_shifted: ["signal shifted", "bad"], undecided: ["undecided", "open"],
  };
  const REPAIRS = {
    repaired: ["repaired", "good"], better: ["better, not repaired", "open"], unchanged: ["unchanged after the repair", "bad"],
    worse: ["worse after the repair", "bad"], cannot_tell: ["cannot tell whether repaired", "open"],
  };
  const RING = "M22 12a10 10 0 1 1-20 0 10 10 0 1 1 20 0";
  const MARKS = { good: `${RING}M7 12.5l3.5 3.5 6.5-7`, bad: "M12 2.5 22.5 21h-21zM12 9v5.5M12 17.5v.2", open: `${RING}M9.2 9.6a2.8 2.8 0 1 1 4.2 2.4c-1 .6-1.4 1-1.4 2M12 17v.2` };

  function mark(look) {
    const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    svg.setAttribute("viewBox", "0 0 24 24");
    svg.setAttribute("aria-hidden", "true");
    const path = document.createElementNS("http://www.w3.org/2000/svg", "path");
    path.setAttribute("d", MARKS[look]);
    svg.append(path);
    return svg;
  }

  // --- files -----------------------------------------------------------------------------------

  // What a name tells of the condition; a guess that stands where it can be changed.
  function guess(name) {
    if (/sweep/i.test(name)) return SWEEP;
    if (/(^|[^a-z])after([^a-z]|$)/i.test(name)) return AFTER;
    return /(^|[^a-z])rest([^a-z]|$)/i.test(name) ? REST : ROAD;
  }

  const isSame = (a, b) => a.name === b.name && a.size === b.size && a.lastModified === b.lastModified;

  function addFile(file) {
    const row = byId("file").content.cloneNode(true).firstElementChild;
    const [select, remove] = [row.querySelector("select"), row.querySelector("button")];
    const entry = { file, row, select, trouble: row.querySelector(".trouble") };
    row.querySelector(".name").append(file.name, make("small", sizeOf(file.size)));
    row.querySelector("label span").textContent = `Condition of ${file.name}`;
    remove.lastElementChild.textContent = ` ${file.name}`;
    select.value = guess(file.name);
    select.addEventListener("change", changed);
    remove.addEventListener("click", () => {
      const at = files.indexOf(entry);
      files.splice(at, 1);
      row.remove();
      (files[Math.min(at, files.length - 1)]?.row.querySelector("button") ?? byId("drop")).focus();
      if (files.length === 0) clear(); else changed();
    });
    files.push(entry);
    byId("files").append(row);
  }

  function addFiles(list) {
    const fresh = [...list].filter((file) => !files.some((entry) => isSame(entry.file, file)));
    const room = MOST_FILES - files.length;
    fresh.slice(0, room).forEach(addFile);
    if (fresh.length === 0) return;
    review();
    if (fresh.length > room) say(`${count(fresh.length - room, "file")} left out: a review takes ${MOST_FILES} files at most.`);
  }

  // --- what the user has set -------------------------------------------------------------------

  const fields = [...document.querySelectorAll("#settings input")];
  const choices = [...document.querySelectorAll("#understood select")];
  const METER = "meter.";

  for (const field of fields) {
    field.id = `set-${field.name}`;
    const wrong = make("span", "", "wrong");
    wrong.id = `${field.id}-wrong`;
    if (field.dataset.usual) field.before(make("span", `${field.dataset.usual} unless given`, "hint"));
    field.before(wrong);
    field.addEventListener("input", changed);
  }
  choices.forEach((select) => select.addEventListener("change", changed));

  // A keyboard may have a comma alone for the decimal point.
  const numberOf = (text) => (/^[^.,]*,[^.,]*$/.test(text) ? text.replace(",", ".") : text);

  function settingsOf({ name, value }) {
    const text = value.trim();
    if (name === "code") return text.split(/[\s,;]+/).filter((code) => code !== "").map((code) => ({ key: name, value: code.toUpperCase() }));
    if (name.startsWith(METER)) return [{ key: "meter", value: `${name.slice(METER.length)}=${numberOf(text)}` }];
    return [{ key: name, value: numberOf(text) }];
  }

  const settings = () => [
    ...fields.filter(({ value }) => value.trim() !== "").flatMap((field) => settingsOf(field).map((one) => ({ field: field.name, ...one }))),
    ...choices.filter(({ value }) => value !== "").map(({ name, value }) => ({ field: name, key: name, value })),
  ];

  // What the engine does not look at itself.
  function lookAt({ field, key, value }) {
    if (key === "code" && !/^[PBCU][0-3][0-9A-F]{3}$/.test(value))
      return [{ field, message: `a code is a letter and four digits such as P2017, found "${value}"` }];
    const rate = Number(value);
    if (key === "rows_per_second" && !(rate > 0 && rate <= HIGHEST_RATE))
      return [{ field, message: `rows_per_second is "${value}"; expected a number above 0 and at most ${HIGHEST_RATE}` }];
    return [];
  }

  function markWrong(wrong) {
    for (const field of fields) {
      const told = [...new Set(wrong.filter((one) => one.field === field.name).map(({ message }) => message))].join("; ");
      byId(`${field.id}-wrong`).textContent = told;
      if (told === "") {
        field.removeAttribute("aria-invalid");
        field.removeAttribute("aria-describedby");
        continue;
      }
      field.setAttribute("aria-invalid", "true");
      field.setAttribute("aria-describedby", `${field.id}-wrong`);
      for (let around = field.closest("details"); around; around = around.parentElement.closest("details")) around.open = true;
    }
    document.querySelector("[aria-invalid]")?.focus();
  }

  // --- the state of the page -------------------------------------------------------------------

  function say(trouble) {
    byId("trouble").textContent = trouble;
  }

  function setBusy(now) {
    busy = now;
    byId("work").hidden = !now;
    if (now) show(); else changed();
  }

  function show() {
    byId("review").hidden = files.length === 0;
    byId("review").disabled = busy;
    byId("review").textContent = made !== null ? "Review again" : "Review";
    byId("again").disabled = files.length === 0 || busy;
    byId("clear").hidden = files.length === 0;
  }

  // A result that stands while something else is asked says so.
  function changed() {
    const isOld = made !== null && files.length > 0;
    byId("note").textContent = isOld ? "Changed: the result below is from before." : "";
    byId("result").classList.toggle("old", isOld);
    show();
  }

  function forget() {
    made = null;
    byId("note").textContent = "";
    byId("summary").replaceChildren();
    byId("tables").replaceChildren();
    byId("hands").hidden = true;
    byId("report").hidden = true;
    byId("report").removeAttribute("srcdoc");
    byId("result").dataset.empty = "";
    byId("result").classList.remove("old");
  }

  function clear() {
    if (busy) endWorker();
    setBusy(false);
    files.splice(0).forEach(({ row }) => row.remove());
    byId("settings").reset();
    byId("understood").open = false;
    choices.forEach((select) => select.replaceChildren());
    say("");
    markWrong([]);
    forget();
    show();
  }

  // --- the worker ------------------------------------------------------------------------------

  const workerUrl = URL.createObjectURL(new Blob([byId("worker").textContent], { type: "text/javascript" }));

  function startWorker() {
    const mine = new Worker(workerUrl);
    worker = mine;
    mine.onmessage = ({ data }) => { if (worker === mine) take[data.kind](data); };
    mine.onerror = (event) => {
      event.preventDefault();
      if (worker === mine) take.failed({ message: event.message ?? "the worker could not be started" });
    };
    mine.postMessage(engineModule ? { kind: "engine", module: engineModule } : { kind: "engine", base64: byId("wasm").textContent });
  }

  // Its memory ends with it; the next one is ready before it is needed.
  function endWorker() {
    worker?.terminate();
    startWorker();
  }

  function progress({ stage, name, done, total }) {
    const bar = byId("progress");
    const words = { unpack: () => `Unpacking ${name}: ${sizeOf(done)}`, read: () => `Reading ${name}: ${sizeOf(done)} of ${sizeOf(total)}`,
      judge: () => "Judging" };
    byId("doing").textContent = words[stage]();
    if (stage === "read") bar.value = total > 0 ? done / total : 1; else bar.removeAttribute("value");
  }

  const take = {
    ready({ module }) { engineModule = module; },
    progress,
    wrong({ wrong }) {
      endWorker();
      setBusy(false);
      refuseSettings(wrong);
    },
    failed({ message, trap }) {
      worker.terminate();
      engineModule = null; // it may be what failed
      if (!busy) {
        worker = null;
        say(`This browser cannot run the page: ${message}. A browser of the last years can; or use the program.`);
        return;
      }
      startWorker();
      setBusy(false);
      say(trap ? `The review ended early: ${message}. The recordings may be too large for this device's memory, or damaged in a way that nobody foresaw. The page goes on: try fewer or shorter recordings, or use the program.`
        : `The review ended early: ${message}.`);
    },
    done(result) {
      performance.measure("platelag-review", { start: asked.begun, detail: { engineMs: result.ms } });
      endWorker();
      setBusy(false);
      present(result);
    },
  };

  // What the review that runs was asked: its files stay the same to it whatever changes meanwhile.
  let asked = { begun: 0, files: [], conditions: "", settings: "" };
  const conditions = () => files.map(({ select }) => select.value).join();
  const isAsAsked = () => files.length === asked.files.length && conditions() === asked.conditions && JSON.stringify(settings()) === asked.settings;

  function review() {
    if (files.length === 0) return;
    const wanted = settings();
    const wrong = wanted.flatMap(lookAt);
    say("");
    files.forEach(({ trouble }) => { trouble.textContent = ""; });
    if (wrong.length > 0) {
      refuseSettings(wrong);
      return;
    }
    markWrong([]);
    if (busy || worker === null) endWorker();
    asked = { begun: performance.now(), files: [...files], conditions: conditions(), settings: JSON.stringify(wanted) };
    byId("doing").textContent = "Reading";
    byId("progress").value = 0;
    setBusy(true);
    worker.postMessage({ kind: "review", settings: wanted,
      given: files.map(({ file, select }) => ({ file, name: file.name, condition: Number(select.value) })) });
  }

  function refuseSettings(wrong) {
    markWrong(wrong);
    const elsewhere = wrong.filter(({ field }) => choices.some(({ name }) => name === field)).map(({ message }) => message);
    say(["A value was not understood; nothing was reviewed.", ...elsewhere].join("\n"));
  }

  // --- the result ------------------------------------------------------------------------------

  function verdict(valve, [words, look], probability, hasName) {
    const line = make("p", "", `verdict ${look}`);
    const text = make("span", hasName ? `${valve}: ` : "");
    text.append(make("strong", words), probability === null ? "" : ` (${share(probability)})`);
    line.append(mark(look), text);
    return line;
  }

  function summarize(review, refused, seconds) {
    const lines = review.case.flatMap((one) => {
      const named = review.case.length > 1;
      const found = one.finding === "undecided" ? null : one.finding_probability;
      const lines = [verdict(one.valve, FINDINGS[one.finding] ?? [one.finding, "open"], found, named)];
      if (one.repair) lines.push(verdict(one.valve, REPAIRS[one.repair] ?? [one.repair, "open"], null, named));
      return lines;
    });
    const told = `${count(asked.files.length - refused, "file")} reviewed in ${seconds.toFixed(1)} s`;
    return [...lines, make("p", refused > 0 ? `${told}; ${refused} refused, which says why above.` : `${told}.`)];
  }

  function offerColumns(captures) {
    const names = [...new Set(captures.flatMap(({ channels }) => channels))];
    for (const select of choices) {
      const { value } = select;
      const all = value === "" || names.includes(value) ? names : [value, ...names];
      select.replaceChildren(new Option("found by the page", ""), ...all.map((name) => new Option(name, name)));
      select.value = value;
    }
  }

  function showTables(captures) {
    const seen = new Set();
    const tables = captures.filter(({ file, columns }) => columns !== null && !seen.has(file) && seen.add(file));
    byId("tables").replaceChildren(...tables.flatMap(({ file, columns }) => {
      const table = make("pre", columns);
      table.tabIndex = 0;
      table.setAttribute("aria-label", `How ${asked.files[file].file.name} was understood`);
      table.setAttribute("role", "region");
      return [make("h3", asked.files[file].file.name), table];
    }));
    return tables.length > 0;
  }

  // The messages are the program's and may name its options; where these stand here.
  function placeOf({ refusal, columns }) {
    const place = (id) => {
      byId(id).open = true;
      return `\nOn this page that is under \u201c${byId(id).firstElementChild.firstChild.textContent.trim()}\u201d.`;
    };
    if (refusal.includes("--rows-per-second")) return place("known");
    return columns !== null ? place("understood") : "";
  }

  // How many files were refused, a file of several runs once.
  function showRefusals(captures) {
    const refused = captures.filter(({ refusal }) => refusal !== null);
    for (const one of refused) {
      const { trouble } = asked.files[one.file];
      if (!trouble.textContent.includes(one.refusal)) trouble.textContent = `Refused: ${one.refusal}${placeOf(one)}`;
    }
    return new Set(refused.map(({ file }) => file)).size;
  }

  function present({ html, json, captures }) {
    const refused = showRefusals(captures);
    const seconds = (performance.now() - asked.begun) / 1000;
    const isOld = !isAsAsked();
    forget();
    offerColumns(captures);
    const hasTables = showTables(captures);
    if (html !== null) made = { html, json, name: asked.files[0].file.name.replace(/(\.(csv|txt|tsv|log|gz))+$/i, "").replace(/[^\p{L}\p{N}._-]+/gu, "_") };
    byId("summary").append(...(html === null ? [make("p", "Nothing was reviewed: every file was refused, which says why above.")]
      : summarize(JSON.parse(json), refused, seconds)));
    delete byId("result").dataset.empty;
    byId("hands").hidden = html === null && !hasTables;
    byId("saving").hidden = html === null;
    if (html !== null) {
      byId("report").srcdoc = html;
      byId("report").hidden = false;
      byId("result").scrollIntoView({ block: "start" });
    }
    if (isOld) changed(); else show();
  }

  // The frame is as high as its page.
  byId("report").addEventListener("load", ({ target }) => {
    const inner = target.contentDocument;
    if (inner === null || !target.hasAttribute("srcdoc")) return;
    const fit = () => { target.style.height = `${Math.ceil(inner.documentElement.getBoundingClientRect().height)}px`; };
    new target.contentWindow.ResizeObserver(fit).observe(inner.documentElement);
    fit();
    acceptDrops(inner);
  });

  function save(text, type, ending) {
    const url = URL.createObjectURL(new Blob([text], { type }));
    const link = Object.assign(document.createElement("a"), { href: url, download: `${made.name}-review.${ending}` });
    link.click();
    setTimeout(() => URL.revokeObjectURL(url), 60000);
  }

  // --- hands -----------------------------------------------------------------------------------

  const hasFiles = (event) => event.dataTransfer?.types.includes("Files") ?? false;

  // Everywhere on the page, for a file that misses would replace it.
  function acceptDrops(target) {
    const light = (on) => byId("drop").classList.toggle("over", on);
    target.addEventListener("dragover", (event) => {
      if (!hasFiles(event)) return;
      event.preventDefault();
      event.dataTransfer.dropEffect = "copy";
      light(true);
    });
    target.addEventListener("dragleave", (event) => { if (event.relatedTarget === null) light(false); });
    target.addEventListener("drop", (event) => {
      if (!hasFiles(event)) return;
      event.preventDefault();
      light(false);
      addFiles(event.dataTransfer.files);
    });
  }

  byId("drop").addEventListener("click", () => byId("chooser").click());
  byId("chooser").addEventListener("change", ({ target }) => {
    addFiles(target.files);
    target.value = ""; // the same file may be chosen again
  });
  byId("settings").addEventListener("submit", (event) => {
    event.preventDefault();
    review();
  });
  byId("settings").addEventListener("keydown", (event) => { if (event.key === "Enter" && event.target.matches("input")) review(); });
  byId("review").addEventListener("click", review);
  byId("again").addEventListener("click", review);
  byId("clear").addEventListener("click", () => {
    clear();
    byId("drop").focus();
  });
  byId("stop").addEventListener("click", () => {
    endWorker();
    setBusy(false);
    byId("note").textContent = `Stopped. ${byId("note").textContent}`;
    byId("review").focus();
  });
  byId("save-page").addEventListener("click", () => save(made.html, "text/html", "html"));
  byId("save-json").addEventListener("click", () => save(made.json, "application/json", "json"));
  byId("print").addEventListener("click", () => byId("report").contentWindow.print());

  if (typeof DecompressionStream === "undefined" || typeof WebAssembly === "undefined") {
    byId("drop").disabled = true;
    say("This browser is too old for the page. A browser of the last years can run it; or use the program.");
    return;
  }
  acceptDrops(document);
  startWorker();
})();
