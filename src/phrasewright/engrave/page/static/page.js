/* page.js: sets the page going, last of the scripts. */
(function () {
  "use strict";
  const app = (window.Phrasewright = window.Phrasewright || {});

  function begin() {
    document.documentElement.classList.add("is-live");
    for (const group of document.querySelectorAll("[data-necks]")) app.necks.wire(group);
    if (!app.lesson || !app.lesson.pieces.length) return;
    const root = document.querySelector(".desk");
    const light = new app.light.Light(document.body);
    const controls = new app.controls.Controls(root, light);
    const desk = new app.desk.Desk(app.lesson, new app.memory.Memory(app.lesson.id), controls);
    controls.join(desk);
    app.keys.wire(controls);
    app.player = { desk, controls, light };
  }

  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", begin);
  else begin();
})();
