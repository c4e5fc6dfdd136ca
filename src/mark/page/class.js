// SPDX-License-Identifier: GPL-3.0-or-later
//
// The instructor's page is complete without this; with it the table sorts by a click or a key on a
// heading, all submissions open at once, and a name opens what it leads to.
(() => {
  "use strict";
  const table = document.querySelector("table.submissions");
  const each = document.querySelector(".each");

  // NaN and empty cells come last, whichever way.
  const valueOf = (row, column, isNumber) => {
    const cell = row.cells[column];
    return isNumber ? Number.parseFloat(cell.dataset.value ?? "") : cell.textContent.trim();
  };
  const isMissing = (value) => value === "" || Number.isNaN(value);
  const compare = (one, other) => typeof one === "number" ? one - other : one.localeCompare(other, undefined, { numeric: true });

  function sortBy(head) {
    const column = head.cellIndex, isNumber = head.dataset.sort === "number";
    // Who has least is sought first: numbers rise, and fall at the second time.
    const direction = head.getAttribute("aria-sort") === "ascending" ? -1 : 1;
    const body = table.tBodies[0];
    const rows = [...body.rows].map((row) => [valueOf(row, column, isNumber), row]);
    rows.sort(([one], [other]) => isMissing(one) || isMissing(other)
      ? isMissing(one) - isMissing(other) : direction * compare(one, other));
    for (const other of table.tHead.rows[0].cells) other.removeAttribute("aria-sort");
    head.setAttribute("aria-sort", direction > 0 ? "ascending" : "descending");
    body.append(...rows.map(([, row]) => row));
  }

  for (const head of table.tHead.rows[0].cells) {
    const button = document.createElement("button");
    const words = head.querySelector("span") ?? head;
    button.type = "button";
    button.append(...words.childNodes);
    words.append(button);
    button.addEventListener("click", () => sortBy(head));
  }
  document.querySelector(".hint").append(" A heading sorts.");

  if (each) {
    const tools = document.createElement("div");
    tools.className = "buttons";
    for (const [words, open] of [["Open all", true], ["Close all", false]]) {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = words;
      button.addEventListener("click", () => each.querySelectorAll("details").forEach((one) => { one.open = open; }));
      tools.append(button);
    }
    each.querySelector("h2").after(tools);
  }

  // Browsers open what a link leads into of late; older ones do it here. The keyboard goes with it.
  function openTarget() {
    const details = document.getElementById(location.hash.slice(1))?.closest("details");
    if (!details) return;
    details.open = true;
    details.querySelector("summary").focus({ preventScroll: true });
    details.scrollIntoView({ block: "start" });
  }
  addEventListener("hashchange", openTarget);
  openTarget();
})();
