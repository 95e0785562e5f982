"""A beat map as a text file that a teacher can read and mend.

A head, then one line for each beat: bar, beat, seconds, confidence. ``!`` at its end pins a beat: mapped
again, it stays and the others are found anew around it.
"""

from __future__ import annotations

import re

from phrasewright.errors import NoteFileError, Problem
from phrasewright.listen.bar_layout import BarLayout
from phrasewright.listen.beat_map import Beat, BeatMap
from phrasewright.listen.layout_text import LAYOUT_KEYS, layout_lines, read_layout

ENDING = ".beats.txt"
MOST_LINES = 50_000
_HEAD = """\
# Where the bars and beats of a recording lie: bar, beat, seconds, confidence from 0 to 1.
# To mend a bar: write the right seconds, put ! at the end of the line, and map the recording again.
# Pinned lines stay, the others are found anew; lines in between may be deleted.
"""
_WORDS = "bar, beat, seconds, confidence and perhaps !, as: 12 1 24.310 0.95 !"


def write_beats(beat_map: BeatMap) -> str:
    """The text of a map. Times are rounded to a millisecond."""
    layout = "".join(f"{line}\n" for line in layout_lines(beat_map.layout))
    head = f"recording: {beat_map.recording}\n{layout}length: {beat_map.length_s:.3f}\n"
    rows = (
        f"{beat.bar:4d} {beat.beat:2d} {beat.time_s:9.3f}  {beat.confidence:.2f}{' !' if beat.is_pinned else ''}\n"
        for beat in beat_map.beats
    )
    return f"{_HEAD}{head}{''.join(rows)}"


def read_beats(text: str, file: str) -> BeatMap:
    """The map that a text states. Raises NoteFileError with the line of the first mistake."""
    beats: list[Beat] = []
    head, layout, lines = _read(text, file, beats)
    for (line, beat), (_, before) in zip(lines[1:], lines, strict=False):
        _check_follows(before, beat, layout, line, file)
    if len(beats) < 2:
        raise _problem(file, "there are fewer than two beats in it", "Map the recording first: phrasewright beats.")
    return BeatMap(recording=head["recording"], length_s=float(head["length"]), layout=layout, beats=tuple(beats))


def read_pins(text: str, file: str) -> tuple[Beat, ...]:
    """Only the pinned beats of a text, whose other lines may have been deleted. Raises NoteFileError."""
    beats: list[Beat] = []
    _read(text, file, beats)
    return tuple(beat for beat in beats if beat.is_pinned)


def _read(text: str, file: str, beats: list[Beat]) -> tuple[dict[str, str], BarLayout, list[tuple[int, Beat]]]:
    head: dict[str, str] = {}
    layout: BarLayout | None = None
    laid: dict[str, tuple[str, int]] = {}
    lines: list[tuple[int, Beat]] = []
    written = text.removeprefix("\ufeff").splitlines()
    if len(written) > MOST_LINES:
        raise _problem(file, f"{len(written)} lines are more than {MOST_LINES}", "Check that it is a file of beats.")
    for number, whole in enumerate(written, start=1):
        line = whole.partition("#")[0].strip() if not whole.lstrip().startswith("recording:") else whole.strip()
        if not line:
            continue
        key, colon, value = line.partition(":")
        if colon and key in LAYOUT_KEYS:
            laid[key] = value.strip(), number
            layout = None
            continue
        if colon and key in ("recording", "length"):
            head[key] = _checked(key, value.strip(), number, file)
            continue
        if "meter" not in laid:
            raise _problem(file, "the line with the meter is missing before the beats", "Write: meter: 4/4", number)
        layout = layout or read_layout(laid, file)
        beat = _beat(line, layout, number, file)
        beats.append(beat)
        lines.append((number, beat))
    layout = layout or read_layout(laid, file)
    for key in ("recording", "length"):
        if key not in head:
            raise _problem(file, f"the line with the {key} is missing", "Map the recording again: phrasewright beats.")
    return head, layout, lines


def _checked(key: str, value: str, line: int, file: str) -> str:
    if key == "length" and not re.fullmatch(r"\d{1,6}(\.\d+)?", value):
        raise _problem(file, f"{value!r} is no length in seconds", "Write it with a point: 183.204.", line)
    return value


def _beat(line: str, layout: BarLayout, number: int, file: str) -> Beat:
    found = re.fullmatch(r"(-?\d{1,5})\s+(\d{1,2})\s+(\d{1,6}(?:\.\d*)?)(?:\s+(\d(?:\.\d*)?))?\s*(!)?", line)
    if not found:
        raise _problem(file, f"cannot read {line!r}", f"A line has {_WORDS}.", number)
    bar, beat, time_s, confidence = int(found[1]), int(found[2]), float(found[3]), float(found[4] or 1.0)
    if layout.last_bar is not None and bar > layout.last_bar:
        what = f"there is no bar {bar}: the bars listed above are {layout.last_bar}"
        raise _problem(file, what, "Check the number, or map the recording again with the right choruses.", number)
    if not 1 <= beat <= layout.beats_of(bar):
        what = f"there is no beat {beat} in a bar of {layout.beats_of(bar)}"
        raise _problem(file, what, "Count them from 1.", number)
    if confidence > 1.0:
        raise _problem(file, f"the confidence {found[4]} is more than 1", "Write 0 to 1, or leave it out.", number)
    return Beat(bar=bar, beat=beat, time_s=time_s, confidence=confidence, is_pinned=bool(found[5]))


def _check_follows(before: Beat, beat: Beat, layout: BarLayout, line: int, file: str) -> None:
    if layout.place(beat.bar, beat.beat) - layout.place(before.bar, before.beat) != 1:
        what = f"bar {beat.bar}, beat {beat.beat} does not follow bar {before.bar}, beat {before.beat}"
        raise _problem(file, what, "Pin the lines that are right and map the recording again.", line)
    if beat.time_s <= before.time_s:
        what = f"bar {beat.bar}, beat {beat.beat} at {beat.time_s:g} s does not come after the beat before it"
        raise _problem(file, what, "Write the beats in the order of time.", line)


def _problem(file: str, what: str, hint: str, line: int | None = None) -> NoteFileError:
    return NoteFileError(file, Problem(what=what, hint=hint, line=line))
