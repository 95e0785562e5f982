/** habits.js: what this browser remembers of the student's set-up, for all lessons: the delay and how the track is heard. */

const KEY = "phrasewright:room";

/**
 * @typedef {object} Habits
 * @property {number | null} delayS measured, null = estimate it
 * @property {boolean} headphones
 */

/** @returns {Habits} */
export function readHabits() {
  try {
    const saved = JSON.parse(localStorage.getItem(KEY) ?? "{}");
    return { delayS: typeof saved.delayS === "number" ? saved.delayS : null, headphones: saved.headphones !== false };
  } catch {
    return { delayS: null, headphones: true };
  }
}

/** @param {Habits} habits */
export function keepHabits(habits) {
  try {
    localStorage.setItem(KEY, JSON.stringify(habits));
  } catch {
    // private windows and full stores: it is asked again next time
  }
}
