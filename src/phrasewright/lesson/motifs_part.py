"""Motifs and counts, from their sections."""

from __future__ import annotations

import re
from collections.abc import Iterable

from phrasewright.compose.counts import default_counts
from phrasewright.lesson.defaults import usual_idiom
from phrasewright.lesson.desk import Desk
from phrasewright.lesson.model import ShelfWish, Way, WrittenMotif, WrittenNote
from phrasewright.lesson.schema import DEFAULT_SIZES, SHAPES, MotifsSection, RhythmSection
from phrasewright.lesson.schema import WrittenMotif as WrittenBlock
from phrasewright.lesson.toml_text import KeyPath
from phrasewright.lesson.words import (
    choice,
    choices,
    line_of_text,
    numbers_once,
    scale_degree_at,
    twice,
    words_of,
)
from phrasewright.melody.motif import MAX_NOTES, MIN_NOTES, Contour
from phrasewright.melody.priors import Idiom
from phrasewright.theory.count import Count, CountError, parse_count
from phrasewright.theory.meter import Meter
from phrasewright.theory.scale import Scale

MAX_COUNT_BARS = 4
_CYCLE = re.compile(r",?\s*\bcycle\s+([1-8])\s*$")
_OTHER_SHAPE_NAMES = {
    "up": "rising",
    "upward": "rising",
    "ascending": "rising",
    "down": "falling",
    "downward": "falling",
    "descending": "falling",
}
_OTHER_COUNT_WORDS = {"and": "&", "+": "&", "n": "&", "triplet": "trip let", "ta": "a", "uh": "a", "ee": "e"}
_WAYS = {str(way): way for way in (Way.UP, Way.DOWN)}


def shelf_of(section: MotifsSection, scale: Scale | None, desk: Desk) -> ShelfWish:
    """The motifs asked for."""
    shapes = choices(("motifs", "shapes"), section.shapes, SHAPES, "shape", desk, others=_OTHER_SHAPE_NAMES)
    numbers_once(("motifs", "sizes"), section.sizes or (), desk)
    numbers_once(("motifs", "cycles"), section.cycles or (), desk)
    written = [_written(number, block, scale, desk) for number, block in enumerate(section.written)]
    left_out = [_left_out(number, text, scale, desk) for number, text in enumerate(section.left_out or ())]
    if len(section.written) > section.shelf:
        what = f"there are {len(section.written)} written motifs, but shelf = {section.shelf}"
        desk.wrong_value(("motifs", "shelf"), what, "Make the shelf as large, or write fewer motifs.")
    usual = () if section.written or desk.is_wrong("motifs", "written") else DEFAULT_SIZES
    return ShelfWish(
        sizes=tuple(sorted(set(usual if section.sizes is None else section.sizes))),
        shapes=tuple(Contour(shape) for shape in shapes),
        largest_step=section.largest_step,
        cycles=tuple(sorted(set(section.cycles or ()))),
        length=section.shelf,
        idiom=idiom_of(section, scale, desk) or Idiom.JAZZ,
        written=tuple(motif for motif in written if motif is not None),
        left_out=tuple(motif for motif in left_out if motif is not None),
    )


def _written(number: int, block: WrittenBlock, scale: Scale | None, desk: Desk) -> WrittenMotif | None:
    notes = _notes(("motifs", "written", number, "degrees"), block.degrees, scale, desk)
    if notes is None:
        return None
    name = line_of_text(("motifs", "written", number, "name"), block.name, desk)
    return WrittenMotif(notes=notes, cycle=block.cycle, name=name)


def _left_out(number: int, text: str, scale: Scale | None, desk: Desk) -> WrittenMotif | None:
    cycle = _CYCLE.search(text)
    degrees = text[: cycle.start()] if cycle else text
    notes = _notes(("motifs", "left_out", number), degrees, scale, desk)
    return None if notes is None else WrittenMotif(notes=notes, cycle=int(cycle[1]) if cycle else 1)


def _notes(path: KeyPath, text: str, scale: Scale | None, desk: Desk) -> tuple[WrittenNote, ...] | None:
    """The notes of a motif that is written out; None after noting what is wrong."""
    notes: list[WrittenNote] = []
    way = Way.NEAREST
    for word, position in words_of(text):
        if word in _WAYS and notes and way is Way.NEAREST:
            way = _WAYS[word]
            continue
        degree = scale_degree_at(path, word, position, scale, desk)
        if degree is None:
            continue
        notes.append(WrittenNote(degree, way))
        way = Way.NEAREST
    if desk.is_wrong(*path):
        return None
    if way is not Way.NEAREST:
        desk.wrong_value(path, f'a degree is missing after "{way}"', 'For instance "1 up 5".')
        return None
    if not MIN_NOTES <= len(notes) <= MAX_NOTES:
        what = f"a motif has {MIN_NOTES} to {MAX_NOTES} notes, this one has {len(notes)}"
        desk.wrong_value(path, what, 'For instance "1 b3 4".')
        return None
    return tuple(notes)


def idiom_of(section: MotifsSection, scale: Scale | None, desk: Desk) -> Idiom | None:
    """Whose habits weigh the notes; None after noting what is wrong."""
    path = ("motifs", "idiom")
    if section.idiom is None or desk.is_wrong(*path):
        return usual_idiom(scale) if scale else None
    found = choice(path, section.idiom, Idiom, "idiom", desk)
    return Idiom(found) if found else None


def counts_of(
    section: RhythmSection, sizes: Iterable[int], meter: Meter | None, desk: Desk
) -> dict[int, tuple[Count, ...]]:
    """The counts by number of notes; a size without one of its own gets plain ones."""
    if meter is None or desk.is_wrong("rhythm", "counts"):
        return {}
    found: dict[int, list[Count]] = {size: [] for size in sizes}
    for number, text in enumerate(section.counts or ()):
        path = ("rhythm", "counts", number)
        count = _count(path, text, meter, desk)
        if count is None:
            continue
        size = len(count.strokes)
        if size not in found and not desk.is_wrong("motifs"):
            _no_such_size(path, count, sorted(found), desk)
        elif count in found.setdefault(size, []):
            twice(path, f'the count "{count.text}"', desk)
        else:
            found[size].append(count)
    plain = default_counts(meter)
    return {size: tuple(row) or plain[size] for size, row in sorted(found.items()) if size in plain}


def _count(path: KeyPath, text: str, meter: Meter, desk: Desk) -> Count | None:
    try:
        count = parse_count(text, meter)
    except CountError as error:
        hint = _count_hint(str(error), text[error.column :].split(), meter)
        desk.wrong_character(path, error.column, str(error), hint)
        return None
    if count.bars > MAX_COUNT_BARS:
        what = f"this count is {count.bars} bars long"
        desk.wrong_value(path, what, f"Keep it within {MAX_COUNT_BARS} bars; each | begins another.")
        return None
    return count


def _count_hint(message: str, rest: list[str], meter: Meter) -> str:
    word = rest[0].lower() if rest else ""
    if word in _OTHER_COUNT_WORDS:
        return f"Write {_OTHER_COUNT_WORDS[word]} for {word}."
    if "there is no" in message and word.strip("()").isdigit():
        return f"A bar of {meter} is counted 1 to {meter.upper}; | begins another bar."
    if "comes before" in message:
        return "Write the words in the order in which they are spoken; | begins another bar."
    return f'Count words are the numbers 1 to {meter.upper}, & e a, trip let, - to hold and (2) for a rest: "1 & 2".'


def _no_such_size(path: KeyPath, count: Count, sizes: list[int], desk: Desk) -> None:
    notes = len(count.strokes)
    what = f'the count "{count.text}" has {notes} notes, but no motif has {notes}'
    known = " or ".join(filter(None, (", ".join(map(str, sizes[:-1])), str(sizes[-1]))))
    mend = f"or put {notes} into motifs.sizes" if MIN_NOTES <= notes <= MAX_NOTES else "or take it out"
    desk.wrong_value(path, what, f"Motifs have {known} notes here: write as many count words, {mend}.")
