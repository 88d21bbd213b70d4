"use strict";
/** Colours of a look, and those along its ramps. */
const fieldPalette = (() => {
  const COLD = "#233f73"; // the dark end of the ramp of cold

  /** @param {string} hex @returns {[number, number, number]} */
  const parts = (hex) => [parseInt(hex.slice(1, 3), 16), parseInt(hex.slice(3, 5), 16), parseInt(hex.slice(5, 7), 16)];

  /** A colour that lets through. @param {string} hex @param {number} share */
  const clear = (hex, share) => `rgba(${parts(hex).join(",")},${share})`;

  /** @param {string} one @param {string} other @param {number} share of the other */
  function mixed(one, other, share) {
    const [from, to] = [parts(one), parts(other)];
    return `rgb(${from.map((part, at) => Math.round(part + (to[at] - part) * share)).join(",")})`;
  }

  /**
   * Colours of the codes 0 to 254 along a ramp, red, green and blue in turn.
   * @param {string[]} samples
   */
  function table(samples) {
    const found = new Uint8Array(255 * 3);
    const stops = samples.map(parts);
    for (let code = 0; code < 255; code += 1) {
      const at = (code / 254) * (stops.length - 1);
      const low = Math.min(Math.floor(at), stops.length - 2);
      for (let part = 0; part < 3; part += 1) {
        found[3 * code + part] = Math.round(stops[low][part] + (stops[low + 1][part] - stops[low][part]) * (at - low));
      }
    }
    return found;
  }

  /** How dark a colour is to the eye, 0 to 1. @param {string} hex */
  function lightness(hex) {
    const [red, green, blue] = parts(hex);
    return (0.299 * red + 0.587 * green + 0.114 * blue) / 255;
  }

  /** All colours of one look. */
  class Palette {
    /** @param {Scene["looks"]} looks @param {LookName} name */
    constructor(looks, name) {
      this.name = name;
      this.colours = looks[name].colours;
      this.dark = lightness(this.colours.paper) < 0.5;
      /** @type {Record<string, Uint8Array>} */
      this.tables = {};
      this.ramps = looks[name].ramps;
    }

    /** @param {string} ramp */
    table(ramp) {
      this.tables[ramp] ??= table(this.ramps[ramp]);
      return this.tables[ramp];
    }

    /** Colour of a code along a ramp. @param {string} ramp @param {number} code */
    colour(ramp, code) {
      const rgb = this.table(ramp);
      return `rgb(${rgb[3 * code]},${rgb[3 * code + 1]},${rgb[3 * code + 2]})`;
    }
  }

  /**
   * How lines and shadows that belong to a question are drawn, on the map and in legends:
   * colour, width in pixels, and dashes; a shadow is filled.
   * @param {Palette} palette @returns {Record<"pocket" | "drain" | "choice" | "isoline" | "shadow", {colour: string, px: number, dashes: number[]}>}
   */
  function marks({ dark, colours }) {
    return {
      pocket: { colour: dark ? "#8fb9dd" : COLD, px: 1.8, dashes: [7, 5] },
      drain: { colour: colours.water_ink, px: 2.6, dashes: [] },
      choice: { colour: colours.ink, px: 1.6, dashes: [7, 4] },
      isoline: { colour: clear(dark ? "#bfe0f6" : COLD, 0.8), px: 1, dashes: [2.5, 2.5] },
      shadow: { colour: clear(dark ? "#000000" : colours.ink, 0.42), px: 0, dashes: [] },
    };
  }

  return Object.freeze({ Palette, marks, COLD, parts, clear, mixed, lightness });
})();
