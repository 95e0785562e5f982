/* studies.js: the composed studies: engraved, with their reasons; bars to keep while the others are drawn anew. */

import { ask } from "../common/asking.js";
import { button, el, figure, one, redraw, say, sentence } from "../common/dom.js";
import { read, write } from "./lesson.js";

const NARROW = window.matchMedia("(max-width: 700px)");

const sheetName = () => (NARROW.matches ? "narrow" : "wide");
const keyOf = (/** @type {import("./lesson.js").Lesson} */ lesson) => `${lesson.view?.revision} ${sheetName()}`;

/** A piece in notation that follows the lesson. */
export class Sheet {
  /**
   * @param {import("./lesson.js").Lesson} lesson
   * @param {string} id
   * @param {string} title
   */
  constructor(lesson, id, title) {
    this.lesson = lesson;
    this.id = id;
    this.title = title;
    this.key = "";
    this.prefix = "";
    this.element = el("div", { class: "systems", "aria-busy": "true" });
  }

  /** Say that what is drawn is not of the state that is shown, where that is so. */
  age() {
    if (this.key !== keyOf(this.lesson)) this.element.setAttribute("aria-busy", "true");
  }

  /** Engrave the state that is shown; what is there stays until the new is here. */
  async draw() {
    const key = keyOf(this.lesson);
    if (this.key === key) return;
    this.key = key;
    const found = await ask("GET", `${this.lesson.path}/pieces/${this.id}?sheet=${sheetName()}`).catch(() => null);
    if (this.key !== key) return;
    if (!found) {
      this.key = "";
      return;
    }
    this.prefix = found.prefix;
    this.element.closest("[data-prefixes]")?.setAttribute("data-prefixes", found.prefix);
    this.element.replaceChildren(...found.systems.map((/** @type {{svg: string, first_bar: number, last_bar: number}} */ system, /** @type {number} */ index) => this.system(system, index)));
    this.element.removeAttribute("aria-busy");
    this.element.dispatchEvent(new CustomEvent("drawn", { bubbles: true }));
  }

  /**
   * @param {{svg: string, first_bar: number, last_bar: number}} system
   * @param {number} index
   */
  system(system, index) {
    const words = index ? `Bars ${system.first_bar} to ${system.last_bar}` : `${this.title} in notation and tablature, bars ${system.first_bar} to ${system.last_bar}`;
    return el("div", { class: "system", role: "img", "aria-label": words }, figure(system.svg));
  }
}

/**
 * Draw sheets one after the other, the one in sight first, until the lesson moves on.
 * @param {import("./lesson.js").Lesson | undefined} lesson
 * @param {Iterable<Sheet>} sheets
 */
async function drawInTurn(lesson, sheets) {
  const revision = lesson?.view?.revision;
  const waiting = [...sheets].map((sheet) => ({ sheet, away: outOfSight(sheet.element) })).sort((one, other) => one.away - other.away);
  for (const { sheet } of waiting) sheet.age();
  for (const { sheet } of waiting) if (lesson?.view?.revision === revision) await sheet.draw();
}

/** How many pixels an element lies above or below the window. @param {Element} element */
function outOfSight(element) {
  const { top, bottom } = element.getBoundingClientRect();
  return Math.max(0, top - window.innerHeight, -bottom);
}

export class StudyList extends HTMLElement {
  /**
   * @param {import("./lesson.js").Lesson} lesson
   * @param {import("./hear.js").Hear} hear
   */
  join(lesson, hear) {
    this.lesson = lesson;
    this.hear = hear;
    /** @type {Map<string, Sheet>} */
    this.sheets = new Map();
    /** @type {Record<string, number[]>} bars that are kept, by study */
    this.kept = read(`${lesson.key}:kept`, {});
    lesson.addEventListener("view", () => this.show());
    hear.addEventListener("change", () => this.mark());
    NARROW.addEventListener("change", () => drawInTurn(this.lesson, this.sheets?.values() || []));
    this.show();
  }

  show() {
    const plan = this.lesson?.view?.plan;
    if (!plan || !this.lesson) return;
    for (const study of plan.studies) {
      if (!this.sheets?.has(study.id)) this.sheets?.set(study.id, new Sheet(this.lesson, study.id, study.title));
    }
    const shown = plan.studies.map((study) => /** @type {Sheet} */ (this.sheets?.get(study.id)));
    drawInTurn(this.lesson, shown); // asked for first: it comes while the rest is shown
    redraw(this, () => this.replaceChildren(...plan.studies.map((study, index) => this.study(study, index + 1))));
    this.mark();
  }

  /**
   * @param {Desk.Study} study
   * @param {number} number
   */
  study(study, number) {
    const sheet = /** @type {Sheet} */ (this.sheets?.get(study.id));
    const bars = Array.from({ length: study.bars }, (_, index) => index + 1);
    const kept = (this.kept?.[study.id] || []).filter((bar) => bar <= study.bars);
    return el(
      "article",
      { class: "study", "data-piece": study.id, "data-prefixes": sheet.prefix, "aria-labelledby": `title-${study.id}` },
      el("h3", { id: `title-${study.id}` }, study.title),
      el("p", { class: "study-deeds" }, button("Hear", study.title, () => this.hear?.toggle(study.id, study.title), { "data-key": `hear ${study.id}`, class: "hear" }), el("span", { class: "help" }, study.facts)),
      el("div", { class: "row" }, sheet.element, el("aside", { class: "margin", "aria-label": `Reasons of ${study.title}` }, ...study.reasons.map((reason) => this.reason(reason)))),
      el(
        "fieldset",
        { class: "bars" },
        el("legend", {}, "Keep these bars"),
        ...bars.map((bar) =>
          el("label", { class: "tick" }, el("input", { type: "checkbox", "data-key": `keep ${study.id} ${bar}`, checked: kept.includes(bar), onchange: (/** @type {Event} */ event) => this.keep(study.id, bar, /** @type {HTMLInputElement} */ (event.target).checked) }), ` ${bar}`),
        ),
        button("Draw the other bars anew", `of ${study.title}`, () => this.again(study, number), { "data-key": `again ${study.id}` }),
      ),
      study.rules.length ? el("details", {}, el("summary", {}, "The rules it keeps"), el("ul", {}, ...study.rules.map((rule) => el("li", {}, sentence(rule))))) : null,
    );
  }

  /** @param {Desk.Reason} reason */
  reason(reason) {
    const at = reason.first_bar === reason.last_bar ? `Bar ${reason.first_bar}` : `Bars ${reason.first_bar}–${reason.last_bar}`;
    return el("p", { class: "pencil", "data-from-bar": reason.first_bar, "data-to-bar": reason.last_bar, title: reason.second || null }, el("span", { class: "pencil-at" }, `${at} · ${reason.letter}`), ` ${reason.words}`);
  }

  /**
   * @param {string} study
   * @param {number} bar
   * @param {boolean} keep
   */
  keep(study, bar, keep) {
    if (!this.kept || !this.lesson) return;
    const others = (this.kept[study] || []).filter((one) => one !== bar);
    this.kept[study] = keep ? [...others, bar].sort((a, b) => a - b) : others;
    write(`${this.lesson.key}:kept`, this.kept);
  }

  /**
   * @param {Desk.Study} study
   * @param {number} number
   */
  again(study, number) {
    const kept = this.kept?.[study.id] || [];
    const bars = Array.from({ length: study.bars }, (_, index) => index + 1).filter((bar) => !kept.includes(bar));
    if (!bars.length) this.lesson?.tell("All bars are kept. Let go of those that may change.", true);
    else this.lesson?.deed("studies/again", { study: number, bars }, `draw bars of ${study.title} anew`);
  }

  mark() {
    for (const article of this.querySelectorAll(".study")) {
      const hears = Boolean(this.hear?.piece?.id === /** @type {HTMLElement} */ (article).dataset.piece && this.hear?.isPlaying);
      article.classList.toggle("is-playing", hears);
      const hear = article.querySelector(".hear");
      if (hear) {
        hear.setAttribute("aria-pressed", String(hears));
        say(one(hear, "[data-word]"), hears ? "Stop" : "Hear");
      }
    }
  }
}

export class ExerciseList extends HTMLElement {
  /** @param {import("./lesson.js").Lesson} lesson */
  join(lesson) {
    this.lesson = lesson;
    /** @type {Map<string, Sheet>} */
    this.open = new Map();
    lesson.addEventListener("view", () => this.show());
    this.show();
  }

  show() {
    const plan = this.lesson?.view?.plan;
    if (!plan) return;
    const there = new Set(plan.exercises.map((exercise) => exercise.id));
    for (const id of this.open?.keys() || []) if (!there.has(id)) this.open?.delete(id);
    redraw(this, () => this.replaceChildren(el("ol", { class: "exercises" }, ...plan.exercises.map((exercise) => this.row(exercise)))));
    drawInTurn(this.lesson, this.open?.values() || []);
  }

  /** @param {Desk.Exercise} exercise */
  row(exercise) {
    const sheet = this.open?.get(exercise.id);
    return el("li", {}, el("span", { class: "named" }, exercise.title), " ", button(sheet ? "Fold" : "Show", exercise.title, () => this.toggle(exercise), { "data-key": `show ${exercise.id}`, class: "plain", "aria-pressed": String(Boolean(sheet)) }), sheet ? sheet.element : null);
  }

  /** @param {Desk.Exercise} exercise */
  toggle(exercise) {
    if (!this.lesson) return;
    if (!this.open?.delete(exercise.id)) this.open?.set(exercise.id, new Sheet(this.lesson, exercise.id, exercise.title));
    this.show();
  }
}

customElements.define("study-list", StudyList);
customElements.define("exercise-list", ExerciseList);
