// Ten sentences about the place, and the rest of its choices folded below them.
"use strict";

const fieldQuestions = (() => {
  const { element } = fieldWords;
  const WAIT_MS = 400; // after an answer, until it is checked

  /**
   * @param {{draft: () => ReturnType<typeof fieldDraft.begun>, panel: HTMLElement, words: Words, questions: any,
   *   tell: (said: string) => void, canWrite: () => boolean, leave: () => HTMLElement[],
   *   drawing: ReturnType<typeof fieldDrawing.on>, holder: HTMLElement, place: any}} given
   */
  function on({ draft, panel, words: texts, questions, tell, canWrite, leave }) {
    const words = fieldWords.inWords(texts);
    const { say } = words;
    /** @type {string|null} */
    let asked = null;
    /** @type {{name: string, row: number, blank: string|null}|null} */
    let inRow = null;
    /** @type {string[]} */
    let problems = [];
    /** @type {Set<number>} */
    const unfolded = new Set();
    let waits = 0;

    /** @param {any} line @param {string} name */
    function valueOf(line, name) {
      const key = line.places[name].join(".");
      const answer = draft().answers.find((each) => each.place.join(".") === key);
      return answer ? answer.value : line.values[name];
    }

    /** @param {any} line @param {string} name @param {any} value */
    function answer(line, name, value) {
      draft().answer(say("did_answer"), line.places[name], value);
      clearTimeout(waits);
      waits = window.setTimeout(check, WAIT_MS);
    }

    async function check() {
      const found = await fieldKeeper.ask("POST", "check", { draft: draft().contents() });
      if (found.status !== 200) return;
      const next = found.body.problems;
      if (next.join("\n") === problems.join("\n")) return;
      problems = next;
      panel.querySelector(".problems")?.replaceChildren(...problems.map((each) => element("p", { class: "wrong" }, each)));
      tell(problems.join(" "));
    }

    /** One sentence; a list in it stands as its rows. @param {any} line @param {number|null} number */
    function sentence(line, number) {
      const holder = element("div", { class: "question" });
      const lists = Object.keys(line.blanks).filter((name) => line.blanks[name].kind === "rows");
      if (lists.length) rows(holder, line, lists[0]);
      else {
        const values = Object.fromEntries(Object.keys(line.blanks).map((name) => [name, valueOf(line, name)]));
        fieldSentence.show(holder, { text: line.text, blanks: line.blanks, values, asked: asked && line.blanks[asked] ? asked : null, editable: canWrite() }, words, {
          ask(name) {
            [asked, inRow] = [name, null];
            redraw();
          },
          tell(name, value) {
            asked = null;
            answer(line, name, value);
            redraw();
            focusBlank(name);
          },
        });
      }
      return element(number === null ? "div" : "li", { class: "line" }, holder);
    }

    /** @param {string} name */
    const focusBlank = (name) => /** @type {HTMLElement|null} */ (panel.querySelector(`[data-blank="${name}"]`))?.focus({ preventScroll: true });

    /** @param {HTMLElement} holder @param {any} line @param {string} name */
    function rows(holder, line, name) {
      const blank = line.blanks[name];
      const value = valueOf(line, name) || [];
      const text = element("p", { class: "sentence" });
      for (const piece of fieldWords.pieces(line.text)) {
        if (piece.blank !== name) {
          text.append(piece.text ?? "");
          continue;
        }
        value.forEach((/** @type {any} */ row, /** @type {number} */ at) => {
          const isOpen = inRow?.name === name && inRow.row === at;
          text.append(
            element("button", { type: "button", class: `blank${isOpen ? " asked" : ""}`, "aria-expanded": String(isOpen), onclick: () => open(isOpen ? null : { name, row: at, blank: null }) }, short(blank, row)),
            ", ",
          );
        });
        if (canWrite())
          text.append(element("button", { type: "button", class: "blank open", "data-add": name, onclick: () => open({ name, row: value.length, blank: first(blank) }) }, value.length ? questions.also : questions.which));
      }
      holder.append(text);
      if (inRow?.name === name) holder.append(editor(line, name, value));
    }

    /** @param {any} blank */
    const first = (blank) => fieldWords.pieces(blank.text).find((piece) => piece.blank)?.blank ?? null;

    /** A row in few words. @param {any} blank @param {any} row */
    function short(blank, row) {
      const known = Object.keys(blank.blanks).filter((key) => (row[key] ?? null) !== null && ["name", "kind", "item", "beds", "length_m", "width_m", "amount", "each"].includes(key));
      return known.map((key) => fieldSentence.shown(blank.blanks[key], row[key], words)).join(", ");
    }

    /** @param {typeof inRow} next */
    function open(next) {
      [inRow, asked] = [next, null];
      redraw();
    }

    /** @param {any} line @param {string} name @param {any[]} value */
    function editor(line, name, value) {
      const blank = line.blanks[name];
      const { row } = /** @type {NonNullable<typeof inRow>} */ (inRow);
      const values = value[row] || {};
      const box = element("div", { class: "row-form" });
      const form = element("div", {});
      fieldSentence.show(form, { text: `${blank.text}.`, blanks: blank.blanks, values, asked: inRow?.blank ?? null, editable: canWrite() }, words, {
        ask: (key) => open({ name, row, blank: key }),
        tell(key, chosen) {
          const next = { ...values, [key]: chosen };
          if (chosen === null) delete next[key];
          const every = value[row] ? value.map((each, at) => (at === row ? next : each)) : [...value, next];
          const lacks = Object.keys(blank.blanks).find((each) => !blank.blanks[each].optional && (next[each] ?? null) === null);
          answer(line, name, every);
          open({ name, row, blank: lacks ?? (blank.blanks[key].kind === "several" ? key : null) });
        },
      });
      box.append(form);
      if (canWrite() && value[row])
        box.append(
          element("button", { type: "button", class: "link", onclick: () => {
            answer(line, name, value.filter((_each, at) => at !== row));
            open(null);
          } }, say("take_it_away")),
        );
      return box;
    }

    function redraw() {
      const scroller = /** @type {HTMLElement} */ (panel.parentElement);
      const scrolled = scroller.scrollTop;
      const goOn = fieldWords.place(panel);
      panel.replaceChildren(
        element("h1", {}, say("ten_sentences")),
        element("p", { class: "note" }, say("ten_how")),
        element("ol", { class: "ten" }, ...questions.ten.map((/** @type {any} */ line, /** @type {number} */ at) => sentence(line, at + 1))),
        element("div", { class: "problems", role: "alert" }, ...problems.map((each) => element("p", { class: "wrong" }, each))),
        element("h2", {}, say("more_sentences")),
        ...questions.groups.map((/** @type {any} */ group, /** @type {number} */ at) =>
          element(
            "details",
            { open: unfolded.has(at), ontoggle: (/** @type {Event} */ event) => (/** @type {HTMLDetailsElement} */ (event.target).open ? unfolded.add(at) : unfolded.delete(at)) },
            element("summary", {}, group.title),
            ...group.lines.map((/** @type {any} */ line) => sentence(line, null)),
          ),
        ),
        ...leave(),
      );
      fieldSentence.focus(panel);
      goOn();
      scroller.scrollTop = scrolled;
    }

    return Object.freeze({
      show() {
        [asked, inRow] = [null, null];
        redraw();
        check();
      },
    });
  }

  return Object.freeze({ on });
})();
