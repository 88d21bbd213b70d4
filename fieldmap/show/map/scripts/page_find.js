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
    const standing = [...new Set([...crops.flatMap(({ now }) => now), ...crops.flatMap(({ ever }) => ever)])];
    const growing = standing.filter((bed) => !named.some((thing) => thing.kind === "bed" && thing.index === bed));
    const things = [...named, ...growing.map((/** @type {number} */ index) => ({ kind: /** @type {const} */ ("bed"), index, name: data.beds[index] }))].slice(0, MOST);
    found.textContent = "";
    found.hidden = !text;
    for (const { crop, day, now, ever, said } of crops.slice(0, MOST)) {
      const first = now.length ? say.grows_on : ever.length ? say.grows_not_now : say.grows_inside;
      add("li", started(fill(first, { crop, day, beds: listed(runs(now).map(runName)) })), found);
      for (const spell of said) add("li", spell, found).className = "spell-of-crop";
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
