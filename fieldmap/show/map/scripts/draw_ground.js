"use strict";
/** The ground: its height and shade, what differs on it, and its lines of equal height. */
const fieldGround = (() => {
  const ROOM_PX = 24; // between lines of height
  const ROOM_PHONE_PX = 40;
  const PHONE_PX = 600;
  const EDGE_PX = 1;
  const SHADE = 0.16; // of full relief: about six steps of lightness at half
  const SHADE_DARK = 0.9; // the same on ground that is nearly black

  /**
   * Numbers of a picture.
   * @param {string} uri
   * @returns {Promise<ImageData>}
   */
  async function pixels(uri) {
    const image = new Image();
    image.src = uri;
    await image.decode();
    const canvas = document.createElement("canvas");
    canvas.width = image.naturalWidth;
    canvas.height = image.naturalHeight;
    const ctx = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d", { willReadFrequently: true }));
    ctx.drawImage(image, 0, 0);
    return ctx.getImageData(0, 0, canvas.width, canvas.height);
  }

  /** @param {ImageData} numbers */
  function blank(numbers) {
    const canvas = document.createElement("canvas");
    canvas.width = numbers.width;
    canvas.height = numbers.height;
    const ctx = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
    return { canvas, ctx, shown: ctx.createImageData(numbers.width, numbers.height) };
  }

  /** Height and shade as colours of a look. @param {ImageData} numbers @param {LookColours} colours @param {boolean} dark */
  function coloured(numbers, colours, dark) {
    const { canvas, ctx, shown } = blank(numbers);
    const [low, high] = [fieldPalette.parts(colours.ground_low), fieldPalette.parts(colours.ground_high)];
    const shade = 2 * colours.relief * (dark ? SHADE_DARK : SHADE);
    for (let at = 0; at < shown.data.length; at += 4) {
      const height = numbers.data[at] / 255;
      const light = 1 + shade * (numbers.data[at + 1] / 255 - 0.5);
      for (let part = 0; part < 3; part += 1) {
        shown.data[at + part] = (low[part] + (high[part] - low[part]) * height) * light;
      }
      shown.data[at + 3] = 255;
    }
    ctx.putImageData(shown, 0, 0);
    return canvas;
  }

  /** Paper that comes up towards the edge of what is known. @param {ImageData} numbers @param {string} paper */
  function edge(numbers, paper) {
    const { canvas, ctx, shown } = blank(numbers);
    const [red, green, blue] = fieldPalette.parts(paper);
    for (let at = 0; at < shown.data.length; at += 4) {
      shown.data[at] = red;
      shown.data[at + 1] = green;
      shown.data[at + 2] = blue;
      shown.data[at + 3] = 255 - numbers.data[at + 2];
    }
    ctx.putImageData(shown, 0, 0);
    return canvas;
  }

  /** What differs from cell to cell, in the colours of its ramp. @param {ImageData} numbers @param {Uint8Array} rgb @param {boolean} fromNothing */
  function field(numbers, rgb, fromNothing) {
    const { canvas, ctx, shown } = blank(numbers);
    for (let at = 0; at < shown.data.length; at += 4) {
      const known = numbers.data[at + 3];
      if (!known) continue;
      const code = 3 * Math.min(254, numbers.data[at]);
      shown.data[at] = rgb[code];
      shown.data[at + 1] = rgb[code + 1];
      shown.data[at + 2] = rgb[code + 2];
      // What is like everywhere else is ground, and not a sheet of pale colour.
      shown.data[at + 3] = known * (fromNothing ? Math.min(0.92, code / 150) : 0.88);
    }
    ctx.putImageData(shown, 0, 0);
    return canvas;
  }

  /** Draws a picture where it lies. @param {CanvasRenderingContext2D} ctx @param {FieldView} view @param {HTMLCanvasElement} canvas @param {Box} box */
  function place(ctx, view, canvas, [west, south, east, north]) {
    view.inPixels(ctx);
    ctx.imageSmoothingEnabled = true;
    ctx.imageSmoothingQuality = "high";
    ctx.drawImage(canvas, view.x(west), view.y(north), (east - west) * view.scale, (north - south) * view.scale);
  }

  class Ground {
    /** @param {Scene} scene @param {() => void} changed when a picture has come */
    constructor(scene, changed) {
      this.picture = scene.ground;
      this.changed = changed;
      this.contours = scene.contours;
      this.lines = fieldFrame.lines(scene.contours.lines);
      this.heights = fieldFrame.signed(scene.contours.heights);
      this.boxes = this.lines.map(fieldFrame.boundsOf);
      /** @type {Map<number, {plain: Path2D, index: Path2D}>} */
      this.paths = new Map();
      /** @type {ImageData | null} */
      this.numbers = null;
      /** @type {Record<string, {ground: HTMLCanvasElement, edge: HTMLCanvasElement}>} */
      this.made = {};
      /** @type {Map<string, ImageData>} */
      this.fields = new Map();
      /** @type {Map<string, Promise<void>>} */
      this.reading = new Map();
      /** @type {Map<string, HTMLCanvasElement>} */
      this.colouredFields = new Map();
      this.ready = pixels(this.picture.uri).then((numbers) => {
        this.numbers = numbers;
        changed();
      });
    }

    /** From paper to lines of height. @param {CanvasRenderingContext2D} ctx @param {FieldView} view @param {FieldPalette} palette @param {GroundField | null | undefined} shown */
    paint(ctx, view, palette, shown) {
      const { colours } = palette;
      view.inPixels(ctx);
      ctx.fillStyle = colours.paper;
      ctx.fillRect(0, 0, view.width, view.height);
      if (this.numbers) {
        this.made[palette.name] ??= {
          ground: coloured(this.numbers, colours, palette.dark),
          edge: edge(this.numbers, colours.paper),
        };
        place(ctx, view, this.made[palette.name].ground, this.picture.box);
      }
      const lines = () => this.paintLines(ctx, view, colours.contour, 0.62, [0.7, 1.3]);
      lines();
      if (this.numbers) place(ctx, view, this.made[palette.name].edge, this.picture.box);
      if (shown) this.paintField(ctx, view, palette, shown, lines);
    }

    /** Reads a picture once, before it is asked for or when it is. @param {string} uri */
    read(uri) {
      let reading = this.reading.get(uri);
      if (!reading) {
        reading = pixels(uri).then((numbers) => { this.fields.set(uri, numbers); });
        this.reading.set(uri, reading);
      }
      return reading;
    }

    /** @param {CanvasRenderingContext2D} ctx @param {FieldView} view @param {FieldPalette} palette @param {GroundField} shown @param {() => void} lines of height, over the colours */
    paintField(ctx, view, palette, shown, lines) {
      const { uri, box, edge: ring } = shown.picture;
      const [west, south, east, north] = box;
      const numbers = this.fields.get(uri);
      if (!numbers) {
        this.read(uri).then(() => this.changed());
        return;
      }
      const key = `${palette.name} ${shown.ramp} ${uri.length} ${uri.slice(-64)}`;
      let canvas = this.colouredFields.get(key);
      if (!canvas) {
        canvas = field(numbers, palette.table(shown.ramp), shown.ramp === "cold");
        this.colouredFields.set(key, canvas);
      }
      // Colours end with a line where what is worked out ends: fading, they would seem to be other values.
      const within = new Path2D();
      if (ring.length) fieldFrame.trace(within, [ring], true);
      else within.rect(west, south, east - west, north - south);
      view.inMetres(ctx);
      ctx.save();
      ctx.clip(within);
      place(ctx, view, canvas, box);
      lines();
      ctx.restore();
      if (!ring.length) return;
      view.inMetres(ctx);
      ctx.strokeStyle = palette.colours.soft;
      ctx.lineWidth = EDGE_PX / view.scale;
      ctx.setLineDash([]);
      ctx.stroke(within);
    }

    /** The step between lines at this scale. @param {FieldView} view @returns {[number, number]} */
    step(view) {
      const { steps, finest_m: finest, slope } = this.contours;
      const room = view.frame.right - view.frame.left < PHONE_PX ? ROOM_PHONE_PX : ROOM_PX;
      /** @param {[number, number]} each */
      const fits = ([step]) => (step * finest * view.scale) / Math.max(slope, 0.002) >= room;
      return steps.find(fits) ?? steps[steps.length - 1] ?? [1, 5];
    }

    /** Lines of height. @param {CanvasRenderingContext2D} ctx @param {FieldView} view @param {string} colour @param {number} share @param {[number, number]} widths */
    paintLines(ctx, view, colour, share, [plain, index]) {
      const paths = this.pathsFor(this.step(view));
      view.inMetres(ctx);
      ctx.strokeStyle = fieldPalette.clear(colour, share);
      ctx.lineJoin = "round";
      ctx.setLineDash([]);
      ctx.lineWidth = plain / view.scale;
      ctx.stroke(paths.plain);
      ctx.lineWidth = index / view.scale;
      ctx.stroke(paths.index);
    }

    /** @param {[number, number]} step */
    pathsFor([step, every]) {
      let paths = this.paths.get(step);
      if (!paths) {
        paths = { plain: new Path2D(), index: new Path2D() };
        for (const [at, line] of this.lines.entries()) {
          const height = this.heights[at];
          if (height % step === 0) {
            fieldFrame.trace(height % (step * every) === 0 ? paths.index : paths.plain, [line], false);
          }
        }
        this.paths.set(step, paths);
      }
      return paths;
    }

    /** Strong lines of height in view, with their figures. @param {FieldView} view */
    indexLines(view) {
      const [step, every] = this.step(view);
      const found = [];
      for (const [at, line] of this.lines.entries()) {
        if (this.heights[at] % (step * every) === 0 && view.shows(this.boxes[at])) {
          found.push({ line, height: this.heights[at] * this.contours.finest_m * this.contours.per_unit });
        }
      }
      return found;
    }
  }

  return Object.freeze({ Ground });
})();
