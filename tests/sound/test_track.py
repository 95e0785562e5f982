"""A score as stems: onsets from the performance, count-in, loop points."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from test_midifile import full_score

import sample_scores
from phrasewright.score.model import Part, PartRole
from phrasewright.score.performance import Performance, SwingCurve
from phrasewright.sound.events import SAMPLE_RATE, count_in, strum_delays_s, timed_notes
from phrasewright.sound.limiter import true_peak_dbtp
from phrasewright.sound.loudness import loudness_lufs
from phrasewright.sound.mix import mix_stems
from phrasewright.sound.track import delays_s, performed_notes, render_track
from phrasewright.theory.meter import Meter

STRAIGHT = Performance(tempo_bpm=90.0)
SWING = Performance(tempo_bpm=120.0, swing=SwingCurve(((100.0, 2.0),)))


def attacks(stem):
    """Samples at which sound begins out of complete silence."""
    loud = np.abs(stem) > 0
    return np.flatnonzero(loud[1:] & ~loud[:-1]) + 1


@pytest.mark.parametrize("performance", [STRAIGHT, SWING])
def test_onsets_lie_within_a_millisecond_of_the_score(performance):
    """Notes with silence before them start within 1 ms of their performed time."""
    score = sample_scores.motifs()
    notes = tuple(replace(n, duration=min(n.duration, Fraction(1, 4))) for n in score.parts[0].notes)
    score = replace(score, parts=(replace(score.parts[0], notes=notes),))
    track = render_track(score, performance)
    found = attacks(np.concatenate(([0.0], track.dry[PartRole.LEAD]))) - 1
    for at in found:
        nearest = min(abs(at / SAMPLE_RATE - performance.seconds_at(n.onset)) for n in notes)
        assert nearest < 0.001
    assert len(found) >= 4


def test_swing_delays_the_half_beat_only():
    """Ratio 2 at 120 bpm: the written eighth is played a triplet late, its neighbour on the beat."""
    part = Part(role=PartRole.LEAD, name="Lead", notes=sample_scores.line("0:1/2:A3:- 1/2:1/2:C4:- 1:1:D4:-", None))
    onsets = [note.onset_s for note in timed_notes(part, SWING)]
    assert onsets == pytest.approx([0.0, 1 / 3, 0.5])


def test_guitar_chords_are_strummed_and_lines_are_not():
    """A chord's lowest string is on time and the others follow within 40 ms; a line and a piano chord stay as timed."""
    notes = sample_scores.line("0:1:A3:- 0:1:C4:- 0:1:E4:- 0:1:G4:- 1:1:A3:-", None)
    guitar, piano = (
        performed_notes(Part(role=PartRole.CHORDS, name="Chords", notes=notes, voice=voice), STRAIGHT)
        for voice in ("rhythm guitar", "electric piano")
    )
    assert [round(note.onset_s, 6) for note in guitar] == pytest.approx([0.0, 0.007, 0.014, 0.021, 2 / 3])
    assert [note.pitch_midi for note in guitar] == [57, 60, 64, 67, 57]
    assert all(note.onset_s + note.duration_s == pytest.approx(2 / 3) for note in guitar[:4])
    assert [note.onset_s for note in piano] == pytest.approx([0.0] * 4 + [2 / 3])


def test_delays_say_what_a_strum_does():
    """The delays of a chord's notes, in the order they stand, are those its timed notes get."""
    notes = sample_scores.line("0:1:G4:- 0:1:A3:- 0:1:E4:- 1:1:D4:- 1:1:A3:-", None)
    assert strum_delays_s(notes) == pytest.approx((0.014, 0.0, 0.007, 0.007, 0.0))
    part = Part(role=PartRole.CHORDS, name="Chords", notes=notes, voice="rhythm guitar")
    assert delays_s(part) == strum_delays_s(notes)
    assert delays_s(replace(part, voice="electric piano")) == (0.0,) * 5
    played = {(note.pitch_midi, round(note.onset_s, 6)) for note in performed_notes(part, STRAIGHT)}
    delayed = zip(notes, strum_delays_s(notes), strict=True)
    assert played == {(n.pitch.midi, round(STRAIGHT.seconds_at(n.onset) + late_s, 6)) for n, late_s in delayed}


def test_the_count_in_comes_first():
    """One bar of clicks, the first accented, then the score; loop points move with it."""
    track = render_track(sample_scores.motifs(), STRAIGHT, count_in_bars=1)
    bar = round(4 * 60 / 90 * SAMPLE_RATE)
    assert track.sample_at(Fraction(0)) == bar
    assert not track.dry[PartRole.LEAD][: bar - 1].any()
    beats = [np.abs(track.dry[PartRole.DRUMS][i * bar // 4 :][:2000]).max() for i in range(4)]
    assert beats[0] > 1.2 * beats[1] > 0
    assert not track.dry[PartRole.DRUMS][bar + SAMPLE_RATE :].any()


@pytest.mark.parametrize(("meter", "beats"), [("4/4", 4), ("3/4", 3), ("6/8", 2), ("12/8", 4), ("7/8", 7), ("5/4", 5)])
def test_the_count_in_taps_the_beat(meter, beats):
    """Dotted quarters in compound meters, units elsewhere; it lasts whole bars."""
    hits, length_s = count_in(sample_scores.bars(meter, [[None]]), STRAIGHT, bars=2)
    assert len(hits) == 2 * beats
    assert length_s == pytest.approx(2 * float(Meter.parse(meter).bar) * 60 / 90)
    assert [h.velocity == 1.0 for h in hits] == ([True] + [False] * (beats - 1)) * 2


def test_before_a_pick_up_the_count_goes_on_to_where_it_begins():
    """A bar of four, then three more clicks before a pick-up of one beat, and it all lasts seven beats."""
    short, long = sample_scores.bars("1/4", [[None]])[0], sample_scores.bars("4/4", [[None]])[0]
    hits, length_s = count_in((replace(short, number=0), replace(long, onset=Fraction(1))), STRAIGHT)
    assert [hit.velocity == 1.0 for hit in hits] == [True, False, False, False, True, False, False]
    assert length_s == pytest.approx(7 * 60 / 90)


def test_a_whole_score_to_a_mix():
    """Stems for every role, of one length, at the standard loudness and under the ceiling."""
    track = render_track(full_score(), STRAIGHT)
    assert set(track.dry) == set(PartRole)
    assert len({len(stem) for stem in track.dry.values()}) == 1
    mix = mix_stems(track.dry, track.sample_rate)
    assert loudness_lufs(mix.master, SAMPLE_RATE) == pytest.approx(-18.0, abs=0.1)
    assert true_peak_dbtp(mix.master, SAMPLE_RATE) <= -1.0


def test_parts_of_one_role_share_a_stem():
    """Two leads sound together in the lead stem."""
    score = sample_scores.motifs()
    twice = replace(score, parts=score.parts * 2)
    assert set(render_track(twice, STRAIGHT).dry) == {PartRole.LEAD}


def test_an_unknown_voice_is_refused():
    """A part must name one of the voices."""
    score = sample_scores.motifs()
    with pytest.raises(ValueError, match="kazoo"):
        render_track(replace(score, parts=(replace(score.parts[0], voice="kazoo"),)), STRAIGHT)
