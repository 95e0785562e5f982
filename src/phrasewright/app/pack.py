"""Writing a pack: each stage beside the pack first, then moved in whole, so that nothing half-written stays.

The new manifest, written into the scratch folder, is the decision: before it the pack is the old one, after it the new
one. A program that is killed while it moves files in leaves the scratch with that manifest, and whoever comes next
(``recover``) moves the rest. Files that this program made and no longer makes are removed; files it does not know are
never touched.
"""

from __future__ import annotations

import os
import secrets
import shutil
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from phrasewright.app.manifest import MANIFEST_NAME, Entry, Manifest, Role, digest_of_file, read_manifest
from phrasewright.errors import OutputError

SCRATCH = ".making-"  # and eight hexadecimal digits


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """One step of a build. key: digest of all that goes in; make: writes files below a folder, returns their paths."""

    name: str
    role: Role
    key: str
    words: str  # for the progress bar
    make: Callable[[Path], None]


@contextmanager
def staging(pack: Path) -> Iterator[Path]:
    """A scratch folder on the pack's own file system, for the block to make with ``mkdir``, removed after it.

    The block makes it, since a stop by the keyboard may fall between here and there, where nobody would remove it.
    One that is decided and not moved in whole stays, for ``recover``. Raises OutputError when something in the block
    cannot be written.
    """
    folder = pack / f"{SCRATCH}{secrets.token_hex(4)}"
    try:
        yield folder
    except OSError as error:
        raise _unwritable(pack, error) from error
    finally:
        if not _is_decided(folder):
            shutil.rmtree(folder, ignore_errors=True)


def is_current(stage: Stage, pack: Path, known: Manifest | None) -> bool:
    """True when the stage's key and all its files are as the manifest says."""
    if known is None or known.stages.get(stage.name) != stage.key:
        return False
    return files_are_intact(pack, known.of_stage(stage.name))


def files_are_intact(pack: Path, entries: Iterable[Entry]) -> bool:
    """True when every file is there with the recorded size and hash."""
    for entry in entries:
        path = pack / entry.path
        if not path.is_file() or path.stat().st_size != entry.size_bytes or digest_of_file(path) != entry.sha256:
            return False
    return True


def move_files(made: Path, folder: Path) -> tuple[Path, ...]:
    """Move everything below ``made`` to the same places below ``folder``, each file by rename; returns their paths."""
    moved = []
    for source in sorted(path for path in made.rglob("*") if path.is_file()):
        target = folder / source.relative_to(made)
        target.parent.mkdir(parents=True, exist_ok=True)
        moved.append(source.replace(target))
    return tuple(moved)


def entries_of(stage: Stage, made: Path) -> tuple[Entry, ...]:
    """The entries of a finished stage's files, which lie below ``made``."""
    return tuple(
        Entry(
            path=path.relative_to(made).as_posix(),
            role=stage.role,
            sha256=digest_of_file(path),
            size_bytes=path.stat().st_size,
            stage=stage.name,
        )
        for path in sorted(made.rglob("*"))
        if path.is_file()
    )


def decide(manifest: Manifest, scratch: Path) -> None:
    """Write the manifest into the scratch folder, whole or not at all: from here on the pack will be the new one."""
    aside = scratch / f"{MANIFEST_NAME}.part"
    aside.write_text(manifest.to_json(), encoding="utf-8")
    aside.replace(scratch / MANIFEST_NAME)


def move_in(scratch: Path, pack: Path) -> tuple[str, ...]:
    """Move what a decided scratch folder holds into the pack, its manifest last; returns the paths removed.

    May be done again after it broke off anywhere.
    """
    known, current = read_manifest(pack), read_manifest(scratch)
    for made in sorted(path for path in scratch.iterdir() if path.is_dir()):
        move_files(made, pack)
    removed = () if current is None else remove_outdated(known, current, pack)
    os.replace(scratch / MANIFEST_NAME, pack / MANIFEST_NAME)  # noqa: PTH105  (one call that replaces on every system)
    return removed


def recover(pack: Path) -> None:
    """Finish what a build that was killed had decided. Raises OutputError when that cannot be written."""
    for scratch in sorted(pack.glob(f"{SCRATCH}*")):
        if _is_decided(scratch):
            try:
                move_in(scratch, pack)
            except OSError as error:
                raise _unwritable(pack, error) from error
            shutil.rmtree(scratch, ignore_errors=True)


def sweep(pack: Path) -> None:
    """Finish what was decided and remove the scratch folders of builds that are no more; none may be at work.

    Raises OutputError when what was decided cannot be written.
    """
    recover(pack)
    for scratch in pack.glob(f"{SCRATCH}*"):
        shutil.rmtree(scratch, ignore_errors=True)


def _is_decided(scratch: Path) -> bool:
    return (scratch / MANIFEST_NAME).is_file()


def remove_outdated(known: Manifest | None, current: Manifest, pack: Path) -> tuple[str, ...]:
    """Remove what an earlier build made and this one does not; returns the paths removed."""
    if known is None:
        return ()
    kept = {entry.path for entry in current.files}
    gone = tuple(entry.path for entry in known.files if entry.path not in kept and _is_inside(entry.path))
    for relative in gone:
        (pack / relative).unlink(missing_ok=True)
        parent = (pack / relative).parent
        while parent != pack and parent.is_dir() and not any(parent.iterdir()):
            parent.rmdir()
            parent = parent.parent
    return gone


def _is_inside(relative: str) -> bool:
    parts = Path(relative).parts
    return not Path(relative).is_absolute() and ".." not in parts


def _unwritable(pack: Path, error: OSError) -> OutputError:
    reason = error.strerror or str(error)
    return OutputError(
        f"The pack could not be written to {pack}: {reason}.",
        hint="Free some space or choose another folder with --out; the pack that was there is as it was.",
    )
