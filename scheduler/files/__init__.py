"""A grower's file as text, rows and checked values; what is wrong with it; how it is written."""

from scheduler.files.disk import (
    PRIVATE_FILE,
    PRIVATE_FOLDER,
    SHARED_FILE,
    BusyError,
    locked,
    sweep,
    write_whole,
)
from scheduler.files.faults import Fault, FaultyFilesError
from scheduler.files.text_files import read_bytes

__all__ = [
    "PRIVATE_FILE",
    "PRIVATE_FOLDER",
    "SHARED_FILE",
    "BusyError",
    "Fault",
    "FaultyFilesError",
    "locked",
    "read_bytes",
    "sweep",
    "write_whole",
]
