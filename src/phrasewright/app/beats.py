"""Map the beats of a teacher's own recording: read it, follow the taps, say what to check, write the beats file."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from phrasewright.errors import OutputError, PhrasewrightError
from phrasewright.listen.beat_file import ENDING, read_pins, write_beats
from phrasewright.listen.beat_map import Beat, BeatMap, MappedBar, beats_in_bar
from phrasewright.listen.beats import free_beats
from phrasewright.listen.harmony import chord_fit, pitch_classes
from phrasewright.listen.mapping import heard_between, map_beats
from phrasewright.listen.onset_strength import OnsetStrength, onset_strength
from phrasewright.listen.readings import Said, chart_chords, read_taps_well, tapped_grid
from phrasewright.listen.recording import Recording, read_recording
from phrasewright.listen.taps import TappedBeat, read_taps, tapped_beat
from phrasewright.score.chart import Chart
from phrasewright.sound.encode import write_bytes
from phrasewright.theory.meter import Meter

LARGEST_TEXT_BYTES = 2_000_000


class BeatsError(PhrasewrightError):
    """A wish about beats that cannot be met."""

    exit_code = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class BeatsWish:
    """What to map. taps: times in s; first_bar, first_beat: what the first tap is; chart: None
    where there is none.
    """

    recording: Path
    taps: Path
    meter: Meter
    chart: Chart | None = None
    first_bar: int = 1
    first_beat: int = 1


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
    if not 1 <= wish.first_beat <= beats_in_bar(wish.meter):
        raise BeatsError(
            f"There is no beat {wish.first_beat} in a bar of {wish.meter}.",
            hint=f"The first tap is one of the beats 1 to {beats_in_bar(wish.meter)}.",
        )
    taps_s = read_taps(small_text(wish.taps, "taps"), str(wish.taps))
    pins = read_pins(small_text(out, "beats"), str(out)) if out.is_file() else ()
    recording = read_recording(wish.recording)
    found = _mapped(wish, recording, taps_s, pins)
    write_bytes(out, write_beats(found.beats).encode())
    return found


def beat_map_of(wish: BeatsWish, recording: Recording) -> BeatMap:
    """The beats of a recording already read, by its taps; nothing is written. Raises as ``map_recording``."""
    taps = tapped_beat(read_taps(small_text(wish.taps, "taps"), str(wish.taps)), recording.length_s)
    return _tracked(wish, recording, onset_strength(recording.audio), taps, ())


def _tracked(
    wish: BeatsWish, recording: Recording, strength: OnsetStrength, taps: TappedBeat, pins: tuple[Beat, ...]
) -> BeatMap:
    return map_beats(
        strength,
        taps,
        wish.meter,
        recording=wish.recording.name,
        heard_s=heard_between(recording.audio),
        first_bar=wish.first_bar,
        first_beat=wish.first_beat,
        pins=pins,
    )


def beats_path(recording: Path) -> Path:
    """Where the beats of a recording are kept: beside it."""
    return recording.with_name(f"{recording.stem}{ENDING}")


def small_text(path: Path, what: str) -> str:
    """The text of a small file. what: the word for it in messages. Raises OutputError or BeatsError."""
    try:
        if path.stat().st_size > LARGEST_TEXT_BYTES:
            raise BeatsError(f"{path} is too large for a file of {what}.", hint="Check that it is the file you meant.")
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise BeatsError(f"{path} is not text.", hint=f"A file of {what} is plain text (UTF-8).") from None
    except FileNotFoundError:
        raise OutputError(f"There is no file {path}.", hint="Check the name.") from None
    except OSError as error:
        raise OutputError(f"{path} could not be read: {error.strerror}.") from error


def _mapped(
    wish: BeatsWish, recording: Recording, taps_s: tuple[float, ...], pins: tuple[Beat, ...]
) -> MappedRecording:
    strength, energy = onset_strength(recording.audio), pitch_classes(recording.audio)
    taps = tapped_beat(taps_s, recording.length_s)
    beats = _tracked(wish, recording, strength, taps, pins)
    grid = tapped_grid(taps, free_beats(strength, np.array(taps.periods_s)))
    chart = wish.chart if wish.first_bar == 1 and wish.first_beat == 1 else None
    return MappedRecording(
        beats=beats,
        bars=_bar_reports(beats, wish.chart, energy),
        said=read_taps_well(taps, grid, strength, energy, chart),
        remarks=recording.remarks,
        pins=len(pins),
    )


def _bar_reports(beats: BeatMap, chart: Chart | None, energy: np.ndarray) -> tuple[BarReport, ...]:
    if chart is None:
        return tuple(BarReport(bar=bar) for bar in beats.bars)
    places = {beats.place(beat): beat.time_s for beat in beats.beats}
    chords = chart_chords(chart, max(places) + 1)
    where = np.array(chords.starts)
    times_s = np.interp(where, list(places), list(places.values()), left=np.nan, right=np.nan)
    fits = chord_fit(energy, times_s, chords.chords)
    reports = []
    for bar in beats.bars:
        first = (bar.number - 1) * chords.beats_in_bar
        inside = [n for n, start in enumerate(chords.starts[:-1]) if first <= start < first + chords.beats_in_bar]
        heard = [float(fits[n]) for n in inside if np.isfinite(fits[n])]
        printed = " ".join("N.C." if (chord := chords.chords[n]) is None else chord.printed for n in inside)
        fit = sum(heard) / len(heard) if heard else None
        reports.append(BarReport(bar=bar, chords=printed, fit=fit))
    return tuple(reports)
