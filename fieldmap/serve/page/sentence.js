// A sentence that is the form: each underlined blank is one value.
"use strict";

/**
 * @typedef {{kind: "text"|"length"|"number"|"choice"|"several"|"day", empty: string, label?: string,
 *   options?: {value: any, word: string}[], least?: number|null, most?: number|null,
 *   whole?: boolean, unit?: string, optional?: boolean, percent?: boolean}} Blank
 */
const fieldSentence = (() => {
  const { element, pieces } = fieldWords;

  /** @param {Blank} blank */
  const isChosen = (blank) => blank.kind === "choice" || blank.kind === "several";

  /** @param {Blank} blank @param {any} value @param {ReturnType<typeof fieldWords.inWords>} words */
  function shown(blank, value, words) {
    if (value === null || value === undefined || value === "") return blank.empty;
    const option = (blank.options || []).find((each) => each.value === value);
    if (option) return option.word;
    if (Array.isArray(value)) return value.map((each) => (blank.options || []).find((one) => one.value === each)?.word ?? String(each)).join(", ");
    const turn = (/** @type {any} */ each) => Math.abs(((Number(each.value) - value + 540) % 360) - 180);
    if (blank.kind === "choice" && blank.unit === "°") return (blank.options || []).reduce((one, other) => (turn(other) < turn(one) ? other : one)).word;
    if (blank.percent && typeof value === "number") return words.say("percent_open", { percent: Math.round(100 * value) });
    if (blank.kind === "length" && typeof value === "number") {
      const amount = words.us ? value / words.feet : value;
      return `${Number(amount.toFixed(2))} ${words.us ? "ft" : "m"}`;
    }
    return blank.unit ? `${value} ${blank.unit}` : String(value);
  }

  /**
   * What was typed as a value, or what is wrong with it.
   * @param {Blank} blank @param {string} typed @param {ReturnType<typeof fieldWords.inWords>} words
   * @returns {{value?: any, wrong?: string}}
   */
  function read(blank, typed, words) {
    const text = typed.trim();
    if (!text) return { value: null };
    if (blank.kind === "text" || blank.kind === "day") return { value: text };
    const number = Number(text.replace(",", ".").replace(/[^\d.eE+-].*$/, ""));
    if (!/^[+-]?[.,]?\d/.test(text) || !Number.isFinite(number)) return { wrong: words.say("no_number", { typed: text }) };
    const value = blank.kind === "length" && words.us ? Number((number * words.feet).toFixed(4)) : number;
    const { least, most } = blank;
    if (blank.whole && !Number.isInteger(value)) return { wrong: words.say("no_whole_number", { typed: text }) };
    const isOut = (typeof least === "number" && value < least) || (typeof most === "number" && value > most);
    if (isOut) {
      const ends = [least, most].map((end) => (typeof end === "number" ? shown({ ...blank, options: [] }, end, words) : "…"));
      return { wrong: words.say("out_of_range", { typed: text, least: ends[0], most: ends[1] }) };
    }
    return { value };
  }

  /**
   * The sentence in an element, with what is asked below it.
   * @param {HTMLElement} holder
   * @param {{text: string, blanks: Record<string, Blank>, values: Record<string, any>, asked: string|null,
   *   needed?: string[], editable: boolean}} form
   * @param {ReturnType<typeof fieldWords.inWords>} words
   * @param {{ask: (blank: string|null) => void, tell: (blank: string, value: any) => void}} then
   */
  function show(holder, form, words, then) {
    const choices = element("div", { class: "words answers" });
    const wrong = element("p", { class: "wrong", role: "alert", hidden: true });
    const line = element("p", { class: "sentence" });
    for (const piece of pieces(form.text)) {
      const name = piece.blank;
      const blank = name && form.blanks[name];
      if (!name || !blank) line.append(piece.text ?? `{${name}}`);
      else if (form.asked === name && !isChosen(blank) && form.editable) line.append(input(name, blank));
      else line.append(button(name, blank));
    }
    const blank = form.asked && form.editable ? form.blanks[form.asked] : null;
    if (form.asked && blank && isChosen(blank)) options(form.asked, blank);
    holder.replaceChildren(line, wrong, choices);
    if (form.asked && blank) focus(holder);

    /** @param {string} name @param {Blank} blank */
    function button(name, blank) {
      const value = form.values[name];
      const isOpen = value === null || value === undefined || value === "";
      const asked = form.asked === name;
      return element(
        "button",
        {
          type: "button",
          class: `blank${isOpen ? " open" : ""}${asked ? " asked" : ""}`,
          "data-blank": name,
          "aria-label": blank.label ? `${blank.label}: ${shown(blank, value, words)}` : null,
          "aria-expanded": isChosen(blank) ? String(asked) : null,
          disabled: !form.editable,
          onclick: () => then.ask(asked ? null : name),
        },
        shown(blank, value, words),
      );
    }

    /** @param {string} name @param {Blank} blank */
    function input(name, blank) {
      const value = form.values[name];
      const text = value === null || value === undefined ? "" : shown({ ...blank, options: [], percent: false, unit: "" }, value, words);
      let done = false;
      const field = element("input", {
        class: "blank asked",
        "data-blank": name,
        "aria-label": blank.label || blank.empty,
        value: text,
        placeholder: blank.empty,
        size: Math.max(6, Math.min(28, (text || blank.empty).length)),
        inputmode: blank.kind === "text" || blank.kind === "day" ? "text" : "decimal",
        autocomplete: "off",
        maxlength: 200,
        onkeydown: (/** @type {KeyboardEvent} */ event) => {
          if (event.key === "Enter") {
            event.preventDefault(); // or it presses what is asked next
            finish();
          }
          if (event.key === "Escape") {
            event.stopPropagation();
            done = true; // and nothing of it, as it goes
            then.ask(null);
          }
        },
      });
      function finish() {
        if (done) return;
        const found = read(blank, field.value, words);
        if (found.wrong) {
          wrong.textContent = found.wrong;
          wrong.hidden = false;
          field.setAttribute("aria-invalid", "true");
          return;
        }
        done = true;
        if (found.value === (value ?? null)) then.ask(null);
        else then.tell(name, found.value);
      }
      field.addEventListener("blur", () => fieldWords.afterPress(finish));
      return field;
    }

    /** @param {string} name @param {Blank} blank */
    function options(name, blank) {
      const every = blank.options || [];
      const now = form.values[name];
      const isIn = (/** @type {any} */ value) => (blank.kind === "several" ? (now || []).includes(value) : now === value);
      const next = (/** @type {any} */ value) => {
        if (blank.kind !== "several") return value;
        return isIn(value) ? now.filter((/** @type {any} */ each) => each !== value) : [...(now || []), value];
      };
      choices.append(
        ...every.map(({ value, word }) =>
          element("button", { type: "button", class: "word", "aria-pressed": String(isIn(value)), onclick: () => then.tell(name, next(value)) }, word),
        ),
      );
      if (blank.optional) choices.append(element("button", { type: "button", class: "word", "aria-pressed": String((form.values[name] ?? null) === null), onclick: () => then.tell(name, null) }, words.say("not_known")));
    }
  }

  /** To what is asked; what stands in it gives way to what is typed. @param {HTMLElement} holder */
  function focus(holder) {
    const asked = holder.querySelector("input.blank, .answers button");
    if (asked instanceof HTMLElement) asked.focus({ preventScroll: true });
    if (asked instanceof HTMLInputElement) asked.select();
  }

  return Object.freeze({ show, shown, read, focus });
})();
