// "Make the plan": its steps as they come, Stop, and the map beside.
"use strict";

const fieldPlanning = (() => {
  const { element } = fieldWords;
  const ASK_MS = 700;

  /**
   * @param {{holder: HTMLElement, words: Words, me: string, tell: (said: string) => void,
   *   isOld: () => boolean, ended: (state: any) => void, state: any}} given
   */
  function on({ holder, words: texts, tell, isOld, ended, state: first }) {
    const { say } = fieldWords.inWords(texts);
    let state = first;
    /** @type {() => Promise<boolean>} */
    let before = async () => true;
    let timer = 0;

    async function make() {
      if (!(await before())) return;
      take(await fieldKeeper.ask("POST", "plan", {}));
    }

    async function stop() {
      take(await fieldKeeper.ask("DELETE", "plan", {}));
    }

    /** @param {{status: number, body: any}} answer */
    function take(answer) {
      if (answer.status !== 200) return;
      const was = state;
      state = answer.body;
      if (was.running && !state.running) {
        tell(outcome());
        ended(state);
        if (state.ended === "made") mapBeside();
      }
      redraw();
      clearTimeout(timer);
      if (state.running) timer = window.setTimeout(async () => take(await fieldKeeper.ask("GET", "plan")), ASK_MS);
    }

    const outcome = () => say({ made: "plan_is_made", stopped: "plan_stopped", failed: "plan_failed" }[/** @type {string} */ (state.ended)] || "plan_failed");

    function mapBeside() {
      closeMap();
      const frame = element("iframe", { src: "map", title: say("map_title"), sandbox: "allow-scripts allow-popups allow-downloads allow-modals" });
      const box = element(
        "section",
        { id: "map", "aria-label": say("map_title") },
        element("div", { class: "actions" }, element("button", { type: "button", class: "plain", onclick: closeMap }, say("close_map")), element("a", { class: "plain", href: "map", target: "_blank", rel: "noopener" }, say("map_alone"))),
        frame,
      );
      document.querySelector("main")?.append(box);
    }

    function closeMap() {
      document.getElementById("map")?.remove();
    }

    function redraw() {
      const steps = state.steps || [];
      const soFar = [
        element("p", {}, element("b", {}, say("making")), " ", state.took_s ? say("last_took", { seconds: state.took_s }) : ""),
        element("ol", { class: "plan-steps" }, ...steps.map((/** @type {string} */ each, /** @type {number} */ at) => element("li", { class: at === steps.length - 1 ? "now" : "" }, each))),
      ];
      const shown = holder.querySelector(".so-far");
      if (state.running && shown) {
        shown.replaceChildren(...soFar); // and "Stop" stays, where a finger may lie
        return;
      }
      const goOn = fieldWords.place(holder);
      const running = [
        element("div", { class: "so-far" }, ...soFar),
        element("button", { type: "button", class: "link", id: "stop", onclick: stop }, say("stop")),
      ];
      const rest = [
        state.ended && element("p", {}, element("b", {}, outcome())),
        state.ended === "failed" && steps.length ? element("div", { role: "alert" }, ...steps.slice(-4).map((/** @type {string} */ each) => element("p", { class: "wrong" }, each))) : null,
        state.has_map && isOld() && element("p", { class: "note" }, say("plan_is_old")),
        state.has_map && element("button", { type: "button", class: "link", onclick: mapBeside }, say("open_map")),
      ];
      holder.replaceChildren(
        element("button", { type: "button", class: "main", id: "make", disabled: state.running, onclick: make }, say("make_plan")),
        element("div", { class: "progress" }, ...(state.running ? running : rest)),
      );
      goOn();
    }

    redraw();
    if (state.running) take({ status: 200, body: state });
    return Object.freeze({
      redraw,
      /** What is done first, as saving; a plan is made where it says yes. @param {() => Promise<boolean>} first_ */
      before(first_) {
        before = first_;
      },
    });
  }

  return Object.freeze({ on });
})();
