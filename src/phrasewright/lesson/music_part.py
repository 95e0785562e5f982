"""Motifs, counts, chart, groove, tempos, exercises and study, from their sections."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from phrasewright.band.groove import GROOVES, Groove, grooves_for
from phrasewright.band.groove_file import GrooveFileError, read_groove
from phrasewright.compose.counts import default_counts
from phrasewright.lesson.chart_text import ChartError, read_chart, sentence
from phrasewright.lesson.defaults import plain_chart, usual_idiom
from phrasewright.lesson.desk import Desk
from phrasewright.lesson.forms import FORMS
from phrasewright.lesson.model import ShelfWish, Way, WrittenMotif, WrittenNote, tapped_beat
from phrasewright.lesson.schema import DEFAULT_SIZES, METERS, SHAPES, BandSection, MotifsSection, RhythmSection
from phrasewright.lesson.schema import WrittenMotif as WrittenBlock
from phrasewright.lesson.toml_text import GROOVE_FILE, KeyPath
from phrasewright.lesson.words import (
    choice,
    choices,
    line_of_text,
    numbers_once,
    printable,
    scale_degree_at,
    twice,
    words_of,
)
from phrasewright.melody.motif import MAX_NOTES, MIN_NOTES, Contour
from phrasewright.melody.priors import Idiom
from phrasewright.score.chart import Chart
from phrasewright.score.pace import pace_of
from phrasewright.score.performance import FASTEST_BPM
from phrasewright.theory.count import Count, CountError, parse_count
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName
from phrasewright.theory.scale import Scale

MAX_COUNT_BARS = 4
LONGEST_TRACK_MIN = 10  # what one tempo is rendered of: the whole track lies in memory
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
    )


def _written(number: int, block: WrittenBlock, scale: Scale | None, desk: Desk) -> WrittenMotif | None:
    path = ("motifs", "written", number, "degrees")
    notes: list[WrittenNote] = []
    way = Way.NEAREST
    for word, position in words_of(block.degrees):
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
    name = line_of_text(("motifs", "written", number, "name"), block.name, desk)
    return WrittenMotif(notes=tuple(notes), cycle=block.cycle, name=name)


def idiom_of(section: MotifsSection, scale: Scale | None, desk: Desk) -> Idiom | None:
    """Whose habits weigh the notes; None after noting what is wrong."""
    path = ("motifs", "idiom")
    if section.idiom is None or desk.is_wrong(*path):
        return usual_idiom(scale) if scale else None
    found = choice(path, section.idiom, Idiom, "idiom", desk)
    return Idiom(found) if found else None


def meter_of(section: BandSection, desk: Desk) -> Meter | None:
    """The meter; None after noting what is wrong."""
    if desk.is_wrong("band", "meter"):
        return None
    if section.meter in METERS:
        return Meter.parse(section.meter)
    what = f'there is no meter "{section.meter}" here'
    desk.wrong_value(("band", "meter"), what, f"Write one of {', '.join(METERS)}.")
    return None


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
    known = ", ".join(str(size) for size in sizes)
    mend = f"or put {notes} into motifs.sizes" if MIN_NOTES <= notes <= MAX_NOTES else "or take it out"
    desk.wrong_value(path, what, f"Motifs have {known} notes here: write as many count words, {mend}.")


def chart_of(section: BandSection, meter: Meter | None, scale: Scale | None, desk: Desk) -> Chart | None:
    """The chart; None after noting what is wrong."""
    path = ("band", "chart")
    if meter is None or desk.is_wrong(*path):
        return None
    if section.form is not None or section.key is not None:
        return _form(section, meter, scale, desk)
    if section.chart is None:
        return plain_chart(scale, meter) if scale else None
    if not printable(path, section.chart, desk):
        return None
    try:
        return read_chart(section.chart, meter)
    except ChartError as error:
        for problem in error.problems:
            desk.wrong_character(path, problem.offset, problem.what, sentence(problem.hint))
        return None


def _form(section: BandSection, meter: Meter, scale: Scale | None, desk: Desk) -> Chart | None:
    """A ready chart in the scale's key or another; None after noting what is wrong."""
    if section.form is None:
        desk.wrong_key(("band", "key"), "a key is for a form, and there is none", "Write form, or take key out.")
        return None
    if section.chart is not None:
        what = "the chords are given by chart or by form, not by both"
        desk.wrong_key(("band", "form"), what, "Take one of the two out.")
        return None
    found = choice(("band", "form"), section.form, FORMS, "form", desk)
    if section.key is None and scale is None:
        return None
    try:
        key = scale.root if section.key is None and scale else NoteName.parse(section.key or "")
        return FORMS[found].chart(key, meter) if found else None
    except ValueError:
        path = ("band", "form" if section.key is None else "key")
        what = f'"{section.key or (scale and scale.root)}" is not a key that can be spelled'
        desk.wrong_value(path, what, "Write a letter from A to G, with b or # behind it: Bb.")
        return None


def groove_of(
    section: BandSection, meter: Meter | None, desk: Desk, own: Mapping[str, str]
) -> tuple[Groove, str] | None:
    """The groove, which fits the meter, and the file it stands in, empty for a ready one; None after noting a problem.

    own: texts of the teacher's own groove files, by the name the lesson gives them.
    """
    path = ("band", "groove")
    if desk.is_wrong(*path):
        return None
    if section.groove is None:
        fitting = [] if meter is None else grooves_for(meter)
        return (fitting[0], "") if fitting else None
    is_file = section.groove.endswith(GROOVE_FILE)
    groove = _own_groove(section.groove, desk, own) if is_file else _ready_groove(section.groove, desk)
    if groove is None or meter is None or meter in groove.meters:
        return None if groove is None else (groove, section.groove if is_file else "")
    meters = ", ".join(str(one) for one in groove.meters)
    hint = f"Grooves for {meter}: {', '.join(one.id for one in grooves_for(meter))}. The {groove.id} is for {meters}."
    desk.wrong_value(path, f"the groove {groove.id} does not fit {meter}", hint)
    return None


def _ready_groove(name: str, desk: Desk) -> Groove | None:
    found = choice(("band", "groove"), name, GROOVES, "groove", desk)
    return GROOVES[found] if found else None


def _own_groove(name: str, desk: Desk, own: Mapping[str, str]) -> Groove | None:
    path = ("band", "groove")
    if name not in own:
        hint = "Put it into the folder of the lesson and write its name alone."
        desk.wrong_value(path, f'there is no groove file "{name}" beside the lesson', hint)
        return None
    try:
        return read_groove(own[name], name)
    except GrooveFileError as error:
        for problem in error.problems:
            where = f" [{problem.where}]" if problem.where else ""
            desk.wrong_value(path, f"{name}: {problem.what}{where}", problem.hint)
        return None


def check_swing(groove: Groove | None, chart: Chart | None, desk: Desk) -> None:
    """Note it when a groove that swings meets bars in which it cannot."""
    if groove is not None and chart is not None and (meter := unswung_meter(groove, chart)) is not None:
        what = f"the groove {groove.id} swings quarter notes, and a bar of {meter} has half a one over"
        desk.wrong_value(("band", "chart"), what, "Take a groove without swing, or bars of whole quarter notes.")


def unswung_meter(groove: Groove, chart: Chart) -> Meter | None:
    """A meter of the chart in which a swung groove would lose its beat; None when there is none."""
    meters = [*chart.meters, *([chart.meter_of(chart.pickup)] if chart.pickup else [])]
    return next((one for one in meters if groove.swing.points and one.bar.denominator > 1), None)


def tempos_of(section: BandSection, meter: Meter | None, desk: Desk) -> tuple[float, ...]:
    """The tempos in tapped beats a minute, in the order written."""
    path = ("band", "tempos")
    if desk.is_wrong(*path):
        return ()
    numbers_once(path, section.tempos, desk)
    beat = float(tapped_beat(meter)) if meter else 1.0
    for number, tempo_bpm in enumerate(section.tempos):
        if tempo_bpm * beat > FASTEST_BPM:
            hint = f"The beat is a dotted quarter: write {int(FASTEST_BPM / beat)} at most."
            desk.wrong_value((*path, number), f"{tempo_bpm:g} is too fast for {meter}", hint)
    return tuple(float(tempo_bpm) for tempo_bpm in section.tempos)


def track_minutes(chart: Chart, choruses: int, tempo_bpm: float) -> float:
    """How long a track lasts, pick-up and coda and all, at a tempo in tapped beats a minute."""
    measures = chart.whole(choruses)
    return pace_of(measures).played(float(measures[-1].end)) / float(tapped_beat(chart.meter)) / tempo_bpm


def most_choruses(chart: Chart, tempo_bpm: float) -> int:
    """How many choruses the track may have at a tempo in tapped beats a minute; 0 when one is too long already."""
    first = track_minutes(chart, 1, tempo_bpm)
    each = track_minutes(chart, 2, tempo_bpm) - first
    return int((LONGEST_TRACK_MIN - first) / each + 1 + 1e-9) if first <= LONGEST_TRACK_MIN + 1e-9 else 0


def check_length(section: BandSection, chart: Chart | None, tempos_bpm: tuple[float, ...], desk: Desk) -> None:
    """Note it when the track is too long at the slowest tempo."""
    if chart is None or not tempos_bpm or desk.is_wrong("band", "choruses"):
        return
    slowest_bpm = min(tempos_bpm)
    most = most_choruses(chart, slowest_bpm)
    if section.choruses <= most:
        return
    minutes = track_minutes(chart, section.choruses, slowest_bpm)
    what = f"the track lasts {minutes:.1f} minutes at tempo {slowest_bpm:g}, and {LONGEST_TRACK_MIN} is the limit"
    if not most:
        fits = int(len(chart.bars) * LONGEST_TRACK_MIN / track_minutes(chart, 1, slowest_bpm))
        desk.wrong_value(("band", "chart"), what, f"Keep the chart within {fits} bars.")
        return
    hint = f"Write choruses = {most}, or leave out the slow tempos."
    desk.wrong_value(("band", "choruses"), what, hint)
