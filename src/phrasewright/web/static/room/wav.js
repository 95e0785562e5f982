/** wav.js: a take as a file: 16 bits, one channel, uncompressed (RIFF/WAVE). */

const HEADER_BYTES = 44;
const FULL = 32767;

/**
 * The bytes of a WAV file.
 *
 * @param {Float32Array[]} blocks samples in order, -1..1; louder ones are held at the edge
 * @param {number} rateHz
 * @returns {ArrayBuffer}
 */
export function wavOf(blocks, rateHz) {
  const samples = blocks.reduce((sum, block) => sum + block.length, 0);
  const bytes = new ArrayBuffer(HEADER_BYTES + 2 * samples);
  const view = new DataView(bytes);
  writeHeader(view, samples, rateHz);
  let at = HEADER_BYTES;
  for (const block of blocks) {
    for (const value of block) {
      view.setInt16(at, Math.round(FULL * Math.max(-1, Math.min(1, value))), true);
      at += 2;
    }
  }
  return bytes;
}

/**
 * @param {DataView} view
 * @param {number} samples
 * @param {number} rateHz
 */
function writeHeader(view, samples, rateHz) {
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
}
