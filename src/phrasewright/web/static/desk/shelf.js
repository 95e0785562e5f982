/* shelf.js: the motifs of the lesson: hear, pin, leave out, write by degrees; those left out can come back. */

import { button, el, figure, one, redraw, say } from "../common/dom.js";

const CHECK_MS = 150;

export class MotifShelf extends HTMLElement {
  /**
   * @param {import("./lesson.js").Lesson} lesson
   * @param {import("./hear.js").Hear} hear
   */
  join(lesson, hear) {
    this.lesson = lesson;
    this.hear = hear;
    this.append(el("div", { class: "shelf" }), el("p", { class: "left-out" }), this.writing());
    lesson.addEventListener("view", () => this.show());
    hear.addEventListener("change", () => this.mark());
    this.show();
  }

  show() {
    const plan = this.lesson?.view?.plan;
    if (!plan) return;
    redraw(this, () => one(this, ".shelf").replaceChildren(...plan.motifs.map((motif) => this.card(motif))));
    one(this, ".left-out").replaceChildren(...this.leftOut(plan.left_out));
    this.mark();
  }

  /** @param {Desk.Motif} motif */
  card(motif) {
    const id = `motif-${motif.letter.toLowerCase()}`;
    const pinned = motif.written !== null;
    const name = `motif ${motif.letter}`;
    return el(
      "article",
      { class: "motif", "data-piece": id, "aria-label": `Motif ${motif.letter}${motif.name ? `, ${motif.name}` : ""}` },
      motif.name ? el("p", { class: "named" }, motif.name) : null,
      el("div", { class: "figure-box", role: "img", "aria-label": motif.words }, figure(motif.card)),
      el(
        "p",
        { class: "motif-deeds" },
        button("Hear", name, () => this.hear?.toggle(id, `Motif ${motif.letter}`), { "data-key": `hear ${id}`, class: "hear" }),
        button(pinned ? "Unpin" : "Pin", name, () => this.lesson?.deed(`motifs/${pinned ? "unpin" : "pin"}`, { letter: motif.letter }, `${pinned ? "unpin" : "pin"} ${name}`), { "data-key": `pin ${id}`, "aria-pressed": String(pinned) }),
        button("Leave out", name, () => this.lesson?.deed("motifs/reject", { letter: motif.letter }, `leave out ${name}`), { "data-key": `out ${id}` }),
      ),
      el("p", { class: "help" }, `${pinned ? "Pinned. " : ""}Difficulty ${motif.difficulty.toFixed(1)}.`),
      el("details", {}, el("summary", {}, "Why, and over which chords"), el("p", { class: "pencil" }, `${motif.why.charAt(0).toUpperCase()}${motif.why.slice(1)}`), el("dl", { class: "fits" }, ...motif.fits.map((fit) => el("div", {}, el("dt", {}, fit.chord), el("dd", {}, `${fit.words} `, el("span", { class: "bits" }, fit.number)))))),
    );
  }

  /** @param {string[]} texts */
  leftOut(texts) {
    if (!texts.length) return [];
    return ["Left out: ", ...texts.map((text) => el("span", { class: "chip" }, text, " ", button("Allow again", text, () => this.lesson?.deed("motifs/allow", { text }, `allow ${text} again`), { "data-key": `allow ${text}`, class: "plain" })))];
  }

  mark() {
    for (const card of this.querySelectorAll(".motif")) {
      const hears = this.hear?.piece?.id === /** @type {HTMLElement} */ (card).dataset.piece && this.hear?.isPlaying;
      card.classList.toggle("is-playing", Boolean(hears));
      const hear = card.querySelector(".hear");
      if (hear) {
        hear.setAttribute("aria-pressed", String(Boolean(hears)));
        say(one(hear, "[data-word]"), hears ? "Stop" : "Hear");
      }
    }
  }

  // ---- by degrees

  writing() {
    const form = el(
      "form",
      { class: "line writing", onsubmit: (/** @type {Event} */ event) => this.write(event), "aria-label": "A motif of your own" },
      el("div", { class: "asked" }, el("label", { for: "own-degrees" }, "A motif of your own, by degrees"), el("input", { type: "text", id: "own-degrees", placeholder: "1 b3 4", autocomplete: "off", spellcheck: "false", "aria-describedby": "own-help own-wrong", oninput: () => this.check() })),
      el("div", { class: "asked is-small" }, el("label", { for: "own-cycle" }, "Cycle"), el("input", { type: "text", inputmode: "numeric", id: "own-cycle", value: "1", autocomplete: "off", oninput: () => this.check() })),
      el("div", { class: "asked" }, el("label", { for: "own-name" }, "Name"), el("input", { type: "text", id: "own-name", maxlength: "40", autocomplete: "off" })),
      el("button", {}, "Put on the shelf"),
    );
    return el("div", {}, form, el("p", { class: "help", id: "own-help" }, "In playing order; “up” or “down” before a degree says where to look. It can also be drawn on the neck: choose “take for a motif” there."), el("p", { class: "wrong", id: "own-wrong", hidden: true }));
  }

  /** @returns {import("./lesson.js").Change[]} */
  changes() {
    const field = (/** @type {string} */ id) => /** @type {HTMLInputElement} */ (one(this, id)).value.trim();
    const values = this.lesson?.view?.values.motifs;
    const written = /** @type {unknown[]} */ (values?.written || []);
    const block = /** @type {Record<string, string | number>} */ ({ degrees: field("#own-degrees") });
    const cycle = Number(field("#own-cycle"));
    if (Number.isInteger(cycle) && cycle > 1) block.cycle = cycle;
    if (field("#own-name")) block.name = field("#own-name");
    const sizes = values?.sizes || (written.length ? null : [3, 4]);
    const room = written.length >= Number(values?.shelf) ? [{ path: ["motifs", "shelf"], value: written.length + 1 }] : [];
    return [...(sizes ? [{ path: ["motifs", "sizes"], value: sizes }] : []), ...room, { path: ["motifs", "written", written.length], value: block }];
  }

  check() {
    window.clearTimeout(this.timer);
    this.timer = window.setTimeout(async () => {
      const text = /** @type {HTMLInputElement} */ (one(this, "#own-degrees")).value;
      const checked = text.trim() ? await this.lesson?.check(this.changes()) : null;
      if (/** @type {HTMLInputElement} */ (one(this, "#own-degrees")).value === text) this.tell(checked?.problems || []);
    }, CHECK_MS);
  }

  /** @param {Desk.Problem[]} problems */
  tell(problems) {
    const mine = problems.filter((problem) => problem.path[0] === "motifs");
    const place = one(this, "#own-wrong");
    place.hidden = !mine.length;
    say(place, mine.map((problem) => `${problem.what}. ${problem.hint}`).join(" "));
    one(this, "#own-degrees").toggleAttribute("aria-invalid", mine.length > 0);
  }

  /** @param {Event} event */
  async write(event) {
    event.preventDefault();
    const degrees = /** @type {HTMLInputElement} */ (one(this, "#own-degrees"));
    if (!degrees.value.trim() || !this.lesson) return;
    const changes = this.changes();
    const checked = await this.lesson.check(changes);
    const mine = (checked?.problems || []).filter((problem) => problem.path[0] === "motifs");
    this.tell(mine);
    if (mine.length) {
      degrees.focus();
      return;
    }
    await this.lesson.change(changes, `motif ${degrees.value.trim()}`);
    degrees.value = "";
    /** @type {HTMLInputElement} */ (one(this, "#own-name")).value = "";
  }
}

customElements.define("motif-shelf", MotifShelf);
