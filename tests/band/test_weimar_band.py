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
from phrasewright.band.bass_neck import BASS_GUITAR, HIGHEST_MIDI, LOWEST_MIDI, REACH_MM
from phrasewright.band.bass_slots import bass_note_of
from phrasewright.band.families import voicings_in
from phrasewright.band.form import Ending
from phrasewright.band.groove import GROOVES, Groove, grooves_for
from phrasewright.band.groove_model import BassStyle, ChordStyle
from phrasewright.band.tones import essential_degrees
from phrasewright.band.voice_leading import lead_voices
from phrasewright.band.voicings import FINGERS, GUITAR, MOST_STRETCH_MM
from phrasewright.score.model import PartRole
from phrasewright.theory.chord import Chord
from phrasewright.theory.interval import Degree
from phrasewright.theory.meter import Meter

TUNES = 60  # enough for 1,800 changes
STYLES = [style for style in ChordStyle if style is not ChordStyle.FIFTHS]
MOST_MOVEMENT = {ChordStyle.SHELLS: 2 / 3, ChordStyle.OPEN: 1 / 2, ChordStyle.TRIADS: 2 / 5}  # their roots must move
ROOT_POSITION_HOME_MIDI = 55  # G3: grips lie about there


def telling(chord: Chord) -> set[int]:
    """Semitones of the third, or what suspends it, and of the seventh, or the sixth: those that the symbol has.

    A natural eleventh stands for the major third; with a thirteenth the third stays and it goes (common practice).
    """
    has = {degree.number: degree for degree in chord.degrees}
    eleventh = {Degree(3), Degree(11)} <= set(chord.degrees) and 13 not in has
    third = has.get(11) if eleventh else has.get(3) or has.get(4) or has.get(2)
    seventh = has.get(7) or has.get(6)
    return {degree.semitones for degree in (third, seventh) if degree is not None}


@pytest.mark.parametrize("style", STYLES)
def test_every_voicing_tells_its_chord_and_fits_the_hand(data_dir: Path, style: ChordStyle) -> None:
    """Third and seventh are in every voicing of every written chord; fingers hold it, a string sounds once."""
    chords = distinct_chords(data_dir)
    assert len(chords) > 400
    for chord in chords:
        for one in voicings_in(chord, style):
            assert telling(chord) <= {degree.semitones for degree in one.degrees}, chord
            stopped = [place.fret for place in one.places if place.fret]
            strings = {place.string for place in one.places}
            assert len(strings) == len(one.places) <= len(GUITAR.strings)
            assert (len(one.pitches) <= 2 * FINGERS + 2) if style is ChordStyle.KEYBOARD else strings
            if stopped:
                assert GUITAR.stretch_mm(min(stopped), max(stopped)) <= MOST_STRETCH_MM
                barred = stopped.count(min(stopped)) if len(stopped) == len(strings) else 1
                assert len(stopped) - barred + 1 <= FINGERS


@pytest.mark.parametrize("meter", METERS, ids=str)
def test_every_chord_arranges_in_every_groove(data_dir: Path, meter: Meter) -> None:
    """Every written chord, alone in a bar or two in one, begins on its bass note and is struck."""
    measures = laid(distinct_chords(data_dir), meter)
    spans = [span for measure in measures for span in measure.chords]
    for groove in grooves_for(meter):
        band = accompany(measures, groove, seed=5, ending=Ending.FINAL)
        notes = {note.onset: note.pitch for note in notes_of(band, PartRole.BASS)}
        assert all(LOWEST_MIDI <= pitch.midi <= HIGHEST_MIDI for pitch in notes.values())
        if groove.plan(meter).bass and groove.bass_style is not BassStyle.PEDAL:
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


@pytest.mark.parametrize("style", STYLES)
def test_voices_move_less_than_root_positions(data_dir: Path, style: ChordStyle) -> None:
    """Over real changes a voice moves less than a third as far as in root positions that follow the nearest root.

    Shells and open grips keep their own root lowest, and three neighbouring strings leave triads fewer ways.
    """
    ours: list[int] = []
    plain: list[int] = []
    for chain in chains(data_dir, TUNES):
        ours += moved([[pitch.midi for pitch in one.pitches] for one in lead_voices(chain, style, rng=Random(1))])
        plain += moved(list(stacked(chain)))
    each, beginner = sum(ours) / len(ours), sum(plain) / len(plain)
    print(f"{style}: a voice moves {each:.2f} semitones, root positions {beginner:.2f}: ratio {each / beginner:.2f}")
    assert each / beginner < MOST_MOVEMENT.get(style, 1 / 3)


@pytest.mark.parametrize(
    "groove", [g for g in GROOVES.values() if g.bass_style is BassStyle.WALKING], ids=lambda g: g.id
)
def test_a_walking_bass_steps_into_the_changes(data_dir: Path, groove: Groove) -> None:
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


@pytest.mark.parametrize("groove", [g for g in GROOVES.values() if Meter(4, 4) in g.plans], ids=lambda g: g.id)
def test_every_tune_is_played_on_the_neck(data_dir: Path, groove: Groove) -> None:
    """Every chart arranges; each bass note lies on a fret that sounds it, and the hand seldom leaves its place."""
    notes = stays = 0
    widest_mm = 0.0
    for chain in chains(data_dir, TUNES):
        line = notes_of(accompany(laid(chain, Meter(4, 4)), groove, seed=1), PartRole.BASS)
        stopped = [note.place.fret for note in line if note.place and note.place.fret]
        assert all(note.place and BASS_GUITAR.midi_at(note.place) == note.pitch.midi for note in line)
        for low, high in pairwise(stopped):
            apart_mm = BASS_GUITAR.stretch_mm(low, high)
            widest_mm = max(widest_mm, apart_mm)
            stays += apart_mm <= REACH_MM
            notes += 1
    if notes:
        print(f"{groove.id}: {stays / notes:.1%} of {notes} steps within the hand, the widest {widest_mm:.0f} mm")
        assert stays / notes > 0.9
        assert widest_mm < BASS_GUITAR.scale_length_mm / 2
