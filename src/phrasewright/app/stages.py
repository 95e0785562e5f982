"""The stages of a build: what each one makes, and the key that says when to make it again.

A key covers the program itself and all that goes in, so a changed tempo touches only what sounds or names a tempo
(audio, MIDI, page), a changed word only page, handout and words.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from phrasewright.app.audio import tempo_folder, write_audio
from phrasewright.app.composing import COMPOSING_PATH, composing_json
from phrasewright.app.exchange import midi_files, notation_files
from phrasewright.app.facts import paragraphs
from phrasewright.app.figures import first_phrase
from phrasewright.app.handout import sheet_of
from phrasewright.app.manifest import Role, digest_of, program_digest
from phrasewright.app.pack import Stage
from phrasewright.app.page import page_content
from phrasewright.app.page_sound import page_performance, sound_bank
from phrasewright.app.planning import plan_source
from phrasewright.app.practice import Version, practice_kind, practice_tempo_bpm, versions, write_version
from phrasewright.app.recorded_page import recorded_pieces
from phrasewright.app.recording import OwnTrack
from phrasewright.app.sounds import AudioWish, audio_wish
from phrasewright.app.source import LessonSource
from phrasewright.app.workshop import Workshop
from phrasewright.engrave.handout.pdf import handout_pdf
from phrasewright.engrave.handout.sheet import Paper
from phrasewright.engrave.page.content import USUAL_CAUTIONS
from phrasewright.engrave.page.render import render_page
from phrasewright.engrave.words import LetteredMotif, words_text
from phrasewright.lesson.model import Lesson
from phrasewright.sound.events import SAMPLE_RATE
from phrasewright.sound.sounds import Sounds

FIGURES = "figures"
HANDOUTS = {Paper.A4: "handout-a4.pdf", Paper.LETTER: "handout-letter.pdf"}


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedBuild:
    """A lesson's stages and the work they share."""

    title: str
    seed: int
    stages: tuple[Stage, ...]
    workshop: Workshop


def plan_stages(source: LessonSource) -> PlannedBuild:
    """The stages of a lesson's pack, those first that others wait for. Raises LessonError."""
    planned = plan_source(source)
    workshop = Workshop(planned)
    lesson = planned.lesson
    taught = digest_of(
        program_digest(),
        planned.position,
        planned.shelf,
        planned.exercises,
        planned.studies,
        lesson.chart,
        lesson.counts,
    )
    band = digest_of(taught, lesson.groove, lesson.choruses, lesson.seed)
    sheet = digest_of(taught, lesson.title, lesson.words, lesson.teacher, lesson.school, lesson.groove)
    wish = audio_wish(lesson.sound, source.font, sample_rate=SAMPLE_RATE)
    heard = digest_of(band, lesson.sound.source, lesson.sound.a4_hz, source.font_sha256)
    practice = digest_of(heard, lesson.practice, practice_tempo_bpm(lesson), practice_kind(lesson))
    exchange = digest_of(band, *_midi_wish(lesson))
    own = None if lesson.recording is None else OwnTrack(lesson, lesson.recording, source)
    stages = [
        *_tracks(workshop, own, source, heard, wish),
        *(_practice(version, practice, wish.sounds) for version in versions(planned)),
        _stage(FIGURES, Role.FIGURE, taught, "drawing the figures", lambda: _text_files(workshop.figures())),
        _stage(
            "page",
            Role.PAGE,
            digest_of(heard, source.sha256),
            "making the page",
            lambda: _page(workshop, source, own, wish.sounds),
        ),
        _stage("handout", Role.HANDOUT, sheet, "printing the handout", lambda: _handouts(workshop, sheet)),
        _stage("notation", Role.EXCHANGE, exchange, "writing exchange files", lambda: _notation(workshop)),
        _stage("midi", Role.EXCHANGE, exchange, "writing MIDI", lambda: _midi(workshop)),
        _stage("words", Role.WORDS, sheet, "putting it into words", lambda: _words(workshop)),
        _stage("reasons", Role.REASONS, taught, "giving reasons", lambda: _reasons(workshop)),
        _stage("lesson", Role.LESSON, source.sha256, "keeping the lesson", lambda: {"lesson.toml": source.content}),
    ]
    return PlannedBuild(title=lesson.title, seed=lesson.seed, stages=tuple(stages), workshop=workshop)


def _stage(name: str, role: Role, key: str, words: str, files: Callable[[], Mapping[str, bytes]]) -> Stage:
    def make(folder: Path) -> None:
        for path, content in files().items():
            target = folder / path
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(content)

    return Stage(name=name, role=role, key=digest_of(name, key), words=words, make=make)


def _tracks(
    workshop: Workshop, own: OwnTrack | None, source: LessonSource, heard: str, wish: AudioWish
) -> Iterator[Stage]:
    """The track at each tempo: the teacher's own recording, or the band."""
    lesson = workshop.plan.lesson
    if own is None:
        yield from (_audio(workshop, tempo_bpm, heard, wish) for tempo_bpm in lesson.tempos_bpm)
        return
    files = sorted(source.recording.items())
    key = digest_of(program_digest(), lesson.recording, files, lesson.chart, lesson.sound.files)
    yield from (_own(own, tempo_bpm, key) for tempo_bpm in lesson.tempos_bpm)


def _own(own: OwnTrack, tempo_bpm: float, key: str) -> Stage:
    return Stage(
        name=f"audio at {tempo_bpm:g}",
        role=Role.AUDIO,
        key=digest_of("own recording", key, tempo_bpm),
        words=f"bringing the recording to {tempo_bpm:g}",
        make=lambda folder: own.write(tempo_bpm, folder / tempo_folder(tempo_bpm)),
    )


def _audio(workshop: Workshop, tempo_bpm: float, heard: str, wish: AudioWish) -> Stage:
    lesson = workshop.plan.lesson
    performance = lesson.performance(tempo_bpm)
    path = tempo_folder(tempo_bpm)
    return Stage(
        name=f"audio at {tempo_bpm:g}",
        role=Role.AUDIO,
        key=digest_of(heard, tempo_bpm, wish.files, wish.stems),
        words=f"playing the band at {tempo_bpm:g}",
        make=lambda folder: write_audio(
            workshop.final_track.score, performance, folder / path, seed=lesson.seed, wish=wish
        ),
    )


def _practice(version: Version, key: str, sounds: Sounds) -> Stage:
    return Stage(
        name=f"practice {version.name}",
        role=Role.AUDIO,
        key=digest_of(version.name, key),
        words=f"playing for practice: {version.words.lower()}",
        make=lambda folder: write_version(version, folder, sounds),
    )


def _text_files(texts: Mapping[str, str]) -> dict[str, bytes]:
    return {path: text.encode() for path, text in texts.items()}


def _page(workshop: Workshop, source: LessonSource, own: OwnTrack | None, sounds: Sounds) -> dict[str, bytes]:
    planned, pieces = workshop.plan, workshop.pieces
    slowest = planned.lesson.performance(min(planned.lesson.tempos_bpm))
    everything = (*pieces.all, *workshop.motifs)
    first = page_performance(planned)
    bank = sound_bank(everything, slowest, first, balance_on=pieces.studies[0], seed=planned.lesson.seed, sounds=sounds)
    recorded, sprites = recorded_pieces(own, planned, pieces.track, everything) if own else ((), {})
    content = page_content(
        planned,
        pieces,
        workshop.motifs,
        workshop.figures(),
        replace(bank, recordings=sprites),
        lesson_sha256=source.sha256,
        recorded=recorded,
    )
    return render_page(content)


def _handouts(workshop: Workshop, digest: str) -> dict[str, bytes]:
    pieces = workshop.pieces
    sheet = sheet_of(workshop.plan, pieces.exercises, pieces.studies, workshop.figures(), digest=digest)
    return {name: handout_pdf(sheet, paper) for paper, name in HANDOUTS.items()}


def _notation(workshop: Workshop) -> dict[str, bytes]:
    planned = workshop.plan
    return notation_files(workshop.pieces.all, page_performance(planned))


def _midi(workshop: Workshop) -> dict[str, bytes]:
    return midi_files(workshop.pieces.all, *_midi_wish(workshop.plan.lesson))


def _midi_wish(lesson: Lesson) -> tuple[float, float]:
    """Quarter notes a minute, and concert pitch in Hz."""
    return lesson.quarters_per_minute(lesson.tempos_bpm[0]), lesson.sound.a4_hz


def _reasons(workshop: Workshop) -> dict[str, bytes]:
    pieces = workshop.pieces
    return {COMPOSING_PATH: composing_json(workshop.plan, pieces.exercises, pieces.studies).encode()}


def _words(workshop: Workshop) -> dict[str, bytes]:
    planned, pieces = workshop.plan, workshop.pieces
    text = words_text(
        title=planned.lesson.title,
        position=planned.position,
        motifs=[
            LetteredMotif(letter=item.letter, motif=item.motif, count=first_phrase(planned, item.motif).count)
            for item in planned.shelf.items
        ],
        chart=planned.lesson.chart,
        exercises=[piece.score for piece in pieces.exercises],
        studies=[piece.score for piece in pieces.studies],
        paragraphs=paragraphs(planned.lesson.words),
        cautions=USUAL_CAUTIONS,
    )
    return {"words.txt": text.encode()}
