"""The page of a lesson: everything it shows and plays, as page content."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from phrasewright.app.audio import tempo_folder
from phrasewright.app.composing import COMPOSING_PATH
from phrasewright.app.facts import (
    BITS_WORDS,
    DIFFICULTY_WORDS,
    bits_text,
    fit_words,
    lead_facts,
    lesson_facts,
    paragraphs,
    stamp,
    study_reasons,
)
from phrasewright.app.figures import (
    CHART_PATH,
    SheetWidth,
    first_phrase,
    id_prefix,
    motif_path,
    neck_path,
    strip_path,
    systems_of,
    tones_path,
)
from phrasewright.app.page_sound import clip_finder, page_performance
from phrasewright.app.pieces import BandPiece
from phrasewright.app.practice import practice_kind, practice_tempo_bpm, versions
from phrasewright.app.recorded_page import RECORDING_WORDS
from phrasewright.compose.difficulty import difficulty_of_phrase
from phrasewright.compose.exercise import lead_score
from phrasewright.engrave.chart_words import spoken_chart
from phrasewright.engrave.neck_diagram import NeckLabels
from phrasewright.engrave.page.content import (
    CountView,
    DownloadView,
    ExerciseView,
    FigureView,
    FitView,
    MotifView,
    NeckView,
    PageContent,
    PositionView,
    ReasonView,
    SystemsView,
    SystemView,
    TrackView,
)
from phrasewright.engrave.page.piece_view import PieceView
from phrasewright.engrave.page.pieces import piece_from_score
from phrasewright.engrave.page.sound_bank import SoundBank
from phrasewright.engrave.spoken import spoken_count, spoken_motif, spoken_number, spoken_position
from phrasewright.engrave.words import spoken_exercise
from phrasewright.lesson.plan import LessonPlan
from phrasewright.melody.fit_table import FitRow, fit_table
from phrasewright.melody.shelf import ShelfMotif
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.sound.encode import FileKind
from phrasewright.sound.track import delays_s
from phrasewright.theory.count import Count

MOTIF_BARS = 2
_KIND_NAMES = {FileKind.FLAC: "FLAC", FileKind.MP3: "MP3", FileKind.OGG: "Ogg Vorbis", FileKind.WAV: "WAV"}
TRACK_WORDS = (
    "The lead plays the first study once, then the choruses are yours. "
    "Choose “your turn” to have the band alone, or loop the bars you want to stay in."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pieces:
    """All that can be played on the page besides the motifs."""

    exercises: tuple[BandPiece, ...]
    studies: tuple[BandPiece, ...]
    track: BandPiece

    @property
    def all(self) -> tuple[BandPiece, ...]:
        """In the order of the sheet."""
        return (*self.exercises, *self.studies, self.track)


def motif_pieces(plan: LessonPlan) -> tuple[BandPiece, ...]:
    """Every motif of the shelf by itself, with its first count and a rest, over the chord it suits best."""
    return tuple(_motif_piece(plan, item) for item in plan.shelf.items)


def page_content(
    plan: LessonPlan,
    pieces: Pieces,
    motifs: tuple[BandPiece, ...],
    figures: Mapping[str, str],
    bank: SoundBank,
    *,
    lesson_sha256: str,
    recorded: tuple[PieceView, ...] = (),
) -> PageContent:
    """Gather the page. figures: by path, as ``figures.draw_figures`` made them; recorded: the track as a recording, at
    each tempo, in place of the band's.
    """
    lesson = plan.lesson
    views = {piece.id: piece_view(piece, plan, (*pieces.all, *motifs)) for piece in (*pieces.all, *motifs)}
    return PageContent(
        lesson_id=lesson_sha256[:12],
        title=lesson.title,
        school=lesson.school,
        teacher=lesson.teacher,
        words=paragraphs(lesson.words),
        facts=lesson_facts(plan),
        position=_position(plan, figures),
        motifs=tuple(
            _motif(row, plan, figures, views[motif.id])
            for row, motif in zip(fit_table(plan.shelf, lesson.chart, idiom=lesson.shelf.idiom), motifs, strict=True)
        ),
        exercises=tuple(_exercise(piece, views[piece.id], figures) for piece in pieces.exercises),
        studies=tuple(
            _exercise(piece, views[piece.id], figures, reasons=study_reasons(study))
            for piece, study in zip(pieces.studies, plan.studies, strict=True)
        ),
        chart=FigureView(svg=figures[CHART_PATH], alt="The chart.", words=(spoken_chart(lesson.chart),)),
        track=TrackView(piece=recorded[0], words=RECORDING_WORDS, others=recorded[1:])
        if recorded
        else TrackView(piece=views["track"], words=track_words(lesson.chart)),
        downloads=downloads(plan, pieces),
        bank=bank,
        counts=_counts(plan),
        fits_words=f"{BITS_WORDS} {DIFFICULTY_WORDS}",
        stamp=stamp(lesson_sha256, lesson.seed),
        a4_hz=lesson.sound.a4_hz,
    )


def _motif_piece(plan: LessonPlan, item: ShelfMotif) -> BandPiece:
    meter = plan.lesson.meter
    chord = None if item.best is None else item.best[0]
    chart = Chart(meter=meter, bars=(ChartBar(chords=((chord, meter.bar),)),))
    phrase = first_phrase(plan, item.motif)
    bars = max(MOTIF_BARS, phrase.count.bars + 1)
    score = lead_score(
        f"Motif {item.letter}",
        "",
        phrase.notes(),
        bars=bars,
        chart=chart,
        position=plan.position,
        voice=plan.lesson.lead_voice,
    )
    return BandPiece(id=f"motif-{item.letter.lower()}", score=score)


def piece_view(piece: BandPiece, plan: LessonPlan, everything: tuple[BandPiece, ...]) -> PieceView:
    """A piece as the page plays it. everything: all pieces that share its clips."""
    lesson = plan.lesson
    tempos_bpm = [lesson.quarters_per_minute(tempo) for tempo in lesson.tempos_bpm]
    return piece_from_score(
        piece.score,
        id=piece.id,
        clips_of=clip_finder(everything, page_performance(plan)),
        delays_s=delays_s,
        swing=plan.lesson.groove.swing,
        tempo_bpm=tempos_bpm[0],
        tempos_bpm=tempos_bpm,
        chart_bars=piece.chart_bars,
    )


def _position(plan: LessonPlan, figures: Mapping[str, str]) -> PositionView:
    alt = spoken_position(plan.position)
    names = {NeckLabels.DEGREES: "Degrees", NeckLabels.FINGERS: "Fingers", NeckLabels.NAMES: "Note names"}
    return PositionView(
        name=plan.position.name,
        words=(alt,),
        labels=tuple(
            NeckView(label=name, figure=FigureView(svg=figures[neck_path(labels)], alt=alt))
            for labels, name in names.items()
        ),
        tones=tuple(
            NeckView(
                label=chord.printed,
                figure=FigureView(svg=figures[tones_path(number)], alt=f"{alt} Tones of {chord.printed} are filled."),
                chord=chord.printed,
            )
            for number, chord in enumerate(plan.lesson.chart.chords, start=1)
        ),
    )


def _motif(row: FitRow, plan: LessonPlan, figures: Mapping[str, str], piece: PieceView) -> MotifView:
    item = row.item
    phrase = first_phrase(plan, item.motif)
    words = spoken_motif(item.motif, item.letter, phrase.count)
    return MotifView(
        letter=item.letter,
        degrees=item.motif.degrees_text,
        shape=item.motif.contour.value,
        card=FigureView(svg=figures[motif_path(item.letter)], alt=words, words=(words,)),
        reasons=(item.why.split(": ", 1)[1],),
        name=plan.names.get(item.letter, ""),
        fits=tuple(
            FitView(chord=cell.chord.printed, words=fit_words(cell), number=f"{bits_text(cell.bits)} bits")
            for cell in row.cells
        ),
        piece=piece,
        facts=f"difficulty {difficulty_of_phrase(phrase).level:.1f}",
    )


def _exercise(
    piece: BandPiece,
    view: PieceView,
    figures: Mapping[str, str],
    *,
    reasons: tuple[ReasonView, ...] = (),
) -> ExerciseView:
    wide, narrow = (
        tuple(
            SystemView(svg=system.svg, first_bar=system.first_bar, last_bar=system.last_bar, width_share=1.0)
            for system in systems_of(figures, piece.id, sheet)
        )
        for sheet in SheetWidth
    )
    words = spoken_exercise(piece.score)
    glance = f"{piece.score.title}: phrases and silence in time."
    wide_strip, narrow_strip = (
        FigureView(svg=figures[strip_path(piece.id, sheet)], alt=glance) for sheet in SheetWidth
    )
    return ExerciseView(
        piece=view,
        instruction=piece.score.words,
        systems=SystemsView(
            wide=wide,
            narrow=narrow,
            wide_prefix=id_prefix(piece.id, SheetWidth.WIDE),
            narrow_prefix=id_prefix(piece.id, SheetWidth.NARROW),
            alt=f"{piece.score.title} in notation and tablature; it stands in words below.",
            words=(words,),
        ),
        facts=lead_facts(piece.lead_only, is_open=piece.is_open),
        reasons=reasons,
        strip=wide_strip,
        strip_narrow=narrow_strip,
    )


def _counts(plan: LessonPlan) -> tuple[CountView, ...]:
    """Every count that the shelf's motifs may take, the short ones first."""
    sizes = sorted({len(item.motif.steps) for item in plan.shelf.items})
    return tuple(
        CountView(spoken=count.text, words=_count_words(count, size))
        for size in sizes
        for count in plan.material.counts[size]
    )


def _count_words(count: Count, notes: int) -> str:
    spoken = spoken_count(count)
    return f"{spoken[:1].upper()}{spoken[1:]}. For motifs of {spoken_number(notes)} notes."


def track_words(chart: Chart) -> str:
    """What to do with the track, and what of the chart it leaves out because it goes round."""
    once = [name for name, there in (("pick-up", chart.pickup), ("coda", chart.coda)) if there]
    if not once:
        return TRACK_WORDS
    verb = "are" if len(once) > 1 else "is"
    return f"{TRACK_WORDS} It goes round here: {' and '.join(once)} {verb} in the audio files."


def downloads(plan: LessonPlan, pieces: Pieces) -> tuple[DownloadView, ...]:
    """What the page offers to download."""
    rows = [
        ("handout-a4.pdf", "Handout, A4", "to print", "On paper"),
        ("handout-letter.pdf", "Handout, Letter", "to print", "On paper"),
        ("words.txt", "The lesson in words", "plain text, for reading aloud", "On paper"),
    ]
    kind = practice_kind(plan.lesson)
    for tempo_bpm in plan.lesson.tempos_bpm:
        folder, name = tempo_folder(tempo_bpm), _KIND_NAMES[kind]
        if plan.lesson.recording is not None:
            rows.append((f"{folder}/recording.{kind}", f"Recording at {tempo_bpm:g}", name, "Audio"))
            continue
        rows.append((f"{folder}/band.{kind}", f"Band at {tempo_bpm:g}", f"{name}, with one bar counted in", "Audio"))
        rows.append((f"{folder}/demonstration.{kind}", f"With demonstration at {tempo_bpm:g}", name, "Audio"))
    detail = f"{_KIND_NAMES[kind]} at {practice_tempo_bpm(plan.lesson):g}"
    rows += [(version.path, version.words, detail, "For practice") for version in versions(plan)]
    rows.append((COMPOSING_PATH, "Difficulty and reasons", "numbers as JSON", "For other programs"))
    for piece in pieces.all:
        title = "Track" if piece.id == "track" else piece.score.title
        rows.append((f"exchange/{piece.id}.musicxml", title, "MusicXML", "For other programs"))
        rows.append((f"exchange/{piece.id}.mid", title, "MIDI", "For other programs"))
        rows.append((f"exchange/{piece.id}.mei", title, "MEI", "For other programs"))
        rows.append((f"exchange/{piece.id}-tab.txt", title, "tablature as text", "For other programs"))
    return tuple(
        DownloadView(href=href, label=label, detail=detail, group=group) for href, label, detail, group in rows
    )
