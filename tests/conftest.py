"""Shared fixtures: where the open data lies, and one profile for property tests."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from playwright.sync_api import Browser, sync_playwright

settings.register_profile("phrasewright", deadline=None, suppress_health_check=[HealthCheck.too_slow], max_examples=50)
settings.load_profile("phrasewright")

CHROMIUM_FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
ROOT = Path(__file__).resolve().parents[1]


@pytest.fixture(scope="session")
def data_dir() -> Path:
    """The folder of openly licensed data: PHRASEWRIGHT_DATA, then ../shared/data. Missing under CI is a failure."""
    candidates = [Path(os.environ.get("PHRASEWRIGHT_DATA", "")), ROOT.parent / "shared" / "data"]
    for candidate in candidates:
        if (candidate / "guitarset").is_dir():
            return candidate
    if os.environ.get("CI") == "true":
        pytest.fail("open data not found: set PHRASEWRIGHT_DATA to the folder that holds guitarset/")
    pytest.skip("open data not found: set PHRASEWRIGHT_DATA")


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Debian's Chromium, one for the tests of a file; meanwhile Playwright's event loop runs in this thread."""
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=list(CHROMIUM_FLAGS))
        yield chromium
        chromium.close()
