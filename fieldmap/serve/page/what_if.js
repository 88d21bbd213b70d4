// "What if": a gap in a hedge, a row taken away, a bank; the night before and after.
"use strict";

const fieldWhatIf = (() => {
  const { element } = fieldWords;
  const { svg, text } = fieldDrawing;
  const WAIT_MS = 120; // after a touch, until the night is run
  const ASK_MS = 600;
  const GAP_M = 12;
  const BANK_M = { height_m: 1.2, width_m: 3 };
  // Cold, from none to most (LOOK: mixed in OKLab by the browser's own ramp of stops).
  const COLD = [[0, 0xf0, 0xf2, 0xea], [0.17, 0xca, 0xdd, 0xe6], [0.45, 0x93, 0xba, 0xd2], [0.7, 0x54, 0x85, 0xb2], [1, 0x23, 0x3f, 0x73]];
  const NEAR_PX = 16;
  const NEAR_TOUCH_PX = 28;
  const REACH_PX = 48; // from the middle of a gap to the handles of its ends, else a finger takes both
  const TITLE_PX = 200;
  const BED_LINE_FROM = 6; // pixels a metre
  const AROUND_M = 60; // of what is changed: plots as near are looked at with it
  const FADE = 0.06; // of the picture, towards its edge
  const EDGE_PX = 24; // nearer the edge of the picture a gap is hard to drag

  /** @param {number} share */
  function cold(share) {
    const at = Math.min(1, Math.max(0, share));
    const upper = Math.max(1, COLD.findIndex((stop) => stop[0] >= at));
    const [one, two] = [COLD[upper - 1], COLD[upper]];
    const part = (at - one[0]) / (two[0] - one[0]);
    return [1, 2, 3].map((channel) => Math.round(one[channel] + part * (two[channel] - one[channel])));
  }

  /**
   * @param {{drawing: ReturnType<typeof fieldDrawing.on>, holder: HTMLElement, panel: HTMLElement,
   *   place: ReturnType<typeof fieldPlace.around>, words: Words, tell: (said: string) => void, canWrite: () => boolean,
   *   draft: () => ReturnType<typeof fieldDraft.begun>, leave: () => HTMLElement[], map: () => any, me: string,
   *   saved: (now: any) => void, save: () => Promise<boolean>, ground: ReturnType<typeof fieldGround.of>}} given
   */
  function on({ ground, drawing, holder, panel, place, words: texts, tell, canWrite, draft, leave, map, me, saved, save }) {
    const words = fieldWords.inWords(texts);
    const { say } = words;
    let active = false;
    /** @type {any} */
    let ready = null;
    let step = "";
    /** @type {string[]} */
    let problems = [];
    /** @type {any} */
    let change = null;
    /** @type {any} */
    let found = null;
    /** @type {string[]} */
    let more = [];
    let isWorking = false;
    let asks = 0;
    let timer = 0;
    /** @type {number[][]} */
    let bank = [];
    /** @type {number[]|null} */
    let cross = null;
    /** @type {"gap"|"away"|"bank"|null} */
    let kind = null;
    let kept = "";
    let deepest = 0.3;
    /** @type {{before: HTMLCanvasElement|null, after: HTMLCanvasElement|null}} */
    const pictures = { before: null, after: null };
    const still = fieldAir.of(null);
    const airs = { before: still, after: still };
    /** @type {ReturnType<typeof fieldDrawing.on>|null} */
    let beside = null;
    /** @type {string|null} */
    let asked = null;

    // ------------------------------------------------------------ made ready
    async function begin() {
      const answer = await fieldKeeper.ask("POST", "try/begin", {});
      if (active) waitFor(answer);
    }

    /** @param {{status: number, body: any}} answer */
    function waitFor(answer) {
      if (answer.status !== 200) {
        problems = refused(answer);
        redraw();
        return;
      }
      if (answer.body.ready) {
        ready = answer.body;
        problems = ready.problems;
        const grid = fieldGround.unpacked(ready.before);
        deepest = Math.max(0.3, ...range(grid).map(Math.abs));
        pictures.before = pictureOf(grid);
        pictures.after = pictures.before;
        airs.before = fieldAir.of(ready.air);
        airs.after = airs.before;
        tint();
        if (change) wanted(); // asked while the place was made ready anew
        else redraw();
        return;
      }
      ready = null;
      step = answer.body.step;
      problems = answer.body.problems;
      const shown = panel.querySelector(".getting-ready");
      if (shown && !problems.length) shown.textContent = step; // and words stay, where a finger may lie
      else redraw();
      if (answer.body.running) timer = window.setTimeout(async () => active && waitFor(await fieldKeeper.ask("GET", "try/state")), ASK_MS);
    }

    /** @param {Grid} grid @returns {[number, number]} */
    function range(grid) {
      let [least, most] = [0, 0];
      for (const each of grid.values) {
        if (each < least) least = each;
        if (each > most) most = each;
      }
      return [least, most];
    }

    /** @param {Grid} grid */
    function pictureOf(grid) {
      const picture = document.createElement("canvas");
      [picture.width, picture.height] = [grid.cols, grid.rows];
      const context = /** @type {CanvasRenderingContext2D} */ (picture.getContext("2d"));
      const pixels = context.createImageData(grid.cols, grid.rows);
      grid.values.forEach((value, at) => {
        if (Number.isNaN(value)) return;
        const [row, col] = [Math.floor(at / grid.cols), at % grid.cols];
        const edge = Math.min(row / grid.rows, col / grid.cols, 1 - (row + 1) / grid.rows, 1 - (col + 1) / grid.cols);
        pixels.data.set([...cold(-value / deepest), 205 * Math.min(1, edge / FADE)], 4 * at);
      });
      context.putImageData(pixels, 0, 0);
      return picture;
    }

    /**
     * The night of one picture: how cold, and which way the air runs.
     * @param {"before"|"after"} when @param {CanvasRenderingContext2D} context @param {View} view
     */
    function drawOver(when, context, view) {
      const picture = pictures[when];
      if (!picture || !ready) return;
      const { west_m, north_m, cell_m, rows, cols, longitude, latitude } = ready.before;
      const [east, north] = place.metres([longitude, latitude]);
      const [x, y] = view.px([east + west_m, north + north_m]);
      const size = cell_m * view.scale;
      context.imageSmoothingEnabled = true;
      context.drawImage(picture, x, y, size * cols, size * rows);
      airs[when].draw(context, view);
    }

    function tint() {
      drawing.tint((context, view) => active && drawOver("after", context, view));
      beside?.tint((context, view) => drawOver("before", context, view));
    }

    // ------------------------------------------------------------ what is changed
    const standing = () => fieldStanding.among(draft().things, ready?.things || [], map().kindOf, place, texts);

    /** @param {string} name */
    const thingNamed = (name) => standing().find((each) => each.name === name)?.thing;

    /** What the change speaks of and has no name yet. */
    function nameless() {
      const name = change?.gaps[0]?.of ?? change?.take_away[0];
      return standing().filter((each) => each.name === name && !each.thing.properties.name);
    }

    /** What is asked of the server. */
    const asking = () => ({ change, called: nameless().map(({ name, thing }) => ({ name, places: fieldStanding.placesOn(thing) })) });

    /** @param {string} name @param {number[]} [near] */
    function gapIn(name, near) {
      const thing = thingNamed(name);
      if (!thing) return;
      const { points, closed } = metres(thing);
      const size = fieldPlace.length(points, closed);
      const at = near || fieldPlace.along(points, size / 2);
      const on_ = fieldPlace.onPath(at, points, closed);
      const width_m = change?.gaps?.[0]?.width_m ?? GAP_M;
      const isAnother = change?.gaps?.[0]?.of !== name;
      const [longitude, latitude] = place.degrees(on_.at);
      kind = "gap";
      change = { name: "", gaps: [{ of: name, width_m, longitude, latitude }], take_away: [], additions: [] };
      if (isAnother) lookAt(gapEnds() || [at]);
      bringIn();
      wanted();
    }

    /** Look at a change with the plots beside it, as near as they let. @param {number[][]} points where it is */
    function lookAt(points) {
      const plots = draft().things.filter((each) => each.layer === "plots").map((each) => metres(each).points);
      const isNear = (/** @type {number[][]} */ plot) => points.some((point) => fieldPlace.onPath(point, plot, true).away < AROUND_M) || plot.some((point) => fieldPlace.onPath(point, points, false).away < AROUND_M);
      drawing.fit([...points, ...plots.filter(isNear).flat()]);
    }

    /** @param {Thing} thing */
    const metres = (thing) => fieldStanding.inMetres(thing, place);

    /** @param {string} name */
    function away(name) {
      kind = "away";
      const thing = thingNamed(name);
      if (thing) lookAt(metres(thing).points);
      change = { name: "", gaps: [], take_away: [name], additions: [] };
      wanted();
    }

    function setBank() {
      [kind, bank, change, cross] = ["bank", [], null, null];
      redraw();
      holder.focus({ preventScroll: true });
    }

    function bankDone() {
      const line = bank.map(place.degrees);
      change = { name: "", gaps: [], take_away: [], additions: [{ kind: "bank", name: say("new_bank"), ...BANK_M, line }] };
      wanted();
    }

    function nameOf() {
      const [gap] = change.gaps;
      if (gap) return say("gap_name", { width: words.length(gap.width_m), thing: gap.of });
      if (change.take_away.length) return say("without_name", { thing: change.take_away[0] });
      return say("bank_name", { height: words.length(change.additions[0].height_m) });
    }

    function wanted() {
      kept = "";
      change.name = nameOf();
      isWorking = true;
      redraw();
      clearTimeout(timer);
      timer = window.setTimeout(run, WAIT_MS);
    }

    async function run() {
      asks += 1;
      const mine = asks;
      const wanted_ = asking();
      const answer = await fieldKeeper.ask("POST", "try", wanted_);
      if (mine !== asks || !active) return;
      if (answer.status === 409) {
        waitFor({ status: 200, body: answer.body }); // the place is not as it was: made ready anew
        return;
      }
      isWorking = false;
      if (answer.status !== 200) {
        problems = refused(answer);
        redraw();
        return;
      }
      problems = [];
      more = [];
      found = answer.body;
      pictures.after = pictureOf(fieldGround.unpacked(found.after));
      airs.after = fieldAir.of(found.air);
      tint();
      tell(found.sentences.join(" "));
      fieldWords.afterPress(redraw);
      const whole = await fieldKeeper.ask("POST", "try/range", wanted_);
      if (mine !== asks || !active || whole.status !== 200) return;
      more = whole.body.sentences;
      fieldWords.afterPress(redraw);
    }

    function putBack() {
      asks += 1;
      [change, found, more, kind, bank, isWorking] = [null, null, [], null, [], false];
      pictures.after = pictures.before;
      airs.after = airs.before;
      tint();
      redraw();
    }

    /** Why there is no answer. @param {{status: number, body: any}} answer @returns {string[]} */
    function refused({ status, body: { problems: reasons } }) {
      if (reasons) return reasons;
      return [say({ 0: "server_gone", 403: "old_address", 423: "reads_only" }[status] || "broken")];
    }

    async function keep() {
      const named = nameless();
      for (const { name, kind: of, thing } of named) draft().set(say("did_name", { thing: texts.kinds[of].title, name }), thing.uid, { properties: { ...thing.properties, name } });
      if ((ready.unsaved || named.length) && !(await save())) return; // the change may name what is only drawn
      ready.unsaved = false;
      const answer = await fieldKeeper.ask("POST", "try/keep", { tab: me, change });
      if (answer.status === 200) {
        saved({ ...answer.body });
        kept = say("change_kept", { name: change.name });
        tell(kept);
      } else problems = refused(answer);
      redraw();
    }

    // ------------------------------------------------------------ what is seen
    /** @param {View} view @param {boolean} isAfter */
    function scene(view, isAfter) {
      const thin = Math.min(1, view.scale / BED_LINE_FROM); // or lines of narrow beds run into one
      const beds = (ready?.beds || []).map((/** @type {any} */ bed, /** @type {number} */ at) => {
        const change_c = isAfter && found ? found.change_c[at] : 0;
        const moved = change_c && Math.abs(change_c) >= found.least_c ? (change_c > 0 ? " warmer" : " colder") : "";
        const drawn = svg("path", { d: fieldDrawing.path(bed.ring.map(place.metres).map(view.px), true), class: `bed${moved}` });
        drawn.style.strokeWidth = `${(thin * (moved ? 1.6 : 0.5)).toFixed(2)}px`;
        return drawn;
      });
      const title = say(isAfter ? (isWorking ? "working_it_out" : "with_the_change") : "as_it_is");
      const [left, top] = [view.room[0] + 16, view.room[1] + (isAfter && isPhone() ? 0 : isPhone() ? 52 : 32)];
      const titled = [left - 8, top, left + TITLE_PX, top + 56];
      const [things, names] = map().picture(view, [...drawing.reserved(view), titled], (isAfter && kind === "away" && change && thingNamed(change.take_away[0])) || null);
      return [svg("g", { class: "beds", "aria-hidden": "true" }, ...beds), things, names, ...(isAfter ? marks(view) : []), text(title, left, top + 32, "plot-name"), text(say("still_night"), left, top + 52, "small")];
    }

    const isPhone = () => window.innerWidth < 760;
    const wordsEnd = () => (isPhone() ? 0 : Math.min(428, window.innerWidth * 0.5));
    /** Where the second picture begins. */
    const secondBegins = () => (isPhone() ? 0 : wordsEnd() + (window.innerWidth - wordsEnd()) / 2);

    /** Two pictures side by side; on a phone one above the other. */
    function cover() {
      const half = isPhone() ? holder.clientHeight / 2 : 0;
      const other = document.getElementById("before");
      if (!active || !other) return;
      other.style.width = isPhone() ? "" : `${secondBegins()}px`;
      other.style.height = isPhone() ? `${half}px` : "";
      drawing.cover({ left: secondBegins(), top: half, bottom: 0 });
      beside?.cover({ left: wordsEnd(), top: 0, bottom: 0 });
    }

    /** Look farther around where the gap lies out of sight, so that it can be dragged. */
    function bringIn() {
      const ends = gapEnds() || [];
      const [left, top] = [secondBegins(), isPhone() ? holder.clientHeight / 2 : 0];
      const view = drawing.view();
      const isSeen = ends.map(view.px).every(([x, y]) => x > left + EDGE_PX && x < view.width - EDGE_PX && y > top + EDGE_PX && y < view.height - EDGE_PX);
      if (!isSeen) drawing.fit([...map().corners(), ...ends]);
    }

    /** The gap with its ends, or the bank. @param {View} view */
    function marks(view) {
      if (kind === "bank") {
        const px = bank.map(view.px);
        const [x, y] = cross ? view.px(cross) : [0, 0];
        const at = cross && !change ? [svg("path", { class: "cross", d: `M${x - 12} ${y}h24M${x} ${y - 12}v24` })] : [];
        return [svg("g", { class: "pending" }, svg("path", { d: px.length ? fieldDrawing.path(px, false) : "M0 0", class: "drawing" }), ...px.map(([cx, cy]) => svg("circle", { class: "corner", cx, cy, r: 7 })), ...at)];
      }
      const ends = gapEnds();
      if (!ends) return [];
      const [one, two] = ends.map(view.px);
      const label = [Math.min((one[0] + two[0]) / 2 + 22, view.width - 250), (one[1] + two[1]) / 2 + 44];
      const [gap] = change.gaps;
      const stalk = stalks(one, two);
      return [
        svg("path", { d: fieldDrawing.path([one, two], false), class: "gap", "data-gap": "middle" }),
        ...[one, two].flatMap(([x, y], at) => {
          const [cx, cy] = [x + stalk[at][0], y + stalk[at][1]];
          const held = svg("g", { class: "handle corner", "data-gap": String(at) }, svg("circle", { class: "hit", cx, cy, r: 22 }), svg("circle", { cx, cy, r: 8 }));
          return [svg("path", { d: fieldDrawing.path([[x, y], [cx, cy]], false), class: "stalk" }), held];
        }),
        text(say("gap_of", { width: words.length(gap.width_m) }), label[0], label[1], "small strong"),
        text(say("gap_drag"), label[0], label[1] + 17, "small"),
      ];
    }

    /** From the ends of a gap to their handles, which a short gap has apart. @param {Pair} one @param {Pair} two */
    function stalks(one, two) {
      const wide = fieldPlace.apart(one, two) || 1;
      const share = Math.max(0, REACH_PX - wide / 2) / wide;
      return [-1, 1].map((side) => [0, 1].map((axis) => side * share * (two[axis] - one[axis])));
    }

    function gapEnds() {
      const [gap] = change?.gaps || [];
      const thing = gap && thingNamed(gap.of);
      if (!thing) return null;
      const { points, closed } = metres(thing);
      const middle = fieldPlace.onPath(place.metres([gap.longitude, gap.latitude]), points, closed);
      return [-1, 1].map((side) => fieldPlace.along(points, Math.max(0.01, middle.along + (side * gap.width_m) / 2)));
    }

    /** @param {number[]} px @param {Element} target @param {boolean} touch */
    function grab(px, target, touch) {
      const held = /** @type {HTMLElement|null} */ (target.closest("[data-gap]"));
      const ends = gapEnds();
      if (!ends || !change) return null;
      const view = drawing.view();
      const [one, two] = ends.map(view.px);
      const near = fieldPlace.onEdge(px, one, two).away <= (touch ? NEAR_TOUCH_PX : NEAR_PX);
      if (!held && !near) return null;
      const [gap] = change.gaps;
      const thing = thingNamed(gap.of);
      if (!thing) return null;
      const { points, closed } = metres(thing);
      const grown = held && held.dataset.gap !== "middle" ? Number(held.dataset.gap) : null;
      const centre = fieldPlace.onPath(place.metres([gap.longitude, gap.latitude]), points, closed);
      const [off_x, off_y] = grown === null ? [0, 0] : stalks(one, two)[grown];
      return (/** @type {number[]} */ now, /** @type {boolean} */ ended) => {
        const here = fieldPlace.onPath(drawing.view().metres([now[0] - off_x, now[1] - off_y]), points, closed);
        if (grown === null) {
          const [longitude, latitude] = place.degrees(here.at);
          change = { ...change, gaps: [{ ...gap, longitude, latitude }] };
        } else {
          const width_m = Math.min(200, Math.max(1, Math.round(2 * Math.abs(here.along - centre.along))));
          change = { ...change, gaps: [{ ...gap, width_m }] };
        }
        if (ended) wanted();
        else drawing.repaint();
      };
    }

    /** @param {number[]} px */
    function tap(px) {
      const at = drawing.view().metres(px);
      if (kind === "bank" && !change) {
        bank = [...bank, at];
        redraw();
        return;
      }
      if (!ready) return;
      const view = drawing.view();
      let best = { away: NEAR_TOUCH_PX, name: "" };
      for (const { name, thing } of standing()) {
        if (fieldShapes.drawnAs(thing.geometry) === "point") continue;
        const { points, closed } = metres(thing);
        const { away: off } = fieldPlace.onPath(px, points.map(view.px), closed);
        if (off < best.away) best = { away: off, name };
      }
      if (best.name) gapIn(best.name, at);
    }

    /** @param {KeyboardEvent} event */
    function key(event) {
      const [gap] = change?.gaps || [];
      const way = { ArrowLeft: -1, ArrowRight: 1, ArrowUp: 1, ArrowDown: -1 }[event.key];
      if (event.key === "Escape") {
        putBack();
        return true;
      }
      if (kind === "bank" && !change) return bankKey(event);
      if (!gap || !way) return false;
      const thing = thingNamed(gap.of);
      if (!thing) return false;
      const { points, closed } = metres(thing);
      const middle = fieldPlace.onPath(place.metres([gap.longitude, gap.latitude]), points, closed);
      const far = middle.along + way * (event.shiftKey ? 10 : 1);
      const [longitude, latitude] = place.degrees(fieldPlace.along(points, Math.max(0, far)));
      change = { ...change, gaps: [{ ...gap, longitude, latitude }] };
      wanted();
      return true;
    }

    const WAYS = /** @type {Record<string, number[]>} */ ({ ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] });

    /** A cross that arrows move; Enter makes a corner. @param {KeyboardEvent} event */
    function bankKey(event) {
      const way = WAYS[event.key];
      if (event.key === "Enter" && cross) {
        bank = [...bank, cross];
        redraw();
        return true;
      }
      if (!way) return false;
      const from = cross || bank[bank.length - 1] || drawing.middle;
      const step = event.shiftKey ? 10 : 1;
      cross = [from[0] + step * way[0], from[1] + step * way[1]];
      drawing.repaint();
      return true;
    }

    // ------------------------------------------------------------ what is said
    const button = (/** @type {string} */ said, /** @type {() => void} */ onclick, kind_ = "plain") => element("button", { type: "button", class: kind_, onclick }, said);

    function redraw() {
      if (!active) return;
      const goOn = fieldWords.place(panel);
      drawing.show((view) => scene(view, true));
      beside?.show((view) => scene(view, false));
      panel.replaceChildren(
        ...[
          element("h1", {}, change ? say("what_if_change", { change: change.name }) : say("what_if_title")),
          !ready && element("p", { class: "note" }, element("b", {}, say("getting_ready")), " ", element("span", { class: "getting-ready" }, step)),
          ...problems.map((each) => element("p", { class: "wrong", role: "alert" }, each)),
          ...(found && change ? answer() : []),
          ...(ready && !problems.length ? legend() : []),
          change && element("div", { class: "form" }),
          ...(ready ? actions() : []),
          ...leave(),
        ].filter((each) => each),
      );
      const form = panel.querySelector(".form");
      if (form instanceof HTMLElement) sentence(form);
      goOn();
    }

    /** The colours of both pictures, from none to the coldest cell. */
    function legend() {
      const ramp = element("span", { class: "ramp" });
      ramp.style.background = `linear-gradient(to right, ${COLD.map(([share, ...colour]) => `rgb(${colour.join(" ")}) ${100 * share}%`).join(", ")})`;
      const colours = element("p", { class: "legend" }, words.degrees(0), ramp, say("colder_at_most", { degrees: words.degrees(deepest) }));
      return [colours, element("p", { class: "legend" }, say(airs.before.isStill && airs.after.isStill ? "air_nowhere" : "air_arrows"))];
    }

    function answer() {
      const [first, ...others] = found.sentences;
      return [
        element("p", { class: "answer", "aria-live": "polite" }, element("b", {}, isWorking ? say("working_it_out") : first)),
        ...(isWorking ? [] : [...others, ...more].map((each) => element("p", { class: "note" }, each))),
        element("p", { class: "note" }, say("worked_out", { seconds: found.took_s })),
      ];
    }

    /** @param {HTMLElement} form */
    function sentence(form) {
      const [gap] = change.gaps;
      const [addition] = change.additions;
      const size = { kind: /** @type {"length"} */ ("length"), empty: "…", least: 0.5, most: 200 };
      const which = { kind: /** @type {"choice"} */ ("choice"), empty: "…", options: (gap ? opened() : standing()).map((each) => ({ value: each.name, word: each.name })) };
      const thing = gap && thingNamed(gap.of);
      const from = thing ? fieldPlace.onPath(place.metres([gap.longitude, gap.latitude]), metres(thing).points, metres(thing).closed).along : 0;
      const shown = gap
        ? { text: say("gap_sentence"), values: { width_m: gap.width_m, of: gap.of, from_m: Math.round(from) } }
        : addition
          ? { text: say("bank_sentence"), values: { height_m: addition.height_m, width_m: addition.width_m } }
          : { text: say("away_sentence"), values: { of: change.take_away[0] } };
      fieldSentence.show(form, { ...shown, blanks: { width_m: size, height_m: size, from_m: { ...size, least: 0, most: 5000 }, of: which }, asked, editable: true }, words, {
        ask(name) {
          asked = name;
          redraw();
        },
        tell(name, value) {
          asked = null;
          if (value === null) redraw();
          else if (name === "of") gap ? gapIn(value) : away(value);
          else if (name === "from_m" && thing) gapIn(gap.of, fieldPlace.along(metres(thing).points, value));
          else if (gap) {
            change = { ...change, gaps: [{ ...gap, [name]: value }] };
            wanted();
          } else {
            change = { ...change, additions: [{ ...addition, [name]: value }] };
            wanted();
          }
        },
      });
    }

    /** What a gap can be made in. */
    const opened = () => standing().filter((each) => !["tree", "building"].includes(each.kind));

    function actions() {
      const done = kind === "bank" && !change && bank.length > 1;
      return [
        kind === "bank" && !change && element("p", { class: "note" }, say("bank_touch")),
        element(
          "div",
          { class: "actions" },
          done && button(say("bank_done"), bankDone, "main"),
          change && canWrite() && !kept && button(say(ready.unsaved || nameless().length ? "save_and_keep_change" : "keep_change"), keep, "main"),
          (change || kind === "bank") && button(say("put_back"), putBack),
        ),
        kept && element("p", { class: "note" }, kept),
        change && nameless().length > 0 && element("p", { class: "note" }, say("called_for_change")),
        element("p", { class: "note" }, say(ready.unsaved ? "of_drawn_place" : "of_saved_place")),
        element("h2", {}, say("gap_in")),
        element("div", { class: "words" }, ...opened().map((each) => button(each.label, () => gapIn(each.name), "word"))),
        element("h2", {}, say("take_away_row")),
        element("div", { class: "words" }, ...standing().map((each) => button(each.label, () => away(each.name), "word"))),
        button(say("set_bank"), setBank, "row"),
      ].filter((each) => each);
    }

    fieldGestures.on(holder, drawing, {
      isActive: () => active,
      tap,
      grab,
      hover: () => {},
      key,
    });

    function twoPictures() {
      const other = element("div", { id: "before", "aria-hidden": "true" });
      document.querySelector("main")?.insertBefore(other, holder.nextSibling);
      beside = fieldDrawing.on(other, ground, { north: say("north"), length: words.length });
      fieldGestures.on(other, drawing, { isActive: () => active, tap: () => {}, grab: () => null, hover: () => {}, key: () => false });
    }

    function follow() {
      if (!active || !beside) return;
      beside.look(drawing.middle, drawing.scale);
      requestAnimationFrame(follow);
    }

    return Object.freeze({
      cover,
      show() {
        active = true;
        twoPictures();
        cover();
        drawing.fit(map().corners());
        requestAnimationFrame(follow);
        [ready, found, change, kind, more, problems, kept] = [null, null, null, null, [], [], ""];
        redraw();
        begin();
      },
      hide() {
        active = false;
        clearTimeout(timer);
        asks += 1;
        document.getElementById("before")?.remove();
        beside = null;
        drawing.tint(() => {});
      },
    });
  }

  return Object.freeze({ on });
})();
