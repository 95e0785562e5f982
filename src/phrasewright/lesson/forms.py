"""Ready forms: the charts that everybody plays, by degree, for any key.

Roman numerals count the degrees of the key, with the chord's kind behind them (``IIm7``, ``bVII7``). All forms are
common practice, from memory. A form fills the bars of any meter; two chords share a bar as in a chart.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from phrasewright.lesson.chart_reader import bar_split
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.theory.chord import Chord
from phrasewright.theory.chord_symbol import parse_chord
from phrasewright.theory.interval import Degree
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName

_NUMERAL = re.compile(r"([b#]?)(VII|VI|IV|V|III|II|I)(.*)")
_NUMBERS = ("I", "II", "III", "IV", "V", "VI", "VII")


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """A form. bars: a word for each chord, bars divided by ``|``; chords that share a bar share it evenly."""

    id: str
    name: str
    bars: str

    def chart(self, key: NoteName, meter: Meter) -> Chart:
        """The form in a key."""
        bars = []
        for words in self.bars.split("|"):
            chords = [chord_of(word, key) for word in words.split()]
            lengths = bar_split(meter, len(chords)) or (meter.bar / len(chords),) * len(chords)
            bars.append(ChartBar(chords=tuple(zip(chords, lengths, strict=True))))
        return Chart(meter=meter, bars=tuple(bars))


def chord_of(numeral: str, key: NoteName) -> Chord:
    """A chord by its degree, e.g. ``bVII7`` in C is B flat seven. Raises ValueError when it is no numeral."""
    found = _NUMERAL.fullmatch(numeral)
    if found is None:
        raise ValueError(f"{numeral!r} is no Roman numeral with a chord kind")
    degree = Degree.parse(f"{found[1]}{_NUMBERS.index(found[2]) + 1}")
    return parse_chord(f"{degree.above(key)}{found[3]}")


_ALL = (
    Form(id="blues", name="twelve-bar blues", bars="I7|I7|I7|I7|IV7|IV7|I7|I7|V7|IV7|I7|V7"),
    Form(id="quick-change", name="twelve-bar blues, quick change", bars="I7|IV7|I7|I7|IV7|IV7|I7|I7|V7|IV7|I7|V7"),
    Form(id="minor-blues", name="minor blues", bars="Im7|Im7|Im7|Im7|IVm7|IVm7|Im7|Im7|bVI7|V7|Im7|V7"),
    Form(
        id="jazz-blues",
        name="blues with cadences",
        bars="I7|IV7|I7|Vm7 I7|IV7|#IVdim7|I7|IIIm7b5 VI7b9|IIm7|V7|I7 VI7|IIm7 V7",
    ),
    Form(id="eight-bar", name="eight-bar blues", bars="I7|V7|IV7|IV7|I7|V7|I7 IV7|I7 V7"),
    Form(id="sixteen-bar", name="sixteen-bar blues", bars="I7|I7|I7|I7|I7|I7|I7|I7|IV7|IV7|I7|I7|V7|IV7|I7|V7"),
    Form(id="minor-vamp", name="two-chord vamp in minor", bars="Im7|IV7|Im7|IV7"),
    Form(id="major-vamp", name="two-chord vamp in major", bars="Imaj7|IVmaj7|Imaj7|IVmaj7"),
    Form(id="flat-seven-vamp", name="two-chord vamp down a whole tone", bars="I|bVII|I|bVII"),
    Form(id="major-cadence", name="two, five, one in major", bars="IIm7|V7|Imaj7|Imaj7"),
    Form(id="minor-cadence", name="two, five, one in minor", bars="IIm7b5|V7b9|Im7|Im7"),
    Form(id="turnaround", name="turnaround", bars="Imaj7 VIm7|IIm7 V7"),
    Form(id="blues-turnaround", name="turnaround of the blues", bars="I7 VI7|IIm7 V7"),
    Form(id="descending", name="descending minor line", bars="Im|bVII|bVI|V7"),
    Form(id="major-drone", name="one chord, major", bars="I|I|I|I"),
    Form(id="dominant-drone", name="one chord, seventh", bars="I7|I7|I7|I7"),
    Form(id="minor-drone", name="one chord, minor", bars="Im7|Im7|Im7|Im7"),
)
FORMS: Mapping[str, Form] = MappingProxyType({form.id: form for form in _ALL})
