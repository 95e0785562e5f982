"""The command line as a person meets it: output, exit codes, errors without a traceback."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
import time
from importlib import resources
from pathlib import Path

import pytest

BROKEN = '[lesson]\ntitle = "Broken"\n\n[scale]\nroot = "H"\n\n[band]\nchart = "| Am7 | Qx |"\n'


def _run(*arguments: str | Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "phrasewright", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, check=False, timeout=120)


@pytest.mark.parametrize("command", ["new", "check", "build", "demo", "finger", "track", "beats", "listen", "schema"])
def test_every_command_explains_itself_with_an_example(command: str) -> None:
    """--help shows what the command does and an example."""
    shown = _run(command, "--help")
    assert shown.returncode == 0
    assert f"phrasewright {command}" in shown.stdout


def test_help_names_the_exit_codes() -> None:
    """The main help lists what the exit codes mean."""
    assert "Exit codes" in _run("--help").stdout


def test_a_new_lesson_passes_its_check(tmp_path: Path) -> None:
    """What ``new`` writes can be built as it is, and a file that is there is never written over."""
    lesson = tmp_path / "first.toml"
    assert _run("new", lesson, "--root", "E", "--style", "open").returncode == 0
    checked = _run("check", lesson, "--json")
    assert checked.returncode == 0, checked.stdout
    (document,) = json.loads(checked.stdout)
    assert document["problems"] == []
    assert document["facts"]["Scale"].startswith("E minor pentatonic")
    again = _run("new", lesson)
    assert again.returncode == 3
    assert "is there already" in again.stderr


@pytest.mark.parametrize(
    ("option", "value"),
    [("--root", "H"), ("--scale", "nothing"), ("--instrument", "lute"), ("--meter", "9/16"), ("--style", "flat")],
)
def test_a_wrong_wish_for_a_new_lesson_is_refused(option: str, value: str, tmp_path: Path) -> None:
    """The message names the wrong word; nothing is written."""
    refused = _run("new", tmp_path / "x.toml", option, value)
    assert refused.returncode == 2
    assert value in refused.stderr
    assert "Traceback" not in refused.stderr
    assert not list(tmp_path.iterdir())


def test_problems_are_shown_with_their_line(tmp_path: Path) -> None:
    """``check`` shows every problem as file:line:column, ``build`` the same on stderr, both with exit code 2."""
    lesson = tmp_path / "broken.toml"
    lesson.write_text(BROKEN)
    checked = _run("check", lesson)
    assert checked.returncode == 2
    assert f"{lesson}:5:" in checked.stdout
    assert f"{lesson}:8:" in checked.stdout
    built = _run("build", lesson, "--out", tmp_path / "pack")
    assert built.returncode == 2
    assert f"{lesson}:8:" in built.stderr
    assert "Traceback" not in built.stderr
    assert not (tmp_path / "pack").exists()


def test_a_missing_file_is_a_plain_message(tmp_path: Path) -> None:
    """A lesson that is not there: exit code 3 and how to begin one."""
    missing = _run("build", tmp_path / "none.toml")
    assert missing.returncode == 3
    assert "phrasewright new" in missing.stderr


def test_a_folder_is_not_a_lesson(tmp_path: Path) -> None:
    """Naming a folder is explained."""
    refused = _run("check", tmp_path)
    assert refused.returncode == 3
    assert "is a folder" in refused.stderr


def test_the_schema_is_printed_for_editors() -> None:
    """What ``schema`` prints is the JSON Schema that the package ships."""
    shipped = json.loads(resources.files("phrasewright.lesson").joinpath("lesson.schema.json").read_text("utf-8"))
    assert json.loads(_run("schema").stdout) == shipped


def test_an_interrupted_build_leaves_no_pack(tmp_path: Path) -> None:
    """Stopping a build with the keyboard ends with exit code 130 and nothing half-written."""
    lesson = tmp_path / "first.toml"
    assert _run("new", lesson).returncode == 0
    pack = tmp_path / "pack"
    command = [sys.executable, "-m", "phrasewright", "build", str(lesson), "--out", str(pack), "--json"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        while process.poll() is None and not list(pack.glob(".making-*")):
            time.sleep(0.02)
        process.send_signal(signal.SIGINT)
        _, errors = process.communicate(timeout=100)
    assert process.returncode == 130
    assert "Traceback" not in errors
    assert not list(pack.iterdir())


def test_check_tells_a_font_that_cannot_be_read(tmp_path: Path) -> None:
    """A damaged SoundFont is told before anything is built, in one line of our own."""
    (tmp_path / "bad.sf2").write_bytes(b"no font at all")
    lesson = tmp_path / "sampled.toml"
    lesson.write_text(
        '[lesson]\ntitle = "Sampled"\n[scale]\nroot = "E"\n[band]\nsound = "sampled"\nsoundfont = "bad.sf2"\n'
    )
    done = _run("check", lesson)
    assert done.returncode == 2
    assert "is not a SoundFont that can be read" in done.stdout
    assert done.stderr == ""
