"""The documents keep their word: commands, links and pictures they name are there."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from phrasewright.cli.main import app
from phrasewright.lesson.read import read_lesson

ROOT = Path(__file__).resolve().parents[1]
DOCUMENTS = sorted([*ROOT.glob("*.md"), *(ROOT / "docs").glob("*.md")])
_LINK = re.compile(r"!?\[[^\]]*\]\(([^)#\s]+)[^)]*\)")


def test_every_command_is_documented() -> None:
    """docs/commands.md has a row for each command there is, and no other."""
    rows = re.findall(r"^\| `(\w+)[^|]*\|", (ROOT / "docs/commands.md").read_text("utf-8"), re.MULTILINE)
    assert sorted(rows) == sorted(command.callback.__name__ for command in app.registered_commands if command.callback)


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.name)
def test_links_lead_somewhere(document: Path) -> None:
    """Every relative link and picture of a document exists."""
    for target in _LINK.findall(document.read_text("utf-8")):
        assert target.startswith("http") or (document.parent / target).exists(), target


def test_the_lesson_in_the_readme_can_be_read() -> None:
    """The example lesson of the README is a valid lesson."""
    (example,) = re.findall(r"```toml\n(.*?)```", (ROOT / "README.md").read_text("utf-8"), re.DOTALL)
    assert tomllib.loads(example)["lesson"]["title"] == read_lesson(example, "README.md").title


def test_no_file_names_a_registry_or_this_machine() -> None:
    """No address of a package registry and no absolute path of a machine stands in the build files."""
    for name in ("pyproject.toml", "Makefile", ".ci/run", "tools/check.py"):
        assert not re.search(r"https?://|/home/|/root/|/work/", (ROOT / name).read_text("utf-8")), name
