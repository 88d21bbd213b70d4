"use strict";
// The night as a film, played only when it is asked for.
const fieldFilm = (() => {
  const { byId, data, fill, say } = fieldPage;
  const { film } = data;
  const FRAME_MS = 450;
  const calm = window.matchMedia("(prefers-reduced-motion: reduce)");
  let playing = 0;
  function stop() {
    window.clearInterval(playing);
    playing = 0;
    byId("play").textContent = fill(say.play, { moment: film.captions[film.captions.length - 1] });
  }
  function turn(/** @type {number} */ at) {
    byId("hour").value = String(at);
    byId("moment").textContent = film.captions[at];
    byId("hour").setAttribute("aria-valuetext", film.captions[at]);
    fieldAnswers.add("cold", at === film.captions.length - 1 ? {} : { ground: film.frames[at] });
    fieldAnswers.draw();
  }
  if (film) {
    const last = film.captions.length - 1;
    byId("hour").addEventListener("input", () => {
      stop();
      turn(Number(byId("hour").value));
    });
    byId("play").addEventListener("click", () => {
      if (playing) {
        stop();
        return;
      }
      byId("play").textContent = say.pause;
      if (Number(byId("hour").value) === last) turn(0);
      playing = window.setInterval(() => {
        const next = Number(byId("hour").value) + 1;
        turn(Math.min(next, last));
        if (next >= last) stop();
      }, FRAME_MS);
    });
    byId("play").hidden = calm.matches;
    fieldAnswers.own("cold", {
      enter() {
        byId("film").hidden = false;
      },
      leave() {
        stop();
        byId("film").hidden = true;
        byId("hour").value = String(last);
        byId("moment").textContent = film.captions[last];
        fieldAnswers.add("cold", {});
      },
    });
  }
  return Object.freeze({ stop });
})();
