"""Patterns of the player's own: what comes back more than chance brings."""

from __future__ import annotations

from itertools import pairwise
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st
from played import a_minor_pentatonic, line, placed, random_solo

from phrasewright.listen.placed import PlacedNote
from phrasewright.listen.spot.line import line_of
from phrasewright.listen.spot.motifs import spot_motifs
from phrasewright.listen.spot.own import own_motifs

PITCHES = [note.pitch.midi for note in a_minor_pentatonic().notes]
LICK = (69, 67, 72, 64, 67)


def wandering(rng: Random, length: int) -> list[int]:
    """A walk through the box by one to three of its notes."""
    at, found = rng.randrange(len(PITCHES)), []
    for _ in range(length):
        at = rng.choice([other for other in range(at - 3, at + 4) if 0 <= other < len(PITCHES) and other != at])
        found.append(PITCHES[at])
    return found


def intervals_of(pitches: tuple[int, ...]) -> tuple[int, ...]:
    return tuple(after - before for before, after in pairwise(pitches))


def test_a_phrase_that_comes_back_is_the_players_own() -> None:
    """Three times in a wandering line, once a fourth higher: semitones and places are told."""
    rng = Random(3)
    pieces = [wandering(rng, 12), LICK, wandering(rng, 9), tuple(pitch + 5 for pitch in LICK), wandering(rng, 7), LICK]
    pitches: list[int | None] = []
    for piece in pieces:
        pitches += [*piece, None]
    own = own_motifs(line(pitches))
    assert [(one.intervals, one.places, one.same_rhythm) for one in own] == [(intervals_of(LICK), (12, 26, 38), True)]


def test_a_changed_rhythm_is_told() -> None:
    """The same steps, each time in another rhythm."""
    notes: list[PlacedNote] = []
    now_s = 1.0
    for steps in ((1, 1, 2, 1, 4), (2, 1, 1, 1, 4), (1, 2, 1, 1, 4), (1, 1, 1, 2, 4)):
        for pitch, step in zip(LICK, steps, strict=True):
            notes.append(placed(pitch, now_s, 0.2 * min(step, 2)))
            now_s += 0.25 * step
        now_s += 1.0
    (one,) = own_motifs(notes)
    assert one.intervals == intervals_of(LICK)
    assert not one.same_rhythm


def test_what_the_shelf_explains_is_not_the_players_own() -> None:
    """Solos made of shelf motifs: no own motif lies in a sighting by more than a note."""
    for seed in range(20):
        solo = random_solo(Random(seed))
        spotting = spot_motifs(solo.notes, solo.shelf)
        taken = {index for sighting in spotting.sightings for index in sighting.notes}
        index = line_of(solo.notes).index.tolist()
        for motif in spotting.own:
            for place in motif.places:
                first = index.index(place)
                assert len(taken.intersection(index[first : first + len(motif.intervals) + 1])) <= 1


def test_wandering_alone_has_hardly_a_pattern() -> None:
    """Forty random walks of 150 notes, in even notes: at most one in ten shows anything."""
    rng = Random(11)
    showing = sum(bool(own_motifs(line(wandering(rng, 150)))) for _ in range(40))
    assert showing <= 4


def test_scale_runs_and_repeated_notes_are_nobodys_own() -> None:
    """Ten runs up, ten down, ten times one note, even and with rests."""
    runs: list[int | None] = []
    for _ in range(10):
        runs += [*PITCHES[2:8], None, *PITCHES[8:2:-1], None, 64, 64, 64, 64, None]
    assert own_motifs(line(runs)) == ()


def test_a_run_with_a_rhythm_of_its_own_counts() -> None:
    """Long, short, short, long, six times between other lines."""
    rng = Random(5)
    notes: list[PlacedNote] = []
    now_s = 1.0
    for _ in range(6):
        for pitch in wandering(rng, 9):
            notes.append(placed(pitch, now_s, 0.22))
            now_s += 0.25
        now_s += 1.0
        for pitch, step_s in zip(PITCHES[3:7], (0.75, 0.125, 0.125, 1.0), strict=True):
            notes.append(placed(pitch, now_s, 0.9 * step_s))
            now_s += step_s
        now_s += 1.0
    run = tuple(PITCHES[3:7])
    assert (intervals_of(run), True, 6) in [
        (one.intervals, one.same_rhythm, len(one.places)) for one in own_motifs(notes)
    ]


def test_two_notes_are_a_motif_only_as_a_phrase() -> None:
    """A seventh up, eight times: alone between rests it is the player's own, inside a line it is not."""
    rng = Random(8)
    alone: list[int | None] = []
    inside: list[int | None] = []
    for _ in range(8):
        before, after = wandering(rng, 16), wandering(rng, 9)
        alone += [*before, None, 57, 67, None, *after, None]
        inside += [*before, 57, 67, *after, None]
    assert (10,) in [one.intervals for one in own_motifs(line(alone))]
    assert (10,) not in [one.intervals for one in own_motifs(line(inside))]


@settings(max_examples=25)
@given(st.lists(st.integers(40, 80), max_size=120), st.integers(1, 4))
def test_every_place_of_a_pattern_has_its_steps(pitches: list[int], again: int) -> None:
    """In any line, also one said several times over; places do not overlap."""
    notes = line(pitches * again)
    for motif in own_motifs(notes):
        size = len(motif.intervals) + 1
        assert 2 <= size <= 8
        assert len(motif.places) >= 2
        assert all(after - before >= size for before, after in pairwise(motif.places))
        for place in motif.places:
            heard = tuple(round(one.note.pitch_midi) for one in notes[place : place + size])
            assert intervals_of(heard) == motif.intervals
