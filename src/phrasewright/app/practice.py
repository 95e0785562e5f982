"""Versions of the track to practise with: call and response, drums that stay out, the lead on one side, rising tempo,
round the fourths, clicks alone. Each is one file at standard loudness, of the easiest kind that the lesson asks for.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import numpy as np

from phrasewright.app.audio import COUNT_IN_BARS, play
from phrasewright.app.pieces import band_score, track_piece, whole_track
from phrasewright.app.sounds import easiest_of
from phrasewright.band.drums import count_in
from phrasewright.band.form import Ending
from phrasewright.lesson.band_part import most_choruses
from phrasewright.lesson.model import Lesson
from phrasewright.lesson.plan import LessonPlan
from phrasewright.score.model import DrumPart, Note, PartRole, Score
from phrasewright.score.touch_rules import mended
from phrasewright.sound.encode import FileKind
from phrasewright.sound.events import SAMPLE_RATE
from phrasewright.sound.lossy import write_mix
from phrasewright.sound.mix import SEATS, mix_stems, mix_without
from phrasewright.sound.sounds import Sounds
from phrasewright.sound.track import Track

FOLDER = "audio/practice"
KEYS = 12
_LEFT, _RIGHT = -1.0, 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Version:
    """A version. name, kind: of its file; words: what it is, for the page; sound: renders it, float32 (n, 2).

    sound takes the source of single sounds.
    """

    name: str
    words: str
    sound: Callable[[Sounds], np.ndarray]
    kind: FileKind

    @property
    def path(self) -> str:
        """Its file in the pack."""
        return f"{FOLDER}/{self.name}.{self.kind}"


def versions(plan: LessonPlan) -> tuple[Version, ...]:
    """What the lesson asks for; nothing is arranged or played before its ``sound`` is asked for."""
    return tuple(_versions(plan))


def write_version(version: Version, folder: Path, sounds: Sounds) -> None:
    """Render one and write it below a folder. Raises OutputError, and SoundError when a SoundFont lacks a sound."""
    target = folder / version.path
    target.parent.mkdir(parents=True)
    write_mix(target, version.sound(sounds), SAMPLE_RATE)


def _versions(plan: LessonPlan) -> Iterator[Version]:
    wish, seed = plan.lesson.practice, plan.lesson.seed
    version = partial(Version, kind=practice_kind(plan.lesson))
    performance = plan.lesson.performance(practice_tempo_bpm(plan.lesson))

    def track() -> Score:
        return track_piece(plan, Ending.FINAL).score

    def band(score: Score, sounds: Sounds) -> np.ndarray:
        sound = play(score, performance, seed=seed, sounds=sounds)
        return mix_without(mix_stems(sound.dry, SAMPLE_RATE), PartRole.LEAD, SAMPLE_RATE)

    def all_of(score: Score, sounds: Sounds) -> np.ndarray:
        return mix_stems(play(score, performance, seed=seed, sounds=sounds).dry, SAMPLE_RATE).master

    if wish.call_and_response is not None:
        turn = wish.call_and_response
        yield version(
            name="call-and-response",
            words=f"Call and response, {turn} bar{'s' if turn > 1 else ''} each",
            sound=lambda sounds: all_of(call_and_response(whole_track(plan, Ending.FINAL).score, turn), sounds),
        )
    if wish.drums_out is not None:
        out, every = wish.drums_out
        words = f"Drums out for {out} of every {every} bars"
        yield version(name="drums-out", words=words, sound=lambda sounds: band(drums_out(track(), out, every), sounds))
    if wish.lead_aside:
        words = "Lead on the left, band on the right"
        yield version(
            name="lead-aside",
            words=words,
            sound=lambda sounds: _aside(play(track(), performance, seed=seed, sounds=sounds)),
        )
    if wish.rising_bpm is not None:
        words = f"Each chorus {wish.rising_bpm:g} beats a minute faster"
        yield version(name="rising", words=words, sound=lambda sounds: _rising(plan, sounds))
    if wish.fourths:
        words = "Each chorus a fourth higher"
        yield version(name="fourths", words=words, sound=lambda sounds: all_of(round_the_fourths(plan), sounds))
    if wish.click:
        yield version(name="click", words="Clicks alone", sound=lambda sounds: all_of(clicks_only(track()), sounds))


def practice_kind(lesson: Lesson) -> FileKind:
    """The kind of the versions' files: of those the lesson asks for, the one most players and phones take."""
    return easiest_of(tuple(FileKind(kind) for kind in lesson.sound.files))


def practice_tempo_bpm(lesson: Lesson) -> float:
    """The tapped tempo of the versions."""
    wished = lesson.practice.tempo_bpm
    return lesson.tempos_bpm[0] if wished is None else wished


def call_and_response(score: Score, bars: int) -> Score:
    """The lead in every other stretch of so many bars; a note that reaches past its stretch ends with it."""
    lead = score.part(PartRole.LEAD)
    notes: list[Note] = []
    for note in lead.notes:
        index = next(i for i, bar in enumerate(score.measures) if bar.onset <= note.onset < bar.end)
        if index // bars % 2:
            continue
        last = score.measures[min(index // bars * bars + bars, len(score.measures)) - 1]
        notes.append(replace(note, duration=min(note.duration, last.end - note.onset)))
    played = mended(notes, lead.instrument)
    others = tuple(part for part in score.parts if part.role is not PartRole.LEAD)
    return replace(score, parts=(replace(lead, notes=played), *others))


def drums_out(score: Score, out: int, every: int) -> Score:
    """Without drums in the last ``out`` bars of every ``every`` bars."""
    if score.drums is None:
        return score
    silent = [bar for index, bar in enumerate(score.measures) if index % every >= every - out]
    hits = tuple(hit for hit in score.drums.hits if not any(bar.onset <= hit.onset < bar.end for bar in silent))
    return replace(score, drums=replace(score.drums, hits=hits))


def clicks_only(score: Score) -> Score:
    """Clicks on the tapped beats of every bar, the first of a bar loudest, and nothing else."""
    hits = tuple(replace(hit, onset=bar.onset + hit.onset) for bar in score.measures for hit in count_in(bar.meter))
    return replace(score, parts=(), drums=DrumPart(name="Clicks", hits=hits))


def round_the_fourths(plan: LessonPlan) -> Score:
    """The chart through twelve keys, each a fourth higher, as many as fit into the longest track."""
    lesson = plan.lesson
    most = most_choruses(lesson.chart, practice_tempo_bpm(lesson))
    keys = [lesson.chart.moved(-turn) for turn in range(min(KEYS, max(most, 1)))]
    measures = replace(keys[0], bars=tuple(bar for key in keys for bar in key.bars), coda=keys[-1].coda).whole(1)
    return band_score("Round the fourths", measures, lesson.groove, seed=lesson.seed, ending=Ending.FINAL)


def _rising(plan: LessonPlan, sounds: Sounds) -> np.ndarray:
    """Chorus after chorus, each at its own tempo, the tails of one ringing on into the next."""
    lesson = plan.lesson
    first_bpm, step_bpm = practice_tempo_bpm(lesson), lesson.practice.rising_bpm or 0.0
    pieces: list[tuple[int, Track]] = []
    at = 0
    for chorus in range(lesson.choruses):
        last = chorus == lesson.choruses - 1
        measures = lesson.chart.unfold(len(lesson.chart.bars))
        ending = Ending.FINAL if last else Ending.LOOP
        score = band_score("Rising", measures, lesson.groove, seed=lesson.seed + chorus, ending=ending)
        performance = lesson.performance(first_bpm + chorus * step_bpm)
        count_in_bars = COUNT_IN_BARS if chorus == 0 else 0
        track = play(score, performance, seed=lesson.seed, sounds=sounds, count_in_bars=count_in_bars)
        pieces.append((at, track))
        at += track.sample_at(score.end)
    return mix_stems(_joined(pieces), SAMPLE_RATE).master


def _joined(pieces: list[tuple[int, Track]]) -> Mapping[PartRole, np.ndarray]:
    length = max(at + len(stem) for at, track in pieces for stem in track.dry.values())
    whole: dict[PartRole, np.ndarray] = {}
    for at, track in pieces:
        for role, stem in track.dry.items():
            here = whole.setdefault(role, np.zeros((length, *stem.shape[1:]), dtype=np.float32))
            here[at : at + len(stem)] += stem
    return whole


def _aside(track: Track) -> np.ndarray:
    """The lead left, all else right."""
    seats = {role: replace(seat, pan=_LEFT if role is PartRole.LEAD else _RIGHT) for role, seat in SEATS.items()}
    dry = {role: stem if stem.ndim == 1 else stem.mean(axis=1, dtype=np.float32) for role, stem in track.dry.items()}
    return mix_stems(dry, track.sample_rate, seats=seats).master
