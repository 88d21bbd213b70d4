"use strict";
// On paper: the question that is asked, with its legend, on one page.
const fieldPrint = (() => {
  const PAPER = { width: 720, height: 560, ratio: 3 }; // across 182 mm, names have some 10 pt
  const { byId } = fieldPage;
  const { field } = fieldMap;
  window.addEventListener("beforeprint", () => {
    fieldLooks.show("print");
    const picture = new Image();
    picture.alt = "";
    picture.src = field.toImage({ ...PAPER, look: "print" });
    byId("printed").replaceChildren(picture);
  });
  window.addEventListener("afterprint", () => {
    byId("printed").replaceChildren();
    fieldLooks.show();
  });
  return Object.freeze({});
})();
