"use strict";
/** Scale and north, which stay in their corner while the map moves. */
const fieldFurniture = (() => {
  const FEET_PER_METRE = 3.280839895;
  const MOST_PX = 110;
  const MOST_PHONE_PX = 64;
  const PHONE_PX = 520; // of free window, narrower than which the scale is shorter
  const LEAST_PX = 40;

  /** The longest round length that fits. @param {number} scale @param {boolean} feet @param {number} most pixels */
  function roundLength(scale, feet, most) {
    const per = feet ? FEET_PER_METRE : 1;
    let best = { number: 1, px: scale / per };
    for (let power = 0; power < 5; power += 1) {
      for (const factor of [1, 2, 5]) {
        const number = factor * 10 ** power;
        const px = (number / per) * scale;
        if (px <= most) best = { number, px };
      }
    }
    return best.px < LEAST_PX / 4 ? null : best;
  }

  /**
   * Draws both, with their left lower corner at a place; says how wide they are.
   * @param {CanvasRenderingContext2D} ctx @param {FieldPalette} palette @param {Scene} scene
   * @param {number} scale pixels to a metre @param {number} x @param {number} y
   * @param {number} wide_px that the window leaves free
   */
  function paint(ctx, palette, scene, scale, x, y, wide_px) {
    const { colours } = palette;
    const feet = scene.units === "us";
    const bar = roundLength(scale, feet, wide_px < PHONE_PX ? MOST_PHONE_PX : MOST_PX);
    const words = bar ? (feet ? scene.say.feet : scene.say.metres).replace("{number}", bar.number.toLocaleString(document.documentElement.lang || "en")) : "";
    ctx.font = fieldLabels.FONTS.isoline.replace("600", "500");
    const long = bar ? bar.px : 0;
    const wide = ctx.measureText(words).width;
    const halo = palette.dark ? colours.paper : colours.ground_high;
    for (const [colour, px] of [[fieldPalette.clear(halo, 0.85), 5], [colours.ink, 1.5]]) {
      ctx.strokeStyle = String(colour);
      ctx.lineWidth = Number(px);
      ctx.lineJoin = "miter";
      ctx.beginPath();
      ctx.moveTo(x, y - 7);
      ctx.lineTo(x, y);
      ctx.lineTo(x + long, y);
      ctx.lineTo(x + long, y - 7);
      ctx.moveTo(x + long / 2, y);
      ctx.lineTo(x + long / 2, y - 4);
      ctx.stroke();
    }
    const write = (/** @type {string} */ text, /** @type {number} */ at, /** @type {number} */ down) => {
      ctx.strokeStyle = fieldPalette.clear(halo, 0.85);
      ctx.lineWidth = 3.6;
      ctx.lineJoin = "round";
      ctx.textAlign = "left";
      ctx.textBaseline = "alphabetic";
      ctx.strokeText(text, at, down);
      ctx.fillStyle = colours.ink;
      ctx.fillText(text, at, down);
    };
    write(words, x + long + 7, y + 1);
    const north = x + long + 7 + wide + 26;
    ctx.save();
    ctx.translate(north, y - 10);
    ctx.beginPath();
    for (const [dx, dy] of [[0, -15], [6, 12], [0, 7], [-6, 12]]) ctx.lineTo(dx, dy);
    ctx.closePath();
    ctx.strokeStyle = fieldPalette.clear(halo, 0.85);
    ctx.lineWidth = 4;
    ctx.stroke();
    ctx.fillStyle = colours.ink;
    ctx.fill();
    ctx.restore();
    ctx.font = fieldLabels.FONTS.isoline.replace("600", "700");
    write(scene.say.north, north + 10, y + 1);
    return north + 24 - x;
  }

  return Object.freeze({ paint });
})();
