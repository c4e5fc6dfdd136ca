// SPDX-License-Identifier: GPL-3.0-or-later
//
// The drop page: recordings in, a review out. The parts meet here, which stand in the files beside this one; all
// are one script, in a scope of its own.

const recordings = new Recordings(() => (recordings.count > 0 ? changed() : clear()));
const settings = new Settings(() => changed());
const result = new Result();
const engine = new Engine({ progress, wrong, done, failed });

// What the last review was asked, and the one whose result is shown: the files stay the same to it whatever
// changes meanwhile.
let asked = null, shown = null;

const questionNow = () => ({ entries: [...recordings.entries], how: JSON.stringify([recordings.given.map(({ condition }) => condition), settings.values]) });
const isSameQuestion = (one, other) => one.how === other.how && one.entries.length === other.entries.length && one.entries.every((entry, i) => entry === other.entries[i]);

// --- the state of the page -----------------------------------------------------------------------

const say = (trouble) => { byId("trouble").textContent = trouble; };

function showButtons() {
  const isEmpty = recordings.count === 0;
  byId("result").setAttribute("aria-busy", engine.isBusy);
  if (!engine.isBusy) {
    if (document.activeElement === byId("stop")) byId("review").focus();
    byId("work").hidden = true;
  }
  byId("go").hidden = isEmpty;
  byId("review").textContent = result.made !== null ? "Review again" : "Review";
  for (const id of ["review", "again"]) byId(id).setAttribute("aria-disabled", isEmpty || engine.isBusy); // disabled they would lose the focus
}

// A result that stands while something else is asked says so.
function changed() {
  const isOld = result.made !== null && !isSameQuestion(shown, questionNow());
  byId("note").textContent = isOld ? "Changed: the result below is from before." : "";
  result.markOld(isOld);
  showButtons();
}

function clear() {
  if (engine.isBusy) engine.stop();
  recordings.clear();
  settings.clear();
  result.clear();
  for (const id of ["understood", "known"]) byId(id).open = false;
  byId("note").textContent = "";
  say("");
  showButtons();
}

// How far the work is; of what is done at once nothing flashes up.
const WORTH_TELLING_MS = 200;
function showWorkSoon() {
  const mine = asked;
  byId("doing").textContent = "Reading";
  byId("progress").value = 0;
  setTimeout(() => { if (engine.isBusy && asked === mine) byId("work").hidden = false; }, WORTH_TELLING_MS);
}

// --- a review ------------------------------------------------------------------------------------

function review() {
  if (recordings.count === 0) return;
  say("");
  recordings.forgetTroubles();
  settings.markWrong([]);
  asked = { begun: performance.now(), ...questionNow() };
  engine.review({ settings: settings.values, given: recordings.given });
  showButtons();
  showWorkSoon();
}

function progress({ stage, name, done: bytes, total }) {
  const bar = byId("progress");
  const words = { unpack: () => `Unpacking ${name}: ${sizeOf(bytes)}`, read: () => `Reading ${name}: ${sizeOf(bytes)} of ${sizeOf(total)}`,
    judge: () => "Judging" };
  byId("doing").textContent = words[stage]();
  if (stage === "read") bar.value = total > 0 ? bytes / total : 1; else bar.removeAttribute("value");
}

// The next worker begins once the page has shown what this one found.
const prepareSoon = () => setTimeout(() => engine.prepare(), 0);

// Nothing was reviewed, for these settings.
function wrong({ wrong: unfit }) {
  prepareSoon();
  changed();
  say(["A value was not understood; nothing was reviewed.", ...settings.markWrong(unfit)].join("\n"));
}

function failed({ message, trap }, isReview) {
  if (!isReview) {
    say(`This browser cannot run the page: ${message}. A browser of the last years can; or use the program.`);
    return;
  }
  prepareSoon();
  changed();
  say(trap ? `The review ended early: ${message}. The recordings may be too large for this device's memory, or damaged in a way that nobody foresaw. The page goes on: try fewer or shorter recordings, or use the program.`
    : `The review ended early: ${message}.`);
}

// Whoever asked by the keyboard goes on from the result.
function focusResult() {
  if (["drop", "review", "stop"].includes(document.activeElement.id)) byId("result-head").focus({ preventScroll: true });
}

function done(found) {
  focusResult();
  const seconds = (performance.now() - asked.begun) / 1000;
  shown = asked;
  settings.offerColumns(found.captures);
  result.show(found, asked.entries, seconds);
  changed();
  performance.measure("platelag-review", { start: asked.begun, detail: { engineMs: found.ms } });
  prepareSoon();
}

// --- hands ---------------------------------------------------------------------------------------

function add(files) {
  const { fresh, left } = recordings.add(files);
  if (fresh === 0) return;
  review();
  if (left > 0) say(`${count(left, "file")} left out: a review takes ${MOST_FILES} files at most.`);
}

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
    add(event.dataTransfer.files);
  });
}

byId("drop").addEventListener("click", () => byId("chooser").click());
byId("chooser").addEventListener("change", ({ target }) => {
  add(target.files);
  target.value = ""; // the same file may be chosen again
});
byId("settings").addEventListener("submit", (event) => {
  event.preventDefault();
  review();
});
byId("settings").addEventListener("keydown", (event) => { if (event.key === "Enter" && event.target.matches("input")) review(); });
for (const id of ["review", "again"]) byId(id).addEventListener("click", () => { if (!engine.isBusy) review(); });
byId("clear").addEventListener("click", () => {
  clear();
  byId("drop").focus();
});
byId("stop").addEventListener("click", () => {
  engine.stop();
  changed();
  byId("note").textContent = `Stopped. ${byId("note").textContent}`;
});

if (typeof DecompressionStream === "undefined" || typeof WebAssembly === "undefined") {
  byId("drop").disabled = true;
  say("This browser is too old for the page. A browser of the last years can run it; or use the program.");
} else {
  result.framed = acceptDrops;
  acceptDrops(document);
  engine.prepare();
}
