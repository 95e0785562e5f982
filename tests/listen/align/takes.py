"""Takes for alignment: lines on counts, played with a known offset, tempo, drift, swing and unevenness."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from random import Random

from phrasewright.listen.heard import HeardNote
from phrasewright.score.model import ChordSpan, Measure, Note, Part, PartRole
from phrasewright.score.performance import Performance, SwingCurve
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import Pitch

SCALE = tuple(Pitch.parse(name) for name in ("A3", "C4", "D4", "E4", "G4", "A4", "C5", "D5", "E5"))
EIGHTHS = tuple(
    tuple(Fraction(part, 2) for part in row) for row in ((0,), (0, 1), (0, 1), (0, 1), (1,), ())
)  # what a beat may hold
BUSY = (
    *EIGHTHS,
    (Fraction(0), Fraction(1, 3), Fraction(2, 3)),
    (Fraction(0), Fraction(1, 4), Fraction(1, 2), Fraction(3, 4)),
)


@dataclass(frozen=True, kw_only=True)
class Played:
    """How a line is played. stretch: 1.03 = 3 per cent slower; drift_percent: tempo at its end against the start."""

    tempo_bpm: float = 110.0
    offset_s: float = 2.2
    stretch: float = 1.0
    drift_percent: float = 0.0
    swing_ratio: float = 1.0
    jitter_s: float = 0.008
    late_s: float = 0.0


def bars(count: int, meter: str = "4/4") -> tuple[Measure, ...]:
    """Bars without chords."""
    own = Meter.parse(meter)
    return tuple(
        Measure(
            number=at + 1,
            onset=at * own.bar,
            meter=own,
            chords=(ChordSpan(onset=at * own.bar, duration=own.bar, chord=None),),
        )
        for at in range(count)
    )


def random_line(rng: Random, bar_count: int, patterns: tuple[tuple[Fraction, ...], ...] = EIGHTHS) -> Part:
    """A walk through a scale in random rhythms, bars of four."""
    onsets = [Fraction(beat) + part for beat in range(4 * bar_count) for part in rng.choice(patterns)]
    at, notes = 4, []
    for place, onset in enumerate(onsets):
        at = min(max(at + rng.choice((-2, -1, -1, 1, 1, 2)), 0), len(SCALE) - 1)
        end = onsets[place + 1] if place + 1 < len(onsets) else onset + 1
        notes.append(Note(onset=onset, duration=min(end - onset, Fraction(1)), pitch=SCALE[at]))
    return Part(role=PartRole.LEAD, name="line", notes=tuple(notes))


def straight(tempo_bpm: float) -> Performance:
    return Performance(tempo_bpm=tempo_bpm)


def swinging(tempo_bpm: float, ratio: float) -> Performance:
    return Performance(tempo_bpm=tempo_bpm, swing=SwingCurve(((tempo_bpm, ratio),)))


def played(part: Part, how: Played, rng: Random) -> tuple[HeardNote, ...]:
    """The line as it is heard. Jitter is made to have exactly the wished mean (0) and spread."""
    performance = swinging(how.tempo_bpm, how.swing_ratio)
    at_s = [performance.seconds_at(note.onset) for note in part.notes]
    slip = _even([rng.gauss(0.0, 1.0) for _ in at_s])
    first_s, last_s = at_s[0], at_s[-1]
    # tempo at the end is (1 + drift) times that at the start: the stretch falls evenly on the way
    start = 2.0 * (1.0 + how.drift_percent / 100.0) / (2.0 + how.drift_percent / 100.0)
    slope = (start / (1.0 + how.drift_percent / 100.0) - start) / max(last_s - first_s, 1e-9)
    found = []
    for note, performed_s, jitter in zip(part.notes, at_s, slip, strict=True):
        since_s = performed_s - first_s
        moved_s = first_s * start + start * since_s + slope * since_s**2 / 2.0
        onset_s = how.offset_s + how.late_s + how.stretch * moved_s + how.jitter_s * jitter
        lasts_s = 0.8 * float(note.duration) * 60.0 / how.tempo_bpm
        pitch = note.pitch.midi + rng.gauss(0.0, 0.05)
        found.append(HeardNote(onset_s=max(onset_s, 0.0), offset_s=max(onset_s, 0.0) + lasts_s, pitch_midi=pitch))
    return tuple(sorted(found, key=lambda note: note.onset_s))


def _even(values: list[float]) -> list[float]:
    mean = sum(values) / len(values)
    sd = (sum((value - mean) ** 2 for value in values) / len(values)) ** 0.5
    return [(value - mean) / sd for value in values]
