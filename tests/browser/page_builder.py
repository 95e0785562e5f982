"""A small lesson for the page's tests: written by hand, figures drawn as plain SVG, sound made of short tones.

Scenario: Harbour Lane, a community music school. Nothing here depends on how figures or sound are really made.
"""

from __future__ import annotations

import io
from dataclasses import replace
from fractions import Fraction

import numpy as np
import soundfile

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
from phrasewright.engrave.page.sound_bank import Clip, ClipUse, SoundBank, Sprite
from phrasewright.neck.instrument import StringFret
from phrasewright.score.model import (
    ChordSpan,
    Drum,
    DrumPart,
    Hit,
    Measure,
    Note,
    Part,
    PartRole,
    Score,
)
from phrasewright.score.performance import SwingCurve
from phrasewright.theory.chord import CHORD_KINDS, Chord
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName, Pitch

RATE_HZ = 44_100
CHORDS_SIDES = (1.25, 0.5)  # where the chords sit, as gains of left and right
FOUR = Meter(4, 4)
SWING = SwingCurve(((80.0, 2.0), (160.0, 1.5), (240.0, 1.2)))
TUNING = (64, 59, 55, 50, 45, 40)
NAMES = ["C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"]
EM, A7, BM = (
    Chord(root=NoteName("E"), kind=CHORD_KINDS["minor"]),
    Chord(root=NoteName("A"), kind=CHORD_KINDS["dominant"]),
    Chord(root=NoteName("B"), kind=CHORD_KINDS["minor-seventh"]),
)


# ---- scores ------------------------------------------------------------------------------------------------------


def note(onset: Fraction | int, length: Fraction | int, string: int, fret: int, velocity: float = 0.8) -> Note:
    midi = TUNING[string - 1] + fret
    return Note(
        onset=Fraction(onset),
        duration=Fraction(length),
        pitch=Pitch.from_midi(midi, NoteName.parse(NAMES[midi % 12])),
        velocity=velocity,
        place=StringFret(string, fret),
    )


def measures(chords: list[Chord], meter: Meter = FOUR) -> tuple[Measure, ...]:
    return tuple(
        Measure(
            number=index + 1,
            onset=index * meter.bar,
            meter=meter,
            chords=(ChordSpan(onset=index * meter.bar, duration=meter.bar, chord=chord),),
        )
        for index, chord in enumerate(chords)
    )


def lead_notes(bars: int) -> tuple[Note, ...]:
    """A four-bar line with swung eighths, a triplet, sixteenths and much silence, as often as fits."""
    half, third, quarter = Fraction(1, 2), Fraction(1, 3), Fraction(1, 4)
    row = [
        (0, half, 5, 2), (half, half, 4, 0), (1, 1, 4, 2),
        (4, third, 4, 2), (4 + third, third, 3, 0), (4 + 2 * third, third, 3, 2), (5, Fraction(3, 2), 3, 0),
        (8, quarter, 2, 0), (8 + quarter, quarter, 3, 2), (8 + half, half, 3, 0), (9, 2, 4, 2),
        (12, 1, 3, 0), (13, half, 4, 2), (13 + half, half, 4, 0), (14, 1, 5, 2),
    ]  # fmt: skip
    notes = [
        note(16 * turn + at, length, string, fret) for turn in range(-(-bars // 4)) for at, length, string, fret in row
    ]
    return tuple(one for one in notes if one.end <= 4 * bars)


def lead_score(title: str, bars: int) -> Score:
    chords = [EM, EM, A7, BM]
    part = Part(role=PartRole.LEAD, name="Lead", notes=lead_notes(bars))
    return Score(title=title, measures=measures([chords[i % 4] for i in range(bars)]), parts=(part,), fifths=1)


def drum_part(bars: int) -> DrumPart:
    hits = []
    for beat in range(4 * bars):
        hits.append(Hit(onset=Fraction(beat), drum=Drum.KICK if beat % 2 == 0 else Drum.SNARE, velocity=0.8))
        hits += [Hit(onset=beat + Fraction(half, 2), drum=Drum.CLOSED_HAT, velocity=0.5) for half in (0, 1)]
    return DrumPart(name="Drums", hits=tuple(sorted(hits, key=lambda hit: hit.onset)))


def bass_part(bars: int) -> Part:
    notes = tuple(note(beat, 1, 6 if beat % 4 < 2 else 5, 0 if beat % 4 < 2 else 2) for beat in range(4 * bars))
    return Part(role=PartRole.BASS, name="Bass", notes=notes)


def chords_part(bars: int) -> Part:
    notes = tuple(note(4 * bar + 1, 2, string, 0) for bar in range(bars) for string in (3, 2, 1))
    return Part(role=PartRole.CHORDS, name="Chords", notes=notes)


# ---- sound -------------------------------------------------------------------------------------------------------


def tone(hz: float, seconds: float, decay_s: float) -> np.ndarray:
    """A tone with a steep beginning that dies away."""
    time = np.arange(int(seconds * RATE_HZ)) / RATE_HZ
    rise = np.minimum(1.0, (np.arange(time.size) + 1) / 8.0)
    fall = np.minimum(1.0, (time.size - np.arange(time.size)) / 400.0)
    return (0.25 * np.cos(2 * np.pi * hz * time) * np.exp(-time / decay_s) * rise * fall).astype(np.float32)


def flac(samples: np.ndarray) -> bytes:
    file = io.BytesIO()
    soundfile.write(file, samples, RATE_HZ, format="FLAC", subtype="PCM_16")
    return file.getvalue()


def sprite(clips: dict[str, np.ndarray], **settings: float | tuple[float, float] | None) -> Sprite:
    table, at = {}, 0
    for key, samples in clips.items():
        table[key] = Clip(start_frames=at, length_frames=samples.size)
        at += samples.size
    return Sprite(audio=flac(np.concatenate(list(clips.values()))), sample_rate_hz=RATE_HZ, clips=table, **settings)


def bank(room: float = 0.0) -> SoundBank:
    tick = {"tick": tone(2000, 0.03, 0.004)}
    pitches = tick | {f"p{midi}": tone(440 * 2 ** ((midi - 69) / 12), 1.6, 0.5) for midi in range(40, 72)}
    kit = tick | {drum.value: tone(120 + 400 * index, 0.25, 0.05) for index, drum in enumerate(Drum)}
    kit |= {"accent": tone(1800, 0.06, 0.012), "plain": tone(1300, 0.06, 0.012)}
    echo = np.exp(-np.arange(RATE_HZ // 4) / 2000.0) * np.random.default_rng(5).standard_normal(RATE_HZ // 4)
    return SoundBank(
        sprites={
            PartRole.LEAD: sprite(pitches, room=room),
            PartRole.CHORDS: sprite(pitches, level=0.5, room=room, sides=CHORDS_SIDES),
            PartRole.BASS: sprite(pitches, room=0.0),
            PartRole.DRUMS: sprite(kit, release_s=None, room=0.0),
        },
        click=ClipUse(key="plain", gain=0.8),
        accent=ClipUse(key="accent", gain=1.0),
        impulse=flac((0.05 * echo).astype(np.float32)) if room else None,
    )


def clips_of(part: Part | DrumPart) -> list[ClipUse]:
    if isinstance(part, DrumPart):
        return [ClipUse(key=hit.drum.value, gain=hit.velocity) for hit in part.hits]
    return [ClipUse(key=f"p{note.pitch.midi}", gain=note.velocity) for note in part.notes]


def ticks_of(part: Part | DrumPart) -> list[ClipUse]:
    """The same short tick for everything: onsets can be measured."""
    events = part.hits if isinstance(part, DrumPart) else part.notes
    return [ClipUse(key="tick", gain=event.velocity) for event in events]


def piece(score: Score, name: str, *, band: bool = False, swing: SwingCurve = SWING) -> PieceView:
    bars = len(score.measures)
    return piece_from_score(
        score,
        id=name,
        clips_of=ticks_of if name.startswith("ticks") else clips_of,
        swing=swing,
        tempo_bpm=120.0,
        tempos_bpm=(90.0, 120.0, 150.0),
        band=(bass_part(bars), chords_part(bars)) if band else (),
        drums=drum_part(bars) if band else None,
        chart_bars=(1, 2, 3, 4),
    )


# ---- figures -----------------------------------------------------------------------------------------------------


def svg(width: int, height: int, body: str) -> str:
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}">{body}</svg>'


def lines(y: float, count: int, gap: float, width: int) -> str:
    return "".join(f'<path d="M0 {y + gap * index}H{width}" stroke="var(--rule, #c9c4b8)"/>' for index in range(count))


def system(score: Score, prefix: str, first: int, last: int) -> SystemView:
    """Bars first..last as five lines with heads, and six lines with digits."""
    start, end = 4 * (first - 1), 4 * last
    width, marks = 180 * (last - first + 1), ""
    for index, one in enumerate(score.parts[0].notes):
        if not start <= one.onset < end:
            continue
        x = 20 + float(one.onset - start) * (width - 20) / float(end - start)
        y = 50 - (one.pitch.midi - 52) * 1.6
        marks += (
            f'<g id="{prefix}n{index}"><ellipse cx="{x:.1f}" cy="{y:.1f}" rx="5" ry="3.6" fill="currentColor"/></g>'
        )
        marks += (
            f'<g id="{prefix}t{index}"><text x="{x:.1f}" y="{82 + 9 * one.place.string:.1f}" font-size="11" '
            f'text-anchor="middle" fill="currentColor">{one.place.fret}</text></g>'
        )
    return SystemView(
        svg=svg(width, 145, lines(20, 5, 8, width) + lines(88, 6, 9, width) + marks), first_bar=first, last_bar=last
    )


def systems(score: Score, prefix: str) -> SystemsView:
    bars = len(score.measures)
    return SystemsView(
        wide=tuple(system(score, f"{prefix}-", bar, min(bar + 3, bars)) for bar in range(1, bars + 1, 4)),
        narrow=tuple(system(score, f"{prefix}-s-", bar, min(bar + 1, bars)) for bar in range(1, bars + 1, 2)),
        wide_prefix=f"{prefix}-",
        narrow_prefix=f"{prefix}-s-",
        alt=f"{score.title} in notation and tablature, {bars} bars.",
        words=(
            "Bar one: fifth string, second fret; fourth string open; fourth string, second fret; two beats of silence.",
        ),
    )


def neck(label: str, chord: str | None = None) -> NeckView:
    places = sorted({(one.place.string, one.place.fret) for one in lead_notes(4) if one.place})
    marks = "".join(
        f'<g data-place="{string}-{fret}"><circle class="halo" cx="{40 + 60 * fret}" cy="{25 * string}" r="14" '
        f'fill="none"/><circle cx="{40 + 60 * fret}" cy="{25 * string}" r="10" fill="var(--paper, #fbfaf6)" '
        f'stroke="var(--ink, #1b2a41)"/></g>'
        for string, fret in places
    )
    figure = FigureView(svg=svg(400, 175, lines(25, 6, 25, 400) + marks), alt=f"The open place, {label}.")
    return NeckView(label=label, figure=figure, chord=chord)


def chart() -> FigureView:
    marks = "".join(
        f'<g class="bar" data-bar="{bar}"><rect class="ground" x="{100 * bar - 100}" y="0" width="100" height="50" '
        f'fill="none" stroke="var(--ink, #1b2a41)"/><text x="{100 * bar - 60}" y="32">{name}</text></g>'
        for bar, name in enumerate(("Em", "Em", "A7", "Bm7"), start=1)
    )
    return FigureView(svg=svg(400, 50, marks), alt="Four bars: E minor twice, A seven, B minor seven.")


def motif(letter: str, degrees: str) -> MotifView:
    score = Score(
        title=f"Motif {letter}",
        measures=measures([EM]),
        parts=(Part(role=PartRole.LEAD, name="Lead", notes=lead_notes(1)),),
        fifths=1,
    )
    heads = "".join(f'<circle data-note="{k}" cx="{40 + 60 * k}" cy="{60 - 15 * k}" r="6"/>' for k in range(3))
    return MotifView(
        letter=letter,
        degrees=degrees,
        shape="rising",
        card=FigureView(svg=svg(260, 90, heads), alt=f"Motif {letter}, rising, then silence."),
        reasons=("It lands on the fifth and leaves room to answer.",),
        fits=(FitView(chord="Em", words="rests on the root"), FitView(chord="A7", words="leans on the fifth")),
        piece=piece(score, f"motif-{letter.lower()}"),
    )


def slow_motif() -> MotifView:
    """One bar of 12/8, tapped in dotted quarters."""
    one = motif("C", "1")
    part = Part(role=PartRole.LEAD, name="Lead", notes=(note(0, 3, 4, 2),))
    score = Score(title="Motif C", measures=measures([EM], Meter(12, 8)), parts=(part,), fifths=1)
    return replace(one, piece=piece(score, "motif-c"))


def exercise(title: str, name: str, bars: int, *, band: bool = False, swing: SwingCurve = SWING) -> ExerciseView:
    score = lead_score(title, bars)
    return ExerciseView(
        piece=piece(score, name, band=band, swing=swing),
        instruction="Play each motif, then leave the bar open. Count the silence aloud.",
        systems=systems(score, name),
        facts=f"{bars} bars, half of it silence",
        reasons=(
            ReasonView(first_bar=1, last_bar=1, label="A", words="Begins low and lands on the root of Em."),
            ReasonView(first_bar=3, last_bar=4, label="B", words="Answers a third higher, then waits."),
        ),
    )


def content(title: str = "Three notes and a breath", *, room: float = 0.3) -> PageContent:
    track_score = Score(title="Full track", measures=measures([EM, EM, A7, BM] * 3), parts=(), fifths=1)
    return PageContent(
        lesson_id="three-notes",
        title=title,
        school="Harbour Lane",
        teacher="Imke Farrow",
        words=("Small motifs, much room. Play one, breathe, answer it.", "Sing the silence as if it were a note."),
        facts=(
            ("Scale", "E minor pentatonic"),
            ("Place", "open position"),
            ("Meter", "4/4"),
            ("Tempos", "90, 120, 150 bpm"),
        ),
        position=PositionView(
            name="E minor pentatonic, open position",
            words=(
                "Fifth string, the A string: second fret with the middle finger.",
                "Fourth string: open; second fret.",
            ),
            labels=(neck("degrees"), neck("fingers"), neck("note names")),
            tones=(neck("Em", "Em"), neck("A7", "A7"), neck("Bm7", "Bm7")),
        ),
        motifs=(motif("A", "5 ♭7 1"), motif("B", "1 ♭3 4"), slow_motif()),
        counts=(CountView(spoken="1 & 2", words="Two eighths and a quarter, then two beats of silence."),),
        exercises=(
            exercise("One motif, much rest", "ex-1", 4),
            exercise("In another order", "ex-2", 8, band=True),
            exercise("Ticks", "ticks", 4, band=True),
        ),
        studies=(exercise("Study", "study", 8, band=True),),
        chart=chart(),
        track=TrackView(piece=piece(track_score, "track", band=True), words="Play over it as long as you like."),
        downloads=(
            DownloadView(href="handout-a4.pdf", label="Handout, A4", detail="PDF, 4 pages", group="On paper"),
            DownloadView(href="exchange/study.musicxml", label="Study", detail="MusicXML", group="For other programs"),
            DownloadView(href="exchange/study.mid", label="Study", detail="MIDI", group="For other programs"),
        ),
        bank=bank(room),
        stamp="Phrasewright 0.1.0",
    )
