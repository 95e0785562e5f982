"""``phrasewright beats``: where the bars and beats of a recording lie."""

from __future__ import annotations

import json as json_format
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from phrasewright.app.beats import BarReport, MappedRecording


def beats(
    recording: Annotated[Path, typer.Argument(help="A recording: WAV, FLAC, MP3 or Ogg.")],
    taps: Annotated[Path, typer.Option(help="A text file with the seconds at which the first beats were tapped.")],
    meter: Annotated[str, typer.Option(help="Its meter.")] = "4/4",
    chart: Annotated[
        str, typer.Option(help="Its chords: a ready form, a file with a chart, or '| Em7 | A7 |'; for checking.")
    ] = "",
    key: Annotated[str, typer.Option(help="Key of a ready form.")] = "C",
    choruses: Annotated[
        int | None,
        typer.Option(
            help="How many choruses it has, with the chart's pick-up and coda; when left out, the chorus goes round.",
            min=1,
            max=99,
            show_default=False,
        ),
    ] = None,
    first_beat: Annotated[int, typer.Option(help="Which beat of a bar the first tap is.", min=1)] = 1,
    first_bar: Annotated[int, typer.Option(help="Which bar the first tap is in; 0 is a pick-up.", min=0)] = 1,
    out: Annotated[
        Path | None, typer.Option(help="The beats file; beside the recording when left out.", show_default=False)
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Report as JSON.")] = False,
) -> None:
    """Map the bars and beats of a recording from a few taps, say how sure each bar is, write a file to mend by hand.

    Example: `phrasewright beats quiet-harbour.flac --taps taps.txt --chart minor-blues --key A`
    """
    from phrasewright.app.beats import BeatsError, BeatsWish, beats_path, map_recording
    from phrasewright.app.track import TrackWish, chart_of, meter_named
    from phrasewright.score.played_chart import PlayedChart

    written = chart_of(TrackWish(chart=chart, key=key, meter=meter)) if chart else None
    if written is None and choruses is not None:
        raise BeatsError("There is no chart that has choruses.", hint="Say the chart too: --chart '| Em7 | A7 |'.")
    wish = BeatsWish(
        recording=recording,
        taps=taps,
        meter=meter_named(meter),
        chart=None if written is None else PlayedChart(chart=written, choruses=choruses),
        first_bar=first_bar,
        first_beat=first_beat,
    )
    target = beats_path(recording) if out is None else out
    found = map_recording(wish, target)
    print(_document(found, target) if json else _text(found, target))


def _document(found: MappedRecording, target: Path) -> str:
    report = {
        "file": str(target),
        "tempo": round(found.beats.tempo_bpm, 2),
        "pinned": found.pins,
        "remarks": list(found.remarks),
        "taps": [{"notice": said.notice.value, "words": said.words} for said in found.said],
        "bars": [
            {
                "bar": one.bar.number,
                "start_s": round(one.bar.start_s, 3),
                "end_s": round(one.bar.end_s, 3),
                "confidence": round(one.bar.confidence, 2),
                "chords": one.chords,
                "check": one.is_doubtful,
            }
            for one in found.bars
        ],
    }
    return json_format.dumps(report, ensure_ascii=False, indent=2)


def _text(found: MappedRecording, target: Path) -> str:
    lines = [*found.remarks, *(said.words for said in found.said)]
    lines.append(f"{len(found.bars)} bars, {found.beats.tempo_bpm:.1f} beats a minute")
    lines.append(f"{'bar':>5} {'seconds':>9}  sure  chords")
    lines += [_row(one) for one in found.bars]
    doubtful = [str(one.bar.number) for one in found.bars if one.is_doubtful]
    if doubtful:
        lines.append(f"Check bar{'s' if len(doubtful) > 1 else ''} {', '.join(doubtful)}.")
    kept = f", {found.pins} pinned beats kept" if found.pins else ""
    return "\n".join([*lines, f"  {target}   every beat, to look at and to mend{kept}"])


def _row(one: BarReport) -> str:
    why = "  beats unsure" if one.bar.is_unsure else "  chords not heard" if one.is_doubtful else ""
    return f"{one.bar.number:5d} {one.bar.start_s:9.2f}  {one.bar.confidence:.2f}  {one.chords}{why}".rstrip()
