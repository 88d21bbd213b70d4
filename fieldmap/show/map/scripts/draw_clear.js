"use strict";
/** What lies where on the canvas: what words keep off, and how far they are from it. */
const fieldClear = (() => {
  const MOST_CELLS = 32; // of a table of shapes, on a side
  const FEW = 12; // shapes that are looked through one by one

  /**
   * Shapes by where they lie, so that few are asked about each place.
   * @typedef {{west: number, south: number, wide: number, high: number, side: number, cells: number[][], asked: Int32Array, turn: number}} ShapeTable
   * @type {WeakMap<FieldShape[], ShapeTable>}
   */
  const TABLES = new WeakMap();

  /** The same shapes, sorted by where they lie for as long as the list is kept. @param {FieldShape[]} shapes */
  function sorted(shapes) {
    if (shapes.length < FEW) return shapes;
    const west = Math.min(...shapes.map(({ box }) => box[0]));
    const south = Math.min(...shapes.map(({ box }) => box[1]));
    const side = Math.min(MOST_CELLS, Math.ceil(Math.sqrt(shapes.length)));
    const wide = (Math.max(...shapes.map(({ box }) => box[2])) - west) / side || 1;
    const high = (Math.max(...shapes.map(({ box }) => box[3])) - south) / side || 1;
    const table = { west, south, wide, high, side, cells: Array.from({ length: side * side }, () => /** @type {number[]} */ ([])), asked: new Int32Array(shapes.length), turn: 0 };
    shapes.forEach(({ box }, at) => {
      const [left, bottom, right, top] = cellsOf(table, box[0], box[1], box[2], box[3]);
      for (let up = bottom; up <= top; up += 1) for (let across = left; across <= right; across += 1) table.cells[up * side + across].push(at);
    });
    TABLES.set(shapes, table);
    return shapes;
  }

  /** @param {ShapeTable} table @param {number} west @param {number} south @param {number} east @param {number} north */
  function cellsOf({ west: w, south: s, wide, high, side }, west, south, east, north) {
    const within = (/** @type {number} */ cell) => Math.max(0, Math.min(side - 1, Math.floor(cell)));
    return [within((west - w) / wide), within((south - s) / high), within((east - w) / wide), within((north - s) / high)];
  }

  /** Whether a test holds of any shape whose extent may touch a box of metres. @param {FieldShape[]} shapes @param {number} west @param {number} south @param {number} east @param {number} north @param {(shape: FieldShape) => boolean} test */
  function anyNear(shapes, west, south, east, north, test) {
    const table = TABLES.get(shapes);
    if (!table) return shapes.some(test);
    const [left, bottom, right, top] = cellsOf(table, west, south, east, north);
    const { asked, cells, side } = table;
    table.turn += 1;
    for (let up = bottom; up <= top; up += 1) {
      for (let across = left; across <= right; across += 1) {
        for (const at of cells[up * side + across]) {
          if (asked[at] === table.turn) continue;
          asked[at] = table.turn;
          if (test(shapes[at])) return true;
        }
      }
    }
    return false;
  }

  /** Whether a box lies off all outlines and lines, but for one. @param {FieldSheet} sheet @param {PixelBox} box @param {FieldShape[]} shapes @param {FieldShape} [except] */
  function off({ view }, box, shapes, except) {
    const west = (box.left - view.left) / view.scale;
    const east = (box.right - view.left) / view.scale;
    const north = (view.top - box.top) / view.scale;
    const south = (view.top - box.bottom) / view.scale;
    const metres = { left: west, right: east, top: south, bottom: north };
    return !anyNear(shapes, west, south, east, north, (shape) => {
      const reach = shape.box;
      if (shape === except || reach[0] > east || reach[2] < west || reach[1] > north || reach[3] < south) return false;
      if (shape.form === "area" && fieldFrame.inside(west, south, shape.rings)) return true;
      return shape.rings.some((ring) => {
        if (ring.length === 2) return true;
        for (let at = 2; at < ring.length; at += 2) {
          if (clipped([ring[at - 2], ring[at - 1]], [ring[at], ring[at + 1]], metres)) return true;
        }
        return false;
      });
    });
  }

  /** Left and right end of a plot between two heights on the canvas. @param {FieldView} view @param {FieldShape} plot @param {number} top @param {number} bottom */
  function extent(view, plot, top, bottom) {
    let [left, right] = [Infinity, -Infinity];
    const see = (/** @type {number} */ x) => {
      left = Math.min(left, x);
      right = Math.max(right, x);
    };
    for (const ring of plot.rings) {
      for (let at = 2; at < ring.length; at += 2) {
        const [x1, y1, x2, y2] = [view.x(ring[at - 2]), view.y(ring[at - 1]), view.x(ring[at]), view.y(ring[at + 1])];
        if (Math.max(y1, y2) < top || Math.min(y1, y2) > bottom) continue;
        for (const y of [Math.max(top, Math.min(y1, y2)), Math.min(bottom, Math.max(y1, y2))]) {
          see(y1 === y2 ? x1 : x1 + ((x2 - x1) * (y - y1)) / (y2 - y1));
          if (y1 === y2) see(x2);
        }
      }
    }
    return left === Infinity ? null : { left, right };
  }

  /** The part of a straight line that lies in a box. @param {number[]} from @param {number[]} to @param {PixelBox} box */
  function clipped([x1, y1], [x2, y2], { left, top, right, bottom }) {
    let [start, end] = [0, 1];
    for (const [step, room] of [[x1 - x2, x1 - left], [x2 - x1, right - x1], [y1 - y2, y1 - top], [y2 - y1, bottom - y1]]) {
      if (step === 0) {
        if (room < 0) return null;
      } else if (step < 0) {
        start = Math.max(start, room / step);
      } else {
        end = Math.min(end, room / step);
      }
    }
    if (start >= end) return null;
    const at = (/** @type {number} */ share) => [x1 + (x2 - x1) * share, y1 + (y2 - y1) * share];
    return [at(start), at(end)];
  }

  /** How far a box is from an outline, in pixels; 0 where they touch. @param {FieldView} view @param {PixelBox} box @param {FieldShape} shape */
  function apart(view, box, { rings }) {
    let least = Infinity;
    for (const ring of rings) {
      for (let at = 2; at < ring.length; at += 2) {
        const [from, to] = [at - 2, at].map((each) => [view.x(ring[each]), view.y(ring[each + 1])]);
        least = Math.min(least, clipped(from, to, box) ? 0 : offBox(from, to, box));
      }
    }
    const [x, y] = [(box.left + box.right) / 2, (box.top + box.bottom) / 2];
    return fieldFrame.inside((x - view.left) / view.scale, (view.top - y) / view.scale, rings) ? 0 : least;
  }

  /** Whether an outline is nearer to a box than some pixels; most are farther off by their extent alone. @param {FieldView} view @param {PixelBox} box @param {FieldShape} shape @param {number} px */
  function isNearer(view, box, shape, px) {
    const [west, south, east, north] = shape.box;
    const across = Math.max(view.x(west) - box.right, 0, box.left - view.x(east));
    const up = Math.max(view.y(north) - box.bottom, 0, box.top - view.y(south));
    return Math.hypot(across, up) < px && apart(view, box, shape) < px;
  }

  /** Whether any other shape than one is nearer to a box than some pixels. @param {FieldView} view @param {PixelBox} box @param {FieldShape[]} shapes @param {FieldShape} own @param {number} px */
  function anyNearer(view, box, shapes, own, px) {
    const reach = { left: box.left - px, right: box.right + px, top: box.top - px, bottom: box.bottom + px };
    const [west, east] = [(reach.left - view.left) / view.scale, (reach.right - view.left) / view.scale];
    const [south, north] = [(view.top - reach.bottom) / view.scale, (view.top - reach.top) / view.scale];
    return anyNear(shapes, west, south, east, north, (shape) => shape !== own && isNearer(view, box, shape, px));
  }

  /** From a straight line to a box that it does not cross. @param {number[]} from @param {number[]} to @param {PixelBox} box */
  function offBox(from, to, { left, top, right, bottom }) {
    const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
    const corners = [[left, top], [right, top], [left, bottom], [right, bottom]].map(([x, y]) => {
      const share = Math.max(0, Math.min(1, ((x - from[0]) * dx + (y - from[1]) * dy) / (dx * dx + dy * dy || 1)));
      return Math.hypot(from[0] + share * dx - x, from[1] + share * dy - y);
    });
    const ends = [from, to].map(([x, y]) => Math.hypot(Math.max(left - x, 0, x - right), Math.max(top - y, 0, y - bottom)));
    return Math.min(...corners, ...ends);
  }

  /** Whether a straight line crosses an outline. @param {FieldView} view @param {FieldShape} shape @param {Point} from @param {Point} to */
  function overOutline(view, { rings }, from, to) {
    const corner = (/** @type {Float32Array} */ ring, /** @type {number} */ at) => ({ x: view.x(ring[at]), y: view.y(ring[at + 1]) });
    return rings.some((ring) => {
      for (let at = 2; at < ring.length; at += 2) if (crosses(from, to, corner(ring, at - 2), corner(ring, at))) return true;
      return false;
    });
  }

  /** Whether two straight lines cross. @param {Point} a @param {Point} b @param {Point} c @param {Point} d */
  function crosses(a, b, c, d) {
    const side = (/** @type {Point} */ p, /** @type {Point} */ q, /** @type {Point} */ r) => Math.sign((q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x));
    return side(a, b, c) !== side(a, b, d) && side(c, d, a) !== side(c, d, b);
  }

  return Object.freeze({ sorted, off, extent, clipped, apart, anyNearer, crosses, overOutline });
})();
