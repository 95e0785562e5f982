"""What a report says and draws beside the lines of a take: findings, numbers, timing, motifs, signs."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from math import ceil

from phrasewright.app.figures import NARROW_MM, WIDE_MM
from phrasewright.app.review import InBars, Review
from phrasewright.app.take_score import quarters_at
from phrasewright.engrave.report.content import NO_TIME, FigureView, FindingView, SectionView, SignView
from phrasewright.engrave.svg import figure
from phrasewright.engrave.take.motif_strip import MotifCard, motif_strip
from phrasewright.engrave.take.played import PlayedMark, Standing, Timing, sign
from phrasewright.engrave.take.timing_plot import TimedBar, timing_plot
from phrasewright.listen.align.compare import SOLOISTS_S
from phrasewright.listen.finding import Finding, Tone
from phrasewright.listen.placed import OffsetSource
from phrasewright.score.model import Measure

BAND_MS = 1000.0 * SOLOISTS_S
WIDE_BARS, NARROW_BARS = 12, 4  # on a line of the timing plot and the strip of motifs
PRINTED_LINES = 2
SIGN_SIDE_MM = 6.5
_SURE = ((0.95, "almost certain"), (0.85, "quite sure"), (0.7, "fairly sure"), (0.0, "not quite sure"))  # in words
_SIGNS = (
    (Timing.ON_TIME, Standing.CHORD_TONE, True, "a tone of the chord"),
    (Timing.ON_TIME, Standing.TENSION, True, "another note that fits"),
    (Timing.ON_TIME, Standing.CLASH, True, "rubs against the chord"),
    (Timing.EARLY, Standing.CHORD_TONE, True, "early"),
    (Timing.LATE, Standing.CHORD_TONE, True, "late"),
    (Timing.ON_TIME, Standing.TENSION, False, "hardly heard"),
)


def finding_view(finding: Finding) -> FindingView:
    """A finding for people."""
    return FindingView(
        topic=str(finding.topic),
        is_good=finding.tone is Tone.GOOD,
        said=finding.said,
        try_next=finding.try_next,
        sure=f"The program is {next(words for least, words in _SURE if finding.confidence >= least)}.",
        where="" if finding.bars is None else _bars_words(*finding.bars),
        from_s=NO_TIME if finding.from_s is None else round(finding.from_s, 3),
        to_s=NO_TIME if finding.to_s is None else round(finding.to_s, 3),
    )


def _bars_words(first: int, last: int) -> str:
    return f"bar {first}" if first == last else f"bars {first} to {last}"


def facts_of(review: Review) -> Iterator[tuple[str, str]]:
    """Names and values for the margin."""
    hearing = review.hearing
    minutes, seconds = divmod(round(hearing.length_s), 60)
    yield "Length", f"{minutes}:{seconds:02}"
    yield "Notes heard", str(len(hearing.notes))
    if hearing.tuning_cents is not None:
        yield "Tuning", f"{_signed(hearing.tuning_cents)} cents from A4 = 440 Hz"
    if review.in_bars is not None:
        yield from _time_facts(review.in_bars)


def _time_facts(found: InBars) -> Iterator[tuple[str, str]]:
    timing = found.timing
    yield "Tempo played", f"{found.tempo_bpm:.1f} beats a minute"
    if timing.bias_s is not None:
        side = "late" if timing.bias_s > 0 else "early"
        yield "In the middle", f"{abs(1000 * timing.bias_s):.0f} ms {side}"
    if timing.spread_s is not None:
        yield "Notes scatter by", f"{1000 * timing.spread_s:.0f} ms"
    if timing.drift_percent is not None:
        yield "Tempo from start to end", f"{_signed(timing.drift_percent, 1)} %"
    if timing.swing_ratio is not None:
        yield "Swing", f"{timing.swing_ratio:.1f} to 1"


def _signed(value: float, digits: int = 0) -> str:
    return f"{round(value, digits) + 0.0:+.{digits}f}".replace("-", "−")


def played_bars(in_bars: InBars) -> tuple[Measure, ...]:
    """From the first bar with a note to the last."""
    bars = in_bars.alignment.measures
    at = [here.at for here in in_bars.alignment.notes]
    inside = [number for number, bar in enumerate(bars) if any(bar.onset <= one < bar.end for one in at)]
    return bars[inside[0] : inside[-1] + 1] if inside else ()


def timing_section(review: Review, in_bars: InBars, marks: Sequence[PlayedMark]) -> SectionView | None:
    """How early or late, bar by bar; None without notes in bars."""
    middles_ms = {bar.bar: 1000.0 * bar.deviation_s for bar in in_bars.bar_timing}
    bars = [
        TimedBar(
            number=bar.number,
            notes=tuple(
                (mark, float((here.at - bar.onset) / bar.meter.bar))
                for mark, here in zip(marks, review.placed, strict=True)
                if here is not None and bar.onset <= here.at < bar.end
            ),
            middle_ms=middles_ms.get(bar.number),
        )
        for bar in played_bars(in_bars)
    ]
    if not bars:
        return None

    def drawn(name: str, width_mm: float, each: int) -> str:
        return timing_plot(
            bars,
            band_ms=BAND_MS,
            width_mm=width_mm,
            bars_per_line=each,
            id_prefix=f"timing-{name}",
            label="How early or late each note came",
        )

    words = [
        "Every note stands at its place in the bar: above the line it came late, below it early. Good soloists scatter "
        f"within the pale band, {BAND_MS:.0f} ms to either side. A thick stroke is the middle of its bar."
    ]
    if in_bars.alignment.clock.source in (OffsetSource.LINE, OffsetSource.GRID):
        words.append("The bars were laid by the notes themselves, so a lag that is the same all through cannot be seen.")
    alt = f"Notes against the beat in {_bars_words(bars[0].number, bars[-1].number)}."
    return SectionView(figure=_all_widths(drawn, len(bars), alt), words=tuple(words))


def motif_section(review: Review, in_bars: InBars) -> SectionView | None:
    """The motifs in order; None where none was heard."""
    bars = played_bars(in_bars)
    cards = tuple(_cards(review, in_bars, bars))
    if not cards:
        return None

    def drawn(name: str, width_mm: float, each: int) -> str:
        numbers = [bar.number for bar in bars]
        prefix = f"motifs-{name}"
        return motif_strip(cards, numbers, width_mm=width_mm, bars_per_line=each, id_prefix=prefix, label="Motifs")

    alt = "; ".join(f"{card.label}{f', {card.change}' if card.change else ''}" for card in cards)
    words = ["Open paper between the cards is where no motif was heard."]
    if any(card.is_own for card in cards):
        words.append("Dashed frames are patterns of your own that you came back to.")
    return SectionView(figure=_all_widths(drawn, len(bars), f"Motifs in order: {alt}."), words=tuple(words))


def _all_widths(drawn: Callable[[str, float, int], str], bars: int, alt: str) -> FigureView:
    """A figure of bars for the page in both widths and for print, where it has two lines at most."""
    return FigureView(
        wide=drawn("wide", WIDE_MM, WIDE_BARS),
        narrow=drawn("narrow", NARROW_MM, NARROW_BARS),
        printed=drawn("printed", WIDE_MM, max(WIDE_BARS, ceil(bars / PRINTED_LINES))),
        alt=alt,
    )


def _cards(review: Review, in_bars: InBars, bars: Sequence[Measure]) -> Iterator[MotifCard]:
    notes, clock, numbers = in_bars.alignment.notes, in_bars.alignment.clock, review.numbers

    def card(first: int, last: int, label: str, change: str, *, is_own: bool = False) -> MotifCard:
        end = quarters_at(clock, notes[last].note.offset_s, bars[-1].end)
        return MotifCard(
            label=label,
            change=change,
            from_bars=_bars_before(notes[first].at, bars),
            to_bars=_bars_before(end, bars),
            number=numbers[first],
            is_own=is_own,
        )

    for seen in in_bars.spotting.sightings:
        yield card(seen.first, seen.last, seen.letter, ", ".join(seen.changes))
    for number, own in enumerate(in_bars.spotting.own, start=1):
        for first in own.places:
            yield card(first, min(first + len(own.intervals), len(notes) - 1), str(number), "", is_own=True)


def _bars_before(at: Fraction, bars: Sequence[Measure]) -> float:
    """How many bars lie between the first bar's beginning and a written time."""
    place = max(number for number, bar in enumerate(bars) if bar.onset <= max(at, bars[0].onset))
    return place + float((at - bars[place].onset) / bars[place].meter.bar)


def sign_views() -> tuple[SignView, ...]:
    """What the signs mean."""
    return tuple(
        SignView(svg=_sign_figure(number, timing, standing, is_sure=is_sure), words=words)
        for number, (timing, standing, is_sure, words) in enumerate(_SIGNS)
    )


def _sign_figure(number: int, timing: Timing, standing: Standing, *, is_sure: bool) -> str:
    mark = PlayedMark(
        number=0, onset_s=0, offset_s=1, pitch_midi=60, words="", timing=timing, standing=standing, is_sure=is_sure
    )
    middle = SIGN_SIDE_MM / 2
    drawn = sign(mark, middle, middle).replace(' data-note="0"', "")
    words = {"title": str(standing), "desc": str(timing)}
    return figure([drawn], kind="sign", width_mm=SIGN_SIDE_MM, height_mm=SIGN_SIDE_MM, id_prefix=f"sign-{number}", **words)
