"""Composed studies beside measured solos: 50 charts, two studies each, against docs/sources.md 3.6.

Measured in the Weimar Jazz Database (456 solos), per cent: repeats 4.6 of all intervals, steps 56.1, leaps of five
semitones and more 12.7; turning back after a step 34.5 to 35.8, after thirds 49.3, after larger leaps 61.5 to 79.3;
phrases that end on a chord tone 62.2. The bands lie around these. Two measured things a study of motifs should not
meet: its share of rest (19.9 there; a lesson asks for 40 and more, so that a learner hears the rest) and its phrase
length (median 13 notes there; here a phrase is one motif of two to five).
"""

from __future__ import annotations

from pathlib import Path

from measured_charts import Measured, fifty

from phrasewright.compose.study import compose_studies
from phrasewright.compose.wish import USUAL_DIAL, StudyWish

BANDS = {"repeats": (3.0, 8.0), "steps": (50.0, 62.0), "leaps": (8.0, 18.0), "landings": (55.0, 75.0)}


def measured(data_dir: Path, dial: float) -> Measured:
    found = Measured()
    charts = list(fifty(data_dir))
    assert len(charts) == 50
    for _, material in charts:
        for study in compose_studies(material, StudyWish(bars=len(material.chart.bars), how_many=2, dial=dial)):
            found.add(study)
    return found


def shares(found: Measured) -> dict[str, float]:
    return {
        "repeats": found.share(0, 0),
        "steps": found.share(1, 2),
        "leaps": found.share(5, 60),
        "landings": found.landed,
    }


def outside(found: Measured) -> set[str]:
    return {name for name, share in shares(found).items() if not BANDS[name][0] <= share <= BANDS[name][1]}


def test_studies_move_as_solos_do(data_dir: Path) -> None:
    """At the usual dial all shares lie in their bands, and the larger a move the oftener the line turns back."""
    found = measured(data_dir, USUAL_DIAL)
    assert outside(found) == set(), shares(found)
    assert found.turns("step") < found.turns("third") < found.turns("leap")
    assert found.turns("step") < 45
    assert 50 < found.turns("leap") < 80


def test_a_plain_shuffle_does_not(data_dir: Path) -> None:
    """At dial 0, under the same rules, at least two of the shares fall out of their bands."""
    found = measured(data_dir, 0.0)
    assert len(outside(found)) >= 2, shares(found)
