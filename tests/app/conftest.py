"""A small lesson and its pack, built once for all tests that look at a pack."""

from __future__ import annotations

from pathlib import Path

import pytest

from phrasewright.app.build import BuildReport, build_pack

SMALL_LESSON = """\
[lesson]
title = "Two bars of air"
words = "Play little, listen much."
teacher = "Ines Varga"
school = "Harbour Lane Community Music School"
seed = 3

[scale]
root = "A"

[position]
style = "open"
lowest_string = 5

[motifs]
sizes = [3]
shelf = 3

[band]
groove = "shuffle"
tempos = [120]
choruses = 2
chart = "| Am7 | D7 | Am7 | E7 |"

[exercises]
kinds = ["each-alone", "free-choice"]

[study]
bars = 4
"""


@pytest.fixture(scope="session")
def small_lesson(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The lesson file; tests that change it copy it first."""
    path = tmp_path_factory.mktemp("lessons") / "air.toml"
    path.write_text(SMALL_LESSON, encoding="utf-8")
    return path


@pytest.fixture(scope="session")
def built(small_lesson: Path, tmp_path_factory: pytest.TempPathFactory) -> BuildReport:
    """The pack of the small lesson; read only."""
    return build_pack(small_lesson, tmp_path_factory.mktemp("packs") / "air")
