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
    out: Annotated[Path, typer.Option(help="Folder for what was heard.")] = Path("heard"),
    track: Annotated[
        Path | None, typer.Option(help="What the takes were played to, e.g. a pack's band.mp3: it is taken out first.")
    ] = None,
    instrument: Annotated[str, typer.Option(help="The instrument: guitar, bass, ukulele ...")] = "guitar",
    tuning: Annotated[str | None, typer.Option(help="A tuning: dadgad, or 'D2 A2 D3 G3 B3 E4'.")] = None,
    capo: Annotated[int, typer.Option(help="Fret of the capo, 0 for none.", min=0)] = 0,
    json: Annotated[bool, typer.Option("--json", help="Report as JSON.")] = False,
) -> None:
    """Hear every note of a take: when, how high, how long, how played, how sure; on which string and fret.

    For each take, TAKE.json is written into the folder. Takes are single lines; of chords, only some notes are heard.

    Example: `phrasewright listen monday.m4a tuesday.wav --track packs/first-air/audio/75-bpm/band.mp3`
    """
    from phrasewright.app.fingering import wished_instrument
    from phrasewright.app.listening import listen_to

    played_on = wished_instrument(instrument, tuning=tuning, capo=capo)
    with file_bar(len(takes), quiet=json) as done:
        found = listen_to(takes, out, played_on, track=track, done=done)
    if json:
        print(json_format.dumps([_document(one) for one in found], ensure_ascii=False, indent=2))
    else:
        for one in found:
            typer.echo(_text(one), err=one.error is not None)
    raise typer.Exit(max(0 if one.error is None else one.error.exit_code for one in found))


def _text(one: HeardFile) -> str:
    if one.error is not None:
        where = "" if str(one.source) in str(one.error) else f"{one.source}: "
        return f"phrasewright: {where}{one.error}"
    tuned = "" if one.tuning_cents is None else f", tuned {one.tuning_cents:+.0f} cents from A4 = 440 Hz"
    head = f"{one.source}: {one.notes} notes in {one.length_s:.1f} s{tuned}; {' and '.join(map(str, one.written))}"
    return "\n".join((head, *(f"    {remark}" for remark in one.remarks)))


def _document(one: HeardFile) -> dict[str, object]:
    return {
        "take": str(one.source),
        "length_s": round(one.length_s, 3),
        "notes": one.notes,
        "tuning_cents": one.tuning_cents,
        "remarks": list(one.remarks),
        "written": [str(path) for path in one.written],
        "error": None if one.error is None else str(one.error),
    }
