// Which way the ground falls: one arrow on free ground, with the drop in words.
"use strict";

/** @typedef {{east: number, north: number, said: string}} Fall */
const fieldDownhill = (() => {
  const { svg, text } = fieldDrawing;
  const LONG_PX = 76;
  const LETTER_PX = 7.2;
  const HIGH_PX = 18; // of a line of words
  const STEPS = 16; // over the room, each way
  const HEAD_PX = 11;
  const WING_PX = 4.5;

  /**
   * The arrow on the free place nearest to a point; nothing where none is free.
   * @param {Fall} fall @param {Pair} by in pixels @param {number[]} room left, top, right and bottom
   * @param {(box: number[]) => boolean} isFree @param {(key: string) => string} say
   * @returns {Element[]}
   */
  function arrow(fall, by, [left, top, right, bottom], isFree, say) {
    const places = [];
    for (let across = 1; across < STEPS; across += 1) {
      for (let down = 1; down < STEPS; down += 1) places.push([left + ((right - left) * across) / STEPS, top + ((bottom - top) * down) / STEPS]);
    }
    places.sort((one, other) => fieldPlace.apart(one, by) - fieldPlace.apart(other, by));
    // Where it is crowded a shorter one, with the one word that matters.
    for (const isShort of [false, true]) {
      for (const place of places) {
        const made = at(fall, place, isShort, say);
        if (made.boxes.every((box) => box[0] >= left && box[1] >= top && box[2] <= right && box[3] <= bottom && isFree(box))) return made.drawn();
      }
    }
    return [];
  }

  /** The arrow around one place, and the boxes it takes. @param {Fall} fall @param {number[]} place @param {boolean} isShort @param {(key: string) => string} say */
  function at(fall, [x, y], isShort, say) {
    const [dx, dy] = [fall.east, -fall.north];
    const half = LONG_PX / (isShort ? 4 : 2);
    const [tail, tip] = [[x - dx * half, y - dy * half], [x + dx * half, y + dy * half]];
    const shaft = [Math.min(tail[0], tip[0]) - 8, Math.min(tail[1], tip[1]) - 8, Math.max(tail[0], tip[0]) + 8, Math.max(tail[1], tip[1]) + 8];
    const up = beyond(tail, -dx, -dy, [say("uphill")]);
    const down = beside(tip, dx, dy, isShort ? [say("downhill")] : [say("downhill"), fall.said]);
    const drawn = () => [
      svg("path", { class: "fall", d: tapered(tail, tip, dx, dy) }),
      text(say("downhill"), down[0], down[1] + 13, "fall-word"),
      ...(isShort ? [] : [text(say("uphill"), up[0], up[3] - 5, "fall-word"), text(fall.said, down[0], down[1] + 13 + HIGH_PX, "fall-word small")]),
    ];
    return { boxes: isShort ? [shaft, down] : [shaft, up, down], drawn };
  }

  /** The box of lines of words beyond the end of an arrow. @param {number[]} end @param {number} dx @param {number} dy @param {string[]} lines */
  function beyond(end, dx, dy, lines) {
    const [wide, high] = [LETTER_PX * Math.max(...lines.map((each) => each.length)), HIGH_PX * lines.length];
    const reach = 5 + Math.abs(dx) * (wide / 2) + Math.abs(dy) * (high / 2);
    const [x, y] = [end[0] + dx * reach, end[1] + dy * reach];
    return [x - wide / 2, y - high / 2, x + wide / 2, y + high / 2];
  }

  /** The box of lines of words at the lower end of an arrow, beyond one that lies flat. @param {number[]} tip @param {number} dx @param {number} dy @param {string[]} lines */
  function beside(tip, dx, dy, lines) {
    if (Math.abs(dx) > 0.8) return beyond(tip, dx, dy, lines);
    const [wide, high] = [LETTER_PX * Math.max(...lines.map((each) => each.length)), HIGH_PX * lines.length];
    const [left, y] = [dx < 0 ? tip[0] - 12 - wide : tip[0] + 12, tip[1] - dy * 12];
    return [left, y - high / 2, left + wide, y + high / 2];
  }

  /** A line that grows thicker, with its head. @param {number[]} tail @param {number[]} tip @param {number} dx @param {number} dy */
  function tapered(tail, tip, dx, dy) {
    const neck = [tip[0] - dx * HEAD_PX * 0.8, tip[1] - dy * HEAD_PX * 0.8];
    const foot = [tip[0] - dx * HEAD_PX, tip[1] - dy * HEAD_PX];
    const corner = (/** @type {number[]} */ at, /** @type {number} */ off) => `${(at[0] - dy * off).toFixed(1)} ${(at[1] + dx * off).toFixed(1)}`;
    return `M${corner(tail, 0.4)}L${corner(neck, 1.5)}L${corner(foot, WING_PX)}L${corner(tip, 0)}L${corner(foot, -WING_PX)}L${corner(neck, -1.5)}L${corner(tail, -0.4)}Z`;
  }

  return Object.freeze({ arrow });
})();
