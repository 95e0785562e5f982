"""A take in numbers, for the head of a report: no judgement, only what was played."""

from __future__ import annotations

from dataclasses import dataclass

from phrasewright.listen.findings.playing import playing_of
from phrasewright.listen.findings.space import silence
from phrasewright.listen.findings.take import Take
from phrasewright.listen.findings.tell import per_cent

FEWEST_FOR_SPACE = 2  # bars: less has no share of silence worth a number


@dataclass(frozen=True, slots=True, kw_only=True)
class Summary:
    """What was played. space: share of silence, None for hardly a bar; letters: of motifs heard, in shelf order."""

    bars: int
    notes: int
    phrases: int
    tempo_bpm: float
    space: float | None
    letters: tuple[str, ...]

    @property
    def words(self) -> str:
        """One or two sentences."""
        if not self.notes:
            return "No notes were heard in this take."
        played = f"You played {_counted(self.notes, 'note')} in {_counted(self.phrases, 'phrase')}"
        first = f"{played} over {_counted(self.bars, 'bar')}, at {self.tempo_bpm:.0f} beats a minute"
        rested = f", and rested for {per_cent(self.space)} % of the time" if self.space is not None else ""
        return f"{first}{rested}.{self._motifs()}"

    def _motifs(self) -> str:
        if not self.letters:
            return ""
        if len(self.letters) == 1:
            return f" Motif {self.letters[0]} was heard."
        return f" Motifs {', '.join(self.letters[:-1])} and {self.letters[-1]} were heard."


def summary(take: Take) -> Summary:
    """A take in numbers."""
    playing = playing_of(take)
    heard = {sighting.letter for sighting in take.spotting.sightings} if take.spotting is not None else set()
    bars = len(playing.bars)
    return Summary(
        bars=bars,
        notes=len(playing.placed),
        phrases=len(playing.phrases),
        tempo_bpm=60.0 / playing.beat_s,
        space=silence(playing)[0] if bars >= FEWEST_FOR_SPACE else None,
        letters=tuple(letter for letter in take.shelf if letter in heard),
    )


def _counted(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"
