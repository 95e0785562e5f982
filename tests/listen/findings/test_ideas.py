"""Space, landing notes, rhythm, pitches, motifs: small takes whose figures can be counted by hand."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lines import note, phrases, playing, take

from phrasewright.listen.finding import Finding, Tone, Topic
from phrasewright.listen.findings.findings import findings, first_things
from phrasewright.listen.findings.landing import landings
from phrasewright.listen.findings.motifs import development, motifs
from phrasewright.listen.findings.pitch_choice import pitch_choice
from phrasewright.listen.findings.space import silence
from phrasewright.listen.findings.take import Take
from phrasewright.listen.heard import HeardTechnique, Mark
from phrasewright.listen.placed import PlacedNote
from phrasewright.listen.spotted import Change, Sighting, Spotting
from phrasewright.melody.fit import Role

A, C, D, E, G = 57, 60, 62, 64, 67


def kinds(found: tuple[Finding, ...]) -> set[str]:
    return {finding.kind for finding in found}


def of_kind(take: Take, kind: str) -> Finding:
    (found,) = [finding for finding in findings(take) if finding.kind == kind]
    return found


def spotted(order: str, *, size: int = 4, changes: tuple[Change, ...] = ()) -> Spotting:
    return Spotting(
        sightings=tuple(
            Sighting(letter=letter, first=at, last=at + size - 1, notes=tuple(range(at, at + size)), changes=changes)
            for at, letter in zip(range(0, size * len(order), size), order, strict=True)
        ),
        own=(),
    )


def run(count: int) -> list[PlacedNote]:
    """Eighths without end, up and down the scale."""
    steps = (A, C, D, E, G, E, D, C)
    return [note(steps[at % len(steps)], at / 2) for at in range(count)]


# --- whatever is played


@st.composite
def any_notes(draw: st.DrawFn) -> list[PlacedNote]:
    """Notes in any order of pitches, lengths, marks and confidences, some at one time."""
    marks = st.sampled_from(
        ((), (), *((Mark(technique=technique, cents=180.0, rate_hz=5.0),) for technique in HeardTechnique))
    )
    times = sorted(draw(st.lists(st.integers(0, 200), max_size=60)))
    return [
        note(
            draw(st.floats(40.0, 86.0)),
            time / 4,
            quarters=draw(st.floats(0.1, 9.0)),
            marks=draw(marks),
            confidence=draw(st.floats(0.0, 1.0)),
        )
        for time in times
    ]


@given(any_notes(), st.sampled_from(["", "A", "ABAB"]))
def test_anything_can_be_judged(notes: list[PlacedNote], order: str) -> None:
    """No take breaks it; what is said is sure, has words and lies in the take."""
    spotting = spotted(order, size=1) if len(order) < len(notes) else None
    played = take(notes, spotting=spotting, shelf=("A", "B"), wished_space=0.3)
    for found in findings(played):
        assert 0.8 <= found.confidence <= 1.0
        assert 0.0 < found.weight <= 1.0
        assert found.said
        assert found.try_next
        assert all(number < len(notes) for number in found.notes)


# --- space


def test_silence_is_the_share_of_rests() -> None:
    """Four eighths and a quarter and a half, twice, then rest: of the twelve quarters of three bars 7 sound."""
    share, _ = silence(playing(phrases((A, C, D, E, G), (A, C, D, E, G), last=1.5)))
    assert share == pytest.approx(5 / 12)


def test_gaps_between_notes_are_no_rests() -> None:
    """Notes held for nine tenths of their step leave no rest."""
    assert silence(playing(run(64)))[0] == pytest.approx(0.0, abs=0.01)


def test_no_room_is_told_against_what_the_lesson_wishes() -> None:
    """A run without rest is crowded where a quarter of silence is wished, and no matter where none is."""
    assert of_kind(take(run(64), wished_space=0.25), "no-space").size < 0.05
    assert "no-space" not in kinds(findings(take(run(64), wished_space=0.0)))


def test_the_longest_run_has_its_place() -> None:
    """Sixteen seconds on end after bars with room in them: told with bars and seconds."""
    opening = phrases((A, C, D), (D, C, A), (A, C, D), (E, D, C))
    late = [note((A, C, D, E)[at % 4], 32 + at / 2) for at in range(64)]
    found = of_kind(take([*opening, *late], wished_space=0.15), "long-run")
    assert found.bars == (9, 16)
    assert found.size == pytest.approx(16.0, abs=0.3)
    assert found.from_s == pytest.approx(16.0)


# --- landing notes


def test_landings_have_roles() -> None:
    """A and C belong to A minor seventh, D does not."""
    ends = landings(playing(phrases((D, E, A), (D, E, C), (E, C, D))))
    assert [fit.role for fit in ends.values()] == [Role.ROOT, Role.THIRD, Role.TENSION]


def test_few_landings_are_told_with_their_number() -> None:
    """Eight phrases that all end on the fourth."""
    found = of_kind(take(phrases(*[(C, A, E, D)] * 8)), "few-landings")
    assert found.said.startswith("0 of your 8 phrases end on a note of the chord.")
    assert found.bars == (1, 15)
    assert len(found.notes) == 5


def test_landing_well_is_praised() -> None:
    """Eight phrases that end on root or third."""
    told = kinds(findings(take(phrases(*[(D, E, C, A), (D, E, D, C)] * 4))))
    assert "landings" in told
    assert "few-landings" not in told


def test_four_phrases_tell_nothing_of_landings() -> None:
    """Too few phrases: silence, however they end."""
    assert "few-landings" not in kinds(findings(take(phrases(*[(C, A, E, D)] * 4))))


# --- rhythm


def test_one_rhythm_and_one_start() -> None:
    """Eight phrases of eighths on beat one; with a dotted note here and there and other starts, neither is told."""
    even = phrases(*[(A, C, D, E, A)] * 8)
    assert {"one-rhythm", "same-start"} <= kinds(findings(take(even)))
    lively = []
    for number in range(8):
        start = 8 * number + (0, 0.5, 1, 1.5)[number % 4]
        times = ((0, 0.5, 2, 3, 3.5), (0, 1, 1.5, 2, 3.5))[number % 2]
        lively += [note((A, C, D, E, A)[at], start + time) for at, time in enumerate(times)]
    told = kinds(findings(take(lively)))
    assert not {"one-rhythm", "same-start"} & told


# --- pitches


def test_a_note_outside_is_named() -> None:
    """C sharp over A minor seventh, eight times; E flat that leads into D or E counts for nothing."""
    wrong = phrases(*[(A, 61, G, E, A)] * 8)
    found = of_kind(take(wrong), "one-outside")
    assert "C♯" in found.said or "D♭" in found.said
    assert found.size == 8.0
    leading = phrases(*[(A, 63, E, D, A)] * 8)
    assert not {"outside", "one-outside"} & kinds(findings(take(leading)))


def test_bent_notes_are_not_outside() -> None:
    """A bend that rests between two notes of the scale is no wrong note."""
    bend = (Mark(technique=HeardTechnique.BEND, cents=150.0),)
    notes = [note(61 if at % 5 == 1 else A, at, marks=bend if at % 5 == 1 else ()) for at in range(40)]
    assert not [
        found for found in pitch_choice(playing(notes)) if found.topic is Topic.SCALE and found.tone is Tone.WORK
    ]


def test_range_is_that_of_nearly_all_notes() -> None:
    """Three notes next to each other are narrow, two octaves are not."""
    assert of_kind(take(phrases(*[(A, C, D, C, A)] * 6)), "narrow").size == pytest.approx(5.0)
    assert "narrow" not in kinds(findings(take(phrases(*[(A, C, D, E, A + 12, C + 12, D + 12)] * 6))))


# --- motifs


def test_one_motif_mixing_and_reciting() -> None:
    """By hand: one letter; the shelf in its order; a good mixture."""
    shelf = ("A", "B", "C", "D")
    notes = run(64)

    def told(order: str) -> set[str]:
        return {found.kind for found in motifs(playing(notes, spotting=spotted(order), shelf=shelf))}

    assert "one-motif" in told("BBBBBBBBBBBBBBBB")
    assert told("ABCDABCDABCDABCD") == {"recited"}
    assert told("ACBDDBCACADBBDAC") == {"mixed"}


def test_motifs_left_alone() -> None:
    """Four notes of 64 in motifs of the shelf."""
    found = {found.kind: found for found in motifs(playing(run(64), spotting=spotted("A"), shelf=("A", "B")))}
    assert found["off-shelf"].size == pytest.approx(4 / 64)


def test_without_a_shelf_no_motif_is_missed() -> None:
    """No motifs were looked for: nothing is said of them."""
    assert list(motifs(playing(run(64)))) == []
    assert list(development(playing(run(64)))) == []


def test_ideas_that_come_back_changed_are_praised() -> None:
    """Sixteen motifs, all changed; none changed is noted; none at all is told."""
    shelf = ("A", "B", "C", "D")
    order = "ACBDDBCACADBBDAC"

    def told(spotting: Spotting) -> set[str]:
        return {found.kind for found in development(playing(run(64), spotting=spotting, shelf=shelf))}

    assert told(spotted(order, changes=(Change.OCTAVE,))) == {"developed"}
    assert told(spotted(order)) == {"never-changed"}
    assert told(Spotting(sightings=(), own=())) == {"nothing-returns"}


# --- all together


def test_what_the_lesson_is_about_weighs_more() -> None:
    """A fault beside the aim keeps 0.7 of its weight."""
    all_alike = of_kind(take(run(64)), "one-rhythm").weight
    assert of_kind(take(run(64), about=(Topic.SPACE,)), "one-rhythm").weight == pytest.approx(0.7 * all_alike)
    assert of_kind(take(run(64), about=(Topic.RHYTHM,)), "one-rhythm").weight == pytest.approx(all_alike)


def test_first_things_open_with_praise() -> None:
    """One good thing, then work by weight, no more than asked for."""
    found = findings(take(phrases(*[(D, E, D, E, A)] * 8)))
    first = first_things(found)
    assert [finding.tone for finding in first] == [Tone.GOOD, Tone.WORK, Tone.WORK]
    assert first_things(found, 1) == first[:1]
    assert first_things(()) == ()


def test_unsure_and_few_notes_say_nothing() -> None:
    """Notes hardly heard, or a handful of them, give no findings; an empty take none either."""
    assert findings(take([])) == ()
    assert findings(take([note(A, at, confidence=0.4) for at in range(40)])) == ()
    assert findings(take([note(A, 0), note(C, 1), note(D, 2)])) == ()
