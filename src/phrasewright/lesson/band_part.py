"""Meter, chart, groove and tempos, from their section, and whether they go together."""

from __future__ import annotations

from collections.abc import Mapping

from phrasewright.band.groove import GROOVES, Groove, grooves_for
from phrasewright.band.groove_file import GrooveFileError, read_groove
from phrasewright.lesson.chart_text import ChartError, read_chart, sentence
from phrasewright.lesson.defaults import plain_chart
from phrasewright.lesson.desk import Desk
from phrasewright.lesson.forms import FORMS
from phrasewright.lesson.model import tapped_beat
from phrasewright.lesson.schema import METERS, BandSection
from phrasewright.lesson.toml_text import GROOVE_FILE
from phrasewright.lesson.words import (
    choice,
    numbers_once,
    printable,
)
from phrasewright.score.chart import Chart
from phrasewright.score.pace import pace_of
from phrasewright.score.performance import FASTEST_BPM
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName
from phrasewright.theory.scale import Scale

LONGEST_TRACK_MIN = 10  # what one tempo is rendered of: the whole track lies in memory


def meter_of(section: BandSection, desk: Desk) -> Meter | None:
    """The meter; None after noting what is wrong."""
    if desk.is_wrong("band", "meter"):
        return None
    if section.meter in METERS:
        return Meter.parse(section.meter)
    what = f'there is no meter "{section.meter}" here'
    desk.wrong_value(("band", "meter"), what, f"Write one of {', '.join(METERS)}.")
    return None


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
