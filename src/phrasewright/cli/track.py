"""``phrasewright track``: the band over a chart, without a lesson."""

from __future__ import annotations

import json as json_format
import time
from pathlib import Path
from typing import Annotated

import typer

from phrasewright.cli.show import file_bar


def track(
    chart: Annotated[
        str,
        typer.Argument(help="A ready form (blues, minor-vamp ...), a file with a chart, or the chart: '| Em7 | A7 |'."),
    ],
    key: Annotated[str, typer.Option(help="Key of a ready form.")] = "C",
    groove: Annotated[
        str, typer.Option(help="A ready groove or a groove file (.toml); left out, a plain one that fits.")
    ] = "",
    tempo: Annotated[
        list[float] | None, typer.Option(help="Beats a minute; may be given several times.  [default: 90]")
    ] = None,
    meter: Annotated[str, typer.Option(help="The meter.")] = "4/4",
    choruses: Annotated[int, typer.Option(help="How often the chart is played.", min=1, max=40)] = 3,
    seed: Annotated[int, typer.Option(help="Another number, another way of playing it.", min=0)] = 1,
    sound: Annotated[
        str, typer.Option(help="models or sampled; left out, the models, or sampled with a SoundFont.")
    ] = "",
    soundfont: Annotated[str, typer.Option(help="A SoundFont: a file, or the name of one that is installed.")] = "",
    a4: Annotated[float, typer.Option(help="Concert pitch in hertz, 415 to 466.")] = 440.0,
    files: Annotated[
        list[str] | None,
        typer.Option(help="Kind of file: flac, mp3, ogg, wav; may be given several times.  [default: flac, mp3]"),
    ] = None,
    stems: Annotated[
        list[str] | None,
        typer.Option(help="Kind of file for each part; may be given several times.  [default: flac]"),
    ] = None,
    out: Annotated[Path, typer.Option(help="Folder for the files.")] = Path("tracks"),
    json: Annotated[bool, typer.Option("--json", help="Report as JSON.")] = False,
) -> None:
    """Render a chart with the band: audio, stems and MIDI for a quick jam, without a lesson.

    Example: `phrasewright track blues --key A --groove shuffle --tempo 70 --tempo 100`
    """
    from phrasewright.app.track import TrackWish, make_track, sound_spec, tempo_list

    started = time.perf_counter()
    wish = TrackWish(
        chart=chart,
        key=key,
        meter=meter,
        groove=groove,
        tempos_bpm=tempo_list(tempo or [90.0]),
        choruses=choruses,
        seed=seed,
        sound=sound_spec(sound, soundfont, a4, files or (), stems or ()),
    )
    with file_bar(len(wish.tempos_bpm), quiet=json) as done:
        made = make_track(wish, out, done=done)
    if json:
        report = {
            "groove": made.groove.id,
            "bars": made.bars,
            "folders": [str(folder) for folder in made.folders],
            "midi": str(made.midi),
        }
        print(json_format.dumps(report, indent=2))
        return
    print(f"{made.bars} bars, {made.groove.name}, in {time.perf_counter() - started:.1f} s")
    for folder in made.folders:
        print(f"  {folder}   {', '.join(f'band.{kind}' for kind in wish.sound.files)} and a stem for each part")
    print(f"  {made.midi}")
