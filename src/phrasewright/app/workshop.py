"""What the stages of one build share: the plan, the pieces with their band, and the figures, each made once."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from pathlib import Path
from threading import Lock

from phrasewright.app.figures import draw_figures
from phrasewright.app.page import Pieces, motif_pieces
from phrasewright.app.pieces import BandPiece, exercise_pieces, study_pieces, track_piece
from phrasewright.band.form import Ending
from phrasewright.lesson.plan import LessonPlan


class Workshop:
    """Shared work of a build. Figures come from the pack when they are current there, else they are drawn."""

    def __init__(self, plan: LessonPlan) -> None:
        self.plan = plan
        self._figures: Mapping[str, str] | None = None
        self._drawing = Lock()

    @cached_property
    def pieces(self) -> Pieces:
        """Exercises, studies and the track that goes round."""
        track = track_piece(self.plan, Ending.LOOP)
        return Pieces(exercises=exercise_pieces(self.plan), studies=study_pieces(self.plan), track=track)

    @cached_property
    def motifs(self) -> tuple[BandPiece, ...]:
        """Every motif alone."""
        return motif_pieces(self.plan)

    @cached_property
    def final_track(self) -> BandPiece:
        """The track with an ending, for the audio files."""
        return track_piece(self.plan, Ending.FINAL)

    def figures(self) -> Mapping[str, str]:
        """All figures, path -> SVG; drawn at most once, whichever stage asks first."""
        with self._drawing:
            if self._figures is None:
                self._figures = draw_figures(self.plan, (*self.pieces.exercises, *self.pieces.studies))
            return self._figures

    def take_figures(self, pack: Path, paths: tuple[str, ...]) -> None:
        """Use the figures that lie in the pack instead of drawing them."""
        self._figures = {path: (pack / path).read_text(encoding="utf-8") for path in paths}
