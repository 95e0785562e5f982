/* plan.js: one pass over a span of bars, as a list of what sounds when. Pure functions only.
 *
 * A pass begins with a bar of count-in clicks or none, and then plays bars from..to (indexes, both included).
 * Times are played quarter notes u from the start of the pass; the transport turns them into seconds.
 */
(function () {
  "use strict";
  const app = (window.Phrasewright = window.Phrasewright || {});
  const { swingShift, played, swung, seconds, quarters } = app.clock;

  const FADE_S = 0.01; // from one bar of a recording to the next, before the bar line; its slices are cut that way
  const CLICK_LENGTH = 0.25; // quarter notes; for lighting only, a click rings by itself

  function click(id, u, first, metronome, counting) {
    const clip = first ? metronome.accent : metronome.click;
    return { id, u, uEnd: u + CLICK_LENGTH, role: "click", key: clip[0], rate: clip[1], gain: clip[2], event: null, silent: false, counting };
  }

  /** rate: played quarter notes to a written one where the pass begins. */
  function countIn(bar, rate, metronome) {
    return bar.beats.map((beat, index) => click(`c${index}`, beat * rate, index === 0, metronome, index + 1));
  }

  function metronomeClicks(piece, from, to, at, metronome) {
    const items = [];
    for (let index = from; index <= to; index += 1) {
      const bar = piece.bars[index];
      bar.beats.forEach((beat, number) => {
        items.push(click(`m${index}.${number}`, at(bar.q + beat, bar.w), number === 0, metronome, 0));
      });
    }
    return items;
  }

  /** A recording, bar by bar: each slice begins a little before its bar line and fades in there, as the one before fades out. */
  function slices(piece, bpm, from, to, at) {
    const items = [];
    for (let index = from; index <= to; index += 1) {
      const [bar, end] = [piece.bars[index], app.piece.endOf(piece, index)];
      const u = at(bar.q, 0) - quarters(FADE_S, bpm);
      items.push({
        id: `r${index}`, u, uEnd: at(end.q, 0), role: "recording", key: `bar ${index + 1}`, rate: 1, gain: 1,
        event: null, silent: false, counting: 0,
      });
    }
    return items;
  }

  /** Events that a tempo leaves out: soft strokes of a timekeeper that follow a louder one too soon for one hand. */
  function crowdedOut(piece, bpm, shift) {
    const out = new Set();
    const last = new Map(); // lane -> the stroke before
    for (const event of piece.events) {
      if (event.lane < 0) continue;
      const before = last.get(event.lane);
      const gap = before ? played(event.q, event.w, shift, piece.pace) - played(before.q, before.w, shift, piece.pace) : 0;
      if (before && event.velocity < before.velocity && seconds(gap, bpm) < piece.gapS - 1e-9) out.add(event.index);
      else last.set(event.lane, event);
    }
    return out;
  }

  /** Plan a pass.
   *
   * options: bpm; from, to: bar indexes; count: a bar of clicks first; click: metronome on; demo: lead sounds
   * (when it does not, its notes are still there to be lit); metronome: {click, accent} as [key, rate, gain].
   * Returns {piece, bpm, shift, origin, from, to, count, length, items, bars}; origin, where the pass begins in the
   * piece's own played time, count and length in played quarters.
   */
  function planPass(piece, options) {
    const { bpm, from, to, metronome } = options;
    const shift = swingShift(piece.swing, bpm);
    const first = piece.bars[from];
    const last = app.piece.endOf(piece, to);
    const start = played(first.q, first.w, shift, piece.pace);
    const rate = (played(first.q + first.length, first.w, shift, piece.pace) - start) / first.length;
    const count = options.count ? first.length * rate : 0;
    const origin = start - count;
    const at = (q, w) => played(q, w, shift, piece.pace) - origin;
    const length = at(last.q, last.w);
    const items = options.count ? countIn(first, rate, metronome) : [];
    if (options.click) items.push(...metronomeClicks(piece, from, to, at, metronome));
    if (piece.recording) items.push(...slices(piece, bpm, from, to, at));
    const crowded = crowdedOut(piece, bpm, shift);
    for (const event of piece.events) {
      if (event.q < first.q - 1e-9 || event.q >= last.q - 1e-9 || crowded.has(event.index)) continue;
      const uEnd = Math.min(at(event.qEnd, event.wEnd), length);
      const written = at(event.q, event.w);
      const u = written + Math.min(quarters(event.delayS, bpm), (uEnd - written) / 2);
      const silent = event.role === "lead" && !options.demo;
      items.push({
        id: `e${event.index}`, u, uEnd, role: event.role, key: event.key,
        rate: event.rate, gain: event.gain, event, silent, counting: 0,
      });
    }
    items.sort((a, b) => a.u - b.u);
    const bars = [];
    for (let index = from; index <= to; index += 1) bars.push({ index, u: at(piece.bars[index].q, piece.bars[index].w) });
    return { piece, bpm, shift, origin, from, to, count, length, items, bars };
  }

  /** Where a pass stands at u: {counting: beat or 0, bar: index, beat: from 1, q: written time of the place}. */
  function placeAt(plan, u) {
    const { piece, count } = plan;
    const bar0 = piece.bars[plan.from];
    if (u < count - 1e-9) {
      const beat = bar0.beats.filter((at) => (at * count) / bar0.length <= u + 1e-9).length;
      return { counting: Math.max(1, beat), bar: plan.from, beat: 0, q: bar0.q };
    }
    let here = plan.bars[0];
    for (const bar of plan.bars) if (bar.u <= u + 1e-9) here = bar;
    const bar = piece.bars[here.index];
    const within = Math.max(0, Math.min(swung(u + plan.origin, piece.pace) - bar.q - plan.shift * bar.w, bar.length));
    return { counting: 0, bar: here.index, beat: bar.beats.filter((at) => at <= within + 1e-9).length, q: bar.q + within };
  }

  /** What sounds at u: the items whose time has begun and not ended. */
  function soundingAt(plan, u) {
    return plan.items.filter((item) => item.u <= u && u < item.uEnd);
  }

  app.plan = { planPass, placeAt, soundingAt };
})();
