/* desk.js: what is being practised and how: the piece, tempo, loop, turns; it owns the audio context and the clock's ticking.
 *
 * The desk knows nothing of the controls' markup. It tells `view` when something changed: view.settings(desk),
 * view.moment(desk, moment or null), view.state(desk), view.loading(done, of), view.say(words), view.failed(words).
 */
(function () {
  "use strict";
  const app = (window.Phrasewright = window.Phrasewright || {});
  const { Lead, CountIn } = app.transport;

  const START_S = 0.08; // from pressing play to the first sound
  const EDIT_S = 0.03; // changes while playing take hold this soon
  const SHOWN = { everyMs: 40, aheadS: 0.25 };
  const HIDDEN = { everyMs: 500, aheadS: 4 }; // background tabs wake about once a second
  const SLOWEST_BPM = 20;
  const FASTEST_BPM = 400;
  const State = Object.freeze({ STOPPED: "stopped", LOADING: "loading", PLAYING: "playing" });

  const DEFAULTS = Object.freeze({
    piece: "", percent: 100, countIn: CountIn.START, click: false, lead: Lead.HEAR, loops: {}, volumes: {}, muted: {},
    follow: true, keys: true, neck: window.innerWidth > 700,
  });

  class Desk {
    /** lesson: what the data file registered; memory: a Memory; view: see above. */
    constructor(lesson, memory, view) {
      this.lesson = lesson;
      this.memory = memory;
      this.view = view;
      this.pieces = lesson.pieces.map(app.piece.read);
      this.values = memory.read(DEFAULTS);
      this.state = State.STOPPED;
      this.piece = this.pieceOf(this.values.piece) || this.pieceOf(lesson.start);
      this.cue = this.loop.from;
      document.addEventListener("visibilitychange", () => this.pace());
    }

    // ---- what is set

    pieceOf(id) {
      return this.pieces.find((piece) => piece.id === id);
    }

    /** The running tempo in quarter notes per minute. */
    get bpm() {
      if (this.piece.recording) return this.piece.tempo;
      return Math.max(SLOWEST_BPM, Math.min(FASTEST_BPM, (this.piece.tempo * this.values.percent) / 100));
    }

    /** The running tempo in beats a minute, as a player taps them (dotted quarters in 6/8 and 12/8). */
    get tapped() {
      return this.bpm / this.piece.beat;
    }

    get hasLead() {
      return this.piece.parts.includes("lead");
    }

    /** The loop of the piece in bar indexes; when off, the whole piece. */
    get loop() {
      const last = this.piece.bars.length - 1;
      const saved = this.values.loops[this.piece.id] || { on: false, from: 0, to: last };
      const to = Math.max(0, Math.min(last, saved.to | 0));
      return { on: Boolean(saved.on), from: Math.max(0, Math.min(to, saved.from | 0)), to };
    }

    get settings() {
      const { on, from, to } = this.loop;
      const last = this.piece.bars.length - 1;
      const turns = this.hasLead && this.values.lead === Lead.TURNS;
      return {
        bpm: this.bpm, from: on ? from : 0, to: on ? to : last, loop: on || turns, countIn: this.values.countIn,
        click: this.values.click, lead: this.values.lead, metronome: this.lesson.metronome,
      };
    }

    keep(changes) {
      const before = JSON.stringify(this.settings);
      Object.assign(this.values, changes);
      this.memory.write(this.values);
      if (this.state === State.PLAYING && JSON.stringify(this.settings) !== before) {
        this.transport.change(this.settings, this.context.currentTime + EDIT_S);
        this.tick();
      }
      this.view.settings(this);
    }

    /** tapped: beats a minute. */
    setTempo(tapped) {
      if (!Number.isFinite(tapped)) return;
      if (this.piece.recording) {
        this.takeRecording(tapped * this.piece.beat);
        return;
      }
      this.keep({ percent: this.heldPercent((100 * tapped * this.piece.beat) / this.piece.tempo) });
    }

    /** Some beats a minute faster, or slower below 0; a recording goes on to its next tempo. */
    stepTempo(beats) {
      const there = this.pieces.filter((piece) => piece.recording && Math.sign(piece.tempo - this.piece.tempo) === Math.sign(beats));
      if (!this.piece.recording) this.setTempo(Math.round(this.tapped) + beats);
      else if (there.length) this.takeRecording(beats > 0 ? Math.min(...there.map((one) => one.tempo)) : Math.max(...there.map((one) => one.tempo)));
    }

    /** percent: of the piece's own tempo. */
    setPercent(percent) {
      if (this.piece.recording) this.takeRecording((this.piece.tempo * percent) / 100);
      else this.keep({ percent: this.heldPercent(percent) });
    }

    /** The recording at the tempo nearest to a wish: it is there at the lesson's tempos and at no other. */
    takeRecording(bpm) {
      const there = this.pieces.filter((piece) => piece.recording).sort((a, b) => Math.abs(a.tempo - bpm) - Math.abs(b.tempo - bpm));
      if (there[0] !== this.piece) this.goOnWith(there[0]);
      this.view.settings(this);
      if (Math.abs(there[0].tempo - bpm) > 0.5) this.view.say(`The recording is there at ${Math.round(this.tapped)}, which is nearest.`);
    }

    /** The same bars in another piece: the loop, the place and the playing go on. */
    goOnWith(piece) {
      const playing = this.state === State.PLAYING;
      const moment = playing ? this.transport.moment(this.context.currentTime) : null;
      const bar = moment ? moment.place.bar : this.cue;
      this.values.loops = { ...this.values.loops, [piece.id]: this.loop };
      this.choose(piece.id);
      this.seek(bar);
      if (playing) this.play();
    }

    /** A wished percentage of the piece's own tempo, held inside what can be played; the old one when it is no wish. */
    heldPercent(wished) {
      if (!(wished > 0)) return this.values.percent;
      const bpm = Math.max(SLOWEST_BPM, Math.min(FASTEST_BPM, (this.piece.tempo * wished) / 100));
      return (100 * bpm) / this.piece.tempo;
    }

    setLoop(from, to, on) {
      const last = this.piece.bars.length - 1;
      const end = Math.max(0, Math.min(last, to));
      const loop = { on, from: Math.max(0, Math.min(end, from)), to: end };
      if (on && (this.cue < loop.from || this.cue > loop.to)) this.cue = loop.from;
      this.keep({ loops: { ...this.values.loops, [this.piece.id]: loop } });
      if (this.state !== State.PLAYING) this.view.moment(this, null);
    }

    setVolume(role, volume, muted) {
      Object.assign(this.values, {
        volumes: { ...this.values.volumes, [role]: volume },
        muted: { ...this.values.muted, [role]: muted },
      });
      this.memory.write(this.values);
      if (this.mixer) this.mixer.setVolume(role, volume, muted);
      this.view.settings(this);
    }

    volumeOf(role) {
      const volume = this.values.volumes[role];
      return { volume: Number.isFinite(volume) ? volume : app.mixer.REST_VOLUME, muted: Boolean(this.values.muted[role]) };
    }

    /** Forget all that was set for this lesson; the chosen piece stays. */
    forget() {
      const { keys } = this.values;
      this.keep({ ...DEFAULTS, piece: this.piece.id, keys });
      for (const role of app.mixer.ROLES) this.setVolume(role, app.mixer.REST_VOLUME, false);
    }

    choose(id) {
      const next = this.pieceOf(id);
      if (!next || next === this.piece) return;
      if (this.state !== State.STOPPED) this.stop();
      this.piece = next;
      this.cue = this.loop.on ? this.loop.from : 0;
      this.keep({ piece: id });
      this.view.state(this);
      this.view.moment(this, null);
    }

    // ---- playing

    /** Play the piece from its mark, fetching what sound it needs first. */
    async play() {
      if (this.state !== State.STOPPED) return;
      this.enter(State.LOADING);
      const ticket = (this.ticket = {});
      try {
        this.open();
        const resumed = this.context.resume();
        await this.bank.load(this.needs(), (done, of) => this.view.loading(done, of));
        await resumed;
      } catch (error) {
        this.enter(State.STOPPED);
        this.view.failed(`The sound could not be read: ${error.message}.`);
        return;
      }
      if (this.ticket !== ticket || this.state !== State.LOADING) return;
      this.mixer.settle();
      for (const role of app.mixer.ROLES) {
        const { volume, muted } = this.volumeOf(role);
        this.mixer.setVolume(role, volume, muted);
      }
      this.transport.start(this.piece, this.settings, this.cue, this.context.currentTime + START_S);
      this.enter(State.PLAYING);
      this.pace();
      this.frame();
      this.view.say(`Playing ${this.piece.title} at ${Math.round(this.tapped)} beats a minute.`);
    }

    needs() {
      const roles = new Set([...this.piece.parts, "drums"]);
      const names = app.mixer.ROLES.filter((role) => roles.has(role)).map((role) => (role === "recording" ? this.piece.recording : role));
      return [...names, ...(this.lesson.room ? ["room"] : [])];
    }

    open() {
      if (this.context) return;
      const Context = window.AudioContext || window.webkitAudioContext;
      try {
        this.context = new Context({ latencyHint: "interactive", sampleRate: this.lesson.rate });
      } catch {
        this.context = new Context();
      }
      this.bank = new app.sound.Bank(this.context);
      this.mixer = new app.mixer.Mixer(this.context, this.bank);
      this.transport = new app.transport.Transport(this.mixer);
      this.context.addEventListener("statechange", () => this.interrupted());
    }

    interrupted() {
      if (this.state !== State.PLAYING || this.context.state === "running" || this.context.state === "closed") return;
      this.stop();
      this.view.say("The device took the sound away. Play to go on.");
    }

    stop() {
      if (this.state === State.STOPPED) return;
      if (this.transport) this.transport.stop(this.context.currentTime + 0.005);
      this.rest("Stopped.");
    }

    rest(words) {
      this.enter(State.STOPPED);
      this.pace();
      this.view.moment(this, null);
      this.view.say(words);
    }

    toggle() {
      if (this.state === State.STOPPED) this.play();
      else this.stop();
    }

    /** Go to a bar: at once while playing, else move the mark that play begins at. */
    seek(bar) {
      const { on, from, to } = this.loop;
      const last = this.piece.bars.length - 1;
      const held = Math.max(on ? from : 0, Math.min(on ? to : last, bar));
      this.cue = held;
      if (this.state === State.PLAYING) {
        this.transport.seek(held, this.context.currentTime + EDIT_S);
        this.tick();
      } else {
        this.view.moment(this, null);
      }
    }

    /** Bars back (negative) or forward from the place. */
    step(bars) {
      const moment = this.state === State.PLAYING ? this.transport.moment(this.context.currentTime) : null;
      this.seek((moment ? moment.place.bar : this.cue) + bars);
    }

    enter(state) {
      this.state = state;
      this.view.state(this);
    }

    // ---- the ticking

    pace() {
      window.clearInterval(this.timer);
      if (this.state !== State.PLAYING) return;
      const pace = document.hidden ? HIDDEN : SHOWN;
      this.timer = window.setInterval(() => this.tick(), pace.everyMs);
      this.tick();
      if (!document.hidden) this.frame();
    }

    tick() {
      if (this.state !== State.PLAYING) return;
      const now = this.context.currentTime;
      if (this.transport.finished(now)) {
        this.transport.passes = [];
        this.transport.playing = false;
        this.rest("The end.");
        return;
      }
      this.transport.fill(now + (document.hidden ? HIDDEN : SHOWN).aheadS, now);
    }

    /** What is heard now, later than the clock by the way to the loudspeaker. */
    get heardS() {
      return this.context.currentTime - (this.context.outputLatency || this.context.baseLatency || 0);
    }

    frame() {
      window.cancelAnimationFrame(this.raf);
      if (this.state !== State.PLAYING) return;
      const moment = this.transport.moment(this.heardS);
      if (moment) this.view.moment(this, moment);
      this.raf = window.requestAnimationFrame(() => this.frame());
    }
  }

  app.desk = { Desk, State };
})();
