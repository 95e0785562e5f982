"""Generators of charts and lessons, in one place."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from hypothesis import strategies as st

from phrasewright.band.groove import GROOVES, grooves_for
from phrasewright.compose.costs import Weights
from phrasewright.compose.counts import default_counts
from phrasewright.compose.exercise import ExerciseKind, ExerciseOrder
from phrasewright.compose.lead_voice import LeadVoice
from phrasewright.compose.rules.single import Pinned, Spot
from phrasewright.compose.touches import HowOften, TouchWish, suited
from phrasewright.lesson.band_part import most_choruses, unswung_meter
from phrasewright.lesson.chart_reader import bar_split
from phrasewright.lesson.instrument_part import OTHER_NAME
from phrasewright.lesson.model import (
    FILE_KINDS,
    BandSound,
    Lesson,
    PracticeSpec,
    RecordingSpec,
    Redrawn,
    ShelfWish,
    SoundSpec,
    StretchKind,
    StudySpec,
    Way,
    WrittenMotif,
    WrittenNote,
)
from phrasewright.lesson.schema import SHAPES
from phrasewright.melody.motif import Contour
from phrasewright.melody.priors import Idiom
from phrasewright.melody.shelf import LETTERS
from phrasewright.neck.catalogue import INSTRUMENT_KINDS, instrument
from phrasewright.neck.instrument import Hand, Instrument
from phrasewright.neck.place import PositionStyle
from phrasewright.neck.request import PositionRequest
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.theory.chord import Chord
from phrasewright.theory.chord_symbol import parse_chord
from phrasewright.theory.interval import Degree
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName, Pitch
from phrasewright.theory.scale import SCALE_KINDS, Scale, custom_scale_kind

METERS = tuple(Meter.parse(text) for text in ("2/4", "3/4", "4/4", "5/4", "6/8", "7/8", "12/8"))
SYMBOLS = "C F#m7b5 Bb7 Em7 A7/G Dsus4 Ebmaj7 G#dim7 Am(maj7) C6 E7(#9) B7alt D9 F5 Caug A13"
CHORDS = tuple(parse_chord(text) for text in SYMBOLS.split())
LABELS = st.text("ABC'abc 1234éß-.,:/%", min_size=1, max_size=12).map(lambda text: " ".join(text.split()))


def chords() -> st.SearchStrategy[Chord | None]:
    return st.none() | st.sampled_from(CHORDS)


@st.composite
def bars(draw: st.DrawFn, meter: Meter) -> ChartBar:
    """A bar whose chords change on counted units, or half of them where the meter allows it."""
    shares = [n for n in range(1, 2 * meter.upper + 1) if bar_split(meter, n)]
    lengths = list(bar_split(meter, draw(st.sampled_from(shares))) or ())
    while len(lengths) > 1 and draw(st.booleans()):
        at = draw(st.integers(0, len(lengths) - 2))
        lengths[at : at + 2] = [lengths[at] + lengths[at + 1]]
    chosen = tuple((draw(chords()), Fraction(length)) for length in lengths)
    return ChartBar(
        chords=chosen,
        section=draw(st.just("") | LABELS),
        stops=frozenset(n for n, (chord, _) in enumerate(chosen) if chord is not None and draw(st.integers(0, 4)) == 0),
        pace=draw(st.sampled_from([Fraction(1), Fraction(1), Fraction(4, 5), Fraction(2)])),
        slows=draw(st.integers(0, 6)) == 0,
    )


@st.composite
def charts(draw: st.DrawFn, meter: Meter | None = None) -> Chart:
    """A chart with whatever a chart may have; at least one bar is in its own meter."""
    home = meter or draw(st.sampled_from(METERS))
    written = [draw(bars(home)), *draw(st.lists(any_bars(home), max_size=8))]
    coda = draw(st.lists(any_bars(home), max_size=2))
    if coda:
        coda = [replace(bar, section="Coda" * (index == 0)) for index, bar in enumerate(coda)]
        leaving = draw(st.none() | st.integers(0, len(written) - 1))
        written = [replace(bar, to_coda=index == leaving) for index, bar in enumerate(written)]
    short = draw(st.none() | st.integers(1, home.upper - 1))
    pickup = None if short is None else draw(pickups(Meter(short, home.lower)))
    return Chart(meter=home, bars=tuple(written), coda=tuple(coda), pickup=pickup)


@st.composite
def any_bars(draw: st.DrawFn, home: Meter) -> ChartBar:
    """A bar in the chart's meter or another one."""
    meter = draw(st.sampled_from([home, home, *METERS, Meter(1, 4), Meter(3, 8)]))
    bar = draw(bars(meter))
    return bar if meter == home else replace(bar, meter=meter)


@st.composite
def pickups(draw: st.DrawFn, meter: Meter) -> ChartBar:
    """A short bar with one chord or two."""
    parts = [meter.upper] if meter.upper == 1 or draw(st.booleans()) else [1, meter.upper - 1]
    return ChartBar(chords=tuple((draw(chords()), part * meter.unit) for part in parts), meter=meter)


LINES = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Cn", "Zl", "Zp")), max_size=20)
TITLES = LINES.map(lambda text: " ".join(text.split())).filter(bool)
NAMES = LINES.map(lambda text: " ".join(text.split()))
PARAGRAPHS = st.lists(LINES, max_size=4).map(lambda lines: "\n".join(lines).strip())
ROOTS = tuple(NoteName.parse(name) for name in ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"))


@st.composite
def instruments(draw: st.DrawFn) -> Instrument:
    """Any instrument of the catalogue, retuned, with a capo; or one of its own."""
    kind = draw(st.sampled_from(sorted(INSTRUMENT_KINDS)))
    pitches = st.builds(Pitch, st.sampled_from(ROOTS), st.integers(2, 4))
    row = INSTRUMENT_KINDS[kind]
    strings = len(row.tunings[0].pitches)
    own = st.lists(pitches, min_size=strings, max_size=strings).map(tuple)
    frets = draw(st.integers(12, 36))
    changes = {
        "capo": draw(st.integers(0, 5)),
        "frets": frets,
        "scale_length_mm": draw(st.sampled_from([row.scale_length_mm, 300.0, 628.5])),
        "fretting_hand": draw(st.sampled_from(Hand)),
    }
    if draw(st.booleans()):
        return instrument(kind, tuning=draw(st.sampled_from([one.id for one in row.tunings]) | own), **changes)
    tuning = draw(st.lists(pitches, min_size=3, max_size=12).map(tuple))
    return Instrument(id="other", name=OTHER_NAME, tuning=tuning, **changes)


def scales() -> st.SearchStrategy[Scale]:
    """Named scales, and five to seven degrees of one's own."""
    own = st.sets(st.sampled_from(["b2", "2", "b3", "3", "4", "#4", "5", "b6", "6", "b7", "7"]), min_size=4, max_size=6)
    custom = own.map(lambda words: custom_scale_kind((Degree(1), *_rising(words))))
    return st.builds(Scale, st.sampled_from(ROOTS), st.sampled_from(sorted(SCALE_KINDS)).map(SCALE_KINDS.get) | custom)


def _rising(words: set[str]) -> list[Degree]:
    return sorted((Degree.parse(word) for word in words), key=lambda degree: degree.interval.semitones)


@st.composite
def positions(draw: st.DrawFn, instrument: Instrument, scale: Scale) -> PositionRequest:
    style = draw(st.sampled_from(PositionStyle))
    strings = len(instrument.tuning)
    high = draw(st.none() | st.integers(1, strings))
    low = draw(st.none() | st.integers(high or 1, strings))
    along = style is PositionStyle.ONE_STRING
    left_out = st.tuples(st.sampled_from(scale.kind.degrees), st.none() | st.integers(1, 3))
    return PositionRequest(
        style=style,
        fret=draw(st.none() | st.just(0) | st.integers(instrument.capo, instrument.frets)),
        lowest_string=None if along else low,
        highest_string=None if along else high,
        string=draw(st.none() | st.integers(1, strings)) if along else None,
        notes_per_string=draw(st.integers(2, 4)) if style is PositionStyle.THREE_PER_STRING else 3,
        max_stretch_mm=draw(st.none() | st.floats(20, 300)),
        added_above=draw(st.integers(0, 5)),
        added_below=draw(st.integers(0, 5)),
        left_out=tuple(draw(st.lists(left_out, max_size=3, unique=True))),
    )


@st.composite
def shelves(draw: st.DrawFn, scale: Scale) -> ShelfWish:
    note = st.builds(WrittenNote, st.sampled_from(scale.kind.degrees), st.sampled_from(Way))
    first = st.builds(WrittenNote, st.sampled_from(scale.kind.degrees))
    rows = st.tuples(first, st.lists(note, min_size=1, max_size=4)).map(lambda row: (row[0], *row[1]))
    motif = st.builds(WrittenMotif, notes=rows, cycle=st.integers(1, 3), name=NAMES)
    written = tuple(draw(st.lists(motif, max_size=3)))
    return ShelfWish(
        sizes=tuple(sorted(draw(st.sets(st.integers(2, 5), min_size=0 if written else 1)))),
        shapes=tuple(draw(st.lists(st.sampled_from([Contour(shape) for shape in SHAPES]), min_size=1, unique=True))),
        largest_step=draw(st.integers(1, 4)),
        cycles=tuple(sorted(draw(st.sets(st.integers(1, 4), max_size=3)))),
        length=draw(st.integers(max(1, len(written)), 8)),
        idiom=draw(st.sampled_from(Idiom)),
        written=written,
        left_out=tuple(draw(st.lists(st.builds(WrittenMotif, notes=rows, cycle=st.integers(1, 8)), max_size=2))),
    )


@st.composite
def practice_specs(draw: st.DrawFn) -> PracticeSpec:
    """Any versions to practise with, at tempos that every meter bears."""
    out = draw(st.integers(1, 4))
    return PracticeSpec(
        tempo_bpm=draw(st.none() | st.integers(30, 100).map(float)),
        call_and_response=draw(st.none() | st.integers(1, 8)),
        drums_out=draw(st.none() | st.integers(out + 1, 16).map(lambda every: (out, every))),
        lead_aside=draw(st.booleans()),
        rising_bpm=None,
        fourths=draw(st.booleans()),
        click=draw(st.booleans()),
    )


def recording_specs(chart: Chart) -> st.SearchStrategy[RecordingSpec]:
    """A recording with taps, or with a beats file; none over a chart whose beat changes."""
    if chart.pickup is not None and chart.pickup.length % chart.meter.pulse:
        choruses = st.none()
    else:
        choruses = st.none() | st.integers(1, 20)
    names = st.sampled_from(["harbour.flac", "my track.mp3", "größe.wav"])
    tapped = st.builds(
        RecordingSpec,
        file=names,
        taps=st.just("taps.txt"),
        choruses=choruses,
        stretch=st.sampled_from(StretchKind),
        first_bar=st.just(1),
        first_beat=st.integers(1, int(chart.meter_of(chart.bars[0]).bar / chart.meter.pulse)),
    )
    later = st.builds(RecordingSpec, file=names, taps=st.just("taps.txt"), first_bar=st.integers(1, 9))
    return tapped | later | st.builds(RecordingSpec, file=names, beats=st.just("harbour.beats.txt"), choruses=choruses)


@st.composite
def touch_wishes(draw: st.DrawFn, instrument: Instrument) -> TouchWish:
    """Any techniques that an instrument is asked for."""
    used = draw(st.sets(st.sampled_from(suited(instrument))))
    in_order = tuple(technique for technique in suited(instrument) if technique in used)
    return TouchWish(techniques=in_order, how_often=draw(st.sampled_from(HowOften)))


@st.composite
def sound_specs(draw: st.DrawFn) -> SoundSpec:
    """Any sound and files."""
    source = draw(st.sampled_from(BandSound))
    kinds = st.lists(st.sampled_from(FILE_KINDS), unique=True, max_size=4).map(tuple)
    return SoundSpec(
        source=source,
        soundfont=draw(st.sampled_from(["", "fonts/my own.sf2", "default-GM"])) if source is BandSound.SAMPLED else "",
        a4_hz=draw(st.sampled_from([415.0, 440.0, 441.5, 466.0])),
        files=draw(kinds.filter(bool)),
        stems=draw(kinds),
    )


def redrawn(bars: int, studies: int) -> st.SearchStrategy[Redrawn]:
    """Bars of one study, or of all, drawn anew."""
    chosen = st.sets(st.integers(0, bars - 1), min_size=1).map(lambda found: tuple(sorted(found)))
    return st.builds(Redrawn, bars=chosen, study=st.none() | st.integers(0, studies - 1), turn=st.integers(1, 30))


@st.composite
def study_specs(draw: st.DrawFn, scale: Scale, shelf: int) -> StudySpec:
    """Anything a lesson may ask of its studies."""
    bars, how_many = draw(st.integers(2, 24)), draw(st.integers(1, 12))
    degrees = st.sampled_from(scale.kind.degrees)
    spots = st.none() | st.builds(Spot, degrees, st.none() | st.integers(1, 4))
    numbers = st.integers(5, 90).map(lambda number: number / 10)
    pinned = st.dictionaries(st.integers(0, bars - 1), st.sampled_from(LETTERS[:shelf]), max_size=3)
    chord_tones = draw(st.booleans())
    return StudySpec(
        bars=bars,
        how_many=how_many,
        dial=draw(st.integers(0, 10)) / 10,
        every_motif=draw(st.sampled_from([None, True, False])),
        longest_run=draw(st.none() | st.integers(1, 16)),
        most_space=Fraction(draw(st.integers(10, 100)), 100),
        chord_tone_endings=chord_tones,
        endings=() if chord_tones else tuple(draw(st.lists(degrees, max_size=3, unique=True))),
        question_and_answer=draw(st.booleans()),
        another_ending=draw(st.booleans()),
        first=draw(spots),
        last=draw(spots),
        peak=draw(spots),
        hardest=draw(st.none() | numbers),
        difficulties=tuple(draw(st.lists(numbers, max_size=3))),
        pins=tuple(Pinned(bar=bar, letter=letter) for bar, letter in draw(pinned).items()),
        again=tuple(draw(st.lists(redrawn(bars, how_many), max_size=3))),
        weights=Weights(**{name: draw(numbers) for name in ("fit", "landing", "join", "hand", "again", "difficulty")}),
    )


@st.composite
def lessons(draw: st.DrawFn) -> Lesson:
    """Any lesson that a file can state."""
    instrument, scale = draw(instruments()), draw(scales())
    meter = draw(st.sampled_from(METERS))
    shelf, chart = draw(shelves(scale)), draw(charts(meter))
    offered = default_counts(meter)
    fitting = [groove.id for groove in grooves_for(meter) if unswung_meter(groove, chart) is None]
    counts = {
        size: tuple(draw(st.lists(st.sampled_from(offered[size]), min_size=1, unique=True))) for size in shelf.all_sizes
    }
    tempo = st.floats(30, 260).map(lambda bpm: round(bpm, 1))
    tempos_bpm = tuple(draw(st.lists(tempo, min_size=1, max_size=6, unique=True)))
    one_beat = {meter.pulse for meter in chart.meters} == {chart.meter.pulse}
    return Lesson(
        title=draw(TITLES),
        words=draw(PARAGRAPHS),
        teacher=draw(NAMES),
        school=draw(NAMES),
        seed=draw(st.integers(0, 2**32 - 1)),
        instrument=instrument,
        scale=scale,
        position=draw(positions(instrument, scale)),
        shelf=shelf,
        counts=counts,
        space=draw(st.integers(0, 90)) * Fraction(1, 100),
        chart=chart,
        groove=GROOVES[draw(st.sampled_from(fitting))],
        tempos_bpm=tempos_bpm,
        choruses=draw(st.integers(1, max(1, min(20, most_choruses(chart, min(tempos_bpm)))))),
        exercises=tuple(sorted(draw(st.sets(st.sampled_from(ExerciseKind), min_size=1)), key=list(ExerciseKind).index)),
        order=draw(st.sampled_from(ExerciseOrder)),
        practice=draw(practice_specs()),
        sound=draw(sound_specs()),
        recording=draw(st.none() | recording_specs(chart)) if one_beat else None,
        study=draw(study_specs(scale, shelf.length)),
        touches=draw(touch_wishes(instrument)),
        lead_voice=draw(st.sampled_from(LeadVoice)),
    )
