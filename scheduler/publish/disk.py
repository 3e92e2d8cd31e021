"""One writer at a time in a folder, and what others on the machine may read there."""

import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

PRIVATE_FILE, PRIVATE_FOLDER = 0o600, 0o700
WAIT_S, LOOK_AGAIN_S = 10.0, 0.05


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
