"use strict";
/** Beds: single ones from near, runs of one value from afar, by colour or by pattern. */
const fieldBeds = (() => {
  const SINGLE_FROM = 2.5; // pixels to a metre, from which beds stand apart
  const PATTERN_FROM = 4.5; // the same for patterns, which need room
  const OUTLINE_PX = 1.3;
  const CHOSEN_PX = 2.2;
  const SEAM_PX = 0.7;
  const UNKNOWN = 255;
  const TILE_PX = 12;
  const LEAST_LATTICE = 0.4; // of its size, under which crossed lines are one grey
  const HOOPS_FROM = 4.5;
  const FAINT_FROM_PX = 1; // between beds, closer than which their lines are one grey

  /** How beds of one kind are filled. @param {LookColours} colours @returns {Record<string, {fill: string, sign: string, ink: string, line: string}>} */
  const patterns = (colours) => ({
    empty: { fill: colours.bed, sign: "", ink: "", line: "" },
    soil: { fill: colours.bed, sign: "dashes", ink: colours.plant, line: colours.bed_line },
    growing: { fill: colours.growing, sign: "ticks", ink: colours.plant, line: colours.ink },
    covered: { fill: colours.bed, sign: "arcs", ink: colours.soft, line: colours.ink },
    ready: { fill: colours.plant, sign: "dots", ink: colours.dot, line: colours.ink },
    "ready-covered": { fill: colours.plant, sign: "arcs", ink: colours.dot, line: colours.ink },
    cover: { fill: colours.cover_now, sign: "", ink: "", line: colours.ink },
    done: { fill: colours.done, sign: "", ink: "", line: colours.ink },
    example: { fill: colours.bed, sign: "stripes", ink: colours.cover_now, line: colours.ink },
    "example-odds": { fill: colours.bed, sign: "dots", ink: colours.cover_now, line: colours.ink },
    odds: { fill: colours.cover_now, sign: "stripes", ink: colours.paper, line: colours.ink },
    mesh: { fill: colours.bed, sign: "lattice", ink: colours.soft, line: colours.ink },
    hoops: { fill: colours.bed, sign: "bars", ink: colours.ink, line: colours.ink },
    "let-go": { fill: colours.bed, sign: "stripes", ink: colours.soft, line: colours.ink },
    open: { fill: colours.bed, sign: "", ink: "", line: colours.ink },
  });

  /** One piece of a sign, drawn on a square of TILE_PX. @param {CanvasRenderingContext2D} ctx @param {string} sign @param {string} ink */
  function drawSign(ctx, sign, ink) {
    ctx.strokeStyle = ink;
    ctx.fillStyle = ink;
    ctx.lineWidth = 1.2;
    ctx.lineCap = "round";
    ctx.beginPath();
    if (sign === "ticks") {
      for (const [x, y] of [[3, 4], [9, 10]]) {
        ctx.moveTo(x - 2, y - 2.2);
        ctx.lineTo(x, y + 1.4);
        ctx.lineTo(x + 2, y - 2.2);
      }
    } else if (sign === "dashes") {
      for (const [x, y] of [[3, 3], [9, 9]]) {
        ctx.moveTo(x - 2, y);
        ctx.lineTo(x + 2, y);
      }
    } else if (sign === "arcs") {
      for (const [x, y] of [[6, 5.4], [0, 11.4], [12, 11.4]]) {
        ctx.moveTo(x - 4.4, y);
        ctx.bezierCurveTo(x - 4.4, y - 6, x + 4.4, y - 6, x + 4.4, y);
      }
    } else if (sign === "stripes" || sign === "lattice") {
      for (const at of [-12, 0, 12]) {
        ctx.moveTo(at, 12);
        ctx.lineTo(at + 12, 0);
        if (sign === "lattice") {
          ctx.moveTo(at, 0);
          ctx.lineTo(at + 12, 12);
        }
      }
      if (sign === "stripes") ctx.lineWidth = 2;
    } else if (sign === "bars") {
      for (const at of [3, 9]) {
        ctx.moveTo(at, 0);
        ctx.lineTo(at, 12);
      }
    } else {
      for (const [x, y] of [[3, 3], [9, 9]]) {
        ctx.moveTo(x + 1.35, y);
        ctx.arc(x, y, 1.35, 0, 2 * Math.PI);
      }
      ctx.fill();
      return;
    }
    ctx.stroke();
  }

  /** @param {string} sign @param {string} ink @param {number} ratio */
  function tile(sign, ink, ratio) {
    const canvas = document.createElement("canvas");
    canvas.width = canvas.height = Math.round(TILE_PX * ratio);
    const ctx = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
    ctx.scale(canvas.width / TILE_PX, canvas.width / TILE_PX);
    drawSign(ctx, sign, ink);
    return canvas;
  }

  /** All that is seen but what a path holds. @param {Path2D} path @param {FieldView} view */
  function outsideOf(path, view) {
    const outside = new Path2D(path);
    const [west, south, east, north] = view.seen;
    outside.rect(west, south, east - west, north - south);
    return outside;
  }

  class Beds {
    /** @param {SceneBeds} packed */
    constructor(packed) {
      this.names = packed.names;
      this.lengths = packed.lengths;
      this.starts = fieldFrame.wholes(packed.starts);
      this.points = fieldFrame.floats(packed.points);
      this.plots = fieldFrame.shorts(packed.plots);
      this.wider = fieldFrame.floats(packed.wider);
      this.hoops = fieldFrame.lines(packed.hoops);
      this.count = this.names.length;
      this.boxes = new Float32Array(4 * this.count);
      /** Middle, half of the long side and half of the short side, east and north each. */
      this.axes = new Float32Array(6 * this.count);
      for (let bed = 0; bed < this.count; bed += 1) this.measure(bed);
      /** @type {WeakMap<object, Map<string, Path2D>>} */
      this.runs = new WeakMap();
      /** @type {Map<string, HTMLCanvasElement>} */
      this.tiles = new Map();
    }

    /** @param {number} bed */
    corners(bed) {
      return this.points.subarray(2 * this.starts[bed], 2 * this.starts[bed + 1]);
    }

    /** @param {number} bed */
    measure(bed) {
      const at = this.corners(bed);
      this.boxes.set(fieldFrame.boundsOf(at), 4 * bed);
      const first = [(at[2] - at[0]) / 2, (at[3] - at[1]) / 2];
      const second = [(at[4] - at[2]) / 2, (at[5] - at[3]) / 2];
      const [long, short] = Math.hypot(first[0], first[1]) >= Math.hypot(second[0], second[1]) ? [first, second] : [second, first];
      // The long side runs towards the east.
      const turn = long[0] < 0 || (long[0] === 0 && long[1] < 0) ? -1 : 1;
      this.axes.set([(at[0] + at[4]) / 2, (at[1] + at[5]) / 2, turn * long[0], turn * long[1], short[0], short[1]], 6 * bed);
    }

    /** @param {number} bed @returns {Box} */
    box(bed) {
      const at = 4 * bed;
      return [this.boxes[at], this.boxes[at + 1], this.boxes[at + 2], this.boxes[at + 3]];
    }

    /** Middle of a bed. @param {number} bed @returns {[number, number]} */
    middle(bed) {
      return [this.axes[6 * bed], this.axes[6 * bed + 1]];
    }

    /** End of a bed, so far from its middle in halves of its length. @param {number} bed @param {number} halves @returns {[number, number]} */
    along(bed, halves) {
      const [east, north, alongEast, alongNorth] = this.axes.subarray(6 * bed, 6 * bed + 4);
      return [east + halves * alongEast, north + halves * alongNorth];
    }

    /** Direction of the long side on a screen, in radians. @param {number} bed */
    turn(bed) {
      return -Math.atan2(this.axes[6 * bed + 3], this.axes[6 * bed + 2]);
    }

    /** Length in metres. @param {number} bed */
    long(bed) {
      return 2 * Math.hypot(this.axes[6 * bed + 2], this.axes[6 * bed + 3]);
    }

    /** Width in metres. @param {number} bed */
    width(bed) {
      return 2 * Math.hypot(this.axes[6 * bed + 4], this.axes[6 * bed + 5]);
    }

    /** Beds in view. @param {FieldView} view */
    inView(view) {
      const found = [];
      const [west, south, east, north] = view.seen;
      const { boxes } = this;
      for (let bed = 0, at = 0; bed < this.count; bed += 1, at += 4) {
        if (boxes[at] <= east && boxes[at + 2] >= west && boxes[at + 1] <= north && boxes[at + 3] >= south) found.push(bed);
      }
      return found;
    }

    /**
     * The bed at a place, or at most `near` metres from it; -1: none.
     * @param {number} east @param {number} north @param {number} near
     * @param {Iterable<number>} [among] all beds where none are named
     */
    at(east, north, near, among) {
      let best = -1;
      let least = near;
      const { boxes } = this;
      for (const bed of among ?? this.names.keys()) {
        const at = 4 * bed;
        if (east < boxes[at] - near || north < boxes[at + 1] - near || east > boxes[at + 2] + near || north > boxes[at + 3] + near) continue;
        const off = this.away(bed, east, north);
        if (off === 0) return bed;
        if (off < least) [best, least] = [bed, off];
      }
      return best;
    }

    /** Metres from a bed to a place; 0 on it. @param {number} bed @param {number} east @param {number} north */
    away(bed, east, north) {
      const { axes } = this;
      const at = 6 * bed;
      const [dx, dy] = [east - axes[at], north - axes[at + 1]];
      const long = Math.hypot(axes[at + 2], axes[at + 3]) || 0.1;
      const short = Math.hypot(axes[at + 4], axes[at + 5]) || 0.1;
      const along = Math.abs(dx * axes[at + 2] + dy * axes[at + 3]) / long - long;
      const across = Math.abs(dx * axes[at + 4] + dy * axes[at + 5]) / short - short;
      return Math.hypot(Math.max(0, along), Math.max(0, across));
    }

    /** Puts a bed on a path, wider by the path beside it where runs are drawn. @param {Path2D} path @param {number} bed @param {boolean} run */
    add(path, bed, run) {
      const first = this.starts[bed];
      if (!run || this.starts[bed + 1] - first !== 4) {
        fieldFrame.trace(path, [this.corners(bed)], true);
        return;
      }
      // By places in the array: with tens of thousands of beds, taking arrays apart is slow.
      // So is closing an outline on a long path: its first side is drawn twice instead.
      const { axes } = this;
      const at = 6 * bed;
      const east = axes[at];
      const north = axes[at + 1];
      const le = axes[at + 2];
      const ln = axes[at + 3];
      const half = Math.sqrt(axes[at + 4] * axes[at + 4] + axes[at + 5] * axes[at + 5]) || 1;
      const wide = 1 + this.wider[bed] / 2 / half;
      const we = axes[at + 4] * wide;
      const wn = axes[at + 5] * wide;
      path.moveTo(east + le + we, north + ln + wn);
      path.lineTo(east + le - we, north + ln - wn);
      path.lineTo(east - le - we, north - ln - wn);
      path.lineTo(east - le + we, north - ln + wn);
      path.lineTo(east + le + we, north + ln + wn);
      path.lineTo(east + le - we, north + ln - wn);
    }

    /** Beds by what they are filled with. @param {Iterable<number>} beds @param {(bed: number) => string} key @param {boolean} run */
    grouped(beds, key, run) {
      /** @type {Map<string, Path2D>} */
      const groups = new Map();
      for (const bed of beds) {
        const own = key(bed);
        let path = groups.get(own);
        if (!path) groups.set(own, (path = new Path2D()));
        this.add(path, bed, run);
      }
      return groups;
    }

    /** The same of all beds, kept for as long as the picture is shown. @param {object} picture @param {FieldView} view @param {(bed: number) => string} key @param {boolean} run */
    groups(picture, view, key, run) {
      if (!run) return this.grouped(this.inView(view), key, run);
      let kept = this.runs.get(picture);
      if (!kept) {
        kept = this.grouped(this.names.keys(), key, run);
        this.runs.set(picture, kept);
      }
      return kept;
    }

    /** @param {CanvasRenderingContext2D} ctx @param {FieldView} view @param {FieldPalette} palette @param {Picture} picture */
    paint(ctx, view, palette, picture) {
      if (!this.count) return;
      view.inMetres(ctx);
      ctx.lineJoin = "miter";
      ctx.setLineDash([]);
      // Colours of the ground stay in view within the line.
      if (picture.ground) this.paintLineAround(ctx, view, palette.colours.ink, picture.outlined ?? []);
      else this.paintOutlined(ctx, view, palette, picture.outlined ?? []);
      const { beds } = picture;
      if (beds.kind === "ramp") this.paintRamp(ctx, view, palette, picture, beds);
      else if (beds.kind === "pattern") this.paintPatterns(ctx, view, palette, picture, beds);
      else this.paintPlain(ctx, view, palette, picture);
      const extras = picture.extras ?? [];
      if (extras.includes("hoops") && view.scale >= HOOPS_FROM) this.paintHoops(ctx, view, palette);
    }

    /** A line of ink around runs of beds; what lies within is painted over it. @param {CanvasRenderingContext2D} ctx @param {FieldView} view @param {FieldPalette} palette @param {number[]} outlined */
    paintOutlined(ctx, view, { colours }, outlined) {
      if (!outlined.length) return;
      const path = new Path2D();
      for (const bed of outlined) this.add(path, bed, true);
      ctx.strokeStyle = colours.ink;
      ctx.lineWidth = (2 * OUTLINE_PX + 0.6) / view.scale;
      ctx.stroke(path);
      ctx.fillStyle = colours.inside;
      ctx.fill(path);
      ctx.strokeStyle = colours.inside;
      ctx.lineWidth = 0.6 / view.scale;
      ctx.stroke(path);
    }

    /** A line around runs of beds, and nothing within. @param {CanvasRenderingContext2D} ctx @param {FieldView} view @param {string} colour @param {number[]} outlined */
    paintLineAround(ctx, view, colour, outlined) {
      const path = new Path2D();
      for (const bed of outlined) this.add(path, bed, true);
      ctx.save();
      ctx.clip(outsideOf(path, view), "evenodd");
      ctx.strokeStyle = colour;
      ctx.lineWidth = (2 * OUTLINE_PX) / view.scale;
      ctx.stroke(path);
      ctx.restore();
    }

    /** @param {CanvasRenderingContext2D} ctx @param {FieldView} view @param {FieldPalette} palette @param {Picture} picture @param {RampBeds} beds */
    paintRamp(ctx, view, palette, picture, beds) {
      const codes = this.codesOf(beds);
      const run = view.scale < SINGLE_FROM;
      for (const [key, path] of this.groups(picture, view, this.kinds(codes), run)) {
        const code = parseInt(key, 10);
        const known = code !== UNKNOWN;
        const colour = known ? palette.colour(beds.ramp, code) : palette.colours.bed;
        this.fill(ctx, view, path, colour, run, known ? "" : palette.colours.bed_line);
      }
      // Drawn again, or neighbours of another value would lie half over it.
      if (run) this.lineAround(ctx, view, palette, picture.outlined ?? [], codes, beds.ramp);
    }

    /** @param {CanvasRenderingContext2D} ctx @param {FieldView} view @param {FieldPalette} palette @param {number[]} outlined @param {ArrayLike<number>} codes @param {string} ramp */
    lineAround(ctx, view, palette, outlined, codes, ramp) {
      if (!outlined.length) return;
      this.paintOutlined(ctx, view, palette, outlined);
      for (const [code, path] of this.grouped(outlined, (bed) => `${codes[bed]}`, true)) {
        const known = Number(code) !== UNKNOWN;
        this.fill(ctx, view, path, known ? palette.colour(ramp, Number(code)) : palette.colours.bed, true, "");
      }
    }

    /** @param {CanvasRenderingContext2D} ctx @param {FieldView} view @param {Path2D} path @param {string} colour @param {boolean} run @param {string} line */
    fill(ctx, view, path, colour, run, line) {
      ctx.fillStyle = colour;
      ctx.fill(path);
      if (run || line) {
        // Over the seams between beds of a run.
        ctx.strokeStyle = line || colour;
        ctx.lineWidth = SEAM_PX / view.scale;
        ctx.stroke(path);
      }
    }

    /** By code and by plot: a path of very many beds is slow to build. @param {ArrayLike<number>} codes */
    kinds(codes) {
      return (/** @type {number} */ bed) => `${codes[bed]} ${this.plots[bed]}`;
    }

    /** @param {RampBeds | PatternBeds} beds */
    codesOf(beds) {
      return fieldFrame.codes(beds.codes);
    }

    /** @param {CanvasRenderingContext2D} ctx @param {FieldView} view @param {FieldPalette} palette @param {Picture} picture @param {PatternBeds} beds */
    paintPatterns(ctx, view, palette, picture, beds) {
      const codes = this.codesOf(beds);
      const looks = patterns(palette.colours);
      const run = view.scale < PATTERN_FROM;
      const groups = this.groups(picture, view, this.kinds(codes), run);
      const line = (/** @type {Path2D} */ path, /** @type {string} */ colour, /** @type {number} */ px) => {
        ctx.strokeStyle = colour;
        ctx.lineWidth = px / view.scale;
        ctx.stroke(path);
      };
      // What is empty lies below the lines around what is not.
      const drawn = [...groups].map(([own, path]) => {
        const [code, plot] = own.split(" ").map(Number);
        return { path, plot, look: looks[beds.names[code]] ?? looks.empty };
      });
      for (const { path } of drawn.filter(({ look }) => !look.line)) {
        // Colours of the ground are the answer on beds that have none of their own.
        if (!picture.ground) {
          ctx.fillStyle = palette.colours.bed;
          ctx.fill(path);
        }
        line(path, palette.colours.bed_line, SEAM_PX);
      }
      for (const { path, plot, look } of drawn.filter(({ look }) => look.line)) {
        if (run) line(path, look.line, 2.2);
        this.fill(ctx, view, path, look.fill, run, "");
        // Seen from near, hoops are drawn one by one where they stand.
        if (look.sign && (look !== looks.hoops || view.scale < HOOPS_FROM)) {
          ctx.fillStyle = this.sign(ctx, view, look, plot);
          ctx.fill(path);
        }
        if (!run) line(path, look.line, 0.8);
      }
    }

    /** A pattern that lies along the beds of a plot. @param {CanvasRenderingContext2D} ctx @param {FieldView} view @param {{sign: string, ink: string}} look @param {number} plot */
    sign(ctx, view, { sign, ink }, plot) {
      const key = `${sign} ${ink} ${view.ratio}`;
      let canvas = this.tiles.get(key);
      if (!canvas) this.tiles.set(key, (canvas = tile(sign, ink, view.ratio)));
      const pattern = /** @type {CanvasPattern} */ (ctx.createPattern(canvas, "repeat"));
      const first = this.plots.indexOf(plot);
      // A lattice of which a thin bed shows less than a whole piece would be a zigzag.
      const wide = (this.width(first) + this.wider[first]) * view.scale;
      const part = sign === "lattice" ? Math.min(1, Math.max(LEAST_LATTICE, wide / TILE_PX)) : 1;
      const size = (part * TILE_PX) / canvas.width / view.scale;
      const degrees = (this.turn(first) * 180) / Math.PI;
      pattern.setTransform(new DOMMatrix().rotate(-degrees).scale(size, -size));
      return pattern;
    }

    /** @param {CanvasRenderingContext2D} ctx @param {FieldView} view @param {FieldPalette} palette @param {Picture} picture */
    paintPlain(ctx, view, palette, picture) {
      const run = view.scale < SINGLE_FROM;
      // Colours of the ground are not hidden under beds that say nothing themselves.
      const open = Boolean(picture.ground);
      const pitch = this.width(0) + this.wider[0];
      if (open && pitch * view.scale < FAINT_FROM_PX) return;
      for (const path of this.groups(picture, view, (bed) => `${this.plots[bed]}`, run).values()) {
        ctx.fillStyle = palette.colours.bed;
        if (!open) ctx.fill(path);
        ctx.strokeStyle = palette.colours.bed_line;
        ctx.lineWidth = (run ? 0.4 : 0.8) / view.scale;
        ctx.stroke(path);
      }
    }

    /** Hoops across the beds that have some. @param {CanvasRenderingContext2D} ctx @param {FieldView} view @param {FieldPalette} palette */
    paintHoops(ctx, view, palette) {
      const path = new Path2D();
      for (const bed of this.inView(view)) {
        const middles = this.hoops[bed];
        const [, , , , se, sn] = this.axes.subarray(6 * bed, 6 * bed + 6);
        for (let at = 0; at < middles.length; at += 2) {
          const [east, north] = middles.subarray(at, at + 2);
          path.moveTo(east - 1.12 * se, north - 1.12 * sn);
          path.lineTo(east + 1.12 * se, north + 1.12 * sn);
        }
      }
      ctx.strokeStyle = palette.colours.ink;
      ctx.lineWidth = Math.min(1.6, Math.max(0.7, 0.1 * view.scale)) / view.scale;
      ctx.stroke(path);
    }

    /** The bed that was chosen, or that keys have come to. @param {CanvasRenderingContext2D} ctx @param {FieldView} view @param {FieldPalette} palette @param {number} bed @param {boolean} walked */
    paintChosen(ctx, view, palette, bed, walked) {
      const path = new Path2D();
      this.add(path, bed, false);
      // Outside the bed alone, whose colour is its answer.
      view.inMetres(ctx);
      ctx.save();
      ctx.clip(outsideOf(path, view), "evenodd");
      ctx.lineJoin = "miter";
      ctx.strokeStyle = palette.colours.paper;
      ctx.lineWidth = (2 * CHOSEN_PX + 3) / view.scale;
      ctx.stroke(path);
      ctx.strokeStyle = palette.colours.ink;
      ctx.setLineDash(walked ? [6 / view.scale, 4 / view.scale] : []);
      ctx.lineWidth = (2 * CHOSEN_PX) / view.scale;
      ctx.stroke(path);
      ctx.restore();
    }
  }

  return Object.freeze({ Beds, patterns, drawSign, TILE_PX, SINGLE_FROM, PATTERN_FROM });
})();
