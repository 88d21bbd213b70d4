"use strict";
/** What stands on runs of beds, in words beside the plots, with lines that lead to the beds. */
const fieldCallouts = (() => {
  const { FONTS } = fieldLabels;
  const { off, extent, apart, anyNearer, clipped, crosses, overOutline } = fieldClear;
  const OVER_THINGS_PX = 140; // further that words may stand so as to lie off a hedge
  const OVER_SIGN_PX = 250; // the same so as to lie off a sign, which they would hide or which would seem part of them
  const OVER_TUNNEL_PX = 100; // the same so that their line keeps off tunnels
  const BY_SIGN_PX = 8; // between a sign and words
  const PX2_OF_CALLOUT = 24_000; // of the window for each line
  const MOST = 10; // more are not read
  const MOST_LEAD_PX = 170; // farther words are not seen to belong to their beds
  const FAR_LEAD_PX = 300; // for the first words of a crop, which else would not be there
  const HIGH_PX = 20;
  const MOST_TRIED = 4; // runs of a crop, for the one that has its name
  const NUMBER_PX = 9; // radius of a number that stands for a name

  const IN_TUNNEL = 0.7; // of the way from its middle to a side, where a line to it ends

  /** Where words lead: the middle of a run, its plot, and the ends that their line may have. @typedef {{x: number, y: number, plot: FieldShape, tunnel?: FieldShape, ends: Point[]}} RunMiddle */

  /** @typedef {Callout & {at: RunMiddle}} Run */
  /** @typedef {{run: Run, box: PixelBox, end: Point, sub: string}} Placed */

  /**
   * The runs that matter most first, then the largest, one of each crop before others, as many as the window has room for
   * and with no line over another, over words or over another plot; the others are read by a touch or from nearer.
   * @param {FieldSheet} sheet @param {Callout[]} callouts @param {number[]} named beds that the answer names: their runs come before all others
   * @param {boolean} isKeyed whether a crop for whose name there is no room has a number on the map
   */
  function put(sheet, callouts, named, isKeyed) {
    const { left, top, right, bottom } = sheet.labels.room;
    const most = Math.min(MOST, Math.ceil(((right - left) * (bottom - top)) / PX2_OF_CALLOUT));
    const groups = grouped(sheet, callouts, named);
    const { found, bare } = firsts(sheet, groups);
    for (const each of found) write(sheet, each);
    if (isKeyed) for (const runs of bare) number(sheet, runs[0]);
    const lines = found.map(lineOf(sheet));
    const isWritten = new Set(found.map(({ run }) => run));
    const turns = Math.max(0, ...groups.map((runs) => runs.length));
    const seconds = Array.from({ length: turns }, (_, turn) => groups.flatMap((runs) => runs.slice(turn, turn + 1))).flat();
    for (const run of seconds) {
      if (lines.length >= most) return;
      const placed = isWritten.has(run) ? null : place(sheet, run, lines, true, [MOST_LEAD_PX]);
      if (placed) write(sheet, placed);
      if (placed) lines.push(lineOf(sheet)(placed));
    }
  }

  /** The runs that are seen, those of the same words together. @param {FieldSheet} sheet @param {Callout[]} callouts @param {number[]} named @returns {Run[][]} */
  function grouped(sheet, callouts, named) {
    const { left, top, right, bottom } = sheet.labels.room;
    const isNamed = (/** @type {Callout} */ each) => named.some((bed) => each.beds.includes(bed));
    const sizeOf = (/** @type {Callout} */ each) => each.size ?? each.beds.length;
    const runs = callouts
      .flatMap((each) => (each.tunnel ? tunnelMiddle(sheet, each.tunnel) : runMiddle(sheet, each.beds)).map((at) => ({ ...each, at })))
      .filter(({ at }) => at.x > left && at.x < right && at.y > top && at.y < bottom)
      .sort((one, other) => Number(isNamed(other)) - Number(isNamed(one)) || Number(other.first ?? false) - Number(one.first ?? false) || sizeOf(other) - sizeOf(one));
    /** @type {Map<string, Run[]>} */
    const groups = new Map();
    for (const run of runs) groups.set(run.text, [...(groups.get(run.text) ?? []), run]);
    return [...groups.values()];
  }

  /**
   * One run of each crop with its words, and the crops for which there is no room. Where
   * some are left, again without the names of beds, and then with those first.
   * @param {FieldSheet} sheet @param {Run[][]} groups
   */
  function firsts(sheet, groups) {
    const { labels } = sheet;
    const free = labels.taken.length;
    let order = groups;
    /** @type {{found: Placed[], bare: Run[][]}} */
    let best = { found: [], bare: groups };
    for (const isFull of [true, false, false, false]) {
      /** @type {Placed[]} */
      const found = [];
      const bare = order.filter((runs) => {
        const placed = found.length < MOST ? placeOne(sheet, runs, found.map(lineOf(sheet)), isFull) : null;
        if (placed) {
          found.push(placed);
          labels.take([placed.box]);
        }
        return !placed;
      });
      labels.taken.length = free;
      if (bare.length < best.bare.length || !best.found.length) best = { found, bare };
      if (!bare.length || groups.length > MOST) break;
      order = [...bare, ...order.filter((runs) => !bare.includes(runs))];
    }
    return best;
  }

  /** The first of some runs that has room. @param {FieldSheet} sheet @param {Run[]} runs @param {Point[][]} lines @param {boolean} isFull */
  function placeOne(sheet, runs, lines, isFull) {
    for (const run of runs.slice(0, MOST_TRIED)) {
      // The first run of a crop has its name at least, and from farther away.
      const placed = (isFull ? place(sheet, run, lines, true, [MOST_LEAD_PX]) : null) ?? place(sheet, run, lines, false, [MOST_LEAD_PX, FAR_LEAD_PX]);
      if (placed) return placed;
    }
    return null;
  }

  /** Words of a run where they are free. @param {FieldSheet} sheet @param {Run} run @param {Point[][]} lines that are there already @param {boolean} isFull with the beds @param {number[]} leads how long their line may be @returns {Placed | null} */
  function place(sheet, run, lines, isFull, leads) {
    const { labels } = sheet;
    const sub = (isFull && run.sub) || "";
    const width = labels.width(run.text, FONTS.strong) + (sub ? 6 + labels.width(sub, FONTS.light) : 0);
    for (const most of leads) {
      const box = wordsBeside(sheet, run.at, width, lines, most);
      if (box) return { run, box, sub, end: leadTo(run.at, box) };
    }
    return null;
  }

  /** @param {FieldSheet} sheet @returns {(placed: Placed) => Point[]} */
  const lineOf = ({ labels }) => ({ box, end }) => [labels.leadFrom(box, end), end];

  /** @param {FieldSheet} sheet @param {Placed} placed */
  function write({ labels, colours }, { run: { text }, box, end, sub }) {
    labels.lead(box, end);
    labels.take([box]);
    labels.said.push({ text: [text, sub].filter(Boolean).join(" "), box, to: end });
    labels.write(text, box.left, box.bottom - 5, FONTS.strong, colours.ink);
    if (sub) labels.write(sub, box.left + labels.width(text, FONTS.strong) + 6, box.bottom - 5, FONTS.light, colours.soft);
  }

  /** A number on a run, whose words stand in the key. @param {FieldSheet} sheet @param {Run} run */
  function number(sheet, { text, at }) {
    const { labels, palette, colours } = sheet;
    const boxOf = (/** @type {Point} */ { x, y }) => ({ left: x - NUMBER_PX, right: x + NUMBER_PX, top: y - NUMBER_PX, bottom: y + NUMBER_PX });
    const spot = [at, ...at.ends].find((each) => labels.free(boxOf(each))) ?? at;
    const n = labels.keyed.length + 1;
    labels.keyed.push({ n, text });
    labels.take([boxOf(spot)]);
    labels.said.push({ text: `${n}`, box: boxOf(spot) });
    fieldNames.disc(sheet, { x: spot.x, y: spot.y, r: NUMBER_PX }, n, { fill: palette.colours.paper, line: colours.ink, ink: colours.ink, dashes: [] });
  }

  /** Middle of a run of beds, near the end that is seen best. @param {FieldSheet} sheet @param {number[]} run @returns {RunMiddle[]} */
  function runMiddle({ view, scene: { beds, things } }, run) {
    const seen = run.filter((bed) => view.shows(beds.box(bed)));
    if (!seen.length) return [];
    const bed = seen[Math.floor(seen.length / 2)];
    const at = (/** @type {number[]} */ [east, north]) => ({ x: view.x(east), y: view.y(north) });
    const ends = [-0.88, 0, 0.88].map((halves) => at(beds.along(bed, halves)));
    return [{ ...at(beds.middle(bed)), plot: things.plots[beds.plots[bed]], ends }];
  }

  /** Middle of a tunnel, and places well inside each of its sides. @param {FieldSheet} sheet @param {string} name @returns {RunMiddle[]} */
  function tunnelMiddle({ view, scene: { things } }, name) {
    const tunnel = things.tunnels.find((each) => each.name === name);
    if (!tunnel || !view.shows(tunnel.box)) return [];
    const [west, south, east, north] = tunnel.box;
    const middle = { x: view.x((west + east) / 2), y: view.y((south + north) / 2) };
    const plot = things.plots.find(({ rings }) => fieldFrame.inside((west + east) / 2, (south + north) / 2, rings)) ?? tunnel;
    const [ring] = tunnel.rings;
    const sides = [0, 2, 4, 6].map((at) => ({ x: view.x((ring[at] + ring[(at + 2) % 8]) / 2), y: view.y((ring[at + 1] + ring[(at + 3) % 8]) / 2) }));
    const ends = sides.map(({ x, y }) => ({ x: middle.x + IN_TUNNEL * (x - middle.x), y: middle.y + IN_TUNNEL * (y - middle.y) }));
    return [{ ...middle, plot, tunnel, ends: [middle, ...ends] }];
  }

  /** The place on a bed or in a tunnel, well inside its nearer end, that a line from words leads to. @param {RunMiddle} at @param {PixelBox} box */
  function leadTo({ ends }, { left, top, right, bottom }) {
    const away = (/** @type {{x: number, y: number}} */ { x, y }) => Math.hypot(x - (left + right) / 2, y - (top + bottom) / 2);
    return ends.toSorted((one, other) => away(one) - away(other))[0];
  }

  /**
   * A free box for words left or right of a plot, above or below it: where the line from
   * it to the bed is shortest, and off what stands there if that is not much further.
   * @param {FieldSheet} sheet @param {RunMiddle} at
   * @param {number} width @param {Point[][]} lines that are there already
   * @param {number} most length of the line [px]
   */
  function wordsBeside(sheet, at, width, lines, most) {
    const { view, labels, scene } = sheet;
    const { plot } = at;
    const [west, south, east, north] = plot.box;
    const tried = [];
    const rows = most > MOST_LEAD_PX ? 14 : 7;
    for (let shift = -rows; shift <= rows; shift += 1) {
      const top = at.y - HIGH_PX / 2 + shift * (HIGH_PX + 2);
      const ends = extent(view, plot, top, top + HIGH_PX) ?? { left: view.x(west), right: view.x(east) };
      tried.push({ left: ends.left - 24 - width, top }, { left: ends.right + 24, top });
    }
    for (const down of [28, 52, 76]) {
      for (const share of [0, 0.5, 1]) {
        const left = at.x - share * width;
        tried.push({ left, top: view.y(north) - down }, { left, top: view.y(south) + down - 18 });
      }
    }
    const [best] = tried
      .map(({ left, top }) => ({ left, top, right: left + width, bottom: top + HIGH_PX }))
      .filter((box) => labels.free(box) && off(sheet, box, scene.things.plots))
      .map((box) => ({ box, long: leadLength(at, box) }))
      .filter(({ box, long }) => long <= most && isPlain(sheet, at, box, lines))
      .map(({ box, long }) => ({ box, cost: long + hidden(sheet, at, box) }))
      .sort((one, other) => one.cost - other.cost);
    return best?.box ?? null;
  }

  /** How much further words may stand, so as to hide less and to be plainly of their own plot. @param {FieldSheet} sheet @param {RunMiddle} at @param {PixelBox} box */
  function hidden(sheet, at, box) {
    const { view, scene } = sheet;
    const { left, top, right, bottom } = box;
    const around = { left: left - BY_SIGN_PX, top, right: right + BY_SIGN_PX, bottom };
    const isDoubtful = anyNearer(view, box, scene.things.plots, at.plot, apart(view, box, at.plot));
    const end = leadTo(at, box);
    const from = sheet.labels.leadFrom(box, end);
    const isOverTunnel = scene.things.tunnels.some((tunnel) => tunnel !== at.tunnel && overOutline(view, tunnel, from, end));
    return (off(sheet, box, scene.solid) && !isDoubtful ? 0 : OVER_THINGS_PX) + (off(sheet, around, scene.compact) ? 0 : OVER_SIGN_PX) + (isOverTunnel ? OVER_TUNNEL_PX : 0);
  }

  /** Whether the line from a box to its beds crosses no other, no words and no other plot, and none crosses the box. @param {FieldSheet} sheet @param {RunMiddle} at @param {PixelBox} box @param {Point[][]} lines */
  function isPlain(sheet, at, box, lines) {
    const end = leadTo(at, box);
    const from = sheet.labels.leadFrom(box, end);
    const pair = (/** @type {Point} */ { x, y }) => [x, y];
    const others = sheet.scene.things.plots.filter((plot) => plot !== at.plot);
    if (others.some((plot) => overOutline(sheet.view, plot, from, end))) return false;
    if (sheet.labels.taken.some((other) => clipped(pair(from), pair(end), other))) return false;
    return !lines.some(([one, other]) => crosses(from, end, one, other) || clipped(pair(one), pair(other), box));
  }

  /** How long a line from a box to its beds is. @param {RunMiddle} at @param {PixelBox} box */
  function leadLength(at, box) {
    const { x, y } = leadTo(at, box);
    return Math.hypot(Math.max(box.left - x, 0, x - box.right), Math.max(box.top - y, 0, y - box.bottom));
  }

  return Object.freeze({ put });
})();
