"""Short facts about a lesson that page, handout and command line share."""

from __future__ import annotations

from phrasewright import __version__
from phrasewright.app.pieces import BandPiece, groove_of
from phrasewright.lesson.plan import LessonPlan
from phrasewright.melody.fit_table import FitCell

CAPO_WORDS = "tablature counts frets from the capo, diagrams and words from the nut"


def paragraphs(words: str) -> tuple[str, ...]:
    """The teacher's words as paragraphs: blank lines part them, other line ends are spaces."""
    blocks = words.replace("\r\n", "\n").split("\n\n")
    return tuple(" ".join(block.split()) for block in blocks if block.strip())


def lesson_facts(plan: LessonPlan) -> tuple[tuple[str, str], ...]:
    """Name and value: what stands under the title."""
    lesson, position = plan.lesson, plan.position
    notes = " ".join(note.printed for note in lesson.scale.notes)
    reach = f"{position.stretch_mm:.0f} mm from the lowest to the highest fret" if position.stretch_mm else "no stretch"
    facts = [
        ("Scale", f"{lesson.scale.name}: {notes}"),
        ("Place", f"{position.name.split(', ', 1)[1]}, {len(position.notes)} notes, {reach}"),
        ("Meter", f"{lesson.meter}, {groove_of(plan).name}"),
    ]
    if lesson.instrument.id != "guitar" or lesson.instrument.capo:
        capo = f", capo at fret {lesson.instrument.capo} ({CAPO_WORDS})" if lesson.instrument.capo else ""
        tuning = " ".join(pitch.name.printed for pitch in reversed(lesson.instrument.tuning))
        facts.insert(0, ("Instrument", f"{lesson.instrument.name}, {tuning}{capo}"))
    return tuple(facts)


def piece_facts(piece: BandPiece) -> str:
    """``12 bars, 56 % of it silence``."""
    bars = len(piece.score.measures)
    percent = int(100 * piece.silent_share)
    silence = "no silence" if percent == 0 else f"{percent} % of it silence"
    return f"{'1 bar' if bars == 1 else f'{bars} bars'}, {silence}"


def fit_words(cell: FitCell) -> str:
    """``at home, lands on the third``: the chord is named beside it."""
    landing = cell.landing_words.split(" of ")[0].split(" over ")[0]
    return f"{cell.grade}, {landing}"


def stamp(digest: str, seed: int) -> str:
    """What a sheet was made from, for its footer."""
    return f"Made with Phrasewright {__version__} from lesson {digest[:10]}, seed {seed}"
