/* lesson.js: the lesson on the desk: what the studio says of it, and what is done to it, one thing after the other.
 *
 * Events: "view" when there is a newer state, "state" when saving begins, ends or waits, "notice" with words to tell.
 * What the studio has not answered to yet is kept in the browser and sent when it answers again.
 */

import { ask, RefusedError, SilentError } from "../common/asking.js";

const LOOK_MS = 1500; // between two looks; a stream for each window would use up a browser's few connections
const AGAIN_MS = 2000; // until a studio that did not answer is asked again

/** @typedef {{path: (string | number)[], value: unknown}} Change */
/** @typedef {{changes: Change[], words: string}} Pending */

export class Lesson extends EventTarget {
  /** @param {string} id */
  constructor(id) {
    super();
    this.id = id;
    this.path = `/api/lessons/${id}`;
    /** @type {Desk.View | null} */
    this.view = null;
    /** @type {Promise<unknown>} */
    this.chain = Promise.resolve();
    this.busy = 0;
    this.isGone = false;
    /** @type {"saved" | "saving" | "kept"} */
    this.state = "saved";
    /** @type {Pending[]} */
    this.pending = read(`${this.key}:pending`, []);
  }

  get key() {
    return `phrasewright:desk:${this.id}`;
  }

  async load() {
    this.show(await ask("GET", this.path));
    for (const one of this.pending) this.send(one);
    this.listen();
  }

  /** Look now and then, while this window is seen, for changes made in another window or program. */
  listen() {
    window.setInterval(() => document.hidden || this.look(), LOOK_MS);
    document.addEventListener("visibilitychange", () => document.hidden || this.look());
  }

  async look() {
    if (!this.view || this.busy) return;
    const found = await ask("GET", `${this.path}/revision`).catch(() => null);
    if (!found || !this.view || found.revision === this.view.revision || this.busy) return;
    if (found.revision) this.catchUp();
    else if (!this.isGone) this.tell("This lesson has been removed. The list of lessons can undo that.", true);
    this.isGone = !found.revision;
  }

  async catchUp() {
    const before = this.view;
    const view = await ask("GET", this.path).catch(() => null);
    if (!view || this.busy || (this.view && view.revision <= this.view.revision)) return;
    this.show(view);
    if (before) this.tell(`Changed in another window or program${view.undo ? `: ${view.undo}` : ""}. This is the newer state.`);
  }

  /** @param {Desk.View} view */
  show(view) {
    this.view = view;
    this.dispatchEvent(new CustomEvent("view", { detail: view }));
  }

  /**
   * Change keys of the file.
   * @param {Change[]} changes
   * @param {string} words
   */
  change(changes, words) {
    const pending = { changes, words: words.slice(0, 120) };
    this.pending.push(pending);
    this.remember();
    return this.send(pending);
  }

  /** @param {Pending} pending */
  send(pending) {
    return this.next(async () => {
      await this.post("changes", { changes: pending.changes, words: pending.words }, pending.words, () => this.change(pending.changes, pending.words));
      this.pending = this.pending.filter((one) => one !== pending);
      this.remember();
    });
  }

  /**
   * Something the studio works out: pin a motif, draw bars anew.
   * @param {string} what
   * @param {Record<string, unknown>} body
   * @param {string} words
   * @returns {Promise<boolean>} whether it was done
   */
  deed(what, body, words) {
    return this.next(() => this.post(what, body, words, () => this.deed(what, body, words)));
  }

  undo() {
    return this.next(() => this.post("undo", {}, "undo", null));
  }

  redo() {
    return this.next(() => this.post("redo", {}, "redo", null));
  }

  /**
   * What a change that is being typed would say.
   * @param {Change[]} changes
   * @returns {Promise<Desk.Checked | null>} null when nobody answers or the change makes no sense
   */
  async check(changes) {
    return ask("POST", `${this.path}/check`, { changes }).catch(() => null);
  }

  /**
   * @param {string} what
   * @param {Record<string, unknown>} body
   * @param {string} words
   * @param {(() => void) | null} again
   * @returns {Promise<boolean>}
   */
  async post(what, body, words, again) {
    for (;;) {
      try {
        this.show(await ask("POST", `${this.path}/${what}`, { ...body, revision: this.view?.revision }));
        return true;
      } catch (error) {
        if (error instanceof SilentError) {
          this.enter("kept");
          await new Promise((done) => window.setTimeout(done, AGAIN_MS));
          continue;
        }
        if (!(error instanceof RefusedError)) throw error;
        if (error.status === 409) await this.newer(words, again);
        else this.tell(error.words, true);
        return false;
      }
    }
  }

  /**
   * Somebody else was first: show their state, and offer to make the change on top of it.
   * @param {string} words
   * @param {(() => void) | null} again
   */
  async newer(words, again) {
    const view = await ask("GET", this.path).catch(() => null);
    if (view) this.show(view);
    const detail = {
      words: `This lesson was changed in another window or program${view?.undo ? ` (${view.undo})` : ""}. What you did last (${words}) was not made, so that nothing is overwritten.`,
      urgent: true,
      deed: again ? { label: "Make it now", act: again } : null,
    };
    this.dispatchEvent(new CustomEvent("notice", { detail }));
  }

  /**
   * @template T
   * @param {() => Promise<T>} act
   * @returns {Promise<T>}
   */
  next(act) {
    this.busy += 1;
    this.enter("saving");
    const done = this.chain.then(act).finally(() => {
      this.busy -= 1;
      if (!this.busy) this.enter("saved");
    });
    this.chain = done.catch(() => undefined);
    return done;
  }

  /** @param {"saved" | "saving" | "kept"} state */
  enter(state) {
    this.state = state;
    this.dispatchEvent(new CustomEvent("state"));
  }

  /**
   * @param {string} words
   * @param {boolean} [urgent]
   */
  tell(words, urgent = false) {
    this.dispatchEvent(new CustomEvent("notice", { detail: { words, urgent, deed: null } }));
  }

  remember() {
    write(`${this.key}:pending`, this.pending);
  }
}

/**
 * What the browser remembers; the fallback when it remembers nothing of the kind.
 * @template T
 * @param {string} key
 * @param {T} fallback
 * @returns {T}
 */
export function read(key, fallback) {
  try {
    const found = JSON.parse(window.localStorage.getItem(key) || "null");
    return found === null || typeof found !== typeof fallback ? fallback : found;
  } catch {
    return fallback;
  }
}

/**
 * @param {string} key
 * @param {unknown} value
 */
export function write(key, value) {
  try {
    const isEmpty = value === null || (typeof value === "object" && !Object.keys(/** @type {object} */ (value)).length);
    if (isEmpty) window.localStorage.removeItem(key);
    else window.localStorage.setItem(key, JSON.stringify(value));
  } catch {
    // a full or forbidden store: the page works without
  }
}
