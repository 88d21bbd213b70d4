"use strict";
/** Packed numbers, and the level frame of metres in which everything is drawn. */
const fieldFrame = (() => {
  /** @param {string} base64 */
  function bytes(base64) {
    const text = atob(base64);
    const found = new Uint8Array(text.length);
    for (let at = 0; at < text.length; at += 1) found[at] = text.charCodeAt(at);
    return found;
  }

  const floats = (/** @type {string} */ packed) => new Float32Array(bytes(packed).buffer);
  const shorts = (/** @type {string} */ packed) => new Uint16Array(bytes(packed).buffer);
  const wholes = (/** @type {string} */ packed) => new Uint32Array(bytes(packed).buffer);
  const signed = (/** @type {string} */ packed) => new Int32Array(bytes(packed).buffer);

  /**
   * Lines of points: metres east and north in turn.
   * @param {PackedLines} packed
   * @returns {Float32Array[]}
   */
  function lines({ starts, points, unit }) {
    const steps = new Int16Array(bytes(points).buffer);
    const metres = Float32Array.from(steps, (step) => step * unit);
    const begins = wholes(starts);
    const found = [];
    for (let at = 1; at < begins.length; at += 1) {
      found.push(metres.subarray(2 * begins[at - 1], 2 * begins[at]));
    }
    return found;
  }

  /**
   * Codes of beds as numbers, 255 where nothing is known.
   * @param {Codes} codes
   * @returns {ArrayLike<number>}
   */
  const codes = (codes) => (typeof codes === "string" ? bytes(codes) : codes);

  /** Where metres lie on a canvas: `scale` pixels to a metre, the frame's middle at `left`, `top`. */
  class View {
    /**
     * @param {number} scale @param {number} left @param {number} top
     * @param {number} width @param {number} height @param {number} ratio
     * @param {PixelBox} [frame] the part that the window shows
     */
    constructor(scale, left, top, width, height, ratio, frame) {
      this.frame = frame ?? { left: 0, top: 0, right: width, bottom: height };
      this.scale = scale;
      this.left = left;
      this.top = top;
      this.width = width;
      this.height = height;
      this.ratio = ratio;
      /** West, south, east and north of what is seen [m]. */
      this.seen = [-left / scale, (top - height) / scale, (width - left) / scale, top / scale];
    }

    /** @param {number} east */
    x(east) {
      return this.left + east * this.scale;
    }

    /** @param {number} north */
    y(north) {
      return this.top - north * this.scale;
    }

    /** From here on the canvas takes metres. @param {CanvasRenderingContext2D} ctx */
    inMetres(ctx) {
      const k = this.scale * this.ratio;
      ctx.setTransform(k, 0, 0, -k, this.left * this.ratio, this.top * this.ratio);
    }

    /** From here on the canvas takes pixels of the page. @param {CanvasRenderingContext2D} ctx */
    inPixels(ctx) {
      ctx.setTransform(this.ratio, 0, 0, this.ratio, 0, 0);
    }

    /** @param {Box} box */
    shows([west, south, east, north]) {
      const [left, bottom, right, top] = this.seen;
      return west <= right && east >= left && south <= top && north >= bottom;
    }
  }

  /** Between degrees, as Leaflet has them, and metres of the frame. */
  class Frame {
    /** @param {Origin} origin */
    constructor(origin) {
      this.origin = origin;
    }

    /** @param {{lat: number, lng: number}} place @returns {[number, number]} */
    metres({ lat, lng }) {
      const { x, y, scale } = this.origin;
      const at = L.CRS.EPSG3857.project(L.latLng(lat, lng));
      return [(at.x - x) * scale, (at.y - y) * scale];
    }

    /** @param {number} east @param {number} north */
    latLng(east, north) {
      const { x, y, scale } = this.origin;
      return L.CRS.EPSG3857.unproject(L.point(x + east / scale, y + north / scale));
    }

    /** Pixels to a metre. @param {number} zoom */
    scaleAt(zoom) {
      const [west, east] = [0, 100].map((metres) => L.CRS.EPSG3857.latLngToPoint(this.latLng(metres, 0), zoom).x);
      return (east - west) / 100;
    }

    /** @param {number} scale */
    zoomFor(scale) {
      return Math.log2(scale / this.scaleAt(0));
    }
  }

  /** @param {ArrayLike<number>} points @returns {Box} */
  function boundsOf(points) {
    /** @type {Box} */
    const box = [Infinity, Infinity, -Infinity, -Infinity];
    for (let at = 0; at < points.length; at += 2) {
      box[0] = Math.min(box[0], points[at]);
      box[1] = Math.min(box[1], points[at + 1]);
      box[2] = Math.max(box[2], points[at]);
      box[3] = Math.max(box[3], points[at + 1]);
    }
    return box;
  }

  /**
   * Whether a place lies in an outline of rings.
   * @param {number} east @param {number} north @param {ArrayLike<number>[]} rings
   */
  function inside(east, north, rings) {
    let within = false;
    for (const ring of rings) {
      for (let at = 0, before = ring.length - 2; at < ring.length; before = at, at += 2) {
        const [x1, y1, x2, y2] = [ring[at], ring[at + 1], ring[before], ring[before + 1]];
        if (y1 > north !== y2 > north && east < ((x2 - x1) * (north - y1)) / (y2 - y1) + x1) within = !within;
      }
    }
    return within;
  }

  /**
   * Puts lines on a path, closed where they are rings.
   * @param {Path2D | CanvasRenderingContext2D} path @param {ArrayLike<number>[]} lines
   * @param {boolean} closed
   */
  function trace(path, lines, closed) {
    for (const line of lines) {
      for (let at = 0; at < line.length; at += 2) {
        if (at === 0) path.moveTo(line[0], line[1]);
        else path.lineTo(line[at], line[at + 1]);
      }
      if (closed) path.closePath();
    }
  }

  return Object.freeze({ bytes, floats, shorts, wholes, signed, lines, codes, View, Frame, boundsOf, inside, trace });
})();
