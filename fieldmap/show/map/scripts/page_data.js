"use strict";
// What the page knows, and small things that all its scripts use.
const fieldPage = (() => {
  /** @param {string} id */
  const read = (id) => JSON.parse(/** @type {HTMLElement} */ (document.getElementById(id)).textContent || "null");
  const data = read("fieldmap-data");
  const { say } = data;
  /** @param {string} id @returns {any} */
  const byId = (id) => document.getElementById(id);
  /** @param {string} selector @returns {any[]} */
  const all = (selector) => [...document.querySelectorAll(selector)];
  /** @param {string} text @param {Record<string, unknown>} values */
  const fill = (text, values) => text.replace(/\{(\w+)\}/g, (_, key) => String(values[key]));
  /** An element with a text. @param {string} tag @param {string} text @param {Element} [parent] @returns {any} */
  const add = (tag, text, parent) => {
    const element = document.createElement(tag);
    element.textContent = text;
    if (parent) parent.append(element);
    return element;
  };
  // What is kept on this device: some viewers of files forbid it, and then nothing is kept.
  const kept = {
    /** @param {string} key @returns {any} */
    get(key) {
      try {
        return JSON.parse(localStorage.getItem(`fieldmap ${document.title} ${key}`) || "null");
      } catch {
        return null;
      }
    },
    /** @param {string} key @param {unknown} value */
    set(key, value) {
      try {
        localStorage.setItem(`fieldmap ${document.title} ${key}`, JSON.stringify(value));
      } catch {
        // nothing is kept
      }
    },
  };
  // The text of a column of texts that stand once each.
  /** @param {{texts: string[], of: number[]}} column @param {number} at */
  const cell = (column, at) => column.texts[column.of[at]];
  const listed = (/** @type {string[]} */ names) => (names.length < 2 ? names.join("") : fill(say.listed, { most: names.slice(0, -1).join(", "), last: names[names.length - 1] }));
  // Runs of neighbouring beds by their first and last: "A1 to A3".
  /** @param {number[]} beds */
  const runs = (beds) => {
    /** @type {number[][]} */
    const found = [];
    for (const bed of [...beds].sort((one, other) => one - other)) {
      const last = found[found.length - 1];
      if (last && last[last.length - 1] === bed - 1 && data.plotOf[bed] === data.plotOf[bed - 1]) last.push(bed);
      else found.push([bed]);
    }
    return found;
  };
  /** @param {number[]} run */
  const runName = (run) => (run.length === 1 ? data.beds[run[0]] : fill(say.run, { first: data.beds[run[0]], last: data.beds[run[run.length - 1]] }));
  // As dates and numbers are written there.
  const { lang } = document.documentElement;
  const locale = lang === "en" ? `en-${data.units.us ? "US" : "GB"}` : lang;
  const narrow = window.matchMedia("(max-width: 760px)");
  const low = window.matchMedia("(max-height: 480px)"); // a phone held sideways
  const today = () => {
    const now = new Date();
    return [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((part) => String(part).padStart(2, "0")).join("-");
  };
  return Object.freeze({ read, data, say, byId, all, fill, add, kept, cell, listed, runs, runName, narrow, low, locale, today });
})();
