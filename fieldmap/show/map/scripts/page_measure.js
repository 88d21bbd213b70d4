"use strict";
// Measure along a line and around ground, with a way back.
const fieldMeasure = (() => {
  const { byId, fill, say } = fieldPage;
  const { map, container } = fieldMap;
  const { distance, area } = fieldPlace;
  const message = byId("message");
  // Over the drawing, which has a pane of its own above Leaflet's lines.
  const pane = map.createPane("measured");
  Object.assign(pane.style, { zIndex: "420", pointerEvents: "none" });
  const line = L.polygon([], { className: "measured", interactive: false, pane: "measured", renderer: L.svg({ pane: "measured" }) });
  /** @type {any[] | null} */
  let corners = null;
  function tell() {
    line.setLatLngs(corners || []);
    byId("undo").hidden = !corners || !corners.length;
    if (!corners || corners.length < 2) {
      message.textContent = corners ? say.measure_start : "";
      return;
    }
    const length = corners.slice(1).reduce((sum, at, before) => sum + map.distance(at, corners[before]), 0);
    if (corners.length === 2) {
      message.textContent = fill(say.measured, { distance: distance(length) });
      return;
    }
    const around = length + map.distance(corners[corners.length - 1], corners[0]);
    message.textContent = fill(say.measured_area, { distance: distance(around), area: area(inside(corners)) });
  }
  // Shoelace on level ground: at the size of a field the earth is flat.
  function inside(/** @type {any[]} */ points) {
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
  byId("measure").addEventListener("click", () => {
    corners = corners ? null : [];
    byId("measure").setAttribute("aria-pressed", String(Boolean(corners)));
    byId("measure").textContent = corners ? say.measure_stop : say.measure;
    document.body.classList.toggle("measuring", Boolean(corners));
    if (corners) line.addTo(map);
    else line.remove();
    tell();
  });
  byId("undo").addEventListener("click", () => {
    if (corners) corners.pop();
    tell();
  });
  // Before the map hears it, or beds would swallow the touch.
  container.addEventListener("click", (/** @type {any} */ event) => {
    if (!corners) return;
    event.stopPropagation();
    if (!(/** @type {any} */ (map.dragging)).moved()) {
      corners.push(map.mouseEventToLatLng(event));
      tell();
    }
  }, true);
  container.addEventListener("keydown", (/** @type {any} */ event) => {
    if (corners && event.key === "Enter") {
      event.stopPropagation();
      corners.push(map.getCenter());
      tell();
    }
  }, true);
  return Object.freeze({ isOn: () => corners !== null });
})();
