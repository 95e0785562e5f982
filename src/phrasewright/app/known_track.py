"""Tracks that a take may have in it besides the player: a file that is named, or the lesson's own at its tempos.

The lesson's own track is played anew by the band as the pack has it, since a pack need not be at hand. A lesson over a
teacher's recording has no band; its track is named as a file.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import soxr

from phrasewright.app.assignment import Assignment
from phrasewright.app.audio import play
from phrasewright.app.pieces import track_piece
from phrasewright.app.sounds import sounds_of
from phrasewright.band.form import Ending
from phrasewright.listen.backing import Removal, remove_track
from phrasewright.listen.hear.spectrum import RATE_HZ
from phrasewright.listen.take_file import read_take
from phrasewright.score.model import PartRole
from phrasewright.sound.events import SAMPLE_RATE
from phrasewright.sound.mix import mix_stems, mix_without

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float32]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class KnownTrack:
    """What may be heard in a take. audio: mono at ``RATE_HZ``; tempo_bpm: tapped, None = of a file, not known."""

    audio: FloatArray
    tempo_bpm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TakenOut:
    """A take without its track. removal: with the take itself where no track was heard; track: None then."""

    removal: Removal
    track: KnownTrack | None


def track_file(path: Path) -> KnownTrack:
    """A track that is named. Raises OutputError and RecordingError."""
    return KnownTrack(audio=read_take(path).audio)


def lesson_tracks(assignment: Assignment) -> tuple[KnownTrack, ...]:
    """The lesson's own track at each tempo the take may be at; none where it is a teacher's recording.

    Raises SoundError when the lesson's SoundFont is missing.
    """
    lesson = assignment.plan.lesson
    if lesson.recording is not None:
        return ()
    sounds = sounds_of(lesson.sound, None, sample_rate=SAMPLE_RATE)
    score = track_piece(assignment.plan, Ending.FINAL).score
    found = []
    for tempo_bpm in assignment.tempos_bpm:
        track = play(score, assignment.performance(tempo_bpm), seed=lesson.seed, sounds=sounds)
        band = mix_without(mix_stems(track.dry, track.sample_rate), PartRole.LEAD, track.sample_rate)
        found.append(KnownTrack(audio=soxr.resample(band.mean(axis=1), SAMPLE_RATE, RATE_HZ), tempo_bpm=tempo_bpm))
    return tuple(found)


def take_out(take: FloatArray, tracks: Sequence[KnownTrack]) -> TakenOut:
    """The take without whichever of the tracks is heard best in it. take: mono at ``RATE_HZ``."""
    removals = [(remove_track(take, track.audio, RATE_HZ), track) for track in tracks]
    removal, track = max(removals, key=lambda pair: pair[0].confidence, default=(Removal(audio=take), None))
    return TakenOut(removal=removal, track=track if removal.confidence > 0.0 else None)
