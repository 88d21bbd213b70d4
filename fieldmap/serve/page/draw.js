// "What is here?": a word, then the ground, then a sentence.
"use strict";

/** @typedef {{thing: Thing, paths: {points: Pair[], closed: boolean}[], kind: string}} Shown */
const fieldDraw = (() => {
  const { element } = fieldWords;
  const { svg, text } = fieldDrawing;
  const NEAR_PX = 12;
  const NEAR_TOUCH_PX = 24;
  const BENT_PX = 120; // on shorter edges a finger would find no place beside the handles
  const BED_NAMES_FROM = 14; // pixels a metre: names of beds do not fit between them before
  const STEP_M = 1;
  const OPEN_LINES = 3;
  const AROUND = 0.15; // of the plots, shown on each side of them
  const LABEL_PX = 7; // a character, when labels are kept apart
  const INSIDE = ["mark", "bed"]; // of a plot
  const FLAT = ["road", "water", "keep off"]; // on the ground, so below what stands on it

  /**
   * @param {{draft: ReturnType<typeof fieldDraft.begun>, drawing: ReturnType<typeof fieldDrawing.on>,
   *   holder: HTMLElement, panel: HTMLElement, place: ReturnType<typeof fieldPlace.around>,
   *   words: Words, tell: (said: string) => void, canWrite: () => boolean, leave: () => HTMLElement[],
   *   downhill?: Fall|null, missing?: () => {words: string, mended: string}[], ask?: () => void}} given
   */
  function on({ draft, drawing, holder, panel, place, words: texts, tell, canWrite, leave, downhill = null, missing = () => [], ask = () => {} }) {
    const words = fieldWords.inWords(texts);
    const { say } = words;
    /** @type {{adding: string|null, corners: number[][], chosen: number|null, corner: {path: number, at: number}|null,
     *   cutting: number[][]|null, asked: string|null, near: number[], values: Record<string, any>, typed: string,
     *   cross: number[]|null, pointer: number[]|null, crossed: number[]|null, isMore: boolean}} */
    const at = { adding: null, corners: [], chosen: null, corner: null, cutting: null, asked: null, near: [], values: {}, typed: "", cross: null, pointer: null, crossed: null, isMore: false };
    /** @type {{uid: number, geometry: Geometry}|null} */
    let dragged = null;

    // ------------------------------------------------------------ what a thing is
    const KIND_OF = { plots: "plot", marks: "mark", beds: "bed" };
    /** @param {Thing} thing @returns {string} */
    const kindOf = (thing) => (thing.layer !== "surroundings" && thing.layer !== "aside" ? KIND_OF[thing.layer] : String(thing.properties.kind ?? "").trim().toLowerCase().replace(/_/g, " "));
    /** @param {string} kind */
    const grammar = (kind) => texts.kinds[kind] || texts.kinds.unknown;
    /** @param {Thing} thing */
    const called = (thing) => String(thing.properties.name || seen(thing) || grammar(kindOf(thing)).title);
    /** @param {Thing} thing */
    const seen = (thing) => thing.layer === "marks" && thing.properties.seen && fieldSentence.shown(texts.blanks.seen, thing.properties.seen, words);
    /** @param {Thing} thing */
    const lacking = (thing) => lacks(kindOf(thing), fieldShapes.drawnAs(thing.geometry), thing.properties);

    /** @param {string} kind @param {string} drawn @param {Record<string, any>} values */
    function lacks(kind, drawn, values) {
      const { needs } = grammar(kind);
      return needs.filter((/** @type {string} */ key) => (key !== "width_m" || drawn !== "area") && (values[key] ?? null) === null);
    }

    /** @param {Thing} thing */
    const metresOf = (thing) =>
      fieldShapes.paths(dragged && dragged.uid === thing.uid ? dragged.geometry : thing.geometry).map(({ points, closed }) => ({ points: points.map(place.metres), closed }));

    /** @param {{points: number[][], closed: boolean}[]} paths */
    function sizeOf(paths) {
      const { points, closed } = paths[0];
      if (points.length < 2) return "";
      return closed ? words.area(fieldPlace.area(points)) : words.length(fieldPlace.length(points));
    }

    // ------------------------------------------------------------ what is seen
    const everyDrawn = () => draft.things.map((thing) => ({ thing, paths: metresOf(thing), kind: kindOf(thing) })).filter(({ paths }) => paths.length);

    /** The place as a picture alone, with the names of plots. @param {View} view @param {number[][]} taken boxes where no name may stand @param {Thing|null} gone that is taken away */
    function picture(view, taken, gone) {
      const every = everyDrawn().filter(({ thing }) => thing !== gone);
      return [below(every, view), svg("g", { class: "labels" }, ...labels(every, every.filter(({ kind }) => kind === "plot"), view, taken))];
    }

    /** All that is drawn, what is small above. @param {Shown[]} every @param {View} view */
    function below(every, view) {
      // A plot lies under a track, and that under a barn.
      const rank = (/** @type {Shown} */ { kind, paths }) => (kind === "plot" ? 0 : FLAT.includes(kind) ? 1 : paths[0].closed ? 2 : paths[0].points.length > 1 ? 3 : 4);
      const ordered = [...every].sort((one, other) => rank(one) - rank(other));
      return svg("g", { class: "below", "aria-hidden": "true" }, ...ordered.map(({ thing, paths, kind }) => looks(thing, paths, kind, view)));
    }

    /** @param {View} view */
    function scene(view) {
      const every = everyDrawn();
      const west = (/** @type {(typeof every)[0]} */ { paths }) => Math.min(...paths[0].points.map((point) => point[0]));
      every.sort((one, other) => west(one) - west(other)); // Tab goes from west to east
      const names = svg("g", { class: "labels", "aria-hidden": "true" }, ...labels(every, every, view, drawing.reserved(view)));
      return [below(every, view), names, ...every.map((each) => target(each, view)), ...handles(view), ...pending(view)];
    }

    /** @param {Thing} thing @param {Shown["paths"]} paths @param {string} kind @param {View} view */
    function looks(thing, paths, kind, view) {
      const px = paths.map(({ points, closed }) => ({ points: points.map(view.px), closed }));
      const names = ["thing", kind ? "" : "unknown", lacking(thing).length ? "lacking" : "", at.chosen === thing.uid ? "chosen" : ""].filter(Boolean).join(" ");
      const width_m = Number(thing.properties.width_m) || null;
      return svg("g", { class: names }, ...fieldDrawing.look(kind || "unknown", px, { width_m, scale: view.scale }));
    }

    /** What touches and keys meet of a thing. @param {Shown} drawn @param {View} view */
    function target({ thing, paths, kind }, view) {
      const hit = paths.map(({ points: metres, closed }) => {
        const points = metres.map(view.px);
        return points.length === 1
          ? svg("circle", { cx: points[0][0], cy: points[0][1], r: 14, class: "hit" })
          : svg("path", { d: fieldDrawing.path(points, closed), class: closed ? "hit area" : "hit" });
      });
      const label = say(lacking(thing).length ? "thing_lacking" : "thing_label", { kind: grammar(kind).title, name: thing.properties.name || "", size: sizeOf(paths) });
      return svg("g", { tabindex: 0, role: "button", "data-uid": thing.uid, "aria-label": label.replace(/\s+/g, " ").trim(), "aria-pressed": String(at.chosen === thing.uid), class: "target" }, ...hit);
    }

    /**
     * Names, none over another, and which way the ground falls.
     * @param {Shown[]} every @param {Shown[]} named of them @param {View} view @param {number[][]} taken boxes where no name may stand
     */
    function labels(every, named, view, taken) {
      const drawn = every.map(({ thing, paths, kind }) => ({ thing, kind, lines: paths.map(({ points, closed }) => ({ points: points.map(view.px), closed })) }));
      const isClear = (/** @type {number[]} */ box) => !taken.some((other) => box[0] < other[2] && other[0] < box[2] && box[1] < other[3] && other[1] < box[3]);
      const isIn = (/** @type {number[]} */ box) => box[0] >= view.room[0] && box[2] <= view.room[2] && box[1] >= view.room[1] && box[3] <= view.room[3];
      /** How much a box lies over; what lies in a plot keeps off its edge alone. */
      const met = (/** @type {number[]} */ box, /** @type {Shown|null} */ own) =>
        drawn.filter(({ thing, kind, lines }) => {
          if (thing === own?.thing) return false;
          const isEdge = kind === "plot" && own !== null && INSIDE.includes(own.kind);
          return lines.some(({ points, closed }) => (isEdge ? fieldPlace.meets([...points, points[0]], false, box) : fieldPlace.meets(points, closed, box)));
        }).length;
      const first = (/** @type {Shown} */ { thing, kind }) => (at.chosen === thing.uid ? 0 : kind === "plot" ? 1 : 2);
      const names = [...named].sort((one, other) => first(one) - first(other)).flatMap((each) => {
        const { thing, paths, kind } = each;
        const isPlot = kind === "plot";
        if (kind === "bed" && at.chosen !== thing.uid && view.scale < BED_NAMES_FROM) return [];
        const name = kind ? called(thing) : say("what_is_it");
        const wide = name.length * (isPlot ? 11.5 : LABEL_PX) + 4;
        const places = fieldShapes.besides(paths[0].points.map(view.px), paths[0].closed, isPlot, wide)
          .map(([x, y]) => ({ x, y, box: [x, y - 16, x + wide, y + (isPlot ? 20 : 4)] }))
          .filter(({ box }) => isIn(box) && isClear(box))
          .map((one) => ({ ...one, over: met(one.box, each) }));
        const found = places.reduce((one, other) => (other.over < one.over ? other : one), places[0]);
        // A plot and what is chosen keep their names; others that would lie over something go.
        if (!found || (found.over && first(each) === 2)) return [];
        taken.push(found.box);
        const made = [text(name, found.x, found.y, isPlot ? "plot-name" : "thing-name")];
        if (isPlot) made.push(text(sizeOf(paths), found.x, found.y + 18, "small"));
        return made;
      });
      if (!downhill) return names;
      const plots = drawn.filter(({ thing }) => thing.layer === "plots").flatMap(({ lines }) => lines[0].points);
      const [east, north] = [0, 1].map((axis) => (plots.length ? plots.map((each) => each[axis]) : [view.px(drawing.middle)[axis]]));
      const by = /** @type {Pair} */ ([(Math.min(...east) + Math.max(...east)) / 2, (Math.min(...north) + Math.max(...north)) / 2]);
      return [...names, ...fieldDownhill.arrow(downhill, by, view.room, (box) => isClear(box) && !met(box, null), say)];
    }

    /** Corners of what is chosen, and the middles that make a new one. @param {View} view */
    function handles(view) {
      const thing = at.chosen === null ? null : draft.thing(at.chosen);
      if (!thing || !canWrite() || at.cutting) return [];
      return metresOf(thing).flatMap(({ points, closed }, path) => {
        const px = points.map(view.px);
        const corners = px.map(([x, y], corner) => handle("corner", path, corner, x, y, at.corner?.path === path && at.corner.at === corner));
        const edges = points.length > 1 ? (closed ? px.length : px.length - 1) : 0;
        const middles = Array.from({ length: edges }, (_, edge) => {
          const [one, two] = [px[edge], px[(edge + 1) % px.length]];
          if (fieldPlace.apart(one, two) < BENT_PX) return null;
          return handle("middle", path, edge, (one[0] + two[0]) / 2, (one[1] + two[1]) / 2, false);
        }).filter((each) => each !== null);
        return [...middles, ...corners];
      });
    }

    /** @param {string} kind @param {number} path @param {number} corner @param {number} x @param {number} y @param {boolean} isHeld */
    const handle = (kind, path, corner, x, y, isHeld) =>
      svg("g", { class: `handle ${kind}${isHeld ? " held" : ""}`, "data-handle": kind, "data-path": path, "data-corner": corner, "aria-hidden": "true" },
        svg("circle", { cx: x, cy: y, r: 22, class: "hit" }), svg("circle", { cx: x, cy: y, r: kind === "corner" ? 7 : 4 }));

    /** What is being drawn, and the cross of the keys. @param {View} view */
    function pending(view) {
      /** @type {Element[]} */
      const made = [];
      const corners = at.cutting || at.corners;
      const px = corners.map(view.px);
      const ahead = at.cross || at.pointer;
      const names = `drawing ${at.adding || ""}`;
      if (px.length > 1) made.push(svg("path", { d: fieldDrawing.path(px, false), class: names }));
      if (px.length && ahead) made.push(svg("path", { d: fieldDrawing.path([px[px.length - 1], view.px(ahead)], false), class: `${names} ahead` }));
      px.forEach(([x, y], number) => {
        made.push(svg("circle", { cx: x, cy: y, r: 7, class: `corner${number === px.length - 1 ? " last" : ""}` }));
        if (number) {
          const before = px[number - 1];
          made.push(text(words.length(fieldPlace.apart(corners[number - 1], corners[number])), (x + before[0]) / 2 + 8, (y + before[1]) / 2 - 8, "small strong"));
        }
      });
      if (px.length && at.adding) {
        const said = say(at.typed ? "edge_typed" : px.length > 1 ? "touch_on" : "began_here", { typed: at.typed });
        const [x, y] = [Math.max(6, Math.min(px[px.length - 1][0] + 16, view.width - LABEL_PX * said.length)), px[px.length - 1][1]];
        if (px.length > 1) made.push(text(say("so_far", { length: words.length(fieldPlace.length(corners)) }), x, y + 26, "small strong"));
        made.push(text(said, x, y + 44, "small"));
      }
      if (at.crossed) {
        const [x, y] = view.px(at.crossed);
        made.push(svg("circle", { cx: x, cy: y, r: 16, class: "crossed" }));
      }
      if (at.cross) {
        const [x, y] = view.px(at.cross);
        made.push(svg("path", { d: `M${x - 12} ${y}h24M${x} ${y - 12}v24`, class: "cross" }));
      }
      return [svg("g", { class: "pending", "aria-hidden": "true" }, ...made)];
    }

    // ------------------------------------------------------------ what can be done
    /** @param {string} kind */
    function begin(kind) {
      Object.assign(at, { adding: kind, corners: [], chosen: null, corner: null, cutting: null, near: [], values: {}, asked: null, typed: "", crossed: null, isMore: false });
      tell(say("touch_where", { thing: grammar(kind).title }));
      redraw();
      holder.focus({ preventScroll: true }); // where arrows and Enter draw it
    }

    function neverMind() {
      const had = at.chosen;
      Object.assign(at, { adding: null, corners: [], chosen: null, corner: null, cutting: null, near: [], asked: null, typed: "", cross: null, pointer: null, crossed: null });
      redraw();
      return had;
    }

    /** @param {number[]} metres */
    function corner(metres) {
      const kind = at.adding;
      if (!kind) return;
      const { drawn } = grammar(kind);
      const view = drawing.view();
      const near = (/** @type {number[]} */ other) => fieldPlace.apart(view.px(other), view.px(metres)) <= NEAR_PX + 2;
      if (drawn === "point") {
        finish([metres]);
        return;
      }
      const last = at.corners[at.corners.length - 1];
      const least = drawn === "area" ? 3 : 2;
      const ends = at.corners.length >= least && (near(last) || (drawn === "area" && near(at.corners[0])));
      if (ends) finish(at.corners);
      else if (!last || !near(last)) {
        at.corners = [...at.corners, caught(metres)];
        at.typed = "";
        tell(say("so_far", { length: words.length(fieldPlace.length(at.corners)) }));
        redraw();
      }
    }

    /** A corner that is already there within reach, else the place itself. @param {number[]} metres */
    function caught(metres) {
      const view = drawing.view();
      const here = view.px(metres);
      let best = metres;
      let away = NEAR_PX;
      for (const thing of draft.things) {
        for (const { points } of metresOf(thing)) {
          for (const point of points) {
            const off = fieldPlace.apart(view.px(point), here);
            if (off < away) [best, away] = [point, off];
          }
        }
      }
      return best;
    }

    /** @param {number[][]} corners */
    function finish(corners) {
      const kind = /** @type {string} */ (at.adding);
      const { drawn, title } = grammar(kind);
      if (drawn === "area") {
        at.crossed = fieldPlace.crossesItself(corners);
        if (at.crossed) {
          tell(say("outline_crosses"));
          redraw();
          return;
        }
      }
      const geometry = fieldShapes.made(drawn, corners.map(place.degrees));
      const properties = { ...(grammar(kind).layer === "surroundings" ? { kind } : {}), ...clean(at.values) };
      const uid = draft.add(say("did_draw", { thing: at.values.name || title }), { layer: grammar(kind).layer, properties, geometry });
      const [first] = lacks(kind, drawn, properties);
      Object.assign(at, { adding: null, corners: [], cross: null, pointer: null, chosen: uid, asked: first ?? null, typed: "", crossed: null });
      announce(uid);
      redraw();
    }

    /** @param {Record<string, any>} values */
    const clean = (values) => Object.fromEntries(Object.entries(values).filter(([, value]) => value !== null && value !== undefined));

    /** @param {number} uid */
    function announce(uid) {
      const thing = draft.thing(uid);
      if (thing) tell(sentenceOf(thing));
    }

    /** @param {Thing} thing */
    function sentenceOf(thing) {
      const kind = kindOf(thing);
      const values = Object.fromEntries(Object.entries(texts.blanks).map(([name, blank]) => [name, fieldSentence.shown(blank, thing.properties[name], words)]));
      return fieldWords.fill(grammar(kind).sentence, values);
    }

    /** @param {number} uid @param {string|null} [asked] */
    function choose(uid, asked = null) {
      Object.assign(at, { adding: null, corners: [], chosen: uid, corner: null, near: [], cutting: null, asked, crossed: null });
      announce(uid);
      redraw();
    }

    /** @param {string} name @param {any} value */
    function fillIn(name, value) {
      if (at.adding) {
        at.values = { ...at.values, [name]: value };
        at.asked = lacks(at.adding, grammar(at.adding).drawn, at.values)[0] ?? null;
        if (at.asked === name) at.asked = null;
        redraw();
        return;
      }
      const thing = at.chosen === null ? null : draft.thing(at.chosen);
      if (!thing) return;
      const was = called(thing);
      const properties = { ...thing.properties, [name]: value };
      if (value === null) delete properties[name];
      draft.set(say(name === "name" ? "did_name" : "did_change", { thing: was, name: value ?? "" }), thing.uid, { properties, layer: layerOf(thing, kindOf(thing), properties) });
      const now = /** @type {Thing} */ (draft.thing(thing.uid));
      at.asked = lacking(now)[0] ?? null;
      announce(thing.uid);
      redraw();
    }

    /** Where a thing belongs: what was left aside stands around once all is known of it. @param {Thing} thing @param {string} kind @param {Record<string, any>} properties @returns {Layer} */
    function layerOf(thing, kind, properties) {
      const { layer } = grammar(kind);
      if (thing.layer === "aside" && (!texts.kinds[kind] || (layer === "surroundings" && lacks(kind, fieldShapes.drawnAs(thing.geometry), properties).length))) return "aside";
      delete properties.not_known;
      return layer;
    }

    /** What an unnamed shape of a file is. @param {Thing} thing @param {string} kind */
    function isOf(thing, kind) {
      const properties = { ...thing.properties, kind };
      const layer = layerOf(thing, kind, properties);
      if (layer !== "surroundings" && layer !== "aside") delete properties.kind;
      draft.replace(say("did_change", { thing: called(thing) }), thing.uid, [{ ...thing, layer, properties }]);
      choose(thing.uid);
    }

    function takeAway() {
      const thing = at.chosen === null ? null : draft.thing(at.chosen);
      if (!thing || !canWrite()) return;
      if (at.corner) {
        const geometry = fieldShapes.moved(thing.geometry, at.corner.path, at.corner.at, null);
        draft.set(say("did_corner_away", { thing: called(thing) }), thing.uid, { geometry });
        at.corner = null;
      } else {
        draft.replace(say("did_take_away", { thing: called(thing) }), thing.uid, []);
        at.chosen = null;
      }
      tell(draft.last || "");
      redraw();
    }

    /** @param {number[]} from @param {number[]} to metres */
    function cut(from, to) {
      const thing = at.chosen === null ? null : draft.thing(at.chosen);
      at.cutting = null;
      const parts = thing && fieldShapes.split(thing.geometry, place.degrees(from), place.degrees(to));
      if (!thing || !parts) {
        tell(say("no_split"));
        panelSays(say("no_split"));
        return;
      }
      const second = thing.properties.name ? { ...thing.properties, name: `${thing.properties.name} 2` } : thing.properties;
      const [one, two] = parts.map((geometry) => fieldShapes.all(geometry, (each) => place.degrees(place.metres(each))));
      draft.replace(say("did_split", { thing: called(thing) }), thing.uid, [{ ...thing, geometry: one }, { ...thing, geometry: two, properties: second }]);
      tell(draft.last || "");
      redraw();
    }

    /** @param {number} uid @param {Geometry} geometry */
    function move(uid, geometry) {
      const thing = draft.thing(uid);
      if (!thing) return;
      draft.set(say("did_move", { thing: called(thing) }), uid, { geometry });
      tell(draft.last || "");
    }

    function undo(forward = false) {
      const done = forward ? draft.redo() : draft.undo();
      if (!done) return;
      tell(say(forward ? "done_again" : "taken_back", { change: done }));
      if (at.chosen !== null && !draft.thing(at.chosen)) at.chosen = null;
      at.asked = null;
      redraw();
    }

    // ------------------------------------------------------------ by mouse and touch
    /** @param {number[]} px @param {boolean} touch */
    function thingsNear(px, touch) {
      const view = drawing.view();
      const reach = touch ? NEAR_TOUCH_PX : NEAR_PX;
      const found = draft.things.flatMap((thing) =>
        metresOf(thing).map(({ points, closed }) => {
          const onScreen = points.map(view.px);
          const { away } = fieldPlace.onPath(px, onScreen, closed);
          const inside = closed && fieldPlace.isInside(px, onScreen);
          return { uid: thing.uid, away: Math.min(away, inside ? reach - 0.1 : Infinity) };
        }),
      );
      const near = found.filter((each) => each.away <= reach).sort((one, other) => one.away - other.away);
      const edge = near.filter((each) => each.away < reach - 0.1);
      return [...new Set((edge.length ? edge : near).map((each) => each.uid))];
    }

    /** @param {number[]} px @param {Element} _target @param {boolean} touch */
    function tap(px, _target, touch) {
      const metres = drawing.view().metres(px);
      if (at.adding) {
        at.pointer = null;
        if (canWrite()) corner(metres);
      } else if (at.cutting) {
        at.cutting = [...at.cutting, metres];
        if (at.cutting.length === 2) cut(at.cutting[0], at.cutting[1]);
        else redraw();
      } else {
        const near = thingsNear(px, touch);
        if (near.length > 1 && (touch || near.length > 2)) {
          Object.assign(at, { near: near.slice(0, 4), chosen: null });
          redraw();
        } else if (near.length) choose(near[0]);
        else if (at.chosen !== null || at.near.length) neverMind();
      }
    }

    /** @param {number[]} px @param {Element} target @param {boolean} touch */
    function grab(px, target, touch) {
      if (!canWrite() || at.adding || at.cutting || at.chosen === null) return null;
      const thing = draft.thing(at.chosen);
      if (!thing) return null;
      const uid = thing.uid;
      const held = /** @type {HTMLElement|null} */ (target.closest("[data-handle]"));
      const from = drawing.view().metres(px);
      const begun = thing.geometry;
      /** @type {(metres: Pair) => Geometry} */
      let to;
      if (held) {
        const [path, number] = [Number(held.dataset.path), Number(held.dataset.corner)];
        if (held.dataset.handle === "corner") {
          at.corner = { path, at: number };
          to = (metres) => fieldShapes.moved(begun, path, number, place.degrees(metres));
        } else to = (metres) => fieldShapes.withCorner(begun, path, number, place.degrees(metres));
      } else if (thingsNear(px, touch).includes(uid)) {
        to = (metres) => fieldShapes.all(begun, (point) => {
          const [east, north] = place.metres(point);
          return place.degrees([east + metres[0] - from[0], north + metres[1] - from[1]]);
        });
      } else return null;
      return (/** @type {number[]} */ now, /** @type {boolean} */ ended) => {
        const geometry = to(drawing.view().metres(now));
        dragged = ended ? null : { uid, geometry };
        loupe(ended || !touch ? null : now);
        if (ended && fieldPlace.apart(now, px) > 1) move(uid, geometry);
        if (ended) redraw();
        else drawing.repaint();
      };
    }

    /** The ground under a finger, beside it. @param {number[]|null} px */
    function loupe(px) {
      const lens = /** @type {HTMLElement} */ (holder.querySelector(".loupe"));
      lens.hidden = px === null;
      if (px === null) return;
      const [x, y] = px;
      lens.style.left = `${Math.min(holder.clientWidth - 130, Math.max(4, x - 62))}px`;
      lens.style.top = `${y > 170 ? y - 165 : y + 45}px`;
      const inner = svg("svg", { viewBox: `${x - 31} ${y - 31} 62 62`, width: 124, height: 124, "aria-hidden": "true" });
      requestAnimationFrame(() => {
        inner.append(...[...drawing.layer.querySelectorAll(".below, .handle, .pending")].map((each) => each.cloneNode(true)));
        inner.append(svg("path", { class: "cross", d: `M${x - 8} ${y}h16M${x} ${y - 8}v16` }));
        lens.replaceChildren(inner);
      });
    }

    /** @param {number[]} px */
    function hover(px) {
      if (!at.adding && !at.cutting) return;
      at.pointer = drawing.view().metres(px);
      at.cross = null;
      drawing.repaint();
    }

    // ------------------------------------------------------------ by keys
    const ARROWS = /** @type {Record<string, number[]>} */ ({ ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] });

    /** @param {KeyboardEvent} event */
    function key(event) {
      const focused = /** @type {HTMLElement|null} */ (event.target);
      const uid = Number(focused?.dataset?.uid) || null;
      if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "z") {
        undo(event.shiftKey);
        return true;
      }
      if (event.ctrlKey || event.metaKey) return false;
      if (event.key === "Escape") {
        const had = neverMind();
        if (had !== null) focus(had);
        return true;
      }
      if (event.key in ARROWS) return arrow(event, ARROWS[event.key]);
      if (at.adding || at.cutting) return keyWhileDrawing(event);
      if ((event.key === "Enter" || event.key === " ") && uid) {
        choose(uid);
        return true;
      }
      if (event.key === "+" || event.key === "-") {
        drawing.zoom(event.key === "+" ? 1.4 : 1 / 1.4);
        return true;
      }
      return at.chosen !== null && canWrite() ? keyOfChosen(event) : false;
    }

    /** @param {KeyboardEvent} event @param {number[]} way */
    function arrow(event, way) {
      const step = STEP_M * (event.shiftKey ? 10 : event.altKey ? 0.1 : 1);
      const [east, north] = way.map((each) => each * step);
      if (at.adding || at.cutting) {
        const from = at.cross || at.corners[at.corners.length - 1] || drawing.view().metres(drawing.view().px(drawing.middle));
        at.cross = [from[0] + east, from[1] + north];
        at.pointer = null;
        drawing.repaint();
        return true;
      }
      const thing = at.chosen === null ? null : draft.thing(at.chosen);
      if (!thing || !canWrite()) {
        drawing.pan(-way[0] * 60, way[1] * 60);
        return true;
      }
      const shift = (/** @type {number[]} */ point) => {
        const [x, y] = place.metres(point);
        return place.degrees([x + east, y + north]);
      };
      const corner = at.corner && fieldShapes.paths(thing.geometry)[at.corner.path].points[at.corner.at];
      move(thing.uid, at.corner && corner ? fieldShapes.moved(thing.geometry, at.corner.path, at.corner.at, shift(corner)) : fieldShapes.all(thing.geometry, shift));
      redraw();
      return true;
    }

    /** @param {KeyboardEvent} event */
    function keyWhileDrawing(event) {
      const last = at.corners[at.corners.length - 1];
      if (/^[\d.,]$/.test(event.key) && at.corners.length) {
        at.typed += event.key;
        drawing.repaint();
        return true;
      }
      if (event.key === "Backspace") {
        if (at.typed) at.typed = at.typed.slice(0, -1);
        else at.corners = at.corners.slice(0, -1);
        redraw();
        return true;
      }
      if (event.key !== "Enter") return false;
      const ahead = at.cross || at.pointer || drawing.middle;
      if (at.typed && last) {
        const typed = Number(at.typed.replace(",", ".")) * (words.us ? words.feet : 1);
        const size = fieldPlace.apart(last, ahead);
        at.typed = "";
        if (typed > 0 && size > 0) {
          const to = [0, 1].map((axis) => last[axis] + (typed * (ahead[axis] - last[axis])) / size);
          at.corners = [...at.corners, to];
          at.cross = to;
          redraw();
        }
        return true;
      }
      if (at.cutting) {
        at.cutting = [...at.cutting, ahead];
        if (at.cutting.length === 2) cut(at.cutting[0], at.cutting[1]);
        else redraw();
      } else corner(ahead);
      return true;
    }

    /** @param {KeyboardEvent} event */
    function keyOfChosen(event) {
      const thing = draft.thing(/** @type {number} */ (at.chosen));
      if (!thing) return false;
      switch (event.key.toLowerCase()) {
        case "delete":
          takeAway();
          return true;
        case "n":
          at.asked = "name";
          redraw();
          return true;
        case "s":
          at.cutting = [];
          redraw();
          return true;
        case "i":
          newCorner(thing);
          return true;
        case "c": {
          nextCorner(thing);
          return true;
        }
        default:
          return false;
      }
    }

    /** In the middle of the longest edge. @param {Thing} thing */
    function newCorner(thing) {
      const [{ points, closed }] = metresOf(thing);
      if (points.length < 2) return;
      const edges = closed ? points.length : points.length - 1;
      let longest = 0;
      const size = (/** @type {number} */ edge) => fieldPlace.apart(points[edge], points[(edge + 1) % points.length]);
      for (let edge = 1; edge < edges; edge += 1) if (size(edge) > size(longest)) longest = edge;
      const next = points[(longest + 1) % points.length];
      const middle = [0, 1].map((axis) => (points[longest][axis] + next[axis]) / 2);
      draft.set(say("did_corner", { thing: called(thing) }), thing.uid, { geometry: fieldShapes.withCorner(thing.geometry, 0, longest, place.degrees(middle)) });
      at.corner = { path: 0, at: longest + 1 };
      tell(draft.last || "");
      redraw();
    }

    /** @param {Thing} thing */
    function nextCorner(thing) {
      const [{ points }] = metresOf(thing);
      at.corner = { path: 0, at: at.corner ? (at.corner.at + 1) % points.length : 0 };
      tell(say("corner_of", { number: at.corner.at + 1, all: points.length }));
      redraw();
    }

    /** @param {number} uid */
    const focus = (uid) => requestAnimationFrame(() => /** @type {HTMLElement|null} */ (drawing.layer.querySelector(`[data-uid="${uid}"]`))?.focus());

    // ------------------------------------------------------------ what is said
    /** @param {string} said */
    function panelSays(said) {
      redraw();
      panel.querySelector(".wrong-here")?.replaceChildren(said);
    }

    const button = (/** @type {string} */ said, /** @type {() => void} */ onclick, /** @type {string} */ kind = "plain") => element("button", { type: "button", class: kind, onclick }, said);

    function redraw() {
      drawing.show(scene);
      const goOn = fieldWords.place(panel);
      panel.classList.toggle("adding", at.adding !== null);
      const thing = at.chosen === null ? null : draft.thing(at.chosen);
      panel.replaceChildren(...(at.near.length ? whichOne() : thing ? ofThing(thing) : at.adding ? whileAdding() : whatIsHere()), element("p", { class: "wrong-here", role: "alert" }), ...back(), ...leave());
      const form = panel.querySelector(".form");
      if (form instanceof HTMLElement) sentence(form, thing);
      goOn();
    }

    /** @param {HTMLElement} form @param {Thing|null} thing */
    function sentence(form, thing) {
      const kind = thing ? kindOf(thing) : /** @type {string} */ (at.adding);
      fieldSentence.show(
        form,
        { text: grammar(kind).sentence, blanks: texts.blanks, values: thing ? thing.properties : at.values, asked: at.asked, editable: canWrite() },
        words,
        {
          ask(name) {
            at.asked = name;
            redraw();
          },
          tell: fillIn,
        },
      );
    }

    /** What may be said of ground: of files that this page draws. */
    const offered = () => Object.entries(texts.kinds).filter(([, each]) => each.word && draft.draws(each.layer));

    function kinds() {
      const every = offered();
      const shownKinds = every.filter(([, each]) => at.isMore || !each.seldom);
      return element(
        "div",
        { class: "words kinds" },
        ...shownKinds.map(([kind, each]) => button(each.word, () => begin(kind), `word${at.adding === kind ? " asked" : ""}`)),
        !at.isMore &&
          button(say("and_more"), () => {
            at.isMore = true;
            redraw();
          }, "word soft"),
      );
    }

    function whatIsHere() {
      const isEmpty = !draft.things.some((each) => each.layer === "plots");
      return [
        element("h1", {}, say(isEmpty ? "where_is_the_ground" : "what_is_here")),
        isEmpty && element("p", { class: "note" }, say("where_how")),
        canWrite() ? kinds() : null,
        element("p", { class: "note" }, say("draw_keys")),
        element("div", { class: "still-open" }, ...open()),
      ].filter((each) => each);
    }

    /** What is lacking, of things and then of the place; three are shown. */
    function open() {
      const unsure = draft.things.filter((each) => !kindOf(each) || lacking(each).length).slice(0, OPEN_LINES);
      const lines = [
        ...unsure.map((each) =>
          element("p", { class: "open-line" }, element("b", {}, `${called(each)}. `), button(kindOf(each) ? fieldSentence.shown(texts.blanks[lacking(each)[0]], null, words) : say("what_is_it"), () => choose(each.uid, lacking(each)[0] ?? null), "link")),
        ),
        ...missing().map((each) => element("p", { class: "open-line" }, `${each.words} `, mends(each.mended))),
      ];
      if (!lines.length) return [];
      const rest = lines.slice(OPEN_LINES);
      return [element("h2", {}, say("not_yet_known")), ...lines.slice(0, OPEN_LINES), rest.length && element("details", {}, element("summary", {}, say("and_more_changes")), ...rest)];
    }

    /** Where on this page a thing that is missing is filled in. @param {string} where */
    function mends(where) {
      if (!canWrite() || !where) return null;
      if (where === "ask") return button(say("ten_sentences"), ask, "link");
      const plot = draft.things.find((each) => each.layer === "plots" && (each.properties[where] ?? null) === null);
      return plot ? button(called(plot), () => choose(plot.uid, where), "link") : null;
    }

    function whichOne() {
      return [
        element("h1", {}, say("which_one")),
        element("div", { class: "words" }, ...at.near.map((uid) => button(called(/** @type {Thing} */ (draft.thing(uid))), () => choose(uid), "word"))),
        button(say("never_mind"), neverMind, "link"),
      ];
    }

    function whileAdding() {
      const kind = /** @type {string} */ (at.adding);
      const { drawn, title } = grammar(kind);
      const enough = at.corners.length >= (drawn === "area" ? 3 : 2);
      return [
        element("h1", {}, say("what_is_here")),
        kinds(),
        element("div", { class: "form" }),
        element("p", { class: "note" }, say(at.crossed ? "outline_crosses" : `touch_${drawn}`)),
        element(
          "div",
          { class: "actions" },
          enough && button(say("keep_this", { thing: title }), () => finish(at.corners), "main"),
          at.corners.length > 0 &&
            button(say("last_corner_back"), () => {
              at.corners = at.corners.slice(0, -1);
              at.crossed = null;
              redraw();
            }),
          button(say("never_mind"), neverMind),
        ),
      ];
    }

    /** @param {Thing} thing */
    function ofThing(thing) {
      if (!kindOf(thing) || !texts.kinds[kindOf(thing)]) {
        const every = offered();
        return [
          element("h1", {}, say("what_is_it")),
          element("p", { class: "note" }, called(thing)),
          element("div", { class: "words" }, ...every.map(([kind, each]) => button(each.word, () => isOf(thing, kind), "word"))),
          button(say("never_mind"), neverMind, "link"),
        ];
      }
      const isPoint = fieldShapes.drawnAs(thing.geometry) === "point";
      return [
        element("h1", {}, called(thing)),
        element("p", { class: "note" }, sizeOf(metresOf(thing))),
        element("div", { class: "form" }),
        element("p", { class: "note" }, say(at.cutting ? "cut_where" : isPoint ? "move_point" : "move_how")),
        canWrite() &&
          element(
            "div",
            { class: "actions" },
            !isPoint &&
              button(say("split_it"), () => {
                at.cutting = [];
                redraw();
              }),
            !isPoint && button(say("new_corner"), () => newCorner(thing)),
            button(say("take_it_away"), takeAway),
            button(say("never_mind"), neverMind),
          ),
      ].filter((each) => each);
    }

    function back() {
      if (!canWrite()) return [];
      const { last, steps } = draft;
      return [
        element(
          "div",
          { class: "actions back" },
          last !== null && button(say("take_back", { change: last }), () => undo()),
          draft.canRedo && button(say("do_again"), () => undo(true)),
        ),
        steps.length > 1 && element("details", {}, element("summary", {}, say("and_more_changes")), element("ol", { class: "steps" }, ...[...steps].reverse().slice(0, 12).map((each) => element("li", {}, each)))),
      ].filter((each) => each);
    }

    fieldGestures.on(holder, drawing, {
      isActive: () => active,
      tap,
      grab,
      hover,
      key,
    });
    document.addEventListener("keydown", (event) => {
      const typing = event.target instanceof HTMLInputElement || event.target instanceof HTMLTextAreaElement;
      if (!active || typing || holder.contains(/** @type {Node} */ (event.target))) return;
      const isZ = (event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "z";
      if ((isZ || event.key === "Escape") && key(event)) event.preventDefault();
    });
    let active = false;

    return Object.freeze({
      show() {
        active = true;
        redraw();
      },
      hide() {
        active = false;
        neverMindQuietly();
      },
      redraw: () => active && redraw(),
      /** What is missing is known anew; nothing that is being written or touched is drawn again. */
      missingChanged: () => panel.querySelector(".still-open")?.replaceChildren(...open().filter((each) => each)),
      choose,
      /** All corners, for a view of the whole place. */
      corners,
      /** @param {number[]} px @param {boolean} touch */
      grab: (px, touch) => grab(px, holder, touch),
      scene,
      picture,
      kindOf,
    });

    /** All corners for a view of the whole place: plots, with what stands near them. */
    function corners() {
      const plots = draft.things.filter((each) => each.layer === "plots");
      const found = (plots.length ? plots : draft.things).flatMap((each) => metresOf(each).flatMap(({ points }) => points));
      if (!plots.length) return found;
      const [east, north] = [0, 1].map((axis) => found.map((each) => each[axis]));
      const around_m = AROUND * Math.max(Math.max(...east) - Math.min(...east), Math.max(...north) - Math.min(...north));
      return [[Math.min(...east) - around_m, Math.min(...north) - around_m], [Math.max(...east) + around_m, Math.max(...north) + around_m]];
    }

    function neverMindQuietly() {
      Object.assign(at, { adding: null, corners: [], chosen: null, corner: null, cutting: null, near: [], asked: null });
    }
  }

  return Object.freeze({ on });
})();
