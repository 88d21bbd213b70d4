"use strict";
/** Small pictures of what stands and lies on the map, drawn by what draws the map. */
const fieldSigns = (() => {
  const SCALE = 4; // pixels to a metre, from which all signs are drawn

  /**
   * Outlines in shares of the picture: corners one after the other.
   * @type {Record<string, ["area" | "line" | "point", number[]]>}
   */
  const SHAPES = {
    line: ["line", [-1, 0.5, 2, 0.5]],
    strip: ["area", [-0.2, 0.3, 1.2, 0.3, 1.2, 0.7, -0.2, 0.7, -0.2, 0.3]],
    box: ["area", [0.14, 0.16, 0.86, 0.16, 0.86, 0.84, 0.14, 0.84, 0.14, 0.16]],
    point: ["point", [0.5, 0.5]],
    oval: ["area", Array.from({ length: 50 }, (_, at) => 0.5 + (at % 2 ? 0.34 * Math.sin((at >> 1) * Math.PI / 12) : 0.42 * Math.cos((at >> 1) * Math.PI / 12)))],
  };
  /** @type {Record<string, keyof typeof SHAPES>} */
  const SHAPE_OF = {
    hedge: "strip", trees: "strip", tree: "point", evergreen: "point", building: "box", wall: "line", fence: "line", bank: "strip", water: "box",
    road: "line", "overhead line": "line", gate: "point", post: "point", "water point": "point", "keep off": "box", aside: "box",
    mark: "oval", wet: "oval", steepest: "oval", gone: "box", new: "box", plot: "box",
  };

  /** @param {string} kind @param {number} width @param {number} height @returns {FieldShape} */
  function sample(kind, width, height) {
    const [form, shares] = SHAPES[SHAPE_OF[kind] ?? "line"];
    const ring = Float32Array.from(shares, (share, at) => (at % 2 ? (height / SCALE) * (share - 1) : (width / SCALE) * share));
    const path = new Path2D();
    fieldFrame.trace(path, [ring], form === "area");
    const crowns = kind === "hedge" || kind === "trees" ? row(kind === "hedge" ? 0.7 : 1.5, width / SCALE, height / SCALE) : null;
    const thing = { kind: kind === "evergreen" ? "tree" : kind, name: "", said: "", form, evergreen: kind === "evergreen", rings: [ring], path, crowns, wide: crowns ? 2 * crowns[2] : 0 };
    return { ...thing, box: fieldFrame.boundsOf(ring) };
  }

  /** Crowns side by side. @param {number} radius @param {number} width @param {number} height */
  function row(radius, width, height) {
    const count = Math.ceil(width / radius / 1.6) + 1;
    return Float32Array.from({ length: 3 * count }, (_, at) => [(at / 3) * radius * 1.6, -height / 2, radius][at % 3]);
  }

  /** Whether a sign has its picture here. @param {string} kind */
  const has = (kind) => kind in SHAPE_OF || kind === "contour" || kind === "isoline";

  /** @param {CanvasRenderingContext2D} ctx @param {string} kind @param {number} width @param {number} height @param {FieldPalette} palette @param {number} ratio */
  function draw(ctx, kind, width, height, palette, ratio) {
    const { colours } = palette;
    ctx.fillStyle = colours.ground_high;
    ctx.fillRect(0, 0, width, height);
    if (kind === "contour" || kind === "isoline") {
      const { colour, px, dashes } = kind === "contour" ? { colour: colours.contour, px: 1.3, dashes: [] } : fieldPalette.marks(palette).isoline;
      ctx.strokeStyle = colour;
      ctx.lineWidth = px;
      ctx.setLineDash(dashes);
      ctx.beginPath();
      ctx.moveTo(0, height * 0.7);
      ctx.bezierCurveTo(width * 0.4, height * 0.7, width * 0.6, height * 0.3, width, height * 0.3);
      ctx.stroke();
      return;
    }
    const brush = { ctx, view: new fieldFrame.View(SCALE, 0, 0, width, height, ratio), palette, colours };
    const thing = sample(kind, width, height);
    if (kind === "plot") fieldThings.drawPlot(brush, thing);
    else if (["mark", "wet", "steepest", "gone", "new"].includes(kind)) fieldThings.drawMarked(brush, thing);
    else fieldThings.drawThing(brush, thing, []);
  }

  return Object.freeze({ has, draw });
})();
