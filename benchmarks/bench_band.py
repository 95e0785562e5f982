"""How fast a track of three minutes is made on one core, and how much memory that takes.

    python benchmarks/bench_band.py            prints a table

Four parts (lead, chords, bass, drums), counted in: from the score to dry stems, mix and seated stems, and to all files
of one tempo ("files": FLAC and MP3 of two mixes, FLAC of four stems). Each row runs in a process of its own on one
core, so its peak memory is its own. Beside ours: plain FluidSynth, the same MIDI in one pass to one stereo buffer, as
it comes and with its reverberation and chorus off. Seconds are CPU seconds; "x" is times real time.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

CORE = 0
ROWS = ("models", "sampled", "models files", "sampled files", "plain", "plain dry")
TEMPO_BPM, CHORUSES = 96.0, 6
PIECE_FRAMES = 4096


def main() -> None:
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--only", choices=ROWS, help="one row, in this process, as JSON")
    options = arguments.parse_args()
    if options.only:
        print(json.dumps(row(options.only)))
        return
    print("| what | CPU seconds | x real time | peak memory | of it |\n| --- | --- | --- | --- | --- |")
    for name in ROWS:
        environment = os.environ | {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
        command = [sys.executable, __file__, "--only", name]
        done = subprocess.run(command, env=environment, capture_output=True, text=True)
        if done.returncode:
            print(f"| {name} | {done.stderr.strip().splitlines()[-1]} | | | |")
            continue
        found = json.loads(done.stdout)
        steps = ", ".join(f"{step} {seconds:.2f} s" for step, seconds in found["steps"].items())
        total_s = sum(found["steps"].values())
        speed = found["length_s"] / total_s
        print(f"| {name} | {total_s:.2f} | {speed:.0f} x | {found['peak_mb']:.0f} MB | {steps} |")


def row(name: str) -> dict[str, object]:
    """One row: the track's length, CPU seconds of its steps, peak memory of this process."""
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {CORE})
    what, _, how = name.partition(" ")
    length_s, steps = _plain(how) if what == "plain" else _files(what) if how else _made(what)
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return {"length_s": length_s, "steps": steps, "peak_mb": peak_mb}


def _made(what: str) -> tuple[float, dict[str, float]]:
    from phrasewright.sound.mix import mix_stems
    from phrasewright.sound.track import render_track

    score, performance, sounds = _job(what)
    marks = [time.process_time()]
    track = render_track(score, performance, count_in_bars=1, sounds=sounds)
    marks.append(time.process_time())
    mix = mix_stems(track.dry, track.sample_rate)
    marks.append(time.process_time())
    for stem in mix.stems.values():
        assert len(stem) == len(mix.master)
    marks.append(time.process_time())
    return len(mix.master) / track.sample_rate, _steps(("dry stems", "mix", "seated stems"), marks)


def _files(what: str) -> tuple[float, dict[str, float]]:
    import soundfile

    from phrasewright.app.audio import write_audio
    from phrasewright.app.sounds import AudioWish

    score, performance, sounds = _job(what)
    with tempfile.TemporaryDirectory() as folder:
        marks = [time.process_time()]
        write_audio(score, performance, Path(folder) / "audio", seed=0, wish=AudioWish(sounds=sounds))
        marks.append(time.process_time())
        length_s = soundfile.info(Path(folder) / "audio" / "band.flac").duration
    return length_s, _steps(("all",), marks)


def _plain(how: str) -> tuple[float, dict[str, float]]:
    import fluidsynth
    import numpy as np

    from phrasewright.sound.events import SAMPLE_RATE
    from phrasewright.sound.midifile import midi_bytes
    from phrasewright.sound.soundfonts import find_font
    from phrasewright.sound.track import TAIL_S

    score, performance, _ = _job("models")
    length = round((performance.seconds_at(score.end) + TAIL_S) * SAMPLE_RATE)
    with tempfile.TemporaryDirectory() as folder:
        midi = Path(folder) / "track.mid"
        midi.write_bytes(midi_bytes(score, TEMPO_BPM))
        marks = [time.process_time()]
        settings = {"synth.reverb.active": 0, "synth.chorus.active": 0} if how else {}
        synth = fluidsynth.Synth(samplerate=float(SAMPLE_RATE), **settings)
        synth.sfload(str(find_font()), update_midi_preset=1)
        marks.append(time.process_time())
        audio = np.zeros((length, 2), dtype=np.int16)
        synth.play_midi_file(str(midi))
        for start in range(0, length, PIECE_FRAMES):
            piece = min(PIECE_FRAMES, length - start)
            audio[start : start + piece] = synth.get_samples(piece).reshape(-1, 2)
        marks.append(time.process_time())
    assert np.abs(audio[: length // 2]).max() > 100
    assert np.abs(audio[length // 2 :]).max() > 100
    return length / SAMPLE_RATE, _steps(("font", "play"), marks)


def _job(what: str) -> tuple:
    from bench_sound import lesson_score

    from phrasewright.band.groove import GROOVES
    from phrasewright.score.performance import Performance
    from phrasewright.sound.sampled import Sampled
    from phrasewright.sound.soundfonts import find_font
    from phrasewright.sound.sounds import MODELS

    sounds = MODELS if what == "models" else Sampled(find_font())
    return (
        lesson_score(choruses=CHORUSES),
        Performance(tempo_bpm=TEMPO_BPM, swing=GROOVES["shuffle"].swing),
        sounds,
    )


def _steps(names: tuple[str, ...], marks: list[float]) -> dict[str, float]:
    return {name: end - start for name, start, end in zip(names, marks, marks[1:], strict=False)}


if __name__ == "__main__":
    main()
