/** recorder.js: one take: the microphone's sound while the player plays a piece once through, both on one clock. */

import { endS, firstBarS } from "./player.js";
import { sixteenBits } from "./wav.js";

const TAIL_S = 0.8; // the last note rings
const LEAST_S = 1; // shorter ones are not kept
const LOOK_MS = 60;
const AFTER_STOP_S = 0.2;

/**
 * @typedef {import("./store.js").KeptTake} KeptTake
 * @typedef {object} Taken
 * @property {KeptTake | null} take null when it was too short to keep
 * @property {string} words how it ended, "" when it ended as it should
 */

export class Recorder {
  /**
   * @param {import("./player.js").Player} player
   * @param {import("./microphone.js").Microphone} microphone
   * @param {import("./store.js").Store} store
   */
  constructor(player, microphone, store) {
    this.desk = player.desk;
    this.microphone = microphone;
    this.store = store;
    this.running = false;
    this.stopAsked = false;
    this.peak = 0;
  }

  /** End the take now. */
  stop() {
    this.stopAsked = true;
  }

  /**
   * Record a take. Raises NoMicrophone; any other trouble ends the take and keeps what there is.
   *
   * @param {{lesson: string, alone: boolean, delayS: () => number}} about delayS: from the player's clock into the recording
   * @param {(peak: number, seconds: number) => void} tell peak 0..1, a few times a second
   * @returns {Promise<Taken>}
   */
  async record(about, tell) {
    this.running = true;
    this.stopAsked = false;
    try {
      await this.microphone.hold("take");
      return await this.take(about, tell);
    } finally {
      this.running = false;
      this.microphone.letGo("take");
    }
  }

  /**
   * @param {{lesson: string, alone: boolean, delayS: () => number}} about
   * @param {(peak: number, seconds: number) => void} tell
   * @returns {Promise<Taken>}
   */
  async take({ lesson, alone, delayS }, tell) {
    const { desk, microphone, store } = this;
    desk.stop();
    desk.seek(0); // the first bar, or the loop's
    const rateHz = microphone.context.sampleRate;
    const take = /** @type {KeptTake} */ ({
      key: crypto.randomUUID?.() ?? `${Date.now()}`, lesson, piece: desk.piece.id, title: desk.piece.title, tempoBpm: desk.tapped,
      offsetS: null, alone, rateHz, seconds: 0, recordedAt: new Date().toISOString(), touchedMs: Date.now(),
    });
    const sound = this.keep(take, tell);
    await sound.begun;
    await desk.play();
    const words = desk.state === "playing" ? await this.accompany(take, await sound.begun, delayS) : "The track could not be played.";
    await sound.end();
    take.touchedMs = 0; // whoever finds it may offer it
    await store.put(take);
    if (take.seconds >= LEAST_S && take.offsetS !== null) return { take, words };
    await store.remove(take.key);
    return { take: null, words: words || "That was too short to be a take." };
  }

  /**
   * Keep sound as it comes, block by block.
   *
   * @param {KeptTake} take its seconds grow
   * @param {(peak: number, seconds: number) => void} tell
   */
  keep(take, tell) {
    const { microphone, store } = this;
    const node = microphone.node("sound-keeper");
    let index = 0;
    /** @type {Promise<void>} */
    let written = Promise.resolve();
    /** @type {(startS: number) => void} */
    let started = () => {};
    /** @type {() => void} */
    let rested = () => {};
    const begun = new Promise((done) => (started = /** @type {any} */ (done)));
    const rest = new Promise((done) => (rested = /** @type {any} */ (done)));
    node.port.onmessage = ({ data }) => {
      if (data.kind === "rest") return rested();
      if (!data.samples) return undefined;
      if (!index) started(data.frame / take.rateHz);
      const [samples, number] = [sixteenBits(data.samples), index];
      index += 1;
      take.seconds += samples.length / take.rateHz;
      take.touchedMs = Date.now();
      tell(data.peak, take.seconds);
      written = written.then(() => store.append(take.key, number, samples)).then(() => store.put(take)).catch(() => this.stop()); // no room left
      return undefined;
    };
    node.port.postMessage("keep");
    const end = async () => {
      node.port.postMessage("rest");
      await rest;
      microphone.release(node);
      await written;
    };
    return { begun: /** @type {Promise<number>} */ (begun), end };
  }

  /**
   * Wait while the piece plays once through; when the player takes turns, its turn and then the student's.
   *
   * @param {KeptTake} take its offset is set
   * @param {number} startS of the recording, on the audio clock
   * @param {() => number} delayS
   * @returns {Promise<string>} why it ended early, "" when it did not
   */
  async accompany(take, startS, delayS) {
    const { desk } = this;
    const { transport } = desk;
    const turn = desk.values.lead === "turns" && desk.piece.parts.includes("lead") ? 1 : 0;
    let [pass] = transport.passes;
    let { plan } = pass;
    for (;;) {
      const mine = transport.passes.find((one) => one.turn === turn);
      if (mine && take.offsetS === null) {
        [pass, plan] = [mine, mine.plan];
        transport.settings.loop = false; // once through
        take.offsetS = firstBarS(mine) - startS + delayS();
      }
      if (this.stopAsked) desk.stop();
      if (desk.state !== "playing") {
        const over = Number(desk.context?.currentTime) >= endS(pass) - 0.2;
        await pause(over ? TAIL_S + delayS() : AFTER_STOP_S);
        return "";
      }
      if (pass.plan !== plan || !transport.passes.includes(pass)) {
        desk.stop();
        return "Something was changed while it played: the take ends there.";
      }
      await pause(LOOK_MS / 1000);
    }
  }
}

/** @param {number} seconds */
function pause(seconds) {
  return new Promise((done) => setTimeout(done, 1000 * seconds));
}
