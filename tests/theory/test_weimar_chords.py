"""Every chord written in the Weimar Jazz Database is read, with the tones its dialect means."""

from __future__ import annotations

import csv
import io
import lzma
import re
from pathlib import Path

import pytest

from phrasewright.theory.chord_symbol import is_no_chord, parse_chord

SUFFIXES = {  # what each word of the dialect means, in semitones above the root
    "": "0 4 7",
    "+": "0 4 8",
    "+7": "0 4 8 10",
    "+79": "0 2 4 8 10",
    "+79#": "0 3 4 8 10",
    "+7911#": "0 2 4 6 8 10",
    "+79b": "0 1 4 8 10",
    "+j7": "0 4 8 11",
    "-": "0 3 7",
    "-6": "0 3 7 9",
    "-69": "0 2 3 7 9",
    "-7": "0 3 7 10",
    "-79": "0 2 3 7 10",
    "-7911": "0 2 3 5 7 10",
    "-7913": "0 2 3 7 9 10",
    "-79b": "0 1 3 7 10",
    "-j7": "0 3 7 11",
    "-j7911#": "0 2 3 6 7 11",
    "-j7913": "0 2 3 7 9 11",
    "6": "0 4 7 9",
    "69": "0 2 4 7 9",
    "6911#": "0 2 4 6 7 9",
    "7": "0 4 7 10",
    "79": "0 2 4 7 10",
    "79#": "0 3 4 7 10",
    "79#11#": "0 3 4 6 7 10",
    "79#13": "0 3 4 7 9 10",
    "7911": "0 2 4 5 7 10",
    "7911#": "0 2 4 6 7 10",
    "7913": "0 2 4 7 9 10",
    "7913b": "0 2 4 7 8 10",
    "79b": "0 1 4 7 10",
    "79b13": "0 1 4 7 9 10",
    "79b13b": "0 1 4 7 8 10",
    "7alt": "0 1 3 4 6 8 10",
    "j7": "0 4 7 11",
    "j79": "0 2 4 7 11",
    "j79#": "0 3 4 7 11",
    "j79#11#": "0 3 4 6 7 11",
    "j7911#": "0 2 4 6 7 11",
    "m7b5": "0 3 6 10",
    "o": "0 3 6",
    "o7": "0 3 6 9",
    "sus": "0 5 7",
    "sus7": "0 5 7 10",
    "sus79": "0 2 5 7 10",
    "sus7913": "0 2 5 7 9 10",
}
ONE_CHORD = re.compile(r"NC|[A-G][b#]?[^A-GN\s|/]*(?:/[A-G][b#]?)?")


@pytest.mark.parametrize(("suffix", "semitones"), SUFFIXES.items())
def test_each_suffix(suffix: str, semitones: str) -> None:
    """A word of the dialect has its tones on any root."""
    expected = {int(word) for word in semitones.split()}
    for root in ("C", "F#", "Bb"):
        chord = parse_chord(root + suffix)
        assert {degree.semitones for degree in chord.degrees} == expected


def check(text: str) -> None:
    if is_no_chord(text):
        return
    suffix = re.sub(r"^[A-G][b#]?", "", text).partition("/")[0]
    chord = parse_chord(text)
    assert {degree.semitones for degree in chord.degrees} == {int(word) for word in SUFFIXES[suffix].split()}, text
    bass = text.partition("/")[2]
    assert str(chord.bass or chord.root) == (bass or str(chord.root))


def test_every_chord_over_the_notes(data_dir: Path) -> None:
    """Every chord in the notes table, over 400 spellings, is read with its tones."""
    with lzma.open(data_dir / "wjazzd" / "notes.csv.xz", "rt", encoding="utf-8") as file:
        labels = {row["chord"] for row in csv.DictReader(file)}
    labels.discard("")
    assert len(labels) > 400
    for label in sorted(labels):
        check(label)


def test_every_chord_of_the_tunes(data_dir: Path) -> None:
    """Every chord in the chord changes of the 456 tunes is read with its tones."""
    text = (data_dir / "wjazzd" / "solos.csv").read_text(encoding="utf-8")
    changes = [row["chord_changes"] for row in csv.DictReader(io.StringIO(text))]
    bars = [bar for tune in changes for line in tune.splitlines() for bar in line.partition(":")[2].split("|")]
    found = {label for bar in bars for label in ONE_CHORD.findall(bar)}
    assert all(not ONE_CHORD.sub("", bar).strip() for bar in bars)
    assert len(found) > 300
    for label in sorted(found):
        check(label)
