"use strict";
/** The way that cold air runs: arrows that grow thicker, and thicker ones where more runs. */
const fieldAir = (() => {
  const ROOM_PX = 40; // between lines
  const LONG_PX = 150; // of an arrow
  const GAP_PX = 70;
  const HEAD_PX = 9;
  const INK = { day: "#1d3f6e", bright: "#0b2a5c", night: "#8fb9dd", print: "#000000" };

  /** Points of a line on the canvas, and how far along each lies. @param {ArrayLike<number>} line @param {FieldView} view */
  function measured(line, view) {
    const points = [];
    let along = 0;
    for (let at = 0; at < line.length; at += 2) {
      const point = { x: view.x(line[at]), y: view.y(line[at + 1]), along: 0 };
      const before = points[points.length - 1];
      if (before) along += Math.hypot(point.x - before.x, point.y - before.y);
      point.along = along;
      points.push(point);
    }
    return points;
  }

  /** The part of a line between two distances along it. @param {{x: number, y: number, along: number}[]} points @param {number} from @param {number} to */
  function between(points, from, to) {
    const found = [];
    for (let at = 1; at < points.length; at += 1) {
      const [start, end] = [points[at - 1], points[at]];
      if (end.along < from || start.along > to) continue;
      const long = end.along - start.along || 1;
      const spot = (/** @type {number} */ along) => {
        const share = (along - start.along) / long;
        return { x: start.x + (end.x - start.x) * share, y: start.y + (end.y - start.y) * share, along };
      };
      if (!found.length) found.push(spot(Math.max(from, start.along)));
      found.push(spot(Math.min(to, end.along)));
    }
    return found;
  }

  /** One arrow: a line that grows from nothing to its width, and its head. @param {Path2D} path @param {{x: number, y: number, along: number}[]} points @param {number} wide */
  function arrow(path, points, wide) {
    const last = points[points.length - 1];
    const first = points[0];
    const long = last.along - first.along;
    if (long < 14) return;
    const head = Math.min(HEAD_PX + 2 * wide, long / 2);
    const shaft = between(points, first.along, last.along - head * 0.7);
    const left = [];
    const right = [];
    for (const [at, point] of shaft.entries()) {
      const next = shaft[at + 1] ?? point;
      const before = shaft[at - 1] ?? point;
      const size = Math.hypot(next.x - before.x, next.y - before.y) || 1;
      const half = 0.25 + ((wide / 2) * (point.along - first.along)) / long;
      const [nx, ny] = [(-(next.y - before.y) / size) * half, ((next.x - before.x) / size) * half];
      left.push([point.x + nx, point.y + ny]);
      right.unshift([point.x - nx, point.y - ny]);
    }
    for (const [at, [x, y]] of [...left, ...right].entries()) {
      if (at) path.lineTo(x, y);
      else path.moveTo(x, y);
    }
    path.closePath();
    const back = between(points, last.along - head, last.along)[0];
    const [dx, dy] = [last.x - back.x, last.y - back.y];
    const size = Math.hypot(dx, dy) || 1;
    const wing = 2.2 + 1.1 * wide;
    path.moveTo(last.x, last.y);
    path.lineTo(back.x - (dy / size) * wing, back.y + (dx / size) * wing);
    path.lineTo(back.x + (dx / size) * head * 0.25, back.y + (dy / size) * head * 0.25);
    path.lineTo(back.x + (dy / size) * wing, back.y - (dx / size) * wing);
    path.closePath();
  }

  class Air {
    /** @param {AirLevel[]} levels */
    constructor(levels) {
      this.levels = levels.map(({ spacing_m: spacing, lines, strengths }) => ({
        spacing,
        strengths,
        lines: fieldFrame.lines(lines),
      }));
    }

    /** @param {CanvasRenderingContext2D} ctx @param {FieldView} view @param {FieldPalette} palette */
    paint(ctx, view, palette) {
      const path = new Path2D();
      for (const [level, { spacing, lines, strengths }] of this.levels.entries()) {
        if (level > 0 && spacing * view.scale < ROOM_PX) continue;
        for (const [number, line] of lines.entries()) {
          if (!view.shows(fieldFrame.boundsOf(line))) continue;
          const points = measured(line, view);
          // Back from the lower end, so that arrows stay where they are when the map moves.
          const end = points[points.length - 1].along;
          const period = LONG_PX + GAP_PX;
          for (let to = end - ((number * 0.37) % 1) * GAP_PX; to > 20; to -= period) {
            const part = between(points, Math.max(0, to - LONG_PX), to);
            if (part.length > 1) arrow(path, part, 1 + 2 * Math.sqrt(strengths[number]));
          }
        }
      }
      view.inPixels(ctx);
      ctx.lineJoin = "round";
      ctx.strokeStyle = fieldPalette.clear(palette.colours.paper, 0.75);
      ctx.lineWidth = 2;
      ctx.stroke(path);
      ctx.fillStyle = INK[palette.name];
      ctx.fill(path);
    }
  }

  return Object.freeze({ Air, arrow, INK });
})();
