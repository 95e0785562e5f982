/* necks.js: the neck in its several views, chosen by radio buttons; and a copy of it by the controls while playing. */
(function () {
  "use strict";
  const app = (window.Phrasewright = window.Phrasewright || {});

  /** Show the chosen view of a group of figures. */
  function choose(group, id) {
    for (const view of group.querySelectorAll("[data-view]")) view.hidden = view.dataset.view !== id;
  }

  function wire(group) {
    const radios = [...group.querySelectorAll("input[type=radio]")];
    for (const radio of radios) radio.addEventListener("change", () => choose(group, radio.value));
    const chosen = radios.find((radio) => radio.checked) || radios[0];
    if (chosen) choose(group, chosen.value);
  }

  function copyOf(view) {
    const copy = view.querySelector("svg").cloneNode(true);
    for (const element of [copy, ...copy.querySelectorAll("[id]")]) element.removeAttribute("id");
    for (const name of ["aria-labelledby", "aria-label", "role"]) copy.removeAttribute(name);
    const holder = document.createElement("div");
    holder.append(copy);
    return holder;
  }

  /** The neck by the controls: the degrees, or the tones of the chord that sounds. */
  class DeskNeck {
    constructor(holder, group) {
      this.holder = holder;
      this.byChord = new Map();
      for (const view of group ? group.querySelectorAll("[data-view]") : []) {
        const copy = copyOf(view);
        copy.hidden = true;
        holder.append(copy);
        if (!this.plain) this.plain = copy;
        if (view.dataset.chord) this.byChord.set(view.dataset.chord, copy);
      }
      this.show("");
    }

    /** True when there is a neck to show. */
    get exists() {
      return Boolean(this.plain);
    }

    show(chord) {
      const next = this.byChord.get(chord) || this.plain;
      if (next === this.shown) return this.crop(next);
      if (this.shown) this.shown.hidden = true;
      if (next) next.hidden = false;
      this.shown = next;
      return this.crop(next);
    }

    /** By the controls room is dear: show the neck without its legend, once it can be measured. */
    crop(copy) {
      const svg = copy && !copy.dataset.cropped ? copy.querySelector("svg") : null;
      if (!svg || !svg.getClientRects().length) return;
      for (const legend of svg.querySelectorAll(".legend, title, desc")) legend.remove();
      const box = svg.getBBox();
      if (box.width > 0) svg.setAttribute("viewBox", `${box.x - 2} ${box.y - 2} ${box.width + 4} ${box.height + 4}`);
      copy.dataset.cropped = "yes";
    }
  }

  app.necks = { wire, DeskNeck };
})();
