"use strict";
/** What stands on runs of beds, in words beside the plots, with lines that lead to the beds. */
const fieldCallouts = (() => {
  const { FONTS } = fieldLabels;
  const { off, extent, clipped, crosses, overOutline } = fieldClear;
  const OVER_THINGS_PX = 140; // further that words may stand so as to lie off a hedge
  const PX2_OF_CALLOUT = 24_000; // of the window for each line
  const MOST = 10; // more are not read
  const MOST_LEAD_PX = 170; // farther words are not seen to belong to their beds
  const FAR_LEAD_PX = 300; // for the first words of a crop, which else would not be there
  const HIGH_PX = 20;

  /** @typedef {{x: number, y: number, plot: number, bed: number}} RunMiddle */

  /**
   * The runs that matter most first, then the largest, one of each crop before others, as many as the window has room for (and up to ten first runs of a crop)
   * and with no line over another, over words or over another plot; the others are read by a touch or from nearer.
   * @param {FieldSheet} sheet @param {NonNullable<Picture["callouts"]>} callouts @param {number[]} named beds that the answer names: their runs come before all others
   */
  function put(sheet, callouts, named) {
    const { view, labels, colours, scene } = sheet;
    const { left, top, right, bottom } = labels.room;
    const most = Math.min(MOST, Math.ceil(((right - left) * (bottom - top)) / PX2_OF_CALLOUT));
    /** @type {Point[][]} */
    const lines = [];
    const isNamed = (/** @type {{beds: number[]}} */ each) => named.some((bed) => each.beds.includes(bed));
    const runs = callouts
      .flatMap((each) => runMiddle(scene.beds, view, each.beds).map((at) => ({ ...each, at })))
      .filter(({ at }) => at.x > left && at.x < right && at.y > top && at.y < bottom)
      .sort((one, other) => Number(isNamed(other)) - Number(isNamed(one)) || Number(other.first ?? false) - Number(one.first ?? false) || other.beds.length - one.beds.length);
    for (const { text, sub: fully, at, turn } of eachFirst(runs)) {
      if (lines.length >= (turn ? most : MOST)) return;
      const bold = labels.width(text, FONTS.strong);
      const plot = scene.things.plots[at.plot];
      const wide = bold + (fully ? 6 + labels.width(fully, FONTS.light) : 0);
      const whole = wordsBeside(sheet, plot, at, wide, lines, MOST_LEAD_PX);
      // The first run of a crop has its name at least, and from farther away.
      const box = whole ?? (turn ? null : wordsBeside(sheet, plot, at, bold, lines, MOST_LEAD_PX) ?? wordsBeside(sheet, plot, at, bold, lines, FAR_LEAD_PX));
      if (!box) continue;
      const sub = whole ? fully : "";
      const end = leadTo(sheet, at.bed, box);
      lines.push([labels.leadFrom(box, end), end]);
      labels.lead(box, end);
      labels.take([box]);
      labels.said.push({ text: [text, sub].filter(Boolean).join(" "), box, to: end });
      labels.write(text, box.left, box.bottom - 5, FONTS.strong, colours.ink);
      if (sub) labels.write(sub, box.left + bold + 6, box.bottom - 5, FONTS.light, colours.soft);
    }
  }

  /** The first run of each text before the second of any. @template {{text: string}} T @param {T[]} runs @returns {(T & {turn: number})[]} */
  function eachFirst(runs) {
    /** @type {Map<string, number>} */
    const met = new Map();
    const turns = runs.map((run) => {
      const turn = met.get(run.text) ?? 0;
      met.set(run.text, turn + 1);
      return { ...run, turn };
    });
    return turns.sort((one, other) => one.turn - other.turn);
  }

  /** Middle of a run of beds, near the end that is seen best. @param {FieldSheet["scene"]["beds"]} beds @param {FieldView} view @param {number[]} run */
  function runMiddle(beds, view, run) {
    const seen = run.filter((bed) => view.shows(beds.box(bed)));
    if (!seen.length) return [];
    const bed = seen[Math.floor(seen.length / 2)];
    const [east, north] = beds.middle(bed);
    return [{ x: view.x(east), y: view.y(north), plot: beds.plots[bed], bed }];
  }

  /** The place on a bed, well inside its nearer end, that a line from words leads to. @param {FieldSheet} sheet @param {number} bed @param {PixelBox} box */
  function leadTo({ view, scene: { beds } }, bed, { left, top, right, bottom }) {
    const ends = [-0.88, 0, 0.88].map((halves) => {
      const [east, north] = beds.along(bed, halves);
      return { x: view.x(east), y: view.y(north) };
    });
    const away = (/** @type {{x: number, y: number}} */ { x, y }) => Math.hypot(x - (left + right) / 2, y - (top + bottom) / 2);
    return ends.sort((one, other) => away(one) - away(other))[0];
  }

  /**
   * A free box for words left or right of a plot, above or below it: where the line from
   * it to the bed is shortest, and off what stands there if that is not much further.
   * @param {FieldSheet} sheet @param {FieldShape} plot @param {RunMiddle} at
   * @param {number} width @param {Point[][]} lines that are there already
   * @param {number} most length of the line [px]
   */
  function wordsBeside(sheet, plot, at, width, lines, most) {
    const { view, labels, scene } = sheet;
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
      .map((box) => ({ box, long: leadLength(sheet, at.bed, box) }))
      .filter(({ box, long }) => long <= most && isPlain(sheet, at.bed, box, lines))
      .map(({ box, long }) => ({ box, cost: long + (off(sheet, box, scene.solid) ? 0 : OVER_THINGS_PX) }))
      .sort((one, other) => one.cost - other.cost);
    return best?.box ?? null;
  }

  /** Whether the line from a box to its bed crosses no other, no words and no other plot, and none crosses the box. @param {FieldSheet} sheet @param {number} bed @param {PixelBox} box @param {Point[][]} lines */
  function isPlain(sheet, bed, box, lines) {
    const end = leadTo(sheet, bed, box);
    const from = sheet.labels.leadFrom(box, end);
    const pair = (/** @type {Point} */ { x, y }) => [x, y];
    const others = sheet.scene.things.plots.filter((_, plot) => plot !== sheet.scene.beds.plots[bed]);
    if (others.some((plot) => overOutline(sheet.view, plot, from, end))) return false;
    if (sheet.labels.taken.some((other) => clipped(pair(from), pair(end), other))) return false;
    return !lines.some(([one, other]) => crosses(from, end, one, other) || clipped(pair(one), pair(other), box));
  }

  /** How long a line from a box to its bed is. @param {FieldSheet} sheet @param {number} bed @param {PixelBox} box */
  function leadLength(sheet, bed, box) {
    const { x, y } = leadTo(sheet, bed, box);
    return Math.hypot(Math.max(box.left - x, 0, x - box.right), Math.max(box.top - y, 0, y - box.bottom));
  }

  return Object.freeze({ put });
})();
