"""Writing a pack: each stage beside the pack first, then moved in whole, so that nothing half-written stays.

Files that this program made and no longer makes are removed; files it does not know are never touched.
"""

from __future__ import annotations

import secrets
import shutil
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from phrasewright.app.manifest import MANIFEST_NAME, Entry, Manifest, Role, digest_of_file
from phrasewright.errors import OutputError


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
    Raises OutputError when something in the block cannot be written.
    """
    folder = pack / f".making-{secrets.token_hex(4)}"
    try:
        yield folder
    except OSError as error:
        raise _unwritable(pack, error) from error
    finally:
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


def move_in(stage: Stage, made: Path, pack: Path) -> tuple[Entry, ...]:
    """Move a finished stage's files into the pack; returns their entries."""
    return tuple(
        Entry(
            path=path.relative_to(pack).as_posix(),
            role=stage.role,
            sha256=digest_of_file(path),
            size_bytes=path.stat().st_size,
            stage=stage.name,
        )
        for path in move_files(made, pack)
    )


def write_manifest(manifest: Manifest, pack: Path, scratch: Path) -> None:
    """Write the manifest aside, then rename it into place."""
    aside = scratch / MANIFEST_NAME
    aside.write_text(manifest.to_json(), encoding="utf-8")
    aside.replace(pack / MANIFEST_NAME)


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
