// Degrees to metres around the middle of the place and back, and what is measured in them.
"use strict";

/**
 * @typedef {[number, number]} Pair longitude and latitude, or metres east and north
 * @typedef {{longitude: number, latitude: number, east_m: number, north_m: number}} Middle
 */
const fieldPlace = (() => {
  const FINEST = 1e8; // of a degree: a millimetre

  /** @param {Middle} middle */
  function around(middle) {
    return Object.freeze({
      /** @param {number[]} degrees @returns {Pair} */
      metres: ([longitude, latitude]) => [
        (longitude - middle.longitude) * middle.east_m,
        (latitude - middle.latitude) * middle.north_m,
      ],
      /** @param {number[]} metres @returns {Pair} */
      degrees: ([east, north]) => [
        Math.round((middle.longitude + east / middle.east_m) * FINEST) / FINEST,
        Math.round((middle.latitude + north / middle.north_m) * FINEST) / FINEST,
      ],
    });
  }

  /** @param {number[]} one @param {number[]} other */
  const apart = (one, other) => Math.hypot(other[0] - one[0], other[1] - one[1]);

  /** @param {number[][]} points @param {boolean} [closed] */
  function length(points, closed = false) {
    let sum = 0;
    for (let at = 1; at < points.length; at += 1) sum += apart(points[at - 1], points[at]);
    return closed && points.length > 1 ? sum + apart(points[points.length - 1], points[0]) : sum;
  }

  /** The place so far along a line. @param {number[][]} points @param {number} far */
  function along(points, far) {
    let passed = 0;
    for (let at = 1; at < points.length; at += 1) {
      const size = apart(points[at - 1], points[at]);
      if (passed + size >= far) return [0, 1].map((axis) => points[at - 1][axis] + ((far - passed) / (size || 1)) * (points[at][axis] - points[at - 1][axis]));
      passed += size;
    }
    return points[points.length - 1];
  }

  /** Area of a ring, square metres. @param {number[][]} points */
  function area(points) {
    let sum = 0;
    points.forEach((point, at) => {
      const next = points[(at + 1) % points.length];
      sum += point[0] * next[1] - next[0] * point[1];
    });
    return Math.abs(sum) / 2;
  }

  /**
   * The nearest place on the edge from `start` to `end`, how far off it is and how far along.
   * @param {number[]} point @param {number[]} start @param {number[]} end
   */
  function onEdge(point, start, end) {
    const way = [end[0] - start[0], end[1] - start[1]];
    const size = way[0] ** 2 + way[1] ** 2;
    const dot = (point[0] - start[0]) * way[0] + (point[1] - start[1]) * way[1];
    const share = size ? Math.min(1, Math.max(0, dot / size)) : 0;
    /** @type {Pair} */
    const at = [start[0] + share * way[0], start[1] + share * way[1]];
    return { at, share, away: apart(point, at) };
  }

  /**
   * The nearest place on a path, with the edge it lies on and how far along the path it is.
   * @param {number[]} point @param {number[][]} points @param {boolean} closed
   */
  function onPath(point, points, closed) {
    let best = { at: /** @type {Pair} */ ([points[0][0], points[0][1]]), edge: 0, share: 0, away: apart(point, points[0]), along: 0 };
    let passed = 0;
    const edges = closed ? points.length : points.length - 1;
    for (let edge = 0; edge < edges; edge += 1) {
      const [start, end] = [points[edge], points[(edge + 1) % points.length]];
      const found = onEdge(point, start, end);
      if (found.away < best.away) best = { ...found, edge, along: passed + found.share * apart(start, end) };
      passed += apart(start, end);
    }
    return best;
  }

  /** @param {number[]} point @param {number[][]} ring */
  function isInside(point, ring) {
    let inside = false;
    ring.forEach((one, at) => {
      const other = ring[(at + 1) % ring.length];
      if (one[1] > point[1] !== other[1] > point[1]) {
        const east = one[0] + ((point[1] - one[1]) / (other[1] - one[1])) * (other[0] - one[0]);
        if (east > point[0]) inside = !inside;
      }
    });
    return inside;
  }

  /**
   * Where two edges cross, as shares of each; null where they do not.
   * @param {number[]} a @param {number[]} b @param {number[]} c @param {number[]} d
   */
  function crossing(a, b, c, d) {
    const one = [b[0] - a[0], b[1] - a[1]];
    const other = [d[0] - c[0], d[1] - c[1]];
    const turn = one[0] * other[1] - one[1] * other[0];
    if (!turn) return null;
    const from = [c[0] - a[0], c[1] - a[1]];
    const share = (from[0] * other[1] - from[1] * other[0]) / turn;
    const across = (from[0] * one[1] - from[1] * one[0]) / turn;
    return share >= 0 && share <= 1 && across >= 0 && across <= 1 ? { share, across } : null;
  }

  /** The first place where an outline crosses itself, null where it does not. @param {number[][]} ring */
  function crossesItself(ring) {
    for (let one = 0; one < ring.length; one += 1) {
      for (let other = one + 2; other < ring.length; other += 1) {
        if (one === 0 && other === ring.length - 1) continue; // neighbours
        const [a, b] = [ring[one], ring[(one + 1) % ring.length]];
        const found = crossing(a, b, ring[other], ring[(other + 1) % ring.length]);
        if (found) return [a[0] + found.share * (b[0] - a[0]), a[1] + found.share * (b[1] - a[1])];
      }
    }
    return null;
  }

  /**
   * Whether a path or the ground within meets a box (left, top, right, bottom).
   * @param {number[][]} points @param {boolean} closed @param {number[]} box
   */
  function meets(points, closed, [left, top, right, bottom]) {
    if (points.some(([x, y]) => x >= left && x <= right && y >= top && y <= bottom)) return true;
    const corners = [[left, top], [right, top], [right, bottom], [left, bottom]];
    if (closed && isInside(corners[0], points)) return true;
    const edges = closed ? points.length : points.length - 1;
    for (let edge = 0; edge < edges; edge += 1) {
      const [one, two] = [points[edge], points[(edge + 1) % points.length]];
      if (corners.some((corner, side) => crossing(one, two, corner, corners[(side + 1) % 4]))) return true;
    }
    return false;
  }

  return Object.freeze({ around, apart, length, along, area, onEdge, onPath, isInside, crossing, crossesItself, meets });
})();
