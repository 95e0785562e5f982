/** neck-light.js: the note that is played, on the necks of the page: at its place, the one nearest to the last of several. */

const HEARD = "is-heard";
const ACROSS = 1.5; // a string away is as far as so many frets

/**
 * Pitches of the places on the necks, from what the lesson's own notes say of its strings.
 *
 * @param {PlayerPiece[]} pieces
 * @param {Iterable<string>} places "string-fret"
 * @returns {Map<number, string[]>} MIDI number -> places
 */
export function placesByPitch(pieces, places) {
  /** @type {Map<string, number>} */
  const open = new Map();
  for (const { place, pitch } of pieces.flatMap((piece) => piece.events.filter((event) => event.role === "lead" && event.place))) {
    const [string, fret] = place.split("-");
    open.set(string, pitch - Number(fret));
  }
  /** @type {Map<number, string[]>} */
  const found = new Map();
  for (const place of places) {
    const [string, fret] = place.split("-");
    const pitch = open.get(string);
    if (pitch === undefined) continue;
    found.set(pitch + Number(fret), [...(found.get(pitch + Number(fret)) ?? []), place]);
  }
  return found;
}

/**
 * Of several places the one nearest to another.
 *
 * @param {string[]} places at least one
 * @param {string} last "" = none
 */
export function nearest(places, last) {
  if (!last) return places[0];
  const [lastString, lastFret] = last.split("-").map(Number);
  /** @param {string} place */
  const far = (place) => {
    const [string, fret] = place.split("-").map(Number);
    return Math.abs(fret - lastFret) + ACROSS * Math.abs(string - lastString);
  };
  return places.reduce((best, place) => (far(place) < far(best) ? place : best));
}

export class NeckLight {
  /** @param {import("./player.js").Player} player */
  constructor(player) {
    this.light = player.light;
    this.byPitch = placesByPitch(player.desk.pieces, this.light.places.keys());
    this.last = "";
    /** @type {Element[]} */
    this.lit = [];
  }

  /**
   * Light a note; a note struck again lights anew.
   *
   * @param {number} midi
   * @returns {string} its place, "" when the necks do not show it
   */
  show(midi) {
    this.clear();
    const places = this.byPitch.get(midi);
    if (!places) return "";
    this.last = nearest(places, this.last);
    this.lit = this.light.places.get(this.last) ?? [];
    for (const element of this.lit) element.classList.add(HEARD);
    return this.last;
  }

  clear() {
    for (const element of this.lit) element.classList.remove(HEARD);
    this.lit = [];
  }
}
