"use strict";
// Question, view, place and zoom stand in the address, so that a reload keeps them.
const fieldStart = (() => {
  const { byId, data, narrow, today } = fieldPage;
  const { map, field } = fieldMap;
  const ADDRESS = /^#([a-z-]+)(?:\/(\d+))?(?:@(-?[\d.]+),(-?[\d.]+),([\d.]+))?$/;
  const old = byId("too-old");
  if (old && today() > old.dataset.until) old.hidden = false;
  // The same tools stand in the list of questions on a phone, upright or sideways.
  for (const id of ["measure", "undo"]) byId(id).dataset.tool = id;
  const { low } = fieldPage;
  const looks = byId("looks");
  const move = () => {
    const isSmall = narrow.matches || low.matches;
    (isSmall ? byId("more-tools") : byId("tools")).append(...document.querySelectorAll("#measure, #undo"));
    if (isSmall) byId("more-tools").after(looks);
    else byId("tools").after(looks);
  };
  narrow.addEventListener("change", move);
  low.addEventListener("change", move);
  move();
  const flat = () => document.body.classList.toggle("low", low.matches);
  low.addEventListener("change", flat);
  flat();
  function write() {
    const { key, at } = fieldAnswers.asked();
    const { lat, lng } = map.getCenter();
    const address = `#${key}/${at}@${lat.toFixed(6)},${lng.toFixed(6)},${map.getZoom().toFixed(2)}`;
    try {
      window.history.replaceState(null, "", address);
    } catch {
      // some viewers of files forbid it: nothing is kept then
    }
  }
  function readAddress() {
    const found = ADDRESS.exec(decodeURIComponent(window.location.hash));
    const [, key, at, lat, lng, zoom] = found || [];
    const known = key && data.questions.some((/** @type {any} */ each) => each.key === key);
    fieldAnswers.ask(known ? key : data.questions[0].key, at === undefined ? undefined : Number(at));
    fieldMap.refit();
    if (known && zoom) fieldMap.goBack([Number(lat), Number(lng)], Number(zoom));
    else fieldMap.whole();
  }
  readAddress();
  field.wake();
  // The other questions answer at once: their pictures are read while nothing is asked.
  const idle = window.requestIdleCallback ?? ((/** @type {() => void} */ then) => window.setTimeout(then, 200));
  const pictures = data.questions.flatMap((/** @type {any} */ { pictures, first }) => pictures[first]?.ground?.picture.uri ?? []);
  const readNext = () => {
    const uri = pictures.shift();
    if (uri) field.read(uri).then(() => idle(readNext));
  };
  field.ready.then(() => idle(readNext));
  // Names on the map are drawn again in the page's own letters.
  document.fonts.ready.then(() => field.repaint());
  field.onMove(write);
  fieldAnswers.onAsk(write);
  window.addEventListener("hashchange", readAddress);
  return Object.freeze({ write });
})();
window.fieldmap = { map: fieldMap.map, field: fieldMap.field, ask: fieldAnswers.ask };
