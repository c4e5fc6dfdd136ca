// SPDX-License-Identifier: GPL-3.0-or-later
//
// What the user knows besides: the fields, and the columns set by hand. Values are checked by the worker, whose
// words for a setting are a spec's keys; the page's are its labels.

const METER = "meter.";

// A keyboard may have a comma alone for the decimal point.
const numberOf = (text) => (/^[^.,]*,[^.,]*$/.test(text) ? text.replace(",", ".") : text);

// A field as the engine takes it: one value or, of codes, several.
function settingsOf({ name, value }) {
  const text = value.trim();
  if (name === "code") return text.split(/[\s,;]+/).filter((code) => code !== "").map((code) => ({ key: name, value: code.toUpperCase() }));
  if (name.startsWith(METER)) return [{ key: "meter", value: `${name.slice(METER.length)}=${numberOf(text)}` }];
  return [{ key: name, value: numberOf(text) }];
}

class Settings {
  // `changed` is told of what the user changes.
  constructor(changed) {
    this.fields = [...document.querySelectorAll("#settings input")];
    this.columns = [...document.querySelectorAll("#understood select")];
    this.labels = new Map(this.fields.map((field) => [field.name, field.parentElement.firstChild.textContent.split(",")[0].trim()]));
    for (const field of this.fields) {
      const wrong = make("span", "", "wrong");
      field.id = `set-${field.name}`;
      wrong.id = `${field.id}-wrong`;
      if (field.dataset.usual) field.before(make("span", `${field.dataset.usual} unless given`, "hint"));
      field.before(wrong);
      field.addEventListener("input", changed);
    }
    this.columns.forEach((select) => select.addEventListener("change", changed));
  }

  // All that is set, each with the field that it stands in.
  get values() {
    return [
      ...this.fields.filter(({ value }) => value.trim() !== "").flatMap((field) => settingsOf(field).map((one) => ({ field: field.name, ...one }))),
      ...this.columns.filter(({ value }) => value !== "").map(({ name, value }) => ({ field: name, key: name, value })),
    ];
  }

  inPageWords(message) {
    return message.replace(/\b[a-z0-9]+(?:_[a-z0-9]+)+\b/g, (key) => (this.labels.has(key) ? `\u201c${this.labels.get(key)}\u201d` : key));
  }

  // Tells what is wrong ({ field, message }) in its place, and nothing elsewhere. Returns what has no place among
  // the fields.
  markWrong(wrong) {
    for (const field of this.fields) {
      const told = new Set(wrong.filter((one) => one.field === field.name).map(({ message }) => this.inPageWords(message)));
      byId(`${field.id}-wrong`).textContent = [...told].join("; ");
      if (told.size === 0) {
        field.removeAttribute("aria-invalid");
        field.removeAttribute("aria-describedby");
        continue;
      }
      field.setAttribute("aria-invalid", "true");
      field.setAttribute("aria-describedby", `${field.id}-wrong`);
      for (let around = field.closest("details"); around; around = around.parentElement.closest("details")) around.open = true;
    }
    document.querySelector("[aria-invalid]")?.focus();
    return wrong.filter(({ field }) => this.columns.some(({ name }) => name === field)).map(({ message }) => this.inPageWords(message));
  }

  // Offers the columns of the files to be set by hand: by name, or by number where that tells nothing.
  offerColumns(captures) {
    const offered = new Map();
    for (const { channels } of captures)
      for (const { column, name } of channels) {
        const isAlone = name !== "" && channels.filter((one) => one.name === name).length === 1;
        offered.set(isAlone ? name : `#${column}`, isAlone ? name : `${name} (column ${column})`.trim());
      }
    for (const select of this.columns) {
      const { value } = select;
      if (value !== "" && !offered.has(value)) offered.set(value, value);
      select.replaceChildren(new Option("found by the page", ""), ...[...offered].map(([key, words]) => new Option(words, key)));
      select.value = value;
    }
  }

  clear() {
    byId("settings").reset();
    this.columns.forEach((select) => select.replaceChildren());
    this.markWrong([]);
  }
}
