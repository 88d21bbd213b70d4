"use strict";
/** Which thing is meant: by a finger, by keys from bed to bed, by its name. */
const fieldChoice = (() => {
  const TOUCH_PX = 12; // off a bed that still chooses it
  const MOST_OFF_M = 3; // the same on the ground, or a touch far off would choose a bed
  const MOST_FOUND = 40;
  const LONG_PX = 160; // of what stands around
  const GAP_PX = 28; // from a thing to a box that speaks of it

  /** Corners of a line and the middles between them. @param {Float32Array} ring @returns {[number, number][]} */
  function pairs(ring) {
    /** @type {[number, number][]} */
    const found = [[ring[0], ring[1]]];
    for (let at = 2; at < ring.length; at += 2) found.push([(ring[at - 2] + ring[at]) / 2, (ring[at - 1] + ring[at + 1]) / 2], [ring[at], ring[at + 1]]);
    return found;
  }

  /** How far a place is from lines [m]. @param {FieldShape} shape @param {number} east @param {number} north */
  function offLines({ rings }, east, north) {
    let least = Infinity;
    for (const ring of rings) {
      for (let at = 2; at < ring.length; at += 2) {
        const [x, y, dx, dy] = [ring[at - 2], ring[at - 1], ring[at] - ring[at - 2], ring[at + 1] - ring[at - 1]];
        const share = Math.max(0, Math.min(1, ((east - x) * dx + (north - y) * dy) / (dx * dx + dy * dy || 1)));
        least = Math.min(least, Math.hypot(x + share * dx - east, y + share * dy - north));
      }
    }
    return least;
  }

  class Choice {
    /**
     * @param {L.Map} map @param {InstanceType<typeof fieldFrame.Frame>} frame
     * @param {InstanceType<typeof fieldBeds.Beds>} beds @param {InstanceType<typeof fieldThings.Things>} things
     */
    constructor(map, frame, beds, things) {
      this.map = map;
      this.frame = frame;
      this.beds = beds;
      this.things = things;
    }

    /** @param {FieldThing["kind"]} kind */
    rows(kind) {
      if (kind === "tunnel") return this.things.tunnels;
      return kind === "plot" ? this.things.plots : this.things.things;
    }

    /** @param {FieldThing["kind"]} kind @param {number} index @returns {FieldThing} */
    thing(kind, index) {
      return { kind, index, name: kind === "bed" ? this.beds.names[index] : this.rows(kind)[index].name };
    }

    /** What lies at a place. @param {{lat: number, lng: number}} latlng @returns {FieldThing | null} */
    at(latlng) {
      const [east, north] = this.frame.metres(latlng);
      const near = TOUCH_PX / this.frame.scaleAt(this.map.getZoom());
      const inside = (/** @type {FieldShape} */ { rings, box, form }) =>
        form === "area" && east >= box[0] && east <= box[2] && north >= box[1] && north <= box[3] && fieldFrame.inside(east, north, rings);
      const touched = (/** @type {FieldShape} */ each) =>
        inside(each) || (each.form === "point" && Math.hypot(each.box[0] - east, each.box[1] - north) < 1.5 * near);
      const tunnel = this.things.tunnels.findIndex(inside);
      if (tunnel >= 0) return this.thing("tunnel", tunnel);
      // From afar a finger takes the nearest bed, since all are thinner than it.
      const bed = this.beds.at(east, north, Math.min(near, MOST_OFF_M));
      if (bed >= 0) return this.thing("bed", bed);
      const thing = this.things.things.findIndex(touched);
      if (thing >= 0) return this.thing("thing", thing);
      const plot = this.things.plots.findIndex(inside);
      if (plot >= 0) return this.thing("plot", plot);
      // A hedge or a line is often thinner than a finger.
      const beside = this.things.things.findIndex((each) => offLines(each, east, north) < near / 2);
      return beside >= 0 ? this.thing("thing", beside) : null;
    }

    /** Names of what a question outlines around a place. @param {string} kind @param {string[]} extras @param {FieldThing} thing */
    outlining(kind, extras, thing) {
      const [east, north] = this.frame.metres(thing.latlng ?? this.middleOf(thing));
      return this.things.shown(extras).filter((each) => each.kind === kind && fieldFrame.inside(east, north, each.rings)).map(({ name }) => name);
    }

    /** Things by name or by number, those that are meant most likely first. @param {string} text @returns {FieldThing[]} */
    find(text) {
      const wanted = text.trim().toLocaleLowerCase();
      if (!wanted) return [];
      const rank = (/** @type {string} */ name) => {
        const own = name.toLocaleLowerCase();
        if (own === wanted) return 0;
        if (own.replace(/^\D+/, "") === wanted) return 1;
        if (own.startsWith(wanted)) return 2;
        return own.includes(wanted) ? 3 : 9;
      };
      /** @type {{thing: FieldThing, rank: number}[]} */
      const found = [];
      const look = (/** @type {FieldThing["kind"]} */ kind, /** @type {string[]} */ names) => {
        for (const [index, name] of names.entries()) {
          if (name && rank(name) < 9) found.push({ thing: { kind, index, name }, rank: rank(name) });
        }
      };
      look("plot", this.things.plots.map(({ name }) => name));
      look("tunnel", this.things.tunnels.map(({ name }) => name));
      look("bed", this.beds.names);
      look("thing", this.things.things.map(({ name }) => name));
      found.sort((one, other) => one.rank - other.rank);
      return found.slice(0, MOST_FOUND).map(({ thing }) => thing);
    }

    /** @param {FieldThing} thing @returns {Box} */
    metresOf({ kind, index, latlng }) {
      if (latlng) {
        const [east, north] = this.frame.metres(latlng);
        return [east, north, east, north];
      }
      return kind === "bed" ? this.beds.box(index) : this.rows(kind)[index].box;
    }

    /** @param {FieldThing} thing */
    middleOf(thing) {
      if (thing.kind === "bed") return this.frame.latLng(...this.beds.middle(thing.index));
      const [west, south, east, north] = this.metresOf(thing);
      return this.frame.latLng((west + east) / 2, (south + north) / 2);
    }

    /** Places on a thing, its middle first; of a bent one those near its middle. @param {FieldThing} thing @returns {[number, number][]} */
    partsOf(thing) {
      if (thing.kind === "bed") return [0, -0.4, 0.4, -0.8, 0.8].map((halves) => this.beds.along(thing.index, halves));
      const [west, south, east, north] = this.metresOf(thing);
      /** @type {[number, number]} */
      const middle = [(west + east) / 2, (south + north) / 2];
      if (thing.latlng) return [middle];
      const { rings, form } = this.rows(thing.kind)[thing.index];
      if (form === "area" && fieldFrame.inside(...middle, rings)) return [middle];
      const away = (/** @type {[number, number]} */ [x, y]) => Math.hypot(x - middle[0], y - middle[1]);
      return rings.flatMap((ring) => pairs(ring)).sort((one, other) => away(one) - away(other));
    }

    /** Where a line to a thing ends: on what the window shows of it. @param {FieldThing} thing @param {Insets} covered */
    leaderEnd(thing, covered) {
      const { map } = this;
      const size = map.getSize();
      const spots = this.partsOf(thing).map(([east, north]) => map.latLngToContainerPoint(this.frame.latLng(east, north)));
      const seen = (/** @type {Point} */ { x, y }) => x > covered.left && y > covered.top && x < size.x - covered.right && y < size.y - covered.bottom;
      return spots.find(seen) ?? spots[0];
    }

    /** @param {FieldThing} thing @returns {PixelBox} in pixels of the window */
    boxOf(thing) {
      const [west, south, east, north] = this.metresOf(thing);
      const low = this.map.latLngToContainerPoint(this.frame.latLng(west, south));
      const high = this.map.latLngToContainerPoint(this.frame.latLng(east, north));
      return { left: low.x, top: high.y, right: high.x, bottom: low.y };
    }

    /**
     * Free ground for a box that speaks of a thing: above, right, left or below it, off it
     * and as far as can be off all plots.
     * @param {number} width @param {number} height @param {FieldThing} thing
     * @param {Insets} covered @param {PixelBox[]} kept where nothing is to lie
     */
    freeSpot(width, height, thing, covered, kept) {
      const size = this.map.getSize();
      const { left, top, right, bottom } = covered;
      const end = this.leaderEnd(thing, covered);
      const whole = this.boxOf(thing);
      // Of a long hedge, off the part that is meant.
      const isLong = thing.kind === "thing" && Math.max(whole.right - whole.left, whole.bottom - whole.top) > LONG_PX;
      const box = isLong ? { left: end.x, top: end.y, right: end.x, bottom: end.y } : whole;
      const plots = this.things.plots.map((_, at) => this.boxOf(this.thing("plot", at)));
      const spots = [];
      for (const shift of [0, -0.35, 0.35, -0.7, 0.7]) {
        const across = end.x - width / 2 + shift * width;
        const down = end.y - height / 2 + shift * height;
        for (const away of [GAP_PX, 3 * GAP_PX, 6 * GAP_PX]) {
          spots.push({ left: across, top: box.top - away - height, rank: 0 }, { left: box.right + away, top: down, rank: 1 });
          spots.push({ left: box.left - away - width, top: down, rank: 2 }, { left: across, top: box.bottom + away, rank: 3 });
        }
      }
      const shared = (/** @type {{left: number, top: number}} */ spot, /** @type {PixelBox} */ other) => {
        const wide = Math.min(other.right, spot.left + width) - Math.max(other.left, spot.left);
        const high = Math.min(other.bottom, spot.top + height) - Math.max(other.top, spot.top);
        return Math.max(0, wide) * Math.max(0, high);
      };
      const fits = spots.filter(
        (spot) =>
          spot.left >= left + 8 && spot.top >= top + 8 && spot.left + width <= size.x - right - 8 && spot.top + height <= size.y - bottom - 8 &&
          !kept.some((other) => shared(spot, other) > 0),
      );
      const costs = fits.map((spot) => ({ spot, cost: plots.reduce((sum, plot) => sum + shared(spot, plot), 0) }));
      costs.sort((one, other) => one.cost - other.cost || one.spot.rank - other.spot.rank);
      return costs.length ? { left: costs[0].spot.left, top: costs[0].spot.top } : null;
    }
  }

  /** One stop of the Tab key from which arrow keys go from bed to bed; each is said aloud. */
  class Walk {
    /**
     * @param {HTMLElement} container @param {number} count
     * @param {{name: (bed: number) => string, start: () => number, go: (bed: number) => void, choose: (bed: number | null) => void}} does
     */
    constructor(container, count, does) {
      this.count = count;
      this.does = does;
      this.bed = -1;
      this.stop = document.createElement("div");
      this.stop.className = "field-walk";
      this.stop.tabIndex = 0;
      this.stop.setAttribute("role", "button");
      this.said = document.createElement("div");
      this.said.className = "field-said";
      this.said.setAttribute("aria-live", "polite");
      for (const each of [this.stop, this.said]) {
        Object.assign(each.style, { position: "absolute", left: "0", bottom: "0", width: "1px", height: "1px", overflow: "hidden", clipPath: "inset(50%)", whiteSpace: "nowrap" });
      }
      if (count) container.append(this.stop);
      container.append(this.said);
      this.stop.addEventListener("keydown", (event) => this.key(event));
      this.stop.addEventListener("focus", () => this.to(Math.max(0, does.start())));
      this.stop.addEventListener("blur", () => this.leave());
    }

    /** @param {KeyboardEvent} event */
    key(event) {
      const { count } = this;
      const steps = new Map([["ArrowRight", 1], ["ArrowDown", 1], ["ArrowLeft", -1], ["ArrowUp", -1], ["PageDown", 10], ["PageUp", -10]]);
      const step = steps.get(event.key);
      const from = Math.max(0, this.bed);
      if (event.key === "Enter" || event.key === " ") this.does.choose(from);
      else if (event.key === "Escape") this.does.choose(null);
      else if (event.key === "Home") this.to(0);
      else if (event.key === "End") this.to(count - 1);
      else if (step) this.to((from + step + count) % count);
      else return;
      event.preventDefault();
      event.stopPropagation();
    }

    /** @param {number} bed */
    to(bed) {
      this.bed = bed;
      this.said.textContent = this.does.name(bed);
      this.tell(bed);
      this.does.go(bed);
    }

    /** What the stop is called while nobody walks. @param {number} bed */
    tell(bed) {
      if (this.count) this.stop.setAttribute("aria-label", this.does.name(Math.max(0, bed)));
    }

    leave() {
      this.bed = -1;
      this.does.go(-1);
    }
  }

  return Object.freeze({ Choice, Walk });
})();
