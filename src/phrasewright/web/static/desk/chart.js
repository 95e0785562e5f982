/* chart.js: the chart drawn while it is typed, and the tones of its chords in the position. */

import { button, el, figure, one } from "../common/dom.js";

export class ChartDesk extends HTMLElement {
  /**
   * @param {import("./lesson.js").Lesson} lesson
   * @param {import("./neck.js").LiveNeck} neck
   * @param {import("./hear.js").Hear} hear
   */
  join(lesson, neck, hear) {
    this.lesson = lesson;
    this.neck = neck;
    this.append(el("p", {}, button("Hear", "the band alone", () => hear.toggle("study-1", "the band alone", "yours"), { "data-key": "hear band", class: "hear" }), " ", el("span", { class: "help" }, "the band alone, over the chart")));
    this.append(el("div", { class: "chart figure-box", hidden: true }), el("p", { class: "chart-chords" }));
    this.addEventListener("checked", (event) => this.typed(/** @type {CustomEvent<Desk.Checked>} */ (event).detail));
    lesson.addEventListener("view", () => this.show(lesson.view?.plan || null));
    this.show(lesson.view?.plan || null);
  }

  /** @param {Desk.Checked} checked */
  typed(checked) {
    if (checked.plan) this.show(checked.plan);
  }

  /** @param {Desk.Plan | null} plan */
  show(plan) {
    if (!plan) return;
    const place = one(this, ".chart");
    place.hidden = false;
    place.setAttribute("role", "img");
    place.setAttribute("aria-label", plan.chart.words);
    place.replaceChildren(figure(plan.chart.svg));
    const chords = plan.chart.chords.map((chord) =>
      el("button", { type: "button", class: "plain", "data-key": `chord ${chord.name}`, onclick: () => this.tones(chord.name) }, chord.printed, el("span", { class: "visually-hidden" }, ": show its tones on the neck"), el("span", { class: "help" }, ` ${chord.tones.length} in the position`)),
    );
    one(this, ".chart-chords").replaceChildren("Show on the neck: ", ...chords);
  }

  /** @param {string} name */
  tones(name) {
    if (!this.neck) return;
    this.neck.chord = name;
    this.neck.show();
    this.neck.scrollIntoView({ block: "center" });
    one(this.neck, "#neck-chord").focus({ preventScroll: true });
  }
}

customElements.define("chart-desk", ChartDesk);
