/** take-sender.js: takes on their way: what is kept in this browser, how far it is sent, how far the studio has listened. */

import { follow, NotDoneError } from "../common/asking.js";
import { button, el } from "../common/dom.js";
import { cancelJob, sendTake } from "./api.js";
import { clockWords, whenWords } from "./words.js";
import { wavOf } from "./wav.js";

const ALIVE_MS = 10_000; // a take written to so lately may still be recorded, in another window

/** <take-sender>. Tells `take-heard` when the studio is through with one; detail: its id, "" when it was not heard. */
export class TakeSender extends HTMLElement {
  /**
   * @param {import("./store.js").Store} store
   * @param {string} lesson
   */
  join(store, lesson) {
    this.store = store;
    this.lesson = lesson;
    return this.offer();
  }

  /** Offer every take that is kept here. */
  async offer() {
    for (const take of (await this.store?.list(this.lesson ?? "")) ?? []) {
      if (Date.now() - take.touchedMs > ALIVE_MS) this.keptRow(take, "It has not been sent yet.");
      else window.setTimeout(() => this.offerLater(take.key), ALIVE_MS);
    }
  }

  /** @param {string} key */
  async offerLater(key) {
    const kept = (await this.store?.list(this.lesson ?? ""))?.find((take) => take.key === key);
    if (!kept || this.querySelector(`[data-key="${key}"]`)) return;
    if (Date.now() - kept.touchedMs > ALIVE_MS) this.keptRow(kept, "It has not been sent yet.");
    else window.setTimeout(() => this.offerLater(key), ALIVE_MS);
  }

  /**
   * @param {import("./store.js").KeptTake} take
   * @param {...(Node | string)} parts
   */
  row(take, ...parts) {
    let row = this.querySelector(`[data-key="${take.key}"]`);
    if (!row) this.append((row = el("div", { class: "sending", "data-key": take.key })));
    const name = el("p", { class: "sending-name" }, `${take.title}, ${clockWords(take.seconds)}, ${whenWords(take.recordedAt)}`);
    row.replaceChildren(name, ...parts);
    return row;
  }

  /**
   * @param {import("./store.js").KeptTake} take
   * @param {string} why
   */
  keptRow(take, why) {
    const which = `the take of ${take.title}, ${whenWords(take.recordedAt)}`;
    this.row(
      take,
      el("p", { role: "status" }, `This take is kept in this browser. ${why}`),
      button("Send it", which, () => this.send(take)),
      button("Save it as a file", which, () => this.save(take)),
      button("Throw it away", which, () => this.throwAway(take)),
    );
  }

  /**
   * Send a take; when that fails it stays here.
   *
   * @param {import("./store.js").KeptTake} take
   */
  async send(take) {
    const meter = /** @type {HTMLProgressElement} */ (el("progress", { max: "1", "aria-label": `Sending ${take.title}` }));
    const words = el("span", { role: "status" }, "Sending");
    this.row(take, meter, words);
    try {
      const { id, job } = await sendTake(take, await this.wav(take), (share) => {
        meter.value = share;
        words.textContent = `Sent, ${Math.round(100 * share)} %`;
      });
      await this.store?.remove(take.key);
      if (job) this.follow(take, id, job);
      else this.heard(take, id);
    } catch (error) {
      if (!(error instanceof NotDoneError)) throw error;
      this.keptRow(take, error.words);
    }
  }

  /** @param {import("./store.js").KeptTake} take */
  async wav(take) {
    return wavOf((await this.store?.sound(take.key)) ?? [], take.rateHz);
  }

  /**
   * @param {import("./store.js").KeptTake} take
   * @param {string} id
   * @param {string} job
   */
  follow(take, id, job) {
    const meter = /** @type {HTMLProgressElement} */ (el("progress", { max: "1", "aria-label": `Listening to ${take.title}` }));
    const words = el("span", { role: "status" }, "Waiting for the studio to listen");
    const cancel = button("Cancel", `listening to ${take.title}`, () => cancelJob(job).catch((error) => (words.textContent = error.words ?? error.message)));
    const row = this.row(take, meter, words, cancel);
    follow(job, (news) => {
      meter.value = news.share;
      if (words.textContent !== news.words) words.textContent = news.words;
      if (news.state === "queued" || news.state === "running") return;
      row.remove();
      this.dispatchEvent(new CustomEvent("take-heard", { detail: news.state === "done" ? id : "" }));
    });
  }

  /**
   * @param {import("./store.js").KeptTake} take
   * @param {string} id
   */
  heard(take, id) {
    this.querySelector(`[data-key="${take.key}"]`)?.remove();
    this.dispatchEvent(new CustomEvent("take-heard", { detail: id }));
  }

  /** @param {import("./store.js").KeptTake} take */
  async save(take) {
    const link = /** @type {HTMLAnchorElement} */ (document.createElement("a"));
    link.href = URL.createObjectURL(await this.wav(take));
    link.download = `${take.piece}-${take.recordedAt.slice(0, 16).replaceAll(":", "")}.wav`;
    link.click();
    window.setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
  }

  /** @param {import("./store.js").KeptTake} take */
  async throwAway(take) {
    if (!window.confirm(`Throw the take of ${take.title} away? It has not been sent, and there is no other copy.`)) return;
    await this.store?.remove(take.key);
    this.querySelector(`[data-key="${take.key}"]`)?.remove();
  }
}

customElements.define("take-sender", TakeSender);
