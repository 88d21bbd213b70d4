"use strict";
// What grows where, from job to job: what beds do on a day comes from the stays.
const fieldGrows = (() => {
  const { add, all, byId, data, fill, kept, runs, runName, say, today } = fieldPage;
  const { stays, steps, states, crops, spells, covers, green, manures, grass, standing, begins, starts, full, inside, tunnels } = data.grows;
  const state = (/** @type {string} */ name) => states.indexOf(name);
  const dayAndMonth = new Intl.DateTimeFormat(fieldPage.locale, { day: "numeric", month: "long" });
  const YEAR = 365;
  /** Covers of a stay on a day of the season. @param {any[]} stay @param {number} day */
  const under = (stay, day) => stay[5].filter((/** @type {any[]} */ [, from, to]) => from <= day && day <= to).map((/** @type {any[]} */ [kind]) => covers[kind]);
  // A stay into the next year stands on the same days of this one too.
  const dayOf = (/** @type {any[]} */ stay, /** @type {number} */ day) => [day, day + YEAR].find((each) => (stay[2] <= each && each <= stay[4]) || under(stay, each).length);
  /** What a bed does by a stay, and under what; nothing where it does not stand. @param {any[]} stay @param {number} shown */
  function doing(stay, shown) {
    const day = dayOf(stay, shown);
    if (day === undefined) return null;
    const covering = under(stay, day);
    const ripe = day >= stay[3];
    if (covering.length) return { does: ripe ? "ready-covered" : "covered", covering };
    return { does: ripe ? "ready" : "growing", covering };
  }
  const inGrass = new Set(grass);
  /** What is sown for the soil, by its bed. @type {Map<number, any[][]>} */
  const greenOf = new Map();
  for (const each of green) greenOf.set(each[0], [...(greenOf.get(each[0]) ?? []), each]);
  /** What was sown for the soil of a bed and stands on a day, by name. @param {number} bed @param {number} shown @returns {string[]} */
  const manuresOn = (bed, shown) => (greenOf.get(bed) ?? [])
    .filter(([, , from, to]) => [shown, shown + YEAR].some((day) => from <= day && day <= to))
    .map(([, kind]) => manures[kind]);
  /** Words for a run of beds of one crop: which they are, and what covers all of them. @param {string} text @param {number[]} run @param {{does: string, covering: string[]}[]} found */
  function calloutOf(text, run, found) {
    const covering = found[0].covering.filter((cover) => found.every((each) => each.covering.includes(cover)));
    return { beds: run, text, sub: [runName(run), ...covering].join(", "), first: found.some(({ does }) => does !== "growing") };
  }
  /** Words for a crop inside a tunnel. @param {string} text @param {string} tunnel @param {{does: string}[]} found */
  const calloutInside = (text, tunnel, found) => ({ beds: /** @type {number[]} */ ([]), tunnel, size: found.length, text, sub: tunnels[tunnel], first: found.some(({ does }) => does !== "growing") });
  function picture(/** @type {number} */ day) {
    const codes = data.beds.map((/** @type {string} */ _, /** @type {number} */ bed) => state(inGrass.has(bed) || manuresOn(bed, day).length ? "soil" : "empty"));
    /** @type {Map<number, Map<number, {does: string, covering: string[]}>>} */
    const byCrop = new Map();
    /** By tunnel, then by crop. @type {Record<string, Map<number, {does: string, covering: string[]}[]>>} */
    const byTunnel = {};
    for (const stay of stays) {
      const found = doing(stay, day);
      if (!found) continue;
      if (stay[0] >= data.beds.length) {
        const here = (byTunnel[inside[stay[0]]] ??= new Map());
        here.set(stay[1], [...(here.get(stay[1]) ?? []), found]);
        continue;
      }
      codes[stay[0]] = Math.max(codes[stay[0]], state(found.does));
      if (!byCrop.has(stay[1])) byCrop.set(stay[1], new Map());
      byCrop.get(stay[1]).set(stay[0], found);
    }
    const callouts = [...byCrop].flatMap(([crop, beds]) => runs([...beds.keys()]).map((run) => calloutOf(crops[crop], run, run.map((bed) => beds.get(bed)))));
    const within = Object.entries(byTunnel).flatMap(([tunnel, byCrop]) => [...byCrop].map(([crop, found]) => calloutInside(crops[crop], tunnel, found)));
    return { beds: { kind: "pattern", names: states, codes }, callouts: [...callouts, ...within] };
  }
  // The last step that a date has reached; before the first of them, the first.
  const stepOn = (/** @type {string} */ iso) => Math.max(0, steps.filter((/** @type {any} */ each) => each.iso <= iso).length - 1);
  // The steps are of twelve months.
  const yearOn = (/** @type {string} */ iso) => `${Number(iso.slice(0, 4)) + 1}${iso.slice(4)}`;
  const inSeason = (iso = today()) => steps.length > 0 && starts <= iso && iso < yearOn(starts);
  // Days of the season-year are those of a year without 29 February, which counts as the day before.
  const daysInto = (/** @type {number} */ month, /** @type {number} */ day) => Math.round((Date.UTC(2001, month - 1, day) - Date.UTC(2001, begins - 1, 1)) / 86400000);
  function dayOfYear(/** @type {string} */ iso) {
    const [, month, day] = iso.split("-").map(Number);
    return ((daysInto(month, month === 2 ? Math.min(day, 28) : day) + YEAR) % YEAR) + 1;
  }
  const inWords = (/** @type {string} */ iso) => dayAndMonth.format(new Date(`${iso}T12:00`));
  /** What can be shown, in order: the end of each step, and within the season today. @returns {{day: number, shown: string, said: string[], days: string, iso: string, isToday: boolean, jobs?: string}[]} */
  function allMoments() {
    const found = steps.map((/** @type {any} */ { iso, until, shown, said, days }) => ({ iso, day: until, shown, said, days, isToday: false }));
    if (!inSeason()) return found;
    const iso = today();
    const now = { iso, day: dayOfYear(iso), shown: inWords(iso), said: /** @type {string[]} */ ([]), days: fill(say.today_step, { day: inWords(iso) }), isToday: true };
    const begun = found.filter((/** @type {any} */ each) => each.iso <= iso).length;
    const last = steps[begun - 1];
    // Within a step, today stands for its end and keeps its jobs.
    if (last && daysBetween(last.iso, iso) <= last.until - last.from) found[begun - 1] = { ...now, said: last.said, jobs: last.days };
    else found.splice(begun, 0, now);
    return found;
  }
  const daysBetween = (/** @type {string} */ one, /** @type {string} */ other) => Math.round((Date.parse(other) - Date.parse(one)) / 86400000);
  // Crops whose names have no room on the map have a number there, and their names here.
  const key = byId("keyed");
  let keyedNow = "";
  fieldMap.field.onKey((/** @type {{n: number, text: string}[]} */ keyed) => {
    const text = JSON.stringify(keyed);
    if (text === keyedNow) return;
    keyedNow = text;
    key.replaceChildren();
    key.hidden = !keyed.length;
    for (const { n, text: crop } of keyed) {
      const row = add("li", "", key);
      add("b", `${n}`, row);
      add("span", crop, row);
    }
  });
  const moments = allMoments();
  let at = 0;
  /** Sentences of what stands where. @param {number} day */
  const standingOn = (day) => standing.filter((/** @type {any[]} */ [from]) => from <= day).pop()[1];
  function tell() {
    const { day, shown, said, days, jobs, isToday } = moments[at];
    const [lead, ...rest] = standingOn(day);
    fieldAnswers.answer([fill(isToday ? say.said_today : say.said_on_day, { day: shown, said: lead }), ...rest]);
    const folded = byId("more-jobs");
    folded.hidden = !said.length;
    folded.firstElementChild.textContent = fill(said.length === 1 ? say.one_job : say.jobs_of_days, { number: said.length, days: jobs ?? days });
    folded.lastElementChild.replaceChildren();
    for (const job of said) add("p", job, folded.lastElementChild);
    for (const [id, other, words] of [["step-next", moments[at + 1], say.next_step], ["step-before", moments[at - 1], say.step_before]]) {
      const button = byId(id);
      button.disabled = !other;
      button.textContent = "";
      add("b", other ? fill(words, { day: other.days }) : id === "step-next" ? say.last_step : say.first_step, button);
      if (other) add("span", other.said[0] ?? standingOn(other.day)[0], button);
    }
    const drawn = picture(day);
    fieldAnswers.add("grows", drawn);
    signs(drawn.beds.codes);
  }
  /** Only signs that are on the map now are explained. @param {number[]} codes */
  function signs(codes) {
    const seen = new Set(codes.map((code) => states[code]));
    for (const swatch of all(".legend[data-view='grows/0'] .swatch")) swatch.parentElement.hidden = !seen.has(swatch.dataset.kind);
  }
  const go = (/** @type {number} */ by) => {
    at = Math.max(0, Math.min(moments.length - 1, at + by));
    kept.set("step", moments[at].iso);
    tell();
    fieldAnswers.draw();
  };
  if (steps.length) {
    // Today; out of season the step that was seen last, or at which most beds bear.
    const before = kept.get("step");
    at = inSeason() ? moments.findIndex(({ isToday }) => isToday) : before ? stepOn(before) : full;
    byId("step-next").addEventListener("click", () => go(1));
    byId("step-before").addEventListener("click", () => go(-1));
    fieldAnswers.own("grows", {
      enter() {
        byId("steps").hidden = false;
        tell();
      },
      leave() {
        byId("steps").hidden = byId("more-jobs").hidden = true;
      },
    });
  }
  // Within the season all is said of today; out of it, of what is shown.
  const dayHere = () => (inSeason() ? dayOfYear(today()) : moments[at].day);
  /** What a bed does today, or at the end of the step shown. @param {number} bed */
  function ofBed(bed) {
    if (!steps.length) return null;
    const day = dayHere();
    const since = inSeason() ? stepOn(today()) : stepOn(moments[at].iso);
    const here = stays.filter((/** @type {any[]} */ stay) => stay[0] === bed && doing(stay, day));
    const found = here.length ? doing(here[0], day) : null;
    const manure = found ? [] : manuresOn(bed, day);
    const resting = inGrass.has(bed) ? "grass" : manure.length ? "soil" : "empty";
    const standing = here.map((/** @type {any[]} */ stay) => crops[stay[1]]).concat(manure);
    const jobs = steps.slice(since).flatMap((/** @type {any} */ each, /** @type {number} */ later) => each.ofBed.filter((/** @type {any[]} */ job, /** @type {number} */ number) => each.beds[number] === bed && (later > 0 || job[0] > day)));
    return {
      today: inSeason(),
      day: moments[at].shown,
      crop: [...new Set(standing)].join(", "),
      does: found ? found.does : resting,
      cover: found ? found.covering.join(", ") : "",
      next: jobs.length ? { day: jobs[0][1], said: jobs[0][2] } : null,
    };
  }
  /** Where crops of a name stand on the step that holds today, or on that shown; and at any date, in words. @param {string} text @returns {{crop: string, day: string, now: number[], ever: number[], said: string[]}[]} */
  function ofCrop(text) {
    if (!steps.length || !text) return [];
    const wanted = text.toLocaleLowerCase(fieldPage.locale);
    const day = dayHere();
    const shown = inSeason() ? inWords(today()) : moments[at].shown;
    return Object.entries(crops).flatMap((/** @type {[string, string]} */ [crop, name]) => {
      const own = name.toLocaleLowerCase(fieldPage.locale).includes(wanted) ? stays.filter((/** @type {any[]} */ stay) => stay[1] === crop) : [];
      if (!own.length) return [];
      const bedsOf = (/** @type {any[][]} */ some) => [...new Set(some.map(([bed]) => bed))].filter((bed) => bed < data.beds.length);
      const now = own.filter((/** @type {any[]} */ stay) => doing(stay, day));
      return [{ crop: name, day: shown, now: bedsOf(now), ever: bedsOf(own), said: spells[crop] }];
    });
  }
  return Object.freeze({ ofBed, ofCrop, go, inSeason });
})();
