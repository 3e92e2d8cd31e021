"""A visit that would be begun and not finished: cut, and the wood left lying."""

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date

from scheduler.season.placed import Placed
from scheduler.terms import Level, Notice, day_words
from scheduler.windows import Link

HALF_DONE_CODE = "visit-half-done"


@dataclass(frozen=True, slots=True)
class HalfDone:
    """The work of one visit in one plot, of which the later part has no place, or one far off.

    Args:
        begun: ids of the work that stands or is logged and leads up to what is missing, by day.
        missing: for each task without a place, or with one far too late, that must soon follow
            it: the order between them.
    """

    begun: tuple[str, ...]
    missing: tuple[Link, ...]


def half_done_of(placed: Placed) -> Iterator[HalfDone]:
    """Every visit that would be left half done, by plot.

    Work that must follow within so many days, and may follow at once, is the other half of
    what comes before it. Care that comes weeks later is not, and a visit in which nothing is
    cut yet can wait. After what is logged, a place far too late is as bad as none.
    """
    close = [li for li in placed.links if li.within_days is not None and not li.min_days]
    out = set(placed.roster.left_out)
    broken: dict[tuple[str, str], list[Link]] = {}
    for link in close:
        if link.after in out and _begins(placed, link.before) is not None:
            task = placed.tasks[link.after]
            broken.setdefault((task.plot_id, task.type.visit), []).append(link)
    for link in (li for li in close if _far_off(li, placed)):
        task = placed.tasks[link.after]
        broken.setdefault((task.plot_id, task.type.visit), []).append(link)
    for links in broken.values():
        torn = {li.after for li in links if li.after in placed.progress and li.after not in out}
        begun = _back_from({li.before for li in links} | torn, close, placed)
        if not out & {link.after for link in links}:
            begun = tuple(task_id for task_id in begun if task_id in placed.progress)
        if not any(placed.tasks[task_id].type.cuts for task_id in begun):
            continue
        links.sort(key=lambda link: placed.tasks[link.after].type.order)
        yield HalfDone(begun, tuple({link.after: link for link in reversed(links)}.values())[::-1])


def _far_off(link: Link, placed: Placed) -> bool:
    """Whether the later task is planned far too late after what is logged.

    Far is so many times as long as the order allows (``far-too-late``), after the day on which
    the earlier task was finished or, where that came later, this one was begun.
    """
    stint, done = placed.stints.get(link.after), placed.done.get(link.before)
    if stint is None or done is None or link.within_days is None:
        return False
    begun = placed.progress.get(link.after, done)
    since = max(done.date, begun.date)
    longest = placed.holding.rules.figure("far-too-late") * link.within_days
    return (placed.season.date_of(stint.first) - since).days > longest


def _begins(placed: Placed, task_id: str) -> date | None:
    """The day on which a task begins, or was last logged; None where it has neither."""
    stint, entry = placed.stints.get(task_id), placed.progress.get(task_id)
    if entry is not None:
        return entry.date
    return None if stint is None else placed.season.date_of(stint.first)


def _ends(placed: Placed, task_id: str) -> date:
    stint = placed.stints.get(task_id)
    return placed.progress[task_id].date if stint is None else placed.season.date_of(stint.last)


def _back_from(ids: set[str], close: Collection[Link], placed: Placed) -> tuple[str, ...]:
    """These tasks and all that leads up to them, by day."""
    reached, todo = set(ids), sorted(ids)
    while todo:
        after = todo.pop()
        found = {link.before for link in close if link.after == after} - reached
        reached |= found
        todo += sorted(found)
    days = {task_id: _begins(placed, task_id) for task_id in reached}
    begun = [(day, placed.tasks[t].type.order, t) for t, day in days.items() if day is not None]
    return tuple(task_id for _, _, task_id in sorted(begun))


def half_done_notices(placed: Placed) -> Iterator[Notice]:
    """A warning for each such visit, about its plot; it speaks of all the work it names."""
    for half in half_done_of(placed):
        task = placed.tasks[half.begun[0]]
        ids = tuple(dict.fromkeys((*half.begun, *(link.after for link in half.missing))))
        yield Notice(HALF_DONE_CODE, Level.WARNING, task.plot_id, _words(half, placed), ids)


def _words(half: HalfDone, placed: Placed) -> str:
    first, last = half.begun[0], half.begun[-1]
    task, logged = placed.tasks[first], any(t in placed.progress for t in half.begun)
    said = "is" if logged else "would be"
    far = {link.after for link in half.missing if link.after in placed.stints}
    in_time = " in time" if len(far) == len(half.missing) else ""
    ends = day_words(placed.progress[last].date if last in far else _ends(placed, last))
    span = f"{_title(placed, first)} ({day_words(_begins(placed, first) or placed.season.first)})"
    if first != last:
        span = f"from {span} to {_title(placed, last)} ({ends})"
    way_out = _way_out(half, placed, logged=logged)
    return (
        f"The {task.type.visit} visit of {placed.place_of(task)} {said} begun, {span}, but could "
        f"not be finished{in_time}: {_missing_words(half, placed)}. {way_out}"
    )


def _missing_words(half: HalfDone, placed: Placed) -> str:
    told = []
    for link in half.missing:
        days = "day" if link.within_days == 1 else "days"
        stint = placed.stints.get(link.after)
        if stint is not None:
            rest = "the rest of " if link.after in placed.progress else ""
            told.append(
                f"{rest}{_title(placed, link.after)} has its place on "
                f"{day_words(placed.season.date_of(stint.first))} only and belongs within "
                f"{link.within_days} {days} after {_title(placed, link.before)}"
            )
            continue
        waits = [_title(placed, task_id) for task_id in _causes(link.after, placed)]
        because = f" (it waits for {', '.join(waits)}, without one too)" if waits else ""
        told.append(
            f"{_title(placed, link.after)} has no place{because} and belongs within "
            f"{link.within_days} {days} after {_title(placed, link.before)}"
        )
    return "; ".join(told)


def _causes(task_id: str, placed: Placed) -> tuple[str, ...]:
    """Work without a place that keeps a task out; none where the task itself is the cause."""
    out, reached, todo = set(placed.roster.left_out), {task_id}, [task_id]
    causes = []
    while todo:
        after = todo.pop()
        before = {link.before for link in placed.links if link.after == after} & out
        if not before and after != task_id:
            causes.append(after)
        todo += sorted(before - reached)
        reached |= before
    return tuple(task for task in placed.tasks if task in causes)


def _way_out(half: HalfDone, placed: Placed, *, logged: bool) -> str:
    far = [link.after for link in half.missing if link.after in placed.stints]
    if len(far) == len(half.missing):
        return f"Make room for it soon: `scheduler why SITE {far[0]}` says what keeps it."
    it = "it" if len(half.missing) == 1 else "these"
    soon = " soon" if logged else ""
    ways = [f"make room for {it}{soon}, as the warnings about work without a place say"]
    causes = dict.fromkeys(t for link in half.missing for t in _causes(link.after, placed))
    if causes:
        ways.append(f"leave out only {', '.join(_title(placed, task_id) for task_id in causes)}")
    if not logged:
        visit = placed.tasks[half.begun[0]].type.visit
        ways.append(f"leave the {visit} visit of this plot out")
    where = f" (`without` or `plots` of its [[work]] in plan-{placed.holding.plan.id}.toml)"
    told = f"{'; or '.join(ways)}{where if ways[1:] else ''}."
    return told[0].upper() + told[1:]


def _title(placed: Placed, task_id: str) -> str:
    return repr(placed.tasks[task_id].type.title)
