// Shapes of GeoJSON as paths of corners, and what can be done to them.
"use strict";

/**
 * @typedef {{type: string, coordinates: any}} Geometry
 * @typedef {{points: number[][], closed: boolean}} Path
 * @typedef {"plots"|"surroundings"|"marks"|"beds"|"aside"} Layer what is left aside is not all known
 * @typedef {{uid: number, layer: Layer, properties: Record<string, any>, geometry: Geometry}} Thing
 */
const fieldShapes = (() => {
  /** Paths of a shape; of a point one of one corner. @param {Geometry|null} geometry @returns {Path[]} */
  function paths(geometry) {
    if (!geometry) return [];
    const { type, coordinates } = geometry;
    if (type === "Point") return [{ points: [coordinates], closed: false }];
    if (type === "MultiPoint") return coordinates.map((/** @type {number[]} */ each) => ({ points: [each], closed: false }));
    if (type === "LineString") return [{ points: coordinates, closed: false }];
    if (type === "MultiLineString") return coordinates.map((/** @type {number[][]} */ each) => ({ points: each, closed: false }));
    if (type === "Polygon") return coordinates.map(open);
    if (type === "MultiPolygon") return coordinates.flat().map(open);
    return [];
  }

  /** @param {number[][]} ring @returns {Path} */
  const open = (ring) => ({ points: ring.slice(0, -1), closed: true });

  /** The same kind of shape with other corners. @param {Geometry} geometry @param {Path[]} found @returns {Geometry} */
  function withPaths(geometry, found) {
    const whole = found.map(({ points, closed }) => (closed ? [...points, points[0]] : points));
    switch (geometry.type) {
      case "Point":
        return { type: "Point", coordinates: whole[0][0] };
      case "MultiPoint":
        return { type: "MultiPoint", coordinates: whole.map((each) => each[0]) };
      case "LineString":
        return { type: "LineString", coordinates: whole[0] };
      case "MultiPolygon": {
        let at = 0;
        const parts = geometry.coordinates.map((/** @type {any[]} */ part) => part.map(() => whole[at++]));
        return { type: "MultiPolygon", coordinates: parts };
      }
      default:
        return { type: geometry.type, coordinates: whole };
    }
  }

  /** @param {"point"|"line"|"area"} drawn @param {number[][]} points @returns {Geometry} */
  function made(drawn, points) {
    if (drawn === "point") return { type: "Point", coordinates: points[0] };
    if (drawn === "line") return { type: "LineString", coordinates: points };
    return { type: "Polygon", coordinates: [[...points, points[0]]] };
  }

  /** @param {Geometry} geometry @returns {"point"|"line"|"area"} */
  function drawnAs(geometry) {
    if (geometry.type.endsWith("Point")) return "point";
    return geometry.type.endsWith("LineString") ? "line" : "area";
  }

  /**
   * @param {Geometry} geometry @param {number} path @param {number} corner
   * @param {number[]|null} to null takes the corner out
   */
  function moved(geometry, path, corner, to) {
    const found = paths(geometry).map((each) => ({ ...each, points: [...each.points] }));
    if (to) found[path].points[corner] = to;
    else if (found[path].points.length > (found[path].closed ? 3 : 2)) found[path].points.splice(corner, 1);
    return withPaths(geometry, found);
  }

  /** @param {Geometry} geometry @param {number} path @param {number} after @param {number[]} at */
  function withCorner(geometry, path, after, at) {
    const found = paths(geometry).map((each) => ({ ...each, points: [...each.points] }));
    found[path].points.splice(after + 1, 0, at);
    return withPaths(geometry, found);
  }

  /** @param {Geometry} geometry @param {(point: number[]) => number[]} move */
  const all = (geometry, move) =>
    withPaths(geometry, paths(geometry).map((each) => ({ ...each, points: each.points.map(move) })));

  /**
   * Two shapes where a straight cut goes across one; null where it does not, or has a hole.
   * @param {Geometry} geometry @param {number[]} from @param {number[]} to
   * @returns {[Geometry, Geometry]|null}
   */
  function split(geometry, from, to) {
    const found = paths(geometry);
    if (found.length !== 1 || geometry.type.endsWith("Point")) return null;
    const { points, closed } = found[0];
    /** @type {{edge: number, at: number[]}[]} */
    const cuts = [];
    const edges = closed ? points.length : points.length - 1;
    for (let edge = 0; edge < edges; edge += 1) {
      const [start, end] = [points[edge], points[(edge + 1) % points.length]];
      const hit = fieldPlace.crossing(start, end, from, to);
      if (hit) cuts.push({ edge, at: [0, 1].map((axis) => start[axis] + hit.share * (end[axis] - start[axis])) });
    }
    if (!closed && cuts.length === 1) {
      const [{ edge, at }] = cuts;
      return [made("line", [...points.slice(0, edge + 1), at]), made("line", [at, ...points.slice(edge + 1)])];
    }
    if (closed && cuts.length === 2) {
      const [one, two] = cuts;
      const inner = [one.at, ...points.slice(one.edge + 1, two.edge + 1), two.at];
      const outer = [two.at, ...points.slice(two.edge + 1), ...points.slice(0, one.edge + 1), one.at];
      return [made("area", outer), made("area", inner)];
    }
    return null;
  }

  /**
   * Where a name may stand, best first: beside an area or a place; along a line.
   * @param {Pair[]} points in pixels @param {boolean} closed @param {boolean} isPlot @param {number} wide
   */
  function besides(points, closed, isPlot, wide) {
    const [east, north] = [0, 1].map((axis) => points.map((each) => each[axis]));
    const [west, most, top, bottom] = [Math.min(...east), Math.max(...east), Math.min(...north), Math.max(...north)];
    const [x, y] = [(west + most) / 2, (top + bottom) / 2];
    if (isPlot) return [[most + 8, y], [west - wide - 8, y], [x - wide / 2, bottom + 20], [x - wide / 2, top - 26], [most + 8, bottom], [west - wide - 8, top], [west - wide - 8, bottom], [most + 8, top], [west, top - 26], [most - wide, top - 26], [west, bottom + 20], [most - wide, bottom + 20], [x - wide / 2, y]];
    if (closed || points.length === 1) return [[most + (closed ? 6 : 12), y + 4], [west - wide - 12, y + 4], [x - wide / 2, bottom + 22], [x - wide / 2, top - 12]];
    const size = fieldPlace.length(points);
    return [0.5, 0.3, 0.7, 0.15, 0.85].flatMap((share) => {
      const [px, py] = fieldPlace.along(points, share * size);
      return [[px + 12, py + 4], [px - wide - 12, py + 4], [px - wide / 2, py + 22], [px - wide / 2, py - 12]];
    });
  }

  return Object.freeze({ besides, paths, withPaths, made, drawnAs, moved, withCorner, all, split });
})();
