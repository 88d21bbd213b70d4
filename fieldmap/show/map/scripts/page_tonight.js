"use strict";
// Tonight: the list for every evening and low was made beforehand; ticks are kept here.
const fieldTonight = (() => {
  const { add, all, byId, data, fill, kept, say, today } = fieldPage;
  const READ_AT_ONCE = 900; // letters of what needs no cover; more of them are folded
  const lists = data.tonight;
  const NAMES = ["empty", "cover", "done", "let-go", "odds", "example", "example-odds"];
  let low = kept.get("low") ?? lists.start;
  const spell = byId("spell");
  const turn = byId("example-turn");
  const night = () => all("input[name=night]").find((radio) => radio.checked).value;
  const word = (/** @type {number} */ number) => lists.words[number];
  // Beds of a numbered set; of those inside tunnels none is drawn one by one.
  const beds = (/** @type {number|undefined} */ set) => (set === undefined ? [] : lists.sets[set]);
  const chosen = () => {
    const here = lists.evenings[spell.selectedIndex];
    return here && lists.lists[here.lists[night()][low]];
  };
  // Ticks of an evening are gone on the next.
  const done = () => {
    const found = kept.get("done");
    return new Set(found && found.day === today() ? found.stops : []);
  };
  const tick = (/** @type {string} */ stop, /** @type {boolean} */ wanted) => {
    const stops = done();
    if (wanted) stops.add(stop);
    else stops.delete(stop);
    kept.set("done", { day: today(), stops: [...stops] });
  };
  // A sentence that goes on after a colon.
  const within = (/** @type {string} */ sentence) => sentence.charAt(0).toLocaleLowerCase(fieldPage.locale) + sentence.slice(1);
  // Ids of what belongs to a list; none is on the page before the example is asked for.
  const parts = ["evening", "night-kind", "round"];
  let exampleOpen = false;
  function tell() {
    const isFolded = folded();
    for (const id of parts) byId(id).hidden = isFolded;
    turn.hidden = !hasExample();
    turn.textContent = exampleOpen ? say.back_to_tonight : opened ? fill(say.show_example, { run: runOf(opened) }) : "";
    const list = chosen();
    byId("low").textContent = lists.lows[low];
    const shown = lists.evenings[spell.selectedIndex];
    const isExample = ofExample();
    document.body.classList.toggle("is-example", isExample);
    byId("shown-on-map").hidden = !isExample;
    byId("shown-on-map").textContent = shown ? fill(say.example_of, { run: runOf(shown) }) : "";
    byId("date-shown").hidden = isFolded || isExample || !shown || isNow(shown);
    byId("date-shown").textContent = shown ? fill(say.evenings_of, { run: runOf(shown) }) : "";
    byId("colder").disabled = low === lists.lows.length - 1;
    byId("warmer").disabled = low === 0;
    const place = byId("round");
    place.textContent = "";
    if (isFolded || !list) {
      fieldAnswers.answer([isFolded ? fill(say.nothing_tonight, { day: dayOf(today()) }) : lists.nothing]);
      fieldAnswers.add("tonight", { beds: { kind: "pattern", names: NAMES, codes: data.beds.map(() => 0) } });
      signs(new Set());
      return;
    }
    const [what, ...others] = list.answer.map(word);
    const atLow = fill(say.at_low, { low: lists.lows[low], what: within(what) });
    if (isExample) fieldAnswers.answer([fill(say.nothing_tonight, { day: dayOf(today()) })], [fill(say.example_night, { run: runOf(shown), said: within(atLow) }), ...others]);
    else fieldAnswers.answer([atLow, ...others]);
    const stops = add("ol", "", place);
    stops.className = "stops";
    list.tasks.forEach((/** @type {any[]} */ task, /** @type {number} */ number) => addStop(stops, task, number));
    add("p", "", place).className = "note";
    const more = add("details", "", place);
    more.className = "more";
    add("summary", say.more, more);
    for (const here of list.plots) addPlot(list.plots.flat().map(word).join("").length > READ_AT_ONCE ? more : place, here);
    place.append(more);
    for (const sentence of [...list.first, ...list.advice].map(word).concat(lists.cautions, word(list.last))) add("p", sentence, more);
    mark(list);
  }
  /** How cold a plot gets, and what needs no cover there. @param {Element} place @param {number[]} said */
  function addPlot(place, [plot, air, ...rest]) {
    const line = add("p", "", place);
    add("b", word(plot), line);
    line.append(` ${word(air)}`);
    for (const said of rest) {
      add("br", "", line);
      line.append(word(said));
    }
  }
  function addStop(/** @type {Element} */ stops, /** @type {any[]} */ [what, piece, odds], /** @type {number} */ number) {
    const label = add("label", "", add("li", "", stops));
    const box = add("input", "", label);
    box.type = "checkbox";
    box.checked = done().has(word(what));
    add("b", String(number + 1), label);
    add("span", word(what), label);
    add("small", odds < 0 ? word(piece) : `${word(piece)}; ${word(odds)}`, label);
    box.addEventListener("change", () => {
      tick(word(what), box.checked);
      mark(chosen());
      fieldAnswers.draw();
    });
  }
  // Beds by what is done with them, with the numbers of the list.
  function mark(/** @type {any} */ list) {
    const codes = data.beds.map(() => 0);
    const isExample = ofExample();
    const put = (/** @type {number[]} */ here, /** @type {string} */ name) => here.forEach((bed) => { codes[bed] = NAMES.indexOf(name); });
    put(beds(list.odds), isExample ? "example-odds" : "odds");
    put([...beds(list.short), ...beds(list.lost)], "let-go");
    const ticked = done();
    const numbered = list.tasks.map((/** @type {any[]} */ [what, , , , set], /** @type {number} */ number) => {
      const isDone = ticked.has(word(what));
      const here = beds(set);
      put(here, isDone ? "done" : isExample ? "example" : "cover");
      return { bed: here[0], beds: here, n: number + 1, done: isDone, example: isExample };
    });
    const finished = numbered.filter((/** @type {any} */ each) => each.done).length;
    byId("round").querySelector(".note").textContent = numbered.length ? fill(say.number_done, { done: finished, number: numbered.length }) : "";
    signs(new Set([...codes.map((/** @type {number} */ code) => NAMES[code]), ...(beds(list.leave).length ? ["outlined"] : [])]));
    fieldAnswers.add("tonight", { beds: { kind: "pattern", names: NAMES, codes }, numbered: numbered.filter((/** @type {any} */ each) => each.beds.length), outlined: beds(list.leave) });
  }
  // Only signs that are on the map now are explained.
  const signs = (/** @type {Set<string>} */ seen) => {
    for (const swatch of all(".legend[data-view='tonight/0'] .swatch")) swatch.parentElement.hidden = !seen.has(swatch.dataset.kind);
  };
  const again = () => {
    tell();
    fieldAnswers.draw();
  };
  const change = (/** @type {string} */ id, /** @type {number} */ step) => byId(id).addEventListener("click", () => {
    low = Math.min(lists.lows.length - 1, Math.max(0, low + step));
    kept.set("low", low);
    again();
  });
  change("colder", 1);
  change("warmer", -1);
  for (const radio of all("input[name=night]")) radio.addEventListener("change", again);
  spell.addEventListener("change", () => {
    again();
    nearBeds();
  });
  const days = new Intl.DateTimeFormat(fieldPage.locale, { day: "numeric", month: "long" });
  const dayOf = (/** @type {string} */ iso) => days.format(new Date(`${iso}T12:00`));
  const isNow = (/** @type {any} */ each) => each.from <= today() && today() <= each.until;
  const runOf = (/** @type {any} */ each) => each.from === each.until ? dayOf(each.from) : fill(say.run, { first: dayOf(each.from), last: dayOf(each.until) });
  const listOf = (/** @type {any} */ each, /** @type {number} */ at) => lists.lists[each.lists.still_night[at]];
  // Tonight's evening opens where any low can harm what stands; else the next on which something is covered.
  const harmed = (/** @type {any} */ list) => list.tasks.length > 0 || ["short", "lost", "odds"].some((key) => key in list);
  const now = lists.evenings.find(isNow);
  const nothingNow = !(now && lists.lows.some((/** @type {string} */ _, /** @type {number} */ at) => harmed(listOf(now, at))));
  const later = [...lists.evenings].sort((/** @type {any} */ one, /** @type {any} */ other) => Number(one.from <= today()) - Number(other.from <= today()));
  // Before the twelve months of the plan, and after them, it knows nothing of tonight.
  const knowsTonight = () => lists.from <= today() && today() <= lists.until;
  const isExampleOf = (/** @type {any} */ each) => each !== undefined && nothingNow && !isNow(each) && knowsTonight();
  /** Whether tonight needs no cover and another evening stands as an example. */
  const ofExample = () => !folded() && isExampleOf(lists.evenings[spell.selectedIndex]);
  const opened = nothingNow ? later.find((/** @type {any} */ each) => listOf(each, lists.start).tasks.some((/** @type {any[]} */ [, , , , set]) => beds(set).length)) || now || later[0] : now;
  const hasExample = () => isExampleOf(opened);
  const folded = () => hasExample() && !exampleOpen;
  lists.evenings.forEach((/** @type {any} */ each, /** @type {number} */ at) => {
    spell.append(new Option(runOf(each), String(at), each === opened, each === opened));
  });
  // Where all that is to cover stands on one plot, that plot is seen near.
  function nearBeds() {
    const list = folded() ? undefined : chosen();
    const plots = new Set((list ? list.tasks : []).flatMap((/** @type {any[]} */ [, , , , set]) => beds(set).map((/** @type {number} */ bed) => data.plotOf[bed])));
    const [index] = plots;
    fieldMap.refit();
    if (plots.size === 1) fieldMap.goTo({ kind: "plot", index, name: data.plots[index] });
    else fieldMap.whole();
  }
  turn.addEventListener("click", () => {
    exampleOpen = !exampleOpen;
    spell.selectedIndex = lists.evenings.indexOf(opened);
    fieldAnswers.ask("tonight");
  });
  fieldAnswers.own("tonight", {
    enter() {
      byId("spell").parentElement.hidden = lists.evenings.length < 2;
      fieldLooks.usual("night");
      tell();
      nearBeds();
    },
    leave() {
      exampleOpen = false;
      for (const id of [...parts, "date-shown", "shown-on-map", "example-turn"]) byId(id).hidden = true;
      document.body.classList.remove("is-example");
      document.body.dataset.asked = "";
      fieldMap.refit();
      fieldMap.whole();
      fieldLooks.usual("");
    },
  });
  return Object.freeze({ tell });
})();
