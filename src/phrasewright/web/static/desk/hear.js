/* hear.js: the lesson sounds: a single note of the neck at once, a motif or a study with its band, a row of clicks.
 *
 * The player is that of a pack's page (clock, plan, transport, mixer); only where its clips come from is different.
 * Events: "change" when something begins or ends, "moment" with what sounds, for lighting.
 */

import { ask } from "../common/asking.js";

const START_S = 0.08;
const TICK_MS = 40;
const AHEAD_S = 0.25;
const NOTE_S = 1.2;
const NOTES = "notes"; // the single notes, among the player's sounds

/** The scripts of a pack's page, which share one name. @returns {any} */
export const player = () => window.Phrasewright;

export class Hear extends EventTarget {
  /** @param {import("./lesson.js").Lesson} lesson */
  constructor(lesson) {
    super();
    this.lesson = lesson;
    /** @type {AudioContext | null} */
    this.context = null;
    /** @type {Promise<Map<string, AudioBuffer>> | null} */
    this.notes = null;
    /** @type {{revision: number, ready: Promise<Desk.Player>} | null} */
    this.loaded = null;
    /** @type {Desk.Piece | null} */
    this.piece = null;
    this.notesOf = "";
    this.title = "";
    this.tempo = 0; // tapped beats a minute, 0 = the lesson's first
    lesson.addEventListener("view", () => this.outdated());
  }

  /** @returns {AudioContext} */
  open() {
    if (!this.context) this.context = new AudioContext({ latencyHint: "interactive" });
    if (this.context.state === "suspended") this.context.resume();
    return this.context;
  }

  get isPlaying() {
    return Boolean(this.player?.transport.playing);
  }

  outdated() {
    const now = this.noteKey();
    if (this.notesOf !== now) this.notes = null;
    this.notesOf = now;
  }

  /** What the sound of single notes depends on. */
  noteKey() {
    const values = this.lesson.view?.values;
    return values ? JSON.stringify([values.instrument, values.lead.voice, values.band.sound, values.band.soundfont, values.band.a4]) : "";
  }

  // ---- one note

  /**
   * @param {number} midi
   * @param {string} place
   */
  async note(midi, place) {
    const context = this.open();
    const clips = await this.noteClips(context).catch(() => null);
    const buffer = clips?.get(String(midi));
    if (!buffer) {
      this.lesson.tell("The sound of this note could not be made.", true);
      return;
    }
    const source = context.createBufferSource();
    const gain = context.createGain();
    const now = context.currentTime;
    source.buffer = buffer;
    gain.gain.setValueAtTime(0.6, now);
    gain.gain.setValueAtTime(0.6, now + NOTE_S);
    gain.gain.linearRampToValueAtTime(0, now + NOTE_S + 0.25);
    source.connect(gain).connect(context.destination);
    source.start();
    source.stop(now + NOTE_S + 0.3);
    this.dispatchEvent(new CustomEvent("note", { detail: { place, midi } }));
  }

  /**
   * Decoded once for an instrument and a voice.
   * @param {AudioContext} context
   */
  noteClips(context) {
    if (!this.notes) {
      this.notes = ask("GET", `${this.lesson.path}/notes`).then(async (file) => {
        const { sound } = player();
        sound.register(NOTES, file);
        const bank = new sound.Bank(context);
        await bank.load([NOTES], () => undefined);
        return bank.parts.get(NOTES).clips;
      });
      this.notes.catch(() => (this.notes = null));
    }
    return this.notes;
  }

  // ---- a piece

  /**
   * Play a motif or a study; the same again stops it.
   * @param {string} id
   * @param {string} title
   * @param {"hear" | "yours"} [lead] whether the line sounds
   */
  async toggle(id, title, lead = "hear") {
    const again = this.piece?.id === id && this.title === title && this.isPlaying;
    this.stop();
    if (again) return;
    const context = this.open();
    this.wanted = id;
    this.dispatchEvent(new CustomEvent("change", { detail: { loading: title } }));
    let player;
    try {
      player = await this.ready(context);
    } catch (error) {
      this.lesson.tell(`This cannot be played: ${/** @type {Error} */ (error).message}`, true);
      this.dispatchEvent(new CustomEvent("change", { detail: {} }));
      return;
    }
    if (this.wanted !== id) return;
    const piece = player.pieces.find((one) => one.id === id);
    if (!piece) return;
    this.piece = piece;
    this.title = title;
    this.player = player;
    player.transport.start(piece, { ...this.settings(player, piece), lead }, 0, context.currentTime + START_S);
    this.timer = window.setInterval(() => this.tick(), TICK_MS);
    this.tick();
    this.frame();
    this.dispatchEvent(new CustomEvent("change", { detail: {} }));
  }

  /**
   * @param {Desk.Player} player
   * @param {Desk.Piece} piece
   */
  settings(player, piece) {
    const motif = piece.id.startsWith("motif");
    return {
      bpm: this.tempo ? this.tempo * piece.beat : piece.tempo, from: 0, to: piece.bars.length - 1, loop: motif, countIn: motif ? "off" : "start",
      click: motif, lead: "hear", metronome: player.metronome,
    };
  }

  /**
   * The player of the state that is shown, made once for each.
   * @param {AudioContext} context
   * @returns {Promise<Desk.Player>}
   */
  ready(context) {
    const revision = this.lesson.view?.revision || 0;
    if (this.loaded?.revision !== revision) {
      const ready = this.load(context);
      this.loaded = { revision, ready };
      ready.catch(() => (this.loaded = null));
    }
    return /** @type {{ready: Promise<Desk.Player>}} */ (this.loaded).ready;
  }

  /**
   * @param {AudioContext} context
   * @returns {Promise<Desk.Player>}
   */
  async load(context) {
    const found = await ask("GET", `${this.lesson.path}/sound`);
    const app = player();
    for (const [name, file] of Object.entries(found.sounds)) app.sound.register(name, file);
    const bank = new app.sound.Bank(context);
    await bank.load(Object.keys(found.sounds), () => undefined);
    const mixer = new app.mixer.Mixer(context, bank);
    mixer.settle();
    for (const role of app.mixer.ROLES) mixer.setVolume(role, app.mixer.REST_VOLUME, false);
    return { pieces: found.pieces.map(app.piece.read), metronome: found.metronome, mixer, transport: new app.transport.Transport(mixer) };
  }

  /** Fetch the sound of this state before it is asked for, once nothing else is to be done. */
  prepare() {
    window.clearTimeout(this.preparing);
    this.preparing = window.setTimeout(() => {
      if (this.context && !this.lesson.busy && this.lesson.view?.plan) this.ready(this.context).catch(() => undefined);
    }, 1200);
  }

  tick() {
    const { player, context } = this;
    if (!player || !context) return;
    if (player.transport.finished(context.currentTime)) this.stop();
    else player.transport.fill(context.currentTime + AHEAD_S, context.currentTime);
  }

  frame() {
    if (!this.isPlaying || !this.player || !this.context) return;
    const heard = this.context.currentTime - (this.context.outputLatency || this.context.baseLatency || 0);
    const moment = this.player.transport.moment(heard);
    if (moment) this.dispatchEvent(new CustomEvent("moment", { detail: moment }));
    window.requestAnimationFrame(() => this.frame());
  }

  stop() {
    this.wanted = "";
    window.clearInterval(this.timer);
    if (this.player && this.context) {
      this.player.transport.stop(this.context.currentTime + 0.005);
      this.player = undefined;
      this.piece = null;
    }
    this.dispatchEvent(new CustomEvent("change", { detail: {} }));
  }

  // ---- clicks to tap to

  /**
   * Clicks, the first of each bar higher; gives the time of the first on the audio clock.
   * @param {number} beats
   * @param {number} beatsPerBar
   * @param {number} beatS
   */
  clicks(beats, beatsPerBar, beatS) {
    const context = this.open();
    const start = context.currentTime + 0.15;
    /** @type {OscillatorNode[]} */
    const sounding = [];
    for (let beat = 0; beat < beats; beat += 1) {
      const at = start + beat * beatS;
      const tone = context.createOscillator();
      const gain = context.createGain();
      tone.frequency.value = beat % beatsPerBar ? 880 : 1320;
      gain.gain.setValueAtTime(0, at);
      gain.gain.linearRampToValueAtTime(0.25, at + 0.002);
      gain.gain.exponentialRampToValueAtTime(0.001, at + 0.06);
      tone.connect(gain).connect(context.destination);
      tone.start(at);
      tone.stop(at + 0.07);
      sounding.push(tone);
    }
    return { start, stop: () => sounding.forEach((tone) => tone.stop()) };
  }
}
