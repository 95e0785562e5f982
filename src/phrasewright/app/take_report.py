"""From a take heard and judged to what its report shows."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from phrasewright import __version__
from phrasewright.app.review import InBars, Review
from phrasewright.app.take_lines import envelope_of, take_lines
from phrasewright.app.take_marks import note_pitches, place_words, played_marks, technique_words, timing_words
from phrasewright.app.take_plots import motifs_figure, pitch_lines, timing_figure
from phrasewright.engrave.page.content import USUAL_CAUTIONS
from phrasewright.engrave.report.content import FindingView, NoteView, ReportContent, SignView
from phrasewright.engrave.svg import figure
from phrasewright.engrave.take.played import PlayedMark, Standing, Timing, sign_marks
from phrasewright.engrave.take.wave_row import missed_sign
from phrasewright.listen.align.compare import SOLOISTS_S
from phrasewright.listen.finding import Finding
from phrasewright.listen.hear.spectrum import RATE_HZ
from phrasewright.listen.placed import OffsetSource, Verdict
from phrasewright.sound.encode import flac_bytes
from phrasewright.theory.pitch import Pitch

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float32]

SURE_WORDS = ((0.95, "Heard for sure."), (0.88, "Fairly sure."), (0.0, "Likely."))
COLUMNS = ("begins", "lasts", "where", "pitch", "string and fret", "time", "played with")
CLOCK_WORDS = {
    OffsetSource.GIVEN: "as it was given",
    OffsetSource.TRACK: "by the track heard in the take",
    OffsetSource.LINE: "by the written line",
    OffsetSource.GRID: "by the notes alone",
}
SIGN_MM = (6.5, 5.2)


def report_content(review: Review, audio: FloatArray, *, name: str) -> ReportContent:
    """All that a report shows. audio: the take as recorded, float32 (n,) at ``RATE_HZ``; name: of the take."""
    marks = played_marks(review)
    in_bars = review.in_bars
    first = () if in_bars is None else in_bars.first
    more = () if in_bars is None else tuple(one for one in in_bars.findings if one not in first)
    return ReportContent(
        title=name,
        school="" if in_bars is None else in_bars.assignment.plan.lesson.school,
        lesson="" if in_bars is None else in_bars.assignment.title,
        words=_words(review) if in_bars is None else in_bars.words,
        remarks=review.remarks,
        first=tuple(map(finding_view, first)),
        more=tuple(map(finding_view, more)),
        facts=tuple(_facts(review)),
        signs=tuple(_signs(review, marks)),
        lines=take_lines(review, marks, envelope_of(audio)),
        pitch=pitch_lines(review, marks),
        timing=None if in_bars is None or not marks else timing_figure(review, in_bars, marks),
        timing_words="" if in_bars is None else _timing_words(in_bars),
        motifs=None if in_bars is None else motifs_figure(review, in_bars),
        columns=COLUMNS,
        notes=tuple(_note(review, mark, pitch) for mark, pitch in zip(marks, note_pitches(review), strict=True)),
        length_s=review.hearing.length_s,
        flac=flac_bytes(audio, RATE_HZ),
        cautions=USUAL_CAUTIONS,
        stamp=f"Heard with Phrasewright {__version__}",
    )


def finding_view(finding: Finding) -> FindingView:
    """A finding as it is shown."""
    return FindingView(
        topic=str(finding.topic),
        tone=str(finding.tone),
        said=finding.said,
        try_next=finding.try_next,
        sure=next(words for least, words in SURE_WORDS if finding.confidence >= least),
        where="" if finding.bars is None else _bars(*finding.bars),
        from_s=finding.from_s,
        to_s=finding.to_s,
    )


def _bars(first: int, last: int) -> str:
    return f"bar {first}" if first == last else f"bars {first}–{last}"


def _words(review: Review) -> str:
    notes = len(review.hearing.notes)
    if not notes:
        return "No notes were heard in this take."
    return f"{notes} notes were heard in {review.hearing.length_s:.0f} seconds."


def _facts(review: Review) -> Iterator[tuple[str, str]]:
    yield "length", f"{review.hearing.length_s:.1f} s"
    yield "notes", str(len(review.hearing.notes))
    if review.hearing.tuning_cents is not None:
        yield "tuned", f"{review.hearing.tuning_cents:+.0f} cents from A4 = 440 Hz".replace("-", "−")
    if review.in_bars is None or review.in_bars.tempo_bpm is None:
        return
    timing, clock = review.in_bars.timing, review.in_bars.alignment.clock
    yield "tempo", f"{review.in_bars.tempo_bpm:.1f} beats a minute"
    if timing.spread_s is not None:
        yield "unevenness", f"{1000 * timing.spread_s:.0f} ms to either side"
    if timing.bias_s is not None:
        yield "against the track", f"{abs(1000 * timing.bias_s):.0f} ms {'late' if timing.bias_s > 0 else 'early'}"
    if timing.drift_percent:
        yield "tempo gained", f"{timing.drift_percent:+.1f} %".replace("-", "−")
    if timing.swing_ratio is not None:
        yield "swing", f"{timing.swing_ratio:.1f} to 1"
    yield "bar 1 found", f"at {clock.offset_s:.2f} s, {CLOCK_WORDS[clock.source]}".replace("-", "−")


def _timing_words(in_bars: InBars) -> str:
    known = in_bars.alignment.clock.source in (OffsetSource.GIVEN, OffsetSource.TRACK)
    against = "the track" if known else "your own beat; a late recording and a late player look alike here"
    return (
        f"How early or late each note came against {against}. Thick strokes are the middle of their bar. In the pale "
        f"band, {1000 * SOLOISTS_S:.0f} ms to either side, good soloists move too."
    )


def _signs(review: Review, marks: Sequence[PlayedMark]) -> Iterator[SignView]:
    """Those signs that the take has."""
    used = {mark.standing for mark in marks if not mark.is_dead}
    for standing in Standing:
        if standing in used and (standing is not Standing.UNKNOWN or len(used) > 1):
            yield SignView(svg=_sign(standing=standing), words=str(standing))
    for timing in (Timing.EARLY, Timing.LATE):
        if any(mark.timing is timing for mark in marks):
            yield SignView(svg=_sign(timing=timing), words=f"came {timing}")
    if any(mark.is_dead for mark in marks):
        yield SignView(svg=_sign(is_dead=True), words="dead note")
    if any(not mark.is_sure for mark in marks):
        yield SignView(svg=_sign(standing=Standing.CHORD_TONE, is_sure=False), words="hardly heard")
    comparison = None if review.in_bars is None else review.in_bars.comparison
    if comparison is not None and comparison.of(Verdict.MISSED):
        x, y = (side / 2 for side in SIGN_MM)
        yield SignView(svg=_legend("missed", [missed_sign(x, y)]), words="written, not played")


def _sign(
    *,
    standing: Standing = Standing.TENSION,
    timing: Timing = Timing.ON_TIME,
    is_dead: bool = False,
    is_sure: bool = True,
) -> str:
    mark = PlayedMark(
        number=0,
        onset_s=0.0,
        offset_s=0.0,
        pitch_midi=0.0,
        words="",
        timing=timing,
        standing=standing,
        is_dead=is_dead,
        is_sure=is_sure,
    )
    width, height = SIGN_MM
    name = f"{'dead' if is_dead else standing}-{timing}-{'sure' if is_sure else 'unsure'}".replace(" ", "-")
    return _legend(name, sign_marks(mark, width / 2, height / 2))


def _legend(name: str, body: Iterable[str]) -> str:
    width, height = SIGN_MM
    return figure(body, kind="sign", width_mm=width, height_mm=height, title="", desc="", id_prefix=f"sign-{name}-")


def _note(review: Review, mark: PlayedMark, pitch: Pitch) -> NoteView:
    note = review.hearing.notes[mark.number]
    place = review.places[mark.number]
    return NoteView(
        onset_s=note.onset_s,
        offset_s=note.offset_s,
        words=mark.words,
        cells=(
            f"{note.onset_s:.2f} s",
            f"{note.duration_s:.2f} s",
            place_words(review.placed[mark.number] if review.placed else None),
            "" if mark.is_dead else pitch.printed,
            "" if place is None else f"{place.string}, {mark.fret}",
            timing_words(mark),
            technique_words(note),
        ),
    )
