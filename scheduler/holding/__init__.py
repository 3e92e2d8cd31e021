"""What the grower's files say, read and checked; the rules of the trade as data."""

from scheduler.holding.crew import Hire
from scheduler.holding.disk import (
    PRIVATE_FILE,
    PRIVATE_FOLDER,
    SHARED_FILE,
    BusyError,
    locked,
    sweep,
    write_whole,
)
from scheduler.holding.evenings import Evening
from scheduler.holding.faults import Fault, FaultyFilesError
from scheduler.holding.files import (
    Holding,
    package_tasks,
    read_holding,
    write_new_site,
)
from scheduler.holding.forecasts import ForecastNight
from scheduler.holding.log_file import append_to_log, locked_log
from scheduler.holding.plants import Plant
from scheduler.holding.plots import Plot, Stock
from scheduler.holding.rulebook import RuleBook
from scheduler.holding.site import Site
from scheduler.holding.starter import Answers, answer_of, starter_files
from scheduler.holding.station import Record, read_record
from scheduler.holding.tasktypes import TaskType
from scheduler.holding.text_files import read_bytes
from scheduler.holding.worklog import (
    LogEntry,
    contradictions,
    hours_to_do,
    percent_so_far,
    steps_back,
)

__all__ = [
    "PRIVATE_FILE",
    "PRIVATE_FOLDER",
    "SHARED_FILE",
    "Answers",
    "BusyError",
    "Evening",
    "Fault",
    "FaultyFilesError",
    "ForecastNight",
    "Hire",
    "Holding",
    "LogEntry",
    "Plant",
    "Plot",
    "Record",
    "RuleBook",
    "Site",
    "Stock",
    "TaskType",
    "answer_of",
    "append_to_log",
    "contradictions",
    "hours_to_do",
    "locked",
    "locked_log",
    "package_tasks",
    "percent_so_far",
    "read_bytes",
    "read_holding",
    "read_record",
    "starter_files",
    "steps_back",
    "sweep",
    "write_new_site",
    "write_whole",
]
