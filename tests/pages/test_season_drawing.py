"""The season sheet drawn: what is a bar, how high, and words that lie on nothing."""

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.pages.rendering import drawn
from scheduler.pages.season_drawing import (
    FULL_H,
    LEAST_H,
    LEAST_W,
    Box,
    Label,
    Scale,
    Strip,
    bar_words,
    joined,
    merged,
    peaks,
)
from scheduler.pages.season_page import _rows, season_page, season_picture, season_sheet
from scheduler.pages.season_rows import Band, Bar, SeasonSheet, Span, Week
from scheduler.reasons import SeasonPlan
from scheduler.terms import DaySpan
from scheduler.words import brief_hours
from tests.sites import ROOT

FIRST, DAY = date(2026, 12, 1), timedelta(days=1)
TEMPLATES = ROOT / "scheduler" / "pages" / "templates"
KINDS = ("dormant", "release", "dry-summer")
WIDE, PICTURE = (148, 1248), (120, 892)  # where the days of the page and of the picture stand
RECT = r'<rect class="{}" x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="([\d.]+)"'


@pytest.fixture(scope="module", params=["branasol", "klipskadu"])
def plan(request: pytest.FixtureRequest) -> SeasonPlan:
    found: SeasonPlan = request.getfixturevalue(request.param)
    return found


def picture_of(sheet: SeasonSheet) -> str:
    """The drawing alone of any sheet, its bands 100 high."""
    scale = Scale(sheet, *PICTURE)
    return drawn("season.svg", sheet=sheet, title="t", **_rows(sheet, scale, 1e4, 100)).decode()


def days(first: int, last: int) -> Iterator[date]:
    return (FIRST + n * DAY for n in range(first, last + 1))


def a_bar(kind: str, at: int, n_days: int, hours: float, was: int | None, title: str) -> Bar:
    first = FIRST + at * DAY
    before = None if was is None else FIRST + was * DAY
    return Bar(f"{kind}-{at}", kind, title, first, first + (n_days - 1) * DAY, hours, before)


bars = st.builds(
    a_bar,
    st.sampled_from(KINDS),
    st.integers(0, 350),
    st.integers(1, 14),
    st.floats(0.5, 200),
    st.none() | st.integers(0, 350),
    st.sampled_from(["", "", "Prune"]),
)
season_days = st.integers(0, 364).map(lambda n: FIRST + n * DAY)


@st.composite
def bands(draw: st.DrawFn) -> Band:
    """A plot with many visits, near one another, some of them moved."""
    many = draw(st.lists(bars, max_size=25))
    closes, opens = draw(st.none() | season_days), draw(st.lists(season_days, max_size=2))
    out = draw(st.sampled_from([(), ("release",), ("dormant", "release")]))
    return Band("p", "Plot", "note", tuple(many), (), (), closes, tuple(opens), out)


def a_sheet(*plots: Band, weeks: tuple[Week, ...] = ()) -> SeasonSheet:
    last = FIRST + 364 * DAY
    months = tuple(day for day in days(0, 364) if day.day == 1)
    return SeasonSheet("S", "P", FIRST, FIRST, last, False, (), (), plots, weeks, (), months)


@given(st.lists(bars, max_size=30))
def test_bars_that_touch_are_one_and_keep_all_hours_and_days(many: list[Bar]) -> None:
    whole = merged(many)
    for kind in KINDS:
        mine, one = ([bar for bar in b if bar.kind == kind] for b in (many, whole))
        assert sum(bar.hours for bar in one) == pytest.approx(sum(bar.hours for bar in mine))
        for before, after in pairwise(one):
            assert after.first > before.last + DAY
        covered = [
            {bar.first + n * DAY for bar in b for n in range((bar.last - bar.first).days + 1)}
            for b in (mine, one)
        ]
        assert covered[0] == covered[1]


def test_the_next_day_joins_a_visit_and_the_day_after_does_not() -> None:
    visit = a_bar("release", 10, 2, 12.5, None, "")
    next_day, later = (a_bar("release", at, 1, 2.0, None, "Water") for at in (12, 13))
    (one,) = merged([visit, next_day])
    assert (one.first, one.last, one.hours, one.title) == (visit.first, next_day.last, 14.5, "")
    assert len(merged([visit, later])) == 2
    assert len(merged([visit, a_bar("dormant", 12, 1, 2.0, None, "")])) == 2
    assert bar_words(visit)[0] == "release 11–12 Dec, 12.5 h"


def assert_free(strip: Strip, labels: list[Label], scale: Scale) -> None:
    """No label meets another, a bar, a ghost or the line where frost ends; all are inside."""
    for one, other in combinations(labels, 2):
        assert not one.box.meets(other.box), (one, other)
    taken = [box for _, box in strip.bars] + [box for _, box, _ in strip.ghosts]
    if strip.band.closes:
        x = scale.x(strip.band.closes + DAY)
        taken.append(Box(x - 1, strip.box.y, x + 1, strip.box.foot))
    for label in labels:
        assert not any(label.box.meets(box) for box in taken), label
        assert label.box.x >= strip.box.x
        assert label.box.right <= strip.box.right + 8
        assert strip.box.y <= label.box.y


@pytest.mark.parametrize("edges", [WIDE, PICTURE])
@pytest.mark.parametrize("high", [44.0, 100.0, 200.0])
def test_no_two_labels_of_a_band_meet(
    plan: SeasonPlan, edges: tuple[float, float], high: float
) -> None:
    sheet = season_sheet(plan)
    scale = Scale(sheet, *edges)
    for band in sheet.bands:
        strip = scale.strip(band, 62, high, 5, 18)
        labels = scale.labels(strip)
        assert_free(strip, labels, scale)
        said = [label.css for label in labels]
        assert said.count("frost-end") == 1
        assert said.count("release") == 1


@given(bands(), st.sampled_from([WIDE, PICTURE]), st.sampled_from([44.0, 100.0, 200.0]))
def test_no_two_labels_meet_in_a_season_of_many_visits(
    band: Band, edges: tuple[float, float], high: float
) -> None:
    scale = Scale(a_sheet(band), *edges)
    strip = scale.strip(band, 62, high, 5, 18)
    assert_free(strip, scale.labels(strip), scale)


def test_the_words_of_spans_take_the_longest_form_that_has_room() -> None:
    scale = Scale(a_sheet(), *WIDE)
    near = [Span(FIRST + n * DAY, FIRST + n * DAY, "Rubideira, climbers", "hire") for n in (0, 30)]
    one, other = scale.span_labels(near, 100)
    assert one.text == "1 Dec"  # the other is too near for more
    assert other.text == "Rubideira, climbers, 31 Dec"
    assert not one.box.meets(other.box)


@given(bars)
def test_a_bar_is_as_wide_as_its_days_and_as_high_as_the_hours_of_a_day(bar: Bar) -> None:
    band = replace(NO_WORK, bars=(bar,))
    scale = Scale(a_sheet(band), *WIDE)
    strip = scale.strip(band, 62, 134, 16, 18)
    ((_, box),) = strip.bars
    n_days = (bar.last - bar.first).days + 1
    day_w = (WIDE[1] - WIDE[0]) / 365
    assert box.right - box.x == pytest.approx(max(LEAST_W, n_days * day_w), abs=0.2)
    share = min(1, bar.hours / n_days / FULL_H)
    assert box.foot - box.y == pytest.approx(max(LEAST_H, 100 * share), abs=0.2)
    assert box.foot == strip.foot == 62 + 134 - 18


NO_WORK = Band("p", "Plot", "", (), (), (), None, (), ())


@given(st.floats(4, 400), st.floats(4, 600))
def test_the_lines_of_closed_days_are_cut_to_their_box(w: float, h: float) -> None:
    box = Box(100, 50, 100 + w, 50 + h)
    ends = re.findall(r"[ML]([\d.]+),([\d.]+)", box.slants)
    assert len(ends) == 2 * len(range(8, int(w + h), 8))
    for (x0, y0), (x1, y1) in zip(ends[::2], ends[1::2], strict=True):
        for x, y in ((float(x0), float(y0)), (float(x1), float(y1))):
            assert box.x - 0.1 <= x <= box.right + 0.1
            assert box.y - 0.1 <= y <= box.foot + 0.1
        assert float(x0) + float(y0) == pytest.approx(float(x1) + float(y1), abs=0.3)  # slanted


def test_frost_that_is_likely_fills_the_band_and_frost_that_is_possible_its_lower_half(
    plan: SeasonPlan,
) -> None:
    sheet = season_sheet(plan)
    text = picture_of(sheet)
    for level, high in (("likely", 100.0), ("possible", 50.0)):
        shades = [
            (n, s) for n, b in enumerate(sheet.bands) for s in b.shades if s["level"] == level
        ]
        rects = re.findall(RECT.format(level), text)
        assert len(rects) == len(shades) > 0
        for (n, _), (_, y, _, h) in zip(shades, rects, strict=True):
            assert float(h) == high
            assert float(y) + high == 62 + n * 110 + 100  # it stands on the foot of its band


def test_the_frost_path_steps_down_through_the_bands(plan: SeasonPlan) -> None:
    sheet = season_sheet(plan)
    (path,) = re.findall(r'class="front" d="(M\d[^"]+V[^"]+)"', picture_of(sheet))[:1]
    scale = Scale(sheet, *PICTURE)
    ends = [scale.x(band.closes + DAY) for band in sheet.bands if band.closes]
    assert [float(x) for x in re.findall(r"[MH]([\d.]+)", path)] == ends == sorted(ends)
    assert float(path.split("V")[-1]) == 62 + (len(ends) - 1) * 110 + 100


def test_frost_seasons_that_begin_within_the_plan_are_dated(branasol: SeasonPlan) -> None:
    sheet = season_sheet(branasol)
    text = season_picture(branasol).decode()
    begins = [day for band in sheet.bands for day in band.opens]
    assert len(begins) == len(sheet.bands)
    for band in sheet.bands:
        assert {shade["first"] for shade in band.shades} >= set(band.opens)
    assert text.count('class="frost-begins"') == len(begins)
    assert text.count(">from ") == len(begins)


def test_a_moved_visit_leaves_a_ghost_an_arrow_and_its_old_day(klipskadu: SeasonPlan) -> None:
    visit_id = "vlei.release"
    now = klipskadu.placed.season.date_of(klipskadu.placed.visits[visit_id].first)
    for off in (-20, 20):  # from before, and from after
        was = now + off * DAY
        published = {visit_id: (DaySpan(was, was),)}
        plan = SeasonPlan(replace(klipskadu.placed, published=published), print)
        assert [move.was for move in plan.moves] == [was]
        picture, page = season_picture(plan).decode(), season_page(plan, links=()).html.decode()
        for text, n in ((picture, 1), (page, 2)):
            assert text.count('class="ghost"') == text.count('class="arrow"') == n
            assert len(re.findall(rf"<text[^>]*>[^<]*, was {was.day} {was:%b}<", text)) == n
        ((x, _, w, _),) = re.findall(RECT.format("ghost"), picture)
        assert float(x) == Scale(season_sheet(plan), *PICTURE).x(was)
        ((start, end),) = re.findall(r'class="arrow" d="M([\d.]+),[\d.]+H([\d.]+)m', picture)
        assert float(x) <= float(start) <= float(x) + float(w) + 0.1  # from the old place
        assert (float(end) > float(start)) is (off < 0)  # to the new one
    assert 'class="ghost"' not in season_picture(klipskadu).decode()


def test_the_decision_is_known_by_its_task_type_and_has_a_mark_of_its_own(
    plan: SeasonPlan,
) -> None:
    placed, sheet = plan.placed, season_sheet(plan)
    deciding = [
        placed.season.date_of(placed.visits[visit_id].first)
        for visit_id, ids in placed.groups.items()
        if visit_id in placed.visits and placed.tasks[ids[0]].type.decides
    ]
    marks = [mark for band in sheet.bands for mark in band.marks]
    assert sorted(mark["day"] for mark in marks if mark["decides"]) == sorted(deciding) != []
    assert 0 < len(deciding) < len(marks)
    text = picture_of(sheet)
    in_key = 1
    assert text.count('class="decide"') == text.count(">?</text>") == len(deciding) + in_key
    renamed = replace(sheet, bands=tuple(_renamed(band) for band in sheet.bands))
    assert picture_of(renamed).count('class="decide"') == len(deciding) + in_key


def _renamed(band: Band) -> Band:
    return replace(band, marks=tuple(mark | {"title": "Go?"} for mark in band.marks))


def test_closed_days_veil_every_band_and_the_crew(plan: SeasonPlan) -> None:
    sheet = season_sheet(plan)
    scale = Scale(sheet, *PICTURE)
    closed = [span for span in sheet.spans if span.kind == "closed"]
    assert closed
    text = season_page(plan, links=()).html.decode()
    bands_h = 62 + len(sheet.bands) * 110
    for span in closed:
        x = scale.x(span.first)
        (foot,) = re.findall(rf'class="veil"[^>]*M{x},62V([\d.]+)M', picture_of(sheet))
        assert float(foot) > bands_h + 70  # through the crew's row
        assert span.words in text
    strips = len(re.findall('class="veil"', text)) - 2  # the two keys
    assert strips == len(closed) * (2 + len(sheet.bands) + 1)  # veil, row; strips, crew's strip


def test_the_hours_of_a_bar_are_written_as_in_the_table(plan: SeasonPlan) -> None:
    sheet = season_sheet(plan)
    page = season_page(plan, links=()).html.decode()
    tall = page[page.index('class="narrow"') :]
    asked = 0
    for band in sheet.bands:
        for bar in band.bars:
            assert f'data-head="Person-hours">{brief_hours(bar.hours)}</td>' in page
        for whole in merged(band.bars):
            if not whole.title:
                asked += 1
                assert f">{bar_words(whole)[0]}</text>" in tall
                assert f", {brief_hours(whole.hours)} h" in bar_words(whole)[0]
    assert asked > 4


def test_spans_of_the_same_days_are_said_once(branasol: SeasonPlan) -> None:
    leave = joined(season_sheet(branasol).spans, "leave")
    assert leave[0].words == "Brais and Uxía away"
    assert list(leave) == sorted(leave, key=lambda span: span.first)
    assert {span.kind for span in leave} == {"leave"}


def test_three_full_weeks_are_named_well_apart() -> None:
    def week(n: int, hours: float) -> Week:
        return Week(FIRST + n * 7 * DAY, {"year": hours}, 100.0, 7)

    weeks = [week(n, hours) for n, hours in enumerate((60, 61, 0, 0, 0, 0, 50, 20, 0, 0, 0, 0))]
    weeks += [week(n, 40.0) for n in (14, 20)]
    assert [w.load_h for w in peaks(weeks)] == [61, 50, 40]
    assert peaks([week(0, 20)]) == []


def test_the_sheet_needs_no_style_attribute_script_or_pattern(plan: SeasonPlan) -> None:
    """A policy that allows only hashed style elements may serve it; a pattern prints heavily."""
    banned = re.compile(r"\sstyle\s*=|<script|<pattern|\son\w+\s*=")
    files = [*TEMPLATES.glob("season*"), TEMPLATES / "base.html", TEMPLATES / "style.css"]
    assert len(files) == 8
    for path in files:
        assert not banned.search(path.read_text(encoding="utf-8")), path.name
    assert not banned.search(season_page(plan, links=()).html.decode())


def test_plots_of_any_number_have_strips_on_a_phone(branasol: SeasonPlan) -> None:
    (band, *_) = season_sheet(branasol).bands
    plots = tuple(replace(band, name=f"Plot {n} with a long name") for n in range(30))
    sheet = replace(season_sheet(branasol), bands=plots)
    rows = _rows(sheet, Scale(sheet, *WIDE), 500, 200)
    tall = drawn("season_tall.svg", sheet=sheet, title="t", tall=Scale(sheet, 0, 372), **rows)
    text = tall.decode()
    assert all(text.count(f">Plot {n} with a long name<") == 1 for n in range(30))
    assert text.count("frost ends ") == 30
    assert text.count('<text class="release"') == 30


LIGHT = re.compile(r":root \{ color-scheme.*?\}", re.DOTALL)
DARK = re.compile(r"prefers-color-scheme: dark\) \{ :root \{.*?\}", re.DOTALL)


@pytest.mark.parametrize("scheme", [LIGHT, DARK])
def test_words_can_be_read_on_paper_and_on_frost(scheme: re.Pattern[str]) -> None:
    """At least 4.5 to 1, by the relative luminance of WCAG 2.2."""
    (css,) = scheme.findall((TEMPLATES / "style.css").read_text(encoding="utf-8"))
    colours = dict(re.findall(r"--([a-z]+): (#[0-9a-f]+)", css))
    for ink in ("ink", "dormant", "release", "dry", "frost", "warn"):
        for ground in ("paper", "likely", "possible"):
            one, other = sorted(map(luminance, (colours[ink], colours[ground])))
            assert (other + 0.05) / (one + 0.05) >= 4.5, (ink, ground)


def luminance(colour: str) -> float:
    digits = colour[1:] if len(colour) == 7 else "".join(2 * digit for digit in colour[1:])
    parts = [int(digits[at : at + 2], 16) / 255 for at in (0, 2, 4)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
