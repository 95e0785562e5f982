"""What a teacher does with motifs, notes and bars, as changes of the lesson's keys. Pure: values in, changes out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from phrasewright.compose.study import Study, vary_study
from phrasewright.errors import PhrasewrightError
from phrasewright.lesson.edit import BLOCKS, Change
from phrasewright.lesson.model import Redrawn, WrittenMotif
from phrasewright.lesson.plan import LessonPlan
from phrasewright.lesson.write import again_text, left_out_text
from phrasewright.lesson.written import written_of
from phrasewright.melody.motif import MAX_NOTES, MIN_NOTES, Motif
from phrasewright.melody.shelf import ShelfMotif
from phrasewright.neck.instrument import StringFret

TRIES = 24  # other turns, before bars are said to leave no other choice


class DeedError(PhrasewrightError):
    """Something that cannot be done with this lesson."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Deed:
    """What is changed. words: for undoing, "pin motif A"."""

    changes: tuple[Change, ...]
    words: str


def pin(plan: LessonPlan, letter: str) -> Deed:
    """Have a chosen motif stay, whatever else changes: it is written out. Raises DeedError."""
    item, number = _item(plan, letter)
    if number < len(plan.lesson.shelf.written):
        raise DeedError(f"Motif {letter} is pinned already.")
    return _written(plan, item.motif, f"pin motif {letter}")


def unpin(plan: LessonPlan, letter: str) -> Deed:
    """Take a written motif off the shelf again, so that one is chosen in its place. Raises DeedError."""
    _, number = _item(plan, letter)
    if number >= len(plan.lesson.shelf.written):
        raise DeedError(f"Motif {letter} is not pinned.")
    return Deed(changes=(*_keep_sizes(plan), Change(path=(*BLOCKS, number), value=None)), words=f"unpin motif {letter}")


def reject(plan: LessonPlan, letter: str) -> Deed:
    """Never choose this motif again. Raises DeedError."""
    item, number = _item(plan, letter)
    unwanted = left_out_text(_by_degrees(item.motif))
    texts = [left_out_text(motif) for motif in plan.lesson.shelf.left_out]
    changes = [Change(path=("motifs", "left_out"), value=[*texts, *([] if unwanted in texts else [unwanted])])]
    if number < len(plan.lesson.shelf.written):
        changes = [*_keep_sizes(plan), Change(path=(*BLOCKS, number), value=None), *changes]
    return Deed(changes=tuple(changes), words=f"leave out motif {letter}")


def allow(plan: LessonPlan, text: str) -> Deed:
    """Let a motif that was left out be chosen again. Raises DeedError."""
    texts = [left_out_text(motif) for motif in plan.lesson.shelf.left_out]
    if text not in texts:
        raise DeedError("This motif is not left out.")
    kept = [one for one in texts if one != text]
    return Deed(changes=(Change(path=("motifs", "left_out"), value=kept or None),), words=f"allow {text} again")


def draw_motif(plan: LessonPlan, places: Sequence[StringFret], name: str = "") -> Deed:
    """Write a motif that was drawn on the neck, note by note. Raises DeedError."""
    steps = []
    for place in places:
        step = next((step for step, note in enumerate(plan.position.notes) if note.place == place), None)
        if step is None:
            raise DeedError(
                f"String {place.string}, fret {place.fret} is not in the position.", hint="Take notes with a disc."
            )
        steps.append(step)
    if not MIN_NOTES <= len(steps) <= MAX_NOTES:
        raise DeedError(
            f"A motif has {MIN_NOTES} to {MAX_NOTES} notes, this one has {len(steps)}.",
            hint="Take more or fewer notes.",
        )
    motif = Motif(plan.position, tuple(steps))
    if any(item.motif.steps == motif.steps for item in plan.shelf.items[: len(plan.lesson.shelf.written)]):
        raise DeedError("This motif is on the shelf already.", hint="Draw another one.")
    return _written(plan, motif, "draw a motif", name)


def draw_again(plan: LessonPlan, study: int, bars: Sequence[int]) -> Deed:
    """Draw some bars (from 0) of a study (from 0) anew, so that something else comes. Raises DeedError."""
    spec = plan.lesson.study
    if not 0 <= study < len(plan.studies):
        raise DeedError(f"There is no study {study + 1}.")
    chosen = tuple(sorted({bar for bar in bars if 0 <= bar < spec.bars}))
    if not chosen:
        raise DeedError("No bar is left to draw anew.", hint="Let go of some bars first.")
    which = study if spec.how_many > 1 else None
    earlier = [entry for entry in spec.again if not (entry.study == which and set(entry.bars) <= set(chosen))]
    begun = max((entry.turn for entry in spec.again if set(entry.bars) & set(chosen)), default=0)
    now = plan.studies[study]
    base = _study_before(plan, study, tuple(earlier))
    for turn in range(begun + 1, begun + 1 + TRIES):
        entry = Redrawn(bars=chosen, study=which, turn=turn)
        if _line(_varied(plan, base, entry)) != _line(now):
            texts = [again_text(one) for one in (*earlier, entry)]
            words = f"draw bars of study {study + 1} anew" if which is not None else "draw bars anew"
            return Deed(changes=(Change(path=("study", "again"), value=texts),), words=words)
    raise DeedError(
        "The rules leave no other choice for these bars.", hint="Let go of more bars, or ease a rule or the space."
    )


def _study_before(plan: LessonPlan, number: int, entries: Sequence[Redrawn]) -> Study:
    study = plan.composed[number]
    for entry in entries:
        if entry.study in (None, number):
            study = _varied(plan, study, entry)
    return study


def _varied(plan: LessonPlan, study: Study, entry: Redrawn) -> Study:
    spec = plan.lesson.study
    return vary_study(plan.material, spec.wish, study, keep_bars=entry.keeps(spec.bars), turn=entry.turn)


def _line(study: Study) -> list[tuple[int, str, str]]:
    return [(placed.bar, placed.letter, placed.phrase.count.text) for placed in study.phrases]


def _item(plan: LessonPlan, letter: str) -> tuple[ShelfMotif, int]:
    for number, item in enumerate(plan.shelf.items):
        if item.letter == letter:
            return item, number
    raise DeedError(f"There is no motif {letter} on the shelf.")


def _written(plan: LessonPlan, motif: Motif, words: str, name: str = "") -> Deed:
    written = _by_degrees(motif)
    block: dict[str, str | int] = {"degrees": written.text}
    if written.cycle != 1:
        block["cycle"] = written.cycle
    if name:
        block["name"] = name
    there = len(plan.lesson.shelf.written)
    changes = [*_keep_sizes(plan), Change(path=(*BLOCKS, there), value=block)]
    if there >= plan.lesson.shelf.length:
        changes.append(Change(path=("motifs", "shelf"), value=there + 1))
    return Deed(changes=tuple(changes), words=words)


def _by_degrees(motif: Motif) -> WrittenMotif:
    try:
        return written_of(motif)
    except ValueError as error:
        raise DeedError(f"This motif cannot be written by degrees: {error}.", hint="Take nearer notes.") from None


def _keep_sizes(plan: LessonPlan) -> tuple[Change, ...]:
    """Without sizes a lesson with written motifs has only those: say the sizes, so that the others stay."""
    sizes = plan.lesson.shelf.sizes
    return (Change(path=("motifs", "sizes"), value=list(sizes)),) if sizes else ()
