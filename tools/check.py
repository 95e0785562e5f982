"""Run every check in order and stop at the first that fails: the command behind ``make test`` and CI.

usage: python tools/check.py [pytest arguments]

Installs what the tests need beside Python when it is missing and this user may (root, apt): Debian's chromium for the
browser tests, FluidSynth's library and a SoundFont for sampled sound, Node.js for the types of the studio's scripts.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import sysconfig
from collections.abc import Callable, Iterator
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
    """Run every check, of code and of types, then the tests; the exit status of the first failure."""
    missing = [need for need in NEEDS if not need.is_there() and not _install(need)]
    for need in missing:
        print(f"{need.what} is missing: install {' and '.join(need.packages)}, then run this again", file=sys.stderr)
    if missing:
        return 1
    for command in _commands(pytest_arguments):
        print("==", Path(command[0]).name, *command[1:], flush=True)
        status = subprocess.run(command, cwd=ROOT).returncode
        if status:
            return status
    return 0


def _commands(pytest_arguments: list[str]) -> Iterator[list[str | Path]]:
    yield [SCRIPTS / "ruff", "check", "."]
    yield [SCRIPTS / "ruff", "format", "--check", "."]
    yield [SCRIPTS / "mypy"]
    yield [SCRIPTS / "lint-imports"]
    if not _node_modules_are_there():
        yield ["npm", "install", "--no-package-lock", "--silent"]
    yield ["npx", "--no-install", "tsc", "-p", "jsconfig.json"]
    yield [SCRIPTS / "pytest", "-n", "2", "--dist", "loadfile", *pytest_arguments]


def _node_modules_are_there() -> bool:
    """True when what package.json asks for was installed after it was last written."""
    installed, asked = ROOT / "node_modules" / ".package-lock.json", ROOT / "package.json"
    return installed.exists() and installed.stat().st_mtime >= asked.stat().st_mtime


def _font_is_there() -> bool:
    return any(path.suffix in (".sf2", ".sf3") for folder in FONT_FOLDERS for path in folder.glob("*.sf?"))


NEEDS = (
    Need(what="chromium", packages=("chromium",), is_there=lambda: shutil.which("chromium") is not None),
    Need(what="FluidSynth", packages=("libfluidsynth3",), is_there=lambda: find_library("fluidsynth") is not None),
    Need(
        what="Node.js", packages=("nodejs", "npm"), is_there=lambda: bool(shutil.which("node") and shutil.which("npx"))
    ),
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
