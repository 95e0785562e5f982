/** live-listener.js: "Listen to me": what is played lights on the neck and on the shelf while it is played. */

import { NoMicrophone } from "./microphone.js";
import { MotifSpotter, shelfOf } from "./motif-spotter.js";
import { NeckLight } from "./neck-light.js";
import { onKey } from "./player.js";

const USE = "listening";
const MOTIF_MS = 2500; // a motif stays lit
const NAMES = ["C", "C♯", "D", "E♭", "E", "F", "F♯", "G", "A♭", "A", "B♭", "B"];
const OFF_KEY_CENTS = 25; // then it is said that a note is high or low

/**
 * @param {import("./notes.js").NoteEvent} note
 * @param {string} place "" when the necks do not show it
 */
export function noteWords({ midi, cents }, place) {
  const name = `${NAMES[midi % 12]}${Math.floor(midi / 12) - 1}`;
  const tune = cents >= OFF_KEY_CENTS ? ", high" : cents <= -OFF_KEY_CENTS ? ", low" : "";
  return `${name}${tune}${place ? "" : ", not in this place"}`;
}

/** Of the lesson, where its page says so. */
function concertPitchHz() {
  return window.Phrasewright?.lesson.a4 || 440;
}

/** <live-listener>: the switch, and what is heard, in words. */
export class LiveListener extends HTMLElement {
  /**
   * @param {import("./player.js").Player} player
   * @param {import("./microphone.js").Microphone} microphone
   */
  join(player, microphone) {
    this.player = player;
    this.microphone = microphone;
    this.neck = new NeckLight(player);
    this.spotter = new MotifSpotter(shelfOf(player.desk.pieces));
    /** @type {AudioWorkletNode | null} */
    this.node = null;
    /** @type {Map<string, number>} */
    this.timers = new Map();
    this.innerHTML = `
      <label class="tick"><input type="checkbox" aria-keyshortcuts="H"> Listen to me <kbd aria-hidden="true">H</kbd></label>
      <span class="heard-now" data-heard></span>`;
    this.box = /** @type {HTMLInputElement} */ (this.querySelector("input"));
    this.heard = /** @type {HTMLElement} */ (this.querySelector("[data-heard]"));
    this.box.addEventListener("change", () => this.turn());
    onKey(player, "h", () => this.box?.click());
  }

  async turn() {
    const { box, microphone, heard } = this;
    if (!box || !microphone || !heard || !this.player) return;
    if (!box.checked) {
      this.rest();
      return;
    }
    heard.textContent = "Waiting for the microphone";
    try {
      await microphone.hold(USE);
      if (!box.checked) return this.rest();
      this.node = microphone.node("note-listener", { a4Hz: concertPitchHz() });
      this.node.port.onmessage = ({ data }) => this.hear(data);
      heard.textContent = "Listening";
      this.player.controls.say("Listening. What you play lights on the neck.");
    } catch (error) {
      if (!(error instanceof NoMicrophone)) throw error;
      box.checked = false;
      heard.textContent = error.message;
      this.player.controls.say(error.message);
    }
  }

  rest() {
    if (this.node) this.microphone?.release(this.node);
    this.node = null;
    this.microphone?.letGo(USE);
    this.neck?.clear();
    if (this.heard) this.heard.textContent = "";
  }

  /** @param {import("./notes.js").NoteEvent} note */
  hear(note) {
    const { neck, heard, spotter } = this;
    if (!neck || !heard || !spotter) return;
    if (note.kind === "off") {
      neck.clear();
      return;
    }
    const words = noteWords(note, neck.show(note.midi));
    const motif = spotter.take(note.midi, note.atS);
    heard.textContent = motif ? `${words} · ${motif.title}` : words;
    if (motif) this.lightMotif(motif.id);
  }

  /** @param {string} id */
  lightMotif(id) {
    const card = document.querySelector(`.motif[data-piece~="${id}"]`);
    if (!card) return;
    window.clearTimeout(this.timers?.get(id));
    card.classList.add("is-heard");
    this.timers?.set(id, window.setTimeout(() => card.classList.remove("is-heard"), MOTIF_MS));
  }
}

customElements.define("live-listener", LiveListener);
