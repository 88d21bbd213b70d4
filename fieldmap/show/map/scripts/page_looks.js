"use strict";
// By day, in bright sun, in the dark: as the browser asks, or as a button says.
const fieldLooks = (() => {
  const { all, kept } = fieldPage;
  const { field } = fieldMap;
  const contrast = window.matchMedia("(prefers-contrast: more)");
  const dark = window.matchMedia("(prefers-color-scheme: dark)");
  let chosen = kept.get("look");
  let usual = "";
  const wanted = () => chosen || usual || (contrast.matches ? "bright" : dark.matches ? "night" : "day");
  function show(look = wanted()) {
    document.documentElement.dataset.look = look;
    field.look(look);
    for (const button of all("[data-look]").filter((each) => each !== document.documentElement)) {
      button.setAttribute("aria-pressed", String(button.dataset.look === look));
    }
    for (const each of all(".swatch[data-kind]")) each.replaceChildren(field.swatch(each.dataset.kind, 44, 22));
  }
  for (const button of all("button[data-look]")) {
    button.addEventListener("click", () => {
      chosen = button.dataset.look === wanted() ? "day" : button.dataset.look;
      kept.set("look", chosen);
      show();
    });
  }
  contrast.addEventListener("change", () => show());
  dark.addEventListener("change", () => show());
  show();
  return Object.freeze({
    show,
    // A list that is read in the dark is dark unless a button said otherwise.
    usual(/** @type {string} */ look) {
      usual = look;
      show();
    },
  });
})();
