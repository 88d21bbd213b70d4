"use strict";
/** Words on the map: each where it covers nothing that matters more, or not at all. */
const fieldLabels = (() => {
  const SERIF = '"Source Serif 4", "Source Serif 4 Variable", Charter, Georgia, serif';
  const SANS = '"Source Sans 3", "Source Sans 3 Variable", system-ui, sans-serif';
  const GAP_PX = 3;
  const BESIDE_PX = 12; // past words, up to which a line to what lies above or below begins under them

  /** @type {Readonly<Record<string, string>>} */
  const FONTS = Object.freeze({
    plot: `620 20px ${SERIF}`,
    plotNear: `620 25px ${SERIF}`,
    sub: `400 14.5px ${SANS}`,
    natural: `italic 400 15px ${SERIF}`,
    small: `italic 400 14px ${SERIF}`,
    bed: `400 12.5px ${SANS}`,
    named: `700 13.5px ${SANS}`,
    chosen: `700 15px ${SANS}`,
    height: `400 11.5px ${SANS}`,
    strong: `600 15px ${SANS}`,
    light: `400 15px ${SANS}`,
    number: `700 15px ${SANS}`,
    isoline: `600 12.5px ${SANS}`,
    drop: `600 12.5px ${SANS}`,
  });

  /** @param {string} font */
  const sizeOf = (font) => Number(/([\d.]+)px/.exec(font)?.[1]);

  // The same words are asked for at many places of each picture, by how wide they are.
  /** @type {Map<string, number>} */
  const widths = new Map();
  const MOST_WIDTHS = 5000;
  // A font that comes later makes them otherwise.
  document.fonts.addEventListener("loadingdone", () => widths.clear());

  /** Whether two boxes are too near each other for words. @param {PixelBox} one @param {PixelBox} other */
  const touch = (one, other) => one.left < other.right + GAP_PX && other.left < one.right + GAP_PX && one.top < other.bottom && other.top < one.bottom;

  class Labels {
    /** @param {CanvasRenderingContext2D} ctx @param {FieldView} view @param {FieldPalette} palette @param {PixelBox[]} taken @param {PixelBox} room */
    constructor(ctx, view, palette, taken, room) {
      this.ctx = ctx;
      this.view = view;
      this.palette = palette;
      this.room = room;
      /** @type {PixelBox[]} */
      this.taken = [...taken];
      /** What is said of plots and beds, and where. @type {FieldWords[]} */
      this.said = [];
      /** All words that stand there. @type {Set<string>} */
      this.texts = new Set();
      /** Words for which a number stands on the map. @type {{n: number, text: string}[]} */
      this.keyed = [];
    }

    /** @param {string} text @param {string} font */
    width(text, font) {
      const key = `${font}\n${text}`;
      let found = widths.get(key);
      if (found === undefined) {
        if (widths.size > MOST_WIDTHS) widths.clear();
        this.ctx.font = font;
        widths.set(key, (found = this.ctx.measureText(text).width));
      }
      return found;
    }

    /** Whether a box lies in the room and touches nothing that is there. @param {PixelBox} box */
    free(box) {
      const { left, top, right, bottom } = this.room;
      if (box.left < left || box.right > right || box.top < top || box.bottom > bottom) return false;
      return !this.taken.some((other) => touch(box, other));
    }

    /** @param {PixelBox[]} boxes */
    take(boxes) {
      this.taken.push(...boxes);
    }

    /** Size of lines one below the other. @param {LabelLine[]} lines */
    size(lines) {
      return {
        width: Math.max(...lines.map(({ text, font }) => this.width(text, font))),
        height: lines.reduce((sum, { font }) => sum + sizeOf(font) * 1.18, 0),
      };
    }

    /**
     * Puts lines at the first of some places that is free: left upper corner, and how the
     * lines stand to each other.
     * @param {LabelLine[]} lines @param {LabelPlace[]} places
     * @param {boolean} [anyway] at the first place where none is free
     */
    put(lines, places, anyway = false) {
      const { width, height } = this.size(lines);
      const boxOf = (/** @type {{left: number, top: number}} */ { left, top }) => ({ left, top, right: left + width, bottom: top + height });
      const place = places.find((each) => this.free(boxOf(each))) ?? (anyway ? places[0] : undefined);
      if (!place) return null;
      const box = boxOf(place);
      this.take([box]);
      const x = place.align === "right" ? box.right : place.align === "center" ? (box.left + box.right) / 2 : box.left;
      let y = box.top;
      for (const { text, font, colour, halo } of lines) {
        y += sizeOf(font) * 1.18;
        this.write(text, x, y - sizeOf(font) * 0.27, font, colour, place.align, halo);
      }
      return box;
    }

    /** Text on a halo of the ground's colour, or of its own. @param {string} text @param {number} x @param {number} y @param {string} font @param {string} colour @param {CanvasTextAlign} [align] @param {string} [halo] */
    write(text, x, y, font, colour, align = "left", halo) {
      this.texts.add(text);
      const { ctx, palette } = this;
      ctx.font = font;
      ctx.textAlign = align;
      ctx.textBaseline = "alphabetic";
      ctx.lineJoin = "round";
      ctx.strokeStyle = halo ?? fieldPalette.clear(palette.dark ? palette.colours.paper : palette.colours.ground_high, 0.86);
      ctx.lineWidth = sizeOf(font) >= 18 ? 5 : 3.6;
      ctx.strokeText(text, x, y);
      ctx.fillStyle = colour;
      ctx.fillText(text, x, y);
    }

    /** Where a line from a box of words begins that leads to a spot. @param {PixelBox} box @param {Point} to @returns {Point} */
    leadFrom({ left, top, right, bottom }, to) {
      const isOver = to.x > left - BESIDE_PX && to.x < right + BESIDE_PX && (to.y < top || to.y > bottom);
      if (isOver) return { x: Math.max(left + 4, Math.min(right - 4, to.x)), y: to.y < top ? top : bottom };
      const x = Math.max(left - 4, Math.min(right + 4, to.x));
      return { x, y: x > left && x < right ? (to.y < top ? top : bottom) : (top + bottom) / 2 };
    }

    /** A line from words to what they speak of, with no dot at its end, which would be a peg. @param {PixelBox} box @param {Point} to */
    lead(box, to) {
      const { ctx, palette } = this;
      const from = this.leadFrom(box, to);
      for (const [colour, px] of [[palette.colours.paper, 3], [palette.colours.ink, 1.1]]) {
        ctx.strokeStyle = String(colour);
        ctx.lineWidth = Number(px);
        ctx.beginPath();
        ctx.moveTo(to.x, to.y);
        ctx.lineTo(from.x, from.y);
        ctx.stroke();
      }
    }

    /**
     * Text along a slant around its middle, if it is free there. Wide text keeps a row of
     * small boxes free instead of one large one.
     * @param {string} text @param {number} x @param {number} y @param {number} turn
     * @param {string} font @param {string} colour
     */
    slant(text, x, y, turn, font, colour) {
      const width = this.width(text, font);
      const size = sizeOf(font);
      const boxes = [];
      const count = Math.max(1, Math.round(width / size));
      for (let at = 0; at < count; at += 1) {
        const along = ((at + 0.5) / count - 0.5) * width;
        const [cx, cy] = [x + along * Math.cos(turn), y + along * Math.sin(turn)];
        const half = size * 0.55;
        boxes.push({ left: cx - half, right: cx + half, top: cy - half, bottom: cy + half });
      }
      if (!boxes.every((box) => this.free(box))) return false;
      this.take(boxes);
      const { ctx } = this;
      ctx.save();
      ctx.translate(x, y);
      ctx.rotate(turn);
      this.write(text, 0, size * 0.33, font, colour, "center");
      ctx.restore();
      return true;
    }
  }

  return Object.freeze({ Labels, FONTS, sizeOf, touch });
})();
