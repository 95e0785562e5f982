"""How fast the sound is made: python benchmarks/bench_sound.py prints a table.

Times are CPU seconds unless they say wall, so that a busy machine does not spoil them; "x" is times real time.
"""

from __future__ import annotations

import itertools
import time
from concurrent.futures import ThreadPoolExecutor

from phrasewright.band.arrange import accompany
from phrasewright.band.groove import GROOVES
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.score.model import Drum, Note, Part, PartRole, Score
from phrasewright.score.performance import Performance
from phrasewright.sound import bank, drums, encode, render
from phrasewright.sound.events import timed_hits
from phrasewright.sound.limiter import true_peak_dbtp
from phrasewright.sound.loudness import loudness_lufs
from phrasewright.sound.mix import mix_stems
from phrasewright.sound.track import performed_notes, render_track
from phrasewright.sound.voices import Voice, render_note
from phrasewright.theory.chord import CHORD_KINDS, Chord
from phrasewright.theory.meter import Meter
from phrasewright.theory.pitch import NoteName, Pitch

TEMPOS_BPM = (70.0, 90.0, 112.0)
BLUES = "E7 E7 E7 E7 A7 A7 E7 E7 B7 A7 E7 B7"
MINOR_PENTATONIC = ("E3", "G3", "A3", "B3", "D4", "E4", "G4", "A4", "B4", "D5", "E5")


def lesson_score(groove_id: str = "shuffle", choruses: int = 2) -> Score:
    """A twelve-bar blues with the whole band and a lead that rests half of the time."""
    meter = Meter(12, 8) if groove_id == "slow-12/8" else Meter(4, 4)
    bars = tuple(
        ChartBar(chords=((Chord(root=NoteName.parse(word[:-1]), kind=CHORD_KINDS["dominant"]), meter.bar),))
        for word in BLUES.split()
    )
    measures = Chart(meter=meter, bars=bars).unfold(choruses * len(bars))
    ensemble = accompany(measures, GROOVES[groove_id], seed=1)
    lead = tuple(
        Note(
            onset=measure.onset + meter.unit * step,
            duration=meter.unit,
            pitch=Pitch.parse(MINOR_PENTATONIC[(3 * index + 2 * step) % len(MINOR_PENTATONIC)]),
            velocity=0.85 if step == 0 else 0.7,
        )
        for index, measure in enumerate(measures)
        for step in range(meter.upper // 2)
    )
    guitar = Part(role=PartRole.LEAD, name="Lead", notes=lead, voice=Voice.GUITAR)
    return Score(title="Bench", measures=measures, parts=(guitar, *ensemble.parts), fifths=1, drums=ensemble.drums)


def note_speeds() -> dict[str, float]:
    """Times real time of a two-second note of each voice, low to high, and of the kit."""
    speeds = {}
    for voice in Voice:
        pitches = range(28, 52, 4) if voice is Voice.BASS else range(40, 89, 8)
        render_note(voice, pitches[0], 2.0, 0.8)
        start = time.process_time()
        samples = sum(len(render_note(voice, pitch, 2.0, 0.8)) for pitch in pitches)
        speeds[voice.value] = samples / render.SAMPLE_RATE / (time.process_time() - start)
    start = time.process_time()
    samples = sum(len(drums.stroke(drum, 0.8, sample_rate=render.SAMPLE_RATE)) for drum in Drum)
    speeds["drums"] = samples / render.SAMPLE_RATE / (time.process_time() - start)
    return speeds


def make_track(score: Score, tempo_bpm: float) -> dict[str, float]:
    """Stems, mix, FLAC and MP3 of one tempo: CPU seconds of this thread for each step, length, levels."""
    marks = [time.thread_time()]
    groove = GROOVES["shuffle"]
    track = render_track(score, Performance(tempo_bpm=tempo_bpm, swing=groove.swing), count_in_bars=1)
    marks.append(time.thread_time())
    mix = mix_stems(track.dry, track.sample_rate)
    marks.append(time.thread_time())
    encode.flac_bytes(mix.master, track.sample_rate)
    marks.append(time.thread_time())
    encode.mp3_bytes(mix.master, track.sample_rate)
    marks.append(time.thread_time())
    steps = dict(zip(("stems", "mix", "flac", "mp3"), (b - a for a, b in itertools.pairwise(marks)), strict=True))
    return steps | {
        "length": len(mix.master) / track.sample_rate,
        "lufs": loudness_lufs(mix.master, track.sample_rate),
        "dbtp": true_peak_dbtp(mix.master, track.sample_rate),
        "limited": mix.limited_db,
    }


def lesson_wall_s(score: Score) -> float:
    """Wall seconds for all tempos on two threads, nothing rendered before."""
    render.forget_renders()
    start = time.perf_counter()
    with ThreadPoolExecutor(max_workers=2) as pool:
        list(pool.map(lambda tempo_bpm: make_track(score, tempo_bpm), TEMPOS_BPM))
    return time.perf_counter() - start


def sprite_bytes(score: Score) -> dict[str, int]:
    """FLAC bytes of every sprite of the lesson at its slowest tempo."""
    performance = Performance(tempo_bpm=min(TEMPOS_BPM))
    sprites = {
        part.name: bank.pitched_sprite(performed_notes(part, performance), Voice(part.voice)) for part in score.parts
    }
    if score.drums is not None:
        sprites["drums"] = bank.drum_sprite(timed_hits(score.drums, performance))
    return {name: len(encode.flac_bytes(sprite.audio, sprite.sample_rate)) for name, sprite in sprites.items()}


def main() -> None:
    for name, speed in note_speeds().items():
        print(f"note    {name:<16} {speed:6.0f} x")
    score = lesson_score()
    for tempo_bpm in TEMPOS_BPM:
        figures = make_track(score, tempo_bpm)
        print(f"track   {tempo_bpm:.0f} bpm  " + "  ".join(f"{name} {value:.2f}" for name, value in figures.items()))
    print(f"lesson  three tempos, stems, mix, FLAC and MP3, two threads: {lesson_wall_s(score):.1f} s wall")
    sizes = sprite_bytes(score)
    print("sprites " + "  ".join(f"{name} {size / 1e6:.2f} MB" for name, size in sizes.items()))
    print(f"sprites {sum(sizes.values()) / 1e6:.2f} MB in all")


if __name__ == "__main__":
    main()
