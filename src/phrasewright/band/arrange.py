"""The band as a whole: drums, bass and chords over the bars of a chart.

The parts cover exactly the bars they are given and stay exactly in time: choruses differ in what is played, never in
when (random timing lowers groove: Senn et al. 2016). The seed alone decides which variations are heard.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from random import Random

from phrasewright.band.bass import bass_line
from phrasewright.band.bass_neck import BASS_GUITAR
from phrasewright.band.comping import chord_notes
from phrasewright.band.drums import drum_part
from phrasewright.band.form import Ending, plan_bars
from phrasewright.band.groove_model import Groove
from phrasewright.band.intensity import shaped
from phrasewright.band.refit import refitted
from phrasewright.band.voicings import GUITAR
from phrasewright.score.model import DrumPart, Measure, Note, Part, PartRole


@dataclass(frozen=True, slots=True, kw_only=True)
class Ensemble:
    """The accompaniment. parts: chords, then bass, each only where the groove has patterns for it."""

    parts: tuple[Part, ...]
    drums: DrumPart


def accompany(measures: tuple[Measure, ...], groove: Groove, *, seed: int, ending: Ending = Ending.LOOP) -> Ensemble:
    """Drums, bass and chords for the bars, in the score's own time.

    ending: LOOP lets the last bar lead back to the first; FINAL holds a last chord. The same bars, groove, seed and
    ending give the same notes. Bars in a meter the groove lacks are cut from those it has. Raises ValueError without
    bars, GrooveError when the groove fits none of them.
    """
    if not measures:
        raise ValueError("a band needs at least one bar")
    groove = refitted(groove, measures)
    bars = plan_bars(measures, rng=Random(f"form {seed}"), ending=ending)
    if groove.crash is not None:
        bars = shaped(bars, rng=Random(f"intensity {seed}"))
    plans = [groove.plan(meter) for meter in {measure.meter for measure in measures}]
    parts: list[Part] = []
    if any(plan.chords for plan in plans):
        parts.append(_chord_part(chord_notes(bars, groove, rng=Random(f"chords {seed}")), groove.chord_voice))
    if any(plan.bass for plan in plans):
        notes = bass_line(bars, groove, rng=Random(f"bass {seed}"))
        parts.append(
            Part(role=PartRole.BASS, name="Bass", notes=notes, voice=groove.bass_voice, instrument=BASS_GUITAR)
        )
    return Ensemble(parts=tuple(parts), drums=drum_part(bars, groove))


def _chord_part(notes: tuple[Note, ...], voice: str) -> Part:
    """The chords for a voice; only guitars keep strings and frets."""
    if "guitar" in voice:
        return Part(role=PartRole.CHORDS, name="Chords", notes=notes, voice=voice, instrument=GUITAR)
    placeless = tuple(replace(note, place=None) for note in notes)
    return Part(role=PartRole.CHORDS, name="Chords", notes=placeless, voice=voice)
