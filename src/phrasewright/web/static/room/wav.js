/** wav.js: a take as a file: 16 bits, one channel, uncompressed (RIFF/WAVE). */

const HEADER_BYTES = 44;
const FULL = 32767;

/**
 * Samples in 16 bits.
 *
 * @param {Float32Array} samples -1..1; louder ones are held at the edge
 * @returns {Int16Array}
 */
export function sixteenBits(samples) {
  return Int16Array.from(samples, (value) => Math.round(FULL * Math.max(-1, Math.min(1, value))));
}

/**
 * A WAV file.
 *
 * @param {Int16Array[]} blocks samples in order
 * @param {number} rateHz
 * @returns {Blob}
 */
export function wavOf(blocks, rateHz) {
  const samples = blocks.reduce((sum, block) => sum + block.length, 0);
  const parts = /** @type {BlobPart[]} */ ([header(samples, rateHz), ...blocks]); // browsers run on little-endian machines
  return new Blob(parts, { type: "audio/wav" });
}

/**
 * @param {number} samples
 * @param {number} rateHz
 * @returns {ArrayBuffer}
 */
function header(samples, rateHz) {
  const view = new DataView(new ArrayBuffer(HEADER_BYTES));
  /** @param {number} at @param {string} letters */
  const text = (at, letters) => [...letters].forEach((letter, i) => view.setUint8(at + i, letter.charCodeAt(0)));
  text(0, "RIFF");
  view.setUint32(4, HEADER_BYTES - 8 + 2 * samples, true);
  text(8, "WAVEfmt ");
  view.setUint32(16, 16, true); // bytes of what describes the samples
  view.setUint16(20, 1, true); // plain samples
  view.setUint16(22, 1, true); // one channel
  view.setUint32(24, rateHz, true);
  view.setUint32(28, 2 * rateHz, true); // bytes a second
  view.setUint16(32, 2, true); // bytes of one moment
  view.setUint16(34, 16, true); // bits
  text(36, "data");
  view.setUint32(40, 2 * samples, true);
  return view.buffer;
}
