"use strict";
// Pictures from the internet behind the map, asked for only while the box is ticked.
(() => {
  const box = document.getElementById("background");
  const credit = document.getElementById("background-credit");
  const message = document.getElementById("message");
  const { map } = fieldmapParts;
  const tiles = L.tileLayer(box.dataset.tiles, {
    // Under the relief in its own pane, so that the relief is laid over them as shade.
    pane: "overlayPane",
    zIndex: 0,
    opacity: 0.6, // pale, or colours and dark outlines are lost on dark woods
    maxNativeZoom: Number(box.dataset.finest),
    maxZoom: map.getMaxZoom(),
    minZoom: 1,
  });
  let came = false;
  tiles.on("tileload", () => {
    came = true;
    if (message.textContent === box.dataset.failed) message.textContent = "";
  });
  tiles.on("tileerror", () => { if (!came) message.textContent = box.dataset.failed; });
  const show = () => {
    came = false;
    credit.hidden = !box.checked;
    map.getContainer().classList.toggle("backed", box.checked);
    if (box.checked) tiles.addTo(map);
    else tiles.remove();
    if (message.textContent === box.dataset.failed) message.textContent = "";
  };
  box.checked = false; // also after going back to the page
  box.addEventListener("change", show);
})();
