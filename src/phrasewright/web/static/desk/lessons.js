/* lessons.js: the list of lessons: make, copy, rename, remove, undo. */

import { ask, RefusedError } from "../common/asking.js";
import { button, el, one, redraw, say } from "../common/dom.js";

/** @typedef {{id: string, title: string, name: string, words: string, problems: number}} Row */
/** @typedef {{lessons: Row[], undo: string, redo: string}} List */

class LessonList extends HTMLElement {
  connectedCallback() {
    this.renaming = "";
    this.load();
    for (const way of ["undo", "redo"]) {
      one(document, `[data-do="${way}"]`).addEventListener("click", () => this.act(() => ask("POST", `/api/lessons/${way}`)));
    }
    one(document, "#new-lesson").addEventListener("submit", (event) => this.make(event));
    document.addEventListener("keydown", (event) => this.pressed(event));
    window.addEventListener("focus", () => this.load());
  }

  async load() {
    await this.act(() => ask("GET", "/api/lessons"));
  }

  /**
   * Do something and show the list after it; a refusal is told.
   * @param {() => Promise<any>} deed
   */
  async act(deed) {
    try {
      const answer = await deed();
      this.show(answer.lessons ? answer : await ask("GET", "/api/lessons"));
    } catch (error) {
      this.tell(error instanceof RefusedError ? error.words : "The studio does not answer. Start it again, then reload this page.");
    }
  }

  /** @param {List} list */
  show(list) {
    this.list = list;
    for (const way of /** @type {const} */ (["undo", "redo"])) {
      /** @type {HTMLButtonElement} */ (one(document, `[data-do="${way}"]`)).disabled = !list[way];
      say(one(document, `[data-show="${way}"]`), list[way]);
    }
    const rows = list.lessons.map((lesson) => this.row(lesson));
    redraw(this, () => this.replaceChildren(rows.length ? el("ul", { class: "entries" }, ...rows) : el("p", {}, "There is no lesson yet. Make one below.")));
    document.documentElement.classList.add("is-ready");
  }

  /** @param {Row} lesson */
  row(lesson) {
    if (this.renaming === lesson.id) return this.renamingRow(lesson);
    const mend = lesson.problems ? `${lesson.problems} to mend` : "";
    return el(
      "li",
      {},
      el("a", { class: "named", href: `/desk/${lesson.id}/`, "data-key": `open ${lesson.id}` }, lesson.title),
      el("p", { class: "help" }, [lesson.words, mend].filter(Boolean).join(" · ")),
      button("Copy", lesson.title, () => this.act(() => ask("POST", `/api/lessons/${lesson.id}/copy`)), { "data-key": `copy ${lesson.id}` }),
      button("Rename", lesson.title, () => this.rename(lesson.id), { "data-key": `rename ${lesson.id}` }),
      button("Remove", lesson.title, () => this.act(() => ask("DELETE", `/api/lessons/${lesson.id}`)), { "data-key": `remove ${lesson.id}` }),
    );
  }

  /** @param {Row} lesson */
  renamingRow(lesson) {
    const field = /** @type {HTMLInputElement} */ (el("input", { type: "text", id: "renamed", value: lesson.title, maxlength: "120", required: true, autocomplete: "off" }));
    const done = (/** @type {Event} */ event) => {
      event.preventDefault();
      this.renaming = "";
      this.act(() => ask("PATCH", `/api/lessons/${lesson.id}`, { title: field.value }));
    };
    window.setTimeout(() => field.select());
    return el("li", {}, el("form", { class: "line", onsubmit: done }, el("div", { class: "asked" }, el("label", { for: "renamed" }, "Title"), field), el("button", {}, "Rename"), el("button", { type: "button", class: "plain", onclick: () => this.rename("") }, "Leave it")));
  }

  /** @param {string} id */
  rename(id) {
    this.renaming = id;
    if (this.list) this.show(this.list);
    if (id) one(this, "#renamed").focus();
  }

  /** @param {Event} event */
  async make(event) {
    event.preventDefault();
    const form = /** @type {HTMLFormElement} */ (event.target);
    try {
      const made = await ask("POST", "/api/lessons", Object.fromEntries(new FormData(form)));
      window.location.assign(`/desk/${made.id}/`);
    } catch (error) {
      this.tell(error instanceof RefusedError ? error.words : "The studio does not answer. Start it again, then try once more.");
    }
  }

  /** @param {KeyboardEvent} event */
  pressed(event) {
    const key = event.key.toLowerCase();
    if (!(event.ctrlKey || event.metaKey) || event.altKey || (key !== "z" && key !== "y")) return;
    if (document.activeElement instanceof HTMLInputElement) return;
    event.preventDefault();
    this.act(() => ask("POST", `/api/lessons/${key === "y" || event.shiftKey ? "redo" : "undo"}`));
  }

  /** @param {string} words */
  tell(words) {
    const box = el("div", { class: "notice is-refusal", role: "alert" }, el("p", {}, words), el("button", { type: "button", class: "plain", onclick: () => box.remove() }, "Close"));
    one(document, "#notices").replaceChildren(box);
  }
}

customElements.define("lesson-list", LessonList);
