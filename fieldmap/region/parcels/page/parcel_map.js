"use strict";
/** The map of a region: its ground, and every parcel in the colour of the answer. */
const fieldMap = (() => {
  const { data, byId } = fieldPage;
  /** @type {Scene} */
  const scene = fieldPage.read("fieldmap-scene");
  const MOST_SCALE = 20; // pixels to a metre
  const STEP = 1.6;
  const NUDGE_PX = 60;
  const TAP_PX = 6;
  const COLUMN_PX = 424;
  const PRINT_PX = 640;
  const PALE = 0.5; // of the ramp by night
  const TIGHT_PX = 640; // beside the column
  const FOOT_PX = 48; // of a phone's map, on which scale and north lie
  const LIE = { fitting: 0.92, other: 0.4 };

  /** @typedef {{path: Path2D, rings: Float32Array[], box: Box, middle: [number, number]}} Outline */
  const rings = fieldFrame.lines(data.outlines.lines);
  /** @type {Outline[]} */
  const outlines = data.names.map((/** @type {string} */ _name, /** @type {number} */ at) => {
    const mine = rings.filter((_ring, number) => data.outlines.of[number] === at);
    const path = new Path2D();
    fieldFrame.trace(path, mine, true);
    const [east, north] = data.outlines.middles[at];
    return { path, rings: mine, box: whole(mine), middle: [east, north] };
  });

  /** @param {Float32Array[]} lines @returns {Box} */
  function whole(lines) {
    const boxes = lines.map(fieldFrame.boundsOf);
    return [
      Math.min(...boxes.map((box) => box[0])),
      Math.min(...boxes.map((box) => box[1])),
      Math.max(...boxes.map((box) => box[2])),
      Math.max(...boxes.map((box) => box[3])),
    ];
  }

  const canvas = byId("map");
  const ctx = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
  let palette = new fieldPalette.Palette(scene.looks, "day");
  let [scale, left, top] = [0, 0, 0];
  let least = 0;
  let isWhole = true; // nobody has moved it yet
  /** What is shown: a place along the ramp for each parcel, null where it does not fit,
   *  undefined where it is not known; and which stand in the cards.
   * @type {{places: (number|null|undefined)[], three: number[]}} */
  let shown = { places: [], three: [] };
  let asked = 0;
  /** @type {(at: number) => void} */
  let touched = () => {};

  const ground = new fieldGround.Ground(scene, changed);

  /** Draws once before the next frame. */
  function changed() {
    asked ||= requestAnimationFrame(() => {
      asked = 0;
      paint();
    });
  }

  /** The part of the canvas on which no words lie. */
  function room() {
    const [width, height] = [canvas.clientWidth, canvas.clientHeight];
    const isNarrow = fieldPage.narrow.matches;
    const beside = isNarrow ? 0 : Math.min(COLUMN_PX, width / 2);
    const isRight = document.documentElement.dir === "rtl";
    // Beside the tools there is room for parcels in a wide window, else below them.
    const isTight = !isNarrow && width - beside < TIGHT_PX;
    const top = isTight ? byId("find").parentElement.offsetTop + byId("find").parentElement.offsetHeight : 0;
    return { left: isRight ? 0 : beside, right: isRight ? width - beside : width, top, bottom: height - (isNarrow ? FOOT_PX : 0) };
  }

  /** All parcels in the room. */
  function fit() {
    const { left: from, right, top: above, bottom } = room();
    const [west, south, east, north] = scene.view;
    const margin = 20;
    least = Math.min((right - from - 2 * margin) / (east - west), (bottom - above - 2 * margin) / (north - south));
    scale = least = Math.max(least, 1e-4);
    isWhole = true;
    left = (from + right) / 2 - (scale * (west + east)) / 2;
    top = (above + bottom) / 2 + (scale * (south + north)) / 2;
    changed();
  }

  /** @param {number} width @param {number} height @param {number} ratio */
  const viewOf = (width, height, ratio) => new fieldFrame.View(scale, left, top, width, height, ratio);

  function paint() {
    const ratio = window.devicePixelRatio || 1;
    const [width, height] = [canvas.clientWidth, canvas.clientHeight];
    if (!width || !height) return;
    if (canvas.width !== Math.round(width * ratio) || canvas.height !== Math.round(height * ratio)) {
      canvas.width = Math.round(width * ratio);
      canvas.height = Math.round(height * ratio);
    }
    draw(ctx, viewOf(width, height, ratio), palette, room());
    fade(ctx, width, height, ratio);
  }

  /** The edge of the map is paper. @param {CanvasRenderingContext2D} brush @param {number} width @param {number} height @param {number} ratio */
  function fade(brush, width, height, ratio) {
    if (fieldPage.narrow.matches) return;
    brush.setTransform(ratio, 0, 0, ratio, 0, 0);
    const paper = palette.colours.paper;
    const down = brush.createLinearGradient(0, height - 36, 0, height);
    down.addColorStop(0, fieldPalette.clear(paper, 0));
    down.addColorStop(1, paper);
    brush.fillStyle = down;
    brush.fillRect(0, height - 36, width, 36);
  }

  /** @param {CanvasRenderingContext2D} brush @param {FieldView} view @param {FieldPalette} colours @param {PixelBox} free */
  function draw(brush, view, colours, free) {
    ground.paint(brush, view, colours, null);
    const seen = outlines.map((_, at) => at).filter((at) => view.shows(outlines[at].box));
    paintParcels(brush, view, colours, seen);
    const labels = new fieldLabels.Labels(brush, view, colours, [], free);
    view.inPixels(brush);
    paintThree(brush, view, colours, labels);
    paintNames(view, colours, labels, seen);
    fieldFurniture.paint(brush, colours, scene, view.scale, free.left + 20, fieldPage.narrow.matches ? view.height - 16 : free.bottom - 44, free.right - free.left);
  }


  /** @param {CanvasRenderingContext2D} brush @param {FieldView} view @param {FieldPalette} colours @param {number[]} seen */
  function paintParcels(brush, view, colours, seen) {
    view.inMetres(brush);
    brush.lineJoin = "round";
    const px = 1 / view.scale;
    const order = [...seen].sort((one, other) => Number(isFitting(one)) - Number(isFitting(other)));
    for (const at of order) {
      const place = shown.places[at];
      const { path } = outlines[at];
      brush.setLineDash([]);
      if (place === null) {
        brush.fillStyle = fieldPalette.clear(colours.colours.inside, LIE.other);
        brush.fill(path, "evenodd");
        brush.strokeStyle = fieldPalette.clear(colours.colours.contour, 0.75);
        brush.lineWidth = 0.8 * px;
      } else if (place === undefined) {
        brush.setLineDash([1.6 * px, 2.6 * px]);
        brush.strokeStyle = colours.colours.ink;
        brush.lineWidth = 1.4 * px;
      } else {
        brush.fillStyle = colours.colour("dates", Math.round(254 * place));
        brush.globalAlpha = LIE.fitting;
        brush.fill(path, "evenodd");
        brush.globalAlpha = 1;
        brush.strokeStyle = colours.colours.ink;
        brush.lineWidth = 1.1 * px;
      }
      brush.stroke(path);
    }
    brush.setLineDash([]);
  }

  const isFitting = (/** @type {number} */ at) => typeof shown.places[at] === "number";

  /** The parcels in the cards: outlined, and named with their number.
   * @param {CanvasRenderingContext2D} brush @param {FieldView} view @param {FieldPalette} colours @param {InstanceType<typeof fieldLabels.Labels>} labels */
  function paintThree(brush, view, colours, labels) {
    view.inMetres(brush);
    brush.lineJoin = "round";
    for (const at of shown.three) {
      brush.strokeStyle = colours.colours.ink;
      brush.lineWidth = 2.6 / view.scale;
      brush.stroke(outlines[at].path);
    }
    view.inPixels(brush);
    shown.three.forEach((at, number) => {
      const [west, south, east, north] = outlines[at].box;
      const ink = inkOn(at, colours);
      const alone = { text: `${number + 1}`, font: fieldLabels.FONTS.plotNear, ...ink };
      const named = [alone, { text: data.names[at], font: fieldLabels.FONTS.bed, ...ink }];
      if (putInside(view, labels, at, named) || putInside(view, labels, at, [alone])) return;
      const middle = view.x((west + east) / 2);
      const lines = [{ text: `${number + 1}. ${data.names[at]}`, font: fieldLabels.FONTS.plot, colour: colours.colours.ink }];
      const { width, height } = labels.size(lines);
      /** @type {LabelPlace[]} */
      const places = [
        { left: middle - width / 2, top: view.y(north) - height - 4, align: "center" },
        { left: middle - width / 2, top: view.y(south) + 4, align: "center" },
        { left: view.x(east) + 6, top: view.y((north + south) / 2) - height / 2, align: "left" },
        { left: view.x(west) - width - 6, top: view.y((north + south) / 2) - height / 2, align: "right" },
      ];
      labels.put(lines, places);
    });
  }

  /** Names of parcels that have room for them. @param {FieldView} view @param {FieldPalette} colours @param {InstanceType<typeof fieldLabels.Labels>} labels @param {number[]} seen */
  function paintNames(view, colours, labels, seen) {
    for (const at of seen) {
      if (shown.three.includes(at)) continue;
      putInside(view, labels, at, [{ text: data.names[at], font: fieldLabels.FONTS.bed, ...inkOn(at, colours) }]);
    }
  }

  /** Lines in the middle of a parcel, if it is as wide. @param {FieldView} view @param {InstanceType<typeof fieldLabels.Labels>} labels @param {number} at @param {LabelLine[]} lines */
  function putInside(view, labels, at, lines) {
    const [west, south, east, north] = outlines[at].box;
    const { width, height } = labels.size(lines);
    if (width > (east - west) * view.scale * 0.9 || height > (north - south) * view.scale * 0.9) return false;
    const [x, y] = [view.x(outlines[at].middle[0]), view.y(outlines[at].middle[1])];
    return labels.put(lines, [{ left: x - width / 2, top: y - height / 2, align: "center" }]) !== null;
  }

  /** Words on a parcel and their halo: on a pale colour the words are dark by night too. @param {number} at @param {FieldPalette} colours */
  function inkOn(at, colours) {
    const place = shown.places[at];
    if (!colours.dark || typeof place !== "number" || place > PALE) return { colour: colours.colours.ink };
    return { colour: colours.colours.paper, halo: colours.colour("dates", Math.round(254 * place)) };
  }

  /** Larger or smaller about a place of the canvas. @param {number} times @param {number} x @param {number} y */
  function zoom(times, x, y) {
    const next = Math.min(MOST_SCALE, Math.max(least / 2, scale * times));
    left = x - ((x - left) / scale) * next;
    top = y - ((y - top) / scale) * next;
    scale = next;
    isWhole = false;
    changed();
  }

  /** About the middle of the room. @param {number} times */
  function zoomBy(times) {
    const { left: from, right, bottom } = room();
    zoom(times, (from + right) / 2, bottom / 2);
  }

  /** @param {number} east @param {number} north */
  function parcelAt(east, north) {
    return outlines.findIndex(({ rings: mine, box: [west, south, right, up] }) => east >= west && east <= right && north >= south && north <= up && fieldFrame.inside(east, north, mine));
  }

  // Fingers, mouse and keys.
  /** @type {Map<number, {x: number, y: number}>} */
  const down = new Map();
  let moved = 0;
  const at = (/** @type {PointerEvent} */ event) => ({ x: event.offsetX, y: event.offsetY });
  canvas.addEventListener("pointerdown", (/** @type {PointerEvent} */ event) => {
    canvas.setPointerCapture(event.pointerId);
    if (!down.size) moved = 0;
    down.set(event.pointerId, at(event));
  });
  canvas.addEventListener("pointermove", (/** @type {PointerEvent} */ event) => {
    const before = down.get(event.pointerId);
    if (!before) return;
    const now = at(event);
    const other = [...down].find(([id]) => id !== event.pointerId)?.[1];
    moved += Math.hypot(now.x - before.x, now.y - before.y);
    if (other) {
      moved += TAP_PX;
      const apart = (/** @type {{x: number, y: number}} */ one) => Math.max(1, Math.hypot(one.x - other.x, one.y - other.y));
      zoom(apart(now) / apart(before), other.x, other.y);
    } else if (moved > TAP_PX) {
      left += now.x - before.x;
      top += now.y - before.y;
      isWhole = false;
      changed();
    }
    down.set(event.pointerId, now);
  });
  canvas.addEventListener("pointerup", (/** @type {PointerEvent} */ event) => {
    down.delete(event.pointerId);
    if (moved > TAP_PX) return;
    const { x, y } = at(event);
    const found = parcelAt((x - left) / scale, (top - y) / scale);
    if (found >= 0) touched(found);
  });
  canvas.addEventListener("pointercancel", (/** @type {PointerEvent} */ event) => down.delete(event.pointerId));
  canvas.addEventListener(
    "touchstart",
    (/** @type {TouchEvent} */ event) => {
      // Else the browser rolls on unseen after a flick, and takes the next touch of a word as one that stops it.
      if (event.cancelable) event.preventDefault();
      if (document.activeElement instanceof HTMLElement) document.activeElement.blur(); // and its keyboard goes
    },
    { passive: false },
  );
  canvas.addEventListener(
    "wheel",
    (/** @type {WheelEvent} */ event) => {
      event.preventDefault();
      zoom(Math.exp(-event.deltaY / 400), event.offsetX, event.offsetY);
    },
    { passive: false },
  );
  canvas.addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => {
    /** @type {Record<string, () => void>} */
    const keys = {
      ArrowLeft: () => (left += NUDGE_PX),
      ArrowRight: () => (left -= NUDGE_PX),
      ArrowUp: () => (top += NUDGE_PX),
      ArrowDown: () => (top -= NUDGE_PX),
      "+": () => zoomBy(STEP),
      "=": () => zoomBy(STEP),
      "-": () => zoomBy(1 / STEP),
      0: fit,
    };
    const act = keys[event.key];
    if (!act || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    isWhole = false;
    act();
    changed();
  });
  byId("closer").addEventListener("click", () => zoomBy(STEP));
  byId("farther").addEventListener("click", () => zoomBy(1 / STEP));
  byId("whole").addEventListener("click", fit);

  let size = "";
  new ResizeObserver(() => {
    const now = `${canvas.clientWidth} ${canvas.clientHeight}`;
    if (now === size) return;
    // A window that changes keeps what is looked at.
    if (isWhole) fit();
    else changed();
    size = now;
  }).observe(canvas);

  /** The whole region in the colours of paper, as a picture. */
  function picture() {
    const [west, south, east, north] = scene.view;
    const [width, height] = [PRINT_PX, Math.round((PRINT_PX * (north - south)) / (east - west)) + 60];
    const paper = document.createElement("canvas");
    const ratio = 3;
    [paper.width, paper.height] = [width * ratio, height * ratio];
    const brush = /** @type {CanvasRenderingContext2D} */ (paper.getContext("2d"));
    const times = (width - 40) / (east - west);
    const view = new fieldFrame.View(times, width / 2 - (times * (west + east)) / 2, height / 2 + (times * (south + north)) / 2, width, height, ratio);
    draw(brush, view, new fieldPalette.Palette(scene.looks, "print"), { left: 0, top: 0, right: width, bottom: height });
    return paper.toDataURL("image/png");
  }

  const field = Object.freeze({
    /** @param {LookName} name */
    look(name) {
      palette = new fieldPalette.Palette(scene.looks, name);
      changed();
    },
    // Of a pattern, of which this page has none.
    swatch: /** @type {(...kind: unknown[]) => HTMLCanvasElement} */ (() => document.createElement("canvas")),
  });

  return Object.freeze({
    field,
    picture,
    fit,
    /** @param {(number|null|undefined)[]} places @param {number[]} three */
    show(places, three) {
      shown = { places, three };
      changed();
    },
    /** @param {(at: number) => void} then */
    onTouch(then) {
      touched = then;
    },
    /** Brings a parcel into the room where it is out of sight. @param {number} at */
    reveal(at) {
      const { left: from, right, top: above, bottom } = room();
      const [east, north] = outlines[at].middle;
      const [x, y] = [left + east * scale, top - north * scale];
      if (x > from + 20 && x < right - 20 && y > above + 20 && y < bottom - 20) return;
      left += (from + right) / 2 - x;
      top += (above + bottom) / 2 - y;
      isWhole = false;
      changed();
    },
    colour: (/** @type {number} */ place) => palette.colour("dates", Math.round(254 * place)),
    pixelOf: (/** @type {number} */ at) => [left + outlines[at].middle[0] * scale, top - outlines[at].middle[1] * scale],
  });
})();
