"""``phrasewright schema``: the JSON Schema of lesson files, for editors that complete and check while typing."""

from __future__ import annotations


def schema() -> None:
    """Print the JSON Schema of lesson files, for editors that complete and check while you type.

    Example: `phrasewright schema > lesson.schema.json`
    """
    import json

    from phrasewright.lesson.schema import json_schema

    print(json.dumps(json_schema(), indent=2, ensure_ascii=False))
