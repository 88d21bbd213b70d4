"use strict";
// Numbers of the ground under a finger, unpacked when they are first read.
const fieldReadings = (() => {
  const { data, say } = fieldPage;
  const grids = new Map();
  function unpack(/** @type {any} */ reading) {
    if (!grids.has(reading)) {
      grids.set(reading, (async () => {
        const codes = new Int16Array(await fieldTables.gunzip(reading.codes));
        const { rows, cols } = data.place;
        for (let row = 0; row < rows; row += 1) {
          for (let at = row * cols + 1; at < (row + 1) * cols; at += 1) codes[at] += codes[at - 1];
        }
        return codes;
      })());
    }
    return grids.get(reading);
  }
  function cellOf(/** @type {any} */ { lat, lng }) {
    const { rows, cols, middle, half } = data.place;
    const u = (lng - middle[0]) / half[0];
    const v = (lat - middle[1]) / half[1];
    const terms = [1, u, v, u * u, u * v, v * v];
    const along = (/** @type {number[]} */ weights) => Math.floor(weights.reduce((sum, weight, at) => sum + weight * terms[at], 0));
    const col = along(data.place.col);
    const row = along(data.place.row);
    return row >= 0 && row < rows && col >= 0 && col < cols ? row * cols + col : null;
  }
  async function phrases(/** @type {number} */ cell, /** @type {string} */ key, /** @type {number} */ at) {
    const readings = data.readings.filter((/** @type {any} */ one) => one.key === key && one.at === at);
    const texts = (await Promise.all(readings.map(async (/** @type {any} */ reading) => reading.phrases[(await unpack(reading))[cell] - reading.first]))).filter(Boolean);
    const lead = texts.length ? readings[0].lead : "";
    return lead ? [`${lead} ${texts.join(", ")}`] : texts;
  }
  /** What is known of a spot, that of the question asked first. @param {any} latlng @returns {Promise<string[]>} */
  async function at(latlng) {
    if (!("DecompressionStream" in window)) return [say.too_old];
    const cell = cellOf(latlng);
    if (cell === null) return [say.nothing_here];
    const { key, at: view } = fieldAnswers.asked();
    /** @type {Record<string, any[]>} */
    const others = { shade: ["sun", data.summer], tunnels: ["steep", 0], sun: ["sun", view], "what-if": ["what-if", view], water: ["water", 0] };
    const first = others[key] || ["cold", 0];
    const rest = [["cold", 0], ["steep", 0], ["sun", data.spring]].filter(([other]) => other !== first[0]);
    const said = [];
    for (const [of, number] of [first, ...rest]) said.push(...(await phrases(cell, of, number)));
    return said.length ? said : [say.nothing_here];
  }
  return Object.freeze({ at });
})();
