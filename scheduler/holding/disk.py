"""How bytes reach the disk: whole or not at all, kept after a power cut."""

import os
import sys
import tempfile
from pathlib import Path

SHARED_FILE = 0o644


def write_whole(path: Path, content: bytes, mode: int = SHARED_FILE) -> bool:
    """Write a file so that it is always the whole old or the whole new one.

    Args:
        path: where; its folder must exist.
        content: the bytes.
        mode: access of a new file; one that stands keeps what its owner has set.

    Returns:
        Whether anything was written; a file that already holds these bytes is left alone.

    Raises:
        OSError: the folder is read-only or the disk is full; the old file stands.
    """
    old = path.read_bytes() if path.exists() else None
    if old == content:
        return False
    kept = mode if old is None else path.stat().st_mode & 0o777
    try:
        _replace(path, content, kept)
    except OSError as error:
        stands = " (the old file stands)" if old is not None else ""
        says = f"{error.strerror or error}{stands}"
        raise OSError(error.errno, says, str(path)) from error
    return True


def _replace(path: Path, content: bytes, mode: int) -> None:
    handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=_prefix(path), suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        Path(temporary).chmod(mode)
        Path(temporary).replace(path)
        _sync_folder(path.parent)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise


def _prefix(path: Path) -> str:
    return f".{path.name}."


def sweep(path: Path) -> None:
    """Remove what a writer that was killed has left beside a file; call under a lock."""
    for left in path.parent.glob(f"{_prefix(path)}*.part"):
        left.unlink(missing_ok=True)


def _sync_folder(folder: Path) -> None:
    """Make the new name last through a power cut, where the system can."""
    if sys.platform != "win32":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
