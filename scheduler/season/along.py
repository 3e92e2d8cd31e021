"""Visits that ride along with that of a neighbouring plot: in the days after it. Pure."""

from collections.abc import Iterator, Sequence

from scheduler.holding import Holding
from scheduler.stand import Task
from scheduler.windows import Link


def along_links(tasks: Sequence[Task], holding: Holding) -> Iterator[Link]:
    """The order between a plot's visit and the one that it rides along with, as far as it can."""
    days = round(holding.rules.figure("along-days"))
    for work in holding.plan.says.work:
        for plot_id in work.plots if work.along_with else ():
            for kind in dict.fromkeys(task.type.visit for task in tasks if task.is_step):
                mine = _steps(tasks, plot_id, kind)
                theirs = _steps(tasks, work.along_with or "", kind)
                if kind in work.types and mine and theirs:
                    yield Link(theirs[-1].id, mine[0].id, 1, days, soft=True)


def _steps(tasks: Sequence[Task], plot_id: str, kind: str) -> list[Task]:
    """The steps of a plot's visit, in the order of work."""
    found = [t for t in tasks if t.is_step and (t.plot_id, t.type.visit) == (plot_id, kind)]
    return sorted(found, key=lambda task: task.type.order)
