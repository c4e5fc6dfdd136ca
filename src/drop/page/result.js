// SPDX-License-Identifier: GPL-3.0-or-later
//
// What a review has found: in short, with the report as a page of its own in a frame, under this page's policy
// and its own; how the files were understood; what was refused, told at the files. Words from files are put in
// as text alone.

function verdict(valve, [words, look], probability, hasName) {
  const line = make("p", "", `verdict ${look}`);
  const text = make("span", hasName ? `${valve}: ` : "");
  text.append(make("strong", words), probability === null ? "" : ` (${share(probability)})`);
  line.append(mark(look), text);
  return line;
}

function verdictsOf(one, hasName) {
  const found = one.finding === "undecided" ? null : one.finding_probability;
  const lines = [verdict(one.valve, FINDINGS[one.finding] ?? [one.finding, "open"], found, hasName)];
  if (one.repair) lines.push(verdict(one.valve, REPAIRS[one.repair] ?? [one.repair, "open"], null, hasName));
  return lines;
}

// The settings that a refusal may ask for stand in one of these.
const PLACES = { rows_per_second: "known", command: "understood", position: "understood" };

// " under", and the place's name, which goes there.
function placeOf(setting) {
  const place = byId(PLACES[setting]);
  const link = make("button", `\u201c${place.firstElementChild.firstChild.textContent.trim()}\u201d`, "link");
  link.type = "button";
  link.addEventListener("click", () => {
    place.open = true;
    place.querySelector(`[name="${setting}"]`).focus();
  });
  return [" under ", link];
}

class Result {
  constructor() {
    this.made = null; // the last that was reported: { html, json, name }
    this.frame = byId("report");
    this.framed = () => {}; // told of each report's document
    this.frame.addEventListener("load", () => this.fitFrame());
    byId("save-page").addEventListener("click", () => this.save(this.made.html, "text/html", "html"));
    byId("save-json").addEventListener("click", () => this.save(this.made.json, "application/json", "json"));
    byId("print").addEventListener("click", () => this.frame.contentWindow.print());
  }

  clear() {
    this.made = null;
    byId("summary").replaceChildren();
    byId("tables").replaceChildren();
    byId("hands").hidden = true;
    this.frame.hidden = true;
    this.frame.removeAttribute("srcdoc");
    byId("result").dataset.empty = "";
    this.markOld(false);
  }

  markOld(isOld) {
    byId("result").classList.toggle("old", isOld);
  }

  // `entries`: the files that were asked about, as they stand in the list.
  show({ html, json, captures }, entries, seconds) {
    this.clear();
    const refused = this.showRefusals(captures, entries);
    const hasTables = this.showTables(captures, entries);
    if (html !== null) this.made = { html, json, name: entries[0].file.name.replace(/(\.(csv|txt|tsv|log|gz))+$/i, "").replace(/[^\p{L}\p{N}._-]+/gu, "_") };
    byId("summary").append(...this.summary(json, entries.length, refused, seconds));
    delete byId("result").dataset.empty;
    byId("hands").hidden = html === null && !hasTables;
    byId("saving").hidden = html === null;
    if (html === null) return;
    this.frame.srcdoc = html;
    this.frame.hidden = false;
    byId("result").scrollIntoView({ block: "start" });
  }

  summary(json, given, refused, seconds) {
    if (json === null) return [make("p", "Nothing was reviewed: every file was refused. Why is told at the files above.")];
    const cases = JSON.parse(json).case;
    const told = `${count(given - refused, "file")} reviewed in ${seconds < 0.1 ? "less than 0.1" : seconds.toFixed(1)} s`;
    return [...cases.flatMap((one) => verdictsOf(one, cases.length > 1)),
      make("p", refused > 0 ? `${told}; ${refused} refused. Why is told at the files above.` : `${told}.`)];
  }

  // How many files were refused, a file of several runs once.
  showRefusals(captures, entries) {
    const refused = captures.filter(({ refusal }) => refusal !== null);
    for (const { file, refusal: { message, setting }, columns } of refused) {
      const { trouble } = entries[file];
      if (columns !== null && PLACES[setting] === "understood") byId("understood").open = true;
      if (!trouble.textContent.includes(message)) trouble.replaceChildren(`Refused: ${message}`, ...(PLACES[setting] ? placeOf(setting) : []), ".");
    }
    return new Set(refused.map(({ file }) => file)).size;
  }

  showTables(captures, entries) {
    const seen = new Set();
    const tables = captures.filter(({ file, columns }) => columns !== null && !seen.has(file) && seen.add(file));
    byId("tables").replaceChildren(...tables.flatMap(({ file, columns }) => {
      const { name } = entries[file].file;
      const table = make("pre", columns);
      table.tabIndex = 0;
      table.setAttribute("aria-label", `How ${name} was understood`);
      table.setAttribute("role", "region");
      return [make("h3", name), table];
    }));
    return tables.length > 0;
  }

  // The frame is as high as its page.
  fitFrame() {
    const inner = this.frame.contentDocument;
    if (inner === null || !this.frame.hasAttribute("srcdoc")) return;
    const fit = () => { this.frame.style.height = `${Math.ceil(inner.documentElement.getBoundingClientRect().height)}px`; };
    new this.frame.contentWindow.ResizeObserver(fit).observe(inner.documentElement);
    fit();
    this.framed(inner);
  }

  save(text, type, ending) {
    const url = URL.createObjectURL(new Blob([text], { type }));
    const link = Object.assign(document.createElement("a"), { href: url, download: `${this.made.name}-review.${ending}` });
    link.click();
    setTimeout(() => URL.revokeObjectURL(url), 60000);
  }
}
