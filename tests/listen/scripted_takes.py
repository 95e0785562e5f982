"""Made-up takes of a player whose faults are known, as values: as if heard perfectly, but for what listening blurs.

A lesson has a box of a scale, a shelf of four or five motifs, a chart and a tempo. The player improvises two choruses:
one or two motifs a phrase, now and then an octave away, in eighths, quarters and dotted quarters; phrases begin
anywhere in the first half of a bar or just before it and land on a long chord tone (seven times in eight), then comes a
rest. Time is good (12 ms), bends and vibrato are true. A fault is planted by changing one habit and nothing else. A
written line is such an improvisation written down and played.

What is heard has 5 ms of noise in onsets, 3 cents in pitches, and one note in a hundred missed or invented.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from random import Random
from statistics import median

import numpy as np

from phrasewright.errors import NeckError
from phrasewright.listen.findings.spelling import pitch_of
from phrasewright.listen.findings.take import Take
from phrasewright.listen.hear.tuning import tuning_of
from phrasewright.listen.heard import HeardNote, HeardTechnique, Hearing, Mark
from phrasewright.listen.placed import (
    Alignment,
    Comparison,
    OffsetSource,
    PlacedNote,
    TakeClock,
    TimingSummary,
    Verdict,
    WrittenOutcome,
)
from phrasewright.listen.spot.motifs import spot_motifs
from phrasewright.melody.motif import Motif
from phrasewright.melody.shelf import Shelf, shelf_of
from phrasewright.neck.catalogue import instrument
from phrasewright.neck.instrument import StringFret
from phrasewright.neck.place import Position
from phrasewright.neck.search import box
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.score.model import Measure, Note
from phrasewright.score.performance import Performance, SwingCurve
from phrasewright.theory.chord import Chord
from phrasewright.theory.chord_symbol import parse_chord
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName
from phrasewright.theory.scale import SCALE_KINDS, Scale

GUITAR = instrument("guitar")
BARS = 24
BAR = Fraction(4)
EIGHTH, QUARTER, DOTTED = Fraction(1, 2), Fraction(1), Fraction(3, 2)
OWN_TIME_S, HEARD_TIME_S, HEARD_CENTS, MISHEARD = 0.012, 0.005, 3.0, 0.01

# chord roots in fifths from the scale's root, with their kinds, bar by bar
_CHARTS = {
    "minor-pentatonic": "0m7 0m7 0m7 0m7 -1m7 -1m7 0m7 0m7 1m7 -1m7 0m7 0m7",
    "blues": "0m7 -1m7 0m7 0m7 -1m7 -1m7 0m7 0m7 1m7 -1m7 0m7 1m7",
    "dorian": "0m7 -1_7 0m7 -1_7 0m7 -1_7 0m7 -1_7 2m7 2m7 0m7 -1_7",
    "mixolydian": "0_7 0_7 -2_maj7 -1_maj7 0_7 0_7 -2_maj7 -1_maj7 -1_maj7 -1_maj7 0_7 0_7",
    "major": "0_maj7 3m7 2m7 1_7 0_maj7 3m7 -1_maj7 1_7 2m7 1_7 0_maj7 0_maj7",
}


@dataclass(frozen=True, kw_only=True)
class Lesson:
    """What a take is played in. measures: two choruses."""

    shelf: Shelf
    measures: tuple[Measure, ...]
    performance: Performance

    @property
    def position(self) -> Position:
        return self.shelf.position

    def chord_at(self, time: Fraction) -> Chord:
        span = self.measures[min(int(time // BAR), BARS - 1)].chords[0]
        assert span.chord is not None
        return span.chord


@dataclass(frozen=True, kw_only=True)
class Stroke:
    """A note as it is meant. bend: in semitones, up to the pitch; lands: ends a phrase."""

    pitch_midi: int
    onset: Fraction
    length: Fraction
    bend: int = 0
    shakes: bool = False
    lands: bool = False


@dataclass(frozen=True, kw_only=True)
class Habits:
    """How a player plays. All defaults are those of a clean one.

    order: the next letter, from the shelf's and those played; rush_percent: gained from end to end; flat: of all that
    sounds; string_flat: (string, cents); bend_off_cents: beyond the goal; outside: share of one scale note that comes
    a semitone sharp.
    """

    order: Callable[[Random, str, list[str]], str] | None = None
    from_shelf: bool = True
    rests: bool = True
    lands_home: bool = True
    reach: int | None = None  # lowest scale notes that are used, None = all
    one_step: bool = False
    on_one: bool = False
    straight: bool = False
    late_s: float = 0.0
    own_time_s: float = OWN_TIME_S
    rush_percent: float = 0.0
    tuning_cents: float = 0.0
    string_cents: float = 0.0
    bend_off_cents: float = 0.0
    bends: float = 0.35
    shakes: float = 0.5
    shake_cents: float = 25.0
    outside: float = 0.0
    dead: float = 0.0
    missed: float = 0.0
    wrong: float = 0.0
    written: bool = False


CLEAN = Habits()


def take_of(rng: Random, habits: Habits = CLEAN) -> Take:
    """A take of a lesson drawn at random."""
    lesson = random_lesson(rng, reach=habits.reach, swings=habits.straight)
    return performed(rng, lesson, improvised(rng, lesson, habits), habits)


def random_lesson(rng: Random, *, reach: int | None = None, swings: bool = False) -> Lesson:
    """A box, a shelf, a chart and a tempo. reach: motifs keep to so many lowest notes; swings: for certain."""
    while True:
        kind = rng.choice(list(_CHARTS))
        root = NoteName.parse(rng.choice(("C", "D", "Eb", "E", "F", "G", "A", "Bb")))
        try:
            position = box(Scale(root, SCALE_KINDS[kind]), GUITAR, near_fret=rng.randint(2, 9))
        except NeckError:
            continue
        usable = reach or len(position.notes)
        motifs = list(dict.fromkeys(_motif(rng, position, usable) for _ in range(9)))[: rng.randint(4, 5)]
        if len(motifs) >= 4:
            break
    swing = rng.uniform(1.6, 2.0) if swings or rng.random() < 0.4 else 1.0
    tempo = rng.uniform(72.0, 132.0)
    curve = SwingCurve(((tempo, swing),)) if swing > 1.0 else SwingCurve()
    measures = Chart(meter=Meter.parse("4/4"), bars=_bars(kind, root)).unfold(BARS)
    return Lesson(
        shelf=shelf_of(position, motifs), measures=measures, performance=Performance(tempo_bpm=tempo, swing=curve)
    )


def _motif(rng: Random, position: Position, usable: int) -> Motif:
    steps = [rng.randrange(usable)]
    while len(steps) < rng.choice((3, 4, 4)):
        after = steps[-1] + rng.choice((-2, -1, 1, 2))
        if 0 <= after < usable:
            steps.append(after)
    return Motif(position, tuple(steps))


def _bars(kind: str, root: NoteName) -> tuple[ChartBar, ...]:
    bars = []
    for word in _CHARTS[kind].split():
        fifths, quality = (word[:-2], "m7") if word.endswith("m7") else tuple(word.split("_"))
        chord = parse_chord(f"{NoteName.at_fifths(root.fifths + int(fifths))}{quality}")
        bars.append(ChartBar(chords=((chord, BAR),)))
    return tuple(bars)


# --- what is meant


def improvised(rng: Random, lesson: Lesson, habits: Habits) -> list[Stroke]:
    """Two choruses, as meant."""
    strokes: list[Stroke] = []
    letters = [item.letter for item in lesson.shelf.items]
    played: list[str] = []
    now = Fraction(0)
    while True:
        at = _start(rng, now, habits)
        phrase, end = _phrase(rng, lesson, habits, at, letters, played)
        if end > BARS * BAR:
            return strokes
        strokes += phrase
        now = end + (rng.choice((QUARTER, DOTTED, 2 * QUARTER)) if habits.rests else 0)


def _start(rng: Random, now: Fraction, habits: Habits) -> Fraction:
    if not habits.rests:
        return now
    bar = -(-now // BAR) * BAR
    if habits.on_one:
        return Fraction(bar)
    return max(now, bar - rng.choice((EIGHTH, QUARTER))) if rng.random() < 0.3 else bar + rng.choice(range(5)) * EIGHTH


def _phrase(
    rng: Random, lesson: Lesson, habits: Habits, now: Fraction, letters: list[str], played: list[str]
) -> tuple[list[Stroke], Fraction]:
    strokes: list[Stroke] = []
    for _ in range(rng.choice((1, 1, 2)) if habits.rests else 2):
        for pitch in _idea(rng, lesson, habits, letters, played):
            step = EIGHTH if habits.one_step else rng.choice((EIGHTH, EIGHTH, EIGHTH, QUARTER, QUARTER, DOTTED))
            strokes.append(Stroke(pitch_midi=pitch, onset=now, length=step))
            now += step
    length = rng.choice((QUARTER, DOTTED, 2 * QUARTER)) if habits.rests and not habits.one_step else EIGHTH
    goal = _goal(rng, lesson, habits, strokes[-1].pitch_midi, now)
    bend = _bend(lesson, goal) if rng.random() < habits.bends else 0
    shakes = not bend and length > EIGHTH and rng.random() < habits.shakes
    strokes.append(Stroke(pitch_midi=goal, onset=now, length=length, bend=bend, shakes=shakes, lands=True))
    return strokes, now + length


def _idea(rng: Random, lesson: Lesson, habits: Habits, letters: list[str], played: list[str]) -> list[int]:
    notes = [note.pitch.midi for note in lesson.position.notes][: habits.reach]
    if not habits.from_shelf:
        at, walk = rng.randrange(len(notes)), []
        for _ in range(rng.randint(3, 5)):
            walk.append(notes[at])
            at = min(max(at + rng.choice((-4, -3, -1, 1, 3, 4)), 0), len(notes) - 1)
        return walk
    letter = (habits.order or _mixed)(rng, "".join(letters), played)
    played.append(letter)
    pitches = [note.pitch.midi for note in lesson.shelf[letter].motif.notes]
    octaves = [octave for octave in (-12, 12) if all(pitch + octave in notes for pitch in pitches)]
    if octaves and rng.random() < 0.3:
        octave = rng.choice(octaves)
        return [pitch + octave for pitch in pitches]
    return pitches


def _mixed(rng: Random, letters: str, played: list[str]) -> str:
    """Any letter but the last, those that came less often first."""
    others = [letter for letter in letters if not played or letter != played[-1]]
    fewest = min(played.count(letter) for letter in others)
    return rng.choice([letter for letter in others if played.count(letter) <= fewest + 1])


def only_one(rng: Random, letters: str, played: list[str]) -> str:
    """The same nearly every time."""
    return rng.choice(letters) if rng.random() < 0.05 else letters[1]


def as_shelved(rng: Random, letters: str, played: list[str]) -> str:
    """A, B, C, D and round again."""
    return letters[len(played) % len(letters)]


def _goal(rng: Random, lesson: Lesson, habits: Habits, last: int, at: Fraction) -> int:
    """The nearest note that is of the chord, or that is not; a clean player misses it once in eight times."""
    tones = lesson.chord_at(at).pitch_classes
    home = habits.lands_home and rng.random() > 0.12
    notes = [note.pitch.midi for note in lesson.position.notes][: habits.reach]
    suited = [pitch for pitch in notes if (pitch % 12 in tones) == home and pitch != last]
    return min(suited or notes, key=lambda pitch: (abs(pitch - last), rng.random()))


def _bend(lesson: Lesson, goal: int) -> int:
    """How far a goal lies above the scale note below it, in semitones, 0 = too far to bend."""
    below = [goal - note.pitch.midi for note in lesson.position.notes if 0 < goal - note.pitch.midi <= 3]
    return min(below, default=0)


# --- what sounds and is heard


def performed(rng: Random, lesson: Lesson, strokes: list[Stroke], habits: Habits) -> Take:
    """What was heard of strokes."""
    clock = TakeClock(
        performance=lesson.performance,
        offset_s=1.0,
        source=OffsetSource.GRID if habits.rush_percent else OffsetSource.TRACK,
    )
    sour = _sour_string(rng, lesson, strokes)
    sharp = _sharp_class(lesson, strokes)
    outcomes, placed = [], []
    for stroke in strokes:
        missed = rng.random() < habits.missed
        note = _sounded(rng, lesson, clock, stroke, habits, sour, sharp)
        if not missed and rng.random() > MISHEARD / 2:
            placed.append(note)
        else:
            missed = True
        outcomes.append(_outcome(lesson, stroke, None if missed else note))
        if rng.random() < MISHEARD / 2:
            placed.append(_invented(rng, note))
    placed.sort(key=lambda note: note.note.onset_s)
    placed, timing = timed(placed, lesson, clock)
    return _take(lesson, tuple(placed), clock, timing, outcomes if habits.written else None)


def _sounded(
    rng: Random,
    lesson: Lesson,
    clock: TakeClock,
    stroke: Stroke,
    habits: Habits,
    sour: int,
    sharp: int | None,
) -> PlacedNote:
    fretted = stroke.pitch_midi - stroke.bend
    place = _place(lesson, fretted)
    cents = habits.tuning_cents + rng.gauss(0.0, HEARD_CENTS)
    cents += habits.string_cents if place is not None and place.string == sour else 0.0
    pitch = stroke.pitch_midi
    if sharp is not None and pitch % 12 == sharp and rng.random() < habits.outside:
        pitch += 1
    if rng.random() < habits.wrong:
        pitch += rng.choice((-3, -2, -1, 1, 2, 3))
    onset_s = _onset_s(clock, stroke.onset, habits) + rng.gauss(0.0, habits.own_time_s) + rng.gauss(0.0, HEARD_TIME_S)
    duration_s = 0.85 * float(stroke.length) * 60.0 / clock.tempo_bpm
    marks, curve = _marks(rng, stroke, habits)
    if marks and marks[0].technique is HeardTechnique.BEND:
        cents += marks[0].cents - 100.0 * stroke.bend
    if rng.random() < habits.dead:
        marks, duration_s = (Mark(technique=HeardTechnique.DEAD),), 0.08
    bar = lesson.measures[int(stroke.onset // BAR)]
    beat = float(stroke.onset - bar.onset) + 1
    return PlacedNote(
        note=HeardNote(
            onset_s=max(0.0, onset_s),
            offset_s=max(0.0, onset_s) + duration_s,
            pitch_midi=pitch + cents / 100.0,
            marks=marks,
            curve_cents=curve,
            confidence=0.97,
        ),
        at=stroke.onset,
        bar=bar.number,
        beat=beat,
        word=str(int(beat)) if beat == int(beat) else "&",
        deviation_s=0.0,
        chord=lesson.chord_at(stroke.onset),
        place=place,
    )


def _onset_s(clock: TakeClock, at: Fraction, habits: Habits) -> float:
    """When a note is meant to sound: in time but for what the player's habits do to it."""
    plain_s = clock.seconds_at(at)
    if habits.straight:
        plain_s = clock.offset_s + 60.0 / clock.tempo_bpm * float(at)
    gained = habits.rush_percent / 100.0
    length_s = clock.seconds_at(BARS * BAR) - clock.offset_s
    since_s = plain_s - clock.offset_s
    return plain_s + habits.late_s - gained / (2.0 * length_s) * since_s * (since_s - length_s)


def _marks(rng: Random, stroke: Stroke, habits: Habits) -> tuple[tuple[Mark, ...], tuple[float, ...]]:
    if stroke.bend:
        cents = 100.0 * stroke.bend + habits.bend_off_cents + rng.gauss(0.0, 6.0)
        return (Mark(technique=HeardTechnique.BEND, cents=cents, confidence=0.9),), (*[-cents] * 5, *[0.0] * 15)
    if stroke.shakes:
        width, rate_hz = habits.shake_cents * rng.uniform(0.85, 1.15), rng.uniform(5.0, 6.2)
        return (Mark(technique=HeardTechnique.VIBRATO, cents=width, rate_hz=rate_hz, confidence=0.9),), ()
    return (), ()


def _place(lesson: Lesson, pitch_midi: int) -> StringFret | None:
    return next((note.place for note in lesson.position.notes if note.pitch.midi == pitch_midi), None)


def _sour_string(rng: Random, lesson: Lesson, strokes: list[Stroke]) -> int:
    """A string that is played often."""
    places = [_place(lesson, stroke.pitch_midi - stroke.bend) for stroke in strokes]
    strings = [place.string for place in places if place is not None]
    return rng.choice([string for string in sorted(set(strings)) if strings.count(string) >= 0.12 * len(strings)])


def _sharp_class(lesson: Lesson, strokes: list[Stroke]) -> int | None:
    """The commonest note whose upper neighbour is in neither scale nor any chord."""
    known = {tone for bar in lesson.measures for tone in lesson.chord_at(bar.onset).pitch_classes}
    known |= {note.pitch_class for note in lesson.position.scale.notes}
    classes = [stroke.pitch_midi % 12 for stroke in strokes]
    free = [pitch for pitch in sorted(set(classes)) if (pitch + 1) % 12 not in known]
    return max(free, key=classes.count, default=None)


def _invented(rng: Random, near: PlacedNote) -> PlacedNote:
    note = near.note
    pitch = round(note.pitch_midi) + rng.choice((-12, -2, 2, 7, 12))
    onset_s = note.onset_s + 0.5 * note.duration_s
    heard = HeardNote(onset_s=onset_s, offset_s=onset_s + 0.1, pitch_midi=pitch, confidence=0.6)
    return replace(near, note=heard, at=near.at + EIGHTH / 2, place=None)


def _outcome(lesson: Lesson, stroke: Stroke, heard: PlacedNote | None) -> WrittenOutcome:
    pitch = pitch_of(stroke.pitch_midi, lesson.position.scale)
    written = Note(onset=stroke.onset, duration=stroke.length, pitch=pitch)
    if heard is None:
        return WrittenOutcome(written=written, verdict=Verdict.MISSED, heard=None)
    wrong = abs(heard.note.pitch_midi - stroke.pitch_midi) > 0.7
    return WrittenOutcome(written=written, verdict=Verdict.WRONG_PITCH if wrong else Verdict.PLAYED, heard=heard)


def timed(placed: list[PlacedNote], lesson: Lesson, clock: TakeClock) -> tuple[list[PlacedNote], TimingSummary]:
    """Deviations, a parabola taken out, and what they add up to."""
    times = np.array([note.note.onset_s for note in placed])
    off = times - np.array([clock.seconds_at(note.at) for note in placed])
    middle, half = (times[0] + times[-1]) / 2.0, (times[-1] - times[0]) / 2.0
    curve = np.polyfit((times - middle) / half, off, 2)
    drift = float(-200.0 * 2.0 * curve[0] / half)
    if abs(drift) > 1.0:
        off = off - np.polyval(curve, (times - middle) / half)
    bias = float(np.median(off))
    spread = 1.4826 * float(np.median(np.abs(off - bias)))
    quarter_s = 60.0 / clock.tempo_bpm
    on_beat = median(late for note, late in zip(placed, off, strict=True) if note.at.denominator == 1)
    shares = [
        (note.note.onset_s - on_beat - clock.seconds_at(Fraction(note.at // 1))) / quarter_s
        for note in placed
        if note.at % 1 == EIGHTH
    ]
    share = min(max(median(shares), 0.3), 0.8) if len(shares) >= 10 else None
    return [replace(note, deviation_s=float(late)) for note, late in zip(placed, off, strict=True)], TimingSummary(
        bias_s=bias,
        spread_s=spread,
        drift_percent=drift,
        swing_ratio=share / (1.0 - share) if share is not None and not abs(drift) > 1.0 else None,
        notes=len(placed),
    )


def _take(
    lesson: Lesson,
    placed: tuple[PlacedNote, ...],
    clock: TakeClock,
    timing: TimingSummary,
    outcomes: list[WrittenOutcome] | None,
) -> Take:
    notes = [note.note for note in placed]
    tuning = tuning_of(notes)
    cents = tuning.cents if tuning is not None else None
    return Take(
        hearing=Hearing(notes=tuple(notes), length_s=notes[-1].offset_s + 1.0, tuning_cents=cents),
        alignment=Alignment(measures=lesson.measures, clock=clock, notes=placed),
        timing=timing,
        scale=lesson.position.scale,
        spotting=spot_motifs(placed, lesson.shelf, usual_step=EIGHTH, tuning_cents=cents or 0.0),
        shelf=tuple(item.letter for item in lesson.shelf.items),
        wished_space=0.25,
        groove_swing_ratio=lesson.performance.swing.ratio_at(lesson.performance.tempo_bpm),
        comparison=Comparison(outcomes=tuple(outcomes), added=()) if outcomes is not None else None,
        open_strings=GUITAR.tuning,
    )


# --- faults


FAULTS = (
    "rushing",
    "no-space",
    "one-motif",
    "few-landings",
    "flat-bends",
    "out-of-tune",
    "late",
    "recited",
    "outside",
    "string-off",
    "one-rhythm",
    "too-straight",
    "missed",
    "dragging",
    "narrow",
    "uneven",
    "off-shelf",
    "wide-vibrato",
    "same-start",
    "wrong-notes",
    "early",
    "sharp-bends",
    "choked",
)


def planted(kind: str, rng: Random) -> Habits:
    """The habits of a player with one fault, of a size that a teacher would speak of."""
    sign = rng.choice((-1.0, 1.0))
    return {
        "rushing": Habits(rush_percent=rng.uniform(4.0, 8.0)),
        "dragging": Habits(rush_percent=-rng.uniform(4.0, 8.0)),
        "late": Habits(late_s=rng.uniform(0.09, 0.13)),
        "early": Habits(late_s=-rng.uniform(0.065, 0.1)),
        "uneven": Habits(own_time_s=rng.uniform(0.08, 0.12)),
        "no-space": Habits(rests=False),
        "one-motif": Habits(order=only_one),
        "recited": Habits(order=as_shelved),
        "off-shelf": Habits(from_shelf=False),
        "few-landings": Habits(lands_home=False),
        "one-rhythm": Habits(one_step=True),
        "same-start": Habits(on_one=True),
        "outside": Habits(outside=0.9),
        "narrow": Habits(reach=3),
        "flat-bends": Habits(bends=1.0, bend_off_cents=-rng.uniform(30.0, 45.0)),
        "sharp-bends": Habits(bends=1.0, bend_off_cents=rng.uniform(30.0, 45.0)),
        "wide-vibrato": Habits(shakes=0.9, shake_cents=rng.uniform(75.0, 95.0), bends=0.1),
        "choked": Habits(dead=0.3),
        "out-of-tune": Habits(tuning_cents=sign * rng.uniform(22.0, 40.0)),
        "string-off": Habits(string_cents=sign * rng.uniform(18.0, 30.0)),
        "too-straight": Habits(straight=True),
        "missed": Habits(written=True, missed=0.2),
        "wrong-notes": Habits(written=True, wrong=0.2),
    }[kind]
