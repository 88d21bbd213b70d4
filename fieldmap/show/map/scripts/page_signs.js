"use strict";
// What each sign on the map means: a list over the map, one touch away, of those that the
// picture has and its legend does not.
const fieldKey = (() => {
  const { add, all, byId, data, narrow } = fieldPage;
  const { field } = fieldMap;
  const fold = byId("signs");
  const list = fold.querySelector("ul");
  function write() {
    list.textContent = "";
    const inLegend = new Set(all(".legend.view:not([hidden]) .swatch").map((swatch) => swatch.dataset.kind));
    for (const kind of field.signs()) {
      if (inLegend.has(kind) || !data.signs[kind]) continue;
      const row = add("li", "", list);
      const swatch = add("span", kind === "number" ? "1" : "", row);
      swatch.className = kind === "number" ? "numbered" : "swatch";
      if (kind !== "number") {
        swatch.dataset.kind = kind;
        swatch.append(field.swatch(kind, 44, 22));
      }
      add("span", data.signs[kind], row);
    }
  }
  fold.addEventListener("toggle", () => {
    if (fold.open) write();
  });
  fieldAnswers.onAsk(() => {
    if (fold.open) write();
  });
  // A phone's map is too small for words at its foot: there they stand beside the questions.
  const move = () => document.querySelector(narrow.matches ? ".head" : ".map-box").append(fold);
  narrow.addEventListener("change", move);
  move();
  document.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || !fold.open) return;
    fold.open = false;
    if (fold.contains(document.activeElement)) fold.querySelector("summary").focus();
  });
  return Object.freeze({ write });
})();
