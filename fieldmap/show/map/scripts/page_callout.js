"use strict";
// What a thing says of itself: a box beside it with a line to it, never over it; where
// there is no room, and on a phone, a sheet under the map.
const fieldCallout = (() => {
  const { add, byId, cell, data, fill, locale, narrow, say } = fieldPage;
  const { map, field, container } = fieldMap;
  const WIDTH = 318;
  const MOST_WORDS = 60;
  const box = byId("callout");
  const leader = byId("leader");
  /** @type {any} */
  let thing = null;
  /** @type {any} */
  let opener = null;
  const title = box.querySelector("h2");
  const body = box.querySelector("div");
  const para = (/** @type {string} */ text, /** @type {string} */ name = "") => {
    if (!text) return;
    add("p", text, body).className = name;
  };
  const way = (/** @type {string} */ text, /** @type {() => void} */ does) => {
    const button = add("button", text, body);
    button.type = "button";
    button.className = "way";
    button.addEventListener("click", does);
  };
  function today(/** @type {number} */ bed) {
    const here = fieldGrows.ofBed(bed);
    if (!here) return;
    const now = fill(say[`bed_${here.does.replace("-", "_")}`], { crop: here.crop, cover: here.cover });
    const line = add("p", "", body);
    add("b", here.today ? say.today_here : fill(say.on_day_here, { day: here.day }), line);
    line.append(` ${now}`);
    if (here.next && here.today) line.append(" ", fill(say.next_here, { day: here.next.day, job: here.next.said }));
  }
  /** What was seen where a bed or a spot is, and whether cold air collects there: what the question outlines. */
  function outlined() {
    for (const seen of field.outlining("mark", thing)) para(fill(say.you_saw, { seen }));
    for (const pocket of field.outlining("pocket", thing)) para(fill(say.in_pocket, { pocket }));
  }
  function ofBed(/** @type {number} */ bed) {
    const { beds } = data.cards;
    title.textContent = fill(say.bed_named, { bed: data.beds[bed] });
    const season = fieldGrows.inSeason() || fieldAnswers.asked().key === "grows";
    if (season) today(bed);
    const date = cell(beds.date, bed);
    if (date) {
      const line = add("p", "", body);
      line.className = "date";
      const swatch = add("i", "", line);
      swatch.className = "swatch";
      const at = dateOf(bed);
      if (at === null) swatch.hidden = true;
      else swatch.style.setProperty("--at", String(at));
      line.append(date);
    }
    para(season && fieldAnswers.asked().key === "grows" ? cell(beds.night, bed) : cell(beds.why, bed));
    if (!season) today(bed);
    outlined();
    para(fill(say.bed_in_plot, { plot: data.plots[data.plotOf[bed]], ground: cell(beds.ground, bed) }), "soft");
    way(fill(say.all_about, { name: data.beds[bed] }), () => fieldTables.open("beds", `bed-${bed}`));
  }
  // The place of a bed's day on the ramp of dates.
  function dateOf(/** @type {number} */ bed) {
    const early = data.questions.find((/** @type {any} */ each) => each.key === "early").pictures[0].beds;
    const code = early.kind === "ramp" ? atob(early.codes).charCodeAt(bed) : 255;
    return code === 255 ? null : code / 254;
  }
  /** As many sentences as are read at a glance. @param {string[]} sentences */
  const few = (sentences) => {
    let words = `${title.textContent} ${body.textContent}`.split(/\s+/).length;
    return sentences.filter((text, at) => (words += text.split(/\s+/).length) < MOST_WORDS || at === 0);
  };
  function write() {
    body.textContent = "";
    if (thing.kind === "bed") ofBed(thing.index);
    else {
      title.textContent = thing.name || say.here_title;
      for (const text of field.cardOf(thing)) para(text);
    }
    if (thing.kind === "spot") outlined();
    for (const text of few(thing.said || [])) para(text);
    if (thing.kind === "tunnel") {
      for (const text of data.cards.tunnels[thing.index] || []) para(text);
      way(fill(say.all_about, { name: thing.name }), () => fieldTables.open("tunnels", `tunnel-${thing.index}`));
    }
    if (thing.kind === "plot") {
      const { sub } = fieldAnswers.question().pictures[fieldAnswers.asked().at].plots.find((/** @type {any} */ one) => one.name === thing.name) || {};
      if (sub) para(`${sub[0].toLocaleUpperCase(locale)}${sub.slice(1)}.`);
      para(data.cards.plots[data.plots.indexOf(thing.name)]);
    }
    if (thing.text) para(thing.text);
  }
  function place() {
    if (!thing || box.hidden) return;
    const sheet = (/** @type {boolean} */ wanted) => {
      box.classList.toggle("sheet", wanted);
      leader.style.display = wanted ? "none" : "block";
    };
    box.style.width = `${WIDTH}px`;
    fieldMap.keepOff(false);
    const spot = narrow.matches || document.body.classList.contains("low") ? null : field.freeSpot(WIDTH, box.offsetHeight, thing);
    document.body.classList.toggle("with-sheet", !spot);
    if (!spot) {
      sheet(true);
      box.style.cssText = "";
      return;
    }
    sheet(false);
    box.style.left = `${spot.left}px`;
    box.style.top = `${spot.top}px`;
    const end = field.leaderEnd(thing);
    const [high, wide] = [box.offsetHeight, WIDTH];
    const from = { x: Math.max(spot.left + 20, Math.min(spot.left + wide - 20, end.x)), y: Math.max(spot.top, Math.min(spot.top + high, end.y)) };
    if (end.y >= spot.top && end.y <= spot.top + high) from.x = end.x > spot.left ? spot.left + wide : spot.left;
    leader.querySelector("path").setAttribute("d", `M${from.x} ${from.y}L${end.x} ${end.y}`);
    fieldMap.keepOff();
  }
  /** @param {any} chosen @param {boolean} [goes] */
  function choose(chosen, goes) {
    const was = thing;
    thing = chosen && chosen.kind ? chosen : null;
    if (goes && thing) fieldMap.goTo(thing);
    if (goes || !thing || thing.latlng) field.choose(thing && !thing.latlng ? thing : null);
    box.hidden = !thing;
    document.body.classList.toggle("with-sheet", Boolean(thing) && narrow.matches);
    leader.style.display = thing ? "block" : "none";
    if (!thing) {
      if (was && opener && opener.isConnected) opener.focus({ preventScroll: true });
      opener = null;
      if (narrow.matches) fieldMap.refit();
      else fieldMap.keepOff();
      return;
    }
    if (goes) opener = document.activeElement;
    write();
    place();
    if (narrow.matches) fieldMap.refit();
    if (goes) title.focus({ preventScroll: true });
  }
  field.onChoose((/** @type {any} */ chosen) => choose(chosen));
  field.onMove(place);
  byId("close").addEventListener("click", () => choose(null));
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && thing) choose(null);
  });
  fieldAnswers.onAsk(() => {
    if (thing) {
      write();
      place();
    }
  });
  // Bare ground says its numbers.
  map.on("click", async (/** @type {any} */ event) => {
    if (fieldMeasure.isOn() || event.originalEvent && event.originalEvent.target.closest("#callout, .corner, .column")) return;
    if (field.at(event.latlng)) return;
    const said = await fieldReadings.at(event.latlng);
    choose({ kind: "spot", index: -1, latlng: event.latlng, name: say.here_title, said });
  });
  return Object.freeze({ choose, chosen: () => thing, container });
})();
