/** worklets.js: what runs on the audio thread: one processor hands the sound on, the other hears notes in it. */

import { Ear } from "./ear.js";

const BLOCK = 4096; // samples handed on at a time: 93 ms at 44.1 kHz

/** Hands on what comes in, with the frame of the context it came at; and how loud it is, always. */
class SoundKeeper extends AudioWorkletProcessor {
  constructor() {
    super();
    this.keeps = false;
    this.gone = false;
    this.endFrame = 0;
    this.fill = 0;
    this.block = new Float32Array(BLOCK);
    this.peak = 0;
    this.port.onmessage = ({ data }) => this.told(data);
  }

  /** @param {"keep" | "rest" | "end"} order */
  told(order) {
    if (order === "end") this.gone = true;
    if (order === "rest" && this.keeps) {
      this.handOn();
      this.port.postMessage({ kind: "rest" });
    }
    this.keeps = order === "keep";
    this.fill = 0;
  }

  /** @param {Float32Array[][]} inputs */
  process(inputs) {
    const [samples = new Float32Array(128)] = inputs[0];
    this.block.set(samples, this.fill);
    this.fill += samples.length;
    for (const value of samples) this.peak = Math.max(this.peak, Math.abs(value));
    this.endFrame = currentFrame + samples.length;
    if (this.fill === BLOCK) this.handOn();
    return !this.gone;
  }

  handOn() {
    const samples = this.keeps ? this.block.slice(0, this.fill) : null;
    this.port.postMessage({ kind: "sound", frame: this.endFrame - this.fill, samples, peak: this.peak }, samples ? [samples.buffer] : []);
    this.fill = 0;
    this.peak = 0;
  }
}

/** Tells notes, with times of the context's own clock. */
class NoteListener extends AudioWorkletProcessor {
  /** @param {AudioWorkletNodeOptions} options */
  constructor(options) {
    super(options);
    this.gone = false;
    this.startS = -1;
    this.ear = new Ear(sampleRate, options.processorOptions.a4Hz);
    this.port.onmessage = () => (this.gone = true);
  }

  /** @param {Float32Array[][]} inputs */
  process(inputs) {
    const [samples] = inputs[0];
    if (!samples) return !this.gone;
    if (this.startS < 0) this.startS = currentFrame / sampleRate;
    for (const event of this.ear.hear(samples)) {
      this.port.postMessage({ ...event, atS: event.atS + this.startS, toldS: event.toldS + this.startS });
    }
    return !this.gone;
  }
}

registerProcessor("sound-keeper", SoundKeeper);
registerProcessor("note-listener", NoteListener);
