"""Stands in for the working process: tells what the name of its lesson asks for, quickly, and waits where told to."""

from __future__ import annotations

import json
import os
import sys
import threading
import time
from pathlib import Path


def _ends_with_parent() -> None:
    while os.read(0, 4096):
        pass
    os._exit(1)


def _say(**told: object) -> None:
    print(json.dumps(told), flush=True)


def main() -> None:
    request = json.loads(sys.stdin.readline())
    threading.Thread(target=_ends_with_parent, daemon=True).start()
    what = Path(request["lesson"]).stem
    with Path(request["pack"]).open("a", encoding="utf-8") as log:
        log.write(f"{what} {os.getpid()}\n")
    _say(state="running", share=0.5, words=f"doing {what}")
    if what == "crash":
        os._exit(3)
    if what == "rubbish":
        print("this is no JSON", flush=True)
    if what.startswith("long"):
        time.sleep(60)
    if what == "refused":
        _say(state="failed", refusal={"message": "It cannot be done.", "hint": "Change it.", "problems": []})
    else:
        _say(state="done", share=1.0, result={"kind": "pack", "made": [what], "kept": [], "files": 1})


if __name__ == "__main__":
    main()
