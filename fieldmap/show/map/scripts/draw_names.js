"use strict";
/** Which words stand on the map, in the order in which they matter. */
const fieldNames = (() => {
  const { FONTS, sizeOf } = fieldLabels;
  const { off, clipped } = fieldClear;
  const NEAR = 4.5; // pixels to a metre
  const NEAREST = 11;
  const SIMPLER_PX = 4;
  const TICK_PX = 6;
  const ARROW_PX = 96;
  const HALO_PX = 10; // around the arrow, over lines of height and of air
  const TENTHS_PX = 14; // between each tenth bed, closer than which none is named
  const NUMBER_PX = [14, 9]; // radius of a number, and where beds are crowded
  const ALONG = [0.9, 0.75, 0.6, 0.45, 0.3, 0.15, 0, -0.15, -0.3, -0.45, -0.6, -0.75, -0.9]; // in halves of a bed
  const NEXT = 2.5; // times half a bed and its path: so far a bed may lie from the one before it
  const OPEN_BLOCKS = 8; // that a bed may go on
  const BLOCK_PX = 16; // narrower blocks have no names
  const LED_PX = [16, 34, 56, 84]; // off an outline, with a line that leads to it
  const STEEP = 0.6; // radians, from which names of beds lie along them

  /** A line on the canvas without what is finer than a few pixels. @param {number[][]} points @returns {number[][]} */
  function simpler(points) {
    if (points.length < 3) return points;
    const [first, last] = [points[0], points[points.length - 1]];
    const long = Math.hypot(last[0] - first[0], last[1] - first[1]);
    let [most, where] = [0, 0];
    for (let at = 1; at < points.length - 1; at += 1) {
      const [x, y] = points[at];
      const away = long
        ? Math.abs((last[0] - first[0]) * (first[1] - y) - (first[0] - x) * (last[1] - first[1])) / long
        : Math.hypot(x - first[0], y - first[1]);
      if (away > most) [most, where] = [away, at];
    }
    if (most <= SIMPLER_PX) return [first, last];
    return [...simpler(points.slice(0, where + 1)).slice(0, -1), ...simpler(points.slice(where))];
  }

  /** A name along the longest straight side of a long thing, below it or above. @param {FieldSheet} sheet @param {FieldShape} thing @param {string} text @param {string} font @param {string} colour */
  function along(sheet, thing, text, font, colour) {
    const { view, labels, scene } = sheet;
    const edges = [];
    for (const ring of thing.rings) {
      const points = [];
      for (let at = 0; at < ring.length; at += 2) points.push([view.x(ring[at]), view.y(ring[at + 1])]);
      // A ring ends where it begins, so it is halved first.
      const half = Math.floor(points.length / 2);
      const simple = thing.form === "area" ? [...simpler(points.slice(0, half + 1)).slice(0, -1), ...simpler(points.slice(half))] : simpler(points);
      for (let at = 1; at < simple.length; at += 1) {
        const edge = clipped(simple[at - 1], simple[at], labels.room);
        if (edge) edges.push({ edge, long: Math.hypot(edge[1][0] - edge[0][0], edge[1][1] - edge[0][1]) });
      }
    }
    const width = labels.width(text, font);
    const wanted = edges.filter(({ long }) => long >= 0.7 * width).sort((one, other) => other.long - one.long).slice(0, 6);
    const places = [];
    for (const { edge: [a, b], long } of wanted) {
      let turn = Math.atan2(b[1] - a[1], b[0] - a[0]);
      if (turn > Math.PI / 2) turn -= Math.PI;
      if (turn <= -Math.PI / 2) turn += Math.PI;
      const aside = sizeOf(font) * 0.62 + (thing.crowns ? 8 : 5);
      const spare = Math.max(0, (long - width) / long);
      for (const share of [0.5, 0.5 - spare / 3, 0.5 + spare / 3]) {
        for (const side of [1, -1]) {
          places.push({
            x: a[0] + (b[0] - a[0]) * share - side * Math.sin(turn) * aside,
            y: a[1] + (b[1] - a[1]) * share + side * Math.cos(turn) * aside,
            turn,
            side,
          });
        }
      }
    }
    for (const { x, y, turn } of places) {
      const within = thing.form === "area" && fieldFrame.inside((x - view.left) / view.scale, (view.top - y) / view.scale, thing.rings);
      const clear = [-0.5, -0.25, 0, 0.25, 0.5].every((share) => {
        const [cx, cy] = [x + share * width * Math.cos(turn), y + share * width * Math.sin(turn)];
        return off(sheet, { left: cx - 6, right: cx + 6, top: cy - 6, bottom: cy + 6 }, scene.around, thing);
      });
      if (within || !clear) continue;
      if (labels.slant(text, x, y, turn, font, colour)) return true;
    }
    return false;
  }

  /** A name beside a small thing. @param {FieldSheet} sheet @param {FieldShape} thing @param {string} text @param {string} font @param {string} colour */
  function beside(sheet, thing, text, font, colour) {
    const { view, labels, scene } = sheet;
    const [west, south, east, north] = thing.box;
    const width = labels.width(text, font);
    const size = sizeOf(font) * 1.18;
    const [left, right] = [Math.min(view.x(west), view.x((west + east) / 2) - 8), Math.max(view.x(east), view.x((west + east) / 2) + 8)];
    const [top, bottom] = [Math.min(view.y(north), view.y((north + south) / 2) - 8), Math.max(view.y(south), view.y((north + south) / 2) + 8)];
    const middle = (top + bottom - size) / 2;
    const centre = (left + right - width) / 2;
    /** @type {LabelPlace[]} */
    const places = [
      { left: right + 6, top: middle, align: "left" },
      { left: left - 6 - width, top: middle, align: "right" },
      { left: centre, top: bottom + 3, align: "center" },
      { left: centre, top: top - 3 - size, align: "center" },
    ];
    labels.put([{ text, font, colour }], places.filter((place) => off(sheet, { ...place, right: place.left + width, bottom: place.top + size }, scene.things.plots)));
  }

  /** Names of what stands around; hazards first. @param {FieldSheet} sheet @param {boolean} small those of small things */
  function around(sheet, small) {
    const { view, colours, scene } = sheet;
    const near = view.scale >= NEAR;
    const inks = /** @type {Record<string, string>} */ ({
      "overhead line": colours.wire,
      hedge: colours.hedge_ink,
      trees: colours.hedge_ink,
      tree: colours.hedge_ink,
      water: colours.water_ink,
      "water point": colours.water_ink,
    });
    const order = ["overhead line", "keep off", "hedge", "trees", "water", "road", "wall", "fence", "bank"];
    const rank = (/** @type {FieldShape} */ thing) => (order.indexOf(thing.kind) + 100) % 100;
    const things = scene.things.things.filter((/** @type {FieldShape} */ thing) => thing.name && view.shows(thing.box));
    for (const thing of things.toSorted((/** @type {FieldShape} */ one, /** @type {FieldShape} */ other) => rank(one) - rank(other))) {
      const long = Math.max(thing.box[2] - thing.box[0], thing.box[3] - thing.box[1]) * view.scale;
      const text = near && thing.said ? thing.said : thing.name;
      const font = long > 200 ? FONTS.natural : FONTS.small;
      const ink = inks[thing.kind] ?? colours.soft;
      const line = order.includes(thing.kind) && thing.kind !== "keep off" && long > 60;
      if (line !== !small) continue;
      if (line) {
        along(sheet, thing, text, font, ink);
      } else if (near || (thing.kind === "building" && long > 14)) {
        beside(sheet, thing, text, font, ink);
      }
    }
  }

  /** Found once for the beds of a page. @type {WeakMap<object, number[][]>} */
  const BLOCKS = new WeakMap();

  /** Beds in blocks: rows of beds side by side. @param {FieldSheet["scene"]["beds"]} beds @returns {number[][]} */
  function blocksOf(beds) {
    const known = BLOCKS.get(beds);
    if (known) return known;
    /** @type {number[][]} */
    const found = [];
    BLOCKS.set(beds, found);
    for (let bed = 0; bed < beds.count; bed += 1) {
      const [east, north] = beds.middle(bed);
      const isBeside = (/** @type {number} */ other) => beds.plots[bed] === beds.plots[other] &&
        beds.away(other, east, north) <= NEXT * (beds.width(bed) / 2 + beds.wider[bed]);
      // Beds may be counted across blocks that lie end to end.
      const block = found.slice(-OPEN_BLOCKS).findLast((each) => isBeside(each[each.length - 1]));
      if (block) block.push(bed);
      else found.push([bed]);
    }
    return found;
  }

  /** Of a block the end, 1 or -1, beyond which most names lie clear of plots and of what stands around. @param {FieldSheet} sheet @param {number[]} own */
  function sideOf(sheet, own) {
    const shapes = sheet.scene.around;
    const clear = [1, -1].map((side) => own.filter((bed) => off(sheet, placeAtEnd(sheet, bed, side, FONTS.bed).box, shapes)).length);
    return clear[1] > clear[0] ? -1 : 1;
  }

  /** Names at the ends of beds: those that the answer names, then the first and last of each block, each tenth, and from near every one. @param {FieldSheet} sheet @param {number} chosen @param {number[]} named by the answer @returns {number[]} those named that found no place */
  function beds(sheet, chosen, named) {
    const { view, scene } = sheet;
    const { beds } = scene;
    /** @type {number[]} */
    const left = [];
    if (!beds.count) return left;
    const every = view.scale >= NEAREST;
    const isRoomy = 10 * (beds.width(0) + beds.wider[0]) * view.scale >= TENTHS_PX;
    const answer = new Set(named);
    /** @type {{bed: number, side: number, rank: number}[]} */
    const wanted = [];
    for (const block of blocksOf(beds)) {
      const acrossPx = block.length * (beds.width(block[0]) + beds.wider[block[0]]) * view.scale;
      if (acrossPx < BLOCK_PX && !block.some((bed) => answer.has(bed))) continue;
      const ends = [block[0], block[block.length - 1]];
      const rank = (/** @type {number} */ bed) => (answer.has(bed) ? 0 : ends.includes(bed) ? 1 : isRoomy && /0$/.test(beds.names[bed]) ? 2 : every ? 3 : Infinity);
      const own = block.filter((bed) => bed !== chosen && rank(bed) < Infinity && view.shows(beds.box(bed)));
      if (!own.length) continue;
      const side = sideOf(sheet, ends);
      wanted.push(...own.map((bed) => ({ bed, side, rank: rank(bed) })));
    }
    for (const { bed, side, rank } of wanted.sort((one, other) => one.rank - other.rank || one.bed - other.bed)) {
      const font = rank ? FONTS.bed : FONTS.named;
      const isPut = atEnd(sheet, bed, side, font, true) || ((every || !rank) && atEnd(sheet, bed, -side, font, true));
      // A bed that ends amid its plot has its name there, off other beds.
      if (isPut || rank > 1 || atEnd(sheet, bed, side, font, false) || rank) continue;
      if (!atEnd(sheet, bed, -side, font, false)) left.push(bed);
    }
    return left;
  }

  /** Where a bed's name lies beyond its end. @param {FieldSheet} sheet @param {number} bed @param {number} side @param {string} font */
  function placeAtEnd({ view, labels, scene: { beds } }, bed, side, font) {
    const [east, north] = beds.along(bed, side);
    const [x, y] = [view.x(east), view.y(north)];
    const turn = beds.turn(bed);
    const width = labels.width(beds.names[bed], font);
    const lying = Math.abs(turn) <= STEEP;
    const away = side * (width / 2 + 6);
    const [cx, cy] = lying ? [x + away, y + (away * Math.sin(turn)) / 3] : [x + away * Math.cos(turn), y + away * Math.sin(turn)];
    return { cx, cy, turn, width, lying, box: { left: cx - width / 4, right: cx + width / 4, top: cy - 4, bottom: cy + 4 } };
  }

  /** A bed's name outside its end, if that is free. @param {FieldSheet} sheet @param {number} bed @param {number} side @param {string} font @param {boolean} isOutside from afar beside the plot and never over it */
  function atEnd(sheet, bed, side, font, isOutside) {
    const { view, labels, colours, scene: { beds, things } } = sheet;
    const text = beds.names[bed];
    const { cx, cy, turn, width, lying, box } = placeAtEnd(sheet, bed, side, font);
    const far = view.scale < NEAR;
    const isOnBed = (/** @type {number} */ x) => beds.at((x - view.left) / view.scale, (view.top - cy) / view.scale, 0.3) >= 0;
    if (!far && isOnBed(cx)) return false;
    if (far && (isOutside ? !off(sheet, box, things.plots) : [-0.4, 0, 0.4].some((share) => isOnBed(cx + share * width)))) return false;
    const colour = colours.ink;
    if (!lying) return labels.slant(text, cx, cy, turn, font, colour);
    return Boolean(labels.put([{ text, font, colour }], [{ left: cx - width / 2, top: cy - sizeOf(font) * 0.6, align: "left" }]));
  }

  /** @param {FieldSheet} sheet @param {number} bed */
  function chosen(sheet, bed) {
    if (atEnd(sheet, bed, 1, FONTS.chosen, true) || atEnd(sheet, bed, -1, FONTS.chosen, true)) return;
    // Among other beds: over the ones beside it, for once.
    const { view, labels, colours, scene: { beds } } = sheet;
    const [east, north] = beds.middle(bed);
    const text = beds.names[bed];
    const left = view.x(east) - labels.width(text, FONTS.chosen) / 2;
    const half = (beds.width(bed) * view.scale) / 2 + 4;
    const line = [{ text, font: FONTS.chosen, colour: colours.ink }];
    labels.put(line, [{ left, top: view.y(north) - half - 18, align: "left" }, { left, top: view.y(north) + half, align: "left" }], true);
  }

  /** Names of tunnels, along them; beside them from afar, where a question asks for them. @param {FieldSheet} sheet @param {boolean} asked */
  function tunnels(sheet, asked) {
    const { view, labels, colours, scene } = sheet;
    if (view.scale < NEAR) {
      if (asked) for (const tunnel of scene.things.tunnels) if (view.shows(tunnel.box)) under(sheet, tunnel);
      return;
    }
    for (const tunnel of scene.things.tunnels) {
      if (!view.shows(tunnel.box)) continue;
      const at = (/** @type {number} */ corner) => [view.x(tunnel.rings[0][2 * corner]), view.y(tunnel.rings[0][2 * corner + 1])];
      const [b, c, a, d] = [at(1), at(2), at(0), at(3)];
      let turn = Math.atan2(c[1] - b[1], c[0] - b[0]);
      if (turn > Math.PI / 2 + 0.3) turn -= Math.PI;
      if (turn <= -Math.PI / 2 + 0.3) turn += Math.PI;
      const [x, y] = [(a[0] + c[0] + b[0] + d[0]) / 4, (a[1] + c[1] + b[1] + d[1]) / 4];
      labels.slant(tunnel.name, x, y, turn, FONTS.strong.replace("15px", "13px"), colours.ink);
    }
  }

  /** The name of a tunnel below it or above. @param {FieldSheet} sheet @param {FieldShape} tunnel */
  function under({ view, labels, colours }, { box: [west, south, east, north], name }) {
    const left = (view.x(west) + view.x(east) - labels.width(name, FONTS.strong)) / 2;
    labels.put([{ text: name, font: FONTS.strong, colour: colours.ink }], [
      { left, top: view.y(south) + 1, align: "left" },
      { left, top: view.y(north) - 19, align: "left" },
    ]);
  }

  /** Figures on strong lines of height, in columns, with ticks that point downhill. @param {FieldSheet} sheet */
  function heights(sheet) {
    const { ctx, view, labels, colours, scene } = sheet;
    const { left, right } = labels.room;
    const wide = right - left;
    const columns = (wide < 520 ? [0.12, 0.8] : [0.1, 0.42, 0.9]).map((share) => left + share * wide);
    const words = scene.words;
    for (const column of columns) {
      for (const { line, height } of scene.ground.indexLines(view)) {
        const text = words.height(height);
        const spot = crossing(view, line, column);
        if (!spot) continue;
        const width = labels.width(text, FONTS.height);
        const box = { left: spot.x - width / 2 - 4, right: spot.x + width / 2 + 4, top: spot.y - 9, bottom: spot.y + 9 };
        if (!off(sheet, box, scene.around)) continue;
        if (!labels.slant(text, spot.x, spot.y, spot.turn, FONTS.height, colours.height)) continue;
        ctx.strokeStyle = fieldPalette.clear(colours.contour, 0.9);
        ctx.lineWidth = 1.1;
        ctx.beginPath();
        for (const side of [-1, 1]) {
          const end = spot.near(side * (width / 2 + 22));
          if (!end) continue;
          ctx.moveTo(end.x, end.y);
          ctx.lineTo(end.x + TICK_PX * end.downX, end.y + TICK_PX * end.downY);
        }
        ctx.stroke();
      }
    }
  }

  /** Where a line crosses a column of the canvas, how it lies there, and places near by along it. @param {FieldView} view @param {ArrayLike<number>} line @param {number} column */
  function crossing(view, line, column) {
    for (let at = 2; at < line.length; at += 2) {
      const [x1, x2] = [view.x(line[at - 2]), view.x(line[at])];
      if (x1 === x2 || (x1 - column) * (x2 - column) > 0) continue;
      const [y1, y2] = [view.y(line[at - 1]), view.y(line[at + 1])];
      const share = (column - x1) / (x2 - x1);
      const [x, y] = [column, y1 + (y2 - y1) * share];
      const near = (/** @type {number} */ away) => walk(view, line, at, { x, y }, away);
      const [before, after] = [near(-18), near(18)];
      if (!before || !after) return null;
      const [one, other] = before.x < after.x ? [before, after] : [after, before];
      return { x, y, turn: Math.atan2(other.y - one.y, other.x - one.x), near };
    }
    return null;
  }

  /** The place `away` pixels further along a line; higher ground lies on its left. @param {FieldView} view @param {ArrayLike<number>} line @param {number} at @param {{x: number, y: number}} from @param {number} away */
  function walk(view, line, at, from, away) {
    const step = away < 0 ? -2 : 2;
    let left = Math.abs(away);
    let { x, y } = from;
    for (let next = away < 0 ? at - 2 : at; next >= 0 && next < line.length; next += step) {
      const [nx, ny] = [view.x(line[next]), view.y(line[next + 1])];
      const long = Math.hypot(nx - x, ny - y);
      if (long >= left && long > 0) {
        const [dx, dy] = [(nx - x) / long, (ny - y) / long];
        const sign = step / 2;
        // Right of the way along the line, on a canvas whose heights run down.
        return { x: x + dx * left, y: y + dy * left, downX: -dy * sign, downY: dx * sign };
      }
      left -= long;
      [x, y] = [nx, ny];
    }
    return null;
  }

  /** One arrow that says which way is up and down, on free ground near the middle. @param {FieldSheet} sheet */
  function downhill(sheet) {
    const { labels, scene } = sheet;
    if (!scene.downhill) return;
    const phone = labels.room.right - labels.room.left < 520;
    const places = spots(labels.room);
    const everything = [...scene.things.plots, ...scene.solid, ...scene.wires];
    // Where it is crowded a smaller one, then over a hedge, of fewer words, and over beds;
    // over a tap, a gate or a building only where nothing else is left.
    const plain = [...scene.small, ...scene.wires];
    const tries = [
      { size: phone ? 0.75 : 1, words: phone ? 2 : 3, shapes: everything },
      ...[0.5, 0.35].flatMap((size) => [everything, plain].map((shapes) => ({ size, words: 2, shapes }))),
      { size: 0.35, words: 2, shapes: scene.small },
      { size: 0.5, words: 1, shapes: everything },
      { size: 0.5, words: 1, shapes: plain },
      { size: 0.5, words: 1, shapes: scene.small },
      { size: 0.35, words: 1, shapes: scene.small },
      { size: 0.5, words: 1, shapes: scene.things.plots },
      { size: 0.5, words: 2, shapes: [] },
      { size: 0.5, words: 1, shapes: [] },
    ];
    tries.some(({ size, words, shapes }) => places.some((place) => arrowAt(sheet, place, size, words, shapes)));
  }

  /**
   * The arrow around one place, if it is free there: with the drop, with both words, or
   * with "downhill" alone.
   * @param {FieldSheet} sheet @param {Point} place @param {number} size @param {number} words
   * @param {FieldShape[]} shapes that it keeps off
   */
  function arrowAt(sheet, { x, y }, size, words, shapes) {
    const { ctx, labels, colours, scene } = sheet;
    const { say } = scene.words;
    const [dx, dy] = [scene.downhill.east, -scene.downhill.north];
    const line = (/** @type {string} */ text, /** @type {string} */ font) => ({ text, font, colour: colours.downhill });
    const up = [line(say.uphill, FONTS.natural)];
    const down = [line(say.downhill, FONTS.natural), ...(words > 2 ? scene.downhill.said.map((text) => line(text, FONTS.drop)) : [])];
    const half = (size * ARROW_PX) / 2;
    const [tail, tip] = [{ x: x - dx * half, y: y - dy * half }, { x: x + dx * half, y: y + dy * half }];
    const shaft = { left: Math.min(tail.x, tip.x) - 8, right: Math.max(tail.x, tip.x) + 8, top: Math.min(tail.y, tip.y) - 8, bottom: Math.max(tail.y, tip.y) + 8 };
    const upBox = boxBeyond(tail, -dx, -dy, labels.size(up));
    const isClear = (/** @type {PixelBox} */ box) => labels.free(box) && off(sheet, box, shapes);
    if (![shaft, ...(words > 1 ? [upBox] : [])].every(isClear)) return false;
    const sides = dx >= 0 ? [-1, 1] : [1, -1];
    const side = sides.find((each) => isClear(besideTip(tip, dx, dy, labels.size(down), each)));
    if (side === undefined) return false;
    const downBox = besideTip(tip, dx, dy, labels.size(down), side);
    labels.take([shaft]);
    taper(ctx, tail, tip, colours.downhill, sheet);
    if (words > 1) labels.put(up, [{ left: upBox.left, top: upBox.top, align: "center" }], true);
    labels.put(down, [{ left: downBox.left, top: downBox.top, align: side < 0 ? "right" : "left" }], true);
    return true;
  }

  /** The box of words beside the lower end of an arrow, or beyond one that lies flat. @param {Point} tip @param {number} dx @param {number} dy @param {{width: number, height: number}} size @param {number} side of the arrow, -1 left and 1 right */
  function besideTip(tip, dx, dy, size, side) {
    if (Math.abs(dx) > 0.8) return boxBeyond(tip, dx, dy, size);
    const [x, y] = [tip.x - dx * 14, tip.y - dy * 14];
    const left = side < 0 ? x - 12 - size.width : x + 12;
    return { left, top: y - size.height / 2, right: left + size.width, bottom: y + size.height / 2 };
  }

  /** The box of a word beyond the end of an arrow. @param {{x: number, y: number}} end @param {number} dx @param {number} dy @param {{width: number, height: number}} size */
  function boxBeyond(end, dx, dy, { width, height }) {
    const reach = 6 + Math.abs(dx) * (width / 2) + Math.abs(dy) * (height / 2);
    const [x, y] = [end.x + dx * reach, end.y + dy * reach];
    return { left: x - width / 2, right: x + width / 2, top: y - height / 2, bottom: y + height / 2 };
  }

  /** Places over a room, those near its middle first. @param {PixelBox} room */
  function spots({ left, top, right, bottom }) {
    const found = [];
    const [mx, my] = [(left + right) / 2, (top + bottom) / 2];
    for (let across = 1; across < 16; across += 1) {
      for (let down = 1; down < 14; down += 1) {
        found.push({ x: left + ((right - left) * across) / 16, y: top + ((bottom - top) * down) / 14 });
      }
    }
    const away = (/** @type {{x: number, y: number}} */ at) => Math.hypot(at.x - mx, at.y - my);
    return found.sort((one, other) => away(one) - away(other));
  }

  /** An arrow that grows thicker downhill. @param {CanvasRenderingContext2D} ctx @param {{x: number, y: number}} tail @param {{x: number, y: number}} tip @param {string} colour @param {FieldSheet} sheet */
  function taper(ctx, tail, tip, colour, { palette }) {
    const long = Math.hypot(tip.x - tail.x, tip.y - tail.y);
    const [dx, dy] = [(tip.x - tail.x) / long, (tip.y - tail.y) / long];
    const at = (/** @type {number} */ away, /** @type {number} */ aside) => [tail.x + dx * away - dy * aside, tail.y + dy * away + dx * aside];
    ctx.beginPath();
    for (const [away, aside] of [[0, 0.5], [long - 13, 2.1], [long - 14, 6.5], [long, 0], [long - 14, -6.5], [long - 13, -2.1], [0, -0.5]]) {
      const [x, y] = at(away, aside);
      ctx.lineTo(x, y);
    }
    ctx.closePath();
    ctx.lineJoin = "round";
    ctx.strokeStyle = fieldPalette.clear(palette.dark ? palette.colours.paper : palette.colours.ground_high, 0.86);
    ctx.lineWidth = HALO_PX;
    ctx.stroke();
    ctx.fillStyle = colour;
    ctx.fill();
  }

  /** What each dotted line of a field stands for. @param {FieldSheet} sheet @param {FieldLines} lines */
  function isolines(sheet, { points, said }) {
    const { view, labels, palette, scene } = sheet;
    const ink = palette.dark ? "#bfe0f6" : palette.name === "print" ? "#000000" : "#1d3f6e";
    const { left, right } = labels.room;
    const seen = new Set();
    for (const share of [0.35, 0.6, 0.2, 0.8]) {
      for (const [at, line] of points.entries()) {
        if (seen.has(said[at])) continue;
        const spot = crossing(view, line, left + share * (right - left));
        if (!spot || !off(sheet, { left: spot.x - 40, right: spot.x + 40, top: spot.y - 8, bottom: spot.y + 8 }, scene.things.plots)) continue;
        const width = labels.width(said[at], FONTS.isoline);
        if (labels.put([{ text: said[at], font: FONTS.isoline, colour: ink }], [{ left: spot.x - width / 2, top: spot.y - 8, align: "left" }])) seen.add(said[at]);
      }
    }
  }

  /** Names of what a question outlines. @param {FieldSheet} sheet @param {FieldShape[]} things */
  function marked(sheet, things) {
    const { view, labels, colours } = sheet;
    pockets(sheet, things.filter((thing) => thing.kind === "pocket" && view.shows(thing.box)));
    /** Sets of places, each named once. @type {Set<string>} */
    const once = new Set();
    for (const thing of things) {
      if (!thing.name || thing.kind === "pocket" || !view.shows(thing.box) || once.has(thing.name)) continue;
      const text = thing.kind === "mark" ? `“${thing.name}”` : thing.name;
      const [west, south, east, north] = thing.box;
      const line = { text, font: FONTS.small, colour: colours.ink };
      const width = labels.width(text, FONTS.small);
      const centre = (view.x(west) + view.x(east) - width) / 2;
      const box = labels.put([line], [
        { left: centre, top: view.y(north) - 22, align: "left" },
        { left: centre, top: view.y(south) + 4, align: "left" },
        { left: view.x(east) + 6, top: (view.y(north) + view.y(south)) / 2 - 8, align: "left" },
        { left: centre, top: (view.y(north) + view.y(south)) / 2 - 8, align: "left" },
      ]) ?? led(sheet, thing, line);
      if (box && thing.kind === "choice") once.add(thing.name);
    }
  }

  /** Words of an outline further off, with a line to it. @param {FieldSheet} sheet @param {FieldShape} thing @param {LabelLine} line */
  function led(sheet, thing, line) {
    const { view, labels, scene } = sheet;
    const [west, south, east, north] = thing.box;
    const [x, y] = [(view.x(west) + view.x(east)) / 2, (view.y(north) + view.y(south)) / 2];
    const { width, height } = labels.size([line]);
    const [wide, high] = [(view.x(east) - view.x(west) + width) / 2, (view.y(south) - view.y(north) + height) / 2];
    const places = LED_PX.flatMap((away) => Array.from({ length: 16 }, (_, turn) => ({
      left: x + (away + wide) * Math.cos((turn * Math.PI) / 8) - width / 2,
      top: y + (away + high) * Math.sin((turn * Math.PI) / 8) - height / 2,
      align: /** @type {const} */ ("left"),
    })));
    const box = labels.put([line], places.filter((place) => off(sheet, { ...place, right: place.left + width, bottom: place.top + height }, scene.things.plots)));
    if (box) labels.lead(box, edgeOf(view, thing, box));
    return box;
  }

  /** The spot of an outline that is nearest to a box. @param {FieldView} view @param {FieldShape} thing @param {PixelBox} box @returns {Point} */
  function edgeOf(view, { rings }, { left, top, right, bottom }) {
    let [least, to] = [Infinity, { x: 0, y: 0 }];
    for (const ring of rings) {
      for (let at = 0; at < ring.length; at += 2) {
        const [x, y] = [view.x(ring[at]), view.y(ring[at + 1])];
        const away = Math.hypot(Math.max(left - x, 0, x - right), Math.max(top - y, 0, y - bottom));
        if (away < least) [least, to] = [away, { x, y }];
      }
    }
    return to;
  }

  /** Numbers of pockets: those of all that are seen, or none, for one alone would be a riddle. @param {FieldSheet} sheet @param {FieldShape[]} things */
  function pockets({ view, labels, colours, palette }, things) {
    const colour = palette.dark ? colours.ink : fieldPalette.COLD;
    const shares = [0.5, 0.3, 0.7, 0.15, 0.85];
    /** @type {{lines: LabelLine[], places: LabelPlace[]}[]} */
    const found = [];
    for (const { name, box: [west, south, east, north], rings } of things) {
      const lines = [{ text: name, font: FONTS.small, colour }];
      const { width, height } = labels.size(lines);
      // Inside what is seen of it, and not where it is smaller than its name.
      const left = Math.max(view.x(west), labels.room.left);
      const right = Math.min(view.x(east), labels.room.right);
      const top = Math.max(view.y(north), labels.room.top);
      const bottom = Math.min(view.y(south), labels.room.bottom);
      const spots = right - left < width ? [] : shares.flatMap((down) => shares.map((across) => ({ x: left + across * (right - left), y: top + down * (bottom - top) })));
      const places = spots
        .filter(({ x, y }) => fieldFrame.inside((x - view.left) / view.scale, (view.top - y) / view.scale, rings))
        .map(({ x, y }) => ({ left: x - width / 2, top: y - height / 2, align: /** @type {CanvasTextAlign} */ ("left") }))
        .filter((place) => labels.free({ ...place, right: place.left + width, bottom: place.top + height }));
      if (!places.length) return;
      found.push({ lines, places });
    }
    for (const { lines, places } of found) labels.put(lines, places);
  }

  /** The end of a bed that is nearest to a gate, 1 or -1; without a gate the first. @param {FieldSheet["scene"]} scene @param {number} bed */
  function gateEnd(scene, bed) {
    const gates = scene.things.things.filter(({ kind }) => kind === "gate");
    const away = (/** @type {number} */ side) => {
      const [east, north] = scene.beds.along(bed, side);
      return Math.min(...gates.map(({ box }) => Math.hypot((box[0] + box[2]) / 2 - east, (box[1] + box[3]) / 2 - north)));
    };
    return away(1) < away(-1) ? 1 : -1;
  }

  /** Round numbers in walking order, each nearer to its own bed than to any other. @param {FieldSheet} sheet @param {NonNullable<Picture["numbered"]>} numbered */
  function numbers(sheet, numbered) {
    const { view, labels, colours, palette, scene } = sheet;
    for (const { bed, n, done, example } of numbered) {
      if (!view.shows(scene.beds.box(bed))) continue;
      const gate = gateEnd(scene, bed);
      const halves = scene.beds.long(bed) / 2;
      // Beyond the end towards the gate, else on the bed from there on, else beyond the other end.
      const places = NUMBER_PX.flatMap((r) => {
        const outside = 1 + (r + 4) / view.scale / halves;
        return [outside, ...ALONG, -outside].map((side) => scene.beds.along(bed, gate * side))
          .filter(([east, north]) => [-1, bed].includes(scene.beds.at(east, north, scene.beds.away(bed, east, north))))
          .map(([east, north]) => ({ x: view.x(east), y: view.y(north), r }));
      });
      const boxOf = (/** @type {{x: number, y: number, r: number}} */ { x, y, r }) => ({ left: x - r, right: x + r, top: y - r, bottom: y + r });
      // One that would hide another comes when the map is nearer.
      const at = places.find((place) => labels.free(boxOf(place)));
      if (!at) continue;
      labels.take([boxOf(at)]);
      labels.said.push({ text: `${n}`, box: boxOf(at) });
      disc(sheet, at, n, {
        fill: done || example ? palette.colours.paper : colours.cover_now,
        line: done ? colours.soft : example || !palette.dark ? colours.ink : palette.colours.paper,
        ink: done ? colours.soft : example ? colours.ink : "#10140f",
        dashes: example ? [4, 3] : [],
      });
    }
  }

  /** A round number. @param {FieldSheet} sheet @param {Point & {r: number}} at @param {number} n @param {{fill: string, line: string, ink: string, dashes: number[]}} look */
  function disc({ ctx }, { x, y, r }, n, { fill, line, ink, dashes }) {
    ctx.beginPath();
    ctx.arc(x, y, r, 0, 2 * Math.PI);
    ctx.fillStyle = fill;
    ctx.strokeStyle = line;
    ctx.lineWidth = 1.6;
    ctx.setLineDash(dashes);
    ctx.fill();
    ctx.stroke();
    ctx.setLineDash([]);
    ctx.font = r === NUMBER_PX[0] ? FONTS.number : FONTS.bed;
    ctx.textAlign = "center";
    ctx.textBaseline = "alphabetic";
    ctx.fillStyle = ink;
    ctx.fillText(`${n}`, x, y + (r === NUMBER_PX[0] ? 5.3 : 4));
  }

  return Object.freeze({ around, beds, chosen, tunnels, heights, downhill, isolines, marked, numbers, disc, NEAR, NEAREST });
})();
