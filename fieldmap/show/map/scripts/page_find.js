"use strict";
// Find a bed or a plot by its name or number.
const fieldFind = (() => {
  const { add, byId, data, fill, say } = fieldPage;
  const { field } = fieldMap;
  const MOST = 6;
  const wanted = byId("wanted");
  const found = byId("found");
  const go = (/** @type {any} */ thing) => {
    found.hidden = true;
    document.body.classList.remove("finding");
    fieldCallout.choose(thing, true);
  };
  function look() {
    const text = wanted.value.trim();
    const things = text ? field.find(text).slice(0, MOST) : [];
    found.textContent = "";
    found.hidden = !text;
    for (const thing of things) {
      const button = add("button", "", add("li", "", found));
      button.type = "button";
      add("b", thing.name, button);
      if (thing.kind === "bed") add("span", data.plots[data.plotOf[thing.index]], button);
      button.addEventListener("click", () => go(thing));
    }
    if (text && !things.length) add("li", fill(say.not_found, { text }), found);
    return things;
  }
  wanted.addEventListener("input", look);
  byId("find").addEventListener("submit", (/** @type {Event} */ event) => {
    event.preventDefault();
    const [first] = look();
    if (first) go(first);
  });
  byId("find").addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => {
    if (event.key === "Escape") {
      found.hidden = true;
      document.body.classList.remove("finding");
    }
  });
  byId("find-open").addEventListener("click", () => {
    document.body.classList.add("finding");
    wanted.focus();
  });
  return Object.freeze({ look });
})();
