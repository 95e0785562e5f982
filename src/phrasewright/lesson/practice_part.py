"""Versions of the track to practise with, from their section."""

from __future__ import annotations

from phrasewright.lesson.desk import Desk
from phrasewright.lesson.model import PracticeSpec, tapped_beat
from phrasewright.lesson.schema import PracticeSection
from phrasewright.score.performance import FASTEST_BPM
from phrasewright.theory.meter import Meter

MOST_BARS = 32


def practice_of(
    section: PracticeSection, tempos_bpm: tuple[float, ...], choruses: int, meter: Meter | None, desk: Desk
) -> PracticeSpec:
    """What is asked for; what is wrong is noted."""
    first_bpm = section.tempo if section.tempo is not None else tempos_bpm[0] if tempos_bpm else 60.0
    fastest_bpm = first_bpm + (section.rising or 0.0) * (choruses - 1)
    if meter is not None and fastest_bpm * float(tapped_beat(meter)) > FASTEST_BPM:
        key = "tempo" if section.rising is None else "rising"
        what = f"the track would reach {fastest_bpm:g} beats a minute, too fast for the band"
        desk.wrong_value(("practice", key), what, "Write a smaller number, or fewer choruses.")
    return PracticeSpec(
        tempo_bpm=None if section.tempo is None else float(section.tempo),
        call_and_response=section.call_and_response,
        drums_out=_drums_out(section.drums_out, desk),
        lead_aside=section.lead_aside,
        rising_bpm=None if section.rising is None else float(section.rising),
        fourths=section.fourths,
        click=section.click,
    )


def _drums_out(bars: list[int] | None, desk: Desk) -> tuple[int, int] | None:
    if bars is None:
        return None
    out, every = bars
    if not 1 <= out < every <= MOST_BARS:
        hint = f"Write the bars they are out and of how many, up to {MOST_BARS}: [1, 4]."
        desk.wrong_value(("practice", "drums_out"), f"the drums cannot be out {out} bars of every {every}", hint)
        return None
    return out, every
