// A walk along the edge of a plot by the phone's own position, with how sure it is.
"use strict";

/**
 * @typedef {{at: Pair, error_m: number, time_s: number}} Fix
 * @typedef {{fixes: Fix[], corners: number[], unsure: number[]}} Walk
 */
const fieldWalk = (() => {
  const { element } = fieldWords;
  const { svg, text } = fieldDrawing;
  const SURE_M = 10; // a place known less surely is not drawn (a choice)
  const FASTEST_M_S = 3; // who walks an edge; what is faster is a jump (a choice)
  const FAR_M = 10; // from the start, from which closing asks
  const APART_M = 1; // nearer places say nothing new
  const THIN_M = 2; // corners nearer than this to the line between others go

  /**
   * Whether a place follows from the last, or the signal jumped: by how much, null where not.
   * @param {Fix|undefined} last @param {Fix} next
   */
  function jumped(last, next) {
    if (!last) return null;
    const away = fieldPlace.apart(last.at, next.at);
    const most = FASTEST_M_S * Math.max(1, next.time_s - last.time_s) + last.error_m + next.error_m;
    return away > most ? away : null;
  }

  /** Corners that a line needs (Douglas and Peucker 1973). @param {Pair[]} points @param {number} within_m @returns {Pair[]} */
  function thinned(points, within_m) {
    if (points.length < 3) return points;
    const [first, last] = [points[0], points[points.length - 1]];
    let [farthest, at] = [0, 0];
    points.forEach((point, number) => {
      const { away } = fieldPlace.onEdge(point, first, last);
      if (away > farthest) [farthest, at] = [away, number];
    });
    if (farthest <= within_m) return [first, last];
    return [...thinned(points.slice(0, at + 1), within_m).slice(0, -1), ...thinned(points.slice(at), within_m)];
  }

  /** The outline of a walk: its corners where three were named, else the line thinned. @param {Walk} walk */
  function outline(walk) {
    if (walk.corners.length >= 3) return walk.corners.map((at) => walk.fixes[at].at);
    const points = walk.fixes.map((each) => each.at);
    const half = points.length >> 1; // a ring has no ends: thinned in two halves
    return [...thinned(points.slice(0, half + 1), THIN_M).slice(0, -1), ...thinned(points.slice(half), THIN_M)];
  }

  /** @param {Walk} walk */
  const error = (walk) => {
    const errors = walk.fixes.map((each) => each.error_m).sort((one, other) => one - other);
    return errors.length ? errors[errors.length >> 1] : 0;
  };

  /**
   * @param {{drawing: ReturnType<typeof fieldDrawing.on>, panel: HTMLElement, place: ReturnType<typeof fieldPlace.around>,
   *   words: Words, tell: (said: string) => void, below: (view: View) => Element[],
   *   shelf: {get: () => Walk|null, put: (walk: Walk|null) => void},
   *   closed: (points: Pair[], error_m: number, unsure: number) => void, left: () => void}} given
   */
  function on({ drawing, panel, place, words: texts, tell, below, shelf, closed, left }) {
    const words = fieldWords.inWords(texts);
    const { say } = words;
    /** @type {Walk} */
    let walk = { fixes: [], corners: [], unsure: [] };
    /** @type {Fix|null} */
    let lost = null;
    /** @type {Fix|null} */
    let seen = null;
    let jump = 0;
    let problem = "";
    let asksToClose = false;
    let watch = 0;
    let goOn = false;

    function begin() {
      walk = shelf.get() || walk;
      lost = null;
      if (!("geolocation" in navigator)) {
        problem = say("walk_none");
        redraw();
        return;
      }
      watch = navigator.geolocation.watchPosition(took, refused, { enableHighAccuracy: true, maximumAge: 0 });
      redraw();
    }

    /** @param {GeolocationPositionError} fault */
    function refused(fault) {
      problem = say(fault.code === fault.PERMISSION_DENIED ? "walk_denied" : "walk_none");
      redraw();
    }

    /** @param {GeolocationPosition} position */
    function took({ coords, timestamp }) {
      problem = "";
      const fix = { at: place.metres([coords.longitude, coords.latitude]), error_m: coords.accuracy, time_s: timestamp / 1000 };
      seen = fix;
      const last = walk.fixes[walk.fixes.length - 1];
      const away = jumped(last, fix);
      if (fix.error_m > SURE_M && walk.fixes.length === 0) {
        redraw();
        return;
      }
      if (!goOn && (away !== null || fix.error_m > SURE_M)) {
        lost = fix;
        jump = away ?? fieldPlace.apart(last.at, fix.at);
        redraw();
        return;
      }
      if (fix.error_m > SURE_M) return;
      lost = null;
      goOn = false;
      if (!last || fieldPlace.apart(last.at, fix.at) >= APART_M) {
        walk = { ...walk, fixes: [...walk.fixes, fix] };
        shelf.put(walk);
      }
      redraw();
    }

    function corner() {
      const at = walk.fixes.length - 1;
      if (at < 0 || walk.corners.includes(at)) return;
      walk = { ...walk, corners: [...walk.corners, at] };
      shelf.put(walk);
      tell(state());
      redraw();
    }

    /** A straight edge from the last sure place to here. */
    function fromHere() {
      walk = { ...walk, unsure: [...walk.unsure, walk.fixes.length - 1] };
      lost = null;
      goOn = true;
      redraw();
    }

    function fromCorner() {
      const at = walk.corners[walk.corners.length - 1];
      walk = { ...walk, fixes: walk.fixes.slice(0, at + 1), unsure: walk.unsure.filter((each) => each < at) };
      lost = null;
      goOn = true;
      redraw();
    }

    function close() {
      const [first, last] = [walk.fixes[0], walk.fixes[walk.fixes.length - 1]];
      if (!asksToClose && fieldPlace.apart(first.at, last.at) > FAR_M) {
        asksToClose = true;
        redraw();
        return;
      }
      const points = outline(walk);
      const [error_m, unsure] = [error(walk), walk.unsure.length];
      end();
      shelf.put(null);
      walk = { fixes: [], corners: [], unsure: [] };
      closed(points, error_m, unsure);
    }

    function end() {
      if (watch) navigator.geolocation.clearWatch(watch);
      [watch, asksToClose, lost, goOn] = [0, false, null, false];
    }

    const state = () => say("walk_state", { length: words.length(fieldPlace.length(walk.fixes.map((each) => each.at))), corners: walk.corners.length, error: words.length(error(walk)) });

    /** @param {View} view */
    function scene(view) {
      const px = walk.fixes.map((each) => view.px(each.at));
      /** @type {Element[]} */
      const made = [];
      if (px.length > 1) {
        const belt = svg("path", { class: "belt", d: fieldDrawing.path(px, false) });
        belt.style.strokeWidth = `${Math.max(4, 2 * error(walk) * view.scale)}px`;
        made.push(belt, svg("path", { class: "drawing", d: fieldDrawing.path(px, false) }));
        made.push(svg("path", { class: "drawing ahead", d: fieldDrawing.path([px[px.length - 1], px[0]], false) }));
      }
      walk.corners.forEach((at, number) => {
        const [x, y] = px[at];
        made.push(svg("circle", { class: "corner", cx: x, cy: y, r: 8 }), text(String(number + 1), x + 12, y - 8, "small strong"));
      });
      const now = lost || seen;
      if (now) {
        const [x, y] = view.px(now.at);
        made.push(svg("circle", { class: "sure", cx: x, cy: y, r: Math.max(8, now.error_m * view.scale) }), svg("circle", { class: "here", cx: x, cy: y, r: 6 }));
      }
      return [...below(view).slice(0, 2), svg("g", { class: "pending", "aria-hidden": "true" }, ...made)];
    }

    const button = (/** @type {string} */ said, /** @type {() => void} */ onclick, kind = "row") => element("button", { type: "button", class: kind, onclick }, said);

    function redraw() {
      drawing.show(scene);
      const isOn = walk.fixes.length > 0;
      const points = isOn ? outline(walk) : [];
      panel.replaceChildren(
        ...[
          element("h1", {}, say("walk_edge")),
          element("p", { class: "note", "aria-live": "polite" }, isOn ? state() : say("walk_waits", { error: words.length(SURE_M) })),
          problem && element("p", { class: "wrong", role: "alert" }, problem),
          lost && element("p", { class: "sentence", role: "alert" }, say("walk_jump", { jump: words.length(jump) })),
          lost && button(say("walk_from_here"), fromHere),
          lost && walk.corners.length > 0 && button(say("walk_from_corner", { number: walk.corners.length }), fromCorner),
          asksToClose && element("p", { class: "sentence", role: "alert" }, say("walk_far", { away: words.length(fieldPlace.apart(walk.fixes[0].at, walk.fixes[walk.fixes.length - 1].at)) })),
          element(
            "div",
            { class: "actions" },
            isOn && button(say("walk_corner"), corner, "main"),
            points.length > 2 && button(say(asksToClose ? "walk_close_all_the_same" : "walk_close"), close, "main"),
            button(say("walk_stop"), () => {
              end();
              left();
            }, "plain"),
          ),
          points.length > 2 && element("p", { class: "note" }, say("walk_kept", { area: words.area(fieldPlace.area(points)) })),
        ].filter((each) => each),
      );
    }

    return Object.freeze({ begin, end });
  }

  return Object.freeze({ on, jumped, thinned, outline });
})();
