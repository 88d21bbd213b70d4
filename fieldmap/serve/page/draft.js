// What is drawn and answered, with the way back; every change is kept at once.
"use strict";

/**
 * @typedef {{place: string[], value: any}} Answer
 * @typedef {{plots: any[], surroundings: any[], marks?: any[], beds?: any[], aside?: any[]}} Drawn of each layer its features
 * @typedef {{things: Thing[], answers: Answer[]}} State
 */
const fieldDraft = (() => {
  const MOST_STEPS = 200; // back

  /**
   * @param {Drawn & {answers: Answer[], base: Record<string, string>, number: number}} given
   * @param {{keep: (draft: any) => void}} keeper
   */
  function begun(given, keeper) {
    // Marks and beds are drawn where the page is given them.
    const layers = /** @type {const} */ (["plots", "surroundings", "marks", "beds", "aside"]).filter((layer) => given[layer]);
    let uids = 0;
    let number = given.number;
    let base = given.base;
    /** @type {{words: string, state: State}[]} */
    let back = [];
    /** @type {{words: string, state: State}[]} */
    let forward = [];
    /** @type {Set<() => void>} */
    const watchers = new Set();
    let state = of(given);

    /** @param {Drawn & {answers: Answer[]}} drawn @returns {State} */
    function of(drawn) {
      const things = layers.flatMap((layer) =>
        (drawn[layer] || []).map((each) => ({
          uid: (uids += 1),
          layer,
          properties: each.properties || {},
          geometry: each.geometry,
        })),
      );
      return { things, answers: drawn.answers };
    }

    function contents() {
      /** @param {string} layer */
      const features = (layer) =>
        state.things
          .filter((each) => each.layer === layer)
          .map(({ properties, geometry }) => ({ type: "Feature", properties, geometry }));
      const drawn = Object.fromEntries(layers.map((layer) => [layer, features(layer)]));
      return /** @type {Drawn & {number: number, answers: Answer[], base: Record<string, string>}} */ ({ number, ...drawn, answers: state.answers, base });
    }

    function kept() {
      number += 1;
      keeper.keep(contents());
      watchers.forEach((watch) => watch());
    }

    /** One change with its words, such as "moved the Barn Gate". @param {string} words @param {State} next */
    function change(words, next) {
      back = [...back, { words, state }].slice(-MOST_STEPS);
      forward = [];
      state = next;
      kept();
    }

    return Object.freeze({
      /** @param {Layer} layer */
      draws: (layer) => layers.includes(layer),
      get things() {
        return state.things;
      },
      get answers() {
        return state.answers;
      },
      get last() {
        return back.length ? back[back.length - 1].words : null;
      },
      get steps() {
        return back.map((each) => each.words);
      },
      get canRedo() {
        return forward.length > 0;
      },
      contents,
      /** @param {() => void} watch */
      watch: (watch) => watchers.add(watch),
      /** @param {number} uid */
      thing: (uid) => state.things.find((each) => each.uid === uid) || null,
      /** @param {string} words @param {Omit<Thing, "uid">} made */
      add(words, made) {
        const thing = { ...made, uid: (uids += 1) };
        change(words, { ...state, things: [...state.things, thing] });
        return thing.uid;
      },
      /** @param {string} words @param {number} uid @param {Partial<Thing>} more */
      set(words, uid, more) {
        const things = state.things.map((each) => (each.uid === uid ? { ...each, ...more } : each));
        change(words, { ...state, things });
      },
      /** @param {string} words @param {number} uid @param {Omit<Thing, "uid">[]} parts */
      replace(words, uid, parts) {
        const things = state.things.flatMap((each) =>
          each.uid === uid ? parts.map((part, at) => ({ ...part, uid: at ? (uids += 1) : uid })) : [each],
        );
        change(words, { ...state, things });
      },
      /** @param {string} words @param {string[]} place @param {any} value */
      answer(words, place, value) {
        const key = place.join(".");
        const answers = state.answers.filter((each) => each.place.join(".") !== key);
        change(words, { ...state, answers: [...answers, { place, value }] });
      },
      undo() {
        const step = back.pop();
        if (!step) return null;
        forward.push({ words: step.words, state });
        state = step.state;
        kept();
        return step.words;
      },
      redo() {
        const step = forward.pop();
        if (!step) return null;
        back.push({ words: step.words, state });
        state = step.state;
        kept();
        return step.words;
      },
      /** After a save: what the files hold now. @param {Record<string, string>} now */
      saved(now) {
        base = now;
      },
    });
  }

  return Object.freeze({ begun });
})();
