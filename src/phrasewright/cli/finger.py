"""``phrasewright finger``: strings, frets and fingers for lines from files."""

from __future__ import annotations

import json as json_format
import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from phrasewright.cli.show import file_bar
from phrasewright.neck.fingering.line import FingeringWish, Picking

if TYPE_CHECKING:
    from phrasewright.app.fingering import FingeredFile


def finger(
    files: Annotated[
        list[Path],
        typer.Argument(help="Note tables (.csv), MIDI, MusicXML (.musicxml, .xml, .mxl).", metavar="FILE..."),
    ],
    out: Annotated[Path, typer.Option(help="Folder for the fingerings.")] = Path("fingerings"),
    instrument: Annotated[str, typer.Option(help="The instrument: guitar, bass, ukulele ...")] = "guitar",
    tuning: Annotated[str | None, typer.Option(help="A tuning: dadgad, or 'D2 A2 D3 G3 B3 E4'.")] = None,
    capo: Annotated[int, typer.Option(help="Fret of the capo, 0 for none.", min=0)] = 0,
    stay_in: Annotated[str | None, typer.Option(help="Press only these frets: 5-8.", metavar="LOW-HIGH")] = None,
    prefer_open: Annotated[bool, typer.Option("--prefer-open", help="Take open strings where there are any.")] = False,
    beginner: Annotated[bool, typer.Option("--beginner", help="Make the hardest move as easy as can be.")] = False,
    max_stretch: Annotated[
        float | None, typer.Option(help="Furthest from the index finger to another, in mm.", metavar="MM")
    ] = None,
    picking: Annotated[Picking, typer.Option(help="Say how each note is picked.")] = Picking.NONE,
    json: Annotated[bool, typer.Option("--json", help="Report as JSON.")] = False,
) -> None:
    """Finger lines: a string, a fret and a finger for every note, as players would, in JSON and in tablature.

    A note table has the columns onset_s, duration_s and midi_pitch_float.

    Example: `phrasewright finger solos/*.csv --out fingerings --stay-in 5-8`
    """
    from phrasewright.app.fingering import finger_files, wished_instrument

    wish = FingeringWish(
        stay_in=_frets(stay_in),
        prefer_open=prefer_open,
        beginner=beginner,
        max_stretch_mm=_length_mm(max_stretch),
        picking=picking,
    )
    played_on = wished_instrument(instrument, tuning=tuning, capo=capo)
    with file_bar(len(files), quiet=json) as done:
        found = finger_files(files, out, played_on, wish, done=done)
    if json:
        print(json_format.dumps([_document(one) for one in found], ensure_ascii=False, indent=2))
    else:
        for one in found:
            typer.echo(_text(one), err=one.error is not None)
    raise typer.Exit(max(0 if one.error is None else one.error.exit_code for one in found))


def _frets(text: str | None) -> tuple[int, int] | None:
    if text is None:
        return None
    found = re.fullmatch(r"(\d{1,2})-(\d{1,2})", text.strip())
    low, high = (int(found[1]), int(found[2])) if found else (1, 0)
    if low > high:
        raise typer.BadParameter(f"{text!r} is no range of frets; write 5-8", param_hint="--stay-in")
    return low, high


def _length_mm(max_stretch: float | None) -> float | None:
    if max_stretch is not None and not 0 < max_stretch < float("inf"):
        raise typer.BadParameter(f"{max_stretch:g} is no length; write mm above 0", param_hint="--max-stretch")
    return max_stretch


def _text(one: FingeredFile) -> str:
    if one.error is not None:
        where = "" if str(one.source) in str(one.error) else f"{one.source}: "
        return f"phrasewright: {where}{one.error}"
    chords = f"; {one.impossible} notes lie out of the reach of their chord" if one.impossible else ""
    return f"{one.source}: {one.notes} notes in {' and '.join(map(str, one.written))}{chords}"


def _document(one: FingeredFile) -> dict[str, object]:
    return {
        "file": str(one.source),
        "notes": one.notes,
        "impossible": one.impossible,
        "written": [str(path) for path in one.written],
        "error": None if one.error is None else str(one.error),
    }
