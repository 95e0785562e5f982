"""Run every check in order and stop at the first that fails: the command behind ``make test`` and CI.

usage: python tools/check.py [pytest arguments]

Installs what the tests need beside Python when it is missing and this user may (root, apt): Debian's chromium for the
browser tests, FluidSynth's library and a SoundFont for sampled sound.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import sysconfig
from collections.abc import Callable
from ctypes.util import find_library
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
FONT_FOLDERS = (Path("/usr/share/sounds/sf2"), Path("/usr/share/sounds/sf3"), Path("/usr/share/soundfonts"))
SCRIPTS = Path(sysconfig.get_path("scripts"))


@dataclass(frozen=True)
class Need:
    """What must be on the computer, and the Debian packages that bring it."""

    what: str
    packages: tuple[str, ...]
    is_there: Callable[[], bool]


def main(pytest_arguments: list[str]) -> int:
    """Run linter, formatter check, types, layer contracts and tests; the exit status of the first failure."""
    missing = [need for need in NEEDS if not need.is_there() and not _install(need)]
    for need in missing:
        print(f"{need.what} is missing: install {' and '.join(need.packages)}, then run this again", file=sys.stderr)
    if missing:
        return 1
    checks = [
        ["ruff", "check", "."],
        ["ruff", "format", "--check", "."],
        ["mypy"],
        ["lint-imports"],
        ["pytest", "-n", "2", "--dist", "loadfile", *pytest_arguments],
    ]
    for name, *arguments in checks:
        print(f"== {name} {' '.join(arguments)}", flush=True)
        status = subprocess.run([SCRIPTS / name, *arguments], cwd=ROOT).returncode
        if status:
            return status
    return 0


def _font_is_there() -> bool:
    return any(path.suffix in (".sf2", ".sf3") for folder in FONT_FOLDERS for path in folder.glob("*.sf?"))


NEEDS = (
    Need(what="chromium", packages=("chromium",), is_there=lambda: shutil.which("chromium") is not None),
    Need(what="FluidSynth", packages=("libfluidsynth3",), is_there=lambda: find_library("fluidsynth") is not None),
    Need(what="a SoundFont", packages=("fluid-soundfont-gm",), is_there=_font_is_there),
)


def _install(need: Need) -> bool:
    if shutil.which("apt-get") is None or os.geteuid() != 0:
        return False
    environment = os.environ | {"DEBIAN_FRONTEND": "noninteractive"}
    for arguments in (["update", "-qq"], ["install", "-y", "-qq", *need.packages]):
        if subprocess.run(["apt-get", *arguments], env=environment, stdout=subprocess.DEVNULL).returncode:
            return False
    return need.is_there()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
