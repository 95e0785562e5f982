/* clock.js: from written time to seconds, as the score model does it.
 *
 * A written time q (quarter notes) with swing weight w is played at (q + s * w) * 60 / bpm seconds, where
 * s = r / (1 + r) - 1/2 and the ratio r is linear between [bpm, ratio] points and constant outside them.
 * q + s * w is the swung time. Where the tempo changes on the way, a pace, rows of [swung, played] quarter notes,
 * is laid over it; without one both are the same. The result is called the played time u. Pure functions only.
 */
(function () {
  "use strict";
  const app = (window.Phrasewright = window.Phrasewright || {});

  /** Long-to-short ratio at a tempo; no points = 1, straight. */
  function swingRatio(points, bpm) {
    if (!points.length) return 1;
    if (bpm <= points[0][0]) return points[0][1];
    for (let i = 1; i < points.length; i += 1) {
      const [tempo, ratio] = points[i];
      if (bpm <= tempo) {
        const [tempoBefore, ratioBefore] = points[i - 1];
        return ratioBefore + ((bpm - tempoBefore) / (tempo - tempoBefore)) * (ratio - ratioBefore);
      }
    }
    return points[points.length - 1][1];
  }

  /** How far, in quarter notes, what stands half-way through the beat is delayed. */
  function swingShift(points, bpm) {
    const ratio = swingRatio(points, bpm);
    return ratio / (1 + ratio) - 0.5;
  }

  /** A place on a line with bends, rows of [from, to]; even outside it. from, to: 0 and 1, or 1 and 0 to go back. */
  function along(pace, x, from, to) {
    if (!pace.length) return x;
    let i = 0;
    while (i < pace.length - 2 && x >= pace[i + 1][from]) i += 1;
    const [here, next] = [pace[i], pace[i + 1]];
    return here[to] + ((x - here[from]) * (next[to] - here[to])) / (next[from] - here[from]);
  }

  /** Played time in quarter notes. */
  function played(q, weight, shift, pace) {
    return along(pace, q + shift * weight, 0, 1);
  }

  /** The swung time of a played one: the way back. */
  function swung(u, pace) {
    return along(pace, u, 1, 0);
  }

  /** Seconds of a span of played quarter notes. */
  function seconds(u, bpm) {
    return (u * 60) / bpm;
  }

  /** Played quarter notes in a span of seconds. */
  function quarters(s, bpm) {
    return (s * bpm) / 60;
  }

  app.clock = { swingRatio, swingShift, played, swung, seconds, quarters };
})();
