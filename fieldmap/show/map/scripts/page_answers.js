"use strict";
// The question that is asked, its answer and legend, and its picture on the map.
const fieldAnswers = (() => {
  const { all, byId, data, fill, say } = fieldPage;
  const { field } = fieldMap;
  const of = new Map(data.questions.map((/** @type {any} */ question) => [question.key, question]));
  /** @type {Record<string, {enter?: () => any, leave?: () => void}>} */
  const own = {}; // what a question does for itself: steps, lists, films
  let asked = { key: data.questions[0].key, at: data.questions[0].first };
  /** @type {(() => void)[]} */
  const heard = [];
  /** @type {Record<string, any>} */
  const extra = {}; // what is drawn besides: a part of a picture by name
  function draw() {
    const { key, at } = asked;
    field.show({ key, at, ...of.get(key).pictures[at], ...(extra[key] || {}) });
    document.body.classList.toggle("coloured", Boolean(of.get(key).pictures[at].ground));
  }
  /** @param {string} key @param {number} [at] */
  function ask(key, at) {
    if (!of.has(key)) return false;
    const question = of.get(key);
    const before = own[asked.key];
    if (before && before.leave && key !== asked.key) before.leave();
    const view = at !== undefined && question.pictures[at] ? at : key === asked.key ? asked.at : question.first;
    asked = { key, at: view };
    document.body.dataset.asked = key;
    byId("asked").textContent = question.text;
    for (const part of all(".view")) part.hidden = part.dataset.view !== `${key}/${view}`;
    fieldFolds.show({ sun: "month", "what-if": "changes", cold: "film" }[key], key === "cold" ? undefined : view);
    for (const link of all("#questions a")) {
      if (link.hash === `#${key}`) link.setAttribute("aria-current", "page");
      else link.removeAttribute("aria-current");
    }
    const spare = fold(key);
    if (own[key] && own[key].enter) own[key].enter();
    if (fieldPage.narrow.matches) fieldMap.refit(); // answers differ in height
    if (!fieldPage.narrow.matches) spare();
    draw();
    heard.forEach((tell) => tell());
    return true;
  }
  // Three other questions stand under the answer, fewer where the answer is long; the rest wait for a button.
  function fold(/** @type {string} */ key) {
    const others = data.questions.map((/** @type {any} */ question) => question.key).filter((/** @type {string} */ other) => other !== key);
    const near = others.slice(0, 3);
    const only = (/** @type {string[]} */ kept) => {
      for (const link of all("#questions a")) link.parentElement.classList.toggle("far", !kept.includes(link.hash.slice(1)));
    };
    only(near);
    return () => {
      const column = document.querySelector(".column");
      while (near.length && column && column.scrollHeight > column.clientHeight + 1) only((near.pop(), near));
    };
  }
  const open = (/** @type {boolean} */ wanted) => {
    document.body.classList.toggle("asking", wanted);
    byId("others").setAttribute("aria-expanded", String(wanted));
    byId("all-questions").hidden = wanted;
  };
  byId("others").addEventListener("click", () => open(!document.body.classList.contains("asking")));
  byId("all-questions").addEventListener("click", () => {
    open(true);
    all("#questions a")[0].focus();
  });
  for (const link of all("#questions a")) {
    link.addEventListener("click", (/** @type {Event} */ event) => {
      event.preventDefault();
      open(false);
      ask(link.hash.slice(1));
      byId("asked").focus({ preventScroll: true });
      window.scrollTo(0, 0);
    });
  }
  for (const radio of all("input[name=month]")) radio.addEventListener("change", () => ask("sun", Number(radio.value)));
  for (const radio of all("input[name=change]")) radio.addEventListener("change", () => ask("what-if", Number(radio.value)));
  /** The words of an answer: a bold sentence and others, then an example. @param {string[]} sentences @param {string[]} [example] */
  function answer(sentences, example = []) {
    const place = document.querySelector(`.answer[data-view="${asked.key}/${asked.at}"]`);
    place.textContent = "";
    sentences.forEach((sentence, number) => {
      if (number) place.append(" ");
      fieldPage.add(number ? "span" : "b", sentence, place);
    });
    if (example.length) fieldPage.add("span", example.join(" "), place).className = "example";
  }
  return Object.freeze({
    ask,
    draw,
    answer,
    fill,
    say,
    asked: () => asked,
    question: () => of.get(asked.key),
    onAsk: (/** @type {() => void} */ tell) => heard.push(tell),
    /** @param {string} key @param {any} part */
    add: (key, part) => { extra[key] = part; },
    /** @param {string} key @param {any} does */
    own: (key, does) => { own[key] = does; },
  });
})();
