"""How bytes reach the disk: whole or not at all, kept after a power cut, one writer at a time."""

import os
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

SHARED_FILE, PRIVATE_FILE, PRIVATE_FOLDER = 0o644, 0o600, 0o700
WAIT_S, LOOK_AGAIN_S = 10.0, 0.05


def write_whole(path: Path, content: bytes, mode: int = SHARED_FILE) -> bool:
    """Write a file so that it is always the whole old or the whole new one.

    Args:
        path: where; its folder must exist.
        content: the bytes.
        mode: access of a new file; one that stands keeps what its owner has set.

    Returns:
        Whether anything was written; a file that already holds these bytes is left alone.

    Raises:
        OSError: the folder is read-only or the disk is full; the old file is kept.
    """
    old = path.read_bytes() if path.exists() else None
    if old == content:
        return False
    kept = mode if old is None else path.stat().st_mode & 0o777
    try:
        _replace(path, content, kept)
    except OSError as error:
        stands = " (the old file is kept)" if old is not None else ""
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


class BusyError(Exception):
    """Another program is writing into the folder and does not come to an end."""


@contextmanager
def locked(folder: Path, wait_s: float = WAIT_S) -> Iterator[None]:
    """Hold a folder for one writer; the system lets go of it when a writer dies.

    Args:
        folder: must exist.
        wait_s: how long to wait for another writer, seconds.

    Raises:
        BusyError: the other one was not done by then.
    """
    handle = _open_lock(folder)
    try:
        until = time.monotonic() + wait_s
        while not _lock(handle):
            if time.monotonic() > until:
                raise BusyError(
                    f"{folder}: another program has been writing there for {wait_s:g} s; "
                    "nothing was written, try again when it is done"
                )
            time.sleep(LOOK_AGAIN_S)
        try:
            yield
        finally:
            _unlock(handle)
    finally:
        os.close(handle)


if sys.platform == "win32":  # written from the manual; tested with a stand-in for msvcrt only
    import msvcrt

    def _open_lock(folder: Path) -> int:
        return os.open(folder / ".lock", os.O_RDWR | os.O_CREAT)

    def _lock(handle: int) -> bool:
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

    def _unlock(handle: int) -> None:
        # the system may take its time over a lock that is only closed (msvcrt, from memory)
        msvcrt.locking(handle, msvcrt.LK_UNLCK, 1)

else:
    import fcntl

    def _open_lock(folder: Path) -> int:
        return os.open(folder, os.O_RDONLY)  # the folder itself: no lock file lies about

    def _lock(handle: int) -> bool:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True

    def _unlock(handle: int) -> None:
        fcntl.flock(handle, fcntl.LOCK_UN)
