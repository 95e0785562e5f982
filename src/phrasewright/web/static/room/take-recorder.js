/** take-recorder.js: the section that records: microphone, level, delay, the take and its way to the studio. */

import { NoMicrophone } from "./microphone.js";
import { measure } from "./delay.js";
import { keepHabits, readHabits } from "./habits.js";
import { barsWords, onKey, watch } from "./player.js";
import { Recorder } from "./recorder.js";
import { clockWords, levelWords } from "./words.js";

const USE = "level";
const PEAK_S = 1;

const MARKUP = `
  <div class="row">
  <div>
    <p>Choose the piece, the tempo, the loop and the count-in in the bar below. A take is one time through, with the track.</p>
    <fieldset class="hearing">
      <legend>How do you hear the track?</legend>
      <label><input type="radio" name="take-hearing" value="headphones"> on headphones, so that the take holds the guitar alone</label>
      <label><input type="radio" name="take-hearing" value="room"> from a loudspeaker, so that the track is in the take too</label>
    </fieldset>
    <dl class="room-facts">
      <div><dt>Take</dt><dd data-at="what"></dd></div>
      <div><dt>Microphone</dt><dd><span data-at="microphone">off</span> <button type="button" data-act="microphone">Try the microphone</button></dd></div>
      <div><dt>Level</dt><dd><span class="level" aria-hidden="true"><span data-at="bar"></span></span> <span data-at="level">the microphone is off</span></dd></div>
      <div><dt>Delay</dt><dd><span data-at="delay"></span> <button type="button" data-act="measure" aria-describedby="take-delay-help">Measure it</button>
        <button type="button" data-act="forget">Estimate it again</button></dd></div>
    </dl>
    <p class="take-line"><button type="button" class="record" data-act="record" aria-keyshortcuts="R"><span data-at="word">Record a take</span> <kbd aria-hidden="true">R</kbd></button>
      <span class="take-clock" data-at="clock"></span></p>
    <p class="take-said" data-at="said" role="status"></p>
  </div>
  <div class="margin">
    <p>Put headphones on with the volume low, then turn it up until you just hear the track well beside the guitar. If others
      must raise their voice for you to hear them, it is too loud. Rest your ears between takes.</p>
    <p id="take-delay-help">The delay is the time from the player to your ear and from the microphone into the take. It is taken out, so that you
      are not called late. To measure it, hold the microphone to one side of the headphones, at a low volume: eight short
      chirps, six seconds.</p>
  </div>
  </div>`;

const MOTIF_WORDS = "A motif is for warming up: choose an exercise, a study or the track to record.";

/** @param {PlayerPiece} piece */
const isMotif = (piece) => piece.id.startsWith("motif-");

/** <take-recorder>. Tells `take-recorded` when a take is kept and waits to be sent. */
export class TakeRecorder extends HTMLElement {
  /**
   * @param {import("./player.js").Player} player
   * @param {import("./microphone.js").Microphone} microphone
   * @param {import("./store.js").Store} store
   * @param {string} lesson
   */
  join(player, microphone, store, lesson) {
    this.player = player;
    this.microphone = microphone;
    this.lesson = lesson;
    this.recorder = new Recorder(player, microphone, store);
    this.habits = readHabits();
    /** @type {AudioWorkletNode | null} */
    this.trying = null;
    /** @type {{at: number, peak: number}[]} */
    this.peaks = [];
    this.innerHTML = MARKUP;
    this.wire();
    watch(player, () => this.show());
    onKey(player, "r", () => this.record());
    if (!store.lasting) this.say("This browser keeps nothing: send each take before you close the page.");
    this.show();
  }

  /**
   * @param {string} name
   * @returns {HTMLElement}
   */
  at(name) {
    return /** @type {HTMLElement} */ (this.querySelector(`[data-at="${name}"]`));
  }

  wire() {
    this.addEventListener("click", (event) => {
      const pressed = /** @type {Element} */ (event.target).closest("[data-act]");
      if (pressed) this.act(/** @type {HTMLElement} */ (pressed).dataset.act ?? "");
    });
    for (const radio of /** @type {NodeListOf<HTMLInputElement>} */ (this.querySelectorAll("[name=take-hearing]"))) {
      radio.checked = (radio.value === "headphones") === this.habits?.headphones;
      radio.addEventListener("change", () => this.keep({ headphones: radio.value === "headphones" }));
    }
  }

  /** @param {string} what */
  act(what) {
    if (what === "record") this.record();
    if (what === "microphone") this.tryMicrophone();
    if (what === "measure") this.measure();
    if (what === "forget") this.keep({ delayS: null });
  }

  /** @param {Partial<import("./habits.js").Habits>} changes */
  keep(changes) {
    Object.assign(this.habits ?? {}, changes);
    if (this.habits) keepHabits(this.habits);
    this.show();
  }

  /** Seconds from the player's clock into the recording. */
  get delayS() {
    const { habits, microphone } = this;
    return habits?.delayS ?? Number(microphone?.outputDelayS) + Number(microphone?.inputDelayS);
  }

  // ---- what is shown

  show() {
    const { player, recorder, habits } = this;
    if (!player || !recorder || !habits) return;
    const { desk } = player;
    const { on, from, to } = desk.loop;
    const all = [0, desk.piece.bars.length - 1];
    const counted = desk.values.countIn === "off" ? "no count-in" : "after one bar of count-in";
    const [first, last] = on ? [from, to] : all;
    this.at("what").textContent = `${desk.piece.title}, ${barsWords(desk.piece, first, last)}, ${Math.round(desk.tapped)} beats a minute, ${counted}`;
    if (isMotif(desk.piece)) this.at("what").textContent = MOTIF_WORDS;
    /** @type {HTMLButtonElement} */ (this.querySelector("[data-act=record]")).disabled = isMotif(desk.piece) && !recorder.running;
    this.at("word").textContent = recorder.running ? "Stop the take" : "Record a take";
    this.classList.toggle("is-recording", recorder.running);
    this.showDelay();
  }

  showDelay() {
    const measured = this.habits?.delayS != null;
    const known = measured || this.player?.desk.context;
    this.at("delay").textContent = known ? `${Math.round(1000 * this.delayS)} ms, ${measured ? "measured" : "estimated"}` : "estimated when the microphone is on";
    /** @type {HTMLButtonElement} */ (this.querySelector("[data-act=forget]")).hidden = !measured;
  }

  /** @param {number} peak 0..1 */
  showLevel(peak) {
    const now = performance.now() / 1000;
    this.peaks = [...(this.peaks ?? []).filter(({ at }) => now - at < PEAK_S), { at: now, peak }];
    const db = 20 * Math.log10(Math.max(peak, 1e-4));
    this.at("bar").style.width = `${Math.max(0, Math.min(100, (100 * (db + 60)) / 60))}%`;
    const words = levelWords(Math.max(...this.peaks.map((one) => one.peak)));
    if (this.at("level").textContent !== words) this.at("level").textContent = words;
  }

  showOff() {
    this.peaks = [];
    this.at("bar").style.width = "0";
    this.at("level").textContent = "the microphone is off";
    this.at("microphone").textContent = "off";
  }

  /** @param {string} words */
  say(words) {
    this.at("said").textContent = words;
  }

  // ---- what the student does

  async tryMicrophone() {
    const { microphone, trying, recorder } = this;
    if (!microphone || recorder?.running) return;
    const press = /** @type {HTMLElement} */ (this.querySelector("[data-act=microphone]"));
    if (trying) {
      microphone.release(trying);
      microphone.letGo(USE);
      this.trying = null;
      this.showOff();
      press.textContent = "Try the microphone";
      return;
    }
    await this.withMicrophone(USE, async () => {
      this.trying = microphone.node("sound-keeper");
      this.trying.port.onmessage = ({ data }) => this.showLevel(data.peak);
      press.textContent = "Switch it off";
    });
  }

  async measure() {
    const { microphone, recorder } = this;
    if (!microphone || recorder?.running || this.measuring) return;
    this.measuring = true;
    this.player?.desk.stop();
    this.say("Measuring. Hold the microphone to the headphones.");
    await this.withMicrophone("measure", async () => {
      const delayS = await measure(microphone);
      microphone.letGo("measure");
      if (delayS === null) {
        this.say("The chirps were not heard alike, so nothing was changed. Hold the microphone closer, or turn the volume up a little.");
        return;
      }
      this.keep({ delayS });
      this.say(`Measured: ${Math.round(1000 * delayS)} ms.`);
    });
    this.measuring = false;
    if (!microphone.holders.size) this.showOff();
  }

  async record() {
    const { recorder, habits, lesson, player } = this;
    if (!recorder || !habits || !lesson || this.measuring) return;
    if (recorder.running) {
      recorder.stop();
      return;
    }
    if (this.trying) await this.tryMicrophone();
    this.say("");
    try {
      const about = { lesson, alone: habits.headphones, delayS: () => this.delayS };
      const recording = recorder.record(about, (peak, seconds) => {
        this.showLevel(peak);
        this.at("microphone").textContent = this.microphone?.name || "on";
        this.at("clock").textContent = clockWords(seconds);
      });
      this.show();
      const { take, words } = await recording;
      this.say(words);
      if (take) this.dispatchEvent(new CustomEvent("take-recorded", { detail: take }));
    } catch (error) {
      if (!(error instanceof NoMicrophone)) throw error;
      this.say(error.message);
      player?.controls.say(error.message);
    } finally {
      this.at("clock").textContent = "";
      this.showOff();
      this.show();
    }
  }

  /**
   * @param {string} use
   * @param {() => Promise<void>} act
   */
  async withMicrophone(use, act) {
    try {
      await this.microphone?.hold(use);
      this.at("microphone").textContent = this.microphone?.name || "on";
      this.showDelay();
      await act();
    } catch (error) {
      if (!(error instanceof NoMicrophone)) throw error;
      this.say(error.message);
    }
  }
}

customElements.define("take-recorder", TakeRecorder);
