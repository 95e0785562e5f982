"""Listen to takes from files: for each one a JSON file with every note that was heard."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from phrasewright.app.fingering import check_names, make_folder
from phrasewright.errors import PhrasewrightError
from phrasewright.listen.backing import Removal, remove_track
from phrasewright.listen.hear.hear import hear
from phrasewright.listen.hear.spectrum import RATE_HZ
from phrasewright.listen.heard import CURVE_STEP_S, HeardNote, HeardTechnique, Hearing, Mark
from phrasewright.listen.take_file import read_take
from phrasewright.neck.fingering.finger import finger_line
from phrasewright.neck.fingering.line import FingeringWish, LineNote
from phrasewright.neck.instrument import Instrument, StringFret
from phrasewright.sound.encode import write_bytes

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float32]


@dataclass(frozen=True, slots=True, kw_only=True)
class HeardFile:
    """What became of one take. written: its files; empty when ``error`` says why there is nothing."""

    source: Path
    length_s: float = 0.0
    notes: int = 0
    tuning_cents: float | None = None
    remarks: tuple[str, ...] = ()
    written: tuple[Path, ...] = ()
    error: PhrasewrightError | None = None


def listen_to(
    sources: Sequence[Path],
    out: Path,
    played_on: Instrument,
    *,
    track: Path | None = None,
    done: Callable[[Path], None] = lambda _: None,
) -> list[HeardFile]:
    """Listen to every take and write ``out``/<stem>.json; a take that fails does not stop the others.

    track: what they were played to: where a take has it too, it is taken out first; done: told each file when it is
    finished. Raises OutputError when two takes would be written to one name, the folder cannot be made or the track
    cannot be opened, RecordingError when it is no recording.
    """
    check_names(sources)
    known = None if track is None else read_take(track).audio
    make_folder(out)
    found = []
    for source in sources:
        found.append(_listen_to(source, out, played_on, known))
        done(source)
    return found


def _listen_to(source: Path, out: Path, played_on: Instrument, track: FloatArray | None) -> HeardFile:
    try:
        take = read_take(source)
        removal = None if track is None else remove_track(take.audio, track, RATE_HZ)
        hearing = hear(take.audio if removal is None else removal.audio)
        remarks = (*take.remarks, *track_remarks(removal), *hearing.remarks)
        path = out / f"{source.stem}.json"
        places = places_of(hearing.notes, played_on)
        write_bytes(path, hearing_json(hearing, places, remarks, removal).encode())
    except PhrasewrightError as error:
        return HeardFile(source=source, error=error)
    return HeardFile(
        source=source,
        length_s=hearing.length_s,
        notes=len(hearing.notes),
        tuning_cents=hearing.tuning_cents,
        remarks=remarks,
        written=(path,),
    )


def track_remarks(removal: Removal | None) -> tuple[str, ...]:
    """What became of the track in a take, in a sentence; nothing where none was given."""
    if removal is None:
        return ()
    if removal.confidence == 0.0:
        return ("The track is not heard in this take, so nothing was taken out.",)
    begins = f"{removal.lag_s:.3f} s into" if removal.lag_s >= 0 else f"{-removal.lag_s:.3f} s before"
    return (f"The track is heard in this take (it begins {begins} it) and was taken out.",)


def places_of(notes: Sequence[HeardNote], played_on: Instrument) -> tuple[StringFret | None, ...]:
    """Where each note would lie under the hand; None for dead notes and for what the instrument does not have.

    A bent note lies at the fret that it is bent from.
    """
    pitches = [_fretted_midi(note) for note in notes]
    playable = [
        index
        for index, (note, pitch) in enumerate(zip(notes, pitches, strict=True))
        if not note.is_dead and played_on.places_of(pitch)
    ]
    line = [
        LineNote(onset_s=notes[index].onset_s, duration_s=notes[index].duration_s, pitch_midi=pitches[index])
        for index in playable
    ]
    places: list[StringFret | None] = [None] * len(notes)
    if line:
        for index, fingered in zip(playable, finger_line(line, played_on, FingeringWish()).notes, strict=True):
            places[index] = fingered.place
    return tuple(places)


def _fretted_midi(note: HeardNote) -> int:
    bend = note.mark(HeardTechnique.BEND)
    return round(note.pitch_midi - (bend.cents / 100.0 if bend is not None and bend.cents > 0 else 0.0))


def hearing_json(
    hearing: Hearing, places: Sequence[StringFret | None], remarks: Sequence[str], removal: Removal | None = None
) -> str:
    """All that was heard as JSON, one note a line: see docs/listening.md."""
    rows = ",\n".join(
        f"    {json.dumps(_note(note, place))}" for note, place in zip(hearing.notes, places, strict=True)
    )
    head = {
        "length_s": round(hearing.length_s, 3),
        "tuning_cents": None if hearing.tuning_cents is None else round(hearing.tuning_cents, 1),
        "curve_step_s": CURVE_STEP_S,
        "track": None if removal is None or removal.confidence == 0.0 else _track(removal),
        "remarks": list(remarks),
    }
    lines = "".join(f"  {json.dumps(key)}: {json.dumps(value, ensure_ascii=False)},\n" for key, value in head.items())
    return f'{{\n{lines}  "notes": [\n{rows}\n  ]\n}}\n'


def _track(removal: Removal) -> dict[str, float]:
    return {
        "offset_s": round(removal.lag_s, 4),
        "stretch": round(removal.stretch, 7),
        "level_db": round(removal.level_db, 1),
        "confidence": round(removal.confidence, 2),
    }


def _note(note: HeardNote, place: StringFret | None) -> dict[str, Any]:
    return {
        "onset_s": round(note.onset_s, 4),
        "offset_s": round(note.offset_s, 4),
        "pitch_midi": round(note.pitch_midi, 3),
        "level_db": round(note.level_db, 1),
        "confidence": round(note.confidence, 3),
        "string": None if place is None else place.string,
        "fret": None if place is None else place.fret,
        "technique": [_mark(mark) for mark in note.marks],
        "cents_curve": [None if math.isnan(cents) else cents for cents in note.curve_cents],
    }


def _mark(mark: Mark) -> dict[str, Any]:
    return dict(_mark_items(mark))


def _mark_items(mark: Mark) -> Iterator[tuple[str, Any]]:
    yield "kind", str(mark.technique)
    if mark.cents:
        yield "cents", round(mark.cents, 1)
    if mark.rate_hz:
        yield "rate_hz", round(mark.rate_hz, 2)
    yield "confidence", round(mark.confidence, 2)
