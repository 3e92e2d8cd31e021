"""Set-up batched by line and tool, and rates that learn from the site's own log."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.holding import Holding, LogEntry, RuleBook, read_holding
from scheduler.holding.site_files import package_rules
from scheduler.stand import Task, tasks_of
from scheduler.stand.rates import batches_of, learned_rates, tool_of
from tests.sites import AS_OF, append_to_log, edit, new_site
from tests.stand.test_growth import row

BOOK = RuleBook.of(package_rules())
WEED = "first-plot.weed-lines"


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return new_site(tmp_path / "site")


def weeding(holding: Holding) -> Task:
    return next(task for task in tasks_of(holding) if task.id == WEED)


def log(plan: str, hours: float | None, percent: int = 100, task: str = WEED) -> LogEntry:
    return LogEntry(date=date(2026, 6, 1), plan=plan, task=task, percent=percent, hours=hours)


# ---- published rates


@pytest.mark.parametrize(
    ("stem_cm", "trees_an_hour"),
    [(10, 2.96), (20, 2.27), (30, 2.03), (40, 1.65), (50, 1.29), (60, 1.07)],
)
def test_heavy_pruning_follows_the_published_table(stem_cm: float, trees_an_hour: float) -> None:
    """J. Korean Inst. Landscape Arch. 50(4), table 5: trees an hour with set-up and travel."""
    kind = BOOK.tasks["cut-medium"]
    (batch,) = batches_of(kind, [row(stem_cm=stem_cm, count=100)], BOOK)
    assert 100 / batch.hours == pytest.approx(trees_an_hour, abs=0.006)


def test_small_trees_are_not_cheap() -> None:
    """12.2 min of set-up outweigh 6.3 min of cutting: the usual surprise of the trade."""
    rate = BOOK.rates["cut-heavy"]
    assert rate.kind == "by-stem"
    assert rate.around_minutes > rate.stem[0].minutes


# ---- batches


def test_a_tool_is_brought_to_a_line_once() -> None:
    kind = BOOK.tasks["cut-low"]
    (together,) = batches_of(kind, [row(line="A"), row(line="A", plant="elder")], BOOK)
    apart = batches_of(kind, [row(line="A"), row(line="B", plant="elder")], BOOK)
    assert [batch.line for batch in apart] == ["A", "B"]
    gained = sum(batch.hours for batch in apart) - together.hours
    assert gained == pytest.approx(5 / 60)


@pytest.mark.parametrize(
    ("stem_cm", "height_m", "skill"),
    [
        (4, 2.5, "hands"),
        (4, 5, "pole-saw"),
        (9, 5, "pole-saw"),
        (11, 5, "ground-saw"),
        (11, 9, "climber"),
    ],
)
def test_the_tool_follows_stem_and_height(stem_cm: float, height_m: float, skill: str) -> None:
    """A base above 5 cm wants a pole saw, above 10 cm a saw: common practice, no source."""
    assert tool_of(row(stem_cm=stem_cm, height_m=height_m), BOOK).skill == skill


def test_soft_stems_and_light_cuts_of_kept_trees_want_no_chainsaw() -> None:
    """Common practice, no source: a banana is cut with a machete, a kept fruit tree from the
    ground with a hand saw on a pole."""
    banana = row(plant="banana", cut_system="coppice", stem_cm=16, height_m=3)
    cherry = row(plant="sweet-cherry", cut_system="retained", stem_cm=18, height_m=7)
    tools = [tool_of(stock, BOOK) for stock in (banana, cherry)]
    assert [tool.id for tool in tools] == ["machete", "hand-saw-on-a-pole"]
    assert [tool.skill for tool in tools] == ["hands", "hands"]


@given(
    st.lists(st.tuples(st.sampled_from("ABC"), st.integers(1, 9), st.floats(2, 40)), max_size=6)
)
def test_more_stock_is_never_less_hours(rows: list[tuple[str, int, float]]) -> None:
    kind = BOOK.tasks["cut-low"]
    stock = [row(line=line, count=count, stem_cm=stem) for line, count, stem in rows]
    hours = [
        sum(b.hours for b in batches_of(kind, stock[:n], BOOK)) for n in range(len(stock) + 1)
    ]
    assert hours == sorted(hours)


# ---- learning


def test_after_enough_jobs_the_sites_own_rate_replaces_the_book(site: Path) -> None:
    book = weeding(read_holding(site, AS_OF))
    assert book.learned is None
    for n, factor in enumerate((1.5, 2.0, 2.0, 2.0, 2.6667)):
        append_to_log(site, [log(f"20{n + 10}", round(book.hours.usual * factor, 3))])
    own = weeding(read_holding(site, AS_OF))
    assert own.learned is not None
    assert own.learned.n == 5
    assert own.hours.usual == pytest.approx(2 * book.hours.usual, rel=1e-3)
    # geometric: log(1.5 / 2) and its opposite, n - 1 = 4 in the deviation, 1.28 of it
    assert own.hours.high / own.hours.usual == pytest.approx(1.297, abs=0.002)
    assert own.hours.low < own.hours.usual < own.hours.high
    assert "5 jobs" in own.learned.words


def test_four_jobs_are_too_few_and_the_site_may_say_otherwise(site: Path) -> None:
    for year in range(4):
        append_to_log(site, [log(f"201{year}", 9.0)])
    assert weeding(read_holding(site, AS_OF)).learned is None
    (site / "rules.toml").write_text(
        '[[figure]]\nid = "log-entries"\nvalue = 4\nunit = "jobs"\nsource = "own choice"\n',
        encoding="utf-8",
    )
    assert weeding(read_holding(site, AS_OF)).learned is not None


def test_a_job_over_two_days_counts_once_and_by_its_share() -> None:
    entries = [log("2025", 2.0, 40), log("2025", 2.0, 80), *(log(f"{y}", 5.0) for y in range(4))]
    learned = learned_rates(entries, {WEED: ("weed", 5.0)}, BOOK)
    assert learned["weed"].n == 5
    assert learned["weed"].factors.usual == pytest.approx(1.0)


def test_a_job_is_measured_against_the_stock_of_its_own_day() -> None:
    """Half of the line was felled since: the five hours of then are no slow job of today."""
    then = [replace(log(f"{y}", 5.0), book_h=5.0) for y in range(5)]
    today = {WEED: ("weed", 2.5)}
    assert learned_rates(then, today, BOOK)["weed"].factors.usual == pytest.approx(1.0)
    bare = [replace(entry, book_h=None) for entry in then]
    assert learned_rates(bare, today, BOOK)["weed"].factors.usual == pytest.approx(2.0)


def test_jobs_without_counted_hours_teach_nothing() -> None:
    entries = [log(f"{year}", None) for year in range(9)]
    assert learned_rates(entries, {WEED: ("weed", 5.0)}, BOOK) == {}


def test_a_rate_is_shared_by_the_tasks_that_use_it(site: Path) -> None:
    holding = read_holding(site, AS_OF)
    fruit = "first-plot.cut-dormant-fruit:apple"
    entries = tuple(log(f"{year}", 12.0, task=fruit) for year in range(5))
    tasks = {task.type.id: task for task in tasks_of(replace(holding, log=entries))}
    assert tasks["cut-stone-fruit"].learned is not None
    assert tasks["cut-stone-fruit"].learned == tasks["cut-dormant-fruit"].learned
    assert tasks["weed-lines"].learned is None


def test_nothing_of_the_log_opens_a_task_that_is_not_wanted(site: Path) -> None:
    edit(site, "plan-2027.toml", "without = []", 'without = ["weed-lines"]')
    append_to_log(site, [log("2025", 3.0)])
    assert WEED not in [task.id for task in tasks_of(read_holding(site, AS_OF))]
