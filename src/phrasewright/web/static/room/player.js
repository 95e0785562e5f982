/** player.js: what the room knows of the page's player. */

/** @typedef {NonNullable<Window["Phrasewright"]["player"]>} Player */

/** @type {Set<() => void>} */
const watchers = new Set();
let watched = false;

/**
 * The player, once the page has one; null on a page without pieces.
 *
 * @returns {Promise<Player | null>}
 */
export async function thePlayer() {
  if (!window.Phrasewright?.player && document.readyState !== "complete") {
    await new Promise((done) => document.addEventListener("DOMContentLoaded", done, { once: true }));
  }
  return window.Phrasewright?.player ?? null;
}

/**
 * Be told when piece, tempo, loop, count-in or the playing changes.
 *
 * @param {Player} player
 * @param {() => void} tell
 */
export function watch(player, tell) {
  watchers.add(tell);
  if (watched) return;
  watched = true;
  const { controls } = player;
  for (const name of /** @type {const} */ (["settings", "state"])) {
    const own = controls[name].bind(controls);
    controls[name] = (desk) => {
      own(desk);
      watchers.forEach((one) => one());
    };
  }
}

/**
 * A key for an action of the room, as the player's own keys work: not while one types, not when keys are switched off.
 *
 * @param {Player} player
 * @param {string} key
 * @param {() => void} act
 */
export function onKey(player, key, act) {
  document.addEventListener("keydown", (event) => {
    const typing = event.target instanceof Element && event.target.closest("select, textarea, input:not([type=checkbox], [type=radio], [type=range])");
    if (event.key.toLowerCase() !== key || event.repeat || event.ctrlKey || event.metaKey || event.altKey || typing) return;
    if (!player.desk.values.keys) return;
    event.preventDefault();
    act();
  });
}

/**
 * Where the first bar of the whole piece would lie on the audio clock, had the pass begun there.
 *
 * @param {PlayerPass} pass
 */
export function firstBarS(pass) {
  return pass.startS - (60 * pass.plan.origin) / pass.plan.bpm;
}

/**
 * When a pass ends on the audio clock.
 *
 * @param {PlayerPass} pass
 */
export function endS(pass) {
  return pass.startS + (60 * pass.plan.length) / pass.plan.bpm;
}

/**
 * "bars 3 to 6", "bar 3".
 *
 * @param {PlayerPiece} piece
 * @param {number} from index
 * @param {number} to index
 */
export function barsWords(piece, from, to) {
  const [first, last] = [piece.bars[from].number, piece.bars[to].number];
  return first === last ? `bar ${first}` : `bars ${first} to ${last}`;
}
