"""What axe-core, an open checker of WCAG, finds wrong with an open page."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page

AXE = Path(__file__).resolve().parents[2] / "node_modules" / "axe-core" / "axe.min.js"
TAGS = ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa"]


def violations(page: Page) -> list[str]:
    """Rules of WCAG 2.2 A and AA that the page breaks as it stands: rule, what it asks, and where."""
    if not AXE.exists():
        pytest.fail("axe-core is missing: npm install --no-package-lock")
    if page.evaluate("typeof axe") == "undefined":
        page.evaluate(AXE.read_text(encoding="utf-8") + "; 0")
    options = {"runOnly": TAGS, "resultTypes": ["violations"], "preload": False}  # preloading asks for files
    found = page.evaluate("async options => (await axe.run(document, options)).violations", options)
    return [
        f"{rule['id']}: {rule['help']}: {node['target'][0]}: {node['failureSummary']}"
        for rule in found
        for node in rule["nodes"]
    ]
