"""How soon the teacher's desk shows what was done: from leaving a field to the study engraved anew, in Chromium.

usage: python benchmarks/bench_desk.py [--rounds 30] [--bars 12] [--studies 1]

The studio runs as a process of its own, the browser as another, as at home. Printed: median, 95th percentile and
longest wait in milliseconds for the change's answer and for the first study's engraving drawn, for the dial, the space,
the hand's place and a tempo; before each the seed is changed, so that no earlier turn's work can be used again.
"""

from __future__ import annotations

import argparse
import json
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from itertools import count

from playwright.sync_api import Page, sync_playwright

FLAGS = ("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run")
DEEDS = {
    "dial": ("study.dial", "0.05 0.3 0.55 0.8"),
    "space": ("rhythm.space", "0.3 0.35 0.45 0.5"),
    "fret": ("position.fret", "3 5 7 10"),
    "tempos": ("band.tempos", "60 70 80 90"),
}
FOLLOWED = "study-list:not(:has([aria-busy]))"
USUAL_BARS = 12  # of the lesson that is begun with
_SEEDS = count(1000)
TIMED = """([path, value]) => new Promise((done) => {
  const field = document.querySelector(`[data-path="${path}"]`);
  const start = performance.now();
  let answered = 0;
  const view = new MutationObserver(() => { answered = answered || performance.now(); });
  view.observe(document.querySelector('study-list'), { childList: true });
  const drawn = ({ target }) => {
    if (target.closest('[data-piece]').dataset.piece !== 'study-1') return;
    document.removeEventListener('drawn', drawn);
    requestAnimationFrame(() => {
      view.disconnect();
      done([answered - start, performance.now() - start]);
    });
  };
  document.addEventListener('drawn', drawn);
  field.value = value;
  field.dispatchEvent(new Event('change', { bubbles: true }));
})"""


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rounds", type=int, default=30, help="changes of each kind")
    parser.add_argument("--bars", type=int, default=USUAL_BARS, help="of each study")
    parser.add_argument("--studies", type=int, default=1, help="how many")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        port = 8777
        command = [sys.executable, "-m", "phrasewright", "serve", folder, "--port", str(port)]
        server = subprocess.Popen(command, stdout=subprocess.DEVNULL)
        try:
            _await(f"http://127.0.0.1:{port}/")
            _measure(f"http://127.0.0.1:{port}/", asked)
        finally:
            server.terminate()
            server.wait(timeout=20)


def _measure(url: str, asked: argparse.Namespace) -> None:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=list(FLAGS))
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        page.goto(url)
        page.wait_for_selector("html.is-ready")
        page.fill("#new-title", "Measured")
        page.click("text=Make the lesson")
        page.wait_for_url("**/desk/*/")
        page.wait_for_selector(".study .systems:not([aria-busy]) svg")
        page.wait_for_timeout(1500)
        for path, value, usual in (("study.bars", asked.bars, USUAL_BARS), ("study.studies", asked.studies, 1)):
            if value != usual:
                page.evaluate(TIMED, [path, str(value)])
                page.wait_for_selector(FOLLOWED)
        for name, (path, values) in DEEDS.items():
            print(json.dumps({"deed": name, **_times(page, path, values.split(), asked.rounds)}))
        browser.close()


def _times(page: Page, path: str, values: list[str], rounds: int) -> dict[str, float]:
    answered, drawn = [], []
    for turn in range(rounds):
        page.evaluate(TIMED, ["lesson.seed", str(next(_SEEDS))])
        page.wait_for_selector(FOLLOWED)
        page.wait_for_timeout(150)
        first, last = page.evaluate(TIMED, [path, values[turn % len(values)]])
        answered.append(first)
        drawn.append(last)
        page.wait_for_selector(FOLLOWED)
        page.wait_for_timeout(150)
    return {
        "answer_median_ms": round(statistics.median(answered)),
        "engraved_median_ms": round(statistics.median(drawn)),
        "engraved_p95_ms": round(statistics.quantiles(drawn, n=20)[-1]),
        "engraved_longest_ms": round(max(drawn)),
        "over_300_ms": sum(one > 300.0 for one in drawn),
        "of": rounds,
    }


def _await(url: str) -> None:
    for _ in range(200):
        try:
            urllib.request.urlopen(url).close()
        except OSError:
            time.sleep(0.1)
        else:
            return
    raise SystemExit("the studio does not begin")


if __name__ == "__main__":
    main()
