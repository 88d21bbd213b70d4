"use strict";
/** The place drawn on a canvas of ours over Leaflet, which moves and zooms it. */
const fieldDrawing = (() => {
  const BEYOND = 0.22; // of the window, drawn on each side so that a pan shows no gap
  const MOST_PIXELS = 9e6; // of a canvas: a phone holds no more
  const CEILING = 40; // pixels to a metre, beyond which nothing is left to see
  const GO_TO = 9; // pixels to a metre, for one bed
  const TOUCH_PX = 12; // off a bed that still chooses it
  const MARGIN = { left: 40, top: 40, right: 40, bottom: 40 };
  const OVER_COLOUR = 0.25;
  const CORNER = { width: 300, height: 64 };

  /** @typedef {"beds" | "tunnels" | "things" | "plots"} Rows */

  /** @param {string} name @param {HTMLElement} parent */
  function canvasIn(name, parent) {
    const canvas = document.createElement("canvas");
    canvas.className = name;
    canvas.setAttribute("aria-hidden", "true");
    parent.append(canvas);
    return canvas;
  }

  class Field {
    /** @param {any} map @param {Scene} scene @param {{describe?: (thing: FieldThing) => string}} given */
    constructor(map, scene, given) {
      this.map = map;
      this.data = scene;
      this.frame = new fieldFrame.Frame(scene.frame);
      this.describe = given.describe ?? ((thing) => this.saidOf(thing));
      this.beds = new fieldBeds.Beds(scene.beds);
      this.things = new fieldThings.Things(scene);
      this.air = new fieldAir.Air(scene.air);
      this.ground = new fieldGround.Ground(scene, () => this.request());
      this.palette = new fieldPalette.Palette(scene.looks, "day");
      /** @type {Picture} */
      this.picture = { key: "", beds: { kind: "plain" } };
      /** @type {Insets} */
      this.covered = { left: 0, top: 0, right: 0, bottom: 0 };
      /** @type {FieldThing | null} */
      this.chosen = null;
      this.walked = -1;
      /** @type {FieldPlace | null} */
      this.here = null;
      /** @type {PixelBox | null} */
      this.kept = null;
      /** @type {((thing: FieldThing | null) => void)[]} */
      this.onChosen = [];
      /** @type {(() => void)[]} */
      this.onMoved = [];
      this.waiting = 0;
      this.last = { zoom: NaN, corner: L.latLng(0, 0), size: L.point(0, 0) };
      this.lines = new WeakMap();
      this.build();
      this.listen();
      map.setMaxZoom(this.frame.zoomFor(CEILING));
    }

    build() {
      const { map } = this;
      const pane = map.getPane("field") ?? map.createPane("field");
      pane.style.zIndex = "410";
      pane.style.pointerEvents = "none";
      this.canvas = canvasIn("field-canvas leaflet-zoom-animated", pane);
      const container = map.getContainer();
      this.corner = canvasIn("field-corner", container);
      Object.assign(this.corner.style, { position: "absolute", pointerEvents: "none", zIndex: "650" });
      this.walk = document.createElement("div");
      Object.assign(this.walk, { className: "field-walk", tabIndex: 0 });
      this.walk.setAttribute("role", "button");
      this.said = document.createElement("div");
      this.said.className = "field-said";
      this.said.setAttribute("aria-live", "polite");
      for (const each of [this.walk, this.said]) {
        Object.assign(each.style, { position: "absolute", width: "1px", height: "1px", overflow: "hidden", clipPath: "inset(50%)", whiteSpace: "nowrap" });
      }
      if (this.beds.count) container.append(this.walk);
      container.append(this.said);
      this.nameWalk();
    }

    listen() {
      const { map } = this;
      map.on("moveend zoomend viewreset resize", () => {
        this.paintNow();
        for (const fn of this.onMoved) fn();
      });
      map.on("move", () => {
        if (!this.coversWindow()) this.request();
      });
      map.on("zoomanim", (/** @type {any} */ event) => this.follow(event.center, event.zoom));
      map.on("zoom", () => this.follow(map.getCenter(), map.getZoom()));
      map.on("click", (/** @type {any} */ event) => this.choose(this.at(event.latlng), true));
      map.on("mousemove", (/** @type {any} */ event) => {
        const found = this.at(event.latlng);
        map.getContainer().style.cursor = found && found.kind !== "plot" ? "pointer" : "";
      });
      this.walk.addEventListener("keydown", (event) => this.step(event));
      this.walk.addEventListener("focus", () => this.walkTo(this.chosen?.kind === "bed" ? this.chosen.index : Math.max(0, this.walked)));
      this.walk.addEventListener("blur", () => {
        this.walked = -1;
        this.request();
      });
      if (document.fonts) document.fonts.ready.then(() => this.request());
      // Fonts that only the canvas uses are not asked for by the page itself.
      for (const font of Object.values(fieldLabels.FONTS)) document.fonts?.load(font).then(() => this.request(), () => undefined);
    }

    // ---- Where things lie

    /** What the window shows of the canvas, and what words leave free of it. */
    room() {
      const { frame } = this.view;
      const { left, top, right, bottom } = this.covered;
      return { left: frame.left + left + 6, top: frame.top + top + 6, right: frame.right - right - 6, bottom: frame.bottom - bottom - 6 };
    }

    viewNow() {
      const { map } = this;
      const size = map.getSize();
      const pad = size.multiplyBy(BEYOND).round();
      const ratio = Math.min(window.devicePixelRatio || 1, 3, Math.sqrt(MOST_PIXELS / Math.max(1, (size.x + 2 * pad.x) * (size.y + 2 * pad.y))));
      const corner = map.containerPointToLayerPoint(pad.multiplyBy(-1));
      const zoom = map.getZoom();
      const middle = map.project(this.frame.latLng(0, 0), zoom).subtract(map.getPixelOrigin()).subtract(corner);
      const frame = { left: pad.x, top: pad.y, right: pad.x + size.x, bottom: pad.y + size.y };
      const view = new fieldFrame.View(this.frame.scaleAt(zoom), middle.x, middle.y, size.x + 2 * pad.x, size.y + 2 * pad.y, ratio, frame);
      return { view, corner, zoom };
    }

    coversWindow() {
      const { map } = this;
      if (!this.view || map.getZoom() !== this.last.zoom) return true;
      const at = map.latLngToContainerPoint(this.last.corner);
      const size = map.getSize();
      return at.x <= 0 && at.y <= 0 && at.x + this.view.width >= size.x && at.y + this.view.height >= size.y;
    }

    /** Keeps what is drawn in its place while Leaflet zooms. @param {any} centre @param {number} zoom */
    follow(centre, zoom) {
      const { map } = this;
      if (!Number.isFinite(this.last.zoom)) return;
      const scale = map.getZoomScale(zoom, this.last.zoom);
      const shift = L.DomUtil.getPosition(map.getPane("mapPane"));
      const origin = map.project(centre, zoom).subtract(map.getSize().divideBy(2)).add(shift).round();
      L.DomUtil.setTransform(this.canvas, map.project(this.last.corner, zoom).subtract(origin), scale);
    }

    // ---- Drawing

    request() {
      if (this.waiting) return;
      this.waiting = requestAnimationFrame(() => this.paintNow());
    }

    paintNow() {
      cancelAnimationFrame(this.waiting);
      this.waiting = 0;
      const { map } = this;
      const size = map.getSize();
      if (!size.x || !size.y) return;
      const { view, corner, zoom } = this.viewNow();
      this.view = view;
      const [width, height] = [Math.round(view.width * view.ratio), Math.round(view.height * view.ratio)];
      if (this.canvas.width !== width || this.canvas.height !== height) {
        Object.assign(this.canvas, { width, height });
        Object.assign(this.canvas.style, { width: `${view.width}px`, height: `${view.height}px` });
      }
      L.DomUtil.setTransform(this.canvas, corner, 1);
      this.last = { zoom, corner: map.layerPointToLatLng(corner), size };
      this.paintOn(/** @type {CanvasRenderingContext2D} */ (this.canvas.getContext("2d")), view, this.palette, this.room());
      this.paintCorner(view.scale);
    }

    /** @param {CanvasRenderingContext2D} ctx @param {any} view @param {any} palette @param {PixelBox} room */
    paintOn(ctx, view, palette, room) {
      const { picture, things } = this;
      const extras = picture.extras ?? [];
      const brush = { ctx, view, palette, colours: palette.colours };
      this.ground.paint(ctx, view, palette, picture.ground);
      if (picture.ground) this.paintIsolines(brush, picture.ground);
      things.paintFlat(brush, Boolean(picture.ground));
      this.beds.paint(ctx, view, palette, picture);
      this.paintOverPlots(brush);
      things.paintStanding(brush, extras);
      if (extras.includes("flow")) this.air.paint(ctx, view, palette);
      if (this.chosen?.kind === "bed") this.beds.paintChosen(ctx, view, palette, this.chosen.index, false);
      if (this.walked >= 0 && this.walked !== this.chosen?.index) this.beds.paintChosen(ctx, view, palette, this.walked, true);
      this.paintHere(brush);
      this.paintWords(brush, room);
    }

    /** Lines of height go on over the colours, faintly. @param {any} brush */
    paintOverPlots({ ctx, view, palette }) {
      const inPlots = new Path2D();
      for (const plot of this.things.plots) inPlots.addPath(plot.path);
      ctx.save();
      view.inMetres(ctx);
      ctx.clip(inPlots, "evenodd");
      this.ground.paintLines(ctx, view, palette.colours.over, OVER_COLOUR, [0.7, 1.1]);
      ctx.restore();
    }

    /** @param {any} brush @param {GroundField} field */
    paintIsolines({ ctx, view, palette }, field) {
      const path = new Path2D();
      fieldFrame.trace(path, this.linesOf(field).points, false);
      view.inMetres(ctx);
      ctx.strokeStyle = fieldPalette.clear(palette.dark ? "#bfe0f6" : "#233f73", 0.8);
      ctx.lineWidth = 1 / view.scale;
      ctx.setLineDash([2.5 / view.scale, 2.5 / view.scale]);
      ctx.stroke(path);
      ctx.setLineDash([]);
    }

    /** @param {GroundField} field */
    linesOf(field) {
      let found = this.lines.get(field);
      if (!found) this.lines.set(field, (found = { points: fieldFrame.lines(field.lines), said: field.said }));
      return found;
    }

    /** The circle of one's own place. @param {any} brush */
    paintHere({ ctx, view, palette, colours }) {
      if (!this.here) return;
      const [east, north] = this.frame.metres(this.here);
      const [x, y] = [view.x(east), view.y(north)];
      const r = this.here.accuracy_m * view.scale;
      view.inPixels(ctx);
      ctx.beginPath();
      ctx.arc(x, y, r, 0, 2 * Math.PI);
      ctx.fillStyle = fieldPalette.clear(colours.water_ink, 0.14);
      ctx.strokeStyle = colours.water_ink;
      ctx.lineWidth = 1.8;
      ctx.setLineDash([3, 4]);
      ctx.fill();
      ctx.stroke();
      ctx.setLineDash([]);
      for (const [size, colour] of [[11, colours.water_ink], [9, palette.colours.paper], [6.5, colours.water_ink]]) {
        ctx.beginPath();
        ctx.arc(x, y, Number(size), 0, 2 * Math.PI);
        ctx.fillStyle = String(colour);
        ctx.fill();
      }
    }

    /** @param {any} brush @param {PixelBox} room */
    paintWords(brush, room) {
      const { ctx, view, palette } = brush;
      const { picture } = this;
      view.inPixels(ctx);
      const taken = [{ left: room.left, right: room.left + CORNER.width * 0.8, top: room.bottom - 34, bottom: room.bottom + 9 }];
      if (this.kept) taken.push(this.onCanvas(this.kept));
      const labels = new fieldLabels.Labels(ctx, view, palette, taken, room);
      const scene = {
        beds: this.beds,
        things: this.things,
        ground: this.ground,
        downhill: this.data.downhill,
        solid: this.things.things.filter(({ kind }) => kind !== "overhead line"),
        words: { say: this.data.say, height: (/** @type {number} */ height) => this.height(height) },
      };
      const sheet = { ...brush, labels, scene };
      if (this.here) {
        const [east, north] = this.frame.metres(this.here);
        const [x, y] = [view.x(east), view.y(north)];
        labels.take([{ left: x - 14, right: x + 14, top: y - 14, bottom: y + 14 }]);
      }
      if (this.chosen?.kind === "bed") fieldNames.chosen(sheet, this.chosen.index);
      else if (this.walked >= 0) fieldNames.chosen(sheet, this.walked);
      fieldNames.numbers(sheet, picture.numbered ?? []);
      fieldNames.plots(sheet, picture.plots ?? []);
      fieldNames.marked(sheet, this.things.shown(picture.extras ?? []));
      fieldNames.callouts(sheet, picture.callouts ?? []);
      if (picture.ground) fieldNames.isolines(sheet, this.linesOf(picture.ground));
      fieldNames.downhill(sheet);
      fieldNames.around(sheet, false);
      fieldNames.around(sheet, true);
      fieldNames.tunnels(sheet);
      fieldNames.beds(sheet, this.chosen?.kind === "bed" ? this.chosen.index : this.walked);
      fieldNames.heights(sheet);
    }

    /** A height in the units of the place. @param {number} height */
    height(height) {
      const { say, units } = this.data;
      const language = document.documentElement.lang || "en";
      return (units === "us" ? say.feet : say.metres).replace("{number}", height.toLocaleString(language, { maximumFractionDigits: 2 }));
    }

    /** Scale and north, beside what words cover. @param {number} scale */
    paintCorner(scale) {
      const { width, height } = CORNER;
      const ratio = Math.min(window.devicePixelRatio || 1, 3);
      Object.assign(this.corner, { width: width * ratio, height: height * ratio });
      const { left, bottom } = this.covered;
      Object.assign(this.corner.style, { width: `${width}px`, height: `${height}px`, left: `${left + 12}px`, bottom: `${bottom + 6}px` });
      const ctx = /** @type {CanvasRenderingContext2D} */ (this.corner.getContext("2d"));
      ctx.setTransform(ratio, 0, 0, ratio, 0, 0);
      ctx.clearRect(0, 0, width, height);
      fieldFurniture.paint(ctx, this.palette, this.data, scale, 8, height - 16);
    }

    // ---- Choosing

    /** @param {{lat: number, lng: number}} latlng @returns {FieldThing | null} */
    at(latlng) {
      const [east, north] = this.frame.metres(latlng);
      const scale = this.frame.scaleAt(this.map.getZoom());
      const inside = (/** @type {any} */ { rings, box, form }) => form === "area" && east >= box[0] && east <= box[2] && north >= box[1] && north <= box[3] && fieldFrame.inside(east, north, rings);
      const tunnel = this.things.tunnels.findIndex(inside);
      if (tunnel >= 0) return this.thing("tunnel", tunnel);
      // From afar a finger takes the nearest bed, since all are thinner than it.
      const bed = this.beds.at(east, north, Math.min(TOUCH_PX / scale, 3));
      if (bed >= 0) return this.thing("bed", bed);
      const near = TOUCH_PX / scale;
      const thing = this.things.things.findIndex((each) => inside(each) || (each.form === "point" && Math.hypot(each.box[0] - east, each.box[1] - north) < 1.5 * near));
      if (thing >= 0) return this.thing("thing", thing);
      const plot = this.things.plots.findIndex(inside);
      return plot >= 0 ? this.thing("plot", plot) : null;
    }

    /** @param {FieldThing["kind"]} kind @param {number} index @returns {FieldThing} */
    thing(kind, index) {
      if (kind === "bed") return { kind, index, name: this.beds.names[index] };
      const rows = { tunnel: this.things.tunnels, thing: this.things.things, plot: this.things.plots }[kind];
      return { kind, index, name: rows[index].name };
    }

    /** @param {FieldThing | null} thing @param {boolean} [told] whether those who listen are told */
    choose(thing, told = false) {
      this.chosen = thing;
      if (thing?.kind === "bed") {
        this.walked = -1;
        this.nameWalk();
        this.bringIn(thing);
      }
      this.paintNow();
      if (told) for (const fn of this.onChosen) fn(thing);
    }

    /** Pans only where a thing is out of view. @param {FieldThing} thing */
    bringIn(thing) {
      const { map } = this;
      const { left, top, right, bottom } = this.covered;
      const at = map.latLngToContainerPoint(this.middleOf(thing));
      const size = map.getSize();
      if (at.x < left || at.y < top || at.x > size.x - right || at.y > size.y - bottom) {
        const want = L.point((left + size.x - right) / 2, (top + size.y - bottom) / 2);
        map.panBy(at.subtract(want), { animate: false });
      }
    }

    /** @param {FieldThing} thing */
    middleOf(thing) {
      if (thing.kind === "bed") return this.frame.latLng(...this.beds.middle(thing.index));
      const [west, south, east, north] = this.metresOf(thing);
      return this.frame.latLng((west + east) / 2, (south + north) / 2);
    }

    /** West, south, east and north of a thing. @param {FieldThing} thing @returns {ArrayLike<number>} */
    metresOf({ kind, index }) {
      if (kind === "bed") return this.beds.box(index);
      return { tunnel: this.things.tunnels, thing: this.things.things, plot: this.things.plots }[kind][index].box;
    }

    /** @param {FieldThing} thing @returns {PixelBox} in pixels of the window */
    boxOf(thing) {
      const [west, south, east, north] = this.metresOf(thing);
      const low = this.map.latLngToContainerPoint(this.frame.latLng(west, south));
      const high = this.map.latLngToContainerPoint(this.frame.latLng(east, north));
      return { left: low.x, top: high.y, right: high.x, bottom: low.y };
    }

    /** @param {PixelBox} box of the window @returns {PixelBox} of the canvas */
    onCanvas({ left, top, right, bottom }) {
      const { frame } = this.view;
      return { left: left + frame.left, top: top + frame.top, right: right + frame.left, bottom: bottom + frame.top };
    }

    /**
     * Free ground for a callout, above, right, left or below a thing.
     * @param {number} width @param {number} height @param {FieldThing} thing
     */
    freeSpot(width, height, thing) {
      const box = this.boxOf(thing);
      const size = this.map.getSize();
      const { left, top, right, bottom } = this.covered;
      const plots = this.things.plots.map((_, at) => this.boxOf(this.thing("plot", at)));
      const middle = [(box.left + box.right) / 2, (box.top + box.bottom) / 2];
      const gap = 28;
      const spots = [];
      for (const shift of [0, -0.35, 0.35, -0.7, 0.7]) {
        const across = middle[0] - width / 2 + shift * width;
        const down = middle[1] - height / 2 + shift * height;
        for (const away of [gap, 3 * gap, 6 * gap]) {
          spots.push({ left: across, top: box.top - away - height, rank: 0 }, { left: box.right + away, top: down, rank: 1 });
          spots.push({ left: box.left - away - width, top: down, rank: 2 }, { left: across, top: box.bottom + away, rank: 3 });
        }
      }
      const fits = spots.filter((spot) => spot.left >= left + 8 && spot.top >= top + 8 && spot.left + width <= size.x - right - 8 && spot.top + height <= size.y - bottom - 8);
      const covers = (/** @type {{left: number, top: number}} */ spot) => plots.reduce((sum, plot) => {
        const wide = Math.min(plot.right, spot.left + width) - Math.max(plot.left, spot.left);
        const high = Math.min(plot.bottom, spot.top + height) - Math.max(plot.top, spot.top);
        return sum + Math.max(0, wide) * Math.max(0, high);
      }, 0);
      const [best] = fits.map((spot) => ({ spot, cost: covers(spot) })).sort((one, other) => one.cost - other.cost || one.spot.rank - other.spot.rank);
      return best ? { left: best.spot.left, top: best.spot.top } : null;
    }

    // ---- By keys, from bed to bed

    /** @param {KeyboardEvent} event */
    step(event) {
      const by = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1, PageDown: 10, PageUp: -10 }[event.key];
      const { count } = this.beds;
      if (event.key === "Enter" || event.key === " ") this.choose(this.thing("bed", Math.max(0, this.walked >= 0 ? this.walked : this.chosen?.index ?? 0)), true);
      else if (event.key === "Escape") this.choose(null, true);
      else if (by || event.key === "Home" || event.key === "End") {
        const from = this.walked >= 0 ? this.walked : this.chosen?.index ?? 0;
        const to = { Home: 0, End: count - 1 }[event.key] ?? (from + Number(by) + count) % count;
        this.walkTo(to);
      } else return;
      event.preventDefault();
      event.stopPropagation();
    }

    /** @param {number} bed */
    walkTo(bed) {
      this.walked = bed;
      const thing = this.thing("bed", bed);
      this.bringIn(thing);
      this.said.textContent = this.describe(thing);
      this.nameWalk();
      this.request();
    }

    nameWalk() {
      const bed = this.walked >= 0 ? this.walked : this.chosen?.kind === "bed" ? this.chosen.index : 0;
      if (this.beds.count) this.walk.setAttribute("aria-label", this.describe(this.thing("bed", bed)));
    }

    /** @param {FieldThing} thing */
    saidOf(thing) {
      if (thing.kind !== "bed") return thing.name;
      const plot = this.things.plots[this.beds.plots[thing.index]]?.name ?? "";
      return this.data.say.bed_and_plot.replace("{bed}", thing.name).replace("{plot}", plot);
    }

    /** Things by name or by number, those that begin so first. @param {string} text */
    find(text) {
      const wanted = text.trim().toLocaleLowerCase();
      if (!wanted) return [];
      const all = [
        ...this.things.plots.map((_, at) => this.thing("plot", at)),
        ...this.things.tunnels.map((_, at) => this.thing("tunnel", at)),
        ...this.beds.names.map((_, at) => this.thing("bed", at)),
        ...this.things.things.map((_, at) => this.thing("thing", at)),
      ];
      const rank = (/** @type {FieldThing} */ { name }) => {
        const own = name.toLocaleLowerCase();
        if (own === wanted) return 0;
        if (own.replace(/^\D+/, "") === wanted) return 1;
        if (own.startsWith(wanted)) return 2;
        return own.includes(wanted) ? 3 : 9;
      };
      return all.filter((each) => each.name && rank(each) < 9).sort((one, other) => rank(one) - rank(other)).slice(0, 40);
    }

    // ---- The window

    /** @param {ArrayLike<number>} box @param {number} most pixels to a metre @param {boolean} animate */
    fit([west, south, east, north], most, animate) {
      const bounds = L.latLngBounds([this.frame.latLng(west, south), this.frame.latLng(east, north)]);
      const { left, top, right, bottom } = this.covered;
      this.map.fitBounds(bounds, {
        paddingTopLeft: [left + MARGIN.left, top + MARGIN.top],
        paddingBottomRight: [right + MARGIN.right, bottom + MARGIN.bottom],
        maxZoom: this.frame.zoomFor(most),
        animate,
      });
    }

    whole() {
      this.fit(this.data.view, CEILING, false);
      const ground = this.data.ground.box;
      const size = this.map.getSize();
      const least = Math.min(size.x / (ground[2] - ground[0]), size.y / (ground[3] - ground[1]));
      this.map.setMinZoom(Math.min(this.map.getZoom() - 0.5, this.frame.zoomFor(least)));
      this.map.setMaxBounds(L.latLngBounds([this.frame.latLng(ground[0], ground[1]), this.frame.latLng(ground[2], ground[3])]).pad(0.4));
    }

    /** @param {FieldThing} thing */
    goTo(thing) {
      this.fit(this.metresOf(thing), GO_TO, false);
    }

    /** The present picture as an address that holds it. @param {{width?: number, height?: number, ratio?: number, look?: LookName}} wanted */
    toImage(wanted = {}) {
      const size = this.map.getSize();
      const { width = size.x, height = size.y, ratio = 2, look = /** @type {LookName} */ (this.palette.name) } = wanted;
      const canvas = document.createElement("canvas");
      Object.assign(canvas, { width: width * ratio, height: height * ratio });
      const zoom = this.map.getZoom();
      const middle = this.map.project(this.frame.latLng(0, 0), zoom).subtract(this.map.project(this.map.getCenter(), zoom));
      const view = new fieldFrame.View(this.frame.scaleAt(zoom), middle.x + width / 2, middle.y + height / 2, width, height, ratio);
      const ctx = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
      const palette = new fieldPalette.Palette(this.data.looks, look);
      const kept = this.view;
      this.view = view;
      this.paintOn(ctx, view, palette, { left: 6, top: 6, right: width - 6, bottom: height - 6 });
      this.view = kept;
      view.inPixels(ctx);
      fieldFurniture.paint(ctx, palette, this.data, view.scale, 16, height - 16);
      return canvas.toDataURL("image/png");
    }
  }

  /**
   * Draws a place on a map of Leaflet.
   * @param {any} map @param {Scene} scene @param {{describe?: (thing: FieldThing) => string}} [given]
   */
  function on(map, scene, given = {}) {
    const field = new Field(map, scene, given);
    return Object.freeze({
      ready: field.ground.ready,
      /** @param {Picture} picture */
      show(picture) {
        field.picture = picture;
        field.paintNow();
      },
      choose: (/** @type {FieldThing | null} */ thing) => field.choose(thing),
      at: (/** @type {{lat: number, lng: number}} */ latlng) => field.at(latlng),
      onChoose: (/** @type {(thing: FieldThing | null) => void} */ fn) => void field.onChosen.push(fn),
      onMove: (/** @type {() => void} */ fn) => void field.onMoved.push(fn),
      /** @param {FieldPlace | null} place */
      place(place) {
        field.here = place;
        field.request();
      },
      /** @param {LookName} name */
      look(name) {
        field.palette = new fieldPalette.Palette(scene.looks, name);
        field.paintNow();
      },
      /** @param {Partial<Insets>} covered */
      inset(covered) {
        Object.assign(field.covered, covered);
        field.request();
      },
      /** @param {PixelBox | null} box */
      keepOff(box) {
        field.kept = box;
        field.request();
      },
      whole: () => field.whole(),
      goTo: (/** @type {FieldThing} */ thing) => field.goTo(thing),
      boxOf: (/** @type {FieldThing} */ thing) => field.boxOf(thing),
      leaderEnd: (/** @type {FieldThing} */ thing) => field.map.latLngToContainerPoint(field.middleOf(thing)),
      freeSpot: (/** @type {number} */ width, /** @type {number} */ height, /** @type {FieldThing} */ thing) => field.freeSpot(width, height, thing),
      find: (/** @type {string} */ text) => field.find(text),
      toImage: (/** @type {{width?: number, height?: number, ratio?: number, look?: LookName}} */ wanted) => field.toImage(wanted),
      repaint: () => field.paintNow(),
      bed: (/** @type {number} */ index) => field.thing("bed", index),
    });
  }

  return Object.freeze({ on });
})();
