"""How a motif or a phrase sits on the chord under it.

The measure is the mean over its notes of log2(P(pitch class | chord) / (1/12)), in bits: 0 = as usual as any
note would be, 1 = twice as usual (docs/sources.md 12a; shares in ``priors``). Notes weigh by duration, times 1.3
for the last, else 1.1 on the beat and 1.0 off it: real soloists favour chord tones only mildly on beats (52 to
48 per cent) and clearly at phrase ends (62 to 50), so nothing is forbidden, only graded.

Roles name each note as a teacher would. A note outside the chord is an *approach* when it moves on by at most a
whole step to a chord tone; else a *clash* when it is rarer than -0.85 bits and not an available tension (a whole
step above a chord tone and not a half step above any: common practice); else a *tension*.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache

from phrasewright.melody.attraction import pull
from phrasewright.melody.motif import Motif
from phrasewright.melody.phrase import Phrase
from phrasewright.melody.priors import Idiom, bits_of, shares_over
from phrasewright.theory.chord import Chord
from phrasewright.theory.interval import Degree
from phrasewright.theory.key import Mode
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import LETTERS, NoteName, Pitch
from phrasewright.theory.scale import Scale

ON_BEAT, OFF_BEAT, LAST = 1.1, 1.0, 1.3
CLASH_BITS = -0.85
AT_HOME_BITS, COLOURFUL_BITS = 0.2, -0.2  # grade limits: our design, see docs/melody.md
APPROACH_SEMITONES = 2

_ORDINALS = {
    1: "root",
    2: "second",
    3: "third",
    4: "fourth",
    5: "fifth",
    6: "sixth",
    7: "seventh",
    9: "ninth",
    11: "eleventh",
    13: "thirteenth",
}
_BY_SEMITONES = ("1", "b2", "2", "b3", "3", "4", "b5", "5", "b6", "6", "b7", "7")


class Role(StrEnum):
    """What a note does against the chord that holds under it."""

    ROOT = "root"
    THIRD = "third"
    FIFTH = "fifth"
    SEVENTH = "seventh"
    OTHER_TONE = "other chord tone"  # a sixth, ninth, fourth ... that the chord itself names, or its slash bass
    TENSION = "tension"
    APPROACH = "approach"
    CLASH = "clash"

    @property
    def is_chord_tone(self) -> bool:
        """True for the tones of the chord itself."""
        return self not in (Role.TENSION, Role.APPROACH, Role.CLASH)


class Grade(StrEnum):
    """How the whole motif sits, in a word."""

    AT_HOME = "at home"
    COLOURFUL = "colourful"
    LEANS = "leans"  # wants to move on
    RUBS = "rubs"  # ends on a clash


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteFit:
    """One note over one chord. degree: of the chord; bits: against chance; words: ``the third of A7``."""

    role: Role
    degree: Degree
    bits: float
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """A line over its chords. bits: weighted mean; pull: Lerdahl attraction of the last note (0.5 = at rest)."""

    bits: float
    notes: tuple[NoteFit, ...]
    pull: float

    @property
    def landing(self) -> NoteFit:
        """The last note."""
        return self.notes[-1]

    @property
    def grade(self) -> Grade:
        """In a word, from the bits and the landing note."""
        if self.landing.role is Role.CLASH:
            return Grade.RUBS
        if self.bits >= AT_HOME_BITS and self.landing.role.is_chord_tone:
            return Grade.AT_HOME
        return Grade.COLOURFUL if self.bits >= COLOURFUL_BITS else Grade.LEANS


@dataclass(frozen=True, slots=True, kw_only=True)
class Sounding:
    """One note as the fit sees it: its pitch, the chord under it, and its weight."""

    pitch: Pitch
    chord: Chord
    weight: float


def fit_motif(motif: Motif, chord: Chord, *, idiom: Idiom = Idiom.JAZZ) -> Fit:
    """A motif over one chord, without rhythm: equal notes off the beat, the last one weighing 1.3."""
    last = len(motif.steps) - 1
    line = [
        Sounding(pitch=note.pitch, chord=chord, weight=LAST if index == last else OFF_BEAT)
        for index, note in enumerate(motif.notes)
    ]
    return fit_line(line, scale=motif.position.scale, idiom=idiom)


def fit_phrase(
    phrase: Phrase, at: Fraction, chord_at: Callable[[Fraction], Chord | None], *, idiom: Idiom = Idiom.JAZZ
) -> Fit | None:
    """A phrase begun at ``at`` over the chords that ``chord_at`` gives for a time; None when no chord holds at all.

    Notes with no chord under them are left out.
    """
    strokes = phrase.count.strokes
    line = []
    for index, (note, stroke) in enumerate(zip(phrase.motif.notes, strokes, strict=True)):
        chord = chord_at(at + stroke.onset)
        if chord is not None:
            accent = LAST if index == len(strokes) - 1 else beat_weight(stroke.onset, phrase.count.meter)
            line.append(Sounding(pitch=note.pitch, chord=chord, weight=float(stroke.duration) * accent))
    return fit_line(line, scale=phrase.motif.position.scale, idiom=idiom) if line else None


def fit_line(line: Sequence[Sounding], *, scale: Scale, idiom: Idiom = Idiom.JAZZ) -> Fit:
    """Any line of notes over its chords. Raises ValueError when it is empty."""
    if not line:
        raise ValueError("a line needs at least one note")
    followers: list[Pitch | None] = [note.pitch for note in line[1:]]
    under, over = line[0].chord, _over(line[0].chord, scale, idiom)
    notes = []
    for note, following in zip(line, [*followers, None], strict=True):
        if note.chord is not under:
            under, over = note.chord, _over(note.chord, scale, idiom)
        notes.append(over.fit(note.pitch, following))
    total = sum(note.weight for note in line)
    bits = sum(fitted.bits * note.weight for fitted, note in zip(notes, line, strict=True)) / total
    return Fit(bits=bits, notes=tuple(notes), pull=over.pull(line[-1].pitch))


def note_fit(
    pitch: Pitch, chord: Chord, following: Pitch | None, *, scale: Scale, idiom: Idiom = Idiom.JAZZ
) -> NoteFit:
    """One note over one chord, knowing the note that comes after it (None = it is the last)."""
    return _over(chord, scale, idiom).fit(pitch, following)


def beat_weight(onset: Fraction, meter: Meter) -> float:
    """1.1 for a note on a tapped beat of its bar, 1.0 off it."""
    return ON_BEAT if (onset % meter.bar) % meter.pulse == 0 else OFF_BEAT


def landing_pull(pitch: Pitch, chord: Chord) -> float:
    """Lerdahl's attraction on a note over the root of its chord, minor where the chord has a minor third."""
    sounding = {degree.semitones for degree in chord.degrees}
    mode = Mode.MINOR if 3 in sounding and 4 not in sounding else Mode.MAJOR
    return pull((pitch.midi - chord.root.pitch_class) % 12, mode)


class _Over:
    """All that is known over one chord: each note is worked out once, since shelves ask for the same ones often."""

    __slots__ = ("_fits", "_pulls", "_shares", "chord")

    def __init__(self, chord: Chord, scale: Scale, idiom: Idiom) -> None:
        self.chord = chord
        self._shares = shares_over(chord, idiom, scale)
        self._fits: dict[tuple[Pitch, Pitch | None], NoteFit] = {}
        self._pulls: dict[int, float] = {}

    def fit(self, pitch: Pitch, following: Pitch | None) -> NoteFit:
        """The fit of a note that a following one comes after (None = it is the last)."""
        found = self._fits.get((pitch, following))
        if found is None:
            bits = bits_of(self._shares[(pitch.midi - self.chord.root.pitch_class) % 12])
            degree = chord_degree(pitch.name, self.chord)
            role = _role(pitch, self.chord, following, bits)
            found = NoteFit(role=role, degree=degree, bits=bits, words=_words(role, degree, self.chord))
            self._fits[pitch, following] = found
        return found

    def pull(self, pitch: Pitch) -> float:
        """The attraction on a note."""
        if pitch.midi not in self._pulls:
            self._pulls[pitch.midi] = landing_pull(pitch, self.chord)
        return self._pulls[pitch.midi]


@lru_cache(maxsize=512)
def _over(chord: Chord, scale: Scale, idiom: Idiom) -> _Over:
    return _Over(chord, scale, idiom)


def chord_degree(name: NoteName, chord: Chord) -> Degree:
    """The degree of a note over a chord's root: the chord's own degree, else as spelled (9, 11, 13 over sevenths)."""
    own = chord.degree_of(name.pitch_class)
    if own is not None:
        return own
    number = (LETTERS.index(name.letter) - LETTERS.index(chord.root.letter)) % 7 + 1
    above = (name.pitch_class - chord.root.pitch_class) % 12
    alter = (above - Degree(number).semitones + 6) % 12 - 6
    spelled = Degree(number, alter) if abs(alter) <= 1 and (number, alter) != (1, -1) else None
    degree = spelled or Degree.parse(_BY_SEMITONES[above])
    has_seventh = any(tone.number == 7 for tone in chord.degrees)
    if has_seventh and degree.number in (2, 4, 6):
        return Degree(degree.number + 7, degree.alter)
    return degree


def _role(pitch: Pitch, chord: Chord, following: Pitch | None, bits: float) -> Role:
    own = chord.degree_of(pitch.midi)
    if own is not None:
        names = {1: Role.ROOT, 3: Role.THIRD, 5: Role.FIFTH, 7: Role.SEVENTH}
        return names.get(own.number, Role.OTHER_TONE)
    if chord.bass is not None and pitch.midi % 12 == chord.bass.pitch_class:
        return Role.OTHER_TONE
    if following is not None and _approaches(pitch, following, chord):
        return Role.APPROACH
    return Role.CLASH if bits < CLASH_BITS and not _is_available(pitch, chord) else Role.TENSION


def _approaches(pitch: Pitch, following: Pitch, chord: Chord) -> bool:
    distance = abs(following.midi - pitch.midi)
    return 0 < distance <= APPROACH_SEMITONES and chord.degree_of(following.midi) is not None


def _is_available(pitch: Pitch, chord: Chord) -> bool:
    tones = {tone.pitch_class for tone in chord.tones}
    return (pitch.midi - 2) % 12 in tones and (pitch.midi - 1) % 12 not in tones


def _words(role: Role, degree: Degree, chord: Chord) -> str:
    if role.is_chord_tone and degree in chord.degrees:
        return f"the {_ORDINALS.get(degree.number, degree.printed)} of {chord.printed}"
    if role.is_chord_tone:
        return f"the bass note of {chord.printed}"
    name = f"the {_quality(degree, chord)}{_ORDINALS.get(degree.number, degree.printed)}"
    if role is Role.APPROACH:
        return f"{name}, on its way into {chord.printed}"
    return f"{name} against {chord.printed}" if role is Role.CLASH else f"{name} over {chord.printed}"


def _quality(degree: Degree, chord: Chord) -> str:
    if degree.alter:
        return "flat " if degree.alter < 0 else "sharp "
    numbers = {tone.simple.number for tone in chord.degrees}
    return "natural " if degree.simple.number in numbers else ""
