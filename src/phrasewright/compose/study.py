"""A study: one composed practice solo over the whole chart, with a reason for every phrase."""

from __future__ import annotations

from dataclasses import dataclass

from phrasewright.compose.exercise import lead_score
from phrasewright.compose.material import Material
from phrasewright.compose.phrases import Placed, Weights, choose_phrases
from phrasewright.score.model import Score

STUDY_TITLE = "Study"


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """The solo and its phrases in order."""

    score: Score
    phrases: tuple[Placed, ...]

    @property
    def motifs(self) -> tuple[str, ...]:
        """Letters used, in order of first use."""
        return tuple(dict.fromkeys(placed.letter for placed in self.phrases))


def compose_study(material: Material, bars: int, *, title: str = STUDY_TITLE, weights: Weights | None = None) -> Study:
    """A study of ``bars`` bars (the chorus repeats). Raises ValueError for fewer than one bar."""
    if bars < 1:
        raise ValueError(f"a study has at least one bar, got {bars}")
    placed = choose_phrases(material, bars, weights=weights)
    letters = list(dict.fromkeys(one.letter for one in placed))
    words = (
        f"Play the whole solo with the band. It is made of {_list_words(letters)}; "
        "keep its rests as exactly as its notes."
    )
    notes = [note for one in placed for note in one.phrase.notes(one.bar * material.meter.bar, label=one.letter)]
    score = lead_score(title, words, notes, bars=bars, chart=material.chart, position=material.position)
    return Study(score=score, phrases=placed)


def _list_words(letters: list[str]) -> str:
    if not letters:
        return "rests alone"
    named = letters[0] if len(letters) == 1 else f"{', '.join(letters[:-1])} and {letters[-1]}"
    return f"motif {named}" if len(letters) == 1 else f"motifs {named}"
