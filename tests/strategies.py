"""Random valid scores for property tests: any meter, key, tuning, capo, rhythm down to tuplets, with all words."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

from hypothesis import strategies as st

from phrasewright.neck.instrument import Hand, Instrument, StringFret
from phrasewright.score.model import ChordSpan, Drum, DrumPart, Hit, Measure, Note, Part, PartRole, Score
from phrasewright.score.technique import Bend, Damping, Start, Touch
from phrasewright.score.touch_rules import mended
from phrasewright.theory.chord import CHORD_KINDS, Action, Alteration, Chord
from phrasewright.theory.interval import Degree
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName, Pitch

GUITAR = Instrument(
    id="guitar",
    name="guitar",
    tuning=tuple(map(Pitch.parse, ("E4", "B3", "G3", "D3", "A2", "E2"))),
    frets=22,
    scale_length_mm=648.0,
)
METERS = ("2/4", "3/4", "4/4", "5/4", "6/8", "7/8", "12/8", "9/8", "2/2", "3/8", "6/4", "5/8")
CELLS = (1, 1, 2, 2, 3, 4, 4, 5, 6, 8)  # equal parts that a counted unit is divided into
WORDS = ("A", "B′", "Question", "<&>", "Ответ", "réponse", "two words")

note_names = st.builds(NoteName, st.sampled_from("CDEFGAB"), st.integers(-2, 2))
plain_names = st.builds(NoteName, st.sampled_from("CDEFGAB"), st.integers(-1, 1))
degrees = st.builds(Degree, st.integers(1, 7), st.integers(-1, 1))


def names_of(pitch_midi: int) -> list[NoteName]:
    """Every name with at most two accidentals that sounds a pitch, simplest first."""
    found = [NoteName(letter, alter) for letter in "CDEFGAB" for alter in (0, -1, 1, -2, 2)]
    return sorted(
        (name for name in found if (pitch_midi - name.pitch_class) % 12 == 0), key=lambda name: abs(name.alter)
    )


def pitches(pitch_midi: int) -> st.SearchStrategy[Pitch]:
    """Spellings of one pitch."""
    return st.sampled_from(names_of(pitch_midi)).map(lambda name: Pitch.from_midi(pitch_midi, name))


@st.composite
def instruments(draw: st.DrawFn) -> Instrument:
    """3 to 12 strings in any order of pitch, with or without capo."""
    open_midi = draw(st.lists(st.integers(26, 67), min_size=3, max_size=12))
    return Instrument(
        id="any",
        name=draw(st.sampled_from(("guitar", "bass", "lute & co"))),
        tuning=tuple(Pitch.from_midi(midi, names_of(midi)[0]) for midi in open_midi),
        frets=draw(st.integers(12, 24)),
        scale_length_mm=648.0,
        capo=draw(st.sampled_from((0, 0, 0, 2, 5))),
        fretting_hand=draw(st.sampled_from(list(Hand))),
        written_octaves=draw(st.integers(0, 1)),
    )


@st.composite
def chords(draw: st.DrawFn) -> Chord:
    """Any kind on any root, perhaps altered, perhaps over a bass."""
    number = draw(st.sampled_from((2, 4, 5, 6, 9, 11, 13)))
    change = st.builds(
        Alteration, st.sampled_from(list(Action)), st.builds(Degree, st.just(number), st.integers(-1, 1))
    )
    return Chord(
        root=draw(plain_names),
        kind=draw(st.sampled_from(list(CHORD_KINDS.values()))),
        alterations=tuple(draw(st.lists(change, max_size=1))),
        bass=draw(st.none() | plain_names),
    )


@st.composite
def measure_rows(draw: st.DrawFn, most: int = 4) -> tuple[Measure, ...]:
    """Up to ``most`` bars; the meter may change."""
    meters = draw(
        st.lists(st.sampled_from(METERS), min_size=1, max_size=2).map(lambda words: [*map(Meter.parse, words)])
    )
    made, onset = [], Fraction(0)
    for index in range(draw(st.integers(1, most))):
        meter = meters[0] if index < 2 else meters[-1]
        cut = draw(st.integers(0, meter.upper - 1)) * meter.unit
        spans = [(onset, cut), (onset + cut, meter.bar - cut)] if cut else [(onset, meter.bar)]
        made.append(
            Measure(
                number=index + 1,
                onset=onset,
                meter=meter,
                chords=tuple(
                    ChordSpan(onset=at, duration=length, chord=draw(st.none() | chords())) for at, length in spans
                ),
                section=draw(st.sampled_from(("", "", *WORDS))),
            )
        )
        onset += meter.bar
    return tuple(made)


@st.composite
def strokes(draw: st.DrawFn, measures: tuple[Measure, ...]) -> list[tuple[Fraction, Fraction]]:
    """(onset, end) of sounds one after the other, on binary grids and tuplets, held over beats and bar lines."""
    borders = [Fraction(0)]
    for measure in measures:
        for beat in range(measure.meter.upper):
            cells = draw(st.sampled_from(CELLS))
            start = measure.onset + beat * measure.meter.unit
            borders.extend(start + (cell + 1) * measure.meter.unit / cells for cell in range(cells))
    found: list[tuple[Fraction, Fraction]] = []
    for start, end in pairwise(borders):
        choice = draw(st.sampled_from(("strike", "strike", "hold", "rest")))
        if choice == "hold" and found and found[-1][1] == start:
            found[-1] = (found[-1][0], end)
        elif choice != "rest":
            found.append((start, end))
    return found


@st.composite
def leads(draw: st.DrawFn, measures: tuple[Measure, ...]) -> Part:
    """A lead with or without a neck: single notes and two-note chords, words on some of them."""
    instrument = draw(st.none() | instruments())
    notes: list[Note] = []
    for onset, end in draw(strokes(measures)):
        placed = draw(st.booleans())
        strings = draw(st.lists(st.integers(1, 3), min_size=1, max_size=2, unique=True))
        notes.extend(draw(_note(onset, end, instrument, string, placed)) for string in strings)
    return Part(role=PartRole.LEAD, name="Lead", notes=tuple(notes), instrument=instrument)


@st.composite
def _note(
    draw: st.DrawFn, onset: Fraction, end: Fraction, instrument: Instrument | None, string: int, placed: bool
) -> Note:
    place = None
    pitch_midi = 55 + string * 4 + draw(st.integers(0, 3))
    if instrument is not None and placed:
        place = StringFret(string, draw(st.integers(instrument.capo, instrument.frets)))
        pitch_midi = instrument.midi_at(place)
    return Note(
        onset=onset,
        duration=end - onset,
        pitch=draw(pitches(pitch_midi)),
        place=place,
        finger=draw(st.none() | st.integers(0, 4)),
        degree=draw(st.none() | degrees),
        label=draw(st.sampled_from(("", "", "", *WORDS))),
    )


@st.composite
def accompaniments(draw: st.DrawFn, measures: tuple[Measure, ...], role: PartRole) -> Part:
    """A part as a band plays it: lengths and onsets off any written grid, overlaps allowed."""
    end = measures[-1].end
    spots = st.integers(0, int(end * 48) - 1).map(lambda at: Fraction(at, 48))
    notes = []
    for onset in sorted(draw(st.lists(spots, max_size=8))):
        duration = min(Fraction(draw(st.integers(5, 200)), 60), end - onset)
        notes.append(Note(onset=onset, duration=duration, pitch=draw(st.integers(36, 70).flatmap(pitches))))
    return Part(role=role, name=str(role), notes=tuple(notes), voice=str(role))


@st.composite
def drum_parts(draw: st.DrawFn, measures: tuple[Measure, ...]) -> DrumPart:
    """Strokes on a sixteenth or triplet grid."""
    end = measures[-1].end
    spots = st.integers(0, int(end * 12) - 1).map(lambda at: Fraction(at, 12))
    made = draw(st.lists(st.tuples(spots, st.sampled_from(list(Drum))), max_size=12, unique=True))
    return DrumPart(name="Drums", hits=tuple(Hit(onset=at, drum=drum) for at, drum in sorted(made)))


@st.composite
def lead_scores(draw: st.DrawFn, most_bars: int = 2) -> Score:
    """A score with a lead only."""
    measures = draw(measure_rows(most_bars))
    return Score(
        title=draw(st.sampled_from(WORDS)),
        measures=measures,
        parts=(draw(leads(measures)),),
        fifths=draw(st.integers(-7, 7)),
        words=draw(st.sampled_from(("", "Leave space & listen."))),
    )


@st.composite
def band_scores(draw: st.DrawFn) -> Score:
    """A score with lead, chords, bass and drums."""
    measures = draw(measure_rows(2))
    parts = (draw(leads(measures)), *(draw(accompaniments(measures, r)) for r in (PartRole.CHORDS, PartRole.BASS)))
    return Score(
        title="Band",
        measures=measures,
        parts=parts,
        fifths=draw(st.integers(-7, 7)),
        drums=draw(st.none() | drum_parts(measures)),
    )


@st.composite
def touched_leads(draw: st.DrawFn, measures: tuple[Measure, ...]) -> Part:
    """A line on two strings of a guitar, every note played in any way that hands can."""
    notes = []
    for onset, end in draw(strokes(measures)):
        touch = draw(touches())
        place = StringFret(draw(st.integers(2, 3)), draw(st.integers(1 if touch.vibrato or touch.bend else 0, 20)))
        pitch_midi = GUITAR.midi_at(place) + (0 if touch.bend is None else touch.bend.semitones)
        pitch = Pitch.from_midi(pitch_midi, names_of(pitch_midi)[0])
        notes.append(Note(onset=onset, duration=end - onset, pitch=pitch, place=place, touch=touch))
    return Part(role=PartRole.LEAD, name="Lead", notes=mended(notes, GUITAR), instrument=GUITAR)


@st.composite
def touches(draw: st.DrawFn) -> Touch:
    """Any touch there is."""
    start = draw(st.sampled_from(list(Start)))
    if start is Start.BENT:
        bend = Bend(semitones=draw(st.integers(1, 2)), arrives=Fraction(1, draw(st.integers(1, 8))))
        return Touch(start=start, bend=bend, vibrato=draw(st.booleans()))
    dampings = list(Damping) if start is Start.PICKED else [Damping.OPEN, Damping.PALM]
    damping = draw(st.sampled_from([Damping.OPEN, Damping.OPEN, *dampings]))
    return Touch(start=start, damping=damping, vibrato=damping is Damping.OPEN and draw(st.booleans()))


@st.composite
def touched_scores(draw: st.DrawFn, most_bars: int = 2) -> Score:
    """A score with a lead only, full of touches that can be played."""
    measures = draw(measure_rows(most_bars))
    part = draw(touched_leads(measures))
    return Score(title="Touched", measures=measures, parts=(part,), fifths=draw(st.integers(-3, 3)))
