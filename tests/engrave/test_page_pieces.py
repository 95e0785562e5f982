"""From a score to the events a page plays."""

from __future__ import annotations

import json
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phrasewright.engrave.page.piece_view import PieceView
from phrasewright.engrave.page.pieces import piece_from_score, piece_json
from phrasewright.engrave.page.sound_bank import ClipUse
from phrasewright.neck.instrument import StringFret
from phrasewright.score.model import ChordSpan, Drum, DrumPart, Hit, Measure, Note, Part, PartRole, Score
from phrasewright.score.performance import Performance, SwingCurve, swing_weight
from phrasewright.theory.chord import CHORD_KINDS, Chord
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName, Pitch

SWING = SwingCurve(((80.0, 2.0), (160.0, 1.5)))
EM = Chord(root=NoteName("E"), kind=CHORD_KINDS["minor"])


def clips_of(part: Part | DrumPart) -> list[ClipUse]:
    if isinstance(part, DrumPart):
        return [ClipUse(key=hit.drum.value, gain=hit.velocity) for hit in part.hits]
    return [ClipUse(key=str(part.role), gain=note.velocity) for note in part.notes]


def measures(count: int, meter: Meter) -> tuple[Measure, ...]:
    spans = [ChordSpan(onset=i * meter.bar, duration=meter.bar, chord=EM) for i in range(count)]
    return tuple(Measure(number=i + 1, onset=span.onset, meter=meter, chords=(span,)) for i, span in enumerate(spans))


def lead(*notes: tuple[Fraction, Fraction]) -> Part:
    place = StringFret(4, 2)
    return Part(
        role=PartRole.LEAD,
        name="Lead",
        notes=tuple(
            Note(onset=onset, duration=length, pitch=Pitch.parse("E3"), place=place) for onset, length in notes
        ),
    )


def piece(
    *notes: tuple[Fraction, Fraction],
    meter: Meter = Meter(4, 4),  # noqa: B008
    bars: int = 4,
    hits: tuple[Hit, ...] = (),
) -> PieceView:
    score = Score(title="Study", measures=measures(bars, meter), parts=(lead(*notes),), fifths=1)
    drums = DrumPart(name="Drums", hits=hits) if hits else None
    return piece_from_score(
        score, id="study", clips_of=clips_of, swing=SWING, tempo_bpm=90.0, tempos_bpm=(120.0, 60.0), drums=drums,
        chart_bars=(1, 2, 3),
    )  # fmt: skip


TIMES = st.builds(Fraction, st.integers(0, 95), st.sampled_from([1, 2, 3, 4, 6, 8, 12, 16]))


@given(
    times=st.lists(TIMES.filter(lambda time: time < 15), min_size=1, max_size=12, unique=True), bpm=st.floats(30, 300)
)
def test_compact_rows_give_performed_times(times: list[Fraction], bpm: float) -> None:
    """What the page computes from a row is the performed time of the note, to a hundredth of a millisecond."""
    made = piece(*((time, Fraction(1, 4)) for time in sorted(times)))
    performance = Performance(tempo_bpm=bpm, swing=SWING)
    rows = json.loads(json.dumps(piece_json(made)))["events"]
    for row, time in zip(rows, sorted(times), strict=True):
        begin = (row[1] + performance.swing_shift * row[3]) * 60.0 / bpm
        end = (row[2] + performance.swing_shift * row[4]) * 60.0 / bpm
        assert begin == pytest.approx(performance.seconds_at(time), abs=1e-5)
        assert end == pytest.approx(performance.seconds_at(time + Fraction(1, 4)), abs=1e-5)


def test_lead_notes_know_their_index_and_place() -> None:
    """A lead note can be found in the figures: by its index in the part and by its place on the neck."""
    rows = piece_json(piece((Fraction(0), Fraction(1)), (Fraction(5, 2), Fraction(1, 2))))["events"]
    assert isinstance(rows, list)
    assert [row[7:9] for row in rows] == [[0, "4-2"], [1, "4-2"]]


def test_band_parts_are_not_lit() -> None:
    """Strokes of the band have no note index and no place."""
    made = piece((Fraction(0), Fraction(1)), hits=(Hit(onset=Fraction(1), drum=Drum.SNARE),))
    stroke = made.events[-1]
    assert (stroke.role, stroke.note, stroke.place) == (PartRole.DRUMS, None, None)
    assert made.roles == (PartRole.LEAD, PartRole.DRUMS)


def test_an_open_hat_stops_at_the_next_hat() -> None:
    """An open hi-hat rings until the hats are struck or closed again, other strokes ring out (common practice)."""
    hits = (
        Hit(onset=Fraction(0), drum=Drum.OPEN_HAT),
        Hit(onset=Fraction(1), drum=Drum.SNARE),
        Hit(onset=Fraction(2), drum=Drum.CLOSED_HAT),
        Hit(onset=Fraction(3), drum=Drum.OPEN_HAT),
    )
    strokes = piece(hits=hits).events
    assert [(stroke.stops, stroke.end) for stroke in strokes] == [
        (True, Fraction(2)),
        (False, Fraction(5, 4)),
        (False, Fraction(9, 4)),
        (False, Fraction(13, 4)),
    ]


@pytest.mark.parametrize(
    ("meter", "beats"),
    [("4/4", 4), ("3/4", 3), ("5/4", 5), ("2/4", 2), ("6/8", 2), ("12/8", 4), ("7/8", 7)],
)
def test_beats_that_are_counted_in(meter: str, beats: int) -> None:
    """The count-in counts the pulse of the meter: dotted quarters in 6/8 and 12/8, eighths in 7/8."""
    bar = piece(meter=Meter.parse(meter)).bars[0]
    assert len(bar.beats) == beats
    assert bar.beats[0] == 0
    assert all(beat < bar.length for beat in bar.beats)


@pytest.mark.parametrize(("meter", "beat"), [("4/4", 1), ("7/8", 1), ("2/2", 1), ("12/8", Fraction(3, 2))])
def test_tempos_are_shown_in_tapped_beats(meter: str, beat: Fraction) -> None:
    """A tempo counts quarter notes, dotted quarters in compound meters, as the lesson file does."""
    assert piece(meter=Meter.parse(meter)).beat == beat


def test_bars_follow_the_chart_round() -> None:
    """A piece longer than the chart comes back to its first bar."""
    assert [bar.chart_bar for bar in piece(bars=7).bars] == [1, 2, 3, 1, 2, 3, 1]


def test_bar_lines_inside_the_beat_swing_too() -> None:
    """Where bars end half-way through a quarter note (7/8), the bar line's own swing weight is kept."""
    bars = piece(meter=Meter(7, 8), bars=3).bars
    assert [bar.weight for bar in bars] == [swing_weight(bar.onset) for bar in bars] == [0, 1, 0]


def test_tempos_are_sorted_and_include_the_first() -> None:
    """Quick choices rise and hold the tempo that practice begins at."""
    assert piece().tempos_bpm == (60.0, 90.0, 120.0)


@pytest.mark.parametrize("name", ["", "Study", "1st", "a b", 'x"'])
def test_piece_ids_are_plain(name: str) -> None:
    """A piece id can stand in an HTML id and a file name."""
    made = piece()
    with pytest.raises(ValueError, match="piece id"):
        PieceView(
            id=name, title="", bars=made.bars, events=(), swing=SWING, tempo_bpm=90.0, tempos_bpm=(90.0,)
        )  # fmt: skip


@pytest.mark.parametrize("settings", [{"key": ""}, {"key": "a", "gain": 0.0}, {"key": "a", "rate": -1.0}])
def test_clip_uses_are_audible(settings: dict[str, object]) -> None:
    """A clip use names a clip and is louder than nothing."""
    with pytest.raises(ValueError, match="a clip needs"):
        ClipUse(**settings)  # type: ignore[arg-type]
