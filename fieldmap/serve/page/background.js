// Pictures from the internet behind what is drawn, asked for only while the box is ticked.
"use strict";

/**
 * @typedef {{tiles: {address: string, box: number[]}[], credit: string, label: string, failed: string}} Background
 */
const fieldBackground = (() => {
  const { element } = fieldWords;

  /**
   * The box to tick; the credit lies on the ground while the pictures do.
   * @param {{background: Background, holder: HTMLElement, ground: ReturnType<typeof fieldGround.of>,
   *   drawing: ReturnType<typeof fieldDrawing.on>, warn: (said: string) => void}} given
   * @returns {HTMLElement}
   */
  function on({ background, holder, ground, drawing, warn }) {
    const box = element("input", { type: "checkbox", autocomplete: "off", onchange: show });
    const credit = element("p", { class: "credit", hidden: true }, element("bdi", {}, background.credit));
    holder.append(credit);
    /** @type {Photo[]} */
    let photos = [];

    function show() {
      for (const { picture } of photos) picture.removeAttribute("src"); // no longer asked for
      photos = box.checked ? background.tiles.map((tile) => ({ picture: asked(tile.address), box: tile.box })) : [];
      credit.hidden = !box.checked;
      holder.classList.remove("backed");
      ground.shade(photos);
      drawing.repaint();
    }

    /** @param {string} address */
    function asked(address) {
      const picture = new Image();
      picture.addEventListener("load", () => {
        holder.classList.toggle("backed", box.checked);
        drawing.repaint();
      });
      picture.addEventListener("error", () => {
        if (box.checked && photos.every((each) => each.picture.complete && !each.picture.naturalWidth)) warn(background.failed);
      });
      picture.src = address;
      return picture;
    }
    return element("label", { class: "behind note" }, box, background.label);
  }

  return Object.freeze({ on });
})();
