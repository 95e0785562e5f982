"""Short facts about a lesson that page, handout and command line share."""

from __future__ import annotations

import re
from fractions import Fraction

from phrasewright import __version__
from phrasewright.compose.difficulty import REFERENCE_BPM, difficulty_of
from phrasewright.compose.study import Study
from phrasewright.engrave.page.content import ReasonView
from phrasewright.lesson.plan import LessonPlan
from phrasewright.melody.fit_table import FitCell
from phrasewright.neck.place import Position
from phrasewright.score.chart import Chart
from phrasewright.score.model import PartRole, Score

WORTH_SAYING_MM = 50.0  # a narrower stretch of neck needs no measure
DIFFICULTY_WORDS = f"Difficulty is at {REFERENCE_BPM:g} quarter notes a minute; beginners' lines lie between 2 and 8."
BITS_WORDS = (
    "The number, in bits, weighs how often players use these notes over that chord: "
    "0 is as often as chance, +1 twice as often, −1 half as often."
)
CAPO_WORDS = "tablature counts frets from the capo, diagrams and words from the nut"

_BESIDE_CHORD = re.compile(r" (?:of|over|against) ")


def paragraphs(words: str) -> tuple[str, ...]:
    """The teacher's words as paragraphs: blank lines part them, other line ends are spaces."""
    blocks = words.replace("\r\n", "\n").split("\n\n")
    return tuple(" ".join(block.split()) for block in blocks if block.strip())


def lesson_facts(plan: LessonPlan) -> tuple[tuple[str, str], ...]:
    """Name and value: what stands under the title."""
    lesson, position = plan.lesson, plan.position
    notes = " ".join(note.printed for note in lesson.scale.notes)
    facts = [
        ("Scale", f"{lesson.scale.name}: {notes}"),
        ("Place", f"{position.name.split(', ', 1)[1]}, {len(position.notes)} notes; {_reach(position)}"),
        ("Meter", f"{_meters(lesson.chart)}, {plan.lesson.groove.name}"),
    ]
    if lesson.instrument.id != "guitar" or lesson.instrument.capo:
        capo = f", capo at fret {lesson.instrument.capo} ({CAPO_WORDS})" if lesson.instrument.capo else ""
        tuning = " ".join(pitch.name.printed for pitch in reversed(lesson.instrument.tuning))
        facts.insert(0, ("Instrument", f"{lesson.instrument.name}, {tuning}{capo}"))
    return tuple(facts)


def _meters(chart: Chart) -> str:
    """``4/4``, or ``4/4 with bars of 2/4``."""
    first, *others = (str(meter) for meter in chart.meters)
    return f"{first} with bars of {' and '.join(others)}" if others else first


def _reach(position: Position) -> str:
    """``frets 2 to 3, played in one place``, and the stretch of the hand where fingers must spread."""
    used = [note.place.fret for note in position.notes if note.place.fret > position.instrument.capo]
    if not used:
        return "open strings only"
    low, high = min(used), max(used)
    frets = f"fret {low}" if low == high else f"frets {low} to {high}"
    opens = " and open strings" if len(used) < len(position.notes) else ""
    wide = f", the hand spans {position.stretch_mm / 10:.0f} cm" if position.stretch_mm >= WORTH_SAYING_MM else ""
    return f"{frets}{opens}{wide}"


def bits_text(bits: float) -> str:
    """``+0.4``, ``−1.2``, ``0.0``: one decimal, a true minus sign, zero without a sign."""
    tenths = round(10 * bits)
    return f"{tenths / 10:+.1f}".replace("-", "−") if tenths else "0.0"


def lead_facts(score: Score, *, is_open: bool = False) -> str:
    """``12 bars, 56 % of it silence, difficulty 4.1`` of a line alone; how hard what is open will be, nobody knows."""
    bars = len(score.measures)
    sounding = sum((note.duration for note in score.part(PartRole.LEAD).notes), Fraction(0))
    percent = int(100 * (1 - sounding / score.end))
    silence = "no silence" if percent == 0 else f"{percent} % of it silence"
    hard = "" if is_open else f", difficulty {difficulty_of(score).level:.1f}"
    return f"{'1 bar' if bars == 1 else f'{bars} bars'}, {silence}{hard}"


def fit_words(cell: FitCell) -> str:
    """``at home, lands on the third``: the chord is named beside it."""
    landing = _BESIDE_CHORD.split(cell.landing_words)[0]
    return f"{cell.grade}, {landing}"


def study_reasons(study: Study) -> tuple[ReasonView, ...]:
    """Why every phrase of a study stands where it does, in order."""
    return tuple(
        ReasonView(
            first_bar=placed.bar + 1,
            last_bar=placed.bar + placed.phrase.count.bars,
            label=placed.letter,
            words=placed.reason.sentence.split(": ", 1)[1],
            second=placed.reason.second,
        )
        for placed in study.phrases
    )


def stamp(digest: str, seed: int) -> str:
    """What a sheet was made from, for its footer."""
    return f"Made with Phrasewright {__version__} from lesson {digest[:10]}, seed {seed}"
