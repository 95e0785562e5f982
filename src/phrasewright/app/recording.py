"""The teacher's own recording in a pack: at every tempo of the lesson, as loud as our own tracks, with its beats."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from threading import Lock

import numpy as np

from phrasewright.app.beats import BeatsError, BeatsWish, beat_map_of, text_of
from phrasewright.app.source import LessonSource
from phrasewright.lesson.model import Lesson, RecordingSpec, StretchKind, tapped_beat
from phrasewright.listen.bar_layout import layout_of
from phrasewright.listen.beat_file import read_beats, write_beats
from phrasewright.listen.beat_map import BeatMap
from phrasewright.listen.onset_strength import RATE
from phrasewright.listen.recording import Recording, read_recording
from phrasewright.score.played_chart import PlayedChart
from phrasewright.sound.encode import write_bytes
from phrasewright.sound.fine_stretch import fine_library, finely_stretched
from phrasewright.sound.limiter import limit
from phrasewright.sound.lossy import write_mix
from phrasewright.sound.loudness import loudness_lufs
from phrasewright.sound.mix import TARGET_LUFS
from phrasewright.sound.stretch import FASTEST, SLOWEST, stretched
from phrasewright.units import amplitude_from_db

LONGEST_S = 20 * 60.0  # of a slowed recording: it lies in memory whole
NAME = "recording"
STRETCHES = {StretchKind.USUAL: stretched, StretchKind.FINE: finely_stretched}


class OwnTrack:
    """The recording of one lesson, read and mapped once, whichever stage asks first. played: the chart as it has it."""

    def __init__(self, lesson: Lesson, spec: RecordingSpec, source: LessonSource) -> None:
        self._lesson, self._spec, self._folder = lesson, spec, source.path.parent
        self.played = PlayedChart(chart=lesson.chart, choruses=spec.choruses)
        self._found: tuple[Recording, BeatMap] | None = None
        self._reading = Lock()

    def write(self, tempo_bpm: float, folder: Path) -> None:
        """Write it at a tapped tempo into a folder, which is made: its sound in the kinds of files that the lesson
        asks for, and its beats. Raises PhrasewrightError.
        """
        audio, beats = self.at(tempo_bpm)
        folder.mkdir(parents=True)
        for kind in self._lesson.sound.files:
            write_mix(folder / f"{NAME}.{kind}", audio, RATE)
        write_bytes(folder / f"{NAME}.beats.txt", write_beats(beats).encode())

    def check(self) -> None:
        """Read and map it, and see that it can be brought to every tempo. Raises PhrasewrightError."""
        recording, beats = self._read()
        for tempo_bpm in self._lesson.tempos_bpm:
            self._speed(tempo_bpm, recording, beats)

    def at(self, tempo_bpm: float) -> tuple[np.ndarray, BeatMap]:
        """Its sound at a tapped tempo, float32 (n, 2), and its beats there. Raises PhrasewrightError."""
        recording, beats = self._read()
        speed = self._speed(tempo_bpm, recording, beats)
        return as_loud_as_ours(STRETCHES[self._spec.stretch](recording.audio, RATE, speed)), at_speed(beats, speed)

    def _read(self) -> tuple[Recording, BeatMap]:
        with self._reading:
            if self._found is None:
                if self._spec.stretch is StretchKind.FINE:
                    fine_library()  # missing, it is told before anything is read
                recording = read_recording(self._folder / self._spec.file)
                beats = self._beats(recording)
                if all(bar.number < 1 for bar in beats.bars):
                    raise BeatsError(f"{self._spec.file} has no whole bar.", hint="Check its taps or its beats file.")
                self._found = recording, beats
            return self._found

    def _beats(self, recording: Recording) -> BeatMap:
        spec = self._spec
        if spec.beats:
            path = self._folder / spec.beats
            beats = read_beats(text_of(path, "beats"), str(path))
            _check_belongs(beats, recording, self.played, path)
            return beats
        wish = BeatsWish(
            recording=self._folder / spec.file,
            taps=self._folder / spec.taps,
            meter=self._lesson.meter,
            chart=self.played,
            first_bar=spec.first_bar,
            first_beat=spec.first_beat,
        )
        return beat_map_of(wish, recording)

    def _speed(self, tempo_bpm: float, recording: Recording, beats: BeatMap) -> float:
        pulse, beat = self.played.pulse, tapped_beat(self._lesson.meter)
        own_bpm = unmarked_tempo_bpm(beats, self.played) * float(pulse / beat)
        speed = tempo_bpm / own_bpm
        if not SLOWEST <= speed <= FASTEST:
            raise BeatsError(
                f"{self._spec.file} is played at {own_bpm:.0f} beats a minute, too far from {tempo_bpm:g}.",
                hint=f"Write tempos from {SLOWEST * own_bpm:.0f} to {FASTEST * own_bpm:.0f} into band.tempos.",
            )
        if recording.length_s / speed > LONGEST_S:
            what = f"{self._spec.file} would last {recording.length_s / speed / 60:.0f} minutes at {tempo_bpm:g}."
            raise BeatsError(what, hint=f"Cut it, or leave out slow tempos; {LONGEST_S / 60:g} minutes is the limit.")
        return speed


def unmarked_tempo_bpm(beats: BeatMap, played: PlayedChart) -> float:
    """Beats a minute of the bars at the chart's own tempo: the middle of all, tempo marks taken out."""
    timed = [(beats.place(beat), beat.time_s) for beat in beats.beats if beats.place(beat) >= 0]
    gaps_s = np.diff([time_s for _, time_s in timed])
    return 60.0 / float(np.median(gaps_s / np.array(played.paces([place for place, _ in timed[:-1]]))))


def at_speed(beats: BeatMap, speed: float) -> BeatMap:
    """The beats of a recording that is played faster or slower."""
    moved = tuple(replace(beat, time_s=beat.time_s / speed) for beat in beats.beats)
    return replace(beats, beats=moved, length_s=beats.length_s / speed)


def as_loud_as_ours(audio: np.ndarray) -> np.ndarray:
    """At -18 LUFS, true peak at most -1 dBTP (ITU-R BS.1770-4), float32 (n, 2)."""
    stereo = audio if audio.ndim == 2 else np.repeat(audio[:, None], 2, axis=1)
    gain = amplitude_from_db(TARGET_LUFS - loudness_lufs(stereo, RATE))
    loud = (stereo * np.float32(gain)).astype(np.float32)
    limit(loud, RATE)
    return loud


def _check_belongs(beats: BeatMap, recording: Recording, played: PlayedChart, path: Path) -> None:
    if beats.layout.meter != played.chart.meter:
        what = f"{path} has bars of {beats.layout.meter}, and the lesson has {played.chart.meter}."
        raise BeatsError(what, hint="Map the recording again with the lesson's meter.")
    if beats.layout != layout_of(played):
        what = f"{path} counts other bars than the lesson's chart and choruses."
        raise BeatsError(what, hint="Map the recording again with that chart, and with as many choruses or none.")
    if abs(beats.length_s - recording.length_s) > 0.5:
        what = f"{path} belongs to a recording of {beats.length_s:.1f} s; this one lasts {recording.length_s:.1f} s."
        raise BeatsError(what, hint="Map this recording: phrasewright beats.")
