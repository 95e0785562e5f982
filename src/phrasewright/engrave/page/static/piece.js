/* piece.js: the compact rows of a piece, opened into plain objects, and questions about them. Pure functions only. */
(function () {
  "use strict";
  const app = (window.Phrasewright = window.Phrasewright || {});

  function readBar([number, q, length, w, beats, chords, chartBar]) {
    return { number, q, length, w, beats, chords: chords.map(([at, name]) => ({ q: at, name })), chartBar };
  }

  function readEvent(row, index, parts, clips) {
    const [part, q, qEnd, w, wEnd, clip, gain, note, place, pitch, stops, delayS, lane, velocity] = row;
    const [key, rate] = clips[clip];
    return { index, role: parts[part], q, qEnd, w, wEnd, key, rate, gain, note, place, pitch, stops: stops === 1, delayS, lane, velocity };
  }

  /** Open a piece as the page's data file states it. */
  function read(data) {
    return {
      id: data.id,
      title: data.title,
      beat: data.beat,
      tempo: data.tempo,
      tempos: data.tempos,
      swing: data.swing,
      pace: data.pace,
      gapS: data.gap,
      recording: data.recording,
      end: data.end,
      parts: data.recording ? [...data.parts, "recording"] : data.parts,
      bars: data.bars.map(readBar),
      events: data.events.map((row, index) => readEvent(row, index, data.parts, data.clips)),
    };
  }

  /** Where a bar ends: the next bar's line, or the end of the piece. */
  function endOf(piece, index) {
    const next = piece.bars[index + 1];
    return next ? { q: next.q, w: next.w } : { q: piece.end, w: 0 };
  }

  /** Index of the bar that holds a written time; the first or last bar outside. */
  function barAt(piece, q) {
    let found = 0;
    piece.bars.forEach((bar, index) => {
      if (bar.q <= q + 1e-9) found = index;
    });
    return found;
  }

  /** Name of the chord at a written time, "" when none. */
  function chordAt(piece, q) {
    let name = "";
    for (const chord of piece.bars[barAt(piece, q)].chords) if (chord.q <= q + 1e-9) name = chord.name;
    return name;
  }

  /** Name of the next different chord after a written time, "" when none follows. */
  function chordAfter(piece, q) {
    const now = chordAt(piece, q);
    for (const bar of piece.bars) {
      for (const chord of bar.chords) if (chord.q > q + 1e-9 && chord.name !== now) return chord.name;
    }
    return "";
  }

  /** Stretches of time in which the lead sounds, joined where notes touch: [{q, qEnd, notes: [...]}]. */
  function phrases(piece) {
    const lead = piece.events.filter((event) => event.role === "lead");
    const runs = [];
    for (const event of lead) {
      const run = runs[runs.length - 1];
      if (run && event.q - run.qEnd < 1e-6) {
        run.notes.push(event);
        run.qEnd = Math.max(run.qEnd, event.qEnd);
      } else {
        runs.push({ q: event.q, qEnd: event.qEnd, notes: [event] });
      }
    }
    return runs;
  }

  app.piece = { read, endOf, barAt, chordAt, chordAfter, phrases };
})();
