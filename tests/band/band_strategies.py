"""Hypothesis strategies: bars of random charts in every meter, and grooves that fit them."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import strategies as st

from phrasewright.band.arrange import Ensemble
from phrasewright.band.groove import GROOVES, Groove
from phrasewright.band.groove_model import ChordStyle
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.score.model import Measure, Note, PartRole
from phrasewright.theory.chord import CHORD_KINDS, Chord
from phrasewright.theory.chord_symbol import parse_chord, parse_optional_chord
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import LETTERS, NoteName

METERS = [Meter.parse(text) for text in ("2/4", "3/4", "4/4", "5/4", "6/8", "7/8", "12/8")]
PAIRS = [(groove, meter) for groove in GROOVES.values() for meter in groove.meters]
FULL_BANDS = [  # those with drums, bass and the chords as they are written
    groove
    for groove in GROOVES.values()
    if groove.chord_style is not ChordStyle.FIFTHS
    and all(p.beats and p.bass and p.chords for p in groove.plans.values())
]

roots = st.builds(NoteName, st.sampled_from(LETTERS), st.integers(-1, 1))
_kinds = st.sampled_from(sorted(CHORD_KINDS.values(), key=lambda kind: kind.id))
_altered = st.sampled_from(["C7alt", "C7b9", "C7#9b13", "C13#11", "C69", "Cmaj7#11", "C7sus4b9", "Cm11b5", "Cadd9"])
plain_chords = st.builds(Chord, root=roots, kind=_kinds, bass=st.none() | roots).map(
    lambda chord: Chord(root=chord.root, kind=chord.kind, bass=None if chord.bass == chord.root else chord.bass)
)
altered_chords = st.builds(
    lambda root, text: Chord(root=root, kind=parse_chord(text).kind, alterations=parse_chord(text).alterations),
    roots,
    _altered,
)
chords = plain_chords | altered_chords


@st.composite
def bars_in(draw: st.DrawFn, meter: Meter, least: int = 1, most: int = 5) -> tuple[Measure, ...]:
    """Bars of a random chart in a meter, perhaps with sections, with one to many chords a bar."""
    written = []
    pool = draw(st.lists(chords, min_size=1, max_size=4))
    known = st.sampled_from(pool)
    for _ in range(draw(st.integers(least, most))):
        shares = draw(st.sampled_from([(meter.bar,), meter.groups, (meter.unit,) * meter.upper]))
        words = tuple((draw(st.none() | known if len(shares) == 1 else known), share) for share in shares)
        written.append(ChartBar(chords=words, section=draw(st.sampled_from(["", "", "", "A", "B"]))))
    return Chart(meter=meter, bars=tuple(written)).unfold(draw(st.integers(1, 2)) * len(written))


@st.composite
def jobs(draw: st.DrawFn) -> tuple[tuple[Measure, ...], Groove]:
    """Bars and a groove that fits them."""
    groove, meter = draw(st.sampled_from(PAIRS))
    return draw(bars_in(meter)), groove


def notes_of(band: Ensemble, role: PartRole) -> tuple[Note, ...]:
    """The notes of a part; none when the band has no such part."""
    return tuple(note for part in band.parts if part.role is role for note in part.notes)


def unfolded(text: str, meter: str = "4/4", choruses: int = 1) -> tuple[Measure, ...]:
    """Bars from a short chart text: ``Em7 | A7 D7``; chords of a bar share it evenly."""
    parsed = Meter.parse(meter)
    bars = []
    for bar in text.split("|"):
        words = bar.split()
        bars.append(ChartBar(chords=tuple((parse_optional_chord(w), Fraction(parsed.bar, len(words))) for w in words)))
    return Chart(meter=parsed, bars=tuple(bars)).unfold(len(bars) * choruses)


BLUES = "A7 | D7 | A7 | A7 | D7 | D7 | A7 | F#7 | Bm7 | E7 | A7 F#7 | Bm7 E7"
TURN = "Em7 | A7 | Dmaj7 | Gmaj7 | C#m7b5 | F#7b9 | Bm7 | Bm7"
