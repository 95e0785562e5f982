"""What a lesson page shows, as plain values: no layout, no files, no markup but SVG.

Everything arrives finished: SVG from our own engraver, sentences already written, sound already encoded.
Every text field is the teacher's or the program's plain words and is never read as markup.
What it plays stands in ``piece_view`` and ``sound_bank``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from phrasewright.engrave.page.piece_view import PieceView
from phrasewright.engrave.page.sound_bank import SoundBank
from phrasewright.units import A4_HZ

USUAL_CAUTIONS = (
    "Begin quietly and turn up slowly, also in headphones; ringing ears ask for a long rest.",
    "Rest a few minutes in every half hour, and keep shoulders, wrist and thumb loose.",
    "Stop when it hurts. Pain, tingling or numbness that stays is a matter for a clinician.",
    "Where your school or hall has rules on loudness and breaks, they come first.",
)  # common practice; no medical advice


# ---- figures ---------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureView:
    """An SVG figure. alt: what it shows in a sentence; words: the same spoken in full, one line each.

    ``data-place="5-3"``, ``data-bar="1"`` and ``data-note="0"`` on its elements let the page light them.
    """

    svg: str = field(repr=False)
    alt: str
    words: tuple[str, ...] = ()
    caption: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SystemView:
    """One system of notation and tablature, and the bars it shows.

    width_share: of the sheet's width, in (0, 1]; None = as its viewBox stands to the widest of the piece.
    """

    svg: str = field(repr=False)
    first_bar: int
    last_bar: int
    width_share: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SystemsView:
    """A piece in notation and tablature, engraved twice: for a wide sheet and for a narrow one.

    Note k carries the ids ``{prefix}n{k}`` (notation) and ``{prefix}t{k}`` (tablature), with anything that is no
    digit after k for its tied pieces; other marks of it carry ``data-note="k"``. The two prefixes differ.
    """

    wide: tuple[SystemView, ...]
    narrow: tuple[SystemView, ...]
    wide_prefix: str
    narrow_prefix: str
    alt: str
    words: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.wide_prefix == self.narrow_prefix:
            raise ValueError("wide and narrow systems need different id prefixes")

    @property
    def prefixes(self) -> str:
        """Both prefixes, the longer first, separated by a space."""
        return " ".join(sorted((self.wide_prefix, self.narrow_prefix), key=len, reverse=True))


@dataclass(frozen=True, slots=True, kw_only=True)
class NeckView:
    """One way to look at the position. label: what the choice is called; chord: whose tones it shows, as printed."""

    label: str
    figure: FigureView
    chord: str | None = None


# ---- the sheet -------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class PositionView:
    """Where the hand lies. labels: degrees, fingers, note names; tones: one view for each chord of the chart."""

    name: str
    words: tuple[str, ...]
    labels: tuple[NeckView, ...]
    tones: tuple[NeckView, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FitView:
    """How a motif sits over one chord, in words; number: the measure behind them, e.g. ``+0.4 bits``."""

    chord: str
    words: str
    number: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class MotifView:
    """A card of the shelf. letter: what it goes by; name: the teacher's own; piece: the motif alone, to hear it; facts:
    short, e.g. ``difficulty 2.9``.
    """

    letter: str
    degrees: str
    shape: str
    card: FigureView
    reasons: tuple[str, ...] = ()
    fits: tuple[FitView, ...] = ()
    piece: PieceView | None = None
    name: str = ""
    facts: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CountView:
    """A rhythm as it is spoken, what it means, and its picture if there is one."""

    spoken: str
    words: str
    figure: FigureView | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ReasonView:
    """A pencilled note beside a study: the bars it speaks of, whose motif, why; second: what came second there."""

    first_bar: int
    last_bar: int
    label: str
    words: str
    second: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ExerciseView:
    """A piece to practise. facts: short, e.g. ``8 bars, half of it space``; strip: phrases and silence at a glance,
    strip_narrow: the same for a small screen, where a wide one is left out.
    """

    piece: PieceView
    instruction: str
    systems: SystemsView
    facts: str = ""
    reasons: tuple[ReasonView, ...] = ()
    strip: FigureView | None = None
    strip_narrow: FigureView | None = None

    @property
    def seconds(self) -> tuple[str, ...]:
        """What came second, a line for each reason that says so."""
        return tuple(f"Bar {one.first_bar}, {one.label}. {one.second}" for one in self.reasons if one.second)


@dataclass(frozen=True, slots=True, kw_only=True)
class TrackView:
    """The full track to play over. words: how to use it; the lead, when it has one, is a demonstration.

    others: the same at other tempos, where it is a recording.
    """

    piece: PieceView
    words: str
    others: tuple[PieceView, ...] = ()

    @property
    def pieces(self) -> tuple[PieceView, ...]:
        """At every tempo."""
        return (self.piece, *self.others)


@dataclass(frozen=True, slots=True, kw_only=True)
class DownloadView:
    """A file of the pack. href: relative path inside the pack; detail: what it is for, its size."""

    href: str
    label: str
    detail: str
    group: str

    def __post_init__(self) -> None:
        if re.match(r"[a-z][a-z0-9+.-]*:|/|\\", self.href, re.IGNORECASE) or ".." in self.href.split("/"):
            raise ValueError(f"a download must be a relative path inside the pack, got {self.href!r}")


@dataclass(frozen=True, slots=True, kw_only=True)
class PageContent:
    """All of one lesson page.

    lesson_id: names what the browser remembers; fits_words: what the numbers beside the motifs mean; stamp: version
    and digest, in the footer; a4_hz: concert pitch.
    """

    lesson_id: str
    title: str
    school: str
    teacher: str
    words: tuple[str, ...]
    facts: tuple[tuple[str, str], ...]
    position: PositionView
    motifs: tuple[MotifView, ...]
    exercises: tuple[ExerciseView, ...]
    studies: tuple[ExerciseView, ...]
    chart: FigureView | None
    track: TrackView | None
    downloads: tuple[DownloadView, ...]
    bank: SoundBank = field(repr=False)
    counts: tuple[CountView, ...] = ()
    fits_words: str = ""
    cautions: tuple[str, ...] = USUAL_CAUTIONS
    language: str = "en"
    stamp: str = ""
    a4_hz: float = A4_HZ

    @property
    def studies_title(self) -> str:
        """What the studies stand under."""
        return "Study" if len(self.studies) == 1 else "Studies"

    @property
    def groups(self) -> tuple[tuple[str, tuple[PieceView, ...]], ...]:
        """Everything that can be played, by the heading it stands under, in the order of the sheet; none is empty."""
        groups = (
            ("Motifs", tuple(motif.piece for motif in self.motifs if motif.piece)),
            ("Exercises", tuple(exercise.piece for exercise in self.exercises)),
            ("Track", self.track.pieces if self.track else ()),
            (self.studies_title, tuple(study.piece for study in self.studies)),
        )
        return tuple((name, pieces) for name, pieces in groups if pieces)

    @property
    def pieces(self) -> tuple[PieceView, ...]:
        """Everything that can be played, in the order of the sheet."""
        return tuple(piece for _, pieces in self.groups for piece in pieces)

    @property
    def first_piece(self) -> PieceView | None:
        """What stands ready when the page opens: the first piece that is more than a single motif."""
        motifs = {motif.piece for motif in self.motifs}
        return next((piece for piece in self.pieces if piece not in motifs), self.pieces[0] if self.pieces else None)

    @property
    def download_groups(self) -> tuple[tuple[str, tuple[tuple[str, tuple[DownloadView, ...]], ...]], ...]:
        """Downloads by group and then by label, each in order of first appearance."""
        groups: dict[str, dict[str, list[DownloadView]]] = {}
        for download in self.downloads:
            groups.setdefault(download.group, {}).setdefault(download.label, []).append(download)
        return tuple(
            (name, tuple((label, tuple(files)) for label, files in one.items())) for name, one in groups.items()
        )

    def __post_init__(self) -> None:
        ids = [piece.id for piece in self.pieces]
        if len(set(ids)) != len(ids):
            raise ValueError(f"piece ids must differ, got {ids}")
        for piece in self.pieces:
            _check_clips(piece, self.bank)


def _check_clips(piece: PieceView, bank: SoundBank) -> None:
    if piece.recording and len(bank.recordings[piece.recording].clips) != len(piece.bars):
        raise ValueError(f"piece {piece.id}: the recording {piece.recording} has not one clip for each bar")
    for event in piece.events:
        sprite = bank.sprites.get(event.role)
        if sprite is None or event.clip.key not in sprite.clips:
            raise ValueError(f"piece {piece.id}: the bank has no clip {event.clip.key!r} for the {event.role}")
