// The relief of the ground and its contours on a canvas.
"use strict";

/**
 * @typedef {{west_m: number, north_m: number, cell_m: number, rows: number, cols: number,
 *   least: number, step: number, values: string}} Packed
 * @typedef {{west_m: number, north_m: number, cell_m: number, rows: number, cols: number,
 *   values: Float32Array}} Grid
 * @typedef {{picture: HTMLImageElement, box: number[]}} Photo of the ground; its west, south, east and north in metres
 * @typedef {{scale: number, px: (metres: number[]) => Pair, metres: (px: number[]) => Pair,
 *   width: number, height: number, room: number[]}} View of a drawing; its room, as left, top, right and
 *   bottom, is what is seen beside the words
 */
const fieldGround = (() => {
  const MISSING = -32768;
  const LOW = [0xe6, 0xe9, 0xda];
  const HIGH = [0xf3, 0xee, 0xdf];
  const INTERVALS_M = [0.25, 0.5, 1, 2, 5, 10, 20];
  const PHOTO_ALPHA = 0.6; // pale, or what is drawn is lost on dark woods
  const APART_PX = 24; // between contours where the ground falls as it mostly does

  /** @param {Packed} packed @returns {Grid} */
  function unpacked(packed) {
    const bytes = Uint8Array.from(atob(packed.values), (each) => each.charCodeAt(0));
    const whole = new DataView(bytes.buffer);
    const values = new Float32Array(packed.rows * packed.cols);
    for (let at = 0; at < values.length; at += 1) {
      const value = whole.getInt16(2 * at, true);
      values[at] = value === MISSING ? NaN : packed.least + value * packed.step;
    }
    return { ...packed, values };
  }

  /** Relief as a picture of one pixel a cell. @param {Grid} grid */
  function relief(grid) {
    const { rows, cols, cell_m, values } = grid;
    const picture = document.createElement("canvas");
    [picture.width, picture.height] = [cols, rows];
    const context = /** @type {CanvasRenderingContext2D} */ (picture.getContext("2d"));
    const pixels = context.createImageData(cols, rows);
    const known = values.filter((each) => !Number.isNaN(each));
    const least = known.reduce((one, other) => Math.min(one, other), Infinity);
    const most = known.reduce((one, other) => Math.max(one, other), -Infinity);
    for (let row = 0; row < rows; row += 1) {
      for (let col = 0; col < cols; col += 1) {
        const at = row * cols + col;
        if (Number.isNaN(values[at])) continue;
        const share = most > least ? (values[at] - least) / (most - least) : 0;
        const east = (values[row * cols + Math.min(col + 1, cols - 1)] - values[row * cols + Math.max(col - 1, 0)]) / (2 * cell_m);
        const north = (values[Math.max(row - 1, 0) * cols + col] - values[Math.min(row + 1, rows - 1) * cols + col]) / (2 * cell_m);
        // Light from the north-west, 45° high: Lambert's law on the slope, less level ground.
        const lit = (1 + (east - north) / Math.SQRT2) / Math.sqrt(2 * (1 + east * east + north * north)) - Math.SQRT1_2;
        const shade = Number.isNaN(lit) ? 0 : 170 * lit;
        LOW.forEach((low, channel) => {
          pixels.data[4 * at + channel] = low + share * (HIGH[channel] - low) + shade;
        });
        pixels.data[4 * at + 3] = 255;
      }
    }
    context.putImageData(pixels, 0, 0);
    return picture;
  }

  /**
   * Contours at heights that are multiples of the interval, as chained lines in metres.
   * @param {Grid} grid @param {number} interval_m
   * @returns {{height_m: number, lines: number[][][]}[]}
   */
  function contours(grid, interval_m) {
    /** @type {Map<number, Map<string, number[][]>>} */
    const found = new Map();
    const { rows, cols, values } = grid;
    for (let row = 0; row + 1 < rows; row += 1) {
      for (let col = 0; col + 1 < cols; col += 1) {
        const at = row * cols + col;
        const corner = [values[at], values[at + 1], values[at + cols + 1], values[at + cols]];
        if (corner.some(Number.isNaN)) continue;
        const first = Math.ceil(Math.min(...corner) / interval_m);
        const last = Math.floor(Math.max(...corner) / interval_m);
        for (let step = first; step <= last; step += 1) {
          const lines = found.get(step) || new Map();
          found.set(step, lines);
          through(corner, step * interval_m + 1e-6, row, col, lines);
        }
      }
    }
    return [...found].map(([step, edges]) => ({ height_m: step * interval_m, lines: chained(edges, grid) }));
  }

  /**
   * Pieces of one contour through one square of four heights, by the edges they join.
   * @param {number[]} corner @param {number} height @param {number} row @param {number} col
   * @param {Map<string, number[][]>} lines
   */
  function through(corner, height, row, col, lines) {
    const places = [[row, col], [row, col + 1], [row + 1, col + 1], [row + 1, col]];
    const cuts = [];
    for (let side = 0; side < 4; side += 1) {
      const [one, other] = [corner[side], corner[(side + 1) % 4]];
      if (one < height === other < height) continue;
      const share = (height - one) / (other - one);
      const [from, to] = [places[side], places[(side + 1) % 4]];
      cuts.push([0, 1].map((axis) => from[axis] + share * (to[axis] - from[axis])));
    }
    for (let at = 0; at + 1 < cuts.length; at += 2) join(lines, cuts[at], cuts[at + 1]);
  }

  /** @param {Map<string, number[][]>} lines @param {number[]} one @param {number[]} other */
  function join(lines, one, other) {
    for (const [from, to] of [[one, other], [other, one]]) {
      const key = from.map((each) => each.toFixed(4)).join();
      lines.set(key, [...(lines.get(key) || []), to]);
    }
  }

  /** @param {Map<string, number[][]>} edges @param {Grid} grid */
  function chained(edges, grid) {
    const key = (/** @type {number[]} */ place) => place.map((each) => each.toFixed(4)).join();
    const used = new Set();
    const lines = [];
    const ends = [...edges].sort((one, other) => one[1].length - other[1].length); // open ends first
    for (const [begin] of ends) {
      if (used.has(begin)) continue;
      const line = [begin.split(",").map(Number)];
      used.add(begin);
      for (;;) {
        const next = (edges.get(key(line[line.length - 1])) || []).find((each) => !used.has(key(each)));
        if (!next) break;
        used.add(key(next));
        line.push(next);
      }
      const last = edges.get(key(line[line.length - 1])) || [];
      if (line.length > 2 && last.some((each) => key(each) === begin)) line.push(line[0]);
      if (line.length > 1)
        lines.push(line.map(([row, col]) => [grid.west_m + (col + 0.5) * grid.cell_m, grid.north_m - (row + 0.5) * grid.cell_m]));
    }
    return lines;
  }

  /** Median rise of the ground, metres a metre. @param {Grid} grid */
  function usualSlope(grid) {
    const slopes = [];
    for (let row = 1; row + 1 < grid.rows; row += 7) {
      for (let col = 1; col + 1 < grid.cols; col += 7) {
        const at = row * grid.cols + col;
        const rise = Math.hypot(grid.values[at + 1] - grid.values[at - 1], grid.values[at + grid.cols] - grid.values[at - grid.cols]);
        if (!Number.isNaN(rise)) slopes.push(rise / (2 * grid.cell_m));
      }
    }
    slopes.sort((one, other) => one - other);
    return slopes.length ? slopes[slopes.length >> 1] : 0;
  }

  /**
   * What draws the ground of a place on a canvas, again for each view.
   * @param {Packed|null} packed @param {(metres: number) => string} height in words
   */
  function of(packed, height) {
    const grid = packed && unpacked(packed);
    const picture = grid && relief(grid);
    const slope = grid ? Math.max(usualSlope(grid), 0.005) : 1;
    /** @type {Map<number, {height_m: number, lines: number[][][]}[]>} */
    const known = new Map();
    /** @type {Photo[]} */
    let photos = [];

    /** @param {CanvasRenderingContext2D} context @param {View} view */
    function draw(context, view) {
      context.fillStyle = "#fbf8f0";
      context.fillRect(0, 0, view.width, view.height);
      if (!grid || !picture) return;
      hatch(context, view);
      const [left, top] = view.px([grid.west_m, grid.north_m]);
      const size = grid.cell_m * view.scale;
      context.imageSmoothingEnabled = true;
      context.imageSmoothingQuality = "high";
      context.drawImage(picture, left, top, size * grid.cols, size * grid.rows);
      for (const photo of photos) lay(photo, context, view);
      drawContours(context, view);
    }

    /** @param {CanvasRenderingContext2D} context @param {View} view */
    function drawContours(context, view) {
      if (!grid) return;
      const fits = (/** @type {number} */ each) => (each / slope) * view.scale >= APART_PX;
      const interval = INTERVALS_M.find(fits) || INTERVALS_M[INTERVALS_M.length - 1];
      const every = known.get(interval) || contours(grid, interval);
      known.set(interval, every);
      const index = interval * (interval === 5 ? 2 : 5);
      for (const { height_m, lines } of every) {
        const isIndex = Math.abs(height_m / index - Math.round(height_m / index)) < 1e-6;
        context.strokeStyle = "rgb(154 127 92 / 62%)";
        context.lineWidth = isIndex ? 1.3 : 0.7;
        for (const line of lines) {
          const points = line.map(view.px);
          context.beginPath();
          points.forEach(([x, y], at) => (at ? context.lineTo(x, y) : context.moveTo(x, y)));
          context.stroke();
          if (isIndex) label(context, view, points, height(height_m));
        }
      }
    }
    /** What the relief shades from now on. @param {Photo[]} now */
    function shade(now) {
      photos = now;
    }
    return Object.freeze({ draw, shade, get isKnown() { return grid !== null; } });
  }

  /** A picture that the relief shades; until it has come, the relief is as it was. @param {Photo} photo @param {CanvasRenderingContext2D} context @param {View} view */
  function lay({ picture, box: [west, south, east, north] }, context, view) {
    if (!picture.complete || !picture.naturalWidth) return;
    // Whole pixels, or one sees the seams.
    const [left, top] = view.px([west, north]).map(Math.round);
    const [right, bottom] = view.px([east, south]).map(Math.round);
    context.save();
    context.globalCompositeOperation = "multiply";
    context.globalAlpha = PHOTO_ALPHA;
    context.drawImage(picture, left, top, right - left, bottom - top);
    context.restore();
  }

  /** What no height is known of. @param {CanvasRenderingContext2D} context @param {View} view */
  function hatch(context, view) {
    context.beginPath();
    for (let x = -view.height; x < view.width; x += 12) {
      context.moveTo(x, view.height);
      context.lineTo(x + view.height, 0);
    }
    context.strokeStyle = "rgb(35 38 31 / 14%)";
    context.lineWidth = 1;
    context.stroke();
  }

  /** A height on its line, upright, where the line is long. @param {CanvasRenderingContext2D} context @param {View} view @param {Pair[]} points @param {string} text */
  function label(context, view, points, text) {
    let passed = 0;
    for (let at = 1; at < points.length; at += 1) {
      const [one, two] = [points[at - 1], points[at]];
      passed += fieldPlace.apart(one, two);
      if (passed < 170 || two[0] < 20 || two[1] < 20 || two[0] > view.width - 20 || two[1] > view.height - 20) continue;
      passed = -330;
      const from = points[Math.max(0, at - 4)];
      let turn = Math.atan2(two[1] - from[1], two[0] - from[0]);
      if (Math.abs(turn) > Math.PI / 2) turn += Math.PI;
      context.save();
      context.translate(two[0], two[1]);
      context.rotate(turn);
      context.font = "12px 'Source Sans 3', sans-serif";
      context.textAlign = "center";
      context.textBaseline = "middle";
      context.lineWidth = 4;
      context.strokeStyle = "#ecebdc";
      context.strokeText(text, 0, 0);
      context.fillStyle = "#7a6038";
      context.fillText(text, 0, 0);
      context.restore();
    }
  }

  return Object.freeze({ of, unpacked, contours });
})();
