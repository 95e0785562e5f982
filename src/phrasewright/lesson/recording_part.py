"""The teacher's own track, from its section."""

from __future__ import annotations

from collections.abc import Container

from phrasewright.lesson.desk import Desk
from phrasewright.lesson.model import RecordingSpec, StretchKind
from phrasewright.lesson.schema import RecordingSection
from phrasewright.lesson.words import choice
from phrasewright.score.chart import Chart
from phrasewright.score.played_chart import PlayedChart

FILES = ("file", "taps", "beats")


def recording_of(
    section: RecordingSection, chart: Chart | None, desk: Desk, beside: Container[str] | None
) -> RecordingSpec | None:
    """The recording asked for, None where there is none; what is wrong is noted. beside: names of files there."""
    written = {key: name for key in FILES if (name := getattr(section, key)) is not None}
    if desk.is_wrong("recording") or not (written or section.model_fields_set):
        return None
    _check_keys(written, section, desk)
    for key, name in written.items():
        _check_file(key, name, desk, beside)
    stretch = choice(("recording", "stretch"), section.stretch, StretchKind, "kind of stretch", desk)
    if chart is not None and not desk.is_wrong("recording"):
        _check_chart(PlayedChart(chart=chart, choruses=section.choruses), section, desk)
    if desk.is_wrong("recording"):
        return None
    return RecordingSpec(
        file=written["file"],
        taps=written.get("taps", ""),
        beats=written.get("beats", ""),
        choruses=section.choruses,
        stretch=StretchKind(stretch or StretchKind.USUAL),
        first_bar=section.first_bar,
        first_beat=section.first_beat,
    )


def _check_keys(written: dict[str, str], section: RecordingSection, desk: Desk) -> None:
    if "file" not in written:
        key = next(iter(written), None) or sorted(section.model_fields_set)[0]
        desk.wrong_key(("recording", key), "there is no recording for it", 'Write file = "my-track.flac" above it.')
    elif "taps" in written and "beats" in written:
        what = "the beats are given by taps or by a beats file, not by both"
        desk.wrong_key(("recording", "beats"), what, "Take one of the two out.")
    elif "taps" not in written and "beats" not in written:
        hint = 'Tap the first beats into a text file, a time in seconds on each line, and write taps = "taps.txt".'
        desk.wrong_key(("recording", "file"), "where its beats lie is missing", hint)
    elif "beats" in written:
        for key in sorted({"first_bar", "first_beat"} & section.model_fields_set):
            desk.wrong_key(
                ("recording", key), f"{key} is for taps", "A beats file numbers its bars itself; take it out."
            )


def _check_file(key: str, name: str, desk: Desk, beside: Container[str] | None) -> None:
    hint = "Put it into the folder of the lesson and write its name alone."
    if not name.strip() or "/" in name or "\\" in name or name in (".", ".."):
        desk.wrong_value(("recording", key), f'"{name}" is not the name of a file', hint)
    elif beside is not None and name not in beside:
        desk.wrong_value(("recording", key), f'there is no file "{name}" beside the lesson', hint)


def _check_chart(played: PlayedChart, section: RecordingSection, desk: Desk) -> None:
    if played.other_beat is not None:
        hint = (
            "Keep to meters that share a beat: 4/4, 2/4, 3/4 and 5/4, or 6/8 and 12/8; or let the band play the track."
        )
        desk.wrong_key(("recording", "file"), played.why_not_tapped, hint)
        return
    first = next((bar for bar in played.measures(section.first_bar) if bar.number == section.first_bar), None)
    if first is None:
        what = f"there is no bar {section.first_bar} in this recording"
        hint = "Count bars from 1; bar 0 is the chart's pick-up, which is played where recording.choruses is given."
        desk.wrong_value(("recording", "first_bar"), what, hint)
        return
    beats = int(first.meter.bar / played.pulse)
    if section.first_beat > beats:
        whole = first.meter if first.number else f"{beats} beats" if beats > 1 else "one beat"
        what = f"there is no beat {section.first_beat} in a bar of {whole}"
        desk.wrong_value(("recording", "first_beat"), what, f"Write 1 to {beats}." if beats > 1 else "Write 1.")
