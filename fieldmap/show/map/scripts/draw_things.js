"use strict";
/** What stands and lies on the ground, plots and tunnels, each with its own drawing. */
const fieldThings = (() => {
  const PLOT_PX = 1.3;
  const LEAST_HEDGE_PX = 4.2;
  const SMALL_FROM = 2.2; // pixels to a metre, from which gates and taps are drawn
  const WHOLE_PX = 24; // width of a tunnel, under which its dashes are shorter
  const BOW_M = 2.0; // between lines on a tunnel's roof
  const PLANNED = [6, 3.5]; // dashes around what is not built yet
  const HATCH_PX = 7;
  const ASIDE_PX = 9; // radius of a question mark's ring
  const RING_PX = 18; // radius around what is smaller
  const GROUP_PAPER = 0.5; // of paper under places that are chosen together
  const POST_EVERY_PX = 34; // along an overhead line

  /** @param {Thing} thing @returns {FieldShape} */
  function shape(thing) {
    const rings = fieldFrame.lines(thing.lines);
    const all = rings.flatMap((ring) => [...ring]);
    const path = new Path2D();
    fieldFrame.trace(path, rings, thing.form === "area");
    return {
      ...thing,
      evergreen: Boolean(thing.evergreen),
      rings,
      box: fieldFrame.boundsOf(all),
      path,
      crowns: thing.crowns ? fieldFrame.floats(thing.crowns) : null,
      wide: rings.length ? width(rings[0]) : 0,
    };
  }

  /** Mean width of a long outline. @param {ArrayLike<number>} ring */
  function width(ring) {
    let twice = 0;
    let round = 0;
    for (let at = 2; at < ring.length; at += 2) {
      twice += ring[at - 2] * ring[at + 1] - ring[at] * ring[at - 1];
      round += Math.hypot(ring[at] - ring[at - 2], ring[at + 1] - ring[at - 1]);
    }
    return round ? Math.abs(twice) / (round / 2) : 0;
  }

  /** @param {FieldBrush} brush @param {Path2D} path @param {string} colour @param {number} px @param {number[]} [dashes] */
  function line({ ctx, view }, path, colour, px, dashes = []) {
    view.inMetres(ctx);
    ctx.strokeStyle = colour;
    ctx.lineWidth = px / view.scale;
    ctx.setLineDash(dashes.map((dash) => dash / view.scale));
    ctx.stroke(path);
    ctx.setLineDash([]);
  }

  /** @param {FieldBrush} brush @param {Path2D} path @param {string} colour */
  function fill({ ctx, view }, path, colour) {
    view.inMetres(ctx);
    ctx.fillStyle = colour;
    ctx.fill(path, "evenodd");
  }

  /** Slanting lines inside an outline. @param {FieldBrush} brush @param {FieldShape} thing @param {string} colour @param {boolean} crossed whether lines slant both ways */
  function hatch({ ctx, view }, thing, colour, crossed = false) {
    view.inMetres(ctx);
    ctx.save();
    ctx.clip(thing.path, "evenodd");
    const [west, south, east, north] = thing.box;
    const path = new Path2D();
    const gap = HATCH_PX / view.scale;
    for (let at = Math.floor((west - (north - south)) / gap) * gap; at < east; at += gap) {
      path.moveTo(at, south);
      path.lineTo(at + (north - south), north);
      if (!crossed) continue;
      path.moveTo(at, north);
      path.lineTo(at + (north - south), south);
    }
    ctx.strokeStyle = colour;
    ctx.lineWidth = 0.8 / view.scale;
    ctx.stroke(path);
    ctx.restore();
  }

  /** Crowns with a little light and shade each. @param {FieldBrush} brush @param {FieldShape} thing @param {string} leaf @param {string} rim */
  function crowns({ ctx, view, palette, colours }, thing, leaf, rim) {
    view.inPixels(ctx);
    const least = LEAST_HEDGE_PX / 2;
    const found = [];
    const [west, south, east, north] = view.seen;
    const every = /** @type {Float32Array} */ (thing.crowns);
    for (let at = 0; at < every.length; at += 3) {
      const [x, y, r] = [every[at], every[at + 1], every[at + 2]];
      if (x + r < west || x - r > east || y + r < south || y - r > north) continue;
      found.push([view.x(x), view.y(y), Math.max(least * (r / (thing.wide / 2 || r)), r * view.scale)]);
    }
    const shadow = new Path2D();
    for (const [x, y, r] of found) {
      shadow.moveTo(x + r * 1.35, y + r * 0.35);
      shadow.arc(x + r * 0.35, y + r * 0.35, r, 0, 2 * Math.PI);
    }
    ctx.fillStyle = fieldPalette.clear(palette.dark ? "#000000" : colours.ink, 0.22);
    ctx.fill(shadow);
    const shine = fieldPalette.mixed(leaf, palette.dark ? colours.ink : colours.paper, 0.34);
    for (const [x, y, r] of found) {
      ctx.beginPath();
      ctx.arc(x, y, r, 0, 2 * Math.PI);
      ctx.fillStyle = leaf;
      ctx.fill();
      ctx.strokeStyle = rim;
      ctx.lineWidth = Math.min(1, 0.3 + r / 10);
      ctx.stroke();
      if (r > 3) {
        ctx.beginPath();
        ctx.arc(x - r * 0.28, y - r * 0.3, r * 0.42, 0, 2 * Math.PI);
        ctx.fillStyle = shine;
        ctx.fill();
      }
    }
  }

  /** A needle tree: a star. @param {FieldBrush} brush @param {FieldShape} thing */
  function star({ ctx, view, palette, colours }, thing) {
    const [west, south, east, north] = thing.box;
    const [x, y] = [view.x((west + east) / 2), view.y((south + north) / 2)];
    const r = Math.max(5, ((east - west + north - south) / 4 || 2) * view.scale);
    view.inPixels(ctx);
    for (const [dx, dy, colour] of [[r * 0.3, r * 0.3, fieldPalette.clear(palette.dark ? "#000000" : colours.ink, 0.25)], [0, 0, colours.hedge]]) {
      ctx.beginPath();
      for (let at = 0; at < 18; at += 1) {
        const far = at % 2 ? 0.62 * r : r;
        const turn = (at * Math.PI) / 9;
        ctx.lineTo(x + Number(dx) + far * Math.sin(turn), y + Number(dy) - far * Math.cos(turn));
      }
      ctx.closePath();
      ctx.fillStyle = String(colour);
      ctx.fill();
    }
    ctx.beginPath();
    ctx.arc(x, y, Math.max(1.2, r * 0.14), 0, 2 * Math.PI);
    ctx.fillStyle = colours.paper;
    ctx.fill();
  }

  /** @param {FieldBrush} brush @param {FieldShape} thing */
  function leafy(brush, thing) {
    const { colours, view } = brush;
    const [leaf, rim] = thing.kind === "hedge" ? [colours.hedge, colours.hedge_ink] : [colours.tree, colours.tree_ink];
    if (thing.kind === "tree" && thing.evergreen) {
      star(brush, thing);
    } else if (thing.form === "point") {
      const [x, y] = thing.rings[0];
      crowns(brush, { ...thing, crowns: Float32Array.of(x, y, 2), wide: 4 }, leaf, rim);
    } else if (thing.form === "area" && thing.crowns && thing.wide * view.scale > 1.5) {
      crowns(brush, thing, leaf, rim);
    } else {
      line(brush, thing.path, leaf, LEAST_HEDGE_PX);
      if (thing.form === "area") fill(brush, thing.path, leaf);
    }
  }

  /** A roof of two halves with the shadow of its eaves. @param {FieldBrush} brush @param {FieldShape} thing */
  function building(brush, thing) {
    const { ctx, view, palette, colours } = brush;
    if (thing.form !== "area") {
      line(brush, thing.path, colours.roof, 5);
      return;
    }
    ctx.save();
    view.inMetres(ctx);
    ctx.translate(3 / view.scale, -3 / view.scale);
    ctx.fillStyle = fieldPalette.clear(palette.dark ? "#000000" : colours.ink, 0.25);
    ctx.fill(thing.path, "evenodd");
    ctx.restore();
    fill(brush, thing.path, colours.roof);
    const ring = thing.rings[0];
    if (ring.length === 10) {
      const at = (/** @type {number} */ corner) => [ring[2 * (corner % 4)], ring[2 * (corner % 4) + 1]];
      const [a, b, c, d] = [0, 1, 2, 3].map((corner) => {
        const long = Math.hypot(ring[2] - ring[0], ring[3] - ring[1]) >= Math.hypot(ring[4] - ring[2], ring[5] - ring[3]);
        return at(corner + (long ? 0 : 1));
      });
      const half = new Path2D();
      const [m1, m2] = [[(b[0] + c[0]) / 2, (b[1] + c[1]) / 2], [(a[0] + d[0]) / 2, (a[1] + d[1]) / 2]];
      // The half that faces away from the light in the north-west.
      const [p, q] = a[1] - a[0] + b[1] - b[0] < c[1] - c[0] + d[1] - d[0] ? [a, b] : [d, c];
      fieldFrame.trace(half, [[...p, ...q, ...m1, ...m2]], true);
      fill(brush, half, fieldPalette.mixed(colours.roof, "#000000", 0.22));
    }
    line(brush, thing.path, colours.ink, 0.9);
  }

  /** @param {FieldBrush} brush @param {FieldShape} thing */
  function overhead({ ctx, view, colours }, thing) {
    view.inPixels(ctx);
    ctx.strokeStyle = colours.wire;
    ctx.lineWidth = 1.1;
    ctx.beginPath();
    for (const ring of thing.rings) {
      let next = POST_EVERY_PX / 2;
      for (let at = 2; at < ring.length; at += 2) {
        const [x1, y1] = [view.x(ring[at - 2]), view.y(ring[at - 1])];
        const [x2, y2] = [view.x(ring[at]), view.y(ring[at + 1])];
        const long = Math.hypot(x2 - x1, y2 - y1) || 1;
        ctx.moveTo(x1, y1);
        ctx.lineTo(x2, y2);
        const every = Math.max(POST_EVERY_PX, 12 * view.scale);
        for (; next < long; next += every) {
          const [x, y] = [x1 + ((x2 - x1) * next) / long, y1 + ((y2 - y1) * next) / long];
          const [nx, ny] = [(-(y2 - y1) / long) * 5, ((x2 - x1) / long) * 5];
          ctx.moveTo(x - nx, y - ny);
          ctx.lineTo(x + nx, y + ny);
        }
        next -= long;
      }
    }
    ctx.stroke();
  }

  /** @param {FieldBrush} brush @param {FieldShape} thing */
  function track(brush, thing) {
    const { colours, palette } = brush;
    const rim = palette.dark ? colours.soft : fieldPalette.mixed(colours.contour, colours.paper, 0.35);
    if (thing.form === "area") {
      line(brush, thing.path, rim, 2);
      fill(brush, thing.path, colours.track);
      line(brush, thing.path, colours.track, 0.8);
    } else {
      const wide = Math.max(4, 3 * brush.view.scale);
      line(brush, thing.path, rim, wide + 1.6);
      line(brush, thing.path, colours.track, wide);
    }
  }

  /** @param {FieldBrush} brush @param {FieldShape} thing */
  function water(brush, thing) {
    const { colours, view } = brush;
    if (thing.form === "area") {
      line(brush, thing.path, colours.water_ink, 1.6);
      fill(brush, thing.path, colours.water);
    } else {
      const wide = Math.max(2.5, 1.5 * view.scale);
      line(brush, thing.path, colours.water_ink, wide + 1.4);
      line(brush, thing.path, colours.water, wide);
    }
  }

  /** @param {FieldShape} thing @param {FieldView} view */
  function spot(thing, view) {
    const [west, south, east, north] = thing.box;
    return [view.x((west + east) / 2), view.y((south + north) / 2)];
  }

  /** @param {FieldBrush} brush @param {FieldShape} thing */
  function drop({ ctx, view, colours }, thing) {
    const [x, y] = spot(thing, view);
    view.inPixels(ctx);
    ctx.beginPath();
    ctx.moveTo(x, y - 8);
    ctx.bezierCurveTo(x + 2, y - 3, x + 5, y - 1, x + 5, y + 2.4);
    ctx.arc(x, y + 2.4, 5, 0, Math.PI);
    ctx.bezierCurveTo(x - 5, y - 1, x - 2, y - 3, x, y - 8);
    ctx.fillStyle = colours.water_ink;
    ctx.strokeStyle = colours.paper;
    ctx.lineWidth = 1.2;
    ctx.fill();
    ctx.stroke();
  }

  /** Two posts and the bar between them, across the way in. @param {FieldBrush} brush @param {FieldShape} thing @param {FieldShape[]} plots */
  function gate({ ctx, view, colours }, thing, plots) {
    const [x, y] = spot(thing, view);
    const turn = edgeTurn(thing, plots);
    view.inPixels(ctx);
    ctx.save();
    ctx.translate(x, y);
    ctx.rotate(turn);
    for (const [colour, px] of [[colours.paper, 4], [colours.ink, 2]]) {
      ctx.strokeStyle = String(colour);
      ctx.lineWidth = Number(px);
      ctx.beginPath();
      ctx.moveTo(-6, -4);
      ctx.lineTo(-6, 4);
      ctx.moveTo(6, -4);
      ctx.lineTo(6, 4);
      ctx.moveTo(-6, 0);
      ctx.lineTo(6, 0);
      ctx.stroke();
    }
    ctx.restore();
  }

  /** Direction, on a screen, of the edge of a plot that is nearest. @param {FieldShape} thing @param {FieldShape[]} plots */
  function edgeTurn(thing, plots) {
    const [east, north] = [(thing.box[0] + thing.box[2]) / 2, (thing.box[1] + thing.box[3]) / 2];
    let [least, turn] = [Infinity, 0];
    for (const { rings } of plots) {
      for (const ring of rings) {
        for (let at = 2; at < ring.length; at += 2) {
          const [x1, y1, x2, y2] = [ring[at - 2], ring[at - 1], ring[at], ring[at + 1]];
          const long = Math.hypot(x2 - x1, y2 - y1) || 1;
          const along = Math.min(1, Math.max(0, ((east - x1) * (x2 - x1) + (north - y1) * (y2 - y1)) / long / long));
          const off = Math.hypot(x1 + (x2 - x1) * along - east, y1 + (y2 - y1) * along - north);
          if (off < least) [least, turn] = [off, -Math.atan2(y2 - y1, x2 - x1)];
        }
      }
    }
    return turn;
  }

  /** @param {FieldBrush} brush @param {FieldShape} thing @param {FieldShape[]} plots */
  function drawThing(brush, thing, plots) {
    const { colours, view } = brush;
    switch (thing.kind) {
      case "hedge":
      case "tree":
      case "trees":
        return leafy(brush, thing);
      case "building":
        return building(brush, thing);
      case "water":
        return water(brush, thing);
      case "road":
        return track(brush, thing);
      case "overhead line":
        return overhead(brush, thing);
      case "keep off":
        hatch(brush, thing, fieldPalette.clear(colours.soft, 0.7));
        return line(brush, thing.path, colours.soft, 1.1, [5, 4]);
      case "wall":
        if (thing.form === "area") fill(brush, thing.path, colours.soft);
        return line(brush, thing.path, colours.soft, 2.4);
      case "fence":
        line(brush, thing.path, colours.soft, 1);
        return line(brush, thing.path, colours.soft, 4, [1.2, 9]);
      case "bank":
        fill(brush, thing.path, fieldPalette.clear(colours.contour, 0.35));
        return line(brush, thing.path, colours.contour, 1.2);
      case "water point":
        return view.scale >= SMALL_FROM / 2 ? drop(brush, thing) : undefined;
      case "gate":
        return gate(brush, thing, plots);
      case "aside":
        return aside(brush, thing);
      default: {
        if (thing.form !== "point") return line(brush, thing.path, colours.ink, 1.5);
        const [x, y] = spot(thing, view);
        view.inPixels(brush.ctx);
        brush.ctx.fillStyle = colours.ink;
        return brush.ctx.fillRect(x - 2.5, y - 2.5, 5, 5);
      }
    }
  }

  /** What is not counted: in dashes, with a question mark. @param {FieldBrush} brush @param {FieldShape} thing */
  function aside(brush, thing) {
    const { ctx, view, palette, colours } = brush;
    line(brush, thing.path, palette.colours.paper, 3.4);
    line(brush, thing.path, colours.ink, 1.6, [5, 4]);
    const [x, y] = spot(thing, view);
    view.inPixels(ctx);
    ctx.beginPath();
    ctx.arc(x, y, ASIDE_PX, 0, 2 * Math.PI);
    ctx.fillStyle = palette.colours.paper;
    ctx.strokeStyle = colours.ink;
    ctx.lineWidth = 1.4;
    ctx.setLineDash([2.5, 2]);
    ctx.fill();
    ctx.stroke();
    ctx.setLineDash([]);
    ctx.font = fieldLabels.FONTS.chosen;
    ctx.textAlign = "center";
    ctx.textBaseline = "middle";
    ctx.fillStyle = colours.ink;
    ctx.fillText("?", x, y + 1);
  }

  /** A walk-in tunnel that is planned: its film, the bows on its roof, and an edge in dashes. @param {FieldBrush} brush @param {FieldShape} tunnel @param {boolean} shaded whether shade cloth goes over it */
  function drawTunnel(brush, tunnel, shaded) {
    const { colours, palette, view } = brush;
    const [a, b, c, d] = [0, 1, 2, 3].map((at) => [tunnel.rings[0][2 * at], tunnel.rings[0][2 * at + 1]]);
    const long = Math.hypot(c[0] - b[0], c[1] - b[1]);
    const count = Math.max(2, Math.round(Math.min(long / BOW_M, (long * view.scale) / 6)));
    fill(brush, tunnel.path, palette.dark ? colours.inside : colours.paper);
    const bows = new Path2D();
    for (let bow = 1; bow < count; bow += 1) {
      const share = bow / count;
      bows.moveTo(a[0] + (d[0] - a[0]) * share, a[1] + (d[1] - a[1]) * share);
      bows.lineTo(b[0] + (c[0] - b[0]) * share, b[1] + (c[1] - b[1]) * share);
    }
    line(brush, bows, colours.soft, view.scale > 4 ? 0.8 : 1);
    if (shaded) hatch(brush, tunnel, colours.ink, true);
    // From afar dashes as long as a side would be bits: they are as much shorter.
    const wide = Math.hypot(b[0] - a[0], b[1] - a[1]) * view.scale;
    const part = Math.min(1, Math.min(wide, long * view.scale) / WHOLE_PX);
    line(brush, tunnel.path, colours.ink, part < 1 ? 1.3 : 1.6, PLANNED.map((px) => px * part));
  }

  /** A dashed ring around a change that is too small to be seen. @param {FieldBrush} brush @param {FieldShape} thing */
  function ring({ ctx, view, palette, colours }, thing) {
    const [west, south, east, north] = thing.box;
    const r = (Math.hypot(east - west, north - south) / 2) * view.scale + 6;
    if (r > RING_PX) return;
    view.inPixels(ctx);
    ctx.beginPath();
    ctx.arc(view.x((west + east) / 2), view.y((south + north) / 2), RING_PX, 0, 2 * Math.PI);
    for (const [colour, px] of [[palette.colours.paper, 4], [colours.ink, 1.8]]) {
      ctx.strokeStyle = String(colour);
      ctx.lineWidth = Number(px);
      ctx.setLineDash([8, 4]);
      ctx.stroke();
    }
    ctx.setLineDash([]);
  }

  /** Outlines that belong to a question. @param {FieldBrush} brush @param {FieldShape} thing */
  function drawMarked(brush, thing) {
    const { colours, palette } = brush;
    if (thing.kind === "gone" || thing.kind === "new") ring(brush, thing);
    const { pocket, shadow, drain, choice } = fieldPalette.marks(palette);
    const along = (/** @type {{colour: string, px: number, dashes: number[]}} */ { colour, px, dashes }) => line(brush, thing.path, colour, px, dashes);
    switch (thing.kind) {
      case "pocket":
        return along(pocket);
      case "mark":
        line(brush, thing.path, colours.paper, 3.4);
        return line(brush, thing.path, colours.ink, 2.2, [2, 3]);
      case "wet":
      case "steepest":
        line(brush, thing.path, colours.paper, 4.6);
        return line(brush, thing.path, colours.ink, 2.2);
      case "gone":
        hatch(brush, thing, colours.ink);
        line(brush, thing.path, colours.paper, 4);
        return line(brush, thing.path, colours.ink, 1.8, [3, 4]);
      case "new":
        line(brush, thing.path, colours.paper, 5);
        return line(brush, thing.path, colours.ink, 2.6);
      case "shadow":
        return fill(brush, thing.path, shadow.colour);
      case "drain":
        line(brush, thing.path, colours.paper, 4.6);
        return along(drain);
      case "choice":
        line(brush, thing.path, colours.paper, 3.6);
        return along(choice);
      default:
        return line(brush, thing.path, colours.ink, 1.5, [4, 3]);
    }
  }

  /** Corners around all of some points, in their order. @param {number[][]} points @returns {number[][]} */
  function around(points) {
    const sorted = points.toSorted(([x, y], [u, v]) => x - u || y - v);
    const half = (/** @type {number[][]} */ along) => {
      /** @type {number[][]} */
      const found = [];
      for (const [x, y] of along) {
        const isInward = () => {
          const [[a, b], [c, d]] = found.slice(-2);
          return (c - a) * (y - b) - (d - b) * (x - a) <= 0;
        };
        while (found.length > 1 && isInward()) found.pop();
        found.push([x, y]);
      }
      return found.slice(0, -1);
    };
    return [...half(sorted), ...half(sorted.toReversed())];
  }

  /** A pale field under places of one name, which are chosen together. @param {FieldBrush} brush @param {FieldShape[]} places */
  function grouped(brush, places) {
    const { colours, palette } = brush;
    for (const name of new Set(places.map((place) => place.name))) {
      const own = places.filter((place) => place.name === name);
      if (own.length < 2) continue;
      const corners = own.flatMap(({ rings: [ring] }) => Array.from({ length: ring.length / 2 }, (_, at) => [ring[2 * at], ring[2 * at + 1]]));
      const path = new Path2D();
      fieldFrame.trace(path, [around(corners).flat()], true);
      fill(brush, path, fieldPalette.clear(palette.colours.paper, GROUP_PAPER));
      line(brush, path, colours.ink, 0.7);
    }
  }

  /** @param {FieldBrush} brush @param {FieldShape} plot */
  const drawPlot = (brush, plot) => line(brush, plot.path, brush.colours.ink, PLOT_PX);

  /** The sign of a thing. @param {FieldShape} thing */
  const signOf = ({ kind, evergreen }) => (kind === "tree" && evergreen ? "evergreen" : kind);

  // Kinds that run into each other from afar: seen from this scale on, in pixels to a metre.
  const CROWDED = ["choice", "shadow"];
  const CROWDED_FROM = 2.5;

  class Things {
    /** @param {Scene} scene */
    constructor(scene) {
      this.things = scene.things.map(shape);
      this.plots = scene.plots.map(shape);
      this.tunnels = scene.tunnels.map(shape);
      /** @type {Record<string, FieldShape[]>} */
      this.sets = Object.fromEntries(Object.entries(scene.sets).map(([name, things]) => [name, things.map(shape)]));
      this.pegs = fieldFrame.floats(scene.pegs);
    }

    /** Water, tracks and what else lies below all else; then the plots. @param {FieldBrush} brush @param {boolean} open whether colours of the ground show through */
    paintFlat(brush, open) {
      const standing = new Set(["hedge", "tree", "trees", "building", "wall", "fence", "bank", "overhead line", "gate", "water point", "post", "aside"]);
      for (const thing of this.things) {
        if (!standing.has(thing.kind) && this.seen(brush, thing)) drawThing(brush, thing, this.plots);
      }
      if (!open) for (const plot of this.plots) if (this.seen(brush, plot)) fill(brush, plot.path, fieldPalette.clear(brush.colours.inside, 0.85));
      this.standing = standing;
    }

    /** Lines around the plots, and what stands. @param {FieldBrush} brush @param {string[]} extras */
    paintStanding(brush, extras) {
      for (const plot of this.plots) if (this.seen(brush, plot)) drawPlot(brush, plot);
      // Other places lie under those that are chosen.
      const shown = this.shown(extras, brush.view.scale).filter((thing) => this.seen(brush, thing));
      const [others, own] = [true, false].map((isOther) => shown.filter(({ kind }) => (kind === "choice") === isOther));
      grouped(brush, others);
      for (const thing of others) drawMarked(brush, thing);
      for (const thing of own) if (thing.kind === "shadow") drawMarked(brush, thing);
      for (const tunnel of this.tunnels) if (this.seen(brush, tunnel)) drawTunnel(brush, tunnel, extras.includes(`shade-over-${tunnel.name}`));
      for (const thing of this.things) {
        if (this.standing?.has(thing.kind) && this.seen(brush, thing)) drawThing(brush, thing, this.plots);
      }
      for (const thing of own) if (thing.kind !== "shadow") drawMarked(brush, thing);
      if (extras.includes("pegs")) this.paintPegs(brush);
    }

    /** Kinds of all that a question draws, each once. @param {string[]} extras */
    kinds(extras) {
      const things = [...this.shown(extras), ...this.tunnels, ...this.plots, ...this.things];
      return [...new Set(things.map(signOf))];
    }

    /** Things of the sets that a question names, as far as they are drawn at a scale. @param {string[]} extras @param {number} [scale] */
    shown(extras, scale = Infinity) {
      return extras.flatMap((name) => this.sets[name] ?? []).filter(({ kind }) => scale >= CROWDED_FROM || !CROWDED.includes(kind));
    }

    /** @param {FieldBrush} brush @param {FieldShape} thing */
    seen({ view }, { box }) {
      const beyond = 20 / view.scale;
      return view.shows([box[0] - beyond, box[1] - beyond, box[2] + beyond, box[3] + beyond]);
    }

    /** @param {FieldBrush} brush */
    paintPegs({ ctx, view, colours }) {
      view.inPixels(ctx);
      ctx.beginPath();
      const r = view.scale >= 11 ? 4 : Math.min(2.4, Math.max(1, 0.8 * view.scale));
      for (let at = 0; at < this.pegs.length; at += 2) {
        const [x, y] = [view.x(this.pegs[at]), view.y(this.pegs[at + 1])];
        ctx.moveTo(x + r, y);
        ctx.arc(x, y, r, 0, 2 * Math.PI);
      }
      ctx.fillStyle = colours.ink;
      ctx.strokeStyle = colours.paper;
      ctx.lineWidth = r < 2 ? 0.8 : 1.5;
      ctx.stroke();
      ctx.fill();
    }
  }

  return Object.freeze({ Things, signOf, drawThing, drawMarked, drawPlot });
})();
