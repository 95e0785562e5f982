"""The band over the chords of 456 written tunes: every chord is played, voices move little, the bass leads on.

Data: chord changes of the Weimar Jazz Database (docs/sources.md). Figures printed here stand in docs/band.md.
"""

from __future__ import annotations

from bisect import bisect
from collections.abc import Iterator, Sequence
from itertools import pairwise
from pathlib import Path
from random import Random

import pytest
from band_strategies import METERS, notes_of
from weimar_charts import chains, distinct_chords, laid

from phrasewright.band.arrange import accompany
from phrasewright.band.bass import HIGHEST_MIDI, LOWEST_MIDI, bass_note_of
from phrasewright.band.form import Ending
from phrasewright.band.groove import GROOVES, grooves_for
from phrasewright.band.groove_model import BassStyle
from phrasewright.band.tones import essential_degrees
from phrasewright.band.voicings import GUITAR, is_playable, lead_voices, voicings_of
from phrasewright.score.model import PartRole
from phrasewright.theory.chord import Chord
from phrasewright.theory.interval import Degree
from phrasewright.theory.meter import Meter

TUNES = 60  # enough for 1,800 changes
ROOT_POSITION_HOME_MIDI = 55  # G3: grips lie about there


def telling(chord: Chord) -> set[int]:
    """Semitones of the third, or what suspends it, and of the seventh, or the sixth: those that the symbol has.

    A natural eleventh stands for the third; with a thirteenth the third stays and it goes (common practice).
    """
    has = {degree.number: degree for degree in chord.degrees}
    eleventh = Degree(11) in chord.degrees and 13 not in has
    third = has.get(11) if eleventh else has.get(3) or has.get(4) or has.get(2)
    seventh = has.get(7) or has.get(6)
    return {degree.semitones for degree in (third, seventh) if degree is not None}


def test_every_voicing_tells_its_chord_and_fits_the_hand(data_dir: Path) -> None:
    """Third and seventh are in every grip of every written chord; four fingers hold it, a string sounds once."""
    chords = distinct_chords(data_dir)
    assert len(chords) > 400
    for chord in chords:
        for grip in voicings_of(chord):
            assert telling(chord) <= {degree.semitones for degree in grip.degrees}, chord
            assert is_playable(grip.places)
            assert len(grip.pitches) == len({place.string for place in grip.places}) <= len(GUITAR.strings)


@pytest.mark.parametrize("meter", METERS, ids=str)
def test_every_chord_arranges_in_every_groove(data_dir: Path, meter: Meter) -> None:
    """Every written chord, alone in a bar or two in one, begins on its bass note and is struck."""
    measures = laid(distinct_chords(data_dir), meter)
    spans = [span for measure in measures for span in measure.chords]
    for groove in grooves_for(meter):
        band = accompany(measures, groove, seed=5, ending=Ending.FINAL)
        notes = {note.onset: note.pitch for note in notes_of(band, PartRole.BASS)}
        assert all(LOWEST_MIDI <= pitch.midi <= HIGHEST_MIDI for pitch in notes.values())
        if groove.plan(meter).bass:
            assert all(s.chord and notes[s.onset].name.pitch_class == bass_note_of(s.chord).pitch_class for s in spans)
        if groove.plan(meter).chords:
            struck = sorted({note.onset for note in notes_of(band, PartRole.CHORDS)})
            starts = [span.onset for span in spans]
            assert {bisect(starts, onset) for onset in struck} == set(range(1, len(starts) + 1))


def stacked(chords: Sequence[Chord]) -> Iterator[list[int]]:
    """What a beginner plays: close root positions with as many voices as the grips, each root nearest the last one."""
    root_midi = ROOT_POSITION_HOME_MIDI
    for chord in chords:
        root_midi += (chord.root.pitch_class - root_midi + 6) % 12 - 6
        others = sorted({degree.semitones % 12 for degree in essential_degrees(chord, 4)} - {0})
        yield [root_midi, *(root_midi + semitones for semitones in others)]


def moved(voices: Sequence[Sequence[int]]) -> list[int]:
    """Semitones that each voice moves at each change, voices paired from the top."""
    return [
        abs(low - high)
        for before, after in pairwise(voices)
        for low, high in zip(reversed(before), reversed(after), strict=False)
    ]


def test_voices_move_less_than_root_positions(data_dir: Path) -> None:
    """Over real changes a voice moves less than a third as far as in root positions that follow the nearest root."""
    ours: list[int] = []
    plain: list[int] = []
    for chain in chains(data_dir, TUNES):
        ours += moved([[pitch.midi for pitch in grip.pitches] for grip in lead_voices(chain, rng=Random(1))])
        plain += moved(list(stacked(chain)))
    each, beginner = sum(ours) / len(ours), sum(plain) / len(plain)
    print(f"a voice moves {each:.2f} semitones a change, in root positions {beginner:.2f}: ratio {each / beginner:.2f}")
    assert each / beginner < 1 / 3


@pytest.mark.parametrize(
    "groove", [g for g in GROOVES.values() if g.bass_style is BassStyle.WALKING], ids=lambda g: g.id
)
def test_a_walking_bass_steps_into_the_changes(data_dir: Path, groove) -> None:
    """At least half of all changes are reached by a half or whole step; a fifth or fourth makes most of the rest."""
    by_step = changes = 0
    for chain in chains(data_dir, TUNES):
        measures = laid(chain, Meter(4, 4))
        line = notes_of(accompany(measures, groove, seed=1, ending=Ending.FINAL), PartRole.BASS)
        starts = {span.onset for measure in measures for span in measure.chords} - {0}
        leaps = [abs(a.pitch.midi - b.pitch.midi) for a, b in pairwise(line) if b.onset in starts]
        changes += len(leaps)
        by_step += sum(leap in (1, 2) for leap in leaps)
    print(f"{groove.id}: {by_step / changes:.0%} of {changes} changes by step")
    assert changes > 1500
    assert by_step / changes >= 0.5
