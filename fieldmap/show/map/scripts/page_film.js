"use strict";
// The night as a film, played only when it is asked for, and its moments by name.
const fieldFilm = (() => {
  const { all, byId, data, say } = fieldPage;
  const { film } = data;
  const FRAME_MS = 450;
  const calm = window.matchMedia("(prefers-reduced-motion: reduce)");
  let playing = 0;
  let shown = 0;
  function stop() {
    window.clearInterval(playing);
    playing = 0;
    byId("film").classList.remove("playing");
    byId("moment").hidden = true;
    byId("play").textContent = say.play;
  }
  function turn(/** @type {number} */ at) {
    shown = at;
    byId("moment").textContent = film.captions[at];
    // Of the moments that have names, the last that has come.
    for (const radio of all("input[name=moment]")) radio.checked = Number(radio.value) <= at;
    fieldAnswers.add("cold", at === film.captions.length - 1 ? {} : { ground: film.frames[at] });
  }
  if (film) {
    const last = film.captions.length - 1;
    shown = last;
    for (const radio of all("input[name=moment]")) {
      radio.addEventListener("change", () => {
        stop();
        turn(Number(radio.value));
        fieldAnswers.draw();
      });
    }
    byId("play").addEventListener("click", () => {
      if (playing) {
        stop();
        return;
      }
      byId("film").classList.add("playing");
      byId("moment").hidden = false;
      byId("play").textContent = say.pause;
      fieldFolds.fold(byId("film"));
      turn(shown === last ? 0 : shown);
      fieldAnswers.draw();
      playing = window.setInterval(() => {
        turn(Math.min(shown + 1, last));
        fieldAnswers.draw();
        if (shown === last) stop();
      }, FRAME_MS);
    });
    byId("play").hidden = calm.matches;
    fieldAnswers.own("cold", {
      leave() {
        stop();
        turn(last);
      },
    });
  }
  return Object.freeze({ stop });
})();
