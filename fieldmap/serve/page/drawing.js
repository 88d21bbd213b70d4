// What is drawn, as shapes that can be seen, touched and reached by keys.
"use strict";

const fieldDrawing = (() => {
  const SVG = "http://www.w3.org/2000/svg";
  const LEAST_STROKE_PX = 4.2;
  const LEAST_CROWN_PX = 9; // narrower rows are a line
  const MOST_CROWNS = 400; // of one edge
  const MOST_LEAF_PX = 3.4; // from the middle of a leaf of a hedge
  const MOST_LEAVES = 500; // of one row
  const CLOSEST = 40; // pixels a metre
  const FARTHEST = 0.05;

  /** @param {string} tag @param {Record<string, any>} [given] @param {...Node} inside */
  function svg(tag, given = {}, ...inside) {
    const made = document.createElementNS(SVG, tag);
    for (const [name, value] of Object.entries(given)) if (value !== null && value !== undefined) made.setAttribute(name, String(value));
    made.append(...inside);
    return made;
  }

  /**
   * The ground with what is drawn on it, in an element of the page.
   * @param {HTMLElement} holder
   * @param {ReturnType<typeof fieldGround.of>} ground
   * @param {{north: string, length: (metres: number) => string}} words
   */
  function on(holder, ground, words) {
    const canvas = document.createElement("canvas");
    canvas.setAttribute("aria-hidden", "true");
    const layer = svg("svg", { class: "things" });
    holder.append(canvas, layer);
    let middle = [0, 0];
    let scale = 2;
    let asked = false;
    /** Left out at the side of the words, so that what is drawn is not under them. */
    let covered = { left: 0, top: 0, bottom: 0 };
    /** @type {(view: View) => Element[]} */
    let scene = () => [];
    /** @type {(context: CanvasRenderingContext2D, view: View) => void} */
    let over = () => {};

    /** @returns {View} */
    function view() {
      const { clientWidth: width, clientHeight: height } = holder;
      const x = covered.left + (width - covered.left) / 2;
      const y = covered.top + (height - covered.top - covered.bottom) / 2;
      return {
        scale,
        width,
        height,
        px: ([east, north]) => [x + (east - middle[0]) * scale, y - (north - middle[1]) * scale],
        metres: (px) => [middle[0] + (px[0] - x) / scale, middle[1] - (px[1] - y) / scale],
        room: [covered.left + 8, covered.top + 4, width - 4, height - covered.bottom - 4],
      };
    }

    function paint() {
      asked = false;
      const seen = view();
      const dense = window.devicePixelRatio || 1;
      if (canvas.width !== Math.round(seen.width * dense) || canvas.height !== Math.round(seen.height * dense)) {
        [canvas.width, canvas.height] = [Math.round(seen.width * dense), Math.round(seen.height * dense)];
      }
      const context = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
      context.setTransform(dense, 0, 0, dense, 0, 0);
      ground.draw(context, seen);
      over(context, seen);
      const had = /** @type {HTMLElement|null} */ (document.activeElement);
      const uid = had && layer.contains(had) ? had.dataset.uid : null;
      layer.setAttribute("viewBox", `0 0 ${seen.width} ${seen.height}`);
      layer.replaceChildren(...scene(seen), furniture(seen));
      if (uid) /** @type {HTMLElement|null} */ (layer.querySelector(`[data-uid="${uid}"]`))?.focus({ preventScroll: true });
    }

    /** Scale bar and north. @param {View} seen */
    function furniture(seen) {
      const wanted = 90 / seen.scale;
      const power = 10 ** Math.floor(Math.log10(wanted));
      const size = power * ([5, 2, 1].find((each) => each * power <= wanted) || 1);
      const [x, y] = [covered.left + 24, seen.height - covered.bottom - 26];
      const end = x + size * seen.scale;
      return svg(
        "g",
        { class: "furniture", "aria-hidden": "true" },
        svg("path", { d: `M${x} ${y - 6}V${y}H${end}V${y - 6}` }),
        text(words.length(size), end + 8, y, "small"),
        svg("path", { class: "north", d: `M${end + 70} ${y + 4}l7 -24l7 24l-7 -6z` }),
        text(words.north, end + 88, y + 2, "small"),
      );
    }

    /** Where no name may stand, as left, top, right and bottom: the scale, and the words above. @param {View} seen */
    function reserved({ room: [left, , , bottom] }) {
      const top = document.getElementById("top")?.getBoundingClientRect();
      const scaleBar = [left, bottom - 54, left + 232, bottom + 4];
      return top ? [scaleBar, [top.left - 6, top.top, top.right, top.bottom]] : [scaleBar];
    }

    const api = {
      layer,
      reserved,
      view,
      repaint() {
        if (!asked) requestAnimationFrame(paint);
        asked = true;
      },
      /** @param {(view: View) => Element[]} draw */
      show(draw) {
        scene = draw;
        api.repaint();
      },
      /** @param {typeof over} draw */
      tint(draw) {
        over = draw;
        api.repaint();
      },
      /** @param {typeof covered} by */
      cover(by) {
        covered = by;
        api.repaint();
      },
      /** @param {number} dx @param {number} dy pixels */
      pan(dx, dy) {
        middle = [middle[0] - dx / scale, middle[1] + dy / scale];
        api.repaint();
      },
      /** @param {number} by @param {number[]} [px] that stays where it is */
      zoom(by, px) {
        const seen = view();
        const at = px || [covered.left + (seen.width - covered.left) / 2, covered.top + (seen.height - covered.top - covered.bottom) / 2];
        const [east, north] = seen.metres(at);
        const next = Math.min(CLOSEST, Math.max(FARTHEST, scale * by));
        middle = [east + ((middle[0] - east) * scale) / next, north + ((middle[1] - north) * scale) / next];
        scale = next;
        api.repaint();
      },
      /** @param {number[][]} points metres that are to be seen */
      fit(points) {
        const { width, height } = view();
        if (!points.length) return;
        const [east, north] = [0, 1].map((axis) => points.map((each) => each[axis]));
        const [west, most, south, top] = [Math.min(...east), Math.max(...east), Math.min(...north), Math.max(...north)];
        middle = [(west + most) / 2, (south + top) / 2];
        const wide = Math.max(60, width - covered.left - 90) / Math.max(most - west, 30);
        const high = Math.max(60, height - covered.top - covered.bottom - 90) / Math.max(top - south, 30);
        scale = Math.min(CLOSEST, Math.max(FARTHEST, Math.min(wide, high)));
        api.repaint();
      },
      get middle() {
        return middle;
      },
      get scale() {
        return scale;
      },
      /** The same part of the ground as another drawing. @param {number[]} there @param {number} by */
      look(there, by) {
        [middle, scale] = [there, by];
        api.repaint();
      },
    };
    new ResizeObserver(api.repaint).observe(holder);
    return api;
  }

  /** @param {string} said @param {number} x @param {number} y @param {string} kind */
  function text(said, x, y, kind) {
    const made = svg("text", { x, y, class: kind });
    made.textContent = said;
    return made;
  }

  /** @param {Pair[]} points @param {boolean} closed */
  const path = (points, closed) =>
    points.map(([x, y], at) => `${at ? "L" : "M"}${x.toFixed(1)} ${y.toFixed(1)}`).join("") + (closed ? "Z" : "");

  /**
   * One thing as it looks: its paths in pixels.
   * @param {string} kind @param {{points: Pair[], closed: boolean}[]} paths
   * @param {{width_m: number|null, scale: number}} size
   * @returns {Element[]}
   */
  function look(kind, paths, { width_m, scale }) {
    const drawn = paths.map(({ points, closed }) => path(points, closed)).join("");
    const isPoint = paths.every(({ points }) => points.length === 1);
    if (isPoint) return paths.map(({ points }) => sign(kind, points[0], (width_m || 0) * scale));
    const closed = paths.some((each) => each.closed);
    const wide = Math.max(LEAST_STROKE_PX, (width_m || 0) * scale);
    const plain = svg("path", { d: drawn, class: `body ${kind.replace(" ", "-")} ${closed ? "area" : "line"}`, "fill-rule": "evenodd" });
    if (kind === "hedge" && (closed || wide > LEAST_STROKE_PX)) return [closed ? plain : stroke(plain, 0.75 * wide), ...leaves(paths, closed ? LEAST_STROKE_PX : wide)];
    if (closed) return [plain];
    if (kind === "road") return [stroke(svg("path", { d: drawn, class: "road-edge" }), wide + 2), stroke(plain, wide)];
    if (kind === "overhead line" || kind === "fence") return [stroke(plain, 1.1), ...ticks(paths, kind)];
    if (kind === "trees" && wide >= LEAST_CROWN_PX) return [stroke(plain, wide / 3), svg("path", { d: crowns(paths, wide / 2), class: "body tree" })];
    return [stroke(plain, wide)];
  }

  /** Round crowns along a row. @param {{points: Pair[]}[]} paths @param {number} radius */
  function crowns(paths, radius) {
    let drawn = "";
    for (const { points } of paths) {
      for (let at = 1; at < points.length; at += 1) {
        const [one, two] = [points[at - 1], points[at]];
        const count = Math.min(MOST_CROWNS, Math.max(1, Math.round(fieldPlace.apart(one, two) / (1.7 * radius))));
        for (let number = 0; number < count; number += 1) {
          const [x, y] = [0, 1].map((axis) => one[axis] + ((number + 0.5) / count) * (two[axis] - one[axis]));
          drawn += `M${(x - radius).toFixed(1)} ${y.toFixed(1)}a${radius} ${radius} 0 1 0 ${2 * radius} 0a${radius} ${radius} 0 1 0 ${-2 * radius} 0`;
        }
      }
    }
    return drawn;
  }

  /** Leaves along both sides of a hedge, and lighter ones within. @param {{points: Pair[], closed: boolean}[]} paths @param {number} wide */
  function leaves(paths, wide) {
    const radius = Math.min(MOST_LEAF_PX, Math.max(1.4, wide / 5));
    const drawn = ["", ""];
    for (const { points, closed } of paths) {
      const size = fieldPlace.length(points, closed);
      const ring = closed ? [...points, points[0]] : points;
      const every = Math.max(1.5 * radius, size / MOST_LEAVES);
      for (let [far, number] = [0, 0]; far < size; [far, number] = [far + every, number + 1]) {
        const [at, next] = [fieldPlace.along(ring, far), fieldPlace.along(ring, Math.min(size, far + 1))];
        const way = fieldPlace.apart(at, next) || 1;
        // Out by turns to this side and that, never twice as far: a row of leaves is not ruled.
        const side = (number % 2 ? 1 : -1) * (0.5 * wide - radius * (0.6 + 0.35 * ((number * 7) % 3)));
        const [x, y] = [at[0] - ((next[1] - at[1]) / way) * side, at[1] + ((next[0] - at[0]) / way) * side];
        drawn[number % 3 ? 0 : 1] += `M${(x - radius).toFixed(1)} ${y.toFixed(1)}a${radius.toFixed(1)} ${radius.toFixed(1)} 0 1 0 ${(2 * radius).toFixed(1)} 0a${radius.toFixed(1)} ${radius.toFixed(1)} 0 1 0 ${(-2 * radius).toFixed(1)} 0`;
      }
    }
    return [svg("path", { d: drawn[0], class: "leaves" }), svg("path", { d: drawn[1], class: "leaves light" })];
  }

  /** @param {SVGElement} element @param {number} width */
  function stroke(element, width) {
    element.style.strokeWidth = `${width.toFixed(1)}px`; // before any rule of the style sheet
    return element;
  }

  /** Cross ticks along a line. @param {{points: Pair[]}[]} paths @param {string} kind */
  function ticks(paths, kind) {
    const every = kind === "fence" ? 14 : 60;
    let drawn = "";
    for (const { points } of paths) {
      for (let at = 1; at < points.length; at += 1) {
        const [one, two] = [points[at - 1], points[at]];
        const size = fieldPlace.apart(one, two);
        for (let passed = every / 2; passed < size; passed += every) {
          const [x, y] = [0, 1].map((axis) => one[axis] + (passed / size) * (two[axis] - one[axis]));
          const [dx, dy] = [((two[1] - one[1]) / size) * 4, (-(two[0] - one[0]) / size) * 4];
          drawn += `M${(x - dx).toFixed(1)} ${(y - dy).toFixed(1)}L${(x + dx).toFixed(1)} ${(y + dy).toFixed(1)}`;
        }
      }
    }
    return drawn ? [svg("path", { d: drawn, class: `ticks ${kind.replace(" ", "-")}` })] : [];
  }

  /** A thing of one place. @param {string} kind @param {Pair} at @param {number} wide */
  function sign(kind, [x, y], wide) {
    const name = `body point ${kind.replace(" ", "-")}`;
    if (kind === "water point") return svg("path", { class: name, d: `M${x} ${y - 8}c4 6 5 7 5 10a5 5 0 0 1 -10 0c0 -3 1 -4 5 -10z` });
    if (kind === "gate") return svg("path", { class: name, d: `M${x - 5} ${y - 7}v14M${x + 5} ${y - 7}v14M${x - 5} ${y}h10` });
    if (kind === "unknown") return svg("g", {}, svg("circle", { class: name, cx: x, cy: y, r: 11 }), text("?", x - 3.5, y + 5, "small strong"));
    return svg("circle", { class: name, cx: x, cy: y, r: Math.max(5, wide / 2) });
  }

  return Object.freeze({ on, svg, text, path, look });
})();
