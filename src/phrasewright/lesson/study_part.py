"""The studies and the rules they must keep, from their sections."""

from __future__ import annotations

import re
from fractions import Fraction

from phrasewright.compose.costs import Weights
from phrasewright.compose.rules.single import Pinned, Spot
from phrasewright.lesson.desk import Desk
from phrasewright.lesson.model import StudySpec
from phrasewright.lesson.schema import MOST_STUDY_BARS, StudySection, WeightsSection
from phrasewright.lesson.words import numbers_once, scale_degree_at, twice, words_of
from phrasewright.melody.shelf import LETTERS
from phrasewright.theory.interval import Degree
from phrasewright.theory.scale import Scale

CHORD_TONES = "chord tones"
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
        first=_spot("first", section.first, scale, desk),
        last=_spot("last", section.last, scale, desk),
        peak=_spot("peak", section.peak, scale, desk),
        hardest=None if section.hardest is None else float(section.hardest),
        difficulties=tuple(float(level) for level in section.difficulty or ()),
        pins=_pins(section, bars, shelf, desk),
        vary=section.vary,
        keep_bars=_kept(section, bars, desk),
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


def _spot(key: str, text: str | None, scale: Scale | None, desk: Desk) -> Spot | None:
    path = ("study", key)
    if text is None or desk.is_wrong(*path):
        return None
    words = list(words_of(text))
    hint = 'Write a degree, with its cycle where it matters: "1" or "1 cycle 2".'
    if not words:
        desk.wrong_value(path, "no note is named", hint)
        return None
    degree = scale_degree_at(path, *words[0], scale, desk)
    rest = [word.lower() for word, _ in words[1:] if word.lower() != "in"]
    if rest and not (len(rest) == 2 and rest[0] == "cycle" and rest[1].isdigit() and int(rest[1]) > 0):
        desk.wrong_character(path, words[1][1], f'"{text[words[1][1] :]}" is not a cycle', hint)
        return None
    return None if degree is None else Spot(degree, int(rest[1]) if rest else None)


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


def _kept(section: StudySection, bars: int, desk: Desk) -> tuple[int, ...]:
    path = ("study", "keep_bars")
    numbers_once(path, section.keep_bars or (), desk)
    for number, bar in enumerate(section.keep_bars or ()):
        if bar > bars:
            desk.wrong_value((*path, number), f"there is no bar {bar} in a study of {bars}", f"Write 1 to {bars}.")
    return tuple(sorted(bar - 1 for bar in set(section.keep_bars or ())))
