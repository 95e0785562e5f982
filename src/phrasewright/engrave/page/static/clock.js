/* clock.js: from written time to seconds, as the score model does it.
 *
 * A written time q (quarter notes) with swing weight w is played at (q + s * w) * 60 / bpm seconds, where
 * s = r / (1 + r) - 1/2 and the ratio r is linear between [bpm, ratio] points and constant outside them.
 * q + s * w is called the played time u, still in quarter notes. Pure functions only.
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

  /** Played time in quarter notes. */
  function played(q, weight, shift) {
    return q + shift * weight;
  }

  /** Seconds of a span of played quarter notes. */
  function seconds(u, bpm) {
    return (u * 60) / bpm;
  }

  /** Played quarter notes in a span of seconds. */
  function quarters(s, bpm) {
    return (s * bpm) / 60;
  }

  app.clock = { swingRatio, swingShift, played, seconds, quarters };
})();
