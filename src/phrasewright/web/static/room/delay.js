/** delay.js: how long a sound takes from the player's clock to the loudspeaker, through the air and back into the recording.
 *
 * Measured by soft chirps whose places in the recording are found by normalised cross-correlation (a matched filter), or
 * estimated from what the browser tells of its buffers. All pure but `measure`.
 */

export const CHIRPS = 8;
const APART_S = 0.75;
const LONGEST_S = 0.6; // wireless headphones
const CHIRP = { lengthS: 0.012, fromHz: 1000, toHz: 6000, loud: 0.35 };
const LIKENESS = 0.35; // least, of a place to the chirp
const TOGETHER_S = 0.002; // measured delays that agree
const ENOUGH = 5; // of them

/**
 * @param {number} rateHz
 * @returns {Float32Array} a rising tone that fades in and out
 */
export function chirp(rateHz) {
  const { lengthS, fromHz, toHz, loud } = CHIRP;
  const samples = new Float32Array(Math.round(lengthS * rateHz));
  for (let i = 0; i < samples.length; i += 1) {
    const t = i / rateHz;
    const turns = fromHz * t + ((toHz - fromHz) * t * t) / (2 * lengthS);
    samples[i] = loud * Math.sin(Math.PI * (i / samples.length)) ** 2 * Math.sin(2 * Math.PI * turns);
  }
  return samples;
}

/**
 * Where a shape lies in some sound, in samples from its beginning, and how alike it is there, 0..1.
 *
 * @param {Float32Array} sound
 * @param {Float32Array} shape
 * @returns {{at: number, likeness: number}}
 */
export function whereIs(shape, sound) {
  const own = shape.reduce((sum, value) => sum + value * value, 0);
  const best = { at: 0, likeness: 0 };
  let under = 0;
  for (let i = 0; i < shape.length; i += 1) under += sound[i] ** 2;
  for (let at = 0; at + shape.length < sound.length; at += 1) {
    let product = 0;
    for (let i = 0; i < shape.length; i += 1) product += shape[i] * sound[at + i];
    const likeness = under > 1e-12 ? Math.abs(product) / Math.sqrt(own * under) : 0;
    if (likeness > best.likeness) Object.assign(best, { at, likeness });
    under += sound[at + shape.length] ** 2 - sound[at] ** 2;
  }
  return best;
}

/**
 * What several measurements say together; null when they do not agree.
 *
 * @param {number[]} delaysS
 * @returns {number | null}
 */
export function agreed(delaysS) {
  if (delaysS.length < ENOUGH) return null;
  const sorted = [...delaysS].sort((a, b) => a - b);
  const middle = sorted[sorted.length >> 1];
  const near = sorted.filter((delay) => Math.abs(delay - middle) <= TOGETHER_S);
  return near.length >= ENOUGH ? near[near.length >> 1] : null;
}

/**
 * The delays of chirps in a recording.
 *
 * @param {Float32Array} sound
 * @param {number[]} starts samples of it at which chirps were played
 * @param {number} rateHz
 * @returns {number[]} seconds; chirps that were not found are left out
 */
export function delaysIn(sound, starts, rateHz) {
  const shape = chirp(rateHz);
  return starts
    .map((start) => whereIs(shape, sound.subarray(start, start + Math.round(LONGEST_S * rateHz))))
    .filter(({ likeness }) => likeness >= LIKENESS)
    .map(({ at }) => at / rateHz);
}

/**
 * Play chirps and find them in what the microphone hears. The microphone must be held.
 *
 * @param {import("./microphone.js").Microphone} microphone
 * @returns {Promise<number | null>} seconds, null when the chirps were not heard alike
 */
export async function measure(microphone) {
  const { context } = microphone;
  const rateHz = context.sampleRate;
  const buffer = context.createBuffer(1, chirp(rateHz).length, rateHz);
  buffer.copyToChannel(/** @type {Float32Array<ArrayBuffer>} */ (chirp(rateHz)), 0);
  const node = microphone.node("sound-keeper");
  /** @type {{frame: number, samples: Float32Array}[]} */
  const blocks = [];
  node.port.onmessage = ({ data }) => data.samples && blocks.push(data);
  node.port.postMessage("keep");
  const first = context.currentTime + 0.3;
  const times = Array.from({ length: CHIRPS }, (_, i) => first + i * APART_S);
  for (const time of times) {
    const source = new AudioBufferSourceNode(context, { buffer });
    source.connect(context.destination);
    source.start(time);
  }
  await new Promise((done) => setTimeout(done, 1000 * (0.3 + CHIRPS * APART_S + 0.2)));
  microphone.release(node);
  const sound = new Float32Array(blocks.reduce((sum, { samples }) => sum + samples.length, 0));
  blocks.reduce((at, { samples }) => (sound.set(samples, at), at + samples.length), 0);
  const begin = blocks.length ? blocks[0].frame : 0;
  return agreed(delaysIn(sound, times.map((time) => Math.round(time * rateHz) - begin), rateHz));
}
