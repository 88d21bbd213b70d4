"use strict";
/** The sentence with blanks: which parcels fit it, by what the others fail, and in words. */
const fieldParcels = (() => {
  const { data, say, byId, all, fill, add } = fieldPage;
  const SHOWN = 3;
  const blanks = /** @type {HTMLSelectElement[]} */ (all("#sentence select"));
  const rows = /** @type {HTMLElement[]} */ (all("#fit-list > li"));
  /** @type {Map<number, HTMLElement>} */
  const rowOf = new Map(rows.map((row) => [Number(row.dataset.at), row]));
  const order = rows.map((row) => Number(row.dataset.at));
  const has = (/** @type {string} */ name) => blanks.some((blank) => blank.name === name);
  const by = has("days") ? "days" : "degrees";
  /** @type {number[]} */
  let three = [];
  let picked = false;

  /** @typedef {{state: "fits"|"not"|"unknown", fails: string[], sure: boolean}} Verdict */

  /** What stands in the blanks. @returns {Record<string, number>} */
  const asked = () => Object.fromEntries(blanks.map((blank) => [blank.name, Number(blank.value)]));

  /** Low, likely and high of what parcels stand in order by. @param {Record<string, number>} now @returns {(number|null)[][]} */
  const ends = (now) => (by === "days" ? data.days[now.years] : data.night);

  /** @param {Record<string, number>} now @param {number} at @returns {Verdict} */
  function verdict(now, at) {
    const [low, likely] = ends(now).map((values) => values[at]);
    const dry = data.dry[now.slope][at];
    if (likely === null || dry === null || low === null) return { state: "unknown", fails: [], sure: false };
    const fails = [];
    if (likely < now[by]) fails.push(by);
    if (dry < now.hectares) {
      // Steeper ground would be enough, or all of it is too little.
      const steep = data.dry[data.dry.length - 1][at];
      fails.push(steep !== null && steep >= now.hectares ? "slope" : "hectares");
    }
    return { state: fails.length ? "not" : "fits", fails, sure: !fails.length && low >= now[by] };
  }

  /** One sentence of those for none, one and many. @param {string} key @param {number} number @param {Record<string, unknown>} [values] */
  function counted(key, number, values = {}) {
    const form = number === 0 && say[`${key}_none`] ? "none" : number === 1 ? "one" : "many";
    return fill(say[`${key}_${form}`], { number: written(number), ...values });
  }

  const forms = [0, 1].map((digits) => new Intl.NumberFormat(fieldPage.locale, { maximumFractionDigits: digits }));
  const written = (/** @type {number} */ number, digits = 0) => forms[digits].format(number);

  /** An area in the units of the region. @param {number} hectares */
  function area(hectares) {
    if (data.units.us) return fill(say.acres, { number: written(hectares * data.acres_per_hectare, 1) });
    return fill(say.hectares, { number: written(hectares, 1) });
  }

  const word = (/** @type {string} */ name) => {
    const blank = blanks.find((each) => each.name === name);
    return blank ? blank.options[blank.selectedIndex].text : "";
  };

  /** The ends of the ramp: the same for all that is asked of one number of years. @param {Record<string, number>} now */
  function span(now) {
    const known = /** @type {number[]} */ (ends(now)[1].filter((value) => value !== null));
    if (!known.length) return { most: 1, least: 0 };
    const step = by === "days" ? 5 : 0.5;
    const [least, most] = [Math.floor(Math.min(...known) / step) * step, Math.ceil(Math.max(...known) / step) * step];
    return { least, most: most > least ? most : least + step };
  }

  /** Everything anew, for what stands in the blanks. */
  function show() {
    const now = asked();
    const verdicts = data.names.map((/** @type {string} */ _name, /** @type {number} */ at) => verdict(now, at));
    const fitting = order.filter((at) => verdicts[at].state === "fits");
    if (!picked) three = fitting.slice(0, SHOWN);
    const { least, most } = span(now);
    const place = (/** @type {number} */ at) => Math.min(1, Math.max(0, (most - Number(ends(now)[1][at])) / (most - least)));
    const places = verdicts.map((/** @type {Verdict} */ each, /** @type {number} */ at) => (each.state === "fits" ? place(at) : each.state === "not" ? null : undefined));
    answer(verdicts, fitting.length);
    legend(now, least, most);
    lists(now, verdicts, place);
    cards();
    fieldMap.show(places, three);
  }

  /** @param {Verdict[]} verdicts @param {number} number */
  function answer(verdicts, number) {
    const sure = verdicts.filter((each) => each.sure).length;
    const unknown = verdicts.filter((each) => each.state === "unknown").length;
    const lead = counted("fit", number, { all: written(verdicts.length) });
    const rest = [];
    if (number) rest.push(sure === number ? say.sure_all : fill(sure ? say.sure_some : say.sure_none, { number: written(sure) }));
    // What keeps most parcels out alone.
    const alone = ["slope", "hectares", by]
      .map((key) => ({ key, count: verdicts.filter((each) => each.fails.length === 1 && each.fails[0] === key).length }))
      .sort((one, other) => other.count - one.count)[0];
    if (alone.count) rest.push(counted(`more_${alone.key}`, alone.count));
    if (unknown) rest.push(counted("unknown", unknown));
    const holder = byId("answer");
    holder.replaceChildren();
    add("b", lead, holder);
    holder.append(rest.map((each) => ` ${each}`).join(""));
  }

  /** @param {Record<string, number>} now @param {number} least @param {number} most */
  function legend(now, least, most) {
    byId("ramp-name").textContent = by === "days" ? say.legend_days : say.legend_degrees;
    const ticks = byId("ticks");
    ticks.replaceChildren();
    for (const value of [most, (most + least) / 2, least]) add("span", by === "days" ? written(value) : degrees(value), ticks);
    void now;
  }

  /** How much warmer or colder, in words. @param {number} celsius */
  function degrees(celsius) {
    const size = data.units.us ? celsius * 1.8 : celsius;
    if (Math.abs(size) < 0.25) return say.alike;
    return fill(size < 0 ? say.colder : say.warmer, { degrees: `${written(Math.abs(size), 1)} ${data.units.us ? "°F" : "°C"}` });
  }

  /** Every parcel in its list, with what hangs on the blanks. @param {Record<string, number>} now @param {Verdict[]} verdicts @param {(at: number) => number} place */
  function lists(now, verdicts, place) {
    /** @type {HTMLElement[][]} */
    const [fits, others] = [[], []];
    for (const at of order) {
      const row = /** @type {HTMLElement} */ (rowOf.get(at));
      const [low, likely, high] = ends(now).map((values) => values[at]);
      const each = verdicts[at];
      (each.state === "fits" ? fits : others).push(row);
      row.style.setProperty("--mine", each.state === "fits" ? fieldMap.colour(place(at)) : "none");
      // What nobody sees is written once it is opened.
      if (!three.includes(at) && !byId(each.state === "fits" ? "fitting" : "others").open) continue;
      const text = (/** @type {string} */ name, /** @type {string} */ said) => {
        const holder = row.querySelector(`.${name}`);
        if (holder && holder.textContent !== said) holder.textContent = said;
      };
      const season = { likely, low, high, years: word("years") };
      text("season", by === "days" && likely !== null ? fill(say.season, season) : "");
      const dry = data.dry[now.slope][at];
      text("dry", dry === null ? "" : fill(say.dry, { slope: word("slope"), area: area(dry), whole: area(data.hectares[at]) }));
      text("why", each.state === "fits" ? "" : why(now, at, each));
    }
    const fitList = byId("fit-list");
    const otherList = byId("other-list");
    fitList.replaceChildren(...fits);
    otherList.replaceChildren(...others);
    byId("fitting-name").textContent = counted("list_fit", fits.length);
    byId("others-name").textContent = fill(say.list_others, { number: written(others.length) });
    byId("others").hidden = !others.length;
  }

  /** Why a parcel does not fit. @param {Record<string, number>} now @param {number} at @param {Verdict} each */
  function why(now, at, each) {
    if (each.state === "unknown") return say.why_unknown;
    const said = [];
    if (each.fails.includes("days")) said.push(fill(say.why_days, { likely: ends(now)[1][at], asked: now.days }));
    if (each.fails.includes("degrees")) said.push(say.why_degrees);
    if (each.fails.some((key) => key === "slope" || key === "hectares")) {
      said.push(fill(say.why_hectares, { area: area(data.dry[now.slope][at]), slope: word("slope"), asked: word("hectares") }));
    }
    return said.join(" ");
  }

  /** The cards below the map: copies of their rows. */
  function cards() {
    const holder = byId("three");
    holder.replaceChildren(
      ...three.map((at, number) => {
        const row = /** @type {HTMLElement} */ (rowOf.get(at));
        const card = document.createElement("li");
        card.tabIndex = -1;
        const heading = add("h2", "", card);
        add("bdi", `${number + 1} ${row.querySelector("bdi")?.textContent ?? ""}`, heading);
        for (const each of row.querySelectorAll("p")) card.append(each.cloneNode(true));
        card.style.setProperty("--mine", row.style.getPropertyValue("--mine"));
        return card;
      }),
    );
    const last = three[SHOWN - 1];
    byId("touch").textContent = last === undefined ? say.touch_first : fill(say.one_two_three, { name: `${SHOWN}. ${data.names[last]}` });
  }

  /** A parcel in place of the third; its card. @param {number} at @returns {HTMLElement} */
  function touch(at) {
    picked = true;
    three = three.filter((each) => each !== at);
    three = [...three.slice(0, SHOWN - 1), at];
    show();
    const card = byId("three").lastElementChild;
    byId("said").textContent = card.innerText;
    return card;
  }

  // The sentence stands in the address once it is kept.
  function keep() {
    const words = new URLSearchParams(blanks.map((blank) => [blank.name, blank.value]));
    if (picked) words.set("parcels", three.map((at) => data.ids[at]).join("\n"));
    window.location.hash = words.toString();
    byId("message").textContent = say.kept;
  }

  function kept() {
    const words = new URLSearchParams(window.location.hash.slice(1));
    for (const blank of blanks) {
      const value = words.get(blank.name);
      if (value !== null && [...blank.options].some((option) => option.value === value)) blank.value = value;
    }
    const named = words.get("parcels");
    if (named !== null) {
      three = named
        .split("\n")
        .map((id) => data.ids.indexOf(id))
        .filter((at) => at >= 0)
        .slice(0, SHOWN);
      picked = three.length > 0;
    }
  }

  /** @param {string} name */
  function find(name) {
    const folded = name.trim().toLocaleLowerCase();
    if (!folded) return;
    const fold = (/** @type {string} */ each) => each.toLocaleLowerCase();
    const same = data.names.findIndex((/** @type {string} */ each) => fold(each) === folded);
    const begun = data.names.findIndex((/** @type {string} */ each) => fold(each).startsWith(folded));
    const at = same >= 0 ? same : begun;
    if (at < 0) {
      byId("message").textContent = say.no_such;
      return;
    }
    byId("message").textContent = "";
    read(at);
  }

  /** Goes to the card of a parcel. @param {number} at */
  function read(at) {
    const card = touch(at);
    fieldMap.reveal(at);
    card.scrollIntoView({ block: "nearest" });
    card.focus({ preventScroll: true });
  }

  byId("fitting").open = false;
  for (const list of all("details")) list.addEventListener("toggle", () => list.open && show());
  for (const name of data.names) byId("every-name").append(new Option(name, name));
  for (const blank of blanks) blank.addEventListener("change", show);
  byId("sentence").addEventListener("submit", (/** @type {Event} */ event) => event.preventDefault());
  byId("find").addEventListener("submit", (/** @type {Event} */ event) => {
    event.preventDefault();
    find(byId("wanted").value);
  });
  byId("wanted").addEventListener("change", () => find(byId("wanted").value));
  for (const list of all(".list")) {
    list.addEventListener("click", (/** @type {Event} */ event) => {
      const row = /** @type {Element} */ (event.target).closest("button")?.closest("li");
      if (!row) return;
      read(Number(row.dataset.at));
    });
  }
  byId("keep").addEventListener("click", keep);
  byId("print").addEventListener("click", () => window.print());
  window.addEventListener("beforeprint", () => {
    const image = new Image();
    image.alt = "";
    image.src = fieldMap.picture();
    byId("printed").replaceChildren(image);
  });
  window.addEventListener("hashchange", () => {
    kept();
    show();
  });
  fieldMap.onTouch((at) => {
    const card = touch(at);
    if (fieldPage.narrow.matches) card.scrollIntoView({ block: "nearest" });
  });
  kept();
  show();
  Object.assign(window, { fieldmap: { show, touch, asked, map: fieldMap } });
  return Object.freeze({ show });
})();
