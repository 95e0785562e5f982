/** words.js: numbers as a student reads them. */

/** @type {[number, string][]} the report's own words for the same confidence */
const SURE = [[0.95, "Heard for sure."], [0.88, "Fairly sure."], [0, "Likely."]];

/** @param {number} confidence 0..1 */
export function sureWords(confidence) {
  return SURE.find(([least]) => confidence >= least)?.[1] ?? "";
}

/** @param {number} peak 0..1 of the loudest of the last second */
export function levelWords(peak) {
  const db = 20 * Math.log10(Math.max(peak, 1e-6));
  if (db < -60) return "nothing is heard";
  if (db < -34) return "too quiet";
  return db > -2 ? "too loud" : "good";
}

/** @param {number} seconds "1:04" */
export function clockWords(seconds) {
  const whole = Math.max(0, Math.floor(seconds));
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
}

/** @param {string} moment of ISO 8601 */
export function whenWords(moment) {
  const when = new Date(moment);
  const day = when.toLocaleDateString(document.documentElement.lang || "en", { day: "numeric", month: "long" });
  return `${day}, ${when.toLocaleTimeString(document.documentElement.lang || "en", { hour: "2-digit", minute: "2-digit" })}`;
}

/** @param {number[] | null} bars printed numbers */
export function barsOf(bars) {
  if (!bars?.length) return "The whole take";
  const [first, last] = [Math.min(...bars), Math.max(...bars)];
  return first === last ? `Bar ${first}` : `Bars ${first}–${last}`;
}
