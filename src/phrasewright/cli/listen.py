"""``phrasewright listen``: what was played in a take."""

from __future__ import annotations

import json as json_format
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from phrasewright.cli.show import file_bar

if TYPE_CHECKING:
    from phrasewright.app.listening import HeardFile


def listen(
    takes: Annotated[
        list[Path],
        typer.Argument(help="Recordings of one guitar: WAV, FLAC, MP3, Ogg, M4A, WebM.", metavar="TAKE..."),
    ],
    lesson: Annotated[Path | None, typer.Option(help="The lesson file that the takes belong to.")] = None,
    exercise: Annotated[
        str | None, typer.Option(help="What was to be played: 3, exercise-3, study-1; left out, the player's own line.")
    ] = None,
    tempo: Annotated[
        float | None, typer.Option(help="Beats a minute played at; left out, one of the lesson's.", min=10, max=400)
    ] = None,
    offset: Annotated[
        float | None, typer.Option(help="Second of the take at which bar 1 begins; left out, told from the take.")
    ] = None,
    track: Annotated[
        Path | None,
        typer.Option(help="What the takes were played to: it is taken out first; left out, the lesson's own track is."),
    ] = None,
    alone: Annotated[
        bool,
        typer.Option("--alone", help="No track sounds in the takes (headphones): none is looked for, which is faster."),
    ] = False,
    out: Annotated[Path, typer.Option(help="Folder for what was heard.")] = Path("heard"),
    instrument: Annotated[
        str | None, typer.Option(help="Without a lesson, the instrument: guitar, bass, ukulele ...  [default: guitar]")
    ] = None,
    tuning: Annotated[str | None, typer.Option(help="A tuning: dadgad, or 'D2 A2 D3 G3 B3 E4'.")] = None,
    capo: Annotated[int, typer.Option(help="Fret of the capo, 0 for none.", min=0)] = 0,
    json: Annotated[bool, typer.Option("--json", help="Report as JSON.")] = False,
) -> None:
    """Hear every note of a take: when, how high, how long, how played, how sure; on which string and fret.

    With a lesson also: which bar and beat each note was meant for, how early or late it came, which motifs were played,
    and the two or three things that matter most next. Takes are single lines; of chords, only some notes are heard.

    Examples:

    `phrasewright listen monday.m4a tuesday.wav`

    `phrasewright listen monday.m4a --lesson lesson.toml`

    `phrasewright listen monday.m4a --lesson lesson.toml --exercise study-1 --tempo 75 --alone`

    `phrasewright listen monday.m4a --track jam.mp3`
    """
    from phrasewright.app.listening import listen_to, listen_wish

    wish = listen_wish(
        lesson,
        exercise=exercise,
        tempo_bpm=tempo,
        offset_s=offset,
        track=track,
        alone=alone,
        instrument=instrument,
        tuning=tuning,
        capo=capo,
    )
    with file_bar(len(takes), quiet=json) as done:
        found = listen_to(takes, out, wish, done=done)
    if json:
        print(json_format.dumps([_document(one) for one in found], ensure_ascii=False, indent=2))
    else:
        for one in found:
            typer.echo(_text(one), err=one.error is not None)
    raise typer.Exit(max(0 if one.error is None else one.error.exit_code for one in found))


def _text(one: HeardFile) -> str:
    if one.review is None:
        where = "" if str(one.source) in str(one.error) else f"{one.source}: "
        return f"phrasewright: {where}{one.error}"
    hearing, in_bars = one.review.hearing, one.review.in_bars
    cents = hearing.tuning_cents
    tuned = "" if cents is None else f", tuned {cents:+.0f} cents from A4 = 440 Hz"
    lines = [f"{one.source}: {len(hearing.notes)} notes in {hearing.length_s:.1f} s{tuned}"]
    if in_bars is not None:
        lines += [f"  {in_bars.words}", *(f"  * {finding.said} {finding.try_next}" for finding in in_bars.first)]
    return "\n".join(
        (*lines, *(f"  {remark}" for remark in one.review.remarks), f"  {', '.join(map(str, one.written))}")
    )


def _document(one: HeardFile) -> dict[str, object]:
    document: dict[str, object] = {
        "take": str(one.source),
        "written": [str(path) for path in one.written],
        "error": None if one.error is None else str(one.error),
    }
    if one.review is None:
        return document
    hearing, in_bars = one.review.hearing, one.review.in_bars
    first = () if in_bars is None else in_bars.first
    return document | {
        "length_s": round(hearing.length_s, 3),
        "notes": len(hearing.notes),
        "tuning_cents": hearing.tuning_cents,
        "tempo_bpm": None if in_bars is None or in_bars.tempo_bpm is None else round(in_bars.tempo_bpm, 2),
        "first": [{"kind": finding.kind, "said": finding.said, "try_next": finding.try_next} for finding in first],
        "remarks": list(one.review.remarks),
    }
