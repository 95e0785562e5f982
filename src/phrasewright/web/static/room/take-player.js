/** take-player.js: a stretch of a take made to sound, its notes lit in notation, tablature, neck and strip meanwhile. */

import { OWN_LINE } from "./api.js";

const BEFORE_S = 0.5; // a finding is heard with what leads to it
const AFTER_S = 0.3;
const START_S = 0.05;

/** @typedef {import("./api.js").Take} Take */

export class TakePlayer {
  /**
   * @param {import("./player.js").Player} player
   * @param {() => void} tell called when the sound begins or ends
   */
  constructor(player, tell) {
    this.player = player;
    this.tell = tell;
    /** @type {{id: string, buffer: AudioBuffer} | null} */
    this.decoded = null;
    /** @type {AudioBufferSourceNode | null} */
    this.source = null;
    /** What sounds: set by whoever asks for it, null in silence. @type {unknown} */
    this.what = null;
  }

  /**
   * Play from a moment to another, both with a little round them. Raises Error when the sound cannot be had.
   *
   * @param {Take} take
   * @param {unknown} what the same again stops it
   * @param {number} fromS
   * @param {number} toS
   */
  async hear(take, what, fromS, toS) {
    const again = this.what === what;
    this.stop();
    if (again) return;
    this.what = what;
    this.tell();
    try {
      const buffer = await this.buffer(take);
      if (this.what === what) this.start(take, buffer, Math.max(0, fromS - BEFORE_S), Math.min(buffer.duration, toS + AFTER_S));
    } catch (error) {
      if (this.what === what) this.stop();
      throw error;
    }
  }

  /** @param {Take} take */
  async buffer(take) {
    const { desk } = this.player;
    desk.stop();
    desk.open();
    const context = /** @type {AudioContext} */ (desk.context);
    await context.resume();
    if (this.decoded?.id !== take.id) {
      const answer = await fetch(take.sound);
      if (!answer.ok) throw new Error("The sound of this take cannot be had.");
      this.decoded = { id: take.id, buffer: await context.decodeAudioData(await answer.arrayBuffer()) };
    }
    return this.decoded.buffer;
  }

  /**
   * @param {Take} take
   * @param {AudioBuffer} buffer
   * @param {number} fromS
   * @param {number} toS
   */
  start(take, buffer, fromS, toS) {
    const { desk } = this.player;
    const context = /** @type {AudioContext} */ (desk.context);
    desk.choose(take.piece || OWN_LINE); // its figures are the ones that light
    const source = new AudioBufferSourceNode(context, { buffer });
    source.connect(context.destination);
    source.onended = () => this.source === source && this.stop();
    const at = context.currentTime + START_S;
    source.start(at, fromS, Math.max(0.1, toS - fromS));
    this.source = source;
    const light = () => {
      if (this.source !== source) return;
      this.light(take, desk.heardS - at + fromS);
      window.requestAnimationFrame(light);
    };
    light();
  }

  /**
   * @param {Take} take
   * @param {number} takeS
   */
  light(take, takeS) {
    const notes = take.notes ?? [];
    const sounding = notes.filter((note) => note.at_s <= takeS && takeS < note.end_s);
    const last = notes.filter((note) => note.at_s <= takeS && note.bar !== null).pop();
    const bar = last?.bar ?? -1;
    this.player.light.show({
      notes: sounding.flatMap((note) => (note.written === null ? [] : [note.written])),
      places: sounding.flatMap((note) => (note.string === null ? [] : [`${note.string}-${note.fret}`])),
      bar,
      chartBar: this.player.desk.piece.bars.find((one) => one.number === bar)?.chartBar ?? -1,
    });
  }

  stop() {
    const { source } = this;
    this.source = null;
    if (source) {
      source.stop();
      this.player.light.clear();
    }
    if (this.what === null) return;
    this.what = null;
    this.tell();
  }
}
