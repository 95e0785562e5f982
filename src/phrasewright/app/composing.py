"""The numbers behind a lesson as JSON: how hard everything is, and why every phrase of a study stands where it does."""

from __future__ import annotations

import json
from dataclasses import asdict
from itertools import pairwise

from phrasewright.app.figures import first_phrase
from phrasewright.app.pieces import BandPiece
from phrasewright.compose.costs import Parts
from phrasewright.compose.difficulty import Difficulty, difficulty_of, difficulty_of_phrase
from phrasewright.compose.explain import Placed
from phrasewright.compose.study import Study
from phrasewright.lesson.plan import LessonPlan
from phrasewright.melody.chord_distance import chord_distance
from phrasewright.melody.key_profile import key_of_chart
from phrasewright.score.chart import Chart

COMPOSING_PATH = "composing.json"
_DIGITS = 4


def composing_json(plan: LessonPlan, exercises: tuple[BandPiece, ...], studies: tuple[BandPiece, ...]) -> str:
    """All of it. Difficulty is at 90 quarter notes a minute; bits are costs, less is better."""
    motifs = [
        {
            "letter": item.letter,
            "degrees": item.motif.degrees_text,
            "difficulty": _difficulty(difficulty_of_phrase(first_phrase(plan, item.motif))),
        }
        for item in plan.shelf.items
    ]
    content = {
        "chart": _chart(plan.lesson.chart),
        "dial": plan.lesson.study.dial,
        "weights": asdict(plan.lesson.study.weights),
        "motifs": motifs,
        "exercises": [
            {
                "id": piece.id,
                "title": piece.score.title,
                "difficulty": _difficulty(difficulty_of(piece.lead_only)),
            }
            for piece in exercises
        ],
        "studies": [_study(study, piece.id) for study, piece in zip(plan.studies, studies, strict=True)],
    }
    return json.dumps(content, indent=1, ensure_ascii=False) + "\n"


def _chart(chart: Chart) -> dict[str, object] | None:
    """The key that the chords sound like, and how far each change moves in it; None without chords."""
    found = key_of_chart(chart)
    if found is None:
        return None
    spans = [(number, chord) for number, bar in enumerate(chart.bars, start=1) for chord, _ in bar.chords if chord]
    moves = [
        {"bar": bar, "from": str(old), "to": str(new), "distance": chord_distance(old, new, found.key)}
        for (_, old), (bar, new) in pairwise(spans)
        if old != new
    ]
    return {"key": str(found.key), "correlation": round(found.correlation, _DIGITS), "moves": moves}


def _study(study: Study, id_: str) -> dict[str, object]:
    return {
        "id": id_,
        "title": study.score.title,
        "rules": list(study.rules),
        "difficulty": _difficulty(study.difficulty),
        "phrases": [_phrase(placed) for placed in study.phrases],
    }


def _phrase(placed: Placed) -> dict[str, object]:
    reason = placed.reason
    other = reason.runner_up
    runner_up = None if other is None else {"letter": other.letter, "count": other.count, "bits": _bits(other.parts)}
    return {
        "bar": placed.bar + 1,
        "letter": placed.letter,
        "degrees": placed.phrase.motif.degrees_text,
        "count": placed.phrase.count.text,
        "reason": reason.sentence,
        "second": reason.second,
        "bits": _bits(reason.parts),
        "runner_up": runner_up,
    }


def _bits(parts: Parts) -> dict[str, float]:
    return {name: round(value, _DIGITS) for name, value in asdict(parts).items()} | {"all": round(parts.bits, _DIGITS)}


def _difficulty(difficulty: Difficulty) -> dict[str, float]:
    parts = {name: round(value, _DIGITS) for name, value in asdict(difficulty).items()}
    return {"level": round(difficulty.level, _DIGITS)} | parts
