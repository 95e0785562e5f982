"""Map the beats of a teacher's own recording: read it, follow the taps, say what to check, write the beats file."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from phrasewright.app.text_files import small_text
from phrasewright.errors import PhrasewrightError
from phrasewright.listen.bar_layout import BarLayout, layout_of
from phrasewright.listen.beat_file import ENDING, read_pins, write_beats
from phrasewright.listen.beat_map import Beat, BeatMap, MappedBar
from phrasewright.listen.beats import free_beats
from phrasewright.listen.harmony import chord_fit, pitch_classes
from phrasewright.listen.mapping import heard_between, map_beats
from phrasewright.listen.onset_strength import OnsetStrength, onset_strength
from phrasewright.listen.readings import Grid, Said, chart_chords, read_taps_well, tapped_grid
from phrasewright.listen.recording import Recording, read_recording
from phrasewright.listen.taps import TappedBeat, read_taps, tapped_beat
from phrasewright.score.played_chart import PlayedChart
from phrasewright.sound.encode import write_bytes
from phrasewright.theory.meter import Meter

LARGEST_TEXT_BYTES = 2_000_000
LONGEST_RING_BARS = 3  # that a last bar may sound on, before more choruses are suspected (by ear)


class BeatsError(PhrasewrightError):
    """A wish about beats that cannot be met."""

    exit_code = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class BeatsWish:
    """What to map. taps: times in s; first_bar, first_beat: what the first tap is; chart: as the recording plays
    it, None where there is none.
    """

    recording: Path
    taps: Path
    meter: Meter
    chart: PlayedChart | None = None
    first_bar: int = 1
    first_beat: int = 1

    @property
    def layout(self) -> BarLayout:
        """How many beats its bars have. Raises BeatsError where no one beat goes through all of them."""
        if self.chart is None:
            return BarLayout(meter=self.meter)
        if self.chart.other_beat is not None:
            raise BeatsError(
                f"The recording cannot be mapped: {self.chart.why_not_tapped}.",
                hint="A recording can follow changes that keep its beat: 4/4, 2/4, 3/4, 5/4, or 6/8 and 12/8.",
            )
        return layout_of(self.chart)


@dataclass(frozen=True, slots=True, kw_only=True)
class BarReport:
    """A bar as it is told. chords: as printed; fit: how well they are heard, None without a chart or before bar 1."""

    bar: MappedBar
    chords: str = ""
    fit: float | None = None

    @property
    def is_doubtful(self) -> bool:
        """Whether to check it."""
        return self.bar.is_unsure or (self.fit is not None and self.fit < 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class MappedRecording:
    """What was found. said: about the taps; remarks: about the file; pins: how many beats were kept."""

    beats: BeatMap
    bars: tuple[BarReport, ...]
    said: tuple[Said, ...]
    remarks: tuple[str, ...]
    pins: int


def map_recording(wish: BeatsWish, out: Path) -> MappedRecording:
    """Map a recording and write its beats file; beats pinned in that file before are kept.

    Raises OutputError, RecordingError, NoteFileError, TapsError, BeatsError.
    """
    _check_first(wish)
    taps_s = read_taps(text_of(wish.taps, "taps"), str(wish.taps))
    pins = read_pins(text_of(out, "beats"), str(out)) if out.is_file() else ()
    recording = read_recording(wish.recording)
    found = _mapped(wish, recording, taps_s, pins)
    write_bytes(out, write_beats(found.beats).encode())
    return found


def _check_first(wish: BeatsWish) -> None:
    layout = wish.layout
    if wish.first_bar < 1 and not layout.pickup:
        raise BeatsError("There is no pick-up in bar 0.", hint="Count bars from 1, or say the chart and its choruses.")
    if layout.last_bar is not None and wish.first_bar > layout.last_bar:
        what = f"There is no bar {wish.first_bar}: with these choruses the chart has {layout.last_bar}."
        raise BeatsError(what, hint="Check the bar of the first tap and the number of choruses.")
    beats = layout.beats_of(wish.first_bar)
    if not 1 <= wish.first_beat <= beats:
        what = f"There is no beat {wish.first_beat} in a bar of {beats} beats."
        raise BeatsError(what, hint=f"The first tap is one of the beats 1 to {beats}.")


def beat_map_of(wish: BeatsWish, recording: Recording) -> BeatMap:
    """The beats of a recording already read, by its taps; nothing is written. Raises as ``map_recording``."""
    taps = tapped_beat(read_taps(text_of(wish.taps, "taps"), str(wish.taps)), recording.length_s)
    return _tracked(wish, recording, onset_strength(recording.audio), taps, ())


def _tracked(
    wish: BeatsWish, recording: Recording, strength: OnsetStrength, taps: TappedBeat, pins: tuple[Beat, ...]
) -> BeatMap:
    return map_beats(
        strength,
        taps,
        wish.layout,
        played=wish.chart,
        recording=wish.recording.name,
        heard_s=heard_between(recording.audio),
        first_bar=wish.first_bar,
        first_beat=wish.first_beat,
        pins=pins,
    )


def beats_path(recording: Path) -> Path:
    """Where the beats of a recording are kept: beside it."""
    return recording.with_name(f"{recording.stem}{ENDING}")


def text_of(path: Path, what: str) -> str:
    """The text of a file of taps or beats. Raises OutputError or BeatsError."""
    return small_text(path, f"file of {what}", LARGEST_TEXT_BYTES, BeatsError)


def _mapped(
    wish: BeatsWish, recording: Recording, taps_s: tuple[float, ...], pins: tuple[Beat, ...]
) -> MappedRecording:
    strength, energy = onset_strength(recording.audio), pitch_classes(recording.audio)
    taps = tapped_beat(taps_s, recording.length_s)
    beats = _tracked(wish, recording, strength, taps, pins)
    if wish.chart is None or wish.chart.is_steady:
        grid = tapped_grid(taps, free_beats(strength, np.array(taps.periods_s)))
    else:
        times_s = np.array(beats.times_s)
        grid = Grid(times_s=times_s, first=int(np.abs(times_s - taps.times_s[0]).argmin()))
    chart = wish.chart if wish.first_bar == 1 and wish.first_beat == 1 else None
    return MappedRecording(
        beats=beats,
        bars=_bar_reports(beats, wish.chart, energy),
        said=read_taps_well(taps, grid, strength, energy, chart),
        remarks=(*recording.remarks, *_length_remarks(beats, heard_between(recording.audio)[1])),
        pins=len(pins),
    )


def _length_remarks(beats: BeatMap, heard_until_s: float) -> tuple[str, ...]:
    """Whether the recording has as many bars as it should."""
    last, end = beats.layout.last_bar, beats.beats[-1]
    if last is None:
        return ()
    if beats.layout.place(end.bar, end.beat) < beats.layout.place(last, 1):
        return (f"The chart has {last} bars with these choruses, the recording ends in bar {end.bar}: check both.",)
    over_s = heard_until_s - end.time_s
    if over_s > LONGEST_RING_BARS * beats.layout.beats_of(last) * 60.0 / beats.tempo_bpm:
        return (f"There is sound for {over_s:.0f} s after bar {last}, the last one: check the number of choruses.",)
    return ()


def _bar_reports(beats: BeatMap, chart: PlayedChart | None, energy: np.ndarray) -> tuple[BarReport, ...]:
    if chart is None:
        return tuple(BarReport(bar=bar) for bar in beats.bars)
    places = {beats.place(beat): beat.time_s for beat in beats.beats}
    chords = chart_chords(chart, max(places) + 1)
    times_s = np.interp(chords.starts, list(places), list(places.values()), left=np.nan, right=np.nan)
    fits = chord_fit(energy, times_s, chords.chords)
    reports = []
    for bar in beats.bars:
        inside = [index for index, number in enumerate(chords.bars) if number == bar.number]
        heard = [float(fits[index]) for index in inside if np.isfinite(fits[index])]
        printed = " ".join("N.C." if (chord := chords.chords[n]) is None else chord.printed for n in inside)
        fit = sum(heard) / len(heard) if heard else None
        reports.append(BarReport(bar=bar, chords=printed, fit=fit))
    return tuple(reports)
