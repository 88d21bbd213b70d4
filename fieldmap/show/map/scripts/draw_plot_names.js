"use strict";
/** Names of plots: each on its own plot or beside it, in one place whatever is asked. */
const fieldPlotNames = (() => {
  const { FONTS, touch } = fieldLabels;
  const { off, extent, apart, anyNearer } = fieldClear;
  const GAPS_PX = [16, 44];
  const OVER_PX = 10; // above a plot and below it
  const SHARES = [0.3, 0.5, 0.7, 0.1, 0.9]; // of a plot's side, at which its name is tried
  const BEYOND = [-0.1, 1.1, -0.3, 1.3]; // the same past its ends, where no better place is left
  const APART_PX = 14; // two names side by side would be read as one
  const NEARER = 0.6; // of the way to any other plot that a name is off its own, at most
  const NEARER_LAST = 0.8; // the same where no better place is left
  const LED_PX = [50, 80, 120, 170]; // off a plot, with a line that leads to it
  const FAR_PX = 20; // off its plot, from which a line leads from a name to it
  const BESIDE_PX = 6; // off it, up to which no line is needed
  const NEARLY = 2.5; // times as far as its own: a plot so near might be meant too
  const LED_IN_PX = 6;
  const LONG = ["hedge", "trees", "road", "water", "wall", "fence", "bank"]; // words over a part of them hide none

  /**
   * A place where a name may stand: by its left or right edge or its middle, and how much
   * of what surrounds the name is kept free for what questions say of the plot.
   * @typedef {{x: number, top: number, align: CanvasTextAlign, room: {width: number, height: number}, isLed?: boolean, isOver?: boolean}} NamePlace
   * @typedef {{plot: FieldShape, lines: LabelLine[], name: {width: number, height: number}, best: NamePlace[], others: NamePlace[]}} Unnamed
   */

  /**
   * Names of plots, with what the question says of them. Those with the fewest places
   * left come first, so that none is nameless while there is a place for all.
   * @param {FieldSheet} sheet @param {{name: string, sub?: string}[]} said @param {string[][]} ever what any question says of each plot
   */
  function put(sheet, said, ever) {
    const { view, scene } = sheet;
    let waiting = [...scene.things.plots.entries()]
      .filter(([, plot]) => plot.name && view.shows(plot.box))
      .map(([at, plot]) => unnamed(sheet, plot, said[at]?.sub, ever[at] ?? []));
    const size = (/** @type {Unnamed} */ { plot: { box } }) => (box[2] - box[0]) * (box[3] - box[1]);
    /** @type {{plot: Unnamed, place: NamePlace, room: PixelBox}[]} */
    const placed = [];
    while (waiting.length) {
      const [plot, ...rest] = waiting.sort((one, other) =>
        one.best.length - other.best.length || one.others.length - other.others.length || size(other) - size(one));
      const place = plot.best[0] ?? plot.others[0];
      const room = place && boxOf(place, place.room);
      if (place) placed.push({ plot, place, room: { ...room, left: room.left - APART_PX, right: room.right + APART_PX } });
      const left = (/** @type {NamePlace[]} */ places) => (place ? places.filter((each) => !touch(boxOf(each, each.room), placed[placed.length - 1].room)) : places);
      waiting = rest.map((each) => ({ ...each, best: left(each.best), others: left(each.others) }));
    }
    for (const { plot, place } of placed) write(sheet, plot, place, placed.filter((each) => each.plot !== plot).map(({ room }) => room));
  }

  /** @param {FieldSheet} sheet @param {FieldShape} plot @param {string | undefined} sub @param {string[]} ever @returns {Unnamed} */
  function unnamed(sheet, plot, sub, ever) {
    const { view, labels, colours, scene } = sheet;
    const isNear = view.scale >= fieldNames.NEAR;
    const lineOf = (/** @type {string} */ text) => ({ text, font: FONTS.sub, colour: colours.soft });
    const heading = { text: plot.name, font: isNear ? FONTS.plotNear : FONTS.plot, colour: colours.ink };
    const lines = [heading, ...(sub ? sub.split("\n").map(lineOf) : [])];
    const name = labels.size([heading]);
    const wanted = [sub ?? "", ...ever].filter(Boolean).map((text) => labels.size([heading, ...text.split("\n").map(lineOf)]));
    const room = { width: Math.max(name.width, ...wanted.map(({ width }) => width)), height: Math.max(name.height, ...wanted.map(({ height }) => height)) };
    const { plots } = scene.things;
    const { around, small } = scene;
    const own = (/** @type {NamePlace} */ place) => belongs(sheet, boxOf(place, name), plot);
    const clear = (/** @type {NamePlace[]} */ places, /** @type {FieldShape[]} */ shapes) =>
      places.filter((place) => isFree(sheet, place) && off(sheet, boxOf(place, place.room), shapes) && own(place));
    const beside = [...besidePlot(sheet, plot, room, false), ...besidePlot(sheet, plot, room, true)];
    const narrow = [...besidePlot(sheet, plot, name, false), ...besidePlot(sheet, plot, name, true)];
    const among = (/** @type {NamePlace[]} */ places, /** @type {FieldShape[]} */ shapes, /** @type {FieldShape | undefined} */ except = undefined) =>
      places.filter((place) => isFree(sheet, place) && off(sheet, boxOf(place, name), shapes, except) && belongs(sheet, boxOf(place, name), plot, NEARER_LAST));
    const led = ledTo(sheet, plot, name);
    const over = [
      ...clear(beside, small),
      ...clear(narrow, around),
      ...clear(narrow, small),
      ...among(besidePlot(sheet, plot, name, false, [...SHARES, ...BEYOND]), small),
      ...among(led, small),
      ...clear(beside, plots),
      ...clear(narrow, plots),
    ];
    const inside = insidePlot(sheet, plot, name).filter((place) => isFree(sheet, place));
    const last = [...among(led, plots), ...among(onPlot(sheet, plot, name), plots, plot)];
    // From near a name over its own beds is plainer than one over a hedge.
    const rest = isNear ? [...inside, ...over] : [...over, ...inside];
    return { plot, lines, name, best: clear(beside, around), others: [...rest, ...last] };
  }

  /** @param {NamePlace} place @param {{width: number, height: number}} size @returns {PixelBox} */
  function boxOf({ x, top, align }, { width, height }) {
    const left = align === "left" ? x : align === "right" ? x - width : x - width / 2;
    return { left, top, right: left + width, bottom: top + height };
  }

  /** @param {FieldSheet} sheet @param {NamePlace} place */
  const isFree = ({ labels }, place) => labels.free(boxOf(place, place.room));

  /** Whether a name is plainly that of its own plot. @param {FieldSheet} sheet @param {PixelBox} box @param {FieldShape} plot @param {number} [share] of the way to any other */
  function belongs({ view, scene }, box, plot, share = NEARER) {
    if (isOn(view, box, plot)) return true;
    const own = Math.max(BESIDE_PX, apart(view, box, plot));
    return !anyNearer(view, box, scene.things.plots, plot, own / share);
  }

  /** Whether the middle of a box lies on a plot. @param {FieldView} view @param {PixelBox} box @param {FieldShape} plot */
  function isOn(view, { left, top, right, bottom }, { rings }) {
    return fieldFrame.inside(((left + right) / 2 - view.left) / view.scale, (view.top - (top + bottom) / 2) / view.scale, rings);
  }

  /** What is seen of an outline's box. @param {FieldView} view @param {PixelBox} room @param {Box} box */
  function seenOf(view, { left, top, right, bottom }, [west, south, east, north]) {
    return { left: Math.max(left, view.x(west)), top: Math.max(top, view.y(north)), right: Math.min(right, view.x(east)), bottom: Math.min(bottom, view.y(south)) };
  }

  /** Right, left, below and above a plot, or what is seen of it. @param {FieldSheet} sheet @param {FieldShape} plot @param {{width: number, height: number}} room @param {boolean} isSeen @param {number[]} [shares] of its height */
  function besidePlot({ view, labels }, plot, room, isSeen, shares = SHARES) {
    const [west, south, east, north] = plot.box;
    const seen = isSeen ? labels.room : { left: -Infinity, top: -Infinity, right: Infinity, bottom: Infinity };
    const [top, bottom] = [Math.max(seen.top, view.y(north)), Math.min(seen.bottom, view.y(south))];
    const [left, right] = [Math.max(seen.left, view.x(west)), Math.min(seen.right, view.x(east))];
    /** @type {NamePlace[]} */
    const places = [];
    const ups = shares.map((share) => top + share * (bottom - top) - room.height / 2);
    const ends = ups.map((up) => ({ up, ends: extent(view, plot, up, up + room.height) })).filter((each) => each.ends);
    for (const { up, ends: { right: from } } of ends) for (const gap of GAPS_PX) places.push({ x: from + gap, top: up, align: "left", room });
    for (const { up, ends: { left: from } } of ends) for (const gap of GAPS_PX) places.push({ x: from - gap, top: up, align: "right", room });
    const middle = (left + right) / 2;
    const across = [...[0.5, 0.1, 0.9].map((share) => left + share * (right - left - room.width) + room.width / 2), middle + room.width / 2, middle - room.width / 2];
    for (const x of across) {
      places.push({ x, top: view.y(south) + OVER_PX, align: "center", room }, { x, top: view.y(north) - OVER_PX - room.height, align: "center", room });
    }
    return places;
  }

  /** Wholly on what is seen of a plot, its upper left first. @param {FieldSheet} sheet @param {FieldShape} plot @param {{width: number, height: number}} room */
  function insidePlot({ view, labels }, { box: [west, south, east, north], rings }, room) {
    const left = Math.max(labels.room.left, view.x(west)) + 12;
    const right = Math.min(labels.room.right, view.x(east)) - 12 - room.width;
    const top = Math.max(labels.room.top, view.y(north)) + 8;
    const bottom = Math.min(labels.room.bottom, view.y(south)) - 8 - room.height;
    if (right < left || bottom < top) return [];
    const shares = [0, 0.25, 0.5, 0.75, 1];
    const within = (/** @type {number} */ x, /** @type {number} */ y) => fieldFrame.inside((x - view.left) / view.scale, (view.top - y) / view.scale, rings);
    return shares
      .flatMap((down) => shares.map((across) => ({ x: left + across * (right - left), top: top + down * (bottom - top), align: /** @type {const} */ ("left"), room })))
      .filter(({ x, top: y }) => [x, x + room.width].every((side) => [y, y + room.height].every((end) => within(side, end))));
  }

  /** Around a small plot among others, with a line to it. @param {FieldSheet} sheet @param {FieldShape} plot @param {{width: number, height: number}} room */
  function ledTo({ view }, { box: [west, south, east, north] }, room) {
    const [x, y] = [view.x((west + east) / 2), view.y((south + north) / 2)];
    const [wide, high] = [(view.x(east) - view.x(west) + room.width) / 2, (view.y(south) - view.y(north) + room.height) / 2];
    return LED_PX.flatMap((away) =>
      Array.from({ length: 16 }, (_, turn) => ({
        x: x + (away + wide) * Math.cos((turn * Math.PI) / 8),
        top: y + (away + high) * Math.sin((turn * Math.PI) / 8) - room.height / 2,
        align: /** @type {const} */ ("center"),
        room,
        isLed: true,
      })),
    );
  }

  /** Partly over what is seen of a plot, the least first, where no other place is left. @param {FieldSheet} sheet @param {FieldShape} plot @param {{width: number, height: number}} room */
  function onPlot({ view, labels }, { box }, room) {
    const plot = seenOf(view, labels.room, box);
    const [x, y] = [(plot.left + plot.right) / 2, (plot.top + plot.bottom) / 2];
    const [wide, high] = [(plot.right - plot.left + room.width) / 2, (plot.bottom - plot.top + room.height) / 2];
    const shared = (/** @type {NamePlace} */ place) => {
      const words = boxOf(place, room);
      return Math.max(0, Math.min(words.right, plot.right) - Math.max(words.left, plot.left)) * Math.max(0, Math.min(words.bottom, plot.bottom) - Math.max(words.top, plot.top));
    };
    const shares = [0, -0.25, 0.25, -0.5, 0.5, -0.75, 0.75];
    return shares
      .flatMap((down) => shares.map((across) => ({ x: x + across * wide, top: y + down * high - room.height / 2, align: /** @type {const} */ ("center"), room, isOver: true })))
      .sort((one, other) => shared(one) - shared(other));
  }

  /** Whether a name stands so far off its plot that a line must lead there. @param {FieldSheet} sheet @param {PixelBox} box @param {FieldShape} plot */
  function isFar({ view, scene }, box, plot) {
    if (isOn(view, box, plot)) return false;
    const own = apart(view, box, plot);
    return own > FAR_PX || anyNearer(view, box, scene.things.plots, plot, NEARLY * Math.max(own, BESIDE_PX));
  }

  /** Just inside a plot, where it is nearest to a box. @param {FieldView} view @param {PixelBox} box @param {FieldShape} plot @returns {Point} */
  function nearest(view, { left, top, right, bottom }, { rings: [ring], box: [west, south, east, north] }) {
    let [least, to] = [Infinity, { x: 0, y: 0 }];
    for (let at = 2; at < ring.length; at += 2) {
      for (let share = 0; share <= 1; share += 0.05) {
        const x = view.x(ring[at - 2] + share * (ring[at] - ring[at - 2]));
        const y = view.y(ring[at - 1] + share * (ring[at + 1] - ring[at - 1]));
        const away = Math.hypot(Math.max(left - x, 0, x - right), Math.max(top - y, 0, y - bottom));
        if (away < least) [least, to] = [away, { x, y }];
      }
    }
    const [dx, dy] = [view.x((west + east) / 2) - to.x, view.y((south + north) / 2) - to.y];
    const inward = Math.min(1, LED_IN_PX / (Math.hypot(dx, dy) || 1));
    return { x: to.x + inward * dx, y: to.y + inward * dy };
  }

  /**
   * The box of a name with what is said of its plot, below the name's place or up from it,
   * and whether that is free there; off the plot itself if a place for that is left.
   * @param {FieldSheet} sheet @param {FieldShape} plot @param {LabelLine[]} lines @param {{width: number, height: number}} name
   * @param {NamePlace} place @param {PixelBox[]} rooms of other names
   */
  function withValue(sheet, plot, lines, name, place, rooms) {
    const { labels, scene } = sheet;
    const size = labels.size(lines);
    const alone = boxOf(place, name);
    const { plots } = scene.things;
    const small = scene.compact;
    // What is said of a plot covers no more than its name does.
    const covers = (/** @type {PixelBox} */ box, /** @type {FieldShape[]} */ shapes) => off(sheet, alone, shapes) && !off(sheet, box, shapes);
    const below = boxOf(place, size);
    const above = boxOf({ ...place, top: place.top - size.height + name.height }, size);
    const isFit = (/** @type {PixelBox} */ box) =>
      !place.isOver && labels.free(box) && off(sheet, box, plots, plot) && !covers(box, small) && !rooms.some((room) => touch(box, room));
    const [whole] = [below, above].filter(isFit).sort((one, other) => Number(covers(one, [plot])) - Number(covers(other, [plot])));
    return { whole: whole ?? below, isWhole: whole !== undefined };
  }

  /** @param {FieldSheet} sheet @param {Unnamed} unnamed @param {NamePlace} place @param {PixelBox[]} rooms of other names */
  function write(sheet, { plot, lines, name }, place, rooms) {
    const { view, labels } = sheet;
    const { whole, isWhole } = withValue(sheet, plot, lines, name, place, rooms);
    const { left, top } = isWhole ? whole : boxOf(place, name);
    const seen = seenOf(view, labels.room, plot.box);
    // As wide as the name alone: a line from the end of a longer one below it would begin at nothing.
    const alone = boxOf(place, name);
    const under = isWhole && !place.isLed ? { ...alone, top: whole.top, bottom: whole.bottom } : alone;
    /** @type {Point | undefined} */
    let to;
    if (place.isLed) to = { x: (seen.left + seen.right) / 2, y: (seen.top + seen.bottom) / 2 };
    else if (isFar(sheet, isWhole ? whole : boxOf(place, name), plot)) to = nearest(view, under, plot);
    if (to) labels.lead(under, to);
    const box = labels.put(isWhole ? lines : lines.slice(0, 1), [{ left, top, align: place.align }], true);
    labels.said.push({ text: plot.name, box: { ...boxOf(place, name), top, bottom: top + name.height }, to });
    labels.take([{ ...box, left: box.left - APART_PX, right: box.right + APART_PX }]);
  }

  return Object.freeze({ put, LONG });
})();
