"""What a teacher tapped along to a recording: a small text file, and the beat it tells.

The file has a time in seconds on each line, or several with commas between them; ``#`` begins a remark.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

import numpy as np

from phrasewright.errors import NoteFileError, PhrasewrightError, Problem

FEWEST_TAPS, MOST_TAPS = 4, 20_000
SLOWEST_BPM, FASTEST_BPM = 30.0, 320.0
NEIGHBOURS = 4  # taps on each side that the tempo at a tap is taken from
MOST_UNEVEN = 0.22  # of a beat, standard deviation: more is no beat
UNEVEN = 0.08  # worth a word; practised tappers keep within 0.02 to 0.04 (Repp 2005)
MOST_SKIPPED = 4  # taps left out in a row
_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)")


class TapsError(PhrasewrightError):
    """Taps that no beat can be taken from."""

    exit_code = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class TappedBeat:
    """The beat that taps tell. times_s: rising; indices: which beat each tap is, the first 0; periods_s: the length of
    a beat around each tap; scatter: how far taps lie from even, in beats, standard deviation.
    """

    times_s: tuple[float, ...]
    indices: tuple[int, ...]
    periods_s: tuple[float, ...]
    scatter: float

    @property
    def period_s(self) -> float:
        """Length of a beat, s: the middle of all."""
        return float(np.median(self.periods_s))

    @property
    def tempo_bpm(self) -> float:
        """Beats a minute."""
        return 60.0 / self.period_s


def read_taps(text: str, file: str) -> tuple[float, ...]:
    """The times in a taps file, in s, rising. Raises NoteFileError with the line of the first mistake."""
    taps: list[float] = []
    for line, written in enumerate(text.removeprefix("\ufeff").splitlines(), start=1):
        for word in re.split(r"[,;\s]+", written.partition("#")[0].strip()):
            if word:
                taps.append(_tap(word, taps[-1] if taps else -math.inf, line, file))
    if len(taps) > MOST_TAPS:
        raise NoteFileError(file, Problem(what=f"{len(taps)} taps are more than {MOST_TAPS}", hint="Tap one piece."))
    return tuple(taps)


def _tap(word: str, last_s: float, line: int, file: str) -> float:
    if not _NUMBER.fullmatch(word):
        hint = "Write seconds from the start of the recording, with a point: 12.35."
        raise NoteFileError(file, Problem(what=f"{word!r} is no time in seconds", hint=hint, line=line))
    tap_s = float(word)
    if tap_s <= last_s:
        what = f"the tap at {word} s does not come after the one before it, at {last_s:g} s"
        raise NoteFileError(file, Problem(what=what, hint="Write the taps in the order of time.", line=line))
    return tap_s


def tapped_beat(taps_s: tuple[float, ...], length_s: float) -> TappedBeat:
    """The beat of taps along a recording of a length. Raises TapsError when there is none."""
    if len(taps_s) < FEWEST_TAPS:
        count = {0: "There are no taps", 1: "There is one tap"}.get(len(taps_s), f"There are only {len(taps_s)} taps")
        raise TapsError(f"{count}.", hint=f"Tap {FEWEST_TAPS} beats or more, best the first two or three bars.")
    outside = [tap for tap in taps_s if not 0.0 <= tap <= length_s]
    if outside:
        what = f"The tap at {outside[0]:g} s lies outside the recording, which lasts {length_s:.1f} s."
        raise TapsError(what, hint="Count seconds from the start of this file.")
    times = np.array(taps_s)
    indices = _indices(np.diff(times))
    periods = np.array([_local_period_s(times, indices, at) for at in range(len(times))])
    tempo_bpm = 60.0 / float(np.median(periods))
    if not SLOWEST_BPM <= tempo_bpm <= FASTEST_BPM:
        hint = f"Tap the beat, {SLOWEST_BPM:g} to {FASTEST_BPM:g} a minute; times are in seconds."
        raise TapsError(f"The taps tell {tempo_bpm:.0f} beats a minute.", hint=hint)
    scatter = _scatter(times, indices)
    if scatter > MOST_UNEVEN:
        what = f"The taps are too uneven to tell a beat: they lie {100 * scatter:.0f} % of a beat apart from even ones."
        raise TapsError(what, hint="Tap one beat after the other, each once, as evenly as you can.")
    return TappedBeat(
        times_s=taps_s,
        indices=tuple(int(index) for index in indices),
        periods_s=tuple(float(period) for period in periods),
        scatter=scatter,
    )


def _indices(gaps_s: np.ndarray) -> np.ndarray:
    """Which beat each tap is: a gap of about twice the usual is a tap left out."""
    beats = []
    for at, gap_s in enumerate(gaps_s):
        usual_s = float(np.median(gaps_s[max(at - NEIGHBOURS, 0) : at + NEIGHBOURS + 1]))
        beats.append(min(max(round(gap_s / usual_s), 1), 1 + MOST_SKIPPED))
    return np.concatenate([[0], np.cumsum(beats)])


def _around(times: np.ndarray, at: int) -> slice:
    first = min(max(at - NEIGHBOURS, 0), max(len(times) - 2 * NEIGHBOURS - 1, 0))
    return slice(first, first + 2 * NEIGHBOURS + 1)


def _local_period_s(times: np.ndarray, indices: np.ndarray, at: int) -> float:
    """Slope of the line through the taps around one."""
    near = _around(times, at)
    return float(np.polyfit(indices[near], times[near], 1)[0])


def _scatter(times: np.ndarray, indices: np.ndarray) -> float:
    """Standard deviation of the taps from the lines through their neighbours, in beats."""
    off = []
    for at in range(len(times)):
        near = _around(times, at)
        slope, start = np.polyfit(indices[near], times[near], 1)
        off.append((times[at] - start - slope * indices[at]) / slope)
    freedom = max(1.0 - 2.0 / min(len(times), 2 * NEIGHBOURS + 1), 0.2)  # two numbers of each line are fitted
    return float(np.sqrt(np.mean(np.square(off)) / freedom))
