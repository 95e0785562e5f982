"""What a teacher does on the desk, seen in the lesson that comes of it."""

from __future__ import annotations

import json
from contextlib import suppress
from dataclasses import asdict
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from phrasewright.app.desk import deeds
from phrasewright.app.desk.deeds import Deed, DeedError
from phrasewright.app.desk.sound import desk_sound, note_sound
from phrasewright.app.desk.view import plan_on_desk
from phrasewright.app.reading import Reading, key_path, read_text
from phrasewright.app.source import source_of
from phrasewright.lesson.edit import Change, change_text
from phrasewright.lesson.new import starter
from phrasewright.lesson.plan import LessonPlan
from phrasewright.neck.instrument import StringFret

START = starter("Deeds", "E")


def reading(text: str) -> Reading:
    return read_text(source_of(Path("deeds.toml"), text.encode()), text)


def plan_of(text: str) -> LessonPlan:
    found = reading(text)
    assert found.problems == ()
    assert found.plan is not None
    return found.plan


def done(text: str, deed: Deed) -> str:
    return change_text(text, deed.changes)


def steps(plan: LessonPlan) -> list[tuple[int, ...]]:
    return [item.motif.steps for item in plan.shelf.items]


def test_a_pinned_motif_stays_when_others_are_chosen() -> None:
    plan = plan_of(START)
    pinned = plan.shelf["C"].motif.steps
    text = done(START, deeds.pin(plan, "C"))
    assert steps(plan_of(text))[0] == pinned
    assert len(plan_of(text).shelf.items) == len(plan.shelf.items)
    other = text.replace("seed = 1", "seed = 77").replace('"falling", ', "")
    assert steps(plan_of(other))[0] == pinned
    with pytest.raises(DeedError, match="pinned already"):
        deeds.pin(plan_of(text), "A")
    assert steps(plan_of(done(text, deeds.unpin(plan_of(text), "A")))) == steps(plan)


def test_a_motif_left_out_comes_back_when_it_is_allowed() -> None:
    plan = plan_of(START)
    unwanted = plan.shelf["B"].motif.steps
    text = done(START, deeds.reject(plan, "B"))
    assert unwanted not in steps(plan_of(text))
    (left,) = plan_on_desk(plan_of(text)).left_out
    assert steps(plan_of(done(text, deeds.allow(plan_of(text), left)))) == steps(plan)
    pinned = done(START, deeds.pin(plan, "B"))
    assert unwanted not in steps(plan_of(done(pinned, deeds.reject(plan_of(pinned), "A"))))


def test_a_motif_is_drawn_on_the_neck_within_the_position() -> None:
    plan = plan_of(START)
    places = [plan.position.notes[step].place for step in (4, 6, 5)]
    text = done(START, deeds.draw_motif(plan, places, "up and back"))
    assert steps(plan_of(text))[0] == (4, 6, 5)
    assert plan_of(text).names == {"A": "up and back"}
    with pytest.raises(DeedError, match="not in the position"):
        deeds.draw_motif(plan, [StringFret(1, 1), places[0]])
    with pytest.raises(DeedError, match="2 to 5 notes"):
        deeds.draw_motif(plan, places[:1])
    with pytest.raises(DeedError, match="already"):
        deeds.draw_motif(plan_of(text), places)


def test_bars_drawn_anew_change_and_the_others_stay() -> None:
    plan = plan_of(START)
    text = done(START, deeds.draw_again(plan, 0, range(4, 12)))
    line = [(one.bar, one.letter, one.phrase.count.text) for one in plan.studies[0].phrases]
    drawn = [(one.bar, one.letter, one.phrase.count.text) for one in plan_of(text).studies[0].phrases]
    assert drawn != line
    assert [one for one in drawn if one[0] < 4] == [one for one in line if one[0] < 4]
    twice = done(text, deeds.draw_again(plan_of(text), 0, range(4, 12)))
    again = plan_of(twice).lesson.study.again
    assert len(again) == 1, "what is drawn over is not remembered for ever"
    assert again[0].turn > plan_of(text).lesson.study.again[0].turn
    with pytest.raises(DeedError, match="No bar"):
        deeds.draw_again(plan, 0, [])
    with pytest.raises(DeedError, match="no study 3"):
        deeds.draw_again(plan, 2, [1])


def test_bars_that_can_only_be_as_they_are_say_so() -> None:
    tight = (
        '[lesson]\ntitle = "One"\n[scale]\nroot = "E"\n[motifs]\nshelf = 1\n[[motifs.written]]\ndegrees = "1 b3 4"\n'
        '[rhythm]\ncounts = ["1 2 3"]\nspace = 0.2\n[band]\nchart = "| Em7 | A7 |"\n'
        '[study]\npins = ["bar 1: A", "bar 2: A"]\nlongest_run = 2\n'
    )
    with pytest.raises(DeedError, match="no other choice"):
        deeds.draw_again(plan_of(tight), 0, [0, 1])


def test_a_reading_says_all_values_and_places_problems_in_their_text() -> None:
    text = (
        '[lesson]\ntitle = "x"\n[scale]\nroot = "E"\n[band]\ntempos = [20]\nchart = """\n| Em7 |\n| Am7 | Qm7 |\n"""\n'
    )
    found = reading(text)
    assert found.plan is None
    assert found.values["band"]["tempos"] == [20], "what is written is shown, wrong or not"
    assert found.values["band"]["choruses"] == 2
    assert ("band", "chart") in found.written
    tempo, chart = found.problems
    assert tempo.path == ("band", "tempos", 0)
    assert chart.path == ("band", "chart")
    assert found.values["band"]["chart"][chart.at : chart.at + 3] == "Qm7"
    assert reading("[lesson\n").problems[0].line == 1
    assert key_path("study.pins[2]") == ("study", "pins", 1)


def test_the_desk_has_the_sound_of_every_motif_study_and_note() -> None:
    found = reading(START)
    sound = desk_sound(found)
    pieces = {piece["id"] for piece in sound["pieces"]}
    assert pieces == {"study-1", *(f"motif-{letter}" for letter in "abcdef")}
    for piece in sound["pieces"]:
        keys = {key for key, _ in piece["clips"]}
        there = {key for sprite in sound["sounds"].values() for key in sprite.get("clips", {})}
        assert keys <= there
    assert set(note_sound(found)["clips"]) == {str(midi) for midi in range(40, 64 + 23)}


def test_the_neck_shows_position_scale_and_what_is_left_out() -> None:
    text = START.replace('style = "box"', 'style = "box"\nfret = 5\nleft_out = ["4 cycle 1"]')
    neck = plan_on_desk(plan_of(text)).neck
    assert [note.spot for note in neck.dropped] == ["4 cycle 1"]
    places = [note.place for note in (*neck.position, *neck.dropped, *neck.others)]
    assert len(set(places)) == len(places)
    for note in (*neck.position, *neck.others):
        assert neck.strings[note.string - 1].midi + note.fret == note.midi
    assert neck.frets[12] == 0.5, "the octave lies at half the string"


FORMS = {
    "instrument": ("guitar", "bass", "ukulele", "mandolin"),
    "scale": ("minor-pentatonic", "dorian", "blues", "major", "whole-tone"),
    "style": ("box", "open", "three per string", "one string"),
    "meter": ("4/4", "3/4", "12/8", "5/4"),
}


@settings(max_examples=25)
@given(st.fixed_dictionaries({key: st.sampled_from(words) for key, words in FORMS.items()}), st.data())
def test_whatever_is_made_is_shown_and_every_deed_leaves_a_lesson(form: dict[str, str], data: st.DataObject) -> None:
    """Any instrument, scale, style, meter; notes left out, great leaps; what cannot be done is said in words."""
    text = starter("Any", "E", form["scale"], instrument=form["instrument"], style=form["style"], meter=form["meter"])
    text = text.replace("largest_step = 1", f"largest_step = {data.draw(st.integers(1, 4))}")
    found = reading(text)
    if found.plan is None:
        assert found.problems
        return
    neck = plan_on_desk(found.plan).neck
    left = data.draw(st.lists(st.sampled_from([note.spot for note in neck.position]), max_size=9, unique=True))
    if left:
        text = change_text(text, [Change(path=("position", "left_out"), value=left)])
        found = reading(text)
    if found.plan is None:
        assert found.problems
        return
    shown = plan_on_desk(found.plan)
    json.dumps(asdict(shown))
    letter = data.draw(st.sampled_from([motif.letter for motif in shown.motifs]))
    deed = data.draw(st.sampled_from([deeds.pin, deeds.reject]))
    after = None
    with suppress(DeedError):  # a leap that no lesson can write
        after = reading(done(text, deed(found.plan, letter)))
    assert after is None or after.plan is not None or after.problems
