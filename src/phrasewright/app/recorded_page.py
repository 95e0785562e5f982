"""The teacher's own recording on the page: a piece for each tempo, its bars where they lie in the recording."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction

from phrasewright.app.page_sound import clip_finder, page_performance
from phrasewright.app.pieces import BandPiece
from phrasewright.app.recording import OwnTrack
from phrasewright.engrave.page.piece_view import PieceView
from phrasewright.engrave.page.pieces import piece_from_score
from phrasewright.engrave.page.recorded import recorded_sprite
from phrasewright.engrave.page.sound_bank import ClipUse, Sprite
from phrasewright.lesson.model import tapped_beat
from phrasewright.lesson.plan import LessonPlan
from phrasewright.listen.beat_map import BeatMap
from phrasewright.listen.onset_strength import RATE
from phrasewright.score.model import Measure, Note, Score
from phrasewright.score.pace import Pace
from phrasewright.score.played_chart import PlayedChart
from phrasewright.sound.encode import flac_bytes

RECORDING_WORDS = (
    "Your teacher’s own recording, at the tempos of the lesson. The lead plays the first study once over it; choose "
    "“your turn” to have the recording alone, or loop the bars you want to stay in."
)


def recorded_pieces(
    own: OwnTrack, plan: LessonPlan, track: BandPiece, voiced: tuple[BandPiece, ...]
) -> tuple[tuple[PieceView, ...], dict[str, Sprite]]:
    """A piece for each tempo of the lesson, and the sound of each by its name. voiced: all pieces that share voices."""
    pieces, sprites = [], {}
    for tempo_bpm in plan.lesson.tempos_bpm:
        audio, beats = own.at(tempo_bpm)
        name = f"recording-{tempo_bpm:g}".replace(".", "-")
        piece, lines_s = _piece(name, tempo_bpm, beats, own.played, plan, track, voiced)
        pieces.append(piece)
        sprites[name] = recorded_sprite(audio, RATE, lines_s, flac_bytes)
    return tuple(pieces), sprites


def _piece(
    name: str,
    tempo_bpm: float,
    beats: BeatMap,
    played: PlayedChart,
    plan: LessonPlan,
    track: BandPiece,
    voiced: tuple[BandPiece, ...],
) -> tuple[PieceView, list[float]]:
    lesson, layout = plan.lesson, beats.layout
    bars = [bar for bar in beats.bars if bar.number >= (0 if layout.pickup else 1)]
    measures = [bar for bar in played.measures(bars[-1].number) if bar.number >= bars[0].number]
    first = -played.pickup  # of everything played, in quarter notes from bar 1
    start, end = first + measures[0].onset, first + measures[-1].end
    lead, clips = track.lead, clip_finder(voiced, page_performance(plan))(track.lead)
    kept = _inside(zip(lead.notes, clips, strict=True), start, min(end, played.choruses_end or end))
    score = Score(
        title=f"Recording at {tempo_bpm:g}",
        measures=tuple(_moved(measure, measures[0].onset) for measure in measures),
        parts=(replace(lead, notes=tuple(note for note, _ in kept)),),
        fifths=track.score.fifths,
    )
    quarters_bpm = lesson.quarters_per_minute(tempo_bpm)
    view = piece_from_score(
        score,
        id=name,
        clips_of=lambda _: tuple(clip for _, clip in kept),
        swing=lesson.groove.swing,
        tempo_bpm=quarters_bpm,
        tempos_bpm=[lesson.quarters_per_minute(tempo) for tempo in lesson.tempos_bpm],
    )
    knots = [
        (written - start, time_s * quarters_bpm / 60) for written, time_s in beats.knots if start <= written <= end
    ]
    if knots[-1][0] < end - start:
        knots.append((end - start, bars[-1].end_s * quarters_bpm / 60))
    written = (replace(bar, chart_bar=played.chart_bar(bar.number)) for bar in view.bars)
    beat = tapped_beat(lesson.meter)
    paced = replace(view, bars=tuple(written), beat=beat, pace=Pace(tuple(knots)), recording=name)
    return paced, [*(bar.start_s for bar in bars), bars[-1].end_s]


def _moved(measure: Measure, start: Fraction) -> Measure:
    """A bar with its chords, so much earlier."""
    chords = tuple(replace(chord, onset=chord.onset - start) for chord in measure.chords)
    return replace(measure, onset=measure.onset - start, chords=chords)


def _inside(notes: Iterable[tuple[Note, ClipUse]], start: Fraction, end: Fraction) -> tuple[tuple[Note, ClipUse], ...]:
    """The notes between two moments, counted from the first, with their clips."""
    return tuple(
        (replace(note, onset=note.onset - start), clip)
        for note, clip in notes
        if start <= note.onset and note.end <= end
    )
