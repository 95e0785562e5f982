"""From a score to what the page plays: events with swing weights, bars, and their compact JSON form.

The page plays ``(q + s(bpm) * w) * 60 / bpm`` seconds for a written time q with swing weight w, its pace laid over
that, as ``score.performance`` does. The weight depends on the written fraction (triplets have none) and so is
computed here, where times are still exact.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction

from phrasewright.band.drums import LEAST_GAP_S, SILENCED_BY, TIMEKEEPERS
from phrasewright.engrave.page.piece_view import (
    PieceBar,
    PieceChord,
    PieceEvent,
    PieceView,
)
from phrasewright.engrave.page.sound_bank import ClipUse
from phrasewright.score.model import DrumPart, Hit, Measure, Part, PartRole, Score
from phrasewright.score.pace import pace_of
from phrasewright.score.performance import SwingCurve, swing_weight
from phrasewright.score.touch_rules import handed_on

ClipsOf = Callable[[Part | DrumPart], Sequence[ClipUse]]

STROKE_LENGTH = Fraction(1, 4)  # a drum stroke has no written length; this long it stays lit, it rings as it will
_DECIMALS = 6  # a millionth of a quarter note: under 3 microseconds at 20 bpm


def _on_time(part: Part) -> Sequence[float]:
    return (0.0,) * len(part.notes)


def piece_from_score(
    score: Score,
    *,
    id: str,  # noqa: A002 - the piece's own name for it
    clips_of: ClipsOf,
    swing: SwingCurve,
    tempo_bpm: float,
    tempos_bpm: Sequence[float] = (),
    band: Sequence[Part] = (),
    drums: DrumPart | None = None,
    chart_bars: Sequence[int] = (),
    title: str | None = None,
    delays_s: Callable[[Part], Sequence[float]] = _on_time,
) -> PieceView:
    """Lay out a score, and a band that is not yet in it, as a piece of the page.

    clips_of: the clip of every note or stroke of a part; their gains are taken as final, velocity included.
    delays_s: how much later than written each note of a part sounds, in s (a strummed chord's strings).
    chart_bars: numbers of the chart's bars that the piece goes over, again and again; empty when it follows none.
    """
    parts = (*score.parts, *band)
    events = [event for part in parts for event in _notes(part, clips_of(part), delays_s(part))]
    for kit in (score.drums, drums):
        events += [] if kit is None else _strokes(kit, clips_of(kit))
    meter = score.measures[0].meter
    return PieceView(
        id=id,
        title=score.title if title is None else title,
        bars=tuple(_bar(measure, chart_bars) for measure in score.measures),
        events=tuple(sorted(events, key=lambda event: event.onset)),
        swing=swing,
        tempo_bpm=tempo_bpm,
        tempos_bpm=tuple(sorted({*tempos_bpm, tempo_bpm})),
        beat=meter.pulse if meter.is_compound else Fraction(1),
        pace=pace_of(score.measures),
    )


def _notes(part: Part, clips: Sequence[ClipUse], delays_s: Sequence[float]) -> list[PieceEvent]:
    passed = handed_on(part.notes)
    return [
        PieceEvent(
            role=part.role,
            onset=note.onset,
            end=note.end,
            onset_weight=swing_weight(note.onset),
            end_weight=swing_weight(note.end),
            clip=clip,
            velocity=note.velocity,
            stops=index in passed,
            note=index if part.role is PartRole.LEAD else None,
            place=note.place if part.role is PartRole.LEAD else None,
            pitch_midi=note.pitch.midi,
            delay_s=delay_s,
        )
        for index, (note, clip, delay_s) in enumerate(zip(part.notes, clips, delays_s, strict=True))
    ]


def _strokes(kit: DrumPart, clips: Sequence[ClipUse]) -> list[PieceEvent]:
    events = []
    for index, (hit, clip) in enumerate(zip(kit.hits, clips, strict=True)):
        enders = SILENCED_BY.get(hit.drum, ())
        later = (one.onset for one in kit.hits[index + 1 :] if one.onset > hit.onset and one.drum in enders)
        events.append(_stroke(hit, clip, next(later, None)))
    return events


def _stroke(hit: Hit, clip: ClipUse, silenced_at: Fraction | None) -> PieceEvent:
    end = hit.onset + STROKE_LENGTH if silenced_at is None else silenced_at
    return PieceEvent(
        role=PartRole.DRUMS,
        onset=hit.onset,
        end=end,
        onset_weight=swing_weight(hit.onset),
        end_weight=swing_weight(end),
        clip=clip,
        velocity=hit.velocity,
        stops=silenced_at is not None,
        lane=TIMEKEEPERS.index(hit.drum) if hit.drum in TIMEKEEPERS else None,
    )


def _bar(measure: Measure, chart_bars: Sequence[int]) -> PieceBar:
    pulse = measure.meter.pulse
    return PieceBar(
        number=measure.number,
        onset=measure.onset,
        length=measure.meter.bar,
        weight=swing_weight(measure.onset),
        beats=tuple(beat * pulse for beat in range(int(measure.meter.bar / pulse))),
        chords=tuple(PieceChord(onset=s.onset, printed=s.chord.printed) for s in measure.chords if s.chord),
        chart_bar=chart_bars[(measure.number - 1) % len(chart_bars)] if chart_bars else None,
    )


def piece_json(piece: PieceView) -> dict[str, object]:
    """The compact form that ``piece.js`` reads: clips once, then one short row for each event.

    Rows of ``events``: [part, q, q_end, w, w_end, clip, gain, note or -1, place or "", MIDI pitch or 0, 1 when it
    stops, delay in s, lane or -1, velocity of a stroke in a lane]; part and clip index the lists ``parts`` and
    ``clips``; of ``bars``: [number, q, length, w, beats, chords, chart bar or -1]. ``gap``: strokes in a lane that
    follow a louder one within so many seconds are left out, as ``band.drums.thinned`` does.
    """
    roles = list(piece.roles)
    clips = list(dict.fromkeys((event.clip.key, event.clip.rate) for event in piece.events))
    return {
        "id": piece.id,
        "title": piece.title,
        "beat": _number(piece.beat),
        "tempo": _number(piece.tempo_bpm),
        "tempos": [_number(tempo) for tempo in piece.tempos_bpm],
        "swing": [[_number(tempo), _number(ratio)] for tempo, ratio in piece.swing.points],
        "pace": [[_number(written), _number(played)] for written, played in piece.pace.moments],
        "gap": LEAST_GAP_S,
        "recording": piece.recording,
        "end": _number(piece.bars[-1].onset + piece.bars[-1].length),
        "parts": [role.value for role in roles],
        "clips": [[key, _number(rate)] for key, rate in clips],
        "bars": [_bar_row(bar) for bar in piece.bars],
        "events": [_event_row(event, roles, clips) for event in piece.events],
    }


def _bar_row(bar: PieceBar) -> list[object]:
    beats = [_number(beat) for beat in bar.beats]
    chords = [[_number(chord.onset), chord.printed] for chord in bar.chords]
    return [
        bar.number,
        _number(bar.onset),
        _number(bar.length),
        _number(bar.weight),
        beats,
        chords,
        -1 if bar.chart_bar is None else bar.chart_bar,
    ]


def _event_row(event: PieceEvent, roles: list[PartRole], clips: list[tuple[str, float]]) -> list[object]:
    times = (event.onset, event.end, event.onset_weight, event.end_weight)
    place = "" if event.place is None else f"{event.place.string}-{event.place.fret}"
    return [
        roles.index(event.role),
        *(_number(time) for time in times),
        clips.index((event.clip.key, event.clip.rate)),
        _number(event.clip.gain),
        -1 if event.note is None else event.note,
        place,
        event.pitch_midi or 0,
        int(event.stops),
        _number(event.delay_s),
        *((-1, 0) if event.lane is None else (event.lane, _number(event.velocity))),
    ]


def _number(value: Fraction | float) -> float | int:
    """The shortest JSON number that is near enough."""
    rounded = round(float(value), _DECIMALS)
    return int(rounded) if rounded == int(rounded) else rounded
