"""The numbers behind a lesson, as a program reads them."""

from __future__ import annotations

import json

import pytest

from phrasewright.app.build import BuildReport

PARTS = ("fit", "landing", "join", "hand", "again", "difficulty")


def test_every_phrase_has_its_numbers_and_its_words(built: BuildReport) -> None:
    """Parts sum to the whole, the runner-up is another motif, and the reason names bar and letter."""
    content = json.loads((built.pack / "composing.json").read_text(encoding="utf-8"))
    assert [motif["letter"] for motif in content["motifs"]] == ["A", "B", "C"]
    assert all(piece["difficulty"]["level"] > 0 for piece in (*content["motifs"], content["exercises"][0]))
    assert content["chart"]["key"] == "A minor"
    assert content["chart"]["moves"][0] == {"bar": 2, "from": "Am7", "to": "D7", "distance": 5}
    assert content["chart"]["moves"][-1]["distance"] is not None
    (study,) = content["studies"]
    assert study["id"] == "study-1"
    assert study["rules"]
    assert study["phrases"]
    for phrase in study["phrases"]:
        assert phrase["reason"].startswith(f"Bar {phrase['bar']}: {phrase['letter']} ")
        assert phrase["second"].endswith(".")
        for numbers in filter(None, (phrase["bits"], (phrase["runner_up"] or {}).get("bits"))):
            assert numbers["all"] == pytest.approx(sum(numbers[part] for part in PARTS), abs=1e-3)
        if phrase["runner_up"]:
            assert phrase["runner_up"]["letter"] != phrase["letter"]
