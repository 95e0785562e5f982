"""Finger lines from files: for each file of notes one JSON file and one text tablature."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from phrasewright.engrave.line_tab import line_tab
from phrasewright.errors import OutputError, PhrasewrightError
from phrasewright.intake.notes import read_notes
from phrasewright.neck.catalogue import instrument, parse_tuning
from phrasewright.neck.fingering.finger import finger_line
from phrasewright.neck.fingering.line import FingeredLine, FingeringWish, LineNote
from phrasewright.neck.instrument import Instrument
from phrasewright.sound.encode import write_bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class FingeredFile:
    """What became of one file. written: JSON and tablature; empty when ``error`` says why there is nothing."""

    source: Path
    notes: int = 0
    impossible: int = 0  # notes that no hand reaches together with their chord
    written: tuple[Path, ...] = ()
    error: PhrasewrightError | None = None


class InstrumentWishError(PhrasewrightError):
    """An instrument, a tuning or a capo that there is not."""

    exit_code = 2


def wished_instrument(id_: str, *, tuning: str | None = None, capo: int = 0) -> Instrument:
    """An instrument of the catalogue. tuning: its name, or pitches from the highest string number to string 1.

    Raises InstrumentWishError.
    """
    try:
        own = parse_tuning(tuning) if tuning is not None and " " in tuning.strip() else tuning
        return instrument(id_, tuning=own, capo=capo)
    except ValueError as error:
        words = str(error)
        raise InstrumentWishError(
            f"{words[:1].upper()}{words[1:].rstrip('.')}.", hint="A tuning of your own reads 'D2 A2 D3 G3 B3 E4'."
        ) from error


def finger_files(
    sources: Sequence[Path],
    out: Path,
    played_on: Instrument,
    wish: FingeringWish,
    *,
    done: Callable[[Path], None] = lambda _: None,
) -> list[FingeredFile]:
    """Finger every file into ``out`` as <stem>.json and <stem>.txt; a file that fails does not stop the others.

    done: told each file when it is finished. Raises OutputError when two files would be written to one name, or the
    folder cannot be made.
    """
    check_names(sources)
    make_folder(out)
    found = []
    for source in sources:
        found.append(_finger_file(source, out, played_on, wish))
        done(source)
    return found


def make_folder(out: Path) -> None:
    """A folder for what is written, where there is none yet. Raises OutputError."""
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"{out} could not be made: {error.strerror}.", hint="Choose another folder.") from error


def check_names(sources: Sequence[Path]) -> None:
    """Refuse files that would be written to one name. Raises OutputError."""
    known: dict[str, Path] = {}
    for source in sources:
        if source.stem in known:
            raise OutputError(
                f"{known[source.stem]} and {source} would both be written to {source.stem}.json.",
                hint="Take them in turn, into different folders, or rename one.",
            )
        known[source.stem] = source


def _finger_file(source: Path, out: Path, played_on: Instrument, wish: FingeringWish) -> FingeredFile:
    try:
        line = read_notes(source)
        fingered = finger_line(line, played_on, wish)
        texts = {
            out / f"{source.stem}.json": fingering_json(line, fingered),
            out / f"{source.stem}.txt": line_tab([note.onset_s for note in line], fingered.notes, played_on),
        }
        for path, text in texts.items():
            write_bytes(path, text.encode())
    except PhrasewrightError as error:
        return FingeredFile(source=source, error=error)
    return FingeredFile(source=source, notes=len(line), impossible=len(fingered.impossible), written=tuple(texts))


def fingering_json(line: Sequence[LineNote], fingered: FingeredLine) -> str:
    """One object a note, in the order given: times in s, string 1 = highest, fret from the nut, finger 0 = open."""
    notes = [
        {
            "onset_s": note.onset_s,
            "duration_s": note.duration_s,
            "pitch_midi": note.pitch_midi,
            "string": played.place.string,
            "fret": played.place.fret,
            "finger": played.finger,
            "hand_fret": played.hand_fret,
        }
        | ({} if played.pick is None else {"pick": played.pick.value})
        for note, played in zip(line, fingered.notes, strict=True)
    ]
    rows = ",\n".join(f"    {json.dumps(note)}" for note in notes)
    return f'{{\n  "notes": [\n{rows}\n  ]\n}}\n'
