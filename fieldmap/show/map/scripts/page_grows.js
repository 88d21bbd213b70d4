"use strict";
// What grows where, from job to job: what beds do on a day comes from the stays.
const fieldGrows = (() => {
  const { add, byId, data, fill, kept, runs, runName, say, today } = fieldPage;
  const { stays, steps, states, crops, spells, covers, green, manures, grass, most, full } = data.grows;
  const state = (/** @type {string} */ name) => states.indexOf(name);
  const dayAndMonth = new Intl.DateTimeFormat(fieldPage.locale, { day: "numeric", month: "long" });
  let step = 0;
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
  function picture(/** @type {number} */ day) {
    const codes = data.beds.map((/** @type {string} */ _, /** @type {number} */ bed) => state(inGrass.has(bed) || manuresOn(bed, day).length ? "soil" : "empty"));
    /** @type {Map<number, Map<number, {does: string, covering: string[]}>>} */
    const byCrop = new Map();
    for (const stay of stays) {
      const found = doing(stay, day);
      if (!found || stay[0] >= data.beds.length) continue; // inside a tunnel
      codes[stay[0]] = Math.max(codes[stay[0]], state(found.does));
      if (!byCrop.has(stay[1])) byCrop.set(stay[1], new Map());
      byCrop.get(stay[1]).set(stay[0], found);
    }
    const callouts = [...byCrop].flatMap(([crop, beds]) => runs([...beds.keys()]).map((run) => calloutOf(crops[crop], run, run.map((bed) => beds.get(bed)))));
    return { beds: { kind: "pattern", names: states, codes }, callouts };
  }
  // The last step that a date has reached; before the first of them, the first.
  const stepOn = (/** @type {string} */ iso) => Math.max(0, steps.filter((/** @type {any} */ each) => each.iso <= iso).length - 1);
  // Where no later job is left, the step at which most beds bear says more.
  const opening = () => (inSeason() && today() < steps[steps.length - 1].iso ? stepOn(today()) : full);
  // The steps are of twelve months.
  const yearOn = (/** @type {string} */ iso) => `${Number(iso.slice(0, 4)) + 1}${iso.slice(4)}`;
  const inSeason = (iso = today()) => steps.length > 0 && steps[0].iso <= iso && iso < yearOn(steps[0].iso);
  function tell() {
    const { until, days, said } = steps[step];
    byId("date-shown").textContent = fill(say.today_and_shown, { today: dayAndMonth.format(new Date(`${today()}T12:00`)), days });
    const others = said.slice(most);
    fieldAnswers.answer(said.slice(0, most));
    const folded = byId("more-jobs");
    folded.hidden = !others.length;
    folded.firstElementChild.textContent = fill(others.length === 1 ? say.one_more_job : say.more_jobs, { number: others.length });
    folded.lastElementChild.replaceChildren();
    for (const job of others) add("p", job, folded.lastElementChild);
    for (const [id, other, words] of [["step-next", steps[step + 1], say.next_step], ["step-before", steps[step - 1], say.step_before]]) {
      const button = byId(id);
      button.disabled = !other;
      button.textContent = "";
      add("b", other ? fill(words, { day: other.days }) : id === "step-next" ? say.last_step : say.first_step, button);
      if (other) add("span", other.said[0], button);
    }
    fieldAnswers.add("grows", picture(until));
  }
  const go = (/** @type {number} */ by) => {
    step = Math.max(0, Math.min(steps.length - 1, step + by));
    kept.set("step", steps[step].iso);
    tell();
    fieldAnswers.draw();
  };
  if (steps.length) {
    const before = kept.get("step");
    step = !inSeason() && before ? stepOn(before) : opening();
    byId("step-next").addEventListener("click", () => go(1));
    byId("step-before").addEventListener("click", () => go(-1));
    fieldAnswers.own("grows", {
      enter() {
        byId("steps").hidden = byId("date-shown").hidden = false;
        tell();
      },
      leave() {
        byId("steps").hidden = byId("date-shown").hidden = byId("more-jobs").hidden = true;
      },
    });
  }
  /** Day of the season-year that today is, in the step that holds it: between its jobs each has its own. @param {any} of */
  const dayOfToday = (of) => Math.min(of.until, of.from + Math.round((Date.parse(today()) - Date.parse(of.iso)) / 86400000));
  /** What a bed does today, or at the end of the step shown. @param {number} bed */
  function ofBed(bed) {
    const at = inSeason() ? stepOn(today()) : step;
    if (!steps.length) return null;
    const day = inSeason() ? dayOfToday(steps[at]) : steps[at].until;
    const here = stays.filter((/** @type {any[]} */ stay) => stay[0] === bed && doing(stay, day));
    const found = here.length ? doing(here[0], day) : null;
    const manure = found ? [] : manuresOn(bed, day);
    const resting = inGrass.has(bed) ? "grass" : manure.length ? "soil" : "empty";
    const standing = here.map((/** @type {any[]} */ stay) => crops[stay[1]]).concat(manure);
    const jobs = steps.slice(at).flatMap((/** @type {any} */ each, /** @type {number} */ later) => each.ofBed.filter((/** @type {any[]} */ job, /** @type {number} */ number) => each.beds[number] === bed && (later > 0 || job[0] > day)));
    return {
      today: inSeason(),
      day: steps[at].shown,
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
    const { day, until } = steps[inSeason() ? stepOn(today()) : step];
    return Object.entries(crops).flatMap((/** @type {[string, string]} */ [crop, name]) => {
      const own = name.toLocaleLowerCase(fieldPage.locale).includes(wanted) ? stays.filter((/** @type {any[]} */ stay) => stay[1] === crop) : [];
      if (!own.length) return [];
      const bedsOf = (/** @type {any[][]} */ some) => [...new Set(some.map(([bed]) => bed))].filter((bed) => bed < data.beds.length);
      const now = own.filter((/** @type {any[]} */ stay) => doing(stay, until));
      return [{ crop: name, day, now: bedsOf(now), ever: bedsOf(own), said: spells[crop] }];
    });
  }
  return Object.freeze({ ofBed, ofCrop, go, inSeason });
})();
