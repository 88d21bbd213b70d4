// What stands around the plots and may be changed; what has no name is called by where it stands.
"use strict";

/** @typedef {{name: string, label: string, kind: string, thing: Thing}} Standing */
const fieldStanding = (() => {
  const ALONG_M = 15; // nearer to a plot it stands along its side (a choice)

  /**
   * Each thing once, by a name that no other has.
   * @param {Thing[]} things @param {{name: string, kind: string}[]} known by name, else by kind, as they were read
   * @param {(thing: Thing) => string} kindOf @param {ReturnType<typeof fieldPlace.around>} place @param {Words} texts
   * @returns {Standing[]}
   */
  function among(things, known, kindOf, place, texts) {
    const words = fieldWords.inWords(texts);
    const names = new Set(known.map((each) => each.name));
    const isLine = (/** @type {Thing} */ thing) => thing.geometry.type.endsWith("LineString");
    const there = things.filter((each) => each.layer === "surroundings" && names.has(each.properties.name || kindOf(each)));
    const plots = things.filter((each) => each.layer === "plots").flatMap((each) => fieldShapes.paths(each.geometry).slice(0, 1).map(({ points }) => ({ name: each.properties.name || texts.kinds.plot.title, ring: points.map(place.metres) })));
    /** @type {Map<string, Standing>} */
    const found = new Map();
    for (const thing of there) {
      const kind = kindOf(thing);
      const own = thing.properties.name;
      const other = found.get(own);
      if (own && other && (isLine(other.thing) || !isLine(thing))) continue; // a line of that name goes first
      const path = inMetres(thing, place);
      const name = own || unlike(called(path, texts.kinds[kind]?.noun ?? kind, plots, texts), found, words);
      const size = fieldPlace.length(path.points, path.closed) / (path.closed ? 2 : 1);
      const label = own || !size ? name : words.say("called_and_size", { name, length: words.length(size) });
      found.set(name, { name, label, kind, thing });
    }
    return [...found.values()];
  }

  /** @param {Thing} thing @param {ReturnType<typeof fieldPlace.around>} place */
  function inMetres(thing, place) {
    const [{ points, closed }] = fieldShapes.paths(thing.geometry);
    return { points: points.map(place.metres), closed };
  }

  /**
   * What it is, and where by the plot that is nearest.
   * @param {{points: number[][], closed: boolean}} path @param {string} thing @param {{name: string, ring: number[][]}[]} plots @param {Words} texts
   */
  function called({ points, closed }, thing, plots, texts) {
    const { say } = fieldWords.inWords(texts);
    const at = closed ? middle(points) : fieldPlace.along(points, fieldPlace.length(points) / 2);
    const away = (/** @type {number[][]} */ ring) => (fieldPlace.isInside(at, ring) ? 0 : fieldPlace.onPath(at, ring, true).away);
    const [nearest] = [...plots].sort((one, other) => away(one.ring) - away(other.ring));
    if (!nearest) return thing;
    const far_m = away(nearest.ring);
    if (!far_m) return say("called_within", { thing, plot: nearest.name });
    const from = middle(nearest.ring);
    const eighth = Math.round(Math.atan2(at[0] - from[0], at[1] - from[1]) / (Math.PI / 4));
    const direction = texts.directions[2 * ((eighth + 8) % 8)];
    return say(far_m <= ALONG_M ? "called_along" : "called_beside", { thing, direction, plot: nearest.name });
  }

  /** @param {number[][]} ring */
  const middle = (ring) => [0, 1].map((axis) => (Math.min(...ring.map((each) => each[axis])) + Math.max(...ring.map((each) => each[axis]))) / 2);

  /** @param {string} name @param {Map<string, Standing>} taken @param {ReturnType<typeof fieldWords.inWords>} words */
  function unlike(name, taken, words) {
    let next = name;
    for (let number = 2; taken.has(next); number += 1) next = words.say("called_again", { name, number });
    return next;
  }

  /** A place on each part of a thing, in degrees. @param {Thing} thing */
  const placesOn = (thing) => fieldShapes.paths(thing.geometry).map(({ points, closed }) => (closed || points.length < 2 ? points[0] : [0, 1].map((axis) => (points[0][axis] + points[1][axis]) / 2)));

  return Object.freeze({ among, inMetres, placesOn });
})();
