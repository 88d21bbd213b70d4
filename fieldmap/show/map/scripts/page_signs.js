"use strict";
// What each sign on the map means: a list over the map, one touch away, of those that the
// picture has and its legend does not.
const fieldKey = (() => {
  const { add, all, byId, data, narrow } = fieldPage;
  const { field } = fieldMap;
  const key = byId("key");
  let keyNow = "";
  const fold = byId("signs");
  const list = fold.querySelector("ul");
  function write() {
    list.textContent = "";
    const inLegend = new Set(all(".legend.view:not([hidden]) .swatch").map((swatch) => swatch.dataset.kind));
    for (const kind of field.signs()) {
      if (inLegend.has(kind) || !data.signs[kind]) continue;
      rowOf(kind, list);
    }
  }
  fold.addEventListener("toggle", () => {
    if (fold.open) write();
  });
  fieldAnswers.onAsk(() => {
    if (fold.open) write();
  });
  const rowOf = (/** @type {string} */ kind, /** @type {Element} */ place, width = 44) => {
    const row = add("li", "", place);
    const swatch = add("span", kind === "number" ? "1" : "", row);
    swatch.className = kind === "number" ? "numbered" : "swatch";
    if (kind !== "number") {
      swatch.dataset.kind = kind;
      swatch.append(field.swatch(kind, width, 22));
    }
    add("span", data.signs[kind], row);
  };
  const MAYBE = ["choice", "shadow"]; // drawn from near alone
  const SMALL_PX = 28;
  // The legend of the picture at hand: signs that stand in the window without their name, never absent ones.
  field.onSigns((/** @type {{drawn: string[], nameless: string[]}} */ { drawn, nameless }) => {
    const swatches = all(".legend.view:not([hidden]) .swatch");
    for (const swatch of swatches) if (MAYBE.includes(swatch.dataset.kind)) swatch.parentElement.hidden = !drawn.includes(swatch.dataset.kind);
    const inLegend = new Set(swatches.map((swatch) => swatch.dataset.kind));
    const shown = Object.keys(data.signs).filter((kind) => nameless.includes(kind) && !inLegend.has(kind));
    const text = JSON.stringify([shown, document.documentElement.dataset.look]);
    if (text === keyNow) return;
    keyNow = text;
    key.replaceChildren();
    for (const kind of shown) rowOf(kind, key, SMALL_PX);
  });
  // Off the map, where their words would lie over what they name: under the legend, and on a phone under the sheet.
  const move = () => {
    document.querySelector(narrow.matches ? ".head" : ".map-box").append(fold);
    if (narrow.matches) document.querySelector(".papers").prepend(key);
    else document.querySelector(".rest").append(key);
  };
  narrow.addEventListener("change", move);
  move();
  document.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || !fold.open) return;
    fold.open = false;
    if (fold.contains(document.activeElement)) fold.querySelector("summary").focus();
  });
  return Object.freeze({ write });
})();
