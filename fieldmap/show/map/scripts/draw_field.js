"use strict";
/** The place drawn on a canvas of ours over Leaflet, which moves and zooms it. */
const fieldDrawing = (() => {
  const BEYOND = 0.22; // of the window, drawn on each side so that a pan shows no gap
  const MOST_PIXELS = 9e6; // of a canvas: a phone holds no more
  const CEILING = 40; // pixels to a metre, beyond which nothing is left to see
  const GO_TO = 9; // pixels to a metre, for one bed
  const MARGIN_PX = 40; // around what is fitted into the window
  const MARGIN_PHONE_PX = 14;
  const OVER_COLOUR = 0.25;
  const CORNER = { width: 300, height: 64 };

  /** @param {string} name @param {HTMLElement} parent */
  function canvasIn(name, parent) {
    const canvas = document.createElement("canvas");
    canvas.className = name;
    canvas.setAttribute("aria-hidden", "true");
    parent.append(canvas);
    return canvas;
  }

  /** What words keep off, sorted by where it lies: on a large farm each place is asked of few. @param {InstanceType<typeof fieldThings.Things>} things */
  function keptOff({ plots, things }) {
    const { sorted } = fieldClear;
    const solid = things.filter(({ kind }) => kind !== "overhead line");
    const compact = solid.filter(({ kind }) => !fieldPlotNames.LONG.includes(kind));
    sorted(plots);
    return {
      solid: sorted(solid),
      wires: things.filter(({ kind }) => kind === "overhead line"),
      compact: sorted(compact),
      around: sorted([...plots, ...solid]),
      small: sorted([...plots, ...compact]),
    };
  }

  class Field {
    /** @param {L.Map} map @param {Scene} scene @param {FieldChoices} given */
    constructor(map, scene, given) {
      this.map = map;
      // Before anything that asks for a picture.
      this.isAsleep = given.isAsleep ?? false;
      this.said = given.said ?? [];
      this.data = scene;
      this.frame = new fieldFrame.Frame(scene.frame);
      this.describe = given.describe ?? ((/** @type {FieldThing} */ thing) => this.saidOf(thing));
      this.beds = new fieldBeds.Beds(scene.beds);
      this.things = new fieldThings.Things(scene);
      this.keeps = keptOff(this.things);
      this.air = new fieldAir.Air(scene.air);
      this.ground = new fieldGround.Ground(scene, () => this.request());
      this.choice = new fieldChoice.Choice(map, this.frame, this.beds, this.things);
      this.palette = new fieldPalette.Palette(scene.looks, "day");
      /** @type {Picture} */
      this.picture = { key: "", beds: { kind: "plain" } };
      /** @type {Insets} */
      this.covered = { left: 0, top: 0, right: 0, bottom: 0 };
      /** @type {FieldThing | null} */
      this.chosen = null;
      /** @type {FieldPlace | null} */
      this.here = null;
      /** @type {PixelBox[]} */
      this.kept = [];
      /** @type {((thing: FieldThing | null) => void)[]} */
      this.onChosen = [];
      /** @type {(() => void)[]} */
      this.onMoved = [];
      /** @type {((keyed: {n: number, text: string}[]) => void)[]} */
      this.onKeyed = [];
      /** @type {((signs: {drawn: string[], nameless: string[]}) => void)[]} */
      this.onSigns = [];
      this.waiting = 0;
      this.cornerWidth = CORNER.width; // of scale and north, once they are painted
      /** @type {{zoom: number, corner: L.LatLng}} */
      this.last = { zoom: NaN, corner: L.latLng(0, 0) };
      /** What is said of plots and beds, and where on the canvas. @type {FieldWords[]} */
      this.words = [];
      /** @type {WeakMap<GroundField, FieldLines>} */
      this.lines = new WeakMap();
      const pane = map.createPane("field");
      Object.assign(pane.style, { zIndex: "410", pointerEvents: "none" });
      this.canvas = canvasIn("field-canvas leaflet-zoom-animated", pane);
      this.corner = canvasIn("field-corner", map.getContainer());
      Object.assign(this.corner.style, { position: "absolute", pointerEvents: "none", zIndex: "650" });
      this.walk = new fieldChoice.Walk(map.getContainer(), this.beds.count, {
        name: (bed) => this.describe(this.choice.thing("bed", bed)),
        start: () => this.bedChosen(),
        go: (bed) => this.walked(bed),
        choose: (bed) => this.choose(bed === null ? null : this.choice.thing("bed", bed), true),
      });
      this.walk.tell(0);
      /** @type {FieldView} */
      this.view = new fieldFrame.View(1, 0, 0, 1, 1, 1);
      this.listen();
      map.setMaxZoom(this.frame.zoomFor(CEILING));
    }

    listen() {
      const { map } = this;
      // One fit of the map is three of these: it is painted once, before it is shown.
      map.on("moveend zoomend viewreset resize", () => {
        this.request();
        for (const fn of this.onMoved) fn();
      });
      map.on("move", () => {
        if (!this.coversWindow()) this.request();
      });
      map.on("zoomanim", (event) => this.follow(event.center, event.zoom));
      map.on("zoom", () => this.follow(map.getCenter(), map.getZoom()));
      map.on("click", (event) => this.choose(this.choice.at(event.latlng), true));
      map.on("mousemove", (event) => {
        const found = this.choice.at(event.latlng);
        map.getContainer().style.cursor = found && found.kind !== "plot" ? "pointer" : "";
      });
      document.fonts.ready.then(() => this.request());
      // Fonts that only the canvas uses are not asked for by the page itself.
      for (const font of Object.values(fieldLabels.FONTS)) document.fonts.load(font).then(() => this.request(), () => {});
    }

    // ---- Choosing

    /** The bed that is chosen, -1 where none is. */
    bedChosen() {
      return this.chosen?.kind === "bed" ? this.chosen.index : -1;
    }

    /** @param {FieldThing | null} thing @param {boolean} [notify] whether those who listen are called */
    choose(thing, notify = false) {
      this.chosen = thing;
      if (thing?.kind === "bed") {
        this.walk.tell(thing.index);
        this.bringIn(thing);
      }
      this.paintNow();
      if (notify) for (const fn of this.onChosen) fn(thing);
    }

    /** @param {number} bed that keys have come to; -1: they have left */
    walked(bed) {
      if (bed >= 0) this.bringIn(this.choice.thing("bed", bed));
      this.request();
    }

    /** Pans only where a thing is out of view. @param {FieldThing} thing */
    bringIn(thing) {
      const { map } = this;
      const { left, top, right, bottom } = this.covered;
      const at = this.choice.leaderEnd(thing, this.covered);
      const size = map.getSize();
      if (at.x < left || at.y < top || at.x > size.x - right || at.y > size.y - bottom) {
        const want = L.point((left + size.x - right) / 2, (top + size.y - bottom) / 2);
        map.panBy(at.subtract(want), { animate: false });
      }
    }

    /** @param {FieldThing} thing */
    saidOf(thing) {
      if (thing.kind !== "bed") return thing.name;
      const plot = this.things.plots[this.beds.plots[thing.index]]?.name ?? "";
      return this.data.say.bed_and_plot.replace("{bed}", thing.name).replace("{plot}", plot);
    }

    /** @param {PixelBox} box of the window @returns {PixelBox} of the canvas */
    onCanvas({ left, top, right, bottom }) {
      const { frame } = this.view;
      return { left: left + frame.left, top: top + frame.top, right: right + frame.left, bottom: bottom + frame.top };
    }

    /** Names of plots and of what grows, and where they stand in the window. */
    wordsInWindow() {
      const { left, top } = this.view.frame;
      return this.words.map(({ text, box, to }) => ({
        text,
        left: box.left - left,
        top: box.top - top,
        right: box.right - left,
        bottom: box.bottom - top,
        to: to ? { x: to.x - left, y: to.y - top } : null,
      }));
    }

    /** Kinds of signs that the present picture has, but for patterns of its beds. */
    signs() {
      const { picture: { extras = [], ground, numbered = [] }, things, beds } = this;
      const found = [];
      if (extras.includes("flow") && this.data.air.length) found.push("air");
      if (extras.includes("pegs") && things.pegs.length) found.push("peg");
      if (numbered.length) found.push("number");
      if (ground?.said.length) found.push("isoline");
      if (beds.count) found.push("bed");
      if (this.data.contours.heights) found.push("contour");
      return [...found, ...things.kinds(extras)];
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
      const shift = L.DomUtil.getPosition(/** @type {HTMLElement} */ (map.getPane("mapPane")));
      const origin = map.project(centre, zoom).subtract(map.getSize().divideBy(2)).add(shift).round();
      L.DomUtil.setTransform(this.canvas, map.project(this.last.corner, zoom).subtract(origin), scale);
    }

    // ---- Drawing

    request() {
      if (this.waiting || this.isAsleep) return;
      this.waiting = requestAnimationFrame(() => this.paintNow());
    }

    paintNow() {
      if (this.isAsleep) return;
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
      this.last = { zoom, corner: map.layerPointToLatLng(corner) };
      this.paintCorner(view.scale);
      const { said, keyed, texts } = this.paintOn(/** @type {CanvasRenderingContext2D} */ (this.canvas.getContext("2d")), view, this.palette, this.room(), this.kept.map((box) => this.onCanvas(box)), this.onKeyed.length > 0);
      this.words = said;
      for (const fn of this.onKeyed) fn(keyed);
      const signs = this.signsInWindow(texts);
      for (const fn of this.onSigns) fn(signs);
    }

    /** Signs of things in the window, and those of which one at least stands there without its name. What somebody saw has its words, but not that it was seen. @param {Set<string>} texts that stand on the map */
    signsInWindow(texts) {
      const { things, view, picture: { extras = [] } } = this;
      const { left, top, right, bottom } = this.room();
      const inWindow = (/** @type {FieldShape} */ { box: [west, south, east, north] }) =>
        view.x(east) > left && view.x(west) < right && view.y(south) > top && view.y(north) < bottom;
      const here = [...things.shown(extras, view.scale), ...things.tunnels, ...things.things].filter(inWindow);
      const isNamed = (/** @type {FieldShape} */ { kind, name, said }) => kind !== "mark" && (texts.has(name) || texts.has(said));
      const signs = (/** @type {FieldShape[]} */ some) => [...new Set(some.map(fieldThings.signOf))];
      return { drawn: signs(here), nameless: signs(here.filter((thing) => !isNamed(thing))) };
    }

    /** @param {CanvasRenderingContext2D} ctx @param {FieldView} view @param {FieldPalette} palette @param {PixelBox} room @param {PixelBox[]} kept where no word is to lie @param {boolean} isKeyed whether numbers may stand for names, where those are read beside the map */
    paintOn(ctx, view, palette, room, kept, isKeyed) {
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
      const [chosen, walked] = [this.bedChosen(), this.walk.bed];
      if (chosen >= 0) this.beds.paintChosen(ctx, view, palette, chosen, false);
      if (walked >= 0 && walked !== chosen) this.beds.paintChosen(ctx, view, palette, walked, true);
      this.paintHere(brush);
      return this.paintWords(brush, room, kept, isKeyed);
    }

    /** Lines of height go on over the colours, faintly. @param {FieldBrush} brush */
    paintOverPlots({ ctx, view, palette }) {
      const inPlots = new Path2D();
      for (const plot of this.things.plots) inPlots.addPath(plot.path);
      ctx.save();
      view.inMetres(ctx);
      ctx.clip(inPlots, "evenodd");
      this.ground.paintLines(ctx, view, palette.colours.over, OVER_COLOUR, [0.7, 1.1]);
      ctx.restore();
    }

    /** @param {FieldBrush} brush @param {GroundField} field */
    paintIsolines({ ctx, view, palette }, field) {
      const path = new Path2D();
      fieldFrame.trace(path, this.linesOf(field).points, false);
      view.inMetres(ctx);
      const { colour, px, dashes } = fieldPalette.marks(palette).isoline;
      ctx.strokeStyle = colour;
      ctx.lineWidth = px / view.scale;
      ctx.setLineDash(dashes.map((dash) => dash / view.scale));
      ctx.stroke(path);
      ctx.setLineDash([]);
    }

    /** @param {GroundField} field */
    linesOf(field) {
      let found = this.lines.get(field);
      if (!found) this.lines.set(field, (found = { points: fieldFrame.lines(field.lines), said: field.said }));
      return found;
    }

    /** The circle of one's own place. @param {FieldBrush} brush */
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

    /** @param {FieldBrush} brush @param {PixelBox} room @param {PixelBox[]} kept @param {boolean} isKeyed */
    paintWords(brush, room, kept, isKeyed) {
      const { ctx, view, palette } = brush;
      const { picture } = this;
      view.inPixels(ctx);
      const taken = [{ left: room.left, right: room.left + this.cornerWidth, top: room.bottom - 42, bottom: room.bottom + 9 }, ...kept];
      const labels = new fieldLabels.Labels(ctx, view, palette, taken, room);
      const scene = {
        beds: this.beds,
        things: this.things,
        ground: this.ground,
        downhill: this.data.downhill,
        ...this.keeps,
        words: { say: this.data.say, height: (/** @type {number} */ height) => this.height(height) },
      };
      const sheet = { ...brush, labels, scene };
      if (this.here) {
        const [east, north] = this.frame.metres(this.here);
        const [x, y] = [view.x(east), view.y(north)];
        labels.take([{ left: x - 14, right: x + 14, top: y - 14, bottom: y + 14 }]);
      }
      // First, so that they stand in one place whatever is asked and chosen.
      fieldPlotNames.put(sheet, picture.plots ?? [], this.said);
      const named = this.walk.bed >= 0 ? this.walk.bed : this.bedChosen();
      if (named >= 0) fieldNames.chosen(sheet, named);
      fieldNames.numbers(sheet, picture.numbered ?? []);
      // What grows comes before names of beds, where the answer names none of them.
      const grows = picture.named?.length ? [] : picture.callouts ?? [];
      fieldCallouts.put(sheet, grows, [], isKeyed);
      const unnamed = fieldNames.beds(sheet, named, picture.named ?? []);
      const asked = ["tunnel-drain", "tunnel-names"].some((each) => (picture.extras ?? []).includes(each));
      if (asked) fieldNames.tunnels(sheet, asked);
      // Beds that the answer names amid others have their names beside the plot.
      const amid = unnamed.map((bed) => ({ beds: [bed], text: this.beds.names[bed] }));
      fieldCallouts.put(sheet, [...amid, ...(grows.length ? [] : picture.callouts ?? [])], unnamed, false);
      fieldNames.downhill(sheet);
      fieldNames.marked(sheet, this.things.shown(picture.extras ?? [], view.scale));
      if (picture.ground) fieldNames.isolines(sheet, this.linesOf(picture.ground));
      fieldNames.around(sheet, false);
      fieldNames.around(sheet, true);
      if (!asked) fieldNames.tunnels(sheet, false);
      fieldNames.heights(sheet);
      return labels;
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
      const { left, right, bottom } = this.covered;
      Object.assign(this.corner.style, { width: `${width}px`, height: `${height}px`, left: `${left + 12}px`, bottom: `${bottom + 6}px` });
      const ctx = /** @type {CanvasRenderingContext2D} */ (this.corner.getContext("2d"));
      ctx.setTransform(ratio, 0, 0, ratio, 0, 0);
      ctx.clearRect(0, 0, width, height);
      this.cornerWidth = 16 + fieldFurniture.paint(ctx, this.palette, this.data, scale, 8, height - 16, this.map.getSize().x - left - right);
    }

    // ---- The window

    /** @param {Box} box @param {number} most pixels to a metre @param {boolean} animate */
    fit([west, south, east, north], most, animate) {
      const bounds = L.latLngBounds([this.frame.latLng(west, south), this.frame.latLng(east, north)]);
      const { left, top, right, bottom } = this.covered;
      const margin = this.map.getSize().x < 600 ? MARGIN_PHONE_PX : MARGIN_PX;
      this.map.fitBounds(bounds, {
        paddingTopLeft: [left + margin, top + margin],
        paddingBottomRight: [right + margin, bottom + margin],
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
      this.fit(this.choice.metresOf(thing), GO_TO, false);
    }

    /**
     * The present picture as an address that holds it: what the window shows beside its words, fitted.
     * @param {{width: number, height: number, ratio?: number, look: LookName}} wanted
     */
    toImage({ width, height, ratio = 2, look }) {
      const { left, top, right, bottom } = this.covered;
      const size = this.map.getSize();
      const free = { width: size.x - left - right, height: size.y - top - bottom };
      const zoom = this.map.getZoom();
      const middle = this.map.latLngToContainerPoint(this.frame.latLng(0, 0)).subtract(L.point(left + free.width / 2, top + free.height / 2));
      const larger = Math.min(width / free.width, height / free.height);
      const canvas = document.createElement("canvas");
      Object.assign(canvas, { width: width * ratio, height: height * ratio });
      const view = new fieldFrame.View(this.frame.scaleAt(zoom) * larger, middle.x * larger + width / 2, middle.y * larger + height / 2, width, height, ratio);
      const ctx = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
      const palette = new fieldPalette.Palette(this.data.looks, look);
      this.paintOn(ctx, view, palette, { left: 6, top: 6, right: width - 6, bottom: height - 6 }, [], false);
      view.inPixels(ctx);
      fieldFurniture.paint(ctx, palette, this.data, view.scale, 16, height - 16, width);
      return canvas.toDataURL("image/png");
    }
  }

  /**
   * Draws a place on a map of Leaflet.
   * @param {L.Map} map @param {Scene} scene @param {FieldChoices} [given]
   */
  function on(map, scene, given = {}) {
    const field = new Field(map, scene, given);
    return Object.freeze({
      ready: field.ground.ready,
      /** Reads a picture of the ground that is not asked for yet. @param {string} uri */
      read: (uri) => field.ground.read(uri),
      /** @param {Picture} picture */
      show(picture) {
        field.picture = picture;
        field.paintNow();
      },
      choose: (/** @type {FieldThing | null} */ thing) => field.choose(thing),
      at: (/** @type {{lat: number, lng: number}} */ latlng) => field.choice.at(latlng),
      /** @param {(thing: FieldThing | null) => void} fn */
      onChoose(fn) {
        field.onChosen.push(fn);
      },
      /** @param {() => void} fn */
      onMove(fn) {
        field.onMoved.push(fn);
      },
      /** Signs on the map, each time that it is painted. @param {(signs: {drawn: string[], nameless: string[]}) => void} fn */
      onSigns(fn) {
        field.onSigns.push(fn);
      },
      /** What numbers on the map stand for, each time that it is painted. @param {(keyed: {n: number, text: string}[]) => void} fn */
      onKey(fn) {
        field.onKeyed.push(fn);
      },
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
      /** Where no word is to lie. @param {PixelBox[]} boxes */
      keepOff(...boxes) {
        field.kept = boxes.filter(Boolean);
        field.request();
      },
      whole: () => field.whole(),
      goTo: (/** @type {FieldThing} */ thing) => field.goTo(thing),
      words: () => field.wordsInWindow(),
      cardOf: (/** @type {FieldThing} */ { kind, index }) => (kind === "thing" ? scene.things[index].card ?? [] : []),
      outlining: (/** @type {string} */ kind, /** @type {FieldThing} */ thing) => field.choice.outlining(kind, field.picture.extras ?? [], thing),
      boxOf: (/** @type {FieldThing} */ thing) => field.choice.boxOf(thing),
      leaderEnd: (/** @type {FieldThing} */ thing) => field.choice.leaderEnd(thing, field.covered),
      freeSpot: (/** @type {number} */ width, /** @type {number} */ height, /** @type {FieldThing} */ thing) =>
        field.choice.freeSpot(width, height, thing, field.covered, field.kept),
      find: (/** @type {string} */ text) => field.choice.find(text),
      swatch: (/** @type {string} */ name, /** @type {number} */ width, /** @type {number} */ height) =>
        fieldSwatches.swatch(name, width, height, field.palette),
      toImage: (/** @type {{width: number, height: number, ratio?: number, look: LookName}} */ wanted) => field.toImage(wanted),
      signs: () => field.signs(),
      repaint: () => field.paintNow(),
      /** Begins to paint, where it was made asleep. */
      wake() {
        field.isAsleep = false;
        field.paintNow();
      },
      bed: (/** @type {number} */ index) => field.choice.thing("bed", index),
    });
  }

  return Object.freeze({ on });
})();
