"use strict";
// Find a bed or a plot by its name or number, and beds by what grows there.
const fieldFind = (() => {
  const { add, byId, data, fill, listed, runName, runs, say } = fieldPage;
  const { field } = fieldMap;
  const MOST = 6;
  const wanted = byId("wanted");
  const found = byId("found");
  const started = (/** @type {string} */ said) => said.charAt(0).toLocaleUpperCase(fieldPage.locale) + said.slice(1);
  const go = (/** @type {any} */ thing) => {
    found.hidden = true;
    document.body.classList.remove("finding");
    fieldCallout.choose(thing, true);
  };
  function look() {
    const text = wanted.value.trim();
    const crops = fieldGrows.ofCrop(text);
    const named = text ? field.find(text) : [];
    const growing = crops.flatMap((/** @type {{now: number[]}} */ { now }) => now).filter((/** @type {number} */ bed) => !named.some((thing) => thing.kind === "bed" && thing.index === bed));
    const things = [...named, ...growing.map((/** @type {number} */ index) => ({ kind: /** @type {const} */ ("bed"), index, name: data.beds[index] }))].slice(0, MOST);
    found.textContent = "";
    found.hidden = !text;
    for (const { crop, day, now, ever } of crops.slice(0, MOST)) {
      const said = now.length ? say.grows_on : ever.length ? say.grows_not_now : say.grows_inside;
      const beds = listed(runs(now.length ? now : ever).map(runName));
      add("li", started(fill(said, { crop, day, beds })), found);
    }
    for (const thing of things) {
      const button = add("button", "", add("li", "", found));
      button.type = "button";
      add("b", thing.name, button);
      if (thing.kind === "bed") add("span", data.plots[data.plotOf[thing.index]], button);
      button.addEventListener("click", () => go(thing));
    }
    if (text && !things.length && !crops.length) add("li", fill(say.not_found, { text }), found);
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
