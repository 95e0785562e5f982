/** notes.js: from pitch and level, step by step, to notes that begin and end.
 *
 * A note begins with an attack (level or brightness jump up) and is told as soon as its pitch is clear on sound from after the
 * attack alone; without an attack, when the pitch has moved for good (a hammer-on, a slide). Every time is in seconds of the listener.
 */

const FAINT_DB = -58; // nothing below is a note
const OVER_FLOOR_DB = 12; // a note is at least this much louder than the room
const UNDER_PEAK_DB = 32; // and no more than this softer than what was just played
const PEAK_FALL_DB_S = 8; // how fast that is forgotten
const FLOOR_RISE_DB_S = 6; // how fast the room may grow louder
const JUMP_DB = 7; // louder than the steps before: an attack
const BRIGHT_JUMP_DB = 11; // the same among the high frequencies, where a ringing string has little
const APART_S = 0.055; // between two attacks
const PERIODS = 2.1; // of the new note that must have sounded
const SOONEST_S = 0.015; // noise of the pick
const CLEAR = 0.93; // at the soonest,
const CLEAR_LATE = 0.72; // and with waiting, less and less will do,
const LATE_S = 0.032; // until then
const CLOUDED = 0.85; // a clear note is disturbed: something new has begun,
const SOFTER_DB = 2.5; // or it is damped: then the same pitch comes out of the cloud, softer
const GIVE_UP_S = 0.2;
const MOVED = 0.7; // semitones: another note
const SAME = 0.4; // semitones between steps that agree
const AGREE_S = 0.0055; // for so long they must
const MOVED_S = 0.025; // for so long, without an attack
const OCTAVE_S = 0.07; // an octave more or less is more likely a slip of ours
const GONE_S = 0.09; // unclear or faint for so long: over
const MEMORY_S = 0.09; // of steps
const BEFORE_S = 0.03; // of them, for a comparison of loudness

/**
 * @typedef {object} Step
 * @property {number} atS end of the newest sound
 * @property {number} levelDb of the newest sound, dB of full scale
 * @property {number} brightDb of its high frequencies
 * @property {number} midi pitch in semitones, 0 when there is none
 * @property {number} clarity 0..1
 * @property {number} periodS
 *
 * @typedef {object} NoteEvent
 * @property {"on" | "off"} kind
 * @property {number} midi nearest semitone
 * @property {number} cents from it
 * @property {number} atS when it began (or ended)
 * @property {number} toldS when that was known
 */

/** Tells notes from steps. */
export class NoteTeller {
  constructor() {
    this.floorDb = FAINT_DB - OVER_FLOOR_DB;
    this.peakDb = FAINT_DB;
    /** @type {Step[]} */
    this.past = [];
    this.attackS = -1; // of a note still to be told, -1 = none
    this.cloudDb = -Infinity; // how loud it was when it clouded over, where that alone speaks for a new note
    this.lastAttackS = -1;
    this.lastGoodS = 0;
    /** @type {number} */
    this.sounding = 0; // semitones, 0 = none
    this.movedS = -1; // since when the pitch has been another, -1 = it has not
  }

  /**
   * @param {Step} step
   * @returns {NoteEvent[]}
   */
  take(step) {
    const loud = this.isLoud(step);
    const attack = loud ? this.attackOf(step) : null;
    if (attack) this.attack(step, attack);
    const events = this.attackS >= 0 ? this.begin(step, loud) : this.sounding ? this.goOn(step, loud) : [];
    this.past.push(step);
    while (step.atS - this.past[0].atS > MEMORY_S) this.past.shift();
    return events;
  }

  /** @param {Step} step */
  isLoud(step) {
    const before = this.past[this.past.length - 1];
    const elapsed = before ? step.atS - before.atS : 0;
    if (!this.sounding || step.levelDb < this.floorDb) {
      this.floorDb = Math.max(-90, Math.min(step.levelDb, this.floorDb + FLOOR_RISE_DB_S * elapsed));
    }
    this.peakDb = Math.max(step.levelDb, this.peakDb - PEAK_FALL_DB_S * elapsed);
    return step.levelDb > Math.max(FAINT_DB, this.floorDb + OVER_FLOOR_DB, this.peakDb - UNDER_PEAK_DB);
  }

  /**
   * What speaks for a new note.
   *
   * @param {Step} step
   * @returns {"struck" | "clouded" | null}
   */
  attackOf(step) {
    if (step.atS - this.lastAttackS < APART_S) return null;
    const before = this.past.filter((one) => step.atS - one.atS < BEFORE_S);
    if (!before.length) return "struck";
    const louder = step.levelDb > Math.max(...before.map((one) => one.levelDb)) + JUMP_DB;
    const brighter = step.brightDb > Math.max(FAINT_DB - 20, ...before.map((one) => one.brightDb)) + BRIGHT_JUMP_DB;
    const clouded = this.sounding > 0 && step.clarity < CLOUDED && before.slice(0, 3).every((one) => one.clarity > CLEAR);
    if (louder || brighter) return "struck";
    return clouded && step.levelDb > before[before.length - 1].levelDb - 3 ? "clouded" : null;
  }

  /**
   * @param {Step} step
   * @param {"struck" | "clouded"} how
   */
  attack(step, how) {
    const before = this.past[this.past.length - 1] ?? step;
    this.attackS = this.lastAttackS = before.atS;
    this.cloudDb = how === "clouded" ? before.levelDb : -Infinity;
  }

  /**
   * @param {Step} step
   * @param {boolean} loud
   * @returns {NoteEvent[]}
   */
  begin(step, loud) {
    const age = step.atS - this.attackS;
    const waited = Math.max(0, Math.min(1, (age - SOONEST_S) / (LATE_S - SOONEST_S)));
    const clear = step.clarity >= CLEAR + waited * (CLEAR_LATE - CLEAR);
    const soonest = Math.max(SOONEST_S, PERIODS * step.periodS);
    if (loud && step.midi && clear && age >= soonest && this.agree(step)) {
      const at = this.attackS;
      this.attackS = -1;
      this.lastGoodS = step.atS;
      const isDamped = Math.round(step.midi) === this.sounding && step.levelDb < this.cloudDb - SOFTER_DB;
      return isDamped ? [] : this.tell(step, at);
    }
    if (age > GIVE_UP_S) this.attackS = -1;
    return [];
  }

  /**
   * True when the pitch has been the same for some steps.
   *
   * @param {Step} step
   */
  agree(step) {
    return this.past.every((one) => step.atS - one.atS > AGREE_S || Math.abs(one.midi - step.midi) < SAME);
  }

  /**
   * @param {Step} step
   * @param {number} atS
   * @returns {NoteEvent[]}
   */
  tell(step, atS) {
    const midi = Math.round(step.midi);
    this.sounding = midi;
    this.movedS = -1;
    this.lastGoodS = step.atS;
    return [{ kind: "on", midi, cents: Math.round(100 * (step.midi - midi)), atS, toldS: step.atS }];
  }

  /**
   * @param {Step} step
   * @param {boolean} loud
   * @returns {NoteEvent[]}
   */
  goOn(step, loud) {
    const good = loud && step.midi > 0 && step.clarity >= CLEAR_LATE;
    if (good) this.lastGoodS = step.atS;
    if (step.atS - this.lastGoodS > GONE_S) {
      const midi = this.sounding;
      this.sounding = 0;
      return [{ kind: "off", midi, cents: 0, atS: this.lastGoodS, toldS: step.atS }];
    }
    const away = Math.abs(step.midi - this.sounding);
    if (!good || away < MOVED || step.clarity < CLEAR || !this.agree(step)) {
      this.movedS = -1;
      return [];
    }
    if (this.movedS < 0) this.movedS = step.atS;
    const octave = [12, 19, 24].some((slip) => Math.abs(away - slip) < 0.5);
    return step.atS - this.movedS >= (octave ? OCTAVE_S : MOVED_S) ? this.tell(step, this.movedS) : [];
  }
}
