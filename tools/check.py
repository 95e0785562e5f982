"""Run every check in order and stop at the first that fails: the command behind ``make test`` and CI.

usage: python tools/check.py [pytest arguments]

Installs Debian's chromium for the browser tests when it is missing and this user may (root, apt).
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import sysconfig
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
SCRIPTS = Path(sysconfig.get_path("scripts"))


def main(pytest_arguments: list[str]) -> int:
    """Run linter, formatter check, types, layer contracts and tests; the exit status of the first failure."""
    if shutil.which("chromium") is None and not _install_chromium():
        print("chromium is missing: install your system's chromium package, then run this again", file=sys.stderr)
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


def _install_chromium() -> bool:
    if shutil.which("apt-get") is None or os.geteuid() != 0:
        return False
    environment = os.environ | {"DEBIAN_FRONTEND": "noninteractive"}
    for arguments in (["update", "-qq"], ["install", "-y", "-qq", "chromium"]):
        if subprocess.run(["apt-get", *arguments], env=environment, stdout=subprocess.DEVNULL).returncode:
            return False
    return shutil.which("chromium") is not None


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
