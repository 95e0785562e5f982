"""Scripted takes with one planted fault each, played by our own guitar, heard, and judged from the sound alone.

usage: python benchmarks/findings_by_ear.py [--takes 40] [--seed 640000] [--clean]

The takes are those of tests/listen/scripted_takes.py. Each note is rendered at its own pitch, time and length, with its
bend, vibrato or damping. Then all is as with a student's take: notes heard, laid over the bars of the track (its place
is known, but for a rushing player's), motifs found, findings drawn. A fault counts as found when it is among the first
two findings. Vibrato wider than our guitar's cannot be rendered: that fault is left out. --clean: takes without a
fault, and what they are told to work on.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from math import exp2
from pathlib import Path
from random import Random

import numpy as np
import soxr

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests" / "listen"))

from scripted_takes import (  # noqa: E402
    CLEAN,
    FAULTS,
    GUITAR,
    Habits,
    Lesson,
    improvised,
    performed,
    planted,
    random_lesson,
)

from phrasewright.listen.align.align import OffsetPrior, TrackOffset, align  # noqa: E402
from phrasewright.listen.align.compare import compare  # noqa: E402
from phrasewright.listen.align.summary import timing_summary  # noqa: E402
from phrasewright.listen.finding import Finding, Tone  # noqa: E402
from phrasewright.listen.findings.findings import findings  # noqa: E402
from phrasewright.listen.findings.take import Take  # noqa: E402
from phrasewright.listen.hear.hear import hear  # noqa: E402
from phrasewright.listen.hear.spectrum import RATE_HZ  # noqa: E402
from phrasewright.listen.heard import HeardNote, HeardTechnique  # noqa: E402
from phrasewright.listen.placed import OffsetSource  # noqa: E402
from phrasewright.listen.spot.motifs import spot_motifs  # noqa: E402
from phrasewright.listen.spot.tablature import place_notes  # noqa: E402
from phrasewright.score.model import Part, PartRole  # noqa: E402
from phrasewright.score.technique import Damping, Start  # noqa: E402
from phrasewright.sound.events import SAMPLE_RATE  # noqa: E402
from phrasewright.sound.gesture import Gesture  # noqa: E402
from phrasewright.sound.voices import Voice, render_note  # noqa: E402
from phrasewright.units import A4_HZ  # noqa: E402

NOT_RENDERED = ("wide-vibrato",)
# one fault by two names
SAID_AS = {"outside": {"outside", "one-outside"}, "uneven": {"uneven", "scattered"}}
BEND_S, LOUDNESS, TAIL_S = 0.12, (0.6, 0.85), 1.5


def rendered(take: Take, rng: Random) -> np.ndarray:
    """The sound of a take: float32 (n,) at ``RATE_HZ``."""
    notes = take.hearing.notes
    audio = np.zeros(round((notes[-1].offset_s + TAIL_S) * SAMPLE_RATE), dtype=np.float32)
    for note in notes:
        pitch = round(note.pitch_midi)
        cents = round(100.0 * (note.pitch_midi - pitch))
        sound = render_note(
            Voice.GUITAR,
            pitch,
            note.duration_s,
            rng.uniform(*LOUDNESS),
            seed=rng.randrange(4),
            gesture=gesture_of(note),
            a4_hz=A4_HZ * exp2(cents / 1200.0),
        )
        begin = round(note.onset_s * SAMPLE_RATE)
        stop = min(begin + len(sound), len(audio))
        audio[begin:stop] += sound[: stop - begin]
    audio *= np.float32(0.7 / np.abs(audio).max())
    return np.asarray(soxr.resample(audio, SAMPLE_RATE, RATE_HZ), dtype=np.float32)


def gesture_of(note: HeardNote) -> Gesture:
    """How the hands play what the take's value says."""
    if note.is_dead:
        return Gesture(damping=Damping.DEAD)
    bend = note.mark(HeardTechnique.BEND)
    if bend is not None:
        return Gesture(start=Start.BENT, from_cents=-round(bend.cents), travel_s=BEND_S)
    return Gesture(vibrato=note.mark(HeardTechnique.VIBRATO) is not None)


def judged(take: Take, lesson: Lesson, audio: np.ndarray) -> tuple[Finding, ...]:
    """The findings, from the sound alone."""
    hearing = hear(audio)
    clock = take.alignment.clock
    cents = hearing.tuning_cents or 0.0
    written = None
    if take.comparison is not None:
        line = tuple(one.written for one in take.comparison.outcomes)
        written = Part(role=PartRole.LEAD, name="line", notes=line)
    known = clock.source is OffsetSource.TRACK
    alignment = align(
        hearing.notes,
        lesson.measures,
        lesson.performance,
        written=written,
        track=TrackOffset(offset_s=clock.offset_s) if known else None,
        expected=OffsetPrior(expected_s=clock.offset_s),
        tuning_cents=cents,
    )
    placed = place_notes(alignment.notes, GUITAR, lesson.position, tuning_cents=cents)
    alignment = replace(alignment, notes=placed)
    return findings(
        Take(
            hearing=hearing,
            alignment=alignment,
            timing=timing_summary(alignment),
            scale=take.scale,
            spotting=spot_motifs(placed, lesson.shelf, tuning_cents=cents),
            shelf=take.shelf,
            wished_space=take.wished_space,
            groove_swing_ratio=take.groove_swing_ratio,
            comparison=None if written is None else compare(alignment, written, tuning_cents=cents),
            open_strings=take.open_strings,
        )
    )


def heard(seed: int, habits: Habits) -> tuple[Finding, ...]:
    """One scripted take through sound and ears."""
    rng = Random(seed)
    lesson = random_lesson(rng, reach=habits.reach, swings=habits.straight)
    take = performed(rng, lesson, improvised(rng, lesson, habits), habits)
    return judged(take, lesson, rendered(take, Random(seed)))


def main() -> None:
    options = argparse.ArgumentParser(description=(__doc__ or "").split("\n\n")[0])
    options.add_argument("--takes", type=int, default=40)
    options.add_argument("--seed", type=int, default=640_000)
    options.add_argument("--clean", action="store_true", help="takes without a fault")
    wish = options.parse_args()
    kinds = [kind for kind in FAULTS if kind not in NOT_RENDERED]
    found = 0
    for number in range(wish.takes):
        kind = "" if wish.clean else kinds[number % len(kinds)]
        seed = wish.seed + 1000 + number
        habits = planted(kind, Random(seed)) if kind else Habits(written=True) if number % 5 == 4 else CLEAN
        told = heard(seed, habits)
        work = [finding.kind for finding in told if finding.tone is Tone.WORK]
        is_right = not work if not kind else bool(SAID_AS.get(kind, {kind}) & {one.kind for one in told[:2]})
        found += is_right
        print(f"{number:3} {kind or 'clean':14} {'yes' if is_right else 'NO ':3} {', '.join(work)}", flush=True)
    print(
        f"{found} of {wish.takes} takes: {'nothing to work on' if wish.clean else 'fault among the first two findings'}"
    )


if __name__ == "__main__":
    main()
