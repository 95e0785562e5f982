"""A chart in plain words: its meter, its bars, and everything that happens at them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from phrasewright.engrave.spoken import spoken_chord, spoken_moment, spoken_number
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.score.model import Measure
from phrasewright.theory.meter import Meter

_UNITS = {2: "half notes", 4: "quarter notes", 8: "eighth notes", 16: "sixteenth notes"}


def spoken_meter(meter: Meter) -> str:
    """``four beats in a bar, counted in quarter notes``."""
    beats = "one beat" if meter.upper == 1 else f"{spoken_number(meter.upper)} beats"
    return f"{beats} in a bar, counted in {_UNITS[meter.lower]}"


def spoken_chords(measure: Measure) -> str:
    """``over E minor seven, from three A seven, a stop``."""
    words: list[str] = []
    for span in measure.chords:
        moment = f"from {spoken_moment(span.onset - measure.onset, measure.meter)} " if words else ""
        words.append(f"{moment}{spoken_chord(span.chord)}{', a stop' if span.stop else ''}")
    if len(measure.chords) == 1 and measure.chords[0].chord is None:
        return "no chord"
    return f"over {', '.join(words)}" if words else "no chord"


def spoken_changes(measure: Measure, meter: Meter, pace: Fraction) -> list[str]:
    """What is new at a bar after one of a meter and a pace: its meter, its tempo; nothing when both go on."""
    words = []
    if measure.meter != meter:
        words.append(f"now {spoken_meter(measure.meter)}")
    if measure.pace != pace:
        words.append("in tempo" if measure.pace == 1 else f"at {float(100 * measure.pace):g} per cent of the tempo")
    return words


def opening(words: Sequence[str]) -> str:
    """What is said before a bar: ``Now two beats in a bar; in tempo: ``; empty when nothing is."""
    said = "; ".join(words)
    return f"{said[0].upper()}{said[1:]}: " if said else ""


def spoken_chart(chart: Chart) -> str:
    """A chart: its meter, then the chords bar by bar; bars alike are said together.

    What changes at a bar is said before its chords; a pick-up comes first, a coda last.
    """
    bars = len(chart.bars)
    total = "one bar" if bars == 1 else f"{spoken_number(bars)} bars"
    sentences = [f"{total[0].upper()}{total[1:]}, {spoken_meter(chart.meter)}."]
    played = chart.whole(1)
    if chart.pickup is not None:
        beats = spoken_number(played[0].meter.upper)
        sentences.append(f"A pick-up of {beats} beat{'s' if beats != 'one' else ''}, {spoken_chords(played[0])}.")
    written = list(zip((*chart.bars, *chart.coda), _measures(chart), strict=True))
    sentences += _sentences(chart, written[:bars], 1)
    if chart.coda:
        sentences.append("The coda, played once at the end:")
        sentences += _sentences(chart, written, bars + 1)
    return " ".join(sentences)


def _measures(chart: Chart) -> tuple[Measure, ...]:
    """The bars of the chorus and the coda as measures, nothing left out."""
    after = Chart(meter=chart.meter, bars=(*chart.bars, *chart.coda))
    return after.unfold(len(after.bars))


def _sentences(chart: Chart, bars: Sequence[tuple[ChartBar, Measure]], first: int) -> Iterator[str]:
    """From a bar number on; bars alike are said together."""
    said = [(_before(chart, bars, index), _spoken(bar, measure)) for index, (bar, measure) in enumerate(bars)]
    start = first - 1
    while start < len(said):
        last = start
        while last + 1 < len(said) and said[last + 1] == ("", said[start][1]):
            last += 1
        number = f"Bar {start + 1}" if start == last else f"Bars {start + 1} to {last + 1}"
        yield f"{said[start][0]}{number}, {said[start][1]}."
        start = last + 1


def _before(chart: Chart, bars: Sequence[tuple[ChartBar, Measure]], index: int) -> str:
    """Section, meter and tempo where they change."""
    bar, measure = bars[index]
    before = bars[index - 1][1] if index else None
    words = [bar.section] if bar.section and bar not in chart.coda else []
    words += spoken_changes(measure, before.meter if before else chart.meter, before.pace if before else Fraction(1))
    return opening(words)


def _spoken(bar: ChartBar, measure: Measure) -> str:
    slower = ", getting slower" if bar.slows else ""
    leaving = ", which the coda follows the last time" if bar.to_coda else ""
    return f"{spoken_chords(measure)}{slower}{leaving}"
