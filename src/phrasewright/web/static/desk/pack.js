/* pack.js: the pack of the lesson, built with one press: progress, cancelling, opening; and the lesson as text. */

import { ask, follow, RefusedError } from "../common/asking.js";
import { el, one, say, sentence } from "../common/dom.js";

const LOOK_MS = 600;

export class PackDesk extends HTMLElement {
  /** @param {import("./lesson.js").Lesson} lesson */
  join(lesson) {
    this.lesson = lesson;
    this.append(
      el("p", { class: "pack-words", role: "status" }),
      el("p", { class: "pack-deeds" }, el("button", { type: "button", class: "is-main", id: "build-pack", onclick: () => this.build() }, "Build the pack"), el("button", { type: "button", id: "cancel-pack", hidden: true, onclick: () => this.cancel() }, "Cancel"), el("progress", { id: "pack-progress", max: "1", value: "0", hidden: true, "aria-label": "Building the pack" })),
      el("ul", { class: "pack-links" }),
      el("p", { class: "help" }, "The pack holds handout, page, audio, figures and exchange files. Students see it in their room as soon as it is built."),
    );
    lesson.addEventListener("view", () => this.lookSoon());
    this.look();
  }

  /** Once the change that was made has been engraved. */
  lookSoon() {
    window.clearTimeout(this.looking);
    this.looking = window.setTimeout(() => this.look(), LOOK_MS);
  }

  /** What there is, and whether it is of this state. */
  async look() {
    if (this.job || !this.lesson) return;
    const pack = await ask("GET", `${this.lesson.path}/pack`).catch(() => null);
    if (!pack || this.job) return;
    this.show(pack);
  }

  /** @param {Desk.Pack} pack */
  show(pack) {
    const id = this.lesson?.id;
    const problems = this.lesson?.view?.problems.length;
    const words = !pack.built ? "There is no pack yet." : pack.current ? "The pack is up to date." : "The lesson has changed since the pack was built.";
    say(one(this, ".pack-words"), problems ? `${words} What is wrong with the lesson has to be mended before the next one.` : words);
    /** @type {HTMLButtonElement} */ (one(this, "#build-pack")).disabled = Boolean(problems);
    const links = pack.built
      ? [
          el("li", {}, el("a", { href: `/pack/${id}/index.html`, id: "open-pack" }, "Open the page")),
          el("li", {}, el("a", { href: `/room/${id}/`, id: "open-room" }, "Open the student's room")),
          el("li", {}, el("a", { href: `/pack/${id}/handout-a4.pdf` }, "Handout, A4")),
          el("li", {}, el("a", { href: `/pack/${id}/handout-letter.pdf` }, "Handout, Letter")),
          el("li", {}, el("a", { href: `/pack/${id}.zip` }, "Everything in one file")),
        ]
      : [];
    one(this, ".pack-links").replaceChildren(...links);
  }

  async build() {
    if (!this.lesson || this.job) return;
    this.lesson.busy ? await this.lesson.chain : null;
    try {
      const begun = await ask("POST", `${this.lesson.path}/pack`);
      this.follow(begun.job);
    } catch (error) {
      if (error instanceof RefusedError) this.lesson.tell(error.words, true);
      else throw error;
    }
  }

  /** @param {string} job */
  follow(job) {
    this.job = job;
    this.working(true);
    follow(job, (news) => {
      const progress = /** @type {HTMLProgressElement} */ (one(this, "#pack-progress"));
      progress.value = news.share;
      say(one(this, ".pack-words"), news.state === "queued" ? "Waiting for its turn." : news.words ? sentence(news.words) : "Building the pack.");
      if (news.state === "queued" || news.state === "running") return;
      this.job = "";
      this.working(false);
      if (news.state === "failed") this.lesson?.tell(news.refusal ? `${news.refusal.message} ${news.refusal.hint}` : news.words || "The pack could not be built.", true);
      if (news.state === "done") this.lesson?.tell("The pack is built.");
      if (news.state === "cancelled") this.lesson?.tell("Stopped; the pack is as it was.");
      this.look();
    });
  }

  async cancel() {
    if (this.job) await ask("DELETE", `/api/jobs/${this.job}`).catch(() => null);
  }

  /** @param {boolean} working */
  working(working) {
    one(this, "#cancel-pack").hidden = !working;
    one(this, "#pack-progress").hidden = !working;
    /** @type {HTMLButtonElement} */ (one(this, "#build-pack")).disabled = working;
  }
}

export class LessonText extends HTMLElement {
  /** @param {import("./lesson.js").Lesson} lesson */
  join(lesson) {
    this.lesson = lesson;
    this.append(
      el("label", { for: "whole-text" }, "The file, whole"),
      el("textarea", { id: "whole-text", rows: "18", spellcheck: "false" }),
      el("p", {}, el("button", { type: "button", onclick: () => this.save() }, "Save the text"), " ", el("button", { type: "button", class: "plain", onclick: () => this.read() }, "Read it anew")),
    );
    this.fold?.addEventListener("toggle", () => this.read());
    lesson.addEventListener("line", (event) => this.showLine(/** @type {CustomEvent} */ (event).detail));
  }

  get area() {
    return /** @type {HTMLTextAreaElement} */ (one(this, "#whole-text"));
  }

  get fold() {
    return this.closest("details");
  }

  /** Open the text at a line. @param {number} line from 1 */
  async showLine(line) {
    if (this.fold) this.fold.open = true;
    await this.read();
    const { area } = this;
    const lines = area.value.split("\n");
    const from = lines.slice(0, line - 1).join("\n").length + (line > 1 ? 1 : 0);
    area.focus();
    area.setSelectionRange(from, from + (lines[line - 1] || "").length);
    area.scrollTop = area.scrollHeight * ((line - 1) / Math.max(lines.length, 1)) - area.clientHeight / 2;
  }

  async read() {
    if (!this.lesson || !(this.fold?.open ?? true)) return;
    const found = await ask("GET", `${this.lesson.path}/text`);
    this.area.value = found.text;
    this.revision = found.revision;
  }

  async save() {
    const { lesson } = this;
    if (!lesson) return;
    try {
      lesson.show(await ask("PUT", `${lesson.path}/text`, { revision: this.revision, text: this.area.value }));
      this.revision = lesson.view?.revision;
    } catch (error) {
      if (error instanceof RefusedError) lesson.tell(error.words, true);
      else throw error;
    }
  }
}

customElements.define("pack-desk", PackDesk);
customElements.define("lesson-text", LessonText);
