"""What a report on a take shows, as plain values: figures already drawn, sentences already written."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureView:
    """A figure in both widths, and as it is printed: no longer than a sheet has room for. alt: it in words."""

    wide: str = field(repr=False)
    narrow: str = field(repr=False)
    sheet: str = field(repr=False)
    alt: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LineView:
    """One line of the take. svgs: figures of one width, one under the other, sharing their x; alt: what is in it.

    points: (second, per cent of the width), rising, for the cursor.
    """

    svgs: tuple[str, ...] = field(repr=False)
    points: tuple[tuple[float, float], ...]
    alt: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LinesView:
    """The lines of a take in both widths."""

    wide: tuple[LineView, ...] = ()
    narrow: tuple[LineView, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingView:
    """One finding. tone: good, note or work; sure: how sure the program is, in words; where: its bars, empty = all.

    from_s, to_s: where it can be heard; None = nowhere by itself.
    """

    topic: str
    tone: str
    said: str
    try_next: str
    sure: str
    where: str = ""
    from_s: float | None = None
    to_s: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteView:
    """One note heard. cells: what the table of notes says of it, after its number."""

    onset_s: float
    offset_s: float
    words: str
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SignView:
    """One sign and what it means."""

    svg: str = field(repr=False)
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportContent:
    """All of one report.

    title: the take's name; lesson: what it was played to, empty without; words: what was played, in a sentence; first:
    findings to tell at once; more: the others; timing, motifs: None where the bars are not known or none was heard;
    columns: heads of the table of notes; flac: the take's sound.
    """

    title: str
    school: str
    lesson: str
    words: str
    remarks: tuple[str, ...]
    first: tuple[FindingView, ...]
    more: tuple[FindingView, ...]
    facts: tuple[tuple[str, str], ...]
    signs: tuple[SignView, ...]
    lines: LinesView
    pitch: LinesView
    timing: FigureView | None
    timing_words: str
    motifs: FigureView | None
    columns: tuple[str, ...]
    notes: tuple[NoteView, ...]
    length_s: float
    flac: bytes = field(repr=False)
    cautions: tuple[str, ...]
    stamp: str
    language: str = "en"
