// Touches, the mouse and keys on the ground, as a few plain events.
"use strict";

const fieldGestures = (() => {
  const STILL_PX = 7; // a touch that moved less is a tap

  /**
   * @param {HTMLElement} holder
   * @param {ReturnType<typeof fieldDrawing.on>} drawing
   * @param {{isActive: () => boolean, tap: (px: number[], target: Element, touch: boolean) => void,
   *   grab: (px: number[], target: Element, touch: boolean) => ((px: number[], ended: boolean) => void)|null,
   *   hover: (px: number[]) => void, key: (event: KeyboardEvent) => boolean}} then
   */
  function on(holder, drawing, then) {
    /** @type {Map<number, number[]>} */
    const down = new Map();
    /** @type {{from: number[], last: number[], moved: boolean, target: Element, move: ((px: number[], ended: boolean) => void)|null}|null} */
    let one = null;
    let pinched = 0;

    /** @param {PointerEvent|WheelEvent} event */
    function at(event) {
      const box = holder.getBoundingClientRect();
      return [event.clientX - box.left, event.clientY - box.top];
    }

    holder.addEventListener("pointerdown", (event) => {
      if (event.button > 0 || !then.isActive()) return;
      const px = at(event);
      down.set(event.pointerId, px);
      const target = /** @type {Element} */ (event.target);
      if (down.size === 1) {
        const move = then.grab(px, target, event.pointerType === "touch");
        one = { from: px, last: px, moved: false, target, move };
      } else if (one) {
        one.move?.(one.from, true);
        one = null;
      }
      if (down.size === 2) {
        const [first, second] = down.values();
        pinched = fieldPlace.apart(first, second);
      }
      holder.setPointerCapture(event.pointerId);
    });

    holder.addEventListener("pointermove", (event) => {
      if (!then.isActive()) return;
      const px = at(event);
      if (!down.has(event.pointerId)) {
        then.hover(px);
        return;
      }
      if (down.size === 2) pinch(event.pointerId, px);
      down.set(event.pointerId, px);
      if (!one || down.size > 1) return;
      one.moved ||= fieldPlace.apart(one.from, px) > STILL_PX;
      if (!one.moved) return;
      if (one.move) one.move(px, false);
      else drawing.pan(px[0] - one.last[0], px[1] - one.last[1]);
      one.last = px;
    });

    /** @param {number} id @param {number[]} px */
    function pinch(id, px) {
      const other = [...down].find(([each]) => each !== id)?.[1];
      if (!other) return;
      const apart = fieldPlace.apart(px, other);
      if (apart) drawing.zoom(apart / pinched, [(px[0] + other[0]) / 2, (px[1] + other[1]) / 2]);
      pinched = apart;
    }

    /** @param {PointerEvent} event */
    function up(event) {
      const px = at(event);
      down.delete(event.pointerId);
      if (!one) return;
      const { moved, move, target } = one;
      one = null;
      if (moved) move?.(px, true);
      else if (event.type === "pointerup") then.tap(px, target, event.pointerType === "touch");
    }
    holder.addEventListener("pointerup", up);
    holder.addEventListener("pointercancel", up);
    // Else the browser makes a mouse of the finger, which takes the focus off the blank that is asked;
    // and after a flick it rolls on unseen, and takes the next touch of a word as one that stops it.
    for (const kind of /** @type {const} */ (["touchstart", "touchend"])) holder.addEventListener(kind, (event) => event.cancelable && event.preventDefault(), { passive: false });
    holder.addEventListener(
      "wheel",
      (event) => {
        event.preventDefault();
        if (then.isActive()) drawing.zoom(Math.exp(-event.deltaY / 400), at(event));
      },
      { passive: false },
    );
    holder.addEventListener("keydown", (event) => {
      if (then.isActive() && then.key(event)) event.preventDefault();
    });
  }

  return Object.freeze({ on });
})();
