"use strict";
// The map on the page: Leaflet for moving, the drawing over it, and where words lie on it.
const fieldMap = (() => {
  const { byId, data, low, narrow } = fieldPage;
  const { map } = fieldmapParts;
  const container = map.getContainer();
  container.setAttribute("aria-label", data.say.map_keys);
  container.setAttribute("role", "application");
  map.options.zoomAnimation = map.options.zoomAnimation && !window.matchMedia("(prefers-reduced-motion: reduce)").matches;
  // What questions say of each plot.
  const said = data.plots.map((/** @type {string} */ _, /** @type {number} */ at) =>
    data.questions.flatMap((/** @type {any} */ question) => question.pictures.map((/** @type {Picture} */ picture) => picture.plots?.[at]?.sub ?? "")));
  const field = fieldDrawing.on(map, fieldPage.read("fieldmap-scene"), { isAsleep: true, said });
  // What of the map lies under words.
  function inset() {
    const whole = container.getBoundingClientRect();
    if (narrow.matches) return { left: 12, top: 12, right: 12, bottom: 12 };
    const column = document.querySelector(".column").getBoundingClientRect();
    const atStart = document.documentElement.dir !== "rtl";
    const top = low.matches ? 48 : 20; // a phone held sideways has its tools in one row there
    const under = atStart ? column.right - whole.left : whole.right - column.left;
    return atStart ? { left: under + 24, top, right: 20, bottom: 20 } : { left: 20, top, right: under + 24, bottom: 20 };
  }
  // On a phone the map is as high as the answer leaves it: until it is moved by hand, all is shown.
  let moved = false;
  for (const touched of ["pointerdown", "wheel", "keydown"]) container.addEventListener(touched, () => { moved = true; }, { passive: true });
  const whole = () => {
    moved = false;
    field.whole();
  };
  const refit = () => {
    map.invalidateSize({ animate: false });
    field.inset(inset());
    keepOff();
    if (narrow.matches && !moved) field.whole();
  };
  // What lies over the map: names keep off it.
  function keepOff(withCallout = true) {
    const whole = container.getBoundingClientRect();
    const over = fieldPage.all(`#shown-on-map:not([hidden])${narrow.matches ? "" : `, .corner, #signs > summary${withCallout ? ", #callout:not(.sheet, [hidden])" : ""}`}`);
    field.keepOff(...over.map((each) => {
      const box = each.getBoundingClientRect();
      return { left: box.left - whole.left, top: box.top - whole.top, right: box.right - whole.left, bottom: box.bottom - whole.top };
    }));
  }
  field.inset(inset());
  keepOff();
  byId("closer").addEventListener("click", () => map.zoomIn());
  byId("farther").addEventListener("click", () => map.zoomOut());
  byId("whole").addEventListener("click", whole);
  let waits = 0;
  window.addEventListener("resize", () => {
    window.clearTimeout(waits);
    waits = window.setTimeout(refit, 60);
  });
  /** Something is looked at from near. @param {FieldThing} thing */
  const goTo = (thing) => {
    moved = true;
    field.goTo(thing);
  };
  /** @param {[number, number]} place @param {number} zoom */
  const goBack = (place, zoom) => {
    moved = true;
    map.setView(place, zoom, { animate: false });
  };
  return Object.freeze({ map, field, container, refit, keepOff, whole, goTo, goBack });
})();
