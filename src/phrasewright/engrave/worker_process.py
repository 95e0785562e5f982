"""What runs in the engraving process (see ``worker``): a line of JSON in, a line of JSON out, until the input ends.

Question: ``{"mei": text, "options": {...}, "want": "pages" | "onsets"}``. Answer: ``{"error": "", "answer": ...}``.
Started as ``python -m phrasewright.engrave.worker_process``.
"""

from __future__ import annotations

import json
import sys
from typing import Any

import verovio


def answer(question: dict[str, Any]) -> dict[str, Any]:
    """Answer one question. MusicXML is understood in place of MEI."""
    toolkit = verovio.toolkit()
    toolkit.setOptions(question["options"])
    if not toolkit.loadData(question["mei"]):
        return {"error": "it could not be read"}
    if question["want"] == "onsets":
        return {"error": "", "answer": _onsets(toolkit)}
    pages = [toolkit.renderToSVG(number) for number in range(1, toolkit.getPageCount() + 1)]
    return {"error": "", "answer": pages}


def _onsets(toolkit: Any) -> dict[str, float]:
    moments = toolkit.renderToTimemap({"includeRests": True})
    return {name: moment["qstamp"] for moment in moments for key in ("on", "restsOn") for name in moment.get(key, ())}


def main() -> None:
    """Serve until standard input ends."""
    verovio.enableLog(verovio.LOG_OFF)
    for line in sys.stdin:
        sys.stdout.write(json.dumps(answer(json.loads(line))) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
