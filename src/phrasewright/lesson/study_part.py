"""The studies and the rules they must keep, from their sections."""

from __future__ import annotations

import re
from collections.abc import Iterable
from fractions import Fraction

from phrasewright.compose.costs import Weights
from phrasewright.compose.rules.single import Pinned, Spot
from phrasewright.lesson.desk import Desk
from phrasewright.lesson.model import Redrawn, StudySpec
from phrasewright.lesson.schema import MOST_STUDY_BARS, StudySection, WeightsSection
from phrasewright.lesson.words import scale_degree_at, spot_at, twice, words_of
from phrasewright.melody.shelf import LETTERS
from phrasewright.theory.interval import Degree
from phrasewright.theory.scale import Scale

CHORD_TONES = "chord tones"
_RANGE = re.compile(r"(\d{1,4})(?:\s*-\s*(\d{1,4}))?")
_AGAIN = re.compile(
    r"\s*(?:study\s+(?P<study>\d{1,3})\s*:?\s*)?(?:bars?\s+)?(?P<bars>\d[\d\s,-]*?)"
    r"\s*(?:,?\s*turn\s+(?P<turn>\d{1,4}))?\s*",
    re.IGNORECASE,
)
_PIN = re.compile(r"\s*(?:bar\s+)?(\d+)\s*:?\s*([A-Za-z])\s*", re.IGNORECASE)


def study_of(
    section: StudySection, weights: WeightsSection, *, scale: Scale | None, chart_bars: int, shelf: int, desk: Desk
) -> StudySpec:
    """What is asked of the studies. shelf: how many motifs there are at most."""
    bars = section.bars or min(MOST_STUDY_BARS, max(2, chart_bars))
    chord_tones = section.endings is not None and section.endings.strip().lower() in (CHORD_TONES, CHORD_TONES[:-1])
    return StudySpec(
        bars=bars,
        how_many=section.studies,
        dial=float(section.dial),
        every_motif=section.every_motif,
        longest_run=section.longest_run,
        most_space=Fraction(str(section.most_space or 1)),
        chord_tone_endings=chord_tones,
        endings=() if chord_tones else _degrees(section.endings, scale, desk),
        question_and_answer=section.question_and_answer,
        another_ending=section.another_ending,
        first=_note("first", section.first, scale, desk),
        last=_note("last", section.last, scale, desk),
        peak=_note("peak", section.peak, scale, desk),
        hardest=None if section.hardest is None else float(section.hardest),
        difficulties=tuple(float(level) for level in section.difficulty or ()),
        pins=_pins(section, bars, shelf, desk),
        again=_again(section, bars, desk),
        weights=Weights(**{key: float(value) for key, value in weights.model_dump().items()}),
    )


def _degrees(text: str | None, scale: Scale | None, desk: Desk) -> tuple[Degree, ...]:
    path = ("study", "endings")
    if text is None or desk.is_wrong(*path):
        return ()
    found: list[Degree] = []
    for word, position in words_of(text):
        degree = scale_degree_at(path, word, position, scale, desk)
        if degree is not None and degree not in found:
            found.append(degree)
    if not found and not desk.is_wrong(*path):
        desk.wrong_value(path, "no degree is named", 'Write "chord tones", or degrees: "1 b3 5".')
    return tuple(found)


def _note(key: str, text: str | None, scale: Scale | None, desk: Desk) -> Spot | None:
    path = ("study", key)
    return None if text is None or desk.is_wrong(*path) else spot_at(path, text, scale, desk)


def _pins(section: StudySection, bars: int, shelf: int, desk: Desk) -> tuple[Pinned, ...]:
    found: dict[int, Pinned] = {}
    for number, text in enumerate(section.pins or ()):
        path = ("study", "pins", number)
        match = _PIN.fullmatch(text)
        if match is None:
            desk.wrong_value(path, f'"{text}" does not pin a motif', 'Write the bar and the letter: "bar 1: A".')
            continue
        bar, letter = int(match[1]), match[2].upper()
        if not 1 <= bar <= bars:
            desk.wrong_value(path, f"there is no bar {bar} in a study of {bars}", f"Write a bar from 1 to {bars}.")
        elif letter not in LETTERS[:shelf]:
            last = LETTERS[min(shelf, len(LETTERS)) - 1]
            desk.wrong_value(path, f"there is no motif {letter} on the shelf", f"Write a letter from A to {last}.")
        elif bar - 1 in found:
            twice(path, f"bar {bar}", desk)
        else:
            found[bar - 1] = Pinned(bar=bar - 1, letter=letter)
    return tuple(found.values())


def _again(section: StudySection, bars: int, desk: Desk) -> tuple[Redrawn, ...]:
    found: list[Redrawn] = []
    for number, text in enumerate(section.again or ()):
        path = ("study", "again", number)
        match = _AGAIN.fullmatch(text)
        chosen = bars_of(match["bars"]) if match else ()
        if match is None or not chosen:
            hint = 'Write the bars, with the study and the turn where they matter: "study 2: bars 1 3-4, turn 2".'
            desk.wrong_value(path, f'"{text}" names no bars to draw anew', hint)
            continue
        study, turn = int(match["study"] or 0), int(match["turn"] or 1)
        outside = next((bar for bar in chosen if not 1 <= bar <= bars), None)
        if outside is not None:
            desk.wrong_value(path, f"there is no bar {outside} in a study of {bars}", f"Write bars from 1 to {bars}.")
        elif match["study"] and not 1 <= study <= section.studies:
            what = f"there is no study {study} in a lesson of {section.studies}"
            desk.wrong_value(path, what, f"Write a study from 1 to {section.studies}, or leave it out for all.")
        elif turn < 1:
            desk.wrong_value(path, "there is no turn 0", "Turns count from 1.")
        else:
            drawn = tuple(bar - 1 for bar in chosen)
            found.append(Redrawn(bars=drawn, study=study - 1 if match["study"] else None, turn=turn))
    return tuple(found)


def bars_of(text: str) -> tuple[int, ...]:
    """Bars named one by one or from one to another: ``1 3-4``; rising, each once. Empty where a range runs back."""
    found: set[int] = set()
    for first, last in _RANGE.findall(text):
        span = range(int(first), int(last or first) + 1)
        if not span:
            return ()
        found.update(span)
    return tuple(sorted(found))


def bars_text(bars: Iterable[int]) -> str:
    """Bars as ``bars_of`` reads them, runs of three and more as ranges."""
    runs: list[list[int]] = []
    for bar in sorted(set(bars)):
        if runs and bar == runs[-1][-1] + 1:
            runs[-1].append(bar)
        else:
            runs.append([bar])
    return " ".join(f"{run[0]}-{run[-1]}" if len(run) > 2 else " ".join(map(str, run)) for run in runs)
