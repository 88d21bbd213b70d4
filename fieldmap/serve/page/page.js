// The page: what is shown of it, who writes, and the way to the files of the site.
"use strict";

(async () => {
  const { element } = fieldWords;
  const FADE_MS = 7000; // until what was done is said long enough
  const find = (/** @type {string} */ id) => /** @type {HTMLElement} */ (document.getElementById(id));
  const me = fieldKeeper.tab();
  const { status, body: given } = await fieldKeeper.ask("POST", "begin", { tab: me });
  if (status !== 200) {
    find("view").replaceChildren(element("h1", {}, given.text || ""), ...(given.problems || []).map((/** @type {string} */ each) => element("p", { class: "wrong" }, each)));
    return;
  }
  const words = fieldWords.inWords(given.words);
  const { say } = words;
  const place = fieldPlace.around(given.middle);
  const ground = fieldGround.of(given.heights, (height) => words.length(height));
  let writes = given.writes;
  let savedAt = -1; // touches, at the last save
  let plan = given.plan;
  /** @typedef {"draw"|"ask"|"what_if"} ViewName */
  let view = /** @type {ViewName} */ ("draw");

  const keeper = fieldKeeper.keeping(given.id, me, heard);
  const local = keeper.left();
  const last = local && (!given.draft || local.number > given.draft.number) ? local : given.draft;
  const LAYERS = /** @type {const} */ (["plots", "surroundings", "marks", "beds", "aside"]);
  const { plots, surroundings, marks, beds, aside } = given;
  const files = { plots, surroundings, marks, beds, aside, answers: /** @type {Answer[]} */ ([]), base: given.base, number: 0 };
  const begun = last && { ...last, ...Object.fromEntries(LAYERS.map((layer) => [layer, given[layer] && (last[layer] ?? given[layer])])) };
  const draft = fieldDraft.begun(begun || files, keeper);
  if (begun && last === local && writes) keeper.keep(draft.contents());

  const holder = find("ground");
  const drawing = fieldDrawing.on(holder, ground, { north: say("north"), length: words.length });
  /** @type {{words: string, mended: string}[]} of the place as it is saved */
  let missing = [];
  const shared = { drawing, holder, panel: find("view"), place, words: given.words, tell: announce, canWrite: () => writes };
  const draw = fieldDraw.on({ ...shared, draft, leave, downhill: given.downhill, missing: () => missing, ask: () => go("ask") });
  const questions = fieldQuestions.on({ ...shared, draft: () => draft, questions: given.questions, leave });
  const whatIf = fieldWhatIf.on({ ...shared, draft: () => draft, leave, map: () => draw, me, saved, ground, save: () => save([]) });
  if (given.background) find("planning").before(fieldBackground.on({ background: given.background, holder, ground, drawing, warn: (said) => notice([said], true) }));
  const planning = fieldPlanning.on({ holder: find("planning"), words: given.words, me, tell: announce, isOld: () => isChanged(), ended, state: plan });

  /** @param {string} said */
  function announce(said) {
    find("said").textContent = said;
  }

  // -------------------------------------------------------------- what is shown
  /** @param {ViewName} next */
  function go(next) {
    view = next;
    document.body.dataset.view = next;
    draw.hide();
    whatIf.hide();
    cover();
    ({ draw, ask: questions, what_if: whatIf })[next].show();
    if (next === "ask") drawing.fit(draw.corners()); // beside wider words
    find("panel").scrollTop = 0;
    find("view").querySelector("h1")?.setAttribute("tabindex", "-1");
    /** @type {HTMLElement|null} */ (find("view").querySelector("h1"))?.focus({ preventScroll: true });
  }

  /** @type {[ViewName, string][]} */
  const VIEWS = [["draw", "what_is_here"], ["ask", "ten_sentences"], ["what_if", "what_if_title"]];

  /** The other questions, and what is said of the draft. */
  function leave() {
    const others = VIEWS.filter(([each]) => each !== view);
    return [
      element("nav", { class: "others", "aria-label": say("other_questions") }, ...others.map(([each, title]) => element("button", { type: "button", class: "row", onclick: () => go(each) }, say(title)))),
      element("p", { class: "note kept" }, say(writes ? "draft_is_kept" : "reads_only")),
    ];
  }

  async function askMissing() {
    const answer = await fieldKeeper.ask("POST", "open", {});
    if (answer.status !== 200) return;
    missing = answer.body.open;
    draw.missingChanged();
  }

  function cover() {
    if (view === "what_if") {
      whatIf.cover();
      return;
    }
    const isPhone = window.innerWidth < 760;
    const wide = view === "ask" ? 790 : 420;
    drawing.cover(isPhone ? { left: 0, top: 0, bottom: 0 } : { left: Math.min(wide, window.innerWidth * 0.62), top: 0, bottom: 0 });
  }
  window.addEventListener("resize", cover);

  find("closer").addEventListener("click", () => drawing.zoom(1.5));
  find("further").addEventListener("click", () => drawing.zoom(1 / 1.5));
  find("whole").addEventListener("click", () => drawing.fit(draw.corners()));
  find("save").addEventListener("click", () => save([]));
  find("write").addEventListener("click", writeHere);

  // -------------------------------------------------------------- what is kept
  let isTroubled = false; // what is said is of the draft, and gone once it is kept

  /** @param {Heard} how */
  function heard(how) {
    if (how === "reading") setWrites(false);
    const said = { kept: "", gone: say("server_gone"), old: say("old_address"), reading: say("other_tab"), broken: say("broken"), lost: say("draft_not_kept") }[how];
    if (said || isTroubled) notice(said ? [said] : []);
    isTroubled = said !== "";
  }

  let fading = 0;

  /** @param {(string|HTMLElement)[]} said @param {boolean} [fades] */
  function notice(said, fades = false) {
    const box = find("notice");
    clearTimeout(fading);
    if (fades) fading = window.setTimeout(() => notice([]), FADE_MS);
    box.hidden = !said.length;
    box.replaceChildren(...said.map((each) => (typeof each === "string" ? element("p", {}, each) : each)));
  }

  /** @param {boolean} now */
  function setWrites(now) {
    writes = now;
    document.body.classList.toggle("reading", !now);
    find("write").hidden = now;
    find("save").hidden = !now;
    draw.redraw();
  }

  async function writeHere() {
    const answer = await fieldKeeper.ask("POST", "write-here", { tab: me });
    if (answer.status === 200) location.reload(); // with what the other tab had kept
  }

  /** Whether more was drawn or answered than the files hold. */
  function isChanged() {
    const drawn = draft.contents();
    const same = LAYERS.every((layer) => JSON.stringify(drawn[layer]) === JSON.stringify(given[layer]));
    return !same || (draft.answers.length > 0 && drawn.number !== savedAt);
  }

  /**
   * Save the place; files that others changed since are only written where that is wanted.
   * @param {string[]} over @returns {Promise<boolean>}
   */
  async function save(over) {
    const answer = await fieldKeeper.ask("POST", "save", { tab: me, draft: draft.contents(), over });
    if (answer.status === 200) {
      saved(answer.body);
      const names = answer.body.saved.join(", ");
      announce(say(names ? "saved" : "nothing_to_save", { files: names }));
      notice([say(names ? "saved" : "nothing_to_save", { files: names })], true);
      askMissing();
      return true;
    }
    if (answer.status === 409) outside(answer.body.changed, over);
    else if (answer.status === 422) {
      notice([element("b", {}, say("cannot_save")), ...answer.body.problems]);
      isTroubled = true;
    }
    else heard(fieldKeeper.heard(answer.status));
    return false;
  }

  /** @param {{base: Record<string, string>}} now */
  function saved(now) {
    draft.saved(now.base);
    savedAt = draft.contents().number;
    const drawn = draft.contents();
    Object.assign(given, Object.fromEntries(LAYERS.map((layer) => [layer, drawn[layer]])), { base: now.base });
    planning.redraw();
  }

  /** Files that were changed outside: both are shown, and one is chosen. @param {{file: string, words: string}[]} changed @param {string[]} over */
  function outside(changed, over) {
    notice([
      ...changed.map((each) => each.words),
      element(
        "div",
        { class: "actions" },
        element("button", { type: "button", class: "plain", onclick: () => save([...over, ...changed.map((each) => each.file)]) }, say("keep_mine")),
        element("button", { type: "button", class: "plain", onclick: takeFiles }, say("take_files")),
      ),
    ]);
  }

  async function takeFiles() {
    const answer = await fieldKeeper.ask("POST", "take-files", { tab: me });
    keeper.clear();
    if (answer.status === 200) location.reload();
  }

  /** @param {any} next */
  function ended(next) {
    plan = next;
  }

  planning.before(() => save([]));
  draft.watch(planning.redraw);
  window.addEventListener("beforeunload", (event) => {
    if (keeper.isWaiting) event.preventDefault();
  });
  window.addEventListener("pagehide", () => {
    fieldKeeper.ask("POST", "leave", { tab: me });
  });
  window.addEventListener("pageshow", (event) => {
    if (event.persisted) location.reload();
  });

  if (begun && given.changed.length) outside(given.changed, []);
  if (begun && last === local) notice([say("draft_came_back")]);
  setWrites(writes);
  go("draw");
  drawing.fit(draw.corners());
  document.body.dataset.ready = "yes";
  askMissing();
})();
