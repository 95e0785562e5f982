/* counts.js: the counts of the lesson: listed, written as they are spoken, or tapped on a key to a click. */

import { ask, RefusedError } from "../common/asking.js";
import { button, el, one, redraw, say, sentence, svg } from "../common/dom.js";

const CHECK_MS = 150;
const TAPPED_BARS = 2;
const TAP_KEYS = new Set([" ", "j", "k", "f", "d"]);

export class CountList extends HTMLElement {
  /**
   * @param {import("./lesson.js").Lesson} lesson
   * @param {import("./hear.js").Hear} hear
   */
  join(lesson, hear) {
    this.lesson = lesson;
    this.hear = hear;
    this.append(el("div", { class: "counts-there" }), this.adding(), this.pad());
    lesson.addEventListener("view", () => this.show());
    document.addEventListener("keydown", (event) => this.key(event, true));
    document.addEventListener("keyup", (event) => this.key(event, false));
    this.show();
  }

  /** The counts in the file; null when the plain ones serve. @returns {string[] | null} */
  get own() {
    return /** @type {string[] | null} */ (this.lesson?.view?.values.rhythm.counts || null);
  }

  show() {
    const plan = this.lesson?.view?.plan;
    if (!plan) return;
    redraw(this, () =>
      one(this, ".counts-there").replaceChildren(
        el("p", { class: "help" }, this.own ? "These are spoken; sizes of motifs without one get plain counts." : "These plain counts serve as long as there is none of your own."),
        el("dl", { class: "counts" }, ...plan.counts.map((count) => this.row(count))),
      ),
    );
  }

  /** @param {Desk.Count} count */
  row(count) {
    const own = this.own?.includes(count.text);
    return el(
      "div",
      {},
      el("dt", {}, count.text),
      el("dd", {}, picture(count), el("span", {}, `${sentence(count.words)} For ${count.notes} notes.`), own ? button("Take out", count.text, () => this.drop(count.text), { "data-key": `drop ${count.text}`, class: "plain" }) : null),
    );
  }

  adding() {
    return el(
      "div",
      {},
      el(
        "form",
        { class: "line", onsubmit: (/** @type {Event} */ event) => this.add(event), "aria-label": "A count of your own" },
        el("div", { class: "asked" }, el("label", { for: "own-count" }, "A count, as it is spoken"), el("input", { type: "text", id: "own-count", placeholder: "1 & 2", autocomplete: "off", spellcheck: "false", "aria-describedby": "count-help count-wrong", oninput: () => this.check() })),
        el("button", {}, "Add"),
        el("button", { type: "button", id: "tap-start", onclick: () => this.startTapping() }, "Tap it"),
      ),
      el("p", { class: "help", id: "count-help" }, "1 2 3 4 on the beats, & e a between, trip let for thirds, - to hold, (2) for a rest, | for the next bar."),
      el("p", { class: "wrong", id: "count-wrong", hidden: true }),
    );
  }

  pad() {
    return el(
      "div",
      { class: "tap-pad", hidden: true },
      el("button", { type: "button", id: "tap-here", onpointerdown: (/** @type {Event} */ event) => this.tap(event, true), onpointerup: (/** @type {Event} */ event) => this.tap(event, false), onpointercancel: (/** @type {Event} */ event) => this.tap(event, false) }, "Tap here"),
      el("p", { id: "tap-words", role: "status" }),
      el("button", { type: "button", class: "plain", onclick: () => this.stopTapping(true) }, "Done"),
      el("button", { type: "button", class: "plain", onclick: () => this.stopTapping(false) }, "Leave it"),
    );
  }

  // ---- written

  /** @param {string[] | null} counts @returns {import("./lesson.js").Change[]} */
  changes(counts) {
    return [{ path: ["rhythm", "counts"], value: counts?.length ? counts : null }];
  }

  get field() {
    return /** @type {HTMLInputElement} */ (one(this, "#own-count"));
  }

  check() {
    window.clearTimeout(this.timer);
    this.timer = window.setTimeout(async () => {
      const text = this.field.value.trim();
      const checked = text ? await this.lesson?.check(this.changes([...(this.own || []), text])) : null;
      if (this.field.value.trim() === text) this.tell(checked?.problems || []);
    }, CHECK_MS);
  }

  /** @param {Desk.Problem[]} problems */
  tell(problems) {
    const mine = problems.filter((problem) => problem.path[0] === "rhythm" && problem.path[2] === (this.own || []).length);
    const place = one(this, "#count-wrong");
    place.hidden = !mine.length;
    say(place, mine.map((problem) => `${problem.what}. ${problem.hint}`).join(" "));
    return mine.length === 0;
  }

  /** @param {Event} event */
  async add(event) {
    event.preventDefault();
    const text = this.field.value.trim();
    if (!text || !this.lesson) return;
    const changes = this.changes([...(this.own || []), text]);
    const checked = await this.lesson.check(changes);
    if (!this.tell(checked?.problems || [])) {
      this.field.focus();
      return;
    }
    this.lesson.change(changes, `count ${text}`);
    this.field.value = "";
  }

  /** @param {string} text */
  drop(text) {
    this.lesson?.change(this.changes((this.own || []).filter((count) => count !== text)), `take out count ${text}`);
  }

  // ---- tapped

  startTapping() {
    const view = this.lesson?.view;
    if (!view?.plan || !this.hear) return;
    this.hear.stop();
    const meter = String(view.values.band.meter);
    const [upper, lower] = meter.split("/").map(Number);
    const quarters = view.plan.tempos[0] * view.plan.beat; // quarter notes a minute
    const unitS = ((4 / lower) * 60) / quarters;
    const units = upper * (1 + TAPPED_BARS);
    const clicks = this.hear.clicks(units, upper, unitS);
    this.tapping = { meter, clicks, quarters, begin: clicks.start + upper * unitS, onsets: /** @type {number[]} */ ([]), ends: /** @type {number[]} */ ([]) };
    one(this, ".tap-pad").hidden = false;
    one(this, "#tap-here").focus();
    this.tellTapping(`One bar to count, then tap: ${TAPPED_BARS} bars at ${Math.round(view.plan.tempos[0])}. Space, D, F, J and K tap too; hold them as long as the note.`);
    this.ending = window.setTimeout(() => this.stopTapping(true), (units + 0.4) * unitS * 1000);
  }

  /** @param {Event} event @param {boolean} down */
  tap(event, down) {
    if (!this.tapping) return;
    event.preventDefault();
    this.note(event.timeStamp, down);
  }

  /** @param {KeyboardEvent} event @param {boolean} down */
  key(event, down) {
    if (!this.tapping || !TAP_KEYS.has(event.key.toLowerCase()) || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    if (!event.repeat) this.note(event.timeStamp, down);
  }

  /**
   * When the key went down or up, in quarter notes from the first tapped bar.
   * @param {number} stampMs
   * @param {boolean} down
   */
  note(stampMs, down) {
    const context = this.hear?.context;
    if (!this.tapping || !context) return;
    const age = (performance.now() - stampMs) / 1000;
    const heard = context.currentTime - (context.outputLatency || context.baseLatency || 0) - age;
    const quarter = ((heard - this.tapping.begin) * this.tapping.quarters) / 60;
    const { onsets, ends } = this.tapping;
    if (down && quarter > -0.3) onsets.push(quarter);
    else if (!down && ends.length < onsets.length) ends.push(Math.max(quarter, onsets[ends.length] + 0.05));
    this.tellTapping(`${onsets.length} ${onsets.length === 1 ? "tap" : "taps"}`);
  }

  /** @param {boolean} keep */
  async stopTapping(keep) {
    const tapping = this.tapping;
    if (!tapping) return;
    this.tapping = undefined;
    window.clearTimeout(this.ending);
    tapping.clicks.stop();
    one(this, ".tap-pad").hidden = true;
    one(this, "#tap-start").focus();
    if (!keep || !tapping.onsets.length) return;
    while (tapping.ends.length < tapping.onsets.length) tapping.ends.push(tapping.onsets[tapping.ends.length] + 0.25);
    try {
      const count = await ask("POST", "/api/taps", { meter: tapping.meter, onsets: tapping.onsets, ends: tapping.ends });
      this.field.value = count.text;
      this.field.focus();
      this.check();
    } catch (error) {
      if (!(error instanceof RefusedError)) throw error;
      this.lesson?.tell(error.words, true);
    }
  }

  /** @param {string} words */
  tellTapping(words) {
    say(one(this, "#tap-words"), words);
  }
}

/**
 * A count as bars of ink on open paper: rest is as wide as it lasts.
 * @param {Desk.Count} count
 */
function picture(count) {
  const width = 160;
  const drawing = svg("svg", { viewBox: `0 0 ${width} 16`, width, height: 16, "aria-hidden": "true", class: "count-picture" });
  drawing.append(svg("line", { x1: 0, x2: width, y1: 14, y2: 14, class: "ground" }));
  for (const [onset, duration] of count.strokes) {
    drawing.append(svg("rect", { x: (onset / count.length) * width, y: 3, width: Math.max(2, (duration / count.length) * width - 1.5), height: 9, class: "stroke" }));
  }
  return drawing;
}

customElements.define("count-list", CountList);
