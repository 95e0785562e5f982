"""What a report on a take shows, as plain values: figures already drawn, sentences already written."""

from __future__ import annotations

from dataclasses import dataclass

NO_TIME = -1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureView:
    """A figure in both widths of the page and as printed. alt: what it shows, in words."""

    wide: str
    narrow: str
    printed: str
    alt: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LineView:
    """One line of the take. svgs: figures of one width, one under the other, sharing their x; points: (second, per
    cent of the width), rising, for a cursor; alt: what is in it, in words.
    """

    svgs: tuple[str, ...]
    points: tuple[tuple[float, float], ...]
    alt: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingView:
    """One finding. where: its bars in words, empty = all through; from_s, to_s: to hear it, ``NO_TIME`` = nowhere.

    is_good: it praises; sure: how sure the program is, in words.
    """

    topic: str
    is_good: bool
    said: str
    try_next: str
    sure: str
    where: str = ""
    from_s: float = NO_TIME
    to_s: float = NO_TIME


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteView:
    """One note heard. cells: what the table of notes says of it, after its number."""

    onset_s: float
    offset_s: float
    words: str
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionView:
    """A figure with a sentence or two beside it."""

    figure: FigureView
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SignView:
    """One sign and what it means."""

    svg: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportContent:
    """All of one report.

    title: the take's name; lesson: what it was played to, empty without; words: what was played, in a sentence; first:
    findings to tell at once; more: the others; wide, narrow: the lines in both widths; pitch: lines in both widths;
    columns: heads of the table of notes; bars: (second, printed number); audio: as a ``data:`` address.
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
    wide: tuple[LineView, ...]
    narrow: tuple[LineView, ...]
    pitch_wide: tuple[LineView, ...]
    pitch_narrow: tuple[LineView, ...]
    pitch_words: str
    timing: SectionView | None
    motifs: SectionView | None
    columns: tuple[str, ...]
    notes: tuple[NoteView, ...]
    bars: tuple[tuple[float, int], ...]
    length_s: float
    audio: str
    cautions: tuple[str, ...]
    stamp: str
    language: str = "en"
