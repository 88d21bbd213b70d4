"use strict";
(() => {
  const data = JSON.parse(document.getElementById("fieldmap-data").textContent);
  const { map, ground, pictures } = fieldmapParts;
  const { say, units } = data;
  const byId = (id) => document.getElementById(id);
  const all = (selector) => [...document.querySelectorAll(selector)];
  const fill = (text, values) => text.replace(/\{(\w+)\}/g, (_, key) => values[key]);
  const container = map.getContainer();
  const narrow = window.matchMedia("(max-width: 760px)");

  // ---- A plan older than its season says so
  const old = byId("too-old");
  const now = new Date();
  const day = [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((n) => String(n).padStart(2, "0")).join("-");
  if (old && day > old.dataset.until) old.hidden = false;

  // ---- The map itself
  const edge = L.latLngBounds(data.edge);
  L.control.zoom({ position: "bottomright", zoomInTitle: say.zoom_in, zoomOutTitle: say.zoom_out }).addTo(map);
  L.control.scale({ metric: !units.us, imperial: units.us, maxWidth: 140 }).addTo(map);
  map.setMaxBounds(edge.pad(1));
  const showPlots = () => map.fitBounds(data.view, { padding: [24, 34], animate: false });
  // In this order: a limit set first would start a flight that ends after the fit.
  showPlots();
  map.setMinZoom(Math.min(map.getBoundsZoom(edge), map.getZoom()) - 0.5);

  // ---- Sides: a map, the question it answers now, and which of its pictures. The
  // second is made when something is first set beside the map; without a question it
  // is not shown.
  const sides = [];
  const open = () => sides.filter(({ key }) => key);
  function makeSide(map) {
    const container = map.getContainer();
    const side = { map, container, frame: container.closest(".frame"), key: null, at: 0, picture: null };
    container.setAttribute("aria-label", say.map_keys);
    container.setAttribute("role", "application");
    const labels = map.createPane("labels");
    labels.style.zIndex = 640;
    labels.style.pointerEvents = "none";
    sides.push(side);
    drawShapes(side);
    listenToPopups(side);
    walkByKeys(side);
    drawNames(side);
    drawWays(side);
    drawChanges(side);
    link(side);
    pointOn(side);
    map.on("resize", () => label(side));
    return side;
  }

  // ---- Things with an outline
  function drawShapes(side) {
    side.beds = [];
    side.byRow = {};
    side.names = [];
    side.shapes = L.geoJSON({ type: "FeatureCollection", features: data.features }, {
      // Beds are thinner than a pixel from afar: Leaflet must not simplify them away.
      smoothFactor: 0,
      renderer: L.svg({ padding: 0.6 }),
      style: ({ properties }) => ({ className: classes(properties), interactive: properties.sign !== "plot" && properties.sign !== "ridge" }),
      pointToLayer: ({ properties }, at) => L.circleMarker(at, { radius: 7, className: classes(properties) }),
      onEachFeature: ({ properties }, layer) => {
        if (properties.row) side.byRow[properties.row] = layer;
        if (properties.sign === "bed") side.beds.push(layer);
        else if (properties.name) side.names.push(layer);
        if (properties.row || properties.text) layer.bindPopup(() => story(properties, side), popupSize(side));
      },
    }).addTo(side.map);
  }

  function classes({ sign, group, mesh }) {
    return [sign, group, mesh ? "mesh" : ""].filter(Boolean).join(" ");
  }

  function popupSize({ container }) {
    // Room is left at the right for the arrow to the north.
    const width = Math.min(290, container.clientWidth - 100);
    return { maxWidth: width, minWidth: Math.min(200, width), maxHeight: Math.max(170, container.clientHeight * 0.7), autoPanPaddingTopLeft: [8, 8], autoPanPaddingBottomRight: [52, 8] };
  }

  // What a table row tells, as a popup: words stand once in the page.
  function story(properties, side) {
    const box = document.createElement("div");
    const add = (tag, text, parent = box) => {
      const element = document.createElement(tag);
      element.textContent = text;
      parent.append(element);
      return element;
    };
    box.tabIndex = 0; // a long one scrolls, by keys too
    add("h2", properties.name);
    if (!properties.row) {
      add("p", properties.text);
      return box;
    }
    const cells = [...byId(properties.row).querySelectorAll("td")];
    const why = properties.sign === "pocket" ? null : cells.pop();
    if (properties.sign === "bed") add("p", cells.shift().textContent).style.fontWeight = 700;
    if (properties.sign === "bed" && side.key === "what-if") tellChanges(properties.row, add, side.at);
    if (why && why.textContent) add("p", why.textContent);
    const list = add("dl", "");
    for (const cell of cells) {
      add("dt", cell.dataset.column, list);
      add("dd", "", list).append(...[...cell.childNodes].map((node) => node.cloneNode(true)));
    }
    if (properties.sign === "tunnel") {
      for (const note of all("#tunnels .notes li")) add("p", note.textContent);
    }
    return box;
  }

  // What each change does to a bed, the one that is looked at first. A row of the table
  // holds for its own bed and all that follow, up to that of the next row.
  function tellChanges(row, add, first) {
    const number = (id) => Number(id.slice(id.lastIndexOf("-") + 1));
    const list = add("dl", "");
    for (const at of [first, ...data.changes.keys()].filter((at, place, every) => every.indexOf(at) === place)) {
      const table = byId(`what-if-${at}`);
      const rows = [...table.querySelectorAll("tbody tr")];
      const own = rows.filter(({ dataset }) => number(dataset.shows) <= number(row)).pop();
      add("dt", table.querySelector("h2").textContent, list);
      const said = [...own.querySelectorAll("td")].map((cell) => `${cell.dataset.column}: ${cell.textContent}`);
      add("dd", said.join("; "), list);
    }
  }

  let opener = null;
  function listenToPopups({ map }) {
    map.on("popupopen", ({ popup }) => {
      const source = popup._source;
      if (source && source.getElement) source.getElement().classList.add("open");
      const close = popup.getElement().querySelector(".leaflet-popup-close-button");
      if (close) close.setAttribute("aria-label", say.close);
      if (opener) popup.getElement().querySelector("[tabindex]").focus({ preventScroll: true });
    });
    map.on("popupclose", ({ popup }) => {
      const source = popup._source;
      if (source && source.getElement && source.getElement()) source.getElement().classList.remove("open");
      if (opener && popup.getElement() && popup.getElement().contains(document.activeElement)) opener.focus({ preventScroll: true });
      opener = null;
    });
    map.getContainer().addEventListener("keydown", (event) => {
      if (event.key === "Escape") map.closePopup();
    });
  }

  // Leaflet's own middle of a long thin bed lies beside it.
  const openAt = (layer) => layer.openPopup(layer.getBounds().getCenter());

  // One bed at a time is on the way of the Tab key; arrows go on from there.
  function walkByKeys({ map, beds }) {
    beds.forEach((layer, at) => {
      const path = layer.getElement();
      path.setAttribute("role", "button");
      path.setAttribute("tabindex", at === 0 ? "0" : "-1");
      path.addEventListener("keydown", (event) => {
        const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
        const to = { Home: 0, End: beds.length - 1 }[event.key] ?? (step && (at + step + beds.length) % beds.length);
        if (event.key === "Enter" || event.key === " ") {
          opener = path;
          openAt(layer);
        } else if (to === undefined) {
          return;
        } else {
          path.setAttribute("tabindex", "-1");
          const next = beds[to].getElement();
          next.setAttribute("tabindex", "0");
          map.panInside(beds[to].getBounds().getCenter(), { padding: [40, 40], animate: false });
          next.focus({ preventScroll: true });
        }
        event.preventDefault();
        event.stopPropagation();
      });
    });
  }

  all(".find").forEach((button) => button.addEventListener("click", () => {
    const row = button.closest("tr");
    const layer = sides[0].byRow[row.dataset.shows || row.id];
    opener = button;
    container.closest(".field").scrollIntoView({ block: narrow.matches ? "start" : "nearest" });
    map.fitBounds(layer.getBounds(), { maxZoom: 19.5, padding: [60, 60], animate: false });
    openAt(layer);
  }));

  // ---- Names
  const rank = { tunnel: 0, plot: 1, pocket: 2, mark: 3 };
  function drawNames(side) {
    const { map, names } = side;
    side.bedLabels = L.layerGroup().addTo(map);
    side.nameMarkers = names
      .sort((one, other) => (rank[one.feature.properties.sign] ?? 4) - (rank[other.feature.properties.sign] ?? 4))
      .map((layer) => {
        const { sign, name, at: inside } = layer.feature.properties;
        const text = document.createElement("span");
        text.className = `name of-${sign in rank ? sign : "thing"}`;
        text.textContent = name;
        const bounds = layer.getBounds ? layer.getBounds() : L.latLngBounds([layer.getLatLng()]);
        // Small things are named above them.
        if (!inside) text.classList.add(layer.getBounds ? "above" : "over");
        const at = inside || [bounds.getNorth(), bounds.getCenter().lng];
        L.marker(at, { pane: "labels", interactive: false, keyboard: false, icon: L.divIcon({ className: "", iconSize: [0, 0], html: text }) }).addTo(map);
        return text;
      });
  }

  function metresPerPixel(map) {
    const middle = map.getCenter();
    const at = map.latLngToContainerPoint(middle);
    return map.distance(middle, map.containerPointToLatLng(at.add([100, 0]))) / 100;
  }

  function label({ map, container, key, beds, bedLabels, nameMarkers }) {
    const scale = metresPerPixel(map);
    const width = beds.length ? beds[0].feature.properties.width / scale : 0;
    container.classList.toggle("far", width < 5);
    bedLabels.clearLayers();
    if (width >= 9) {
      const view = map.getBounds();
      const order = { early: "early", shade: "shade" }[key];
      for (const layer of beds.filter((bed) => view.intersects(bed.getBounds())).slice(0, 300)) {
        const { name, bearing, [order]: place } = layer.feature.properties;
        const text = document.createElement("span");
        text.className = "on-bed";
        text.textContent = place === undefined ? name : `${place}`;
        text.style.fontSize = `${Math.min(14, width * 0.9)}px`;
        text.style.transform = `translate(-50%, -50%) rotate(${place === undefined ? bearing - 90 : 0}deg)`;
        const icon = L.divIcon({ className: "", iconSize: [0, 0], html: text });
        L.marker(layer.getBounds().getCenter(), { pane: "labels", interactive: false, keyboard: false, icon }).addTo(bedLabels);
      }
    }
    // Names that would lie over a more important one wait for a closer look.
    const taken = [];
    for (const text of nameMarkers) {
      text.classList.remove("out");
      const box = text.getBoundingClientRect();
      const over = taken.some((other) => box.left < other.right && other.left < box.right && box.top < other.bottom && other.top < box.bottom);
      if (over) text.classList.add("out");
      else taken.push(box);
    }
  }

  // ---- Where one map goes the other goes along
  let leader = null;
  function link(side) {
    const lead = () => {
      if (leader) return;
      leader = side;
      for (const other of open()) {
        if (other !== side) other.map.setView(side.map.getCenter(), side.map.getZoom(), { animate: false });
      }
      leader = null;
    };
    side.map.on("move", lead);
    side.map.on("zoomend moveend", () => {
      if (!leader) open().forEach(label);
    });
  }

  // ---- Ways that cold air runs: lines with open heads, as many as there is room for
  const HEAD_EVERY = 84; // pixels
  const HEAD = 7;
  const ROOM = 28; // pixels between lines
  const Way = L.Polyline.extend({
    _updatePath() {
      L.Polyline.prototype._updatePath.call(this);
      const inView = this._renderer._bounds;
      const heads = this._rings.map((ring) => headsAlong(ring, inView)).join("");
      this._path.setAttribute("d", this._path.getAttribute("d") + heads);
    },
  });
  // One at the lower end, the others back from it, so that they stay when the map moves.
  function headsAlong(ring, inView) {
    let heads = "";
    let next = 0;
    for (let at = ring.length - 1; at > 0; at -= 1) {
      const [to, from] = [ring[at], ring[at - 1]];
      const long = to.distanceTo(from);
      for (; next < long; next += HEAD_EVERY) {
        const tip = to.add(from.subtract(to).multiplyBy(next / long));
        if (inView.contains(tip)) {
          const back = from.subtract(to).multiplyBy(HEAD / long);
          const wing = (turn) => tip.add(L.point(back.x - turn * back.y, back.y + turn * back.x));
          const [left, right] = [wing(0.7), wing(-0.7)];
          heads += `M${left.x} ${left.y}L${tip.x} ${tip.y}L${right.x} ${right.y}`;
        }
      }
      next -= long;
    }
    return heads;
  }
  function drawWays(side) {
    const pane = side.map.createPane("ways");
    pane.style.zIndex = 450;
    pane.style.pointerEvents = "none";
    const renderer = L.svg({ pane: "ways", padding: 0.3 });
    side.ways = data.drains.map(({ spacing, lines }) => {
      const drawn = (className) => new Way(lines, { className, smoothFactor: 0.3, pane: "ways", renderer, interactive: false });
      return { spacing, layer: L.layerGroup([drawn("drain edge"), drawn("drain")]) };
    });
    side.map.on("zoomend", () => showWays(side));
  }
  function showWays(side) {
    const scale = metresPerPixel(side.map);
    side.ways.forEach(({ spacing, layer }, level) => {
      showIf(layer, side.map, side.key === "cold" && atEnd(side) && (level === 0 || spacing / scale >= ROOM));
    });
  }
  function showIf(layer, map, wanted) {
    if (wanted && !map.hasLayer(layer)) layer.addTo(map);
    if (!wanted && map.hasLayer(layer)) layer.remove();
  }

  const labelled = (className, direction) => ({ properties }, layer) => {
    layer.bindTooltip(() => document.createTextNode(properties.name), { permanent: true, direction, className });
  };

  // ---- What goes and what comes in a change of what stands around, and places for
  // tunnels that this plan does not take
  function drawChanges(side) {
    const drawn = (features, className, direction) => L.geoJSON({ type: "FeatureCollection", features }, {
      interactive: false,
      style: ({ properties }) => ({ className: properties.sign }),
      onEachFeature: labelled(className, direction),
    });
    side.changes = data.changes.map((features) => drawn(features, "of-change", "bottom"));
    side.choices = drawn(data.choices, "of-choice", "center");
  }
  function showChange(side) {
    const at = { "what-if": side.at, cold: side.at - 1 }[side.key] ?? -1;
    side.changes.forEach((layer, number) => showIf(layer, side.map, number === at));
    showIf(side.choices, side.map, side.key === "tunnels");
  }

  // ---- Numbers under the finger
  const grids = new Map();
  function unpack(reading) {
    if (!grids.has(reading)) {
      grids.set(reading, (async () => {
        const bytes = Uint8Array.from(atob(reading.codes), (letter) => letter.charCodeAt(0));
        const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
        const codes = new Int16Array(await new Response(stream).arrayBuffer());
        const { rows, cols } = data.place;
        for (let row = 0; row < rows; row += 1) {
          for (let at = row * cols + 1; at < (row + 1) * cols; at += 1) codes[at] += codes[at - 1];
        }
        return codes;
      })());
    }
    return grids.get(reading);
  }

  function cellOf({ lat, lng }) {
    const { rows, cols, middle, half } = data.place;
    const u = (lng - middle[0]) / half[0];
    const v = (lat - middle[1]) / half[1];
    const terms = [1, u, v, u * u, u * v, v * v];
    const along = (weights) => Math.floor(weights.reduce((sum, weight, at) => sum + weight * terms[at], 0));
    const col = along(data.place.col);
    const row = along(data.place.row);
    return row >= 0 && row < rows && col >= 0 && col < cols ? row * cols + col : null;
  }

  const here = byId("here");
  let latest = 0;
  let lastSpot = null;

  // Some colours are those of another question's numbers.
  const numbersOf = ({ key, at }) => ({ shade: ["sun", data.summer], tunnels: ["steep", 0] }[key] ?? [key, at]);

  // What the numbers of a question say of a cell.
  async function phrases(cell, key, at) {
    if (cell === null) return [];
    const readings = data.readings.filter((one) => one.key === key && one.at === at);
    const texts = await Promise.all(readings.map(async (reading) => reading.phrases[(await unpack(reading))[cell] - reading.first]));
    const told = texts.filter(Boolean);
    const lead = told.length ? readings[0].lead : "";
    return lead ? [`${lead} ${told.join(", ")}`] : told;
  }

  // Beds are coloured whole: what is said of the one that holds the spot.
  function bedAt({ beds }, { lat, lng }) {
    const holds = (ring) => ring.reduce((inside, one, at) => {
      const other = ring[(at || ring.length) - 1];
      const crossed = one.lat > lat !== other.lat > lat && lng < one.lng + ((other.lng - one.lng) * (lat - one.lat)) / (other.lat - one.lat);
      return inside !== crossed;
    }, false);
    const bed = beds.find((layer) => layer.getBounds().contains([lat, lng]) && holds(layer.getLatLngs()[0]));
    return bed ? bed.getElement().getAttribute("aria-label") : say.no_bed_here;
  }

  async function readOne(side, cell) {
    const first = numbersOf(side);
    const rest = [["cold", 0], ["steep", 0], ["sun", data.spring]].filter(([key]) => key !== first[0]);
    const bold = await phrases(cell, ...first);
    const plain = (await Promise.all(rest.map((one) => phrases(cell, ...one)))).flat();
    if (!bold.length && !plain.length) return [say.nothing_here];
    const strong = document.createElement("b");
    strong.textContent = bold.join(" · ");
    return [strong, (bold.length && plain.length ? " · " : "") + plain.join(" · ")];
  }

  async function readBeside(side, cell, spot) {
    const ofBeds = side.key === "early" || side.key === "tonight";
    const told = ofBeds ? [bedAt(side, spot)] : await phrases(cell, ...numbersOf(side));
    const line = document.createElement("span");
    const strong = document.createElement("b");
    strong.textContent = side.heading;
    line.append(strong, ` – ${told.join(" · ") || say.nothing_here}`);
    return line;
  }

  async function read(spot) {
    lastSpot = spot;
    const turn = (latest += 1);
    if (!("DecompressionStream" in window)) {
      here.textContent = say.too_old;
      return;
    }
    const cell = cellOf(spot);
    const shown = open();
    const told = shown.length === 1 ? await readOne(shown[0], cell) : await Promise.all(shown.map((side) => readBeside(side, cell, spot)));
    if (turn === latest) here.replaceChildren(...told);
  }

  // A ring marks the spot that is read: on the map itself when it was touched, on the
  // other one always.
  let held = false;
  function mark(spot, isMarked) {
    for (const side of sides) {
      side.ring.remove();
      if (side.key && isMarked(side)) side.ring.setLatLng(spot).addTo(side.map);
    }
  }
  function pointOn(side) {
    const { map, container } = side;
    side.ring = L.circleMarker([0, 0], { radius: 9, className: "spot", interactive: false });
    const readAt = (spot) => {
      mark(spot, (other) => other !== side);
      read(spot);
    };
    map.on("mousemove", ({ latlng }) => { if (!held) readAt(latlng); });
    map.on("click", ({ latlng }) => {
      held = true;
      mark(latlng, () => true);
      read(latlng);
      window.setTimeout(() => {
        if (!window.matchMedia("(hover: hover)").matches) return;
        held = false;
        side.ring.remove();
      }, 2500);
    });
    side.shapes.on("click", ({ latlng }) => readAt(latlng));
    map.on("moveend", () => { if (document.activeElement === container) readAt(map.getCenter()); });
    container.addEventListener("focus", () => { if (container.matches(":focus-visible")) readAt(map.getCenter()); });
  }

  makeSide(map);

  // ---- The night as a film; its last frame, of the place as it is, is the still picture
  const PLAYED_MS = 6000;
  const films = data.films;
  const calm = window.matchMedia("(prefers-reduced-motion: reduce)");
  const strip = films.length ? L.imageOverlay(films[0].frames[0], films[0].bounds, { className: "colours" }) : null;
  let film = films[0];
  let frame = film ? film.frames.length - 1 : 0;
  let playing = null;
  function atEnd(side) {
    return side.at === 0 && (side !== sides[0] || !film || frame === film.frames.length - 1);
  }
  function turnTo(number) {
    frame = number;
    strip.setUrl(film.frames[frame]);
    byId("hour").max = film.frames.length - 1;
    byId("hour").value = frame;
    byId("hour").setAttribute("aria-valuetext", film.told[frame]);
    byId("moment").textContent = film.told[frame];
    if (sides[0].key !== "cold") return;
    show(sides[0], atEnd(sides[0]) ? pictures.cold[0] : strip);
    showWays(sides[0]);
  }
  function pause() {
    window.clearTimeout(playing);
    playing = null;
    byId("play").textContent = say.play;
    byId("moment").setAttribute("aria-live", "polite");
  }
  function play() {
    // Read out where it stops, not every frame on the way.
    byId("moment").setAttribute("aria-live", "off");
    byId("play").textContent = say.pause;
    const next = () => {
      if (frame === film.frames.length - 1) {
        pause();
      } else {
        turnTo(frame + 1);
        playing = window.setTimeout(next, PLAYED_MS / film.frames.length);
      }
    };
    turnTo(frame === film.frames.length - 1 ? 0 : frame);
    playing = window.setTimeout(next, PLAYED_MS / film.frames.length);
  }
  if (film) {
    byId("play").addEventListener("click", () => (playing ? pause() : play()));
    byId("hour").addEventListener("input", () => {
      if (playing) pause();
      turnTo(Number(byId("hour").value));
    });
    for (const radio of all("input[name=film]")) {
      radio.addEventListener("change", () => {
        if (playing) pause();
        film = films[Number(radio.value)];
        byId("filmed").textContent = film.name;
        turnTo(film.frames.length - 1);
        ask();
      });
    }
    // Whoever wants no motion turns the hours by hand.
    const hold = () => {
      byId("play").hidden = calm.matches;
      if (playing) pause();
    };
    calm.addEventListener("change", hold);
    hold();
    turnTo(frame);
  }

  // ---- Tonight: a list for every evening and low was made beforehand, so nothing is reckoned here
  const evening = data.tonight;
  let low = evening.start;
  const signs = ["leave", "odds", "lost", "part", "cover"];
  evening.evenings.forEach(({ from }) => byId("evening").append(new Option(from, from)));
  byId("evening").hidden = evening.evenings.length === 0;
  function tellTonight() {
    const night = document.querySelector("input[name=night]:checked").value;
    const there = evening.evenings[byId("evening").selectedIndex];
    const found = there && evening.lists[there.lists[night][low]];
    const said = (number) => evening.words[number];
    byId("low").textContent = evening.lows[low];
    byId("colder").disabled = low === evening.lows.length - 1;
    byId("warmer").disabled = low === 0;
    drawTonight(found);
    const list = byId("list");
    list.textContent = "";
    const add = (tag, text, parent) => {
      const element = document.createElement(tag);
      element.textContent = text;
      parent.append(element);
      return element;
    };
    if (!found) {
      add("p", evening.nothing, list);
      return;
    }
    for (const number of [...found.answer, ...found.first]) add("p", said(number), list);
    found.plots.forEach(([plot, air, ...rest], at) => {
      add("h2", said(plot), list);
      add("p", said(air), list);
      const points = add("ul", "", list);
      found.tasks.forEach(([what, piece, odds, where], number) => {
        if (where !== at) return;
        const line = `${number + 1} ${said(what)}: ${said(piece)}`;
        add("li", odds < 0 ? line : `${line}; ${said(odds)}`, points);
      });
      for (const number of rest) add("li", said(number), points);
    });
    for (const number of found.advice) add("p", said(number), list);
    for (const caution of evening.cautions) add("p", caution, list).className = "note";
    add("p", said(found.last), list);
  }
  // Beds by their answer; the legend has the signs that are on the map, and of how many beds.
  let bedsTonight = [];
  function drawTonight(found) {
    const of = {};
    const inSet = (number) => evening.sets[number] || [];
    for (const key of ["leave", "odds", "short", "lost"]) {
      for (const at of inSet(found && found[key])) of[at] = key === "short" ? "lost" : key;
    }
    for (const [, , , , set] of (found && found.tasks) || []) {
      for (const at of inSet(set)) of[at] = of[at] === "lost" ? "part" : "cover";
    }
    const labels = [...all(".answer[data-key=tonight] .legend li")];
    bedsTonight = sides[0].beds.map((_, at) => of[at]);
    for (const { beds } of sides) {
      beds.forEach((layer, at) => {
        const path = layer.getElement();
        for (const sign of signs) path.classList.remove(`tonight-${sign}`);
        if (of[at]) path.classList.add(`tonight-${of[at]}`);
      });
    }
    for (const item of labels) {
      const sign = signs.find((one) => item.querySelector(`.tonight-${one}`));
      const count = bedsTonight.filter((one) => one === sign).length;
      item.hidden = count === 0;
      if (!item.dataset.said) item.dataset.said = item.querySelector("span").textContent;
      item.querySelector("span").textContent = fill(say.sign_count, { said: item.dataset.said, count });
    }
    sides.forEach(nameBeds);
  }
  function nameBeds({ key, beds }) {
    beds.forEach((layer, at) => {
      const { name, row } = layer.feature.properties;
      const planted = byId(row).querySelector("td").textContent;
      const item = key === "tonight" && bedsTonight[at] && document.querySelector(`.answer[data-key=tonight] .legend .tonight-${bedsTonight[at]}`);
      const tonight = item && item.closest("li").dataset.said;
      layer.getElement().setAttribute("aria-label", `${name}, ${tonight || planted}`);
    });
  }
  for (const [id, step] of [["colder", 1], ["warmer", -1]]) {
    byId(id).addEventListener("click", () => {
      low = Math.min(evening.lows.length - 1, Math.max(0, low + step));
      tellTonight();
    });
  }
  for (const radio of all("input[name=night]")) radio.addEventListener("change", tellTonight);
  byId("evening").addEventListener("change", tellTonight);
  tellTonight();

  // ---- Questions
  const copyOf = (picture) => L.imageOverlay(picture._url, picture.getBounds(), { className: picture.options.className });
  function show(side, picture) {
    if (picture === side.picture) return;
    if (side.layer) side.layer.remove();
    side.picture = picture;
    side.layer = picture && side !== sides[0] ? copyOf(picture) : picture;
    if (side.layer) side.layer.addTo(side.map);
  }
  const answerTo = ([key, at]) => document.querySelector(`.answer[data-key="${key}"][data-at="${at}"]`);
  const headingOf = (wish) => answerTo(wish).querySelector(".about").textContent;
  // What is asked of each map: the question, and which of its pictures.
  function wishes() {
    const key = document.querySelector("input[name=question]:checked").value;
    const change = document.querySelector("input[name=change]:checked");
    const at = { sun: Number(byId("month").value), "what-if": Number(change && change.value), cold: Math.max(0, films.indexOf(film)) }[key] ?? 0;
    const [keyBeside, atBeside] = byId("beside").value.split(" ");
    if (!keyBeside) return [[key, at]];
    return [[key, at], [keyBeside, Number(keyBeside === "sun" ? byId("month-beside").value : atBeside)]];
  }
  function answer(side, [key, at]) {
    Object.assign(side, { key, at, heading: headingOf([key, at]) });
    side.frame.dataset.asked = key;
    show(side, key === "cold" && !atEnd(side) && side === sides[0] ? strip : pictures[key][at]);
    showWays(side);
    showChange(side);
    nameBeds(side);
  }
  function ask() {
    if (playing) pause();
    const wished = wishes();
    const [key, beside] = wished.map(([each]) => each);
    document.body.dataset.asked = key;
    pair(wished.map(headingOf));
    wished.forEach((wish, at) => answer(sides[at], wish));
    const change = document.querySelector(".changes");
    if (film) document.querySelector(".film").hidden = key !== "cold";
    byId("month").parentElement.hidden = key !== "sun";
    byId("month-beside").parentElement.hidden = beside !== "sun";
    document.querySelector(".evening").hidden = key !== "tonight" && beside !== "tonight";
    if (change) change.hidden = key !== "what-if";
    const [first, second] = wished.map(answerTo);
    for (const section of all(".answer")) {
      section.hidden = section !== first && section !== second;
      section.classList.toggle("beside", section === second && section !== first);
      section.querySelector(".about").hidden = !second;
    }
    byId("asked").textContent = document.querySelector("input[name=question]:checked + span").textContent;
    open().forEach(label);
    if (lastSpot) read(lastSpot);
  }

  // ---- Two maps beside each other
  const minZoom = map.getMinZoom();
  let farther = 0;
  function makeBeside() {
    const other = makeSide(L.map("map-beside", { ...map.options, center: map.getCenter(), zoom: map.getZoom() }));
    copyOf(ground).addTo(other.map);
    tellTonight();
    return other;
  }
  function pair(headings) {
    const wanted = headings.length > 1;
    const turned = wanted !== open().length > 1;
    const [seen, middle, zoom] = [map.getBounds(), map.getCenter(), map.getZoom()];
    if (turned) {
      const place = byId("map-beside");
      if (place) place.closest(".side").hidden = !wanted;
      else document.querySelector(".pair").append(byId("place-beside").content);
      document.body.classList.toggle("paired", wanted);
    }
    all(".side h2").forEach((heading, at) => {
      heading.hidden = !wanted;
      heading.textContent = headings[at];
    });
    if (turned && !wanted) sides[1].key = null;
    // Headings of more lines leave less room for the maps.
    for (const each of open()) each.map.invalidateSize({ animate: false });
    if (!turned) return;
    // What was in view stays in view in less room, and comes back with the room.
    if (wanted) farther = Math.max(0, zoom - map.getBoundsZoom(seen));
    map.setMinZoom(minZoom - (wanted ? farther : 0));
    map.setView(middle, wanted ? zoom - farther : zoom + farther, { animate: false });
    if (!wanted) {
      mark(middle, () => false);
      return;
    }
    const other = (sides[1] ?? makeBeside()).map;
    other.invalidateSize({ animate: false });
    other.setMinZoom(map.getMinZoom());
    other.setView(middle, map.getZoom(), { animate: false });
  }

  // ---- In bright sun: strong contrast, where it is asked for here or by the browser
  const contrast = window.matchMedia("(prefers-contrast: more)");
  function brighten(wanted) {
    document.documentElement.classList.toggle("bright", wanted);
    byId("bright").setAttribute("aria-pressed", String(wanted));
    for (const side of open()) {
      side.map.invalidateSize({ animate: false });
      label(side);
    }
  }
  byId("bright").addEventListener("click", () => brighten(byId("bright").getAttribute("aria-pressed") === "false"));
  contrast.addEventListener("change", () => brighten(contrast.matches));
  brighten(contrast.matches);

  let byPointer = false;
  const questions = document.querySelector(".questions");
  questions.addEventListener("pointerdown", () => { byPointer = true; });
  questions.addEventListener("keydown", () => { byPointer = false; });
  for (const radio of all("input[name=question]")) {
    radio.addEventListener("change", () => {
      ask();
      if (narrow.matches && byPointer) questions.open = false;
    });
  }
  for (const id of ["month", "month-beside", "beside"]) byId(id).addEventListener("change", ask);
  byId("beside").addEventListener("change", () => {
    if (narrow.matches && open().length > 1) container.closest(".field").scrollIntoView();
  });
  for (const radio of all("input[name=change]")) radio.addEventListener("change", ask);
  for (const button of all("[data-step]")) {
    button.addEventListener("click", () => {
      const select = button.parentElement.querySelector("select");
      select.value = (Number(select.value) + Number(button.dataset.step) + 12) % 12;
      ask();
    });
  }
  const nights = document.querySelector(".nights");
  const fold = () => {
    questions.open = !narrow.matches;
    if (nights) nights.open = !narrow.matches;
  };
  narrow.addEventListener("change", fold);
  fold();

  // Tables are long on a phone, and some everywhere: folded, but for paper and for whoever follows a link.
  const tables = all(".told");
  for (const table of tables) table.open = !narrow.matches && !("long" in table.dataset);
  window.addEventListener("beforeprint", () => tables.forEach((table) => { table.open = true; }));
  for (const link of all(".below a, .jump")) {
    link.addEventListener("click", () => {
      const target = byId(link.hash.slice(1));
      if (target.matches("details")) target.open = true;
    });
  }

  // ---- Where am I, and how far is it
  const told = byId("told");
  const number = (value, digits) => value.toLocaleString("en", { maximumFractionDigits: digits });
  const distance = (metres) => {
    const [unit, per, digits] = units.length;
    return `${number(metres * per, metres < 100 ? digits : 0)} ${unit}`;
  };
  const area = (square) => `${number(square * units.area[1], 0)} ${units.area[0]}`;

  let self = null;
  map.on("locationfound", ({ latlng, accuracy }) => {
    if (self) self.remove();
    self = L.circle(latlng, { radius: accuracy, className: "self", interactive: false }).addTo(map);
    const inside = edge.contains(latlng);
    told.textContent = fill(inside ? say.on_map : say.off_map, { distance: distance(inside ? accuracy : map.distance(latlng, edge.getCenter())) });
    if (inside) {
      map.panTo(latlng);
      read(latlng);
    }
  });
  map.on("locationerror", () => { told.textContent = say.no_place; });
  byId("locate").addEventListener("click", () => {
    told.textContent = say.locating;
    map.locate({ enableHighAccuracy: true, timeout: 20000 });
  });

  const measure = byId("measure");
  const line = L.polygon([], { className: "measured", interactive: false });
  let corners = null;
  measure.addEventListener("click", () => {
    corners = corners ? null : [];
    measure.setAttribute("aria-pressed", String(Boolean(corners)));
    measure.textContent = corners ? say.measure_stop : say.measure;
    told.textContent = corners ? say.measure_start : "";
    line.remove();
    line.setLatLngs([]);
    if (corners) line.addTo(map);
  });
  function corner(latlng) {
    corners.push(latlng);
    line.setLatLngs(corners);
    const length = corners.slice(1).reduce((sum, at, before) => sum + map.distance(at, corners[before]), 0);
    if (corners.length === 2) told.textContent = fill(say.measured, { distance: distance(length) });
    if (corners.length > 2) {
      const around = length + map.distance(corners[corners.length - 1], corners[0]);
      told.textContent = fill(say.measured_area, { distance: distance(around), area: area(inside(corners)) });
    }
  }
  // Shoelace on level ground: at the size of a field the earth is flat.
  function inside(points) {
    const origin = points[0];
    const metres = points.map((at) => [
      map.distance(origin, [origin.lat, at.lng]) * Math.sign(at.lng - origin.lng),
      map.distance(origin, [at.lat, origin.lng]) * Math.sign(at.lat - origin.lat),
    ]);
    const twice = metres.reduce((sum, [east, north], at) => {
      const [nextEast, nextNorth] = metres[(at + 1) % metres.length];
      return sum + east * nextNorth - nextEast * north;
    }, 0);
    return Math.abs(twice) / 2;
  }
  // Before the map hears it, or beds with popups would swallow the touch.
  container.addEventListener("click", (event) => {
    if (!corners || event.target.closest(".leaflet-control")) return;
    event.stopPropagation();
    if (!map.dragging.moved()) corner(map.mouseEventToLatLng(event));
  }, true);
  container.addEventListener("keydown", (event) => {
    if (corners && event.key === "Enter" && event.target === container) corner(map.getCenter());
  });

  map.invalidateSize({ animate: false });
  showPlots();
  ask();
  window.fieldmap = { map, sides, ask };
})();
