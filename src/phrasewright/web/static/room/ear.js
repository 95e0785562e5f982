/** ear.js: samples in, notes out, block by block: what the worklet of live listening runs, and tests run without one. */

import { Halver, PitchFinder, Thinner, midiOf } from "./pitch.js";
import { NoteTeller } from "./notes.js";

/** @typedef {import("./notes.js").NoteEvent} NoteEvent */

export const LOWEST_HZ = 77; // a little under E2
export const HIGHEST_HZ = 1400; // a little over E6
const THUMP_HZ = 1000; // the knock of a guitar's body lies at 90 to 220 Hz: twice 6 dB an octave less of it
const STEP = 128; // samples of the context: 2.9 ms at 44.1 kHz
const LEVEL = 256; // samples that loudness is taken of
const QUIET = 1e-12;

/** Listens to one sound. Blocks may have any even length up to STEP. */
export class Ear {
  /**
   * @param {number} rateHz
   * @param {number} a4Hz
   */
  constructor(rateHz, a4Hz = 440) {
    this.a4Hz = a4Hz;
    this.halvers = Array.from({ length: Math.max(0, Math.floor(Math.log2(rateHz / 20000))) }, () => new Halver());
    this.share = 2 ** this.halvers.length;
    this.innerHz = rateHz / this.share;
    this.rateHz = rateHz;
    this.finder = new PitchFinder(this.innerHz, LOWEST_HZ, HIGHEST_HZ);
    this.teller = new NoteTeller();
    this.filters = [1, 2].map(() => new Thinner(this.innerHz, THUMP_HZ));
    this.sound = new Float32Array(this.finder.needs);
    this.heard = 0; // samples of the context
    this.since = 0; // of them since the last step
  }

  /**
   * @param {Float32Array} block
   * @returns {NoteEvent[]} times in seconds since the first sample
   */
  hear(block) {
    const fresh = this.halvers.reduce((samples, halver) => halver.halve(samples), block);
    this.sound.copyWithin(0, fresh.length);
    for (const filter of this.filters) filter.thin(fresh);
    this.sound.set(fresh, this.sound.length - fresh.length);
    this.heard += block.length;
    this.since += block.length;
    if (this.since < STEP) return [];
    this.since = 0;
    return this.teller.take(this.step());
  }

  step() {
    const { hz, clarity } = this.finder.find(this.sound);
    const newest = this.sound.subarray(this.sound.length - LEVEL / this.share);
    let energy = 0;
    let bright = 0;
    for (let i = 1; i < newest.length; i += 1) {
      energy += newest[i] ** 2;
      bright += (newest[i] - newest[i - 1]) ** 2;
    }
    return {
      atS: this.heard / this.rateHz,
      levelDb: 10 * Math.log10(energy / newest.length + QUIET),
      brightDb: 10 * Math.log10(bright / newest.length + QUIET),
      midi: hz ? midiOf(hz, this.a4Hz) : 0,
      clarity,
      periodS: hz ? 1 / hz : 0,
    };
  }
}
