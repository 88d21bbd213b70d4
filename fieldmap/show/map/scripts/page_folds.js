"use strict";
// What a question lets choose: a list in the column; on a phone the chosen one above the
// map, and the others behind a button, so that choice, map and answer are seen together.
const fieldFolds = (() => {
  const { all, byId, narrow } = fieldPage;
  /** @param {any} list @param {boolean} wanted */
  function unfold(list, wanted) {
    const button = list.querySelector(".unfold");
    if (!button) return;
    list.classList.toggle("unfolded", wanted);
    button.setAttribute("aria-expanded", String(wanted));
    if (narrow.matches) fieldMap.refit();
  }
  for (const list of all(".folds")) {
    list.querySelector(".unfold").addEventListener("click", () => unfold(list, !list.classList.contains("unfolded")));
    // A touch chooses and folds; arrow keys only choose, so that one may go on.
    list.addEventListener("click", (/** @type {MouseEvent} */ event) => {
      if (event.detail && /** @type {Element} */ (event.target).closest("label")) unfold(list, false);
    });
  }
  /** Shows one list alone, with what is chosen of it. @param {string} [wanted] its id @param {number} [value] */
  function show(wanted, value) {
    for (const id of ["month", "changes", "film"]) {
      const list = byId(id);
      if (!list) continue;
      if (id !== wanted) unfold(list, false);
      list.hidden = id !== wanted;
      if (id === wanted && value !== undefined) for (const radio of list.querySelectorAll("input")) radio.checked = Number(radio.value) === value;
    }
  }
  return Object.freeze({ show, fold: (/** @type {any} */ list) => unfold(list, false) });
})();
