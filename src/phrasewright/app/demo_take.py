"""The demonstration take: a study played with slips of known size over its band, heard again, slip by slip."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soxr

from phrasewright.app.assignment import Assignment, assignment_of
from phrasewright.app.fingering import make_folder
from phrasewright.app.known_track import lesson_tracks
from phrasewright.app.listening import HeardFile, ListenWish, listen_to
from phrasewright.app.planted_take import LATENCY_S, PlantedTake, Slip, SlipKind, planted_take
from phrasewright.app.review import InBars
from phrasewright.errors import PhrasewrightError
from phrasewright.listen.hear.spectrum import RATE_HZ
from phrasewright.listen.placed import Comparison, Verdict, WrittenOutcome
from phrasewright.sound.encode import flac_bytes, write_bytes
from phrasewright.sound.events import SAMPLE_RATE
from phrasewright.units import amplitude_from_db

BAND_DB = -12.0  # under the player, as from a speaker in the room
PEAK = 0.7
NAME = "demonstration-take"
EXERCISE = "study-1"


@dataclass(frozen=True, slots=True, kw_only=True)
class HeardSlip:
    """A planted slip and what was heard of it. found: size in the slip's unit, None = it was not heard."""

    slip: Slip
    found: float | None

    @property
    def words(self) -> str:
        """Both, in a line."""
        first, last = self.slip.bars
        bars = f"bar {first}" if first == last else f"bars {first} to {last}"
        heard = "not heard" if self.found is None else f"heard {_size(self.found, self.slip.unit)}"
        return f"{self.slip.kind}, {bars}: planted {_size(self.slip.size, self.slip.unit)}, {heard}"


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoTake:
    """heard: the take's files; slips: those that were planted, with what was heard of them."""

    heard: HeardFile
    slips: tuple[HeardSlip, ...]


def listen_to_demo(lesson: Path, folder: Path) -> DemoTake:
    """Play the lesson's first study with slips, write the take, listen to it. Raises PhrasewrightError."""
    assignment = assignment_of(lesson, exercise=EXERCISE)
    tempo_bpm = sorted(assignment.tempos_bpm)[len(assignment.tempos_bpm) // 2]
    planted = planted_take(assignment.plan, tempo_bpm)
    make_folder(folder)
    take = folder / f"{NAME}.flac"
    write_bytes(take, flac_bytes(_over_its_band(planted, assignment.at(tempo_bpm)), SAMPLE_RATE))
    wish = ListenWish(played_on=assignment.plan.lesson.instrument, assignment=assignment)
    (heard,) = listen_to([take], folder, wish)
    if heard.review is None or heard.review.in_bars is None or heard.review.in_bars.comparison is None:
        raise heard.error or PhrasewrightError("The demonstration take could not be heard.")
    in_bars = heard.review.in_bars
    return DemoTake(heard=heard, slips=tuple(_heard_slips(planted, in_bars, heard.review.in_bars.comparison)))


def _over_its_band(planted: PlantedTake, assignment: Assignment) -> np.ndarray:
    """The player with the band in the room, both as late as the device is. Float32 (n,) at ``SAMPLE_RATE``."""
    lead = planted.audio
    (track,) = lesson_tracks(assignment)
    band = np.concatenate(
        [np.zeros(round(LATENCY_S * SAMPLE_RATE), np.float32), soxr.resample(track.audio, RATE_HZ, SAMPLE_RATE)]
    )[: len(lead)]
    share = amplitude_from_db(BAND_DB) * _level(lead) / _level(band)
    mix = lead.copy()
    mix[: len(band)] += np.float32(share) * band
    return np.asarray(mix * np.float32(PEAK / np.abs(mix).max()), dtype=np.float32)


def _level(audio: np.ndarray) -> float:
    return float(np.sqrt(np.mean(np.square(audio, dtype=np.float64))))


def _heard_slips(planted: PlantedTake, in_bars: InBars, comparison: Comparison) -> Iterator[HeardSlip]:
    for slip in planted.slips:
        yield HeardSlip(slip=slip, found=_found(slip, in_bars, comparison))


def _found(slip: Slip, in_bars: InBars, comparison: Comparison) -> float | None:
    outcomes = [comparison.outcomes[at] for at in slip.notes]
    match slip.kind:
        case SlipKind.RUSHED:
            return _time_lost_percent(outcomes, in_bars)
        case SlipKind.WRONG_NOTE:
            return _count(outcomes, Verdict.WRONG_PITCH)
        case SlipKind.LEFT_OUT:
            return _count(outcomes, Verdict.MISSED)
        case SlipKind.FLAT_BENDS:
            return next((one.size for one in in_bars.findings if one.kind == "flat-bends"), None)
        case SlipKind.UNEVEN:
            return None if in_bars.timing.spread_s is None else 1000.0 * in_bars.timing.spread_s


def _count(outcomes: list[WrittenOutcome], verdict: Verdict) -> float | None:
    told = sum(one.verdict is verdict for one in outcomes)
    return float(told) if told else None


def _time_lost_percent(outcomes: list[WrittenOutcome], in_bars: InBars) -> float | None:
    """How much less time a passage took than it is written, once some note of it is told as early."""
    heard = [one for one in outcomes if one.heard is not None]
    if len(heard) < 2 or not any(one.verdict is Verdict.EARLY for one in heard):
        return None
    clock, ends = in_bars.alignment.clock, (heard[0], heard[-1])
    first_s, last_s = (clock.seconds_at(one.written.onset) for one in ends)
    return 100.0 * (ends[0].deviation_s - ends[1].deviation_s) / (last_s - first_s)


def _size(size: float, unit: str) -> str:
    if unit in ("note", "semitone"):
        return f"{size:.0f} {unit}{'' if size == 1 else 's'}"
    return f"{size:.0f} {unit}"
