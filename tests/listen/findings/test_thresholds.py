"""One table for all that may be said, in code and on paper."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from phrasewright.listen.finding import Tone, Topic
from phrasewright.listen.findings.thresholds import SOLOISTS_BEAT_MS, THRESHOLDS, Threshold

ROOT = Path(__file__).resolve().parents[3]
PAGE = (ROOT / "docs" / "findings.md").read_text("utf-8")
SOURCES = (ROOT / "docs" / "sources.md").read_text("utf-8")


def row_of(row: Threshold) -> str:
    """A row as docs/findings.md prints it."""
    limit = f"{row.measure} {row.limit:g} {row.unit}"
    return f"| `{row.kind}` | {row.tone} | {limit} | {row.least} {row.of} | {row.weight:g} | {row.source} |"


@pytest.mark.parametrize("row", THRESHOLDS.values(), ids=lambda row: row.kind)
def test_the_page_has_every_row(row: Threshold) -> None:
    """docs/findings.md prints the table as it is in the code, each kind under its topic."""
    heading = PAGE.index(f"### {row.topic.capitalize()}\n")
    end = PAGE.find("\n#", heading + 1)
    assert row_of(row) in PAGE[heading:end].splitlines()


def test_the_page_has_no_other_row() -> None:
    """No kind on the page is unknown to the code."""
    assert sorted(re.findall(r"^\| `([a-z-]+)` \|", PAGE, re.MULTILINE)) == sorted(THRESHOLDS)


def test_sources_have_their_section() -> None:
    """Sections of docs/sources.md that rows name in brackets exist."""
    named = {section for row in THRESHOLDS.values() for section in re.findall(r"\((\d[\d.]*)\)", row.source)}
    assert named
    for section in named:
        assert f"**{section}**" in SOURCES or f"## {section}." in SOURCES


def test_rows_make_sense() -> None:
    """A weight in 0..1, a source, something of every topic that asks for work, and a limit that can be passed."""
    assert {row.topic for row in THRESHOLDS.values() if row.tone is Tone.WORK} == set(Topic)
    for row in THRESHOLDS.values():
        assert 0.0 < row.weight <= 1.0
        assert row.source
        assert row.limit >= 0.0
        assert row.least > 0


def test_what_soloists_do_goes_by_tempo() -> None:
    """Faster tempos have less lag and less spread."""
    assert [row[0] for row in SOLOISTS_BEAT_MS] == sorted(row[0] for row in SOLOISTS_BEAT_MS)
    for column in (1, 2):
        values = [row[column] for row in SOLOISTS_BEAT_MS]
        assert values == sorted(values, reverse=True)
