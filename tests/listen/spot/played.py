"""Takes for spotting: notes in their places, lessons' shelves, and solos with known motifs in them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from random import Random

from phrasewright.errors import NeckError
from phrasewright.listen.heard import HeardNote, Mark
from phrasewright.listen.placed import PlacedNote
from phrasewright.listen.spotted import Change
from phrasewright.melody.motif import Motif
from phrasewright.melody.shelf import Shelf, shelf_of
from phrasewright.neck.catalogue import instrument
from phrasewright.neck.place import Position
from phrasewright.neck.search import box
from phrasewright.theory.pitch import NoteName
from phrasewright.theory.scale import SCALE_KINDS, Scale

GUITAR = instrument("guitar")
COUNT_IN = Fraction(4)


def placed(
    pitch_midi: float, onset_s: float, duration_s: float, *, quarter_s: float = 0.5, marks: tuple[Mark, ...] = ()
) -> PlacedNote:
    """A heard note on the nearest count of a tempo, bars of four."""
    at = Fraction(round(onset_s / quarter_s * 4), 4)
    note = HeardNote(onset_s=onset_s, offset_s=onset_s + duration_s, pitch_midi=pitch_midi, marks=marks)
    return PlacedNote(
        note=note,
        at=at,
        bar=int(at // 4) + 1,
        beat=float(at % 4) + 1,
        word="1",
        deviation_s=onset_s - float(at) * quarter_s,
    )


def line(pitches_midi: Sequence[float | None], *, step_s: float = 0.25, start_s: float = 1.0) -> list[PlacedNote]:
    """An even line at 120 a minute; None is a rest of four steps."""
    found, now_s = [], start_s
    for pitch in pitches_midi:
        if pitch is None:
            now_s += 4 * step_s
        else:
            found.append(placed(pitch, now_s, 0.9 * step_s))
            now_s += step_s
    return found


def a_minor_pentatonic() -> Position:
    """The box at fret 5."""
    return box(Scale(NoteName.parse("A"), SCALE_KINDS["minor-pentatonic"]), GUITAR, near_fret=5)


@dataclass(frozen=True, kw_only=True)
class Planted:
    """A motif as it was put into a solo. notes: names of its notes in the solo."""

    letter: str
    notes: frozenset[int]
    changes: frozenset[Change]


@dataclass(frozen=True, kw_only=True)
class Solo:
    """A solo with what is in it. names: of its notes, -1 for one that was not meant; step: usual, in quarters."""

    shelf: Shelf
    notes: list[PlacedNote]
    names: list[int]
    planted: list[Planted]
    step: Fraction


@dataclass(kw_only=True)
class _Score:
    """A solo in the making: pitches with time, rests between."""

    variants: dict[tuple[int, ...], str]
    rows: list[tuple[int, Fraction, Fraction, int]] = field(default_factory=list)  # pitch, onset, length, phrase
    now: Fraction = COUNT_IN
    phrase: int = 0

    def add(self, pitch_midi: int, step: Fraction) -> None:
        self.rows.append((pitch_midi, self.now, step, self.phrase))
        self.now += step

    def rest(self, length: Fraction) -> None:
        self.now += length
        self.phrase += 1

    def tail(self, size: int) -> tuple[int, ...]:
        return tuple(row[0] for row in self.rows[-size:] if row[3] == self.phrase) if size else ()

    def makes_motif(self, pitches_midi: Sequence[int], *, planted: bool = False) -> bool:
        """Whether pitches played next make a motif of the shelf; a planted one may hold shorter ones within it."""
        row = (*self.tail(4), *pitches_midi)
        new = len(row) - len(pitches_midi)
        return any(
            row[end - size : end] in self.variants and not (planted and end - size >= new)
            for end in range(new + 1, len(row) + 1)
            for size in range(2, min(5, end) + 1)
        )


def exact_variants(shelf: Shelf) -> dict[tuple[int, ...], str]:
    """Every motif as it is, reversed (three notes and more), and either of these up to two octaves away."""
    found: dict[tuple[int, ...], str] = {}
    for item in shelf.items:
        pitches = tuple(note.pitch.midi for note in item.motif.notes)
        for way in (pitches, pitches[::-1]) if len(pitches) > 2 else (pitches,):
            for octave in (0, -2, -1, 1, 2):
                found.setdefault(tuple(pitch + 12 * octave for pitch in way), item.letter)
    return found


def random_shelf(rng: Random) -> Shelf:
    """Four to eight motifs of two to five notes in a box of a common scale."""
    kind = rng.choice(("minor-pentatonic", "major-pentatonic", "major", "dorian", "mixolydian", "blues"))
    while True:
        key = NoteName.parse(rng.choice(("C", "D", "Eb", "E", "F", "G", "A", "Bb")))
        try:
            position = box(Scale(key, SCALE_KINDS[kind]), GUITAR, near_fret=rng.randint(2, 10))
        except NeckError:
            continue
        sizes = rng.choice(((3, 4), (3, 4), (3, 4, 5), (2, 3, 4), (4, 5), (2, 3)))
        largest = rng.choice((1, 2, 3))
        motifs = (_walk(position, rng.choice(sizes), largest, rng) for _ in range(rng.randint(4, 8)))
        return shelf_of(position, list(dict.fromkeys(motifs)))


def _walk(position: Position, size: int, largest: int, rng: Random) -> Motif:
    steps = [rng.randrange(len(position.notes))]
    while len(steps) < size:
        after = steps[-1] + rng.choice([move for move in range(-largest, largest + 1) if move])
        if 0 <= after < len(position.notes):
            steps.append(after)
    return Motif(position, tuple(steps))


def random_solo(rng: Random) -> Solo:
    """A solo of motifs and filler. See ``test_planted.py`` for what it holds."""
    shelf = random_shelf(rng)
    score = _Score(variants=exact_variants(shelf))
    step = rng.choice((Fraction(1, 2), Fraction(1, 2), Fraction(1)))
    planted: list[Planted] = []
    for _ in range(rng.randint(30, 40)):
        rests_before = rng.random() < 0.6
        if rests_before:
            score.rest(max(Fraction(2), 2 * step))
        if rng.random() < 0.5:
            _plant(score, planted, shelf, step, rng, own_phrase=rests_before and rng.random() < 0.7)
        else:
            _fill(score, [note.pitch.midi for note in shelf.position.notes], step, rng)
    quarter_s = 60.0 / rng.uniform(70.0, 150.0)
    notes, names = _performed(score, quarter_s, rng)
    return Solo(shelf=shelf, notes=notes, names=names, planted=planted, step=step)


def _plant(
    score: _Score, planted: list[Planted], shelf: Shelf, step: Fraction, rng: Random, *, own_phrase: bool
) -> None:
    item = rng.choice(shelf.items)
    pitches = tuple(note.pitch.midi for note in item.motif.notes)
    size = len(pitches)
    changes: set[Change] = set()
    wish = rng.choice((None, None, None, None, *Change))
    if wish is Change.OCTAVE:
        octave = rng.choice((-12, 12))
        pitches, changes = tuple(pitch + octave for pitch in pitches), {wish}
    elif wish is Change.REVERSED and size > 2 and pitches != pitches[::-1]:
        pitches, changes = pitches[::-1], {wish}
    elif wish is Change.ONE_NOTE and (size > 4 or (size > 2 and own_phrase)):
        at = rng.randrange(size)
        near = [n.pitch.midi for n in shelf.position.notes if 0 < abs(n.pitch.midi - pitches[at]) <= 4]
        pitches, changes = (*pitches[:at], rng.choice(near), *pitches[at + 1 :]), {wish}
    elif wish is Change.TWICE_AS_FAST:
        changes = {wish}
    if Change.ONE_NOTE in changes:
        unclear = score.makes_motif(pitches) or _is_near_another(pitches, item.letter, score.variants)
    else:
        unclear = score.variants.get(pitches) != item.letter or score.makes_motif(pitches, planted=True)
    if unclear:
        return
    first = len(score.rows)
    for pitch in pitches:
        score.add(pitch, step / 2 if Change.TWICE_AS_FAST in changes else step)
    planted.append(
        Planted(letter=item.letter, notes=frozenset(range(first, len(score.rows))), changes=frozenset(changes))
    )
    if own_phrase:
        score.rest(max(Fraction(2), 2 * step))


def _is_near_another(pitches: Sequence[int], letter: str, variants: dict[tuple[int, ...], str]) -> bool:
    """Whether a motif of another letter is one note away as well, so that nobody could tell which was altered."""
    return any(
        len(other) == len(pitches) and whose != letter and sum(a != b for a, b in zip(other, pitches, strict=True)) < 2
        for other, whose in variants.items()
    )


def _fill(score: _Score, scale_midi: Sequence[int], step: Fraction, rng: Random) -> None:
    at = rng.randrange(len(scale_midi))
    for _ in range(rng.randint(3, 8)):
        moves = [move for move in (-3, -2, -1, -1, -1, 0, 1, 1, 1, 2, 3) if 0 <= at + move < len(scale_midi)]
        rng.shuffle(moves)
        at = next((at + move for move in moves if not score.makes_motif([scale_midi[at + move]])), -1)
        if at < 0:
            return
        score.add(scale_midi[at], rng.choice((step, step, step / 2, 2 * step)))


def _performed(score: _Score, quarter_s: float, rng: Random) -> tuple[list[PlacedNote], list[int]]:
    """Two notes in a hundred wrong (half replaced, a quarter left out, a quarter and one too many), 20 ms of jitter."""
    found = []
    for name, (pitch, onset, length, _) in enumerate(score.rows):
        at_s, lasts_s = float(onset) * quarter_s, 0.85 * float(length) * quarter_s
        fate = rng.random() if rng.random() < 0.02 else None
        if fate is not None and fate < 0.25:
            continue
        if fate is not None and fate < 0.75:
            pitch += rng.choice((-4, -3, -2, -1, 1, 2, 3, 4))
        jitter_s = rng.gauss(0.0, 0.02)
        note = placed(pitch + rng.gauss(0.0, 0.08), at_s + jitter_s, lasts_s, quarter_s=quarter_s)
        found.append((note, name))
        if fate is not None and fate >= 0.75:
            extra = pitch + rng.choice((-2, -1, 1, 2))
            half_s = 0.5 * float(length) * quarter_s
            found.append((placed(extra, at_s + half_s + jitter_s, 0.4 * lasts_s, quarter_s=quarter_s), -1))
    found.sort(key=lambda row: row[0].note.onset_s)
    return [row[0] for row in found], [row[1] for row in found]
