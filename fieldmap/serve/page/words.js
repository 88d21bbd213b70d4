// Texts with their places filled in, and lengths as they are read.
"use strict";

/**
 * @typedef {{say: Record<string, string>, units: "metric"|"us", kinds: Record<string, any>,
 *   blanks: Record<string, any>, directions: string[]}} Words
 */
const fieldWords = (() => {
  const FEET = 0.3048;
  const SQUARE_METRES_AN_ACRE = 4046.8564224;

  /** @param {Words} words */
  function inWords(words) {
    const us = words.units === "us";
    /** @param {string} key @param {Record<string, any>} [places] */
    const say = (key, places = {}) => fill(words.say[key], places);
    /** @param {number} metres */
    const length = (metres) => {
      const shown = us ? metres / FEET : metres;
      return `${shown < 10 ? Number(shown.toFixed(1)) : Math.round(shown)} ${us ? "ft" : "m"}`;
    };
    /** @param {number} square_m */
    const area = (square_m) => {
      if (us) return `${(square_m / SQUARE_METRES_AN_ACRE).toFixed(2)} ac`;
      return square_m < 1000 ? `${Math.round(square_m)} m²` : `${(square_m / 10000).toFixed(2)} ha`;
    };
    /** A difference of temperatures. @param {number} kelvin */
    const degrees = (kelvin) => `${(us ? kelvin * 1.8 : kelvin).toFixed(1)} ${us ? "°F" : "°C"}`;
    return Object.freeze({ say, length, area, degrees, us, feet: FEET });
  }

  /** @param {string} text @param {Record<string, any>} places */
  const fill = (text, places) =>
    text.replace(/\{(\w+)\}/g, (whole, name) => (name in places ? String(places[name]) : whole));

  /**
   * A text in pieces: what stands between places, and the names of places.
   * @param {string} text @returns {{text?: string, blank?: string}[]}
   */
  const pieces = (text) =>
    text
      .split(/(\{\w+\})/)
      .filter((piece) => piece)
      .map((piece) => (piece.startsWith("{") ? { blank: piece.slice(1, -1) } : { text: piece }));

  /**
   * An element with its attributes and what it holds; text stays text.
   * @param {string} tag @param {Record<string, any>} [given] @param {...(Node|string|null|undefined|false)} inside
   * @returns {any}
   */
  function element(tag, given = {}, ...inside) {
    const made = document.createElement(tag);
    for (const [name, value] of Object.entries(given)) {
      if (name.startsWith("on")) made.addEventListener(name.slice(2), value);
      else if (value === true) made.setAttribute(name, "");
      else if (value !== false && value !== null && value !== undefined) made.setAttribute(name, String(value));
    }
    made.append(.../** @type {(Node|string)[]} */ (inside.filter((each) => each || each === "")));
    return made;
  }

  /**
   * Where the keys were in a panel that is about to be written anew, so that they go on there:
   * at the same word, else at its question. What is asked for takes them itself.
   * @param {HTMLElement} panel @returns {() => void} to be called once it is written
   */
  function place(panel) {
    const had = document.activeElement;
    if (!(had instanceof HTMLElement) || !panel.contains(had)) return () => {};
    const named = (/** @type {HTMLElement} */ each) => each.dataset.blank || each.textContent;
    const alike = () => /** @type {HTMLElement[]} */ ([...panel.querySelectorAll("button:not(:disabled), input, summary")]).filter((each) => named(each) === name);
    const name = named(had);
    const number = alike().indexOf(had);
    return () => {
      if (panel.contains(document.activeElement)) return;
      const title = /** @type {HTMLElement|null} */ (panel.querySelector("h1"));
      title?.setAttribute("tabindex", "-1");
      (alike()[number] || title)?.focus({ preventScroll: true });
    };
  }

  let isPressed = false; // a word, by the mouse or by what a browser makes of a finger
  /** @type {(() => void)[]} */
  let waiting = [];

  /**
   * What draws words anew, now or once none is pressed: a word that is drawn anew between press and
   * release does not hear them. It comes before what the word itself does.
   * @param {() => void} then
   */
  function afterPress(then) {
    if (isPressed) waiting.push(then);
    else then();
  }

  function released() {
    const every = waiting;
    [isPressed, waiting] = [false, []];
    every.forEach((then) => then());
  }
  window.addEventListener("mousedown", (event) => (isPressed = event.target instanceof Element && event.target.closest("button, summary") !== null), true);
  window.addEventListener("click", released, true);
  window.addEventListener("mouseup", () => setTimeout(released), true); // let go elsewhere, there is no click

  return Object.freeze({ inWords, fill, pieces, element, place, afterPress });
})();
