/** take-review.js: the takes of the lesson, and what was found in the one that is open, here and beside the notation. */

import { NotDoneError } from "../common/asking.js";
import { button, el, one, say } from "../common/dom.js";
import { removeTake, restoreTake, takeOf, takesOf } from "./api.js";
import { TakePlayer } from "./take-player.js";
import { barsOf, clockWords, sureWords, whenWords } from "./words.js";

const NEWS_MS = 3000; // between two questions after takes that are still listened to

/**
 * @typedef {import("./api.js").Take} Take
 * @typedef {import("./api.js").Finding} Finding
 * @typedef {import("./api.js").TakenNote} TakenNote
 */

/** <take-review>. */
export class TakeReview extends HTMLElement {
  /**
   * @param {import("./player.js").Player} player
   * @param {string} lesson
   */
  join(player, lesson) {
    this.player = player;
    this.lesson = lesson;
    this.sound = new TakePlayer(player, () => this.showSound());
    this.said = el("p", { class: "take-said", role: "status" });
    this.list = el("ul", { class: "takes" });
    this.open = el("div", { class: "take-open" });
    this.replaceChildren(this.said, this.list, this.open);
    /** @type {[HTMLButtonElement, unknown][]} */
    this.hearers = [];
    return this.refresh();
  }

  /** Ask for the takes anew. */
  async refresh() {
    const { lesson, list } = this;
    if (!lesson || !list) return;
    await this.trying(async () => {
      const takes = await takesOf(lesson);
      list.replaceChildren(...takes.map((take) => this.row(take)));
      window.clearTimeout(this.later);
      if (takes.some((take) => take.state === "waiting")) this.later = window.setTimeout(() => this.refresh(), NEWS_MS);
    });
  }

  /**
   * Say in words what a request was refused for.
   *
   * @param {() => Promise<void>} act
   */
  async trying(act) {
    try {
      await act();
    } catch (error) {
      if (!this.said) throw error;
      this.said.textContent = error instanceof NotDoneError ? error.words : error instanceof Error ? error.message : String(error);
    }
  }

  /** @param {Take} take */
  row(take) {
    const row = el("li", { "data-take": take.id });
    const which = `${take.title}, ${whenWords(take.recorded_at)}`;
    const facts = `${Math.round(take.tempo_bpm)} beats a minute, ${clockWords(take.seconds)}`;
    const name = el("p", { class: "take-name" }, which);
    name.append(el("span", { class: "help" }, facts));
    const acts = el("p", { class: "take-acts" });
    if (take.state === "heard") acts.append(button("What was heard", `in ${which}`, () => this.show(take.id).then(() => this.querySelector("h3")?.focus())));
    else acts.append(el("span", { class: "help" }, take.words || "waiting for the studio to listen"));
    acts.append(button("Delete", which, () => this.removeOne(take, row)));
    row.append(name, acts);
    return row;
  }

  /**
   * @param {Take} take
   * @param {HTMLElement} row
   */
  removeOne(take, row) {
    return this.trying(async () => {
      await removeTake(take.id);
      if (this.shown?.id === take.id) this.close();
      const back = button("Bring it back", `the take of ${take.title}`, () => this.trying(async () => {
        await restoreTake(take.id);
        await this.refresh();
        /** @type {HTMLElement | null} */ (this.querySelector(`[data-take="${take.id}"] button`))?.focus();
      }));
      row.replaceChildren(el("span", { class: "take-name", role: "status" }, `The take of ${take.title} is deleted.`), back);
      back.focus();
    });
  }

  /**
   * Open a take.
   *
   * @param {string} id
   */
  show(id) {
    return this.trying(async () => {
      const take = await takeOf(id);
      this.close();
      this.shown = take;
      const title = el("h3", { tabindex: "-1" }, `Heard in ${take.title}, ${whenWords(take.recorded_at)}`);
      this.open?.replaceChildren(title, ...this.parts(take));
      this.pencil(take);
      this.player?.controls.say(`${take.title}: ${take.words}`);
    });
  }

  close() {
    this.sound?.stop();
    this.shown = null;
    this.hearers = [];
    this.open?.replaceChildren();
    for (const note of document.querySelectorAll(".heard-note")) note.remove();
  }

  /** @param {Take} take */
  parts(take) {
    const whole = this.hearer(take, take, 0, take.seconds, "Hear the take", "");
    const report = el("a", { href: take.report }, "The whole report");
    const line = el("p", { class: "take-line" });
    line.append(whole, report);
    const findings = el("ol", { class: "findings" });
    findings.append(...(take.findings ?? []).map((finding) => this.finding(take, finding)));
    return [el("p", {}, take.words), line, findings, this.notes(take)];
  }

  /**
   * @param {Take} take
   * @param {Finding} finding
   */
  finding(take, finding) {
    const item = el("li");
    const head = el("p", { class: "finding-head" });
    head.append(el("strong", {}, barsOf(finding.bars)), ` · ${finding.topic}`);
    item.append(head, el("p", {}, finding.words), el("p", { class: "try" }, finding.try), this.foot(take, finding));
    return item;
  }

  /**
   * How sure, and the moment to hear when it has one.
   *
   * @param {Take} take
   * @param {Finding} finding
   */
  foot(take, finding) {
    const foot = el("p", { class: "finding-foot" });
    if (finding.at_s !== null && finding.end_s !== null) {
      foot.append(this.hearer(take, finding, finding.at_s, finding.end_s, "Hear it", finding.words), " ");
    }
    foot.append(el("span", { class: "help" }, sureWords(finding.confidence)));
    return foot;
  }

  /**
   * @param {Take} take
   * @param {unknown} what
   * @param {number} fromS
   * @param {number} toS
   * @param {string} words
   * @param {string} more
   */
  hearer(take, what, fromS, toS, words, more) {
    const hear = () => this.trying(() => /** @type {TakePlayer} */ (this.sound).hear(take, what, fromS, toS));
    const press = button(words, more, hear, { class: "hear", "data-at-rest": words });
    this.hearers?.push([press, what]);
    return press;
  }

  /** Every note, to play from. @param {Take} take */
  notes(take) {
    const all = take.notes ?? [];
    const fold = el("details", { class: "taken-notes" });
    const list = el("ol");
    for (const note of all) {
      const item = el("li");
      const where = note.bar === null ? clockWords(note.at_s) : `Bar ${note.bar}, beat ${note.beat}`;
      const place = note.string === null ? "" : `, string ${note.string}, fret ${note.fret}`;
      const verdict = note.verdict ? `, ${note.verdict}` : "";
      item.append(this.hearer(take, note, note.at_s + 0.45, take.seconds, `${where}: ${note.name}${place}${verdict}`, "hear the take from here"));
      list.append(item);
    }
    fold.append(el("summary", {}, `Every note heard (${all.length})`), list);
    return fold;
  }

  /** Show which button's sound is heard. */
  showSound() {
    for (const [press, what] of this.hearers ?? []) {
      const sounding = this.sound?.what === what;
      press.classList.toggle("is-playing", sounding);
      if (!press.closest(".taken-notes")) say(one(press, "[data-word]"), sounding ? "Stop" : press.dataset.atRest ?? "");
    }
    for (const mark of document.querySelectorAll(".is-told")) mark.classList.remove("is-told");
    const finding = this.shown?.findings?.find((finding) => finding === this.sound?.what);
    if (!finding?.bars?.length || !this.shown) return;
    const [first, last] = [Math.min(...finding.bars), Math.max(...finding.bars)];
    for (const bar of document.querySelectorAll(`[data-piece~="${this.shown.piece}"] .strip [data-bar]`)) {
      const number = Number(bar.getAttribute("data-bar"));
      bar.classList.toggle("is-told", first <= number && number <= last);
    }
  }

  /** Write the findings beside the notation, where their first bar stands. @param {Take} take */
  pencil(take) {
    const systems = [...document.querySelectorAll(`[data-piece~="${take.piece}"] .systems [data-first-bar]`)];
    for (const finding of take.findings ?? []) {
      if (!finding.bars?.length) continue;
      const bar = Math.min(...finding.bars);
      for (const system of systems) {
        const { firstBar, lastBar } = /** @type {HTMLElement} */ (system).dataset;
        if (Number(firstBar) <= bar && bar <= Number(lastBar)) system.querySelector(".margin")?.append(this.note(take, finding));
      }
    }
  }

  /**
   * @param {Take} take
   * @param {Finding} finding
   */
  note(take, finding) {
    const note = el("div", { class: "heard-note" });
    const at = el("span", { class: "pencil-at" }, `${barsOf(finding.bars)} · heard in your take`);
    note.append(at, el("p", {}, finding.words), this.foot(take, finding));
    return note;
  }
}

customElements.define("take-review", TakeReview);
