/** motif-spotter.js: motifs of the shelf in the notes that are played, in any octave, whatever their rhythm. */

const LONGEST_GAP_S = 1.8; // between two notes of a motif; a longer silence begins another

/** @typedef {{id: string, title: string, pitches: number[]}} Motif notes that follow each other differ */

/**
 * The motifs of a lesson's shelf.
 *
 * @param {PlayerPiece[]} pieces
 * @returns {Motif[]} longest first
 */
export function shelfOf(pieces) {
  return pieces
    .filter((piece) => piece.id.startsWith("motif-"))
    .map(({ id, title, events }) => {
      const notes = events.filter((event) => event.role === "lead").sort((a, b) => a.q - b.q);
      return { id, title, pitches: withoutRepeats(notes.map((note) => note.pitch)) };
    })
    .filter(({ pitches }) => pitches.length > 1)
    .sort((a, b) => b.pitches.length - a.pitches.length);
}

/** @param {number[]} pitches */
function withoutRepeats(pitches) {
  return pitches.filter((pitch, i) => pitch !== pitches[i - 1]);
}

/** Takes notes one by one and tells when a motif is complete. */
export class MotifSpotter {
  /** @param {Motif[]} shelf longest first */
  constructor(shelf) {
    this.shelf = shelf;
    this.longest = Math.max(0, ...shelf.map((motif) => motif.pitches.length));
    /** @type {number[]} */
    this.played = [];
    this.lastS = 0;
  }

  /**
   * @param {number} midi
   * @param {number} atS
   * @returns {Motif | null} the longest motif that ends with this note
   */
  take(midi, atS) {
    if (atS - this.lastS > LONGEST_GAP_S) this.played = [];
    this.lastS = atS;
    if (midi === this.played[this.played.length - 1]) return null;
    this.played = [...this.played, midi].slice(-this.longest);
    return this.shelf.find((motif) => this.endsWith(motif.pitches)) ?? null;
  }

  /** @param {number[]} pitches */
  endsWith(pitches) {
    if (this.played.length < pitches.length) return false;
    const tail = this.played.slice(-pitches.length);
    const shift = tail[0] - pitches[0];
    return shift % 12 === 0 && tail.every((midi, i) => midi - pitches[i] === shift);
  }
}
