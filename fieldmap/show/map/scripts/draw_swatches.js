"use strict";
/** Small pictures of what is drawn, for legends. */
const fieldSwatches = (() => {
  /** @param {CanvasRenderingContext2D} ctx @param {number} width @param {number} height @param {FieldPalette} palette */
  function airArrow(ctx, width, height, palette) {
    const path = new Path2D();
    const points = [0, 0.5, 1].map((share) => ({ x: 2 + share * (width - 4), y: height / 2, along: share * (width - 4) }));
    fieldAir.arrow(path, points, 2.4);
    ctx.fillStyle = fieldAir.INK[palette.name];
    ctx.fill(path);
  }

  /** @param {CanvasRenderingContext2D} ctx @param {number} width @param {number} height @param {LookColours} colours */
  function tunnel(ctx, width, height, colours) {
    ctx.fillStyle = colours.paper;
    ctx.fillRect(1, 3, width - 2, height - 6);
    ctx.strokeStyle = colours.soft;
    ctx.lineWidth = 1;
    ctx.beginPath();
    for (let x = 7; x < width - 3; x += 6) {
      ctx.moveTo(x, 3);
      ctx.lineTo(x, height - 3);
    }
    ctx.stroke();
    ctx.strokeStyle = colours.ink;
    ctx.lineWidth = 1.6;
    ctx.setLineDash([6, 3.5]);
    ctx.strokeRect(1, 3, width - 2, height - 6);
    ctx.setLineDash([]);
  }

  /**
   * @param {string} name a pattern of beds, or "tunnel", "peg", "air", what is marked, or a thing
   * @param {number} width @param {number} height @param {FieldPalette} palette
   */
  function swatch(name, width, height, palette) {
    const ratio = Math.min(window.devicePixelRatio || 1, 3);
    const canvas = document.createElement("canvas");
    Object.assign(canvas, { width: Math.round(width * ratio), height: Math.round(height * ratio) });
    Object.assign(canvas.style, { width: `${width}px`, height: `${height}px` });
    canvas.setAttribute("aria-hidden", "true");
    const ctx = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
    ctx.scale(ratio, ratio);
    const { colours } = palette;
    if (fieldSigns.has(name)) fieldSigns.draw(ctx, name, width, height, palette, ratio);
    else if (name === "air") airArrow(ctx, width, height, palette);
    else if (isMark(name)) marked(ctx, name, width, height, palette);
    else if (name === "tunnel") tunnel(ctx, width, height, colours);
    else if (name === "peg") {
      ctx.fillStyle = colours.ink;
      ctx.beginPath();
      ctx.arc(width / 2, height / 2, 4, 0, 2 * Math.PI);
      ctx.fill();
    } else bedSwatch(ctx, name, width, height, colours);
    return canvas;
  }

  /** @param {string} name @returns {name is typeof MARKS[number]} */
  const isMark = (name) => MARKS.some((each) => each === name);

  /** @param {CanvasRenderingContext2D} ctx @param {string} name @param {number} width @param {number} height @param {LookColours} colours */
  function bedSwatch(ctx, name, width, height, colours) {
    const patterns = fieldBeds.patterns(colours);
    const { fill, sign, ink } = patterns[name] ?? patterns.empty;
    ctx.fillStyle = fill;
    ctx.fillRect(0, 0, width, height);
    if (sign) {
      const tile = fieldBeds.TILE_PX;
      ctx.save();
      ctx.beginPath();
      ctx.rect(0, 0, width, height);
      ctx.clip();
      for (let y = -1; y < height; y += tile) {
        for (let x = -1; x < width; x += tile) {
          ctx.save();
          ctx.translate(x, y);
          fieldBeds.drawSign(ctx, sign, ink);
          ctx.restore();
        }
      }
      ctx.restore();
    }
    ctx.strokeStyle = colours.ink;
    ctx.lineWidth = name === "outlined" || name === "thick" ? 2.4 : 1.2;
    ctx.strokeRect(0.6, 0.6, width - 1.2, height - 1.2);
  }

  const MARKS = /** @type {const} */ (["drain", "pocket", "choice", "shadow"]);

  /** Lines and shadows that belong to a question. @param {CanvasRenderingContext2D} ctx @param {typeof MARKS[number]} name @param {number} width @param {number} height @param {FieldPalette} palette */
  function marked(ctx, name, width, height, palette) {
    const { colour, px, dashes } = fieldPalette.marks(palette)[name];
    if (name === "shadow") {
      ctx.fillStyle = colour;
      ctx.fillRect(0, 0, width, height);
      return;
    }
    ctx.strokeStyle = colour;
    ctx.lineWidth = px;
    ctx.setLineDash(dashes);
    if (name === "choice") ctx.strokeRect(5, 5, width - 10, height - 10);
    else {
      ctx.beginPath();
      ctx.moveTo(3, height / 2);
      ctx.lineTo(width - 3, height / 2);
      ctx.stroke();
    }
  }

  return Object.freeze({ swatch });
})();
