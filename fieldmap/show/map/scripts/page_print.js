"use strict";
// On paper: the question that is asked, with its legend, on one page.
const fieldPrint = (() => {
  const { byId } = fieldPage;
  const { field } = fieldMap;
  window.addEventListener("beforeprint", () => {
    fieldLooks.show("print");
    const picture = new Image();
    picture.alt = "";
    picture.src = field.toImage();
    byId("printed").replaceChildren(picture);
  });
  window.addEventListener("afterprint", () => {
    byId("printed").replaceChildren();
    fieldLooks.show();
  });
  return Object.freeze({});
})();
