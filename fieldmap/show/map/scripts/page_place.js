"use strict";
// My place, followed while it is asked for: its circle, and the plot and bed it is on.
const fieldPlace = (() => {
  const { byId, data, fill, say } = fieldPage;
  const { map, field } = fieldMap;
  const message = byId("message");
  const { units } = data;
  const number = (/** @type {number} */ value, /** @type {number} */ digits) => value.toLocaleString(fieldPage.locale, { maximumFractionDigits: digits });
  const distance = (/** @type {number} */ metres) => {
    const [unit, per, digits] = units.length;
    return `${number(metres * per, metres < 100 ? digits : 0)} ${unit}`;
  };
  const area = (/** @type {number} */ square) => `${number(square * units.area[1], 0)} ${units.area[0]}`;
  const edge = L.latLngBounds(data.edge);
  let follows = false;
  /** @type {any} */
  let was = null;
  function stop() {
    map.stopLocate();
    follows = false;
    byId("locate").textContent = say.locate;
    field.place(null);
  }
  map.on("locationfound", (/** @type {any} */ { latlng, accuracy }) => {
    if (!follows) return;
    field.place({ lat: latlng.lat, lng: latlng.lng, accuracy_m: accuracy });
    const inside = edge.contains(latlng);
    const here = inside ? field.at(latlng) : null;
    const bed = here && here.kind === "bed" ? fill(say.you_are_on_bed, { bed: data.beds[here.index], plot: data.plots[data.plotOf[here.index]] }) : here && here.name ? fill(say.you_are_at, { place: here.name }) : "";
    const near = fill(inside ? say.on_map : say.off_map, { distance: distance(inside ? accuracy : map.distance(latlng, edge.getCenter())) });
    message.textContent = bed ? `${bed} ${near}` : near;
    if (inside && (!was || !map.getBounds().pad(-0.2).contains(latlng))) map.panTo(latlng);
    was = latlng;
  });
  map.on("locationerror", () => {
    stop();
    message.textContent = say.no_place;
  });
  byId("locate").addEventListener("click", () => {
    if (follows) {
      stop();
      message.textContent = "";
      return;
    }
    follows = true;
    was = null;
    byId("locate").textContent = say.stop_following;
    message.textContent = say.locating;
    map.locate({ watch: true, enableHighAccuracy: true, timeout: 20000 });
  });
  return Object.freeze({ distance, area });
})();
