"""The studio's own process stays small, and alone on its folder."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from studio_server import StudioServer

from phrasewright.errors import OutputError
from phrasewright.web.alone import alone

HEAVY = ("onnxruntime", "verovio", "av")


def test_what_is_heavy_is_loaded_in_working_processes_alone() -> None:
    """The studio loads nothing that listens or engraves; it composes itself, so that the desk follows at once."""
    code = f"import sys, phrasewright.web.application; print([m for m in {HEAVY} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60)
    assert done.stdout.strip() == "[]"


def test_one_studio_on_a_folder(tmp_path: Path) -> None:
    """A second one is refused in words; after the first was killed without warning, another may open."""
    with StudioServer(tmp_path) as server:
        command = [sys.executable, "-m", "phrasewright", "serve", str(tmp_path), "--port", "1"]
        second = subprocess.run(command, capture_output=True, text=True, check=False, timeout=60)
        assert second.returncode == OutputError.exit_code
        assert "is open on" in second.stderr
        assert "Traceback" not in second.stderr
        server.kill()
    with alone(tmp_path / ".studio"), pytest.raises(OutputError, match="already"), alone(tmp_path / ".studio"):
        pass
