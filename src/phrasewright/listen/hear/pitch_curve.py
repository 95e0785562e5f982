"""The exact pitch of notes whose place in time is roughly known, every ``CURVE_STEP_S``.

A string sounds at near multiples of its pitch. Each is read from a short spectrum by its instantaneous frequency
(the reassigned frequency of Auger & Flandrin 1995, "Improving the readability of time-frequency and time-scale
representations", IEEE Trans. Signal Processing 43(5)), good to a cent where a plain spectrum resolves 15 Hz. First a
coarse way is found through the note, within ``REACH_CENTS`` of the semitone it began on: what the multiples add up to,
joined by dynamic programming. Then the multiples along it vote: the loud and high ones weigh more, those that meet a
multiple of another sounding note less, outliers not at all; the stretch of a stiff string (partial k lies at
``k f sqrt((1 + B k^2) / (1 + B))``, Fletcher & Rossing 1998, "The Physics of Musical Instruments", ch. 2) is measured
note by note and taken out, so that pitch means that of the first partial.

Cents of a curve are against the pitch that the note settles on: where it rests longest, a vibrato taken at the middle
of its swing. A vibrato on a fretted string only ever tightens it, so its middle lies above the fretted pitch.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray
from scipy import fft
from scipy.ndimage import median_filter, uniform_filter1d

from phrasewright.listen.hear.spectrum import RATE_HZ
from phrasewright.listen.heard import CURVE_STEP_S
from phrasewright.units import hz_from_midi

AudioArray = NDArray[np.float32]
FloatArray = NDArray[np.float64]

WINDOW = 1024  # samples, 64 ms: splits the partials of a note down to 62 Hz
BIN_HZ = RATE_HZ / WINDOW
BINS = 352  # up to 5.5 kHz
PARTIALS, COARSE_PARTIALS = 10, 8
REACH_CENTS = 500  # of a note around the semitone it began on: bends, slides over some frets
COARSE_CENTS = 25
NEAR_CENTS = 22.0  # how near a partial must lie to count for a coarse candidate
NEAR_HZ = 3.5  # and for low partials, whose frequency is less sure
FASTEST_CENTS = 150  # in one step of the coarse way
WAY_COST = 0.012  # of a coarse step, in shares of the loudest partial
FAR_COST = 0.06  # of lying an octave off the semitone begun on
COLLISION_HZ = 28.0  # nearer partials of two notes cannot be told apart in the window
COLLISION_WEIGHT = 0.03
HIGHEST_COLLIDING = 12  # partials of another note that are strong enough to disturb
OUTLIER_CENTS = 12.0
STRETCH_OUTLIER_CENTS = 3.0
WIDEST_STRETCH = 1.5e-3  # B of the stiffest strings, with room
CENTS_PER_STRETCH = 600.0 / np.log(2.0)
CLEAR = 0.18  # clarity under which a pitch is not believed
ATTACK_S = 0.04
SWING_S = 0.18  # about one swing of a vibrato
REST_CENTS = 24.0  # a note rests while it stays in so narrow a band
SHARPEN_STEPS, SHARPEN = 3, 0.088  # undoes the window's own smoothing: a swing of 6 Hz loses 9 % in a 64-ms Hann window
LEVEL_S = 0.05
RIM_S = 0.02  # nearer to its ends a note is read from here: the window would hear the notes beside it
BLOCK = 1024  # frames transformed at once

_CANDIDATES = np.arange(-REACH_CENTS, REACH_CENTS + 1, COARSE_CENTS)
_ORDERS = np.arange(1, PARTIALS + 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class RoughNote:
    """A note as transcribed. row: MIDI number of the semitone at its onset."""

    onset_s: float
    offset_s: float
    row: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PitchCurve:
    """The pitch of one note. pitch_midi: what it settles on; level_db: of its loudest 50 ms, against full scale.

    cents: float64 (n,) every ``CURVE_STEP_S`` from the onset, against ``pitch_midi``, nan where none was heard;
    clarity: float64 (n,), 0..1, share of the sound that its partials account for.
    """

    pitch_midi: float
    cents: FloatArray
    clarity: FloatArray
    level_db: float

    @property
    def midi(self) -> FloatArray:
        """The pitch as fractional MIDI numbers."""
        return self.pitch_midi + self.cents / 100.0


def note_curves(audio: AudioArray, notes: Sequence[RoughNote]) -> tuple[PitchCurve, ...]:
    """The pitch of every note of a take. audio: float32 (n,) at ``RATE_HZ``; notes: they may overlap."""
    padded = np.pad(audio.astype(np.float32, copy=False), WINDOW)
    curves: list[PitchCurve] = []
    for some in _blocks(notes):
        around = _neighbours(notes, some)
        curves.extend(_block_curves(padded, some, around))
    return tuple(curves)


def pitch_curve(
    audio: AudioArray, onset_s: float, offset_s: float, semitone: int, others: Sequence[RoughNote] = ()
) -> PitchCurve:
    """The pitch of one note that began on a semitone (MIDI number). others: the notes that sound with it."""
    note = RoughNote(onset_s=onset_s, offset_s=offset_s, row=semitone)
    padded = np.pad(audio.astype(np.float32, copy=False), WINDOW)
    return _block_curves(padded, [note], [list(others)])[0]


def _blocks(notes: Sequence[RoughNote]) -> Iterator[list[RoughNote]]:
    some: list[RoughNote] = []
    frames = 0
    for note in notes:
        if some and frames + _steps(note) > BLOCK:
            yield some
            some, frames = [], 0
        some.append(note)
        frames += _steps(note)
    if some:
        yield some


def _steps(note: RoughNote) -> int:
    return max(int(np.ceil((note.offset_s - note.onset_s) / CURVE_STEP_S - 1e-6)), 1)


def _neighbours(notes: Sequence[RoughNote], some: Sequence[RoughNote]) -> list[list[RoughNote]]:
    """The notes of another pitch that sound while a note does."""
    onsets_s = np.array([note.onset_s for note in notes])
    offsets_s = np.array([note.offset_s for note in notes])
    rows = np.array([note.row for note in notes])
    half_s = WINDOW / RATE_HZ / 2
    found = []
    for note in some:
        near = (onsets_s < note.offset_s + half_s) & (offsets_s > note.onset_s - half_s) & (rows != note.row)
        found.append([notes[index] for index in np.flatnonzero(near).tolist()])
    return found


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Frames:
    """Spectra of the frames of some notes. magnitude, hz: float32 (frames, BINS); of: which note, (frames,)."""

    magnitude: AudioArray
    hz: AudioArray
    of: NDArray[np.intp]
    times_s: FloatArray
    counts: NDArray[np.intp]


def _block_curves(padded: AudioArray, some: Sequence[RoughNote], around: Sequence[list[RoughNote]]) -> list[PitchCurve]:
    counts = np.array([_steps(note) for note in some])
    of = np.repeat(np.arange(len(some)), counts)
    within = np.arange(len(of)) - np.repeat(np.cumsum(counts) - counts, counts)
    onsets_s = np.array([note.onset_s for note in some])[of]
    ends_s = np.array([note.offset_s for note in some])[of]
    times_s = np.clip(onsets_s + within * CURVE_STEP_S, onsets_s + RIM_S, np.maximum(ends_s - RIM_S, onsets_s + RIM_S))
    magnitude, hz = _spectra(padded, times_s)
    frames = _Frames(magnitude=magnitude, hz=hz, of=of, times_s=times_s, counts=counts)
    rows_hz = np.array([hz_from_midi(note.row) for note in some])
    free = _freedom(frames, around)
    coarse = _way(_salience(frames, rows_hz, free), frames.counts)
    cents, clarity = _fine(frames, rows_hz, coarse, free)
    starts = np.cumsum(counts) - counts
    made = []
    for note, start, count in zip(some, starts, counts, strict=True):
        piece = slice(start, start + count)
        made.append(_curve(padded, note, cents[piece], clarity[piece]))
    return made


def _spectra(padded: AudioArray, times_s: FloatArray) -> tuple[AudioArray, AudioArray]:
    """Magnitudes and reassigned frequencies of Hann windows around some times, float32 (frames, BINS) each.

    Both come from one plain transform R: in the Hann window's it is ``R[k]/2 - (R[k-1] + R[k+1])/4``, in its
    derivative's ``(pi/T) (R[k-1] - R[k+1]) / 2j``.
    """
    starts = np.clip(np.round(times_s * RATE_HZ).astype(int) + WINDOW // 2, 0, len(padded) - WINDOW)
    plain = fft.rfft(sliding_window_view(padded, WINDOW)[starts], axis=1)[:, : BINS + 1]
    real, imaginary = np.ascontiguousarray(plain.real), np.ascontiguousarray(plain.imag)
    real_before, imaginary_before = _before(real), _before(imaginary)
    imaginary_before[:, 0] *= -1.0
    real_after, imaginary_after = real[:, 1:], imaginary[:, 1:]
    hann_real = real[:, :-1] / 2 - (real_before + real_after) / 4
    hann_imaginary = imaginary[:, :-1] / 2 - (imaginary_before + imaginary_after) / 4
    power = hann_real**2 + hann_imaginary**2 + np.float32(1e-12)
    turn = (real_after - real_before) * hann_real + (imaginary_after - imaginary_before) * hann_imaginary
    hz = np.arange(BINS, dtype=np.float32) * np.float32(BIN_HZ) - turn / power * np.float32(BIN_HZ / 4.0)
    return np.sqrt(power), hz


def _before(values: AudioArray) -> AudioArray:
    """Each bin's lower neighbour; below the lowest lies the mirror image of the one above it."""
    return np.concatenate([values[:, 1:2], values[:, : BINS - 1]], axis=1)


def _freedom(frames: _Frames, around: Sequence[list[RoughNote]]) -> AudioArray:
    """How free each bin is of the partials of other notes: float32 (frames, BINS), ``COLLISION_WEIGHT`` to 1."""
    free = np.ones(frames.magnitude.shape, dtype=np.float32)
    bins_hz = np.arange(BINS) * BIN_HZ
    half_s = WINDOW / RATE_HZ / 2
    starts = np.cumsum(frames.counts) - frames.counts
    for others, start, count in zip(around, starts, frames.counts, strict=True):
        for other in others:
            times_s = frames.times_s[start : start + count]
            sounds = (times_s > other.onset_s - half_s) & (times_s < other.offset_s + half_s)
            base_hz = hz_from_midi(other.row)
            order = np.clip(np.round(bins_hz / base_hz), 1, HIGHEST_COLLIDING)
            touched = np.abs(bins_hz - order * base_hz) < COLLISION_HZ
            free[start : start + count][np.ix_(sounds, touched)] = COLLISION_WEIGHT
    return free


def _salience(frames: _Frames, rows_hz: FloatArray, free: AudioArray) -> AudioArray:
    """What the partials of each coarse candidate add up to, float32 (frames, candidates)."""
    wanted_hz = (rows_hz[:, None, None] * 2.0 ** (_CANDIDATES[None, :, None] / 1200.0) * _ORDERS[None, None, :]).astype(
        np.float32
    )
    bins = np.round(wanted_hz / BIN_HZ).astype(np.int32)
    heard = bins < BINS
    bins = np.minimum(bins, BINS - 1)
    narrow = (1.0 / np.maximum(wanted_hz * (NEAR_CENTS / 1731.2), NEAR_HZ)).astype(np.float32)
    share = (heard / np.sqrt(_ORDERS)).astype(np.float32)
    loudest = frames.magnitude[:, 2:].max(axis=1, keepdims=True)
    strength = np.sqrt(frames.magnitude / loudest) * free
    total = np.zeros((len(frames.of), len(_CANDIDATES)), dtype=np.float32)
    for order in range(COARSE_PARTIALS):
        where = bins[frames.of, :, order]
        off = (np.take_along_axis(frames.hz, where, 1) - wanted_hz[frames.of, :, order]) * narrow[frames.of, :, order]
        total += np.take_along_axis(strength, where, 1) * share[frames.of, :, order] / (1.0 + off**4)
    return total


def _way(salience: AudioArray, counts: NDArray[np.intp]) -> FloatArray:
    """The best way through the candidates of each note, all notes at once: cents, (frames,)."""
    notes, longest, size = len(counts), int(counts.max()), len(_CANDIDATES)
    worth = np.zeros((longest, notes, size), dtype=np.float32)
    inside = np.arange(longest)[:, None] < counts[None, :]
    worth.transpose(1, 0, 2)[inside.T] = salience - FAR_COST * np.abs(_CANDIDATES) / 1200.0
    reach = FASTEST_CENTS // COARSE_CENTS
    steps = np.arange(-reach, reach + 1)
    cost = (WAY_COST * np.abs(steps)).astype(np.float32)
    came = np.zeros((longest, notes, size), dtype=np.int8)
    best = worth[0]
    for frame in range(1, longest):
        wide = np.pad(best, ((0, 0), (reach, reach)), constant_values=-np.inf)
        options = sliding_window_view(wide, 2 * reach + 1, axis=1) - cost
        choice = options.argmax(axis=2)
        came[frame] = choice - reach
        best = np.take_along_axis(options, choice[:, :, None], 2)[:, :, 0] + worth[frame]
    state = best.argmax(axis=1)
    way = np.zeros((longest, notes), dtype=int)
    for frame in range(longest - 1, -1, -1):
        way[frame] = state
        state = state + came[frame, np.arange(notes), state]
    return _CANDIDATES[way.T[inside.T]].astype(np.float64)


def _fine(frames: _Frames, rows_hz: FloatArray, coarse: FloatArray, free: AudioArray) -> tuple[FloatArray, FloatArray]:
    """Cents against the semitone begun on, and clarity, (frames,) each."""
    base_hz = rows_hz[frames.of]
    wanted_hz = base_hz[:, None] * 2.0 ** (coarse[:, None] / 1200.0) * _ORDERS
    middle = np.clip(np.round(wanted_hz / BIN_HZ).astype(int), 2, BINS - 3)
    near = middle[:, :, None] + np.arange(-1, 2)
    rows = np.arange(len(base_hz))[:, None]
    where = middle - 1 + frames.magnitude[rows[:, :, None], near].argmax(axis=2)
    size, hz = frames.magnitude[rows, where].astype(np.float64), frames.hz[rows, where].astype(np.float64)
    cents = 1200.0 * np.log2(np.maximum(hz, 1.0) / (base_hz[:, None] * _ORDERS))
    off_hz = np.abs(hz - wanted_hz)
    fits = (np.abs(cents - coarse[:, None]) < 70.0) & (np.abs(hz - where * BIN_HZ) < 1.5 * BIN_HZ)
    fits &= (wanted_hz < (BINS - 2) * BIN_HZ) & (off_hz < 3 * BIN_HZ)
    weight = np.where(fits, size * _ORDERS, 0.0) * free[rows, where]
    cents = cents - _stretch(frames, cents, weight)[:, None] * CENTS_PER_STRETCH * (_ORDERS**2 - 1.0)
    pitch = _vote(cents, weight)
    agree = fits & (np.abs(cents - pitch[:, None]) < 25.0)
    return pitch, _clarity(frames, where, agree)


def _stretch(frames: _Frames, cents: FloatArray, weight: FloatArray) -> FloatArray:
    """Stiffness B of each frame's note, (frames,): the slope of its partials' cents over k^2, outliers weighed down."""
    starts = np.cumsum(frames.counts) - frames.counts
    rise = CENTS_PER_STRETCH * (_ORDERS**2 - 1.0) * np.ones((len(cents), 1))
    off = cents - _vote(cents[:, :4], weight[:, :4])[:, None]
    near = np.isfinite(off) & (np.abs(off) < 60.0)
    off, trust = np.where(near, off, 0.0), np.where(near, np.sqrt(weight), 0.0)

    def average(values: FloatArray) -> FloatArray:
        summed = np.add.reduceat((values * trust).sum(axis=1), starts)
        whole = np.maximum(np.add.reduceat(trust.sum(axis=1), starts), 1e-12)
        return np.asarray((summed / whole)[frames.of][:, None])

    slope = np.zeros((len(cents), 1))
    for _ in range(3):
        from_rise, from_off = rise - average(rise), off - average(off)
        slope = average(from_rise * from_off) / np.maximum(average(from_rise**2), 1e-9)
        trust = trust / (1.0 + ((from_off - slope * from_rise) / STRETCH_OUTLIER_CENTS) ** 2)
    return np.clip(slope[:, 0], 0.0, WIDEST_STRETCH)


def _vote(cents: FloatArray, weight: FloatArray) -> FloatArray:
    """Weighted median of each row, then the mean of what lies near it; nan without any weight."""
    order = np.argsort(cents, axis=1)
    ranked = np.take_along_axis(cents, order, 1)
    gathered = np.cumsum(np.take_along_axis(weight, order, 1), axis=1)
    total = gathered[:, -1:]
    middle = np.take_along_axis(ranked, np.argmax(gathered >= total / 2, axis=1)[:, None], 1)
    near = weight / (1.0 + ((cents - middle) / OUTLIER_CENTS) ** 4)
    with np.errstate(invalid="ignore", divide="ignore"):
        pitch: FloatArray = np.where(total[:, 0] > 0, (near * cents).sum(axis=1) / near.sum(axis=1), np.nan)
    return pitch


def _clarity(frames: _Frames, where: NDArray[np.intp], agree: NDArray[np.bool_]) -> FloatArray:
    """Share of the magnitude of a frame that lies in partials which agree on the pitch."""
    rows = np.arange(len(where))
    peak = np.zeros(frames.magnitude.shape, dtype=bool)
    for order in range(PARTIALS):
        chosen = agree[:, order]
        for side in (-1, 0, 1):
            peak[rows[chosen], where[chosen, order] + side] = True
    power = frames.magnitude**2
    total = power[:, 3:].sum(axis=1)
    return np.asarray((power * peak).sum(axis=1) / np.maximum(total, 1e-12), dtype=np.float64)


def _curve(padded: AudioArray, note: RoughNote, cents: FloatArray, clarity: FloatArray) -> PitchCurve:
    cents = np.where(clarity >= CLEAR, cents, np.nan)
    cents = _sharpened(_without_specks(cents))
    settled = settled_cents(cents)
    level_db = _level_db(padded, note)
    return PitchCurve(pitch_midi=note.row + settled / 100.0, cents=cents - settled, clarity=clarity, level_db=level_db)


def _without_specks(cents: FloatArray) -> FloatArray:
    """A curve without single values far from both neighbours."""
    if len(cents) < 3:
        return cents
    usual = median_filter(np.where(np.isfinite(cents), cents, 1e4), 3, mode="nearest")
    return np.where(np.abs(cents - usual) > 40.0, np.nan, cents)


def _sharpened(cents: FloatArray) -> FloatArray:
    """A curve with the window's smoothing taken out; its ends and the rims of gaps stay."""
    step = SHARPEN_STEPS
    if len(cents) <= 2 * step:
        return cents
    inner = cents[step:-step]
    change = SHARPEN * (2.0 * inner - cents[: -2 * step] - cents[2 * step :])
    made = cents.copy()
    made[step:-step] = inner + np.where(np.isfinite(change) & (np.abs(change) < 20.0), change, 0.0)
    return made


def settled_cents(cents: FloatArray) -> float:
    """Where a curve rests longest once its attack is over; 0 without any pitch."""
    skip = min(round(ATTACK_S / CURVE_STEP_S), len(cents) // 3)
    heard = cents[skip:][np.isfinite(cents[skip:])]
    if not len(heard):
        heard = cents[np.isfinite(cents)]
    if not len(heard):
        return 0.0
    swing = round(SWING_S / CURVE_STEP_S)
    level = uniform_filter1d(heard, swing, mode="nearest") if len(heard) > 2 * swing else heard
    ranked = np.sort(level)
    ends = np.searchsorted(ranked, ranked + REST_CENTS, side="right")
    first = int(np.argmax(ends - np.arange(len(ranked))))
    low = ranked[first]
    rests = (level >= low) & (level <= low + REST_CENTS)
    return float(np.median(heard[rests])) if len(heard) <= 2 * swing else float(np.median(level[rests]))


def _level_db(padded: AudioArray, note: RoughNote) -> float:
    first = round(note.onset_s * RATE_HZ) + WINDOW
    last = max(round(note.offset_s * RATE_HZ) + WINDOW, first + 1)
    power = padded[first:last].astype(np.float64) ** 2
    width = min(round(LEVEL_S * RATE_HZ), max(len(power), 1))
    summed = np.concatenate([[0.0], np.cumsum(power)])
    loudest = float((summed[width:] - summed[:-width]).max(initial=0.0)) / width
    return float(10.0 * np.log10(max(loudest, 1e-12)))
