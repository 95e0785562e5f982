"""A take as the studio shows it: the same notes and words as the report, with what each note was written as."""

from __future__ import annotations

import json

from phrasewright.app.take_view import take_view, view_text
from phrasewright.score.model import PartRole
from reported_takes import DEAD, LATE, LATE_S, OFFSET_S, demo_assignment, heard_study, reviewed, reviewed_alone

NOTE_KEYS = {
    "at_s", "end_s", "name", "midi", "string", "fret", "bar", "beat", "deviation_ms", "confidence",
    "written", "verdict",
}  # fmt: skip


def test_notes_stand_beside_what_was_written() -> None:
    """Played as written: each note has its written note's place in the line; the late one is told late, by its time."""
    told, _ = reviewed()
    view = take_view(told)
    line = demo_assignment().line
    assert line is not None
    written = [note.pitch.printed for note in line.part(PartRole.LEAD).notes]
    assert len(view["notes"]) == len(written)
    assert all(note.keys() == NOTE_KEYS for note in view["notes"])
    sounding = [number for number in range(len(written)) if number != DEAD]
    assert [view["notes"][at]["name"] for at in sounding] == [written[at] for at in sounding]
    played = [at for at in sounding if view["notes"][at]["verdict"] == "played"]
    assert len(played) > len(written) / 2
    assert all(view["notes"][at]["written"] == at for at in played)
    assert view["notes"][DEAD]["name"] == ""
    late = view["notes"][LATE]
    assert late["verdict"] == "late"
    assert abs(late["deviation_ms"] - 1000 * LATE_S) < 30
    assert view["title"] == line.title
    assert view["words"] == (told.in_bars.words if told.in_bars else "")


def test_each_round_is_lit_in_the_line_as_engraved() -> None:
    """A line played twice: the second round's notes were written where the first's were, not beyond the line's end."""
    told, _ = reviewed(rounds=2)
    line = demo_assignment().line
    assert line is not None
    once = len(line.part(PartRole.LEAD).notes)
    places = [note["written"] for note in take_view(told)["notes"]]
    assert len(places) == 2 * once
    second = [(at, place) for at, place in enumerate(places) if at >= once and place is not None]
    assert len(second) > once / 2
    assert all(place == at - once for at, place in second)


def test_what_was_not_played_is_told_where_it_was_due() -> None:
    """A take of one round and the beginning of another: what is missing has its bar and its time."""
    told, _ = reviewed(rounds=1)
    assert told.in_bars is not None
    assert told.in_bars.comparison is not None
    view = take_view(told)
    missed = [outcome.written for outcome in told.in_bars.comparison.outcomes if outcome.heard is None]
    assert [one["midi"] for one in view["missed"]] == [note.pitch.midi for note in missed]
    assert all(one["bar"] and one["at_s"] >= OFFSET_S for one in view["missed"])


def test_findings_first_things_first() -> None:
    """In the order of the review, those to tell at once marked, each with what to try."""
    told, _ = reviewed()
    assert told.in_bars is not None
    view = take_view(told)
    assert [one["words"] for one in view["findings"]] == [one.said for one in told.in_bars.findings]
    assert [one["try"] for one in view["findings"]] == [one.try_next for one in told.in_bars.findings]
    assert sum(one["first"] for one in view["findings"]) == len(told.in_bars.first)


def test_without_a_lesson() -> None:
    """A take by itself: notes and their number in words, nothing of bars; and it is JSON on one line."""
    hearing = heard_study(demo_assignment())
    told, _ = reviewed_alone(hearing)
    text = view_text(told)
    assert text.count("\n") == 1
    view = json.loads(text)
    assert view["words"].startswith(f"{len(hearing.notes)} notes were heard")
    assert view["findings"] == view["missed"] == []
    assert all(note["bar"] is None and note["verdict"] is None for note in view["notes"])
