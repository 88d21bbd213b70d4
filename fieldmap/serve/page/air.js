// The way that cold air runs: arrows that grow thicker, and thicker ones where more runs.
"use strict";

const fieldAir = (() => {
  const APART_PX = 64; // between the beginnings of arrows, at least
  const LONG_PX = 84;
  const SHORT_PX = 22;
  const STEP_PX = 5;
  const FINEST_M = 2.5; // between beginnings
  const SHARE = 3; // of that distance, which another arrow keeps off
  const RUNS_M2_S = 0.05; // less than this through each metre across does not run (as on the map)
  const MOST_M2_S = 1.5; // through each metre across where arrows are widest (a choice)
  const WIDE_PX = [1, 3.2];
  const INK = "#1d3f6e";
  const HALO = "rgb(251 248 240 / 75%)";

  /**
   * What draws the arrows of one night.
   * @param {{east: Packed, north: Packed}|null} components
   */
  function of(components) {
    if (!components) return { draw: () => {}, isStill: false };
    const [east, north] = [components.east, components.north].map(fieldGround.unpacked);

    /** The flux at a place, in straight lines between middles of cells. @param {number[]} at metres */
    function flux(at) {
      const col = (at[0] - east.west_m) / east.cell_m - 0.5;
      const row = (east.north_m - at[1]) / east.cell_m - 0.5;
      const [left, upper] = [Math.floor(col), Math.floor(row)];
      if (left < 0 || upper < 0 || left + 1 >= east.cols || upper + 1 >= east.rows) return null;
      const [right, lower] = [col - left, row - upper];
      const of_ = (/** @type {Float32Array} */ values) => {
        const first = upper * east.cols + left;
        const second = first + east.cols;
        return (1 - lower) * ((1 - right) * values[first] + right * values[first + 1]) + lower * ((1 - right) * values[second] + right * values[second + 1]);
      };
      const found = [of_(east.values), of_(north.values)];
      const size = Math.hypot(found[0], found[1]);
      return size >= RUNS_M2_S ? { way: found.map((each) => each / size), size } : null;
    }

    /** Down the flow from a place, until it ends, is long enough, or meets another arrow. @param {number[]} from @param {number} scale @param {(at: number[]) => boolean} isFree */
    function followed(from, scale, isFree) {
      const line = [from];
      let strength = 0;
      for (let far = 0; far < LONG_PX; far += STEP_PX) {
        const at = line[line.length - 1];
        const here = flux(at);
        if (!here) break;
        const half = [0, 1].map((axis) => at[axis] + (here.way[axis] * STEP_PX) / scale / 2);
        const there = flux(half);
        if (!there) break;
        const next = [0, 1].map((axis) => at[axis] + (there.way[axis] * STEP_PX) / scale);
        if (!isFree(next)) break;
        line.push(next);
        strength += here.size;
      }
      return { line, strength: strength / Math.max(1, line.length - 1) };
    }

    /** Arrows from places that stay where they are when the picture moves. @param {View} view */
    function arrows(view) {
      const { scale } = view;
      const apart = FINEST_M * 2 ** Math.max(0, Math.ceil(Math.log2(APART_PX / scale / FINEST_M)));
      const [west, north_m] = view.metres([0, 0]);
      const [most, south] = view.metres([view.width, view.height]);
      const square = (/** @type {number[]} */ at) => at.map((each) => Math.floor((each * SHARE) / apart)).join();
      /** @type {Map<string, number>} */
      const taken = new Map();
      const found = [];
      for (let down = Math.floor(south / apart) - 1; down * apart < north_m + apart; down += 1) {
        for (let across = Math.floor(west / apart) - 1; across * apart < most + apart; across += 1) {
          const from = [(across + (down % 2 ? 0.75 : 0.25)) * apart, (down + 0.5) * apart];
          const number = found.length;
          if (taken.has(square(from))) continue;
          const { line, strength } = followed(from, scale, (at) => (taken.get(square(at)) ?? number) === number);
          if ((line.length - 1) * STEP_PX < SHORT_PX) continue;
          for (const at of line) taken.set(square(at), number);
          found.push({ line: line.map(view.px), strength });
        }
      }
      return found;
    }

    return Object.freeze({
      /** @param {CanvasRenderingContext2D} context @param {View} view */
      draw(context, view) {
        const shape = new Path2D();
        for (const { line, strength } of arrows(view)) {
          const share = Math.min(1, Math.sqrt(strength / MOST_M2_S));
          arrow(shape, line, WIDE_PX[0] + share * (WIDE_PX[1] - WIDE_PX[0]));
        }
        context.lineJoin = "round";
        [context.strokeStyle, context.lineWidth, context.fillStyle] = [HALO, 2, INK];
        context.stroke(shape);
        context.fill(shape);
      },
      /** Whether it runs nowhere. */
      isStill: !east.values.some((each, at) => Math.hypot(each, north.values[at]) >= RUNS_M2_S),
    });
  }

  /** One arrow, that grows from nothing to its width. @param {Path2D} shape @param {Pair[]} line in pixels @param {number} wide */
  function arrow(shape, line, wide) {
    const head = 6 + 1.6 * wide;
    const neck = Math.max(1, line.length - 1 - Math.round((0.7 * head) / STEP_PX));
    const sides = line.slice(0, neck + 1).map(([x, y], at) => {
      const [before, after] = [line[Math.max(0, at - 1)], line[Math.min(line.length - 1, at + 1)]];
      const size = fieldPlace.apart(before, after) || 1;
      const half = 0.25 + ((wide / 2) * at) / neck;
      const off = [(-(after[1] - before[1]) / size) * half, ((after[0] - before[0]) / size) * half];
      return { left: [x + off[0], y + off[1]], right: [x - off[0], y - off[1]] };
    });
    const around = [...sides.map((each) => each.left), ...sides.map((each) => each.right).reverse()];
    around.forEach(([x, y], at) => (at ? shape.lineTo(x, y) : shape.moveTo(x, y)));
    shape.closePath();
    const tip = line[line.length - 1];
    const back = line[Math.max(0, line.length - 1 - Math.ceil(head / STEP_PX))];
    const size = fieldPlace.apart(back, tip) || 1;
    const [dx, dy] = [(tip[0] - back[0]) / size, (tip[1] - back[1]) / size];
    const wing = 2.4 + 0.9 * wide;
    const foot = [tip[0] - dx * head, tip[1] - dy * head];
    shape.moveTo(tip[0], tip[1]);
    shape.lineTo(foot[0] - dy * wing, foot[1] + dx * wing);
    shape.lineTo(foot[0] + dx * head * 0.25, foot[1] + dy * head * 0.25);
    shape.lineTo(foot[0] + dy * wing, foot[1] - dx * wing);
    shape.closePath();
  }

  return Object.freeze({ of });
})();
