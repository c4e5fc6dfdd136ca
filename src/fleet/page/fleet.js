// SPDX-License-Identifier: GPL-3.0-or-later
//
// The ranking answers to hands: columns sort, filters narrow, rows open. Without this script the page
// shows every row and all its reasons.
document.documentElement.classList.add("scripted");
document.addEventListener("DOMContentLoaded", () => {
  "use strict";

  const { make, date, readValve, figureTable, makeTable, plot } = plagDetail;
  const source = document.getElementById("fleet-data"), table = document.getElementById("ranking");
  if (source === null || table === null) return;
  const fleet = JSON.parse(source.textContent);
  const byId = (id) => document.getElementById(id);

  const heads = [...table.tHead.rows[0].cells];
  const column = Object.fromEntries(heads.map((head, index) => [head.textContent, index]));
  const rows = [...table.tBodies].map((body, rank) => {
    const cells = [...body.rows[0].cells];
    const vehicle = cells[column.Vehicle], engine = cells[column.Engine]?.textContent ?? "";
    return { body, cells, rank, vehicle, engine, standing: Number(body.dataset.k), finding: cells[column["Finding and why"]].querySelector("b").textContent,
      name: [...vehicle.children].map((part) => part.textContent).join(", "), now: body.dataset.n.split(",").map((text) => (text === "" ? null : Number(text))) };
  });
  for (const row of rows) row.text = `${row.name} ${row.engine}`.toLowerCase();

  // --- reports of captures -------------------------------------------------------------------

  const isKey = (key) => /^[0-9a-f]+$/.test(key); // nothing that a shell or an address reads anything into
  const address = ({ key }) => `${fleet.folder}/${key}.html`;
  const canMake = ({ key }) => fleet.command[0] !== "" && isKey(key);
  const commandFor = ({ key }) => {
    const [before, between, after] = fleet.command;
    return before + key + (between === "" ? "" : between + key + after);
  };

  async function copy(code, button) {
    try {
      await navigator.clipboard.writeText(code.textContent);
    } catch {
      getSelection().selectAllChildren(code);
      document.execCommand("copy");
    }
    button.textContent = "Copied";
    setTimeout(() => { button.textContent = "Copy"; }, 2000);
  }

  // A row below the log's own, with the command that makes its report.
  function commandRow(log, columns) {
    const code = make("code", {}, commandFor(log));
    const button = make("button", { type: "button" }, "Copy");
    button.addEventListener("click", () => copy(code, button));
    const line = make("div", { className: "buttons" }, button);
    if (fleet.folder !== "") line.append(make("a", { href: address(log) }, "Open it, once it is made"));
    return make("tr", { hidden: true }, make("td", { colSpan: columns }, make("div", { className: "command" },
      make("span", {}, "This capture's report is not there yet. In the folder where the fleet was judged, run:"), code, line)));
  }

  // Logs, the latest first. Returns the table and what shows a log's command.
  function logTable(valve, name) {
    const heads_ = ["Begun", "Finding", "How sure", "Taken", "Capture", "Report"];
    const parts = [], shows = new Map();
    for (const log of [...valve.logs].reverse()) {
      const cell = make("td", { className: "report" });
      const row = make("tr", {}, make("th", { scope: "row" }, log.at === null ? "no date" : date(log.at)), make("td", {}, log.finding),
        make("td", {}, log.sure === null ? "-" : `${Math.round(100 * log.sure)} %`), make("td", {}, log.condition), make("td", { className: "file" }, log.file), cell);
      parts.push(row);
      if (log.isThere) {
        cell.append(make("a", { href: address(log) }, "Open report"));
      } else if (canMake(log)) {
        const below = commandRow(log, heads_.length);
        const button = make("button", { type: "button", className: "link", "aria-expanded": "false" }, "Make report");
        button.addEventListener("click", () => {
          below.hidden = !below.hidden;
          button.setAttribute("aria-expanded", String(!below.hidden));
        });
        cell.append(button);
        parts.push(below);
        shows.set(log, () => {
          if (below.hidden) button.click();
          button.focus();
          below.scrollIntoView({ block: "nearest" });
        });
      }
    }
    return { table: makeTable(`Logs of ${name}`, heads_, parts), show: (log) => shows.get(log)?.() };
  }

  // --- what lies behind a row ----------------------------------------------------------------

  function fill(row) {
    const cell = row.body.rows[1].cells[0];
    const valve = readValve(cell.querySelector("script").textContent, fleet);
    const logs = logTable(valve, row.name);
    const open = { address, show: logs.show };
    const plots = valve.figures.filter((figure) => figure.logs.length > 0).map((figure) => plot(figure, valve, open));
    cell.append(make("h3", {}, "Figures"), figureTable(valve, row.name), make("h3", {}, "Over the logs"), make("div", { className: "pictures" }, ...plots),
      make("p", {}, make("small", {}, "Each log with its 90 % interval, hollow before the last repair; a click opens its report. Dashed: the line through the logs (Theil and Sen). Dashes and dots: the limit. Diamond: where they meet.")),
      make("h3", {}, "Logs"), logs.table);
  }

  function toggle(row) {
    const isOpen = row.body.classList.toggle("open");
    if (isOpen && !row.isFilled) {
      row.isFilled = true;
      fill(row);
    }
    row.button.setAttribute("aria-expanded", String(isOpen));
  }

  for (const row of rows) {
    const name = row.vehicle.querySelector("span");
    const more = row.body.rows[1];
    more.id = `more-${row.rank + 1}`;
    row.button = make("button", { type: "button", className: "name", "aria-expanded": "false", "aria-controls": more.id }, ...name.childNodes);
    name.append(row.button);
    row.body.rows[0].addEventListener("click", (event) => {
      if (event.target.closest("a") === null && (event.target.closest("button") === row.button || String(getSelection()) === "")) toggle(row);
    });
  }

  // --- sorting -------------------------------------------------------------------------------

  const inWords = new Intl.Collator("en", { numeric: true });
  const falling = new Set(["Figure to watch", "Last log"]); // most first, when first asked for
  const sorted = { index: 0, sign: 1 };

  function keyOf(row, index) {
    if (index === column.Standing) return row.standing;
    const { dataset, textContent } = row.cells[index];
    return dataset.s === undefined ? textContent : dataset.s === "" ? null : Number(dataset.s);
  }

  function compare(a, b) {
    if (a === b || (a === null && b === null)) return 0;
    if (a === null || a === "") return 1; // what is not known stays last
    if (b === null || b === "") return -1;
    return sorted.sign * (typeof a === "number" ? a - b : inWords.compare(a, b));
  }

  function sort(index) {
    sorted.sign = sorted.index === index ? -sorted.sign : falling.has(heads[index].textContent) ? -1 : 1;
    sorted.index = index;
    const keys = new Map(rows.map((row) => [row, keyOf(row, index)]));
    const order = [...rows].sort((a, b) => compare(keys.get(a), keys.get(b)) || a.rank - b.rank);
    table.append(...order.map(({ body }) => body), nothing);
    tellOrder();
  }

  function tellOrder() {
    heads.forEach((head, index) => {
      if (index === sorted.index) head.setAttribute("aria-sort", sorted.sign > 0 ? "ascending" : "descending");
      else head.removeAttribute("aria-sort");
    });
  }

  heads.forEach((head, index) => {
    const button = make("button", { type: "button" }, head.textContent);
    button.addEventListener("click", () => sort(index));
    head.dataset.name = head.textContent;
    head.replaceChildren(button);
  });

  // --- filters -------------------------------------------------------------------------------

  const nothing = make("tbody", { className: "nothing", hidden: true }, make("tr", {}, make("td", { colSpan: heads.length }, "No valve is like this. “Show all” takes the filters away.")));
  const wanted = { standing: null, bin: null };
  const find = byId("find"), finding = byId("finding"), engine = byId("engine"), bin = byId("bin"), all = byId("all");
  const tiles = [], bars = [];
  table.append(nothing);

  // Edges as the histogram counts them: a bar holds its left one.
  const isInBin = (value, { from, to, slack }) => value !== null && value >= from - slack && value < to - slack;

  function isWanted(row, text) {
    return (wanted.standing === null || row.standing === wanted.standing) && row.text.includes(text) && (finding.value === "" || row.finding === finding.value) &&
      (engine === null || engine.value === "" || row.engine === engine.value) && (wanted.bin === null || isInBin(row.now[wanted.bin.figure], wanted.bin));
  }

  function narrow() {
    const text = find.value.trim().toLowerCase();
    let shown = 0;
    for (const row of rows) {
      const hide = !isWanted(row, text);
      if (row.body.hidden !== hide) row.body.hidden = hide;
      if (!hide) shown++;
    }
    nothing.hidden = shown > 0;
    all.disabled = shown === rows.length && wanted.bin === null;
    byId("shown").textContent = shown === rows.length ? `${rows.length} valves` : `${shown} of ${rows.length} valves`;
    for (const tile of tiles) tile.setAttribute("aria-pressed", String(Number(tile.dataset.k) === wanted.standing));
    for (const { bar, own } of bars) bar.setAttribute("aria-pressed", String(own === wanted.bin));
    bin.hidden = wanted.bin === null;
    bin.textContent = wanted.bin?.words ?? "";
  }

  function addOptions(select, values) {
    const count = new Map();
    for (const value of values) count.set(value, (count.get(value) ?? 0) + 1);
    for (const value of [...count.keys()].sort(inWords.compare))
      select.append(make("option", { value }, `${value === "" ? "not told" : value} (${count.get(value)})`));
    select.addEventListener("change", narrow);
  }

  addOptions(finding, rows.map((row) => row.finding));
  if (engine !== null) addOptions(engine, rows.map((row) => row.engine).filter((name) => name !== ""));
  find.addEventListener("input", narrow);
  bin.addEventListener("click", () => { wanted.bin = null; narrow(); find.focus(); });
  all.addEventListener("click", () => {
    wanted.standing = wanted.bin = null;
    find.value = finding.value = "";
    if (engine !== null) engine.value = "";
    narrow();
    find.focus();
  });
  for (const link of document.querySelectorAll(".standings a")) {
    const tile = make("button", { type: "button" }, ...link.childNodes);
    tile.dataset.k = link.dataset.k;
    tile.addEventListener("click", () => {
      wanted.standing = wanted.standing === Number(tile.dataset.k) ? null : Number(tile.dataset.k);
      narrow();
    });
    link.replaceWith(tile);
    tiles.push(tile);
  }

  // --- histograms: one stop of the Tab key each, arrows go from bar to bar -----------------------

  for (const svg of document.querySelectorAll(".spread svg")) {
    const own = [...svg.querySelectorAll("g")];
    const figure = Number(svg.dataset.figure);
    svg.setAttribute("role", "group");
    own.forEach((bar, index) => {
      const words = bar.querySelector("title").textContent;
      const from = bar.dataset.from === "" ? -Infinity : Number(bar.dataset.from), to = bar.dataset.to === "" ? Infinity : Number(bar.dataset.to);
      const self = { figure, from, to, slack: 1e-9 * (Number.isFinite(to - from) ? to - from : 1), words: `${fleet.figures[figure][0]} ${words.replace(/: \d+ valves?$/, "")}` };
      bars.push({ bar, own: self });
      for (const [key, value] of Object.entries({ role: "button", tabindex: index === 0 ? 0 : -1, "aria-label": `${fleet.figures[figure][0]}, ${words}` })) bar.setAttribute(key, value);
      const pick = () => {
        wanted.bin = wanted.bin === self ? null : self;
        narrow();
        if (wanted.bin !== null) byId("shown").scrollIntoView({ block: "start" });
      };
      bar.addEventListener("click", pick);
      bar.addEventListener("keydown", (event) => {
        const step = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
        if (event.key === "Enter" || event.key === " ") pick();
        else if (step !== undefined && own[index + step]) {
          bar.setAttribute("tabindex", -1);
          own[index + step].setAttribute("tabindex", 0);
          own[index + step].focus();
        } else return;
        event.preventDefault();
      });
    });
  }

  // Rows that are laid out as grids are still a table to those who hear it.
  const roles = { thead: "rowgroup", tbody: "rowgroup", "* > tr": "row", "* > tr > td": "cell", "tbody > tr > th": "rowheader", "thead > tr > th": "columnheader" };
  table.setAttribute("role", "table");
  for (const [part, role] of Object.entries(roles))
    for (const element of table.querySelectorAll(`:scope > ${part}`)) element.setAttribute("role", role);
  tellOrder();
  narrow();
});
