// SPDX-License-Identifier: GPL-3.0-or-later
//
// The list of recordings: what was chosen, in which condition it was taken, why it was refused.

const MOST_FILES = 16;
const ROAD = "0", REST = "1", SWEEP = "2", AFTER = "3";

// What a name tells of the condition; a guess that stands where it can be changed.
function guessCondition(name) {
  if (/sweep/i.test(name)) return SWEEP;
  if (/(^|[^a-z])after([^a-z]|$)/i.test(name)) return AFTER;
  return /(^|[^a-z])rest([^a-z]|$)/i.test(name) ? REST : ROAD;
}

const isSameFile = (a, b) => a.name === b.name && a.size === b.size && a.lastModified === b.lastModified;

class Recordings {
  // `changed` is told of what the user changes in the list.
  constructor(changed) {
    this.changed = changed;
    this.entries = []; // { file, row, select, trouble }
  }

  get count() {
    return this.entries.length;
  }

  // As the engine is given them.
  get given() {
    return this.entries.map(({ file, select }) => ({ file, name: file.name, condition: Number(select.value) }));
  }

  // Adds those that are not there yet. How many were new, and how many of these had no room.
  add(list) {
    const fresh = [...list].filter((file) => !this.entries.some((entry) => isSameFile(entry.file, file)));
    const room = MOST_FILES - this.count;
    fresh.slice(0, room).forEach((file) => this.addOne(file));
    return { fresh: fresh.length, left: Math.max(fresh.length - room, 0) };
  }

  addOne(file) {
    const row = byId("file").content.cloneNode(true).firstElementChild;
    const [select, remove] = [row.querySelector("select"), row.querySelector("button")];
    const entry = { file, row, select, trouble: row.querySelector(".trouble") };
    row.querySelector(".name").append(file.name, make("small", sizeOf(file.size)));
    row.querySelector("label span").textContent = `Condition of ${file.name}`;
    remove.lastElementChild.textContent = ` ${file.name}`;
    select.value = guessCondition(file.name);
    select.addEventListener("change", this.changed);
    remove.addEventListener("click", () => this.remove(entry));
    this.entries.push(entry);
    byId("files").append(row);
  }

  remove(entry) {
    const at = this.entries.indexOf(entry);
    this.entries.splice(at, 1);
    entry.row.remove();
    (this.entries[Math.min(at, this.count - 1)]?.row.querySelector("button") ?? byId("drop")).focus();
    this.changed();
  }

  clear() {
    this.entries.splice(0).forEach(({ row }) => row.remove());
  }

  forgetTroubles() {
    this.entries.forEach(({ trouble }) => { trouble.textContent = ""; });
  }
}
