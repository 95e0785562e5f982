/* transport.js: passes laid one after another on the audio clock, filled a little ahead of what is heard.
 *
 * Every method takes its time as an argument, so the same code plays live and renders offline. A pass keeps its
 * start time and its plan; a change of tempo, loop or metronome lays the running pass anew around the place
 * that is sounding: what has begun goes on, what lies ahead is planned again, nothing sounds twice.
 */
(function () {
  "use strict";
  const app = (window.Phrasewright = window.Phrasewright || {});
  const { seconds, quarters } = app.clock;

  const LATE_S = 0.1; // after a stall, notes later than this are left out rather than played in a burst
  const KEEP_S = 3; // passes stay known this long after their end, for lighting
  const Lead = Object.freeze({ HEAR: "hear", YOURS: "yours", TURNS: "turns" });
  const CountIn = Object.freeze({ OFF: "off", START: "start", EACH: "each" });

  /** Plays a piece through a mixer.
   *
   * settings: {bpm, from, to, loop, countIn, click, lead, metronome}; from, to: bar indexes of the loop, or of
   * the whole piece when there is none.
   */
  class Transport {
    constructor(mixer) {
      this.mixer = mixer;
      this.passes = [];
      this.voices = [];
      this.playing = false;
    }

    /** Begin at a bar, at a time of the audio clock; counting in when the settings say so. */
    start(piece, settings, bar, at) {
      this.cutAll(at);
      this.piece = piece;
      this.settings = { ...settings };
      this.passes = [];
      this.playing = true;
      this.turn = 0;
      this.push(bar, at, settings.countIn !== CountIn.OFF);
    }

    push(bar, at, count) {
      const turn = this.turn;
      this.turn += 1;
      this.passes.push({ turn, startS: at, cursor: 0, begun: new Set(), plan: this.plan(bar, this.settings.to, count, turn) });
    }

    plan(from, to, count, turn) {
      const { bpm, click, lead, metronome } = this.settings;
      const demo = lead === Lead.HEAR || (lead === Lead.TURNS && turn % 2 === 0);
      return app.plan.planPass(this.piece, { bpm, from, to: Math.max(from, to), count, click, demo, metronome });
    }

    /** When a pass ends, in seconds of the audio clock. */
    endOf(pass) {
      return pass.startS + seconds(pass.plan.length, pass.plan.bpm);
    }

    /** Schedule everything that begins before a horizon. now: what has passed already, so that a stall is noticed. */
    fill(horizonS, nowS) {
      while (this.playing) {
        const pass = this.passes[this.passes.length - 1];
        this.fillPass(pass, horizonS, nowS);
        const end = this.endOf(pass);
        if (end >= horizonS || pass.cursor < pass.plan.items.length || !this.settings.loop) break;
        this.push(this.settings.from, end, this.settings.countIn === CountIn.EACH);
      }
      this.voices = this.voices.filter((voice) => !voice.over);
      this.passes = this.passes.filter((pass, i) => i === this.passes.length - 1 || this.endOf(pass) > nowS - KEEP_S);
    }

    fillPass(pass, horizonS, nowS) {
      const { items, bpm } = pass.plan;
      for (; pass.cursor < items.length; pass.cursor += 1) {
        const item = items[pass.cursor];
        const at = pass.startS + seconds(item.u, bpm);
        if (at >= horizonS) return;
        if (pass.begun.has(item.id)) continue;
        pass.begun.add(item.id);
        const end = pass.startS + seconds(item.uEnd, bpm);
        const recorded = item.role === "recording"; // is never left out, but taken up where it should be by now
        if (item.silent || (recorded ? end : at + LATE_S) < nowS) continue;
        const voice = this.mixer.start(item, Math.max(at, nowS), end, recorded ? Math.max(nowS - at, 0) : 0);
        if (voice) this.voices.push(Object.assign(voice, { pass }));
      }
    }

    /** Change settings while playing, from a time on, without losing the place. */
    change(changes, atS) {
      this.settings = { ...this.settings, ...changes };
      if (!this.playing) return;
      const pass = this.passAt(atS) || this.passes[0];
      this.turn = pass.turn + 1;
      this.passes = this.passes.slice(0, this.passes.indexOf(pass) + 1);
      this.takeBack(atS);
      const u = quarters(atS - pass.startS, pass.plan.bpm);
      const { bar } = app.plan.placeAt(pass.plan, u);
      if (bar < this.settings.from || bar > this.settings.to) {
        this.seek(this.settings.from, atS);
        return;
      }
      const known = new Set(pass.plan.items.map((item) => item.id));
      pass.plan = this.plan(pass.plan.from, this.settings.to, pass.plan.count > 0, pass.turn);
      pass.startS = atS - seconds(u, pass.plan.bpm);
      pass.cursor = 0;
      for (const item of pass.plan.items) if (item.u < u && !known.has(item.id)) pass.begun.add(item.id);
      this.holdOn(pass, atS);
    }

    /** Forget what was scheduled from a time on. */
    takeBack(atS) {
      for (const voice of this.voices.filter((one) => !one.over && one.at >= atS)) {
        voice.pass.begun.delete(voice.item.id);
        voice.cut(atS);
      }
      for (const pass of this.passes) {
        for (const item of pass.plan.items) {
          if (pass.startS + seconds(item.u, pass.plan.bpm) >= atS) pass.begun.delete(item.id);
        }
      }
    }

    /** Give the notes that go on sounding their ends in the new plan; what the new plan silences is let go. */
    holdOn(pass, atS) {
      const items = new Map(pass.plan.items.map((item) => [item.id, item]));
      for (const voice of this.voices.filter((one) => !one.over && one.pass === pass)) {
        const item = items.get(voice.item.id);
        if (!item || item.silent) voice.cut(atS);
        else voice.moveEnd(pass.startS + seconds(item.uEnd, pass.plan.bpm), atS);
      }
    }

    /** Go to a bar and play on, without a count-in. */
    seek(bar, atS) {
      this.cutAll(atS);
      this.passes = [];
      this.push(bar, atS, false);
    }

    /** Stop; what sounds fades within a few hundredths of a second. */
    stop(atS) {
      this.cutAll(atS);
      this.passes = [];
      this.playing = false;
    }

    cutAll(atS) {
      for (const voice of this.voices) voice.cut(atS);
      this.voices = [];
    }

    /** The pass that holds at a time of the audio clock, undefined before the first and after the last. */
    passAt(atS) {
      return this.passes.find((pass) => pass.startS <= atS && atS < this.endOf(pass));
    }

    /** True when the last pass is over and no other follows. */
    finished(nowS) {
      const last = this.passes[this.passes.length - 1];
      return this.playing && !this.settings.loop && nowS >= this.endOf(last);
    }

    /** What to light at a time: {place, sounding, plan, turn} or null when nothing plays. */
    moment(atS) {
      const pass = this.passAt(atS);
      if (!pass) return null;
      const u = quarters(atS - pass.startS, pass.plan.bpm);
      return { place: app.plan.placeAt(pass.plan, u), sounding: app.plan.soundingAt(pass.plan, u), plan: pass.plan, u, turn: pass.turn };
    }
  }

  app.transport = { Transport, Lead, CountIn };
})();
