"""What a tune may hold besides even bars: other meters, a pick-up, stops, a coda."""

from __future__ import annotations

from fractions import Fraction

import pytest
from band_strategies import chords, notes_of
from hypothesis import given
from hypothesis import strategies as st

from phrasewright.band.arrange import accompany
from phrasewright.band.bass_slots import bass_note_of
from phrasewright.band.form import Ending
from phrasewright.band.groove import GROOVES, Groove
from phrasewright.band.groove_model import BassStyle
from phrasewright.band.refit import begun, ended, refitted
from phrasewright.band.steps import HOLD, REST, read_steps
from phrasewright.band.stops import STOP_LENGTH
from phrasewright.score.chart import Chart, ChartBar
from phrasewright.score.model import Drum, Measure, PartRole, Score
from phrasewright.theory.chord_symbol import parse_chord
from phrasewright.theory.meter import METERS, Meter

FOUR = Meter(4, 4)
EM, A7 = parse_chord("Em7"), parse_chord("A7")


def bar(*names: str, meter: Meter = FOUR, stops: tuple[int, ...] = (), own: bool = False) -> ChartBar:
    """A bar whose chords share it evenly."""
    length = meter.bar / len(names)
    return ChartBar(
        chords=tuple((parse_chord(name), length) for name in names),
        stops=frozenset(stops),
        meter=meter if own else None,
    )


@st.composite
def tunes(draw: st.DrawFn) -> tuple[tuple[Measure, ...], Groove]:
    """A whole tune with bars of several meters, stops, perhaps a pick-up and a coda, and a groove for its own meter."""
    groove = draw(st.sampled_from(sorted(GROOVES.values(), key=lambda one: one.id)))
    home = draw(st.sampled_from(groove.meters))

    def a_bar() -> ChartBar:
        meter = draw(st.sampled_from([home, home, *METERS, Meter(1, 4), Meter(3, 8)]))
        chosen = [draw(chords) for _ in meter.groups]
        stops = frozenset(n for n in range(len(chosen)) if draw(st.integers(0, 3)) == 0)
        return ChartBar(chords=tuple(zip(chosen, meter.groups, strict=True)), meter=meter, stops=stops)

    first = ChartBar(chords=((draw(chords), home.bar),))
    pickup = None
    if draw(st.booleans()):
        short = Meter(draw(st.integers(1, home.upper - 1)), home.lower)
        pickup = ChartBar(chords=((draw(chords), short.bar),), meter=short)
    chart = Chart(
        meter=home,
        bars=(first, *(a_bar() for _ in range(draw(st.integers(0, 5))))),
        pickup=pickup,
        coda=tuple(a_bar() for _ in range(draw(st.integers(0, 2)))),
    )
    return chart.whole(draw(st.integers(1, 2))), groove


@given(tunes(), st.integers(0, 50), st.sampled_from(Ending))
def test_the_band_plays_any_tune(tune: tuple[tuple[Measure, ...], Groove], seed: int, ending: Ending) -> None:
    """Every part lies inside the bars; a new chord has its bass note; after a stop nothing sounds until the next."""
    measures, groove = tune
    band = accompany(measures, groove, seed=seed, ending=ending)
    Score(title="t", measures=measures, parts=band.parts, fifths=0, drums=band.drums)
    bass = notes_of(band, PartRole.BASS)
    pitched = [note for part in band.parts for note in part.notes]
    assert all(note.end <= measures[-1].end for note in pitched)
    before = None
    for span in (span for measure in measures for span in measure.chords):
        assert span.chord is not None
        new, before = span.chord != before or span.stop, span.chord
        if bass and new and groove.bass_style is not BassStyle.PEDAL:
            (first,) = [note for note in bass if note.onset == span.onset]
            assert first.pitch.name.pitch_class == bass_note_of(span.chord).pitch_class
        if span.stop:
            inside = [note for note in pitched if span.onset <= note.onset < span.end]
            assert all(note.onset == span.onset and note.duration <= STOP_LENGTH for note in inside)
            assert not [note for note in pitched if note.onset < span.onset < note.end]
            if groove.crash is not None:
                hits = {hit.onset for hit in band.drums.hits if span.onset <= hit.onset < span.end}
                assert hits == {span.onset}


@pytest.mark.parametrize("groove", [one for one in GROOVES.values() if one.crash], ids=lambda one: one.id)
def test_a_stop_is_struck_by_everybody(groove: Groove) -> None:
    """Drums, bass and chords all strike the stop on its beat, and wait."""
    home = groove.meters[0]
    chart = Chart(meter=home, bars=(bar("Em7", meter=home), bar("A7", meter=home, stops=(0,)), bar("Em7", meter=home)))
    band = accompany(chart.unfold(3), groove, seed=3)
    for role in (PartRole.CHORDS, PartRole.BASS):
        struck = [note.onset for note in notes_of(band, role) if home.bar <= note.onset < 2 * home.bar]
        assert set(struck) == {home.bar}
    assert Drum.KICK in {hit.drum for hit in band.drums.hits if hit.onset == home.bar}


def test_a_pick_up_leads_into_the_first_bar() -> None:
    """The fill that would end a bar fills the pick-up; the bass plays its chord."""
    pickup = ChartBar(chords=((A7, Fraction(2)),), meter=Meter(2, 4))
    chart = Chart(meter=FOUR, bars=(bar("Em7"),) * 4, pickup=pickup)
    band = accompany(chart.whole(1), GROOVES["shuffle"], seed=1)
    early = [hit.onset for hit in band.drums.hits if hit.onset < 2]
    assert early
    (note,) = [note for note in notes_of(band, PartRole.BASS) if note.onset < 2]
    assert (note.onset, note.duration, str(note.pitch.name)) == (0, 2, "A")


def test_a_shorter_bar_is_the_beginning_of_a_longer_one() -> None:
    """The groove goes on as it was and the bar line comes earlier, or it begins again in a longer bar."""
    three, six, two = Meter(3, 4), Meter(6, 4), Meter(2, 4)
    assert begun("x-oX", FOUR, three, HOLD) == "x-o"
    assert begun("x-oX", FOUR, six, HOLD) == "x-oXx-"
    assert begun("xo.X", FOUR, Meter(7, 8), REST) == "x.o...X"
    assert begun("R5", FOUR, three, HOLD) == "R-5"
    assert ended("xo-X", FOUR, two, HOLD) == ".X"


@given(st.sampled_from(sorted(GROOVES)), st.sampled_from(METERS), st.integers(1, 12), st.sampled_from([4, 8]))
def test_refitted_patterns_fill_their_bar(name: str, home: Meter, upper: int, lower: int) -> None:
    """Every pattern of a groove in another meter can be read there, and strikes nothing outside the bar."""
    groove, meter = GROOVES[name], Meter(upper, lower)
    if home not in groove.plans:
        home = groove.meters[0]
    measures = Chart(meter=home, bars=(bar("C", meter=home), bar("C", meter=meter, own=True))).unfold(2)
    plan = refitted(groove, measures).plan(meter)
    lanes = [pattern for beat in (*plan.beats, *(fill.beat for fill in plan.fills)) for _, pattern in beat.lanes]
    for pattern in (*lanes, *plan.bass, *plan.chords):
        assert all(step.onset + step.duration <= meter.bar for step in read_steps(pattern, meter))
    assert all(0 <= fill.start < meter.bar for fill in plan.fills)
