/** pitch.js: the pitch of the newest sound, from as little of it as will do.
 *
 * The normalised square difference of McLeod and Wyvill ("A smarter way to find pitch", ICMC 2005), and their choice of the first
 * peak that is nearly as high as the highest. We differ: a lag is judged on the newest sound alone, on twice its own length (or on
 * a fixed span, for short lags), as in de Cheveigné and Kawahara's difference function (JASA 111, 2002); so a high note is
 * known sooner than a low one, and a note is known two periods after it begins, whatever sounded before.
 */

const SPAN_S = 0.01; // least sound that a lag is judged on: long enough for a pick's noise to average out
const NEAR_HIGHEST = 0.86; // McLeod and Wyvill take 0.8 to 1.0
const STRAY = 1e-9; // energy of silence

/** Halves the rate of a sound, after a half-band filter (7 taps; images are 30 dB down where strings have little left). */
export class Halver {
  constructor() {
    this.past = new Float32Array(7);
    this.odd = false;
  }

  /**
   * @param {Float32Array} samples an even number
   * @returns {Float32Array} half as many
   */
  halve(samples) {
    const { past } = this;
    const halved = new Float32Array(samples.length >> 1);
    for (let i = 0; i < samples.length; i += 1) {
      past.copyWithin(0, 1);
      past[6] = samples[i];
      if (i % 2) halved[i >> 1] = (16 * past[3] + 9 * (past[2] + past[4]) - past[0] - past[6]) / 32;
    }
    return halved;
  }
}

/** Lets less of what is low through: one pole, 6 dB an octave. */
export class Thinner {
  /**
   * @param {number} rateHz
   * @param {number} cornerHz
   */
  constructor(rateHz, cornerHz) {
    this.keep = Math.exp((-2 * Math.PI * cornerHz) / rateHz);
    this.before = 0;
    this.out = 0;
  }

  /** @param {Float32Array} samples changed in place */
  thin(samples) {
    for (let i = 0; i < samples.length; i += 1) {
      this.out = this.keep * (this.out + samples[i] - this.before);
      this.before = samples[i];
      samples[i] = this.out;
    }
  }
}

/**
 * @typedef {object} Found
 * @property {number} hz 0 when there is none
 * @property {number} clarity how alike one period is to the next, 0..1
 */

/** Finds pitches between two bounds at one rate. */
export class PitchFinder {
  /**
   * @param {number} rateHz
   * @param {number} lowestHz
   * @param {number} highestHz
   */
  constructor(rateHz, lowestHz, highestHz) {
    this.rateHz = rateHz;
    this.longest = Math.ceil(rateHz / lowestHz) + 2;
    this.shortest = Math.max(2, Math.floor(rateHz / highestHz) - 1);
    this.span = Math.round(SPAN_S * rateHz);
    /** How many samples it looks at. */
    this.needs = this.longest + Math.max(this.longest, this.span);
    this.likeness = new Float32Array(this.longest + 1);
    this.energy = new Float64Array(this.needs + 1); // of all samples before each
  }

  /**
   * The pitch at the end of some sound.
   *
   * @param {Float32Array} sound its last `needs` samples count
   * @returns {Found}
   */
  find(sound) {
    const start = sound.length - this.needs;
    for (let i = 0; i < this.needs; i += 1) this.energy[i + 1] = this.energy[i] + sound[start + i] ** 2;
    if (this.energy[this.needs] < STRAY) return { hz: 0, clarity: 0 };
    for (let lag = 1; lag <= this.longest; lag += 1) this.likeness[lag] = this.alike(sound, start, lag);
    return this.choose();
  }

  /**
   * How alike the newest sound and the sound a lag earlier are, -1..1.
   *
   * @param {Float32Array} sound
   * @param {number} start
   * @param {number} lag
   */
  alike(sound, start, lag) {
    const length = Math.max(this.span, lag);
    const from = this.needs - length;
    let product = 0;
    for (let i = start + from; i < sound.length; i += 1) product += sound[i] * sound[i - lag];
    const { energy } = this;
    const both = energy[this.needs] - energy[from] + energy[this.needs - lag] - energy[from - lag];
    return both > STRAY ? (2 * product) / both : 0;
  }

  /**
   * The first peak, past the lags at which everything is like itself, that is nearly as high as the highest.
   *
   * @returns {Found}
   */
  choose() {
    const { likeness, longest } = this;
    /** @type {number[]} */
    const peaks = [];
    let lag = 1;
    while (lag < longest && likeness[lag] > 0) lag += 1;
    let best = 0;
    for (; lag < longest; lag += 1) {
      if (likeness[lag] > 0 && likeness[lag] > (best ? likeness[best] : 0)) best = lag;
      if (likeness[lag] <= 0 && best) {
        peaks.push(best);
        best = 0;
      }
    }
    if (best && best < longest - 1) peaks.push(best);
    const within = peaks.filter((peak) => peak >= this.shortest);
    const highest = Math.max(0, ...within.map((peak) => likeness[peak]));
    const chosen = within.find((peak) => likeness[peak] >= NEAR_HIGHEST * highest);
    return chosen ? this.refined(chosen) : { hz: 0, clarity: 0 };
  }

  /**
   * A parabola through a peak and its neighbours.
   *
   * @param {number} peak
   * @returns {Found}
   */
  refined(peak) {
    const [before, here, after] = [this.likeness[peak - 1], this.likeness[peak], this.likeness[peak + 1]];
    const bend = before - 2 * here + after;
    const shift = bend < 0 ? (before - after) / (2 * bend) : 0;
    const clarity = here - (shift * (before - after)) / 4;
    return { hz: this.rateHz / (peak + shift), clarity: Math.max(0, Math.min(1, clarity)) };
  }
}

/**
 * Semitones, A4 = 69.
 *
 * @param {number} hz
 * @param {number} a4Hz
 */
export function midiOf(hz, a4Hz = 440) {
  return 69 + 12 * Math.log2(hz / a4Hz);
}
