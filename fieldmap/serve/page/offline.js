// The drawing page as one file: it keeps what is drawn in the browser, and copies as files.
"use strict";

(() => {
  const { element } = fieldWords;
  const find = (/** @type {string} */ id) => /** @type {HTMLElement} */ (document.getElementById(id));
  const given = JSON.parse(find("given").textContent || "");
  const words = fieldWords.inWords(given.words);
  const { say } = words;
  const place = fieldPlace.around(given.middle);
  let isUnsaved = false;

  /** @param {string} name */
  function shelf(name) {
    const key = `fieldmap ${name} of ${given.id}`;
    return {
      get() {
        try {
          return JSON.parse(localStorage.getItem(key) || "null");
        } catch {
          return null;
        }
      },
      /** @param {any} what */
      put(what) {
        try {
          if (what === null) localStorage.removeItem(key);
          else localStorage.setItem(key, JSON.stringify(what));
          return true;
        } catch {
          return false;
        }
      },
    };
  }

  const drafts = shelf("drawing");
  const walks = shelf("walk");
  const keeper = {
    /** @param {any} draft */
    keep(draft) {
      isUnsaved = !drafts.put(draft);
      notice(isUnsaved ? say("draft_not_kept") : "");
    },
  };
  const begun = drafts.get() || { plots: given.plots, surroundings: given.surroundings, answers: [], base: {}, number: 0 };
  const draft = fieldDraft.begun(begun, keeper);
  const holder = find("ground");
  const drawing = fieldDrawing.on(holder, fieldGround.of(given.heights, words.length), { north: say("north"), length: words.length });
  const announce = (/** @type {string} */ said) => {
    find("said").textContent = said;
  };
  const shared = { drawing, panel: find("view"), place, words: given.words, tell: announce };
  const draw = fieldDraw.on({ ...shared, holder, draft, canWrite: () => true, leave, downhill: given.downhill });
  const walk = fieldWalk.on({ ...shared, below: draw.scene, shelf: walks, closed, left: () => draw.show() });

  /** @param {string} said */
  function notice(said) {
    find("notice").hidden = !said;
    find("notice").textContent = said;
  }

  function leave() {
    const isBegun = walks.get() !== null;
    return [
      element("nav", { class: "others", "aria-label": say("other_questions") }, element("button", { type: "button", class: "row", id: "walk", onclick: begin }, say(isBegun ? "walk_on" : "walk_begin"))),
      element("p", { class: "note" }, say("draft_in_browser")),
    ];
  }

  function begin() {
    draw.hide();
    walk.begin();
  }

  /** @param {Pair[]} points @param {number} error_m @param {number} unsure */
  function closed(points, error_m, unsure) {
    const note = unsure ? { note: say("walk_unsure", { edges: unsure }) } : {};
    const properties = { accuracy_m: Math.round(10 * error_m) / 10, ...note };
    const uid = draft.add(say("did_draw", { thing: given.words.kinds.plot.title }), {
      layer: "plots",
      properties,
      geometry: fieldShapes.made("area", points.map(place.degrees)),
    });
    draw.show();
    draw.choose(uid, "name");
  }

  /** One GeoJSON file of all, with its kinds, as `fieldmap start` sorts them. */
  function copy() {
    const { plots, surroundings } = draft.contents();
    const features = [...plots.map((each) => ({ ...each, properties: { kind: "plot", ...each.properties } })), ...surroundings];
    const whole = JSON.stringify({ type: "FeatureCollection", features }, null, 1);
    const link = element("a", { href: URL.createObjectURL(new Blob([whole], { type: "application/geo+json" })), download: "drawn.geojson" });
    link.click();
    URL.revokeObjectURL(link.href);
    isUnsaved = false;
  }

  function cover() {
    drawing.cover({ left: window.innerWidth < 760 ? 0 : 420, top: 0, bottom: 0 });
  }

  find("closer").addEventListener("click", () => drawing.zoom(1.5));
  find("further").addEventListener("click", () => drawing.zoom(1 / 1.5));
  find("whole").addEventListener("click", () => drawing.fit(draw.corners()));
  find("save").addEventListener("click", copy);
  window.addEventListener("resize", cover);
  window.addEventListener("beforeunload", (event) => {
    if (isUnsaved) event.preventDefault();
  });
  cover();
  draw.show();
  drawing.fit(draw.corners());
  document.body.dataset.ready = "yes";
})();
