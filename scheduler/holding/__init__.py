"""What the grower's files say, read and checked; the rules of the trade as data."""

from scheduler.holding.crew import Hire
from scheduler.holding.log_file import append_to_log, locked_log
from scheduler.holding.plants import Plant
from scheduler.holding.plots import Plot, Stock
from scheduler.holding.rulebook import RuleBook
from scheduler.holding.site import Site
from scheduler.holding.site_files import (
    Holding,
    package_tasks,
    read_holding,
    write_new_site,
)
from scheduler.holding.starter import Answers, answer_of, starter_files
from scheduler.holding.tasktypes import TaskType
from scheduler.holding.worklog import (
    LogEntry,
    contradictions,
    hours_to_do,
    percent_so_far,
    steps_back,
)

__all__ = [
    "Answers",
    "Hire",
    "Holding",
    "LogEntry",
    "Plant",
    "Plot",
    "RuleBook",
    "Site",
    "Stock",
    "TaskType",
    "answer_of",
    "append_to_log",
    "contradictions",
    "hours_to_do",
    "locked_log",
    "package_tasks",
    "percent_so_far",
    "read_holding",
    "starter_files",
    "steps_back",
    "write_new_site",
]
