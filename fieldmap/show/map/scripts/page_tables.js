"use strict";
// Tables are made of their texts when one is opened.
const fieldTables = (() => {
  const { add, all, byId, data, say } = fieldPage;
  const PORTION = 200; // rows that are made at once
  async function gunzip(/** @type {string} */ text) {
    const bytes = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
    const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
    return new Response(stream).arrayBuffer();
  }
  /** @type {Promise<any> | undefined} */
  let unpacked;
  const tables = () => {
    unpacked = unpacked || gunzip(data.tables).then((bytes) => JSON.parse(new TextDecoder().decode(bytes)));
    return unpacked;
  };
  const thingOf = (/** @type {string} */ id) => {
    const found = /^(bed|tunnel|pocket)-(\d+)$/.exec(id);
    return found ? { kind: found[1], index: Number(found[2]) } : null;
  };
  function row(/** @type {any} */ table, /** @type {number} */ at, /** @type {Element} */ body) {
    const line = add("tr", "", body);
    line.id = table.ids[at];
    table.cells.forEach((/** @type {any} */ column, /** @type {number} */ number) => {
      const text = column.texts[column.of[at]];
      const cell = add(number ? "td" : "th", "", line);
      cell.dataset.column = table.columns[number];
      const thing = number ? null : thingOf(table.ids[at]);
      if (number) cell.textContent = text;
      else cell.scope = "row";
      if (!number && !thing) cell.textContent = text;
      if (thing) {
        const button = add("button", text, cell);
        button.type = "button";
        button.addEventListener("click", () => {
          window.scrollTo(0, 0);
          fieldCallout.choose({ ...thing, name: text }, true);
        });
      }
    });
  }
  /** @param {HTMLDetailsElement} place */
  async function fillIn(place) {
    if (place.dataset.made) return;
    place.dataset.made = "yes";
    if (!("DecompressionStream" in window)) {
      add("p", say.too_old, place);
      return;
    }
    const table = (await tables())[place.dataset.table];
    if (!table.ids.length) {
      add("p", table.empty, place);
      return;
    }
    for (const note of table.notes) add("p", note, place);
    const wide = add("div", "", place);
    wide.className = "wide";
    wide.tabIndex = 0;
    wide.setAttribute("role", "region");
    wide.setAttribute("aria-label", place.querySelector("h2").textContent);
    const shown = add("table", "", wide);
    const head = add("tr", "", add("thead", "", shown));
    for (const column of table.columns) add("th", column, head).scope = "col";
    const body = add("tbody", "", shown);
    const more = add("button", say.more_rows, place);
    more.type = "button";
    const next = () => {
      const from = body.children.length;
      for (let at = from; at < Math.min(from + PORTION, table.ids.length); at += 1) row(table, at, body);
      more.hidden = body.children.length === table.ids.length;
    };
    more.addEventListener("click", next);
    next();
    place.dataset.rows = String(table.ids.length);
  }
  for (const place of all("[data-table]")) {
    place.addEventListener("toggle", () => {
      if (place.open) fillIn(place);
    });
  }
  /** Open a table, and show the row of an id in it. @param {string} id @param {string} [rowId] */
  async function open(id, rowId) {
    const place = byId(`table-${id}`);
    place.open = true;
    await fillIn(place);
    let line = rowId ? byId(rowId) : null;
    while (rowId && !line && place.querySelector(".wide ~ button:not([hidden])")) {
      place.querySelector(".wide ~ button").click();
      line = byId(rowId);
    }
    (line || place).scrollIntoView({ block: "center" });
    if (line) line.querySelector("button").focus({ preventScroll: true });
  }
  return Object.freeze({ gunzip, open });
})();
